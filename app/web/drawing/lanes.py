"""Lanes: how well each look fits across the frames' time, as ink that thickens."""

from dataclasses import dataclass

import numpy as np

from app.looks.look import WantedLook
from app.looks.margin import Scene, fit
from app.web.drawing.frames import path_through
from app.web.render import clock

WIDTH, LANE, HALF = 1000.0, 34.0, 9.0
SAMPLES = 241


@dataclass(frozen=True)
class Lane:
    """One look's ink, and whether there is any."""

    name: str
    ink: str
    y: float


@dataclass(frozen=True)
class Lanes:
    """All lanes over one stretch of time, in a box ``WIDTH`` wide; ticks are (x, words)."""

    width: float
    height: float
    ticks: tuple[tuple[float, str], ...]
    lanes: tuple[Lane, ...]


def lanes_for(looks: tuple[WantedLook, ...], scene: Scene, first_utc_s: float, last_utc_s: float, zone: str) -> Lanes:
    """Return one lane for each look, fit from 0 to 1 drawn as half thickness."""
    instants = np.linspace(first_utc_s, last_utc_s, SAMPLES)
    sun = scene.observer.sun_at(instants)
    lanes = tuple(
        _lane(wanted.name, np.clip(fit(wanted.margins(scene), sun), 0, 1), (n + 0.5) * LANE) for n, wanted in enumerate(looks)
    )
    return Lanes(WIDTH, LANE * len(looks), tuple(_ticks(first_utc_s, last_utc_s, zone)), lanes)


def _lane(name: str, fits: np.ndarray, y: float) -> Lane:
    x = np.linspace(0, WIDTH, SAMPLES)
    if not np.any(fits > 0):
        return Lane(name, "", y)
    upper, lower = y - fits * HALF, y + fits * HALF
    return Lane(name, f"{path_through(np.append(x, x[::-1]), np.append(upper, lower[::-1]))}Z", y)


def _ticks(first_utc_s: float, last_utc_s: float, zone: str) -> list[tuple[float, str]]:
    """Return ticks at whole steps of the clock, at most about ten."""
    span = last_utc_s - first_utc_s
    step = next((step for step in (300, 600, 900, 1800, 3600, 7200) if span / step <= 10), 14_400)
    instants = np.arange(np.ceil(first_utc_s / step), np.floor(last_utc_s / step) + 1) * step
    return [(float((t - first_utc_s) / span * WIDTH), clock(t, zone)) for t in instants]
