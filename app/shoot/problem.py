"""The task of putting wishes in order, as bare numbers on a grid of minutes."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import Self

import numpy as np
from numpy.typing import NDArray

from app.shoot.prospect import MINUTE_S, Prospect, span_utc_s
from app.shoot.shoot import Shoot
from app.shoot.walking import leg, leg_from_meeting
from app.units import FloatArray

IntArray = NDArray[np.int32]
GRAINS = 10_000  # scores are counted in ten-thousandths of a weight of 1, so that sums and ties are exact


@dataclass(frozen=True, eq=False)
class Problem:
    """Wishes 0..n-1 in the order of their ids, minutes 0..T from ``starts_utc_s``.

    Attributes
    ----------
    worth : shape (n, T + 1)
        What has come together by each minute: weight times fit over the ideal
        time. A slot's worth is the difference of its ends. [1/10000]
    shortest_min, longest_min : shape (n,)
    must : shape (n,)
    after : shape (n, n)
        Whether the first comes after the second where both come.
    gap_min : shape (n, n)
        What has to lie between the end of the first and the start of the second.
    arrival_min : shape (n,)
        How long after a stretch of free time begins the wish can begin at all.
    free_min : tuple of pairs
        Stretches of free time; a slot lies wholly in one.
    first_start_min, last_start_min : shape (n,)
        Equal where the beginning is fixed.
    least_worth : shape (n,)
        What a slot is worth at least: 1, so that it gets some light, or 0 where a hand
        has placed it. [1/10000]
    """

    ids: tuple[str, ...]
    starts_utc_s: float
    worth: IntArray
    weight: FloatArray
    shortest_min: IntArray
    longest_min: IntArray
    must: NDArray[np.bool_]
    after: NDArray[np.bool_]
    gap_min: IntArray
    arrival_min: IntArray
    free_min: tuple[tuple[int, int], ...]
    first_start_min: IntArray
    last_start_min: IntArray
    least_worth: IntArray

    @property
    def minutes(self) -> int:
        """T: how many minutes the grid has."""
        return self.worth.shape[1] - 1

    def only(self, ids: Iterable[str]) -> Self:
        """Return the task with these wishes alone."""
        wanted = set(ids)
        keep = np.array([place for place, one in enumerate(self.ids) if one in wanted], dtype=int)
        rows = ("worth", "weight", "shortest_min", "longest_min", "must", "arrival_min", "first_start_min", "last_start_min", "least_worth")
        parts = {name: getattr(self, name)[keep] for name in rows}
        square = {name: getattr(self, name)[np.ix_(keep, keep)] for name in ("after", "gap_min")}
        return replace(self, ids=tuple(self.ids[place] for place in keep), **parts, **square)

    def with_musts(self, ids: Iterable[str]) -> Self:
        """Return the task in which just these wishes must come."""
        wanted = set(ids)
        return replace(self, must=np.array([one in wanted for one in self.ids], dtype=bool))

    def holding(self, held: Iterable[tuple[str, float, float]]) -> Self:
        """Return the task with some slots held where they are: id, start and end in seconds since 1970 UTC.

        A held slot must come, and may be worth nothing.
        """
        first, last = self.first_start_min.copy(), self.last_start_min.copy()
        shortest, longest = self.shortest_min.copy(), self.longest_min.copy()
        must, least_worth = self.must.copy(), self.least_worth.copy()
        for one, start, end in held:
            place = self.ids.index(one)
            first[place] = last[place] = self.minute_of(start)
            shortest[place] = longest[place] = self.minute_of(end) - first[place]
            must[place], least_worth[place] = True, 0
        return replace(
            self, first_start_min=first, last_start_min=last, shortest_min=shortest, longest_min=longest, must=must, least_worth=least_worth
        )

    def minute_of(self, utc_s: float) -> int:
        """Return the grid's minute nearest to an instant. [min]"""
        return round((utc_s - self.starts_utc_s) / MINUTE_S)

    def utc_s(self, minute: int) -> float:
        """Return the instant at which a minute begins. [s since 1970 UTC]"""
        return self.starts_utc_s + MINUTE_S * minute

    def slot_worth(self, place: int, start_min: int, end_min: int) -> int:
        """Return the worth of a slot. [1/10000]"""
        return int(self.worth[place, end_min] - self.worth[place, start_min])


def problem_of(shoot: Shoot, light: Sequence[Prospect]) -> Problem:
    """Return the task that a shoot and its light make; minutes in which nothing can lie are cut off both ends.

    Clothes are changed while lights go up, so the longer of both comes on top of the
    walk. Lights of the first slot after people arrive are up before they do.
    """
    start, end = span_utc_s(shoot)
    offered = sorted(light, key=lambda one: one.wish.id)
    wishes = [one.wish for one in offered]
    ids = tuple(wish.id for wish in wishes)
    fixed = [None if one.fixed_start_utc_s is None else round((one.fixed_start_utc_s - start) / MINUTE_S) for one in wishes]
    whole = Problem(
        ids=ids,
        starts_utc_s=start,
        worth=_worth(offered, round((end - start) / MINUTE_S)),
        weight=np.array([wish.weight for wish in wishes]),
        shortest_min=_ints(wish.shortest_min for wish in wishes),
        longest_min=_ints(wish.ideal_min for wish in wishes),
        must=np.array([wish.must for wish in wishes], dtype=bool),
        after=np.array([[other in wish.after for other in ids] for wish in wishes], dtype=bool).reshape(len(ids), len(ids)),
        gap_min=_gaps(shoot, offered),
        arrival_min=_ints(leg_from_meeting(shoot, one.wish, one.scene).minutes + one.wish.change_before_min for one in offered),
        free_min=tuple((_up(one.starts_utc_s - start), int((one.ends_utc_s - start) // MINUTE_S)) for one in shoot.open_time),
        first_start_min=_ints(0 if at is None else at for at in fixed),
        last_start_min=_ints(10_000 if at is None else at for at in fixed),
        least_worth=_ints(1 if at is None else 0 for at in fixed),
    )
    return _trimmed(whole)


def _worth(offered: Sequence[Prospect], minutes: int) -> IntArray:
    worth = np.zeros((len(offered), minutes + 1))
    for row, one in zip(worth, offered, strict=True):
        row[1:] = np.cumsum(one.fit) * (GRAINS * one.wish.weight / one.wish.ideal_min)
    return np.rint(worth).astype(np.int32)


def _gaps(shoot: Shoot, offered: Sequence[Prospect]) -> IntArray:
    gaps = np.zeros((len(offered), len(offered)), np.int32)
    for (row, one), (column, other) in product(enumerate(offered), repeat=2):
        if row != column:
            walk = leg(shoot, (one.wish.site, one.scene), (other.wish.site, other.scene)).minutes
            gaps[row, column] = walk + max(other.wish.change_before_min, other.wish.lights_min)
    return gaps


def _trimmed(whole: Problem) -> Problem:
    """Cut off the minutes before and after all that is worth anything, a longest slot left on each side."""
    if not whole.ids:
        return whole
    longest = int(whole.longest_min.max())
    useful = np.flatnonzero(np.diff(whole.worth, axis=1).any(axis=0))
    hand = whole.first_start_min[whole.least_worth == 0]
    marks = np.concatenate([useful, hand, hand + longest])
    if not marks.size:
        return whole
    first, last = max(0, int(marks.min()) - longest), min(whole.minutes, int(marks.max()) + 1 + longest)
    if not last > first:
        return whole
    return replace(
        whole,
        starts_utc_s=whole.utc_s(first),
        worth=whole.worth[:, first : last + 1] - whole.worth[:, first : first + 1],
        free_min=tuple((start - first, end - first) for start, end in whole.free_min),
        first_start_min=whole.first_start_min - first,
        last_start_min=whole.last_start_min - first,
    )


def _ints(values: Iterable[float]) -> IntArray:
    return np.array(list(values), dtype=np.int32)


def _up(seconds: float) -> int:
    return int(-(-seconds // MINUTE_S))
