"""Timing side by side, and the angle between two answers."""

import time
from collections.abc import Callable
from statistics import median

import numpy as np

from app.units import FloatArray

SPELL_S = 0.05


class WrongResult(Exception):
    """A measurement's results disagree by more than they may; the sentence says how."""


def medians_s(turns: int, *works: Callable[[], object]) -> list[float]:
    """Return each work's median seconds; they take turns, and in its turn a quick one is done again for 50 ms.

    The first turn does not count: caches fill, compilers compile.
    """
    spent: list[list[float]] = [[] for _ in works]
    for turn in range(turns + 1):
        for work, times in zip(works, spent, strict=True):
            done = spell_s(work)
            times.extend(done if turn else ())
    return [median(times) for times in spent]


def spell_s(work: Callable[[], object]) -> list[float]:
    """Return the seconds of each time a work was done, over and over for 50 ms, once at least."""
    times: list[float] = []
    while sum(times) < SPELL_S:
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return times


def demand(holds: bool, sentence: str) -> None:
    """Raise ``WrongResult`` unless something holds."""
    if not holds:
        raise WrongResult(sentence)


def separation_deg(
    altitude_deg: FloatArray, azimuth_deg: FloatArray, other_altitude_deg: FloatArray, other_azimuth_deg: FloatArray
) -> FloatArray:
    """Return the distance on the sky between directions. [°]"""
    a, b = np.radians(altitude_deg), np.radians(other_altitude_deg)
    turn = np.radians(np.asarray(azimuth_deg) - other_azimuth_deg)
    chord = 2 * np.sqrt(np.sin((a - b) / 2) ** 2 + np.cos(a) * np.cos(b) * np.sin(turn / 2) ** 2)
    return np.degrees(chord)


def duration(seconds: float) -> str:
    """Return a time with the unit that suits it."""
    for unit, factor in (("s", 1.0), ("ms", 1e3)):
        if seconds * factor >= 1:
            return f"{seconds * factor:.3g} {unit}"
    return f"{seconds * 1e6:.3g} µs"
