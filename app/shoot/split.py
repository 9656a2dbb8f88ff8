"""An evening too full for one running order, split where it is emptiest."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from app.shoot.problem import Problem
from app.shoot.solve import MOST
from app.units import FloatArray


@dataclass(frozen=True)
class Part:
    """Wishes that make one running order of their own, in the order of their light, and its time. [s since 1970 UTC]"""

    ids: tuple[str, ...]
    starts_utc_s: float
    ends_utc_s: float


def split(problem: Problem, most: int = MOST) -> tuple[Part, ...]:
    """Return parts of ``most`` wishes at most, in time order.

    Wishes go by the middle of their light, and are parted in the middle of the
    widest gap between neighbours that leaves at least a quarter on either side;
    what is still too full is parted again. A fixed one goes by its beginning. Each
    part is solved alone, so all together need not be the best there is.
    """
    middles = _middles(problem)
    order = sorted(range(len(problem.ids)), key=lambda place: (middles[place], problem.ids[place]))
    return tuple(_parts(problem, middles, order, 0.0, float(problem.minutes), most))


def part_of(problem: Problem, part: Part) -> Problem:
    """Return the task of one part: its wishes alone, in its time."""
    first, last = problem.minute_of(part.starts_utc_s), problem.minute_of(part.ends_utc_s)
    inside = tuple((max(start, first), min(end, last)) for start, end in problem.free_min if start < last and end > first)
    return replace(problem.only(part.ids), free_min=inside)


def _parts(problem: Problem, middles: FloatArray, order: Sequence[int], start: float, end: float, most: int) -> list[Part]:
    if len(order) <= most:
        ids = tuple(problem.ids[place] for place in order)
        return [Part(ids, problem.utc_s(round(start)), problem.utc_s(round(end)))]
    cut, edge = _widest_gap(middles[list(order)])
    return [*_parts(problem, middles, order[:cut], start, edge, most), *_parts(problem, middles, order[cut:], edge, end, most)]


def _widest_gap(middles: FloatArray) -> tuple[int, float]:
    """Return how many come before the widest gap, and its middle; of equal gaps the one nearest the half."""
    count = len(middles)
    least = max(1, count // 4)
    cuts = range(least, count - least + 1)
    cut = min(cuts, key=lambda one: (-round(float(middles[one] - middles[one - 1]), 3), abs(one - count / 2)))
    return cut, float(middles[cut - 1] + middles[cut]) / 2


def _middles(problem: Problem) -> FloatArray:
    """Return the mean minute of each wish's light, weighted by its fit; the evening's middle without any. [min]"""
    gains = np.diff(problem.worth, axis=1).astype(float)
    total = gains.sum(axis=1)
    mean = (gains @ (np.arange(problem.minutes) + 0.5)) / np.where(total > 0, total, 1.0)
    middles = np.where(total > 0, mean, problem.minutes / 2)
    return np.clip(np.where(problem.least_worth == 0, problem.first_start_min, middles), 0, problem.minutes)
