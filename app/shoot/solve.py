"""The running order that is worth most: exact, and the same one every time.

A dynamic program over the set of wishes done and the last of them, with the best
score by every minute of the grid: Bellman (1962) and Held & Karp (1962), from memory,
with time windows.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from app.errors import BadInput
from app.shoot.plan import Plan, plan_of
from app.shoot.problem import IntArray, Problem
from app.shoot.slots import CANNOT, NEVER, Places, places_of

MOST = 14  # wishes in one order: twice as many sets for each one more
Rows = tuple[NDArray[np.int64], IntArray]  # sets done, in order, and their best scores by minute


def solve(problem: Problem) -> Plan | None:
    """Return the plan of the highest score, None where no plan holds every must.

    Of equal plans it is the one with more slots, then with the ids that come first
    in the alphabet, then the one that ends earliest, then the one with shorter slots.
    Raises ``BadInput`` for more than ``MOST`` wishes.
    """
    return tabulate(problem).best_plan()


def best_in_order(problem: Problem, order: Sequence[str]) -> Plan | None:
    """Return the best plan with just these wishes in this order, None where there is none; ``after`` is not asked."""
    return _timed(problem, [problem.ids.index(one) for one in order])


@dataclass(frozen=True, eq=False)
class Table:
    """Everything the dynamic program found out: the best score of every set of wishes."""

    problem: Problem
    layers: tuple[dict[int, Rows], ...]

    @cached_property
    def best_of_set(self) -> IntArray:
        """The best score with just the wishes of a set, by its bits; ``NEVER`` where it cannot be. [1/10000]"""
        best = np.full(1 << len(self.problem.ids), NEVER)
        best[0] = 0
        for layer in self.layers:
            for sets, scores in layer.values():
                best[sets] = np.maximum(best[sets], scores[:, -1])
        return best

    def best_plan(self, with_ids: Sequence[str] = ()) -> Plan | None:
        """Return the best plan that holds all musts and these wishes, None where there is none."""
        asked = self._bits(with_ids) | bits_of(self.problem.must)
        chosen = self._best_set(asked)
        return None if chosen is None else _timed(self.problem, self._order(chosen))

    def _bits(self, ids: Sequence[str]) -> int:
        return sum(1 << self.problem.ids.index(one) for one in set(ids))

    def _best_set(self, asked: int) -> int | None:
        sets = np.flatnonzero((np.arange(self.best_of_set.size) & asked) == asked)
        best = int(self.best_of_set[sets].max())
        if best < CANNOT:
            return None
        equal = [int(one) for one in sets[self.best_of_set[sets] == best]]
        return min(equal, key=lambda one: (-one.bit_count(), members(one)))

    def _order(self, chosen: int) -> list[int]:
        """Return the order in which the best plan of a set takes its wishes, found from its last one back."""
        order: list[int] = []
        score, by_min = int(self.best_of_set[chosen]), dict.fromkeys(members(chosen), self.problem.minutes)
        while chosen:
            end, last = self._last(chosen, score, by_min)
            chosen &= ~(1 << last)
            ready = self._ready(chosen, last)
            start = places_of(self.problem, last).start_of(ready, end, score)
            order.append(last)
            score, by_min = int(ready[start]), self._latest_ends(chosen, last, start)
        return order[::-1]

    def _last(self, chosen: int, score: int, by_min: dict[int, int]) -> tuple[int, int]:
        """Return when a set's plan of this score ends and with which wish: the earliest, the last by id of several."""
        rows = ((place, self._row(chosen, place)) for place in members(chosen) if by_min[place] >= 0)
        fits = [(place, row) for place, row in rows if row is not None and row[by_min[place]] == score]
        return min(((int(np.searchsorted(row, score)), place) for place, row in fits), key=lambda one: (one[0], -one[1]))

    def _latest_ends(self, chosen: int, following: int, start: int) -> dict[int, int]:
        """Return by which minute each wish has to end for another to begin."""
        return {place: start - int(self.problem.gap_min[place, following]) for place in members(chosen)}

    def _ready(self, chosen: int, following: int) -> IntArray:
        if not chosen:
            return np.zeros(self.problem.minutes + 1, np.int32)
        ready = np.full(self.problem.minutes + 1, NEVER)
        for place in members(chosen):
            row = self._row(chosen, place)
            if row is not None:
                _raise_by(ready, row, int(self.problem.gap_min[place, following]))
        return ready

    def _row(self, chosen: int, last: int) -> IntArray | None:
        sets, scores = self.layers[chosen.bit_count() - 1].get(last, (np.zeros(0, np.int64), None))
        found = int(np.searchsorted(sets, chosen))
        return scores[found] if found < sets.size and sets[found] == chosen else None


def tabulate(problem: Problem) -> Table:
    """Work out the best score of every set of wishes that leaves room for the musts."""
    count = len(problem.ids)
    if count > MOST:
        raise BadInput(
            f"{count} setups are too many for one running order, {MOST} at most; split the evening, or take some out.",
            "wishes",
        )
    slots = [places_of(problem, place) for place in range(count)]
    layers = [_first_layer(problem, slots)] if count else []
    while len(layers) < count and layers[-1]:
        layers.append(_next_layer(problem, slots, layers[-1]))
    return Table(problem, tuple(layers))


def bits_of(which: NDArray[np.bool_]) -> int:
    """Return a set as bits, the first wish the lowest."""
    return sum(1 << int(place) for place in np.flatnonzero(which))


def members(chosen: int) -> tuple[int, ...]:
    """Return the wishes of a set in order."""
    return tuple(place for place in range(chosen.bit_length()) if chosen >> place & 1)


def _first_layer(problem: Problem, slots: Sequence[Places]) -> dict[int, Rows]:
    ready = np.zeros((1, problem.minutes + 1), np.int32)
    one_each = {one.place: (np.array([1 << one.place], dtype=np.int64), ready) for one in slots}
    return {place: rows for place, start in one_each.items() if len((rows := _ended(problem, slots, place, *start))[0])}


def _next_layer(problem: Problem, slots: Sequence[Places], layer: dict[int, Rows]) -> dict[int, Rows]:
    """Add each wish to every set without it, after every last one."""
    following = {}
    for place in range(len(problem.ids)):
        rows = _ended(problem, slots, place, *_ready_for(problem, place, layer))
        if len(rows[0]):
            following[place] = rows
    return following


def _ready_for(problem: Problem, place: int, layer: dict[int, Rows]) -> Rows:
    """Return the sets a wish may be added to, with it, and the best score with which one is there by each minute."""
    barred = 1 << place | bits_of(problem.after[:, place])  # itself, and all that comes after it
    parts = {last: np.flatnonzero((sets & barred) == 0) for last, (sets, _) in layer.items()}
    found = [layer[last][0][part] | 1 << place for last, part in parts.items()]
    sets = np.unique(np.concatenate(found))
    ready = np.full((len(sets), problem.minutes + 1), NEVER)
    for (last, part), wanted in zip(parts.items(), found, strict=True):
        _raise_rows(ready, np.searchsorted(sets, wanted), layer[last][1], part, int(problem.gap_min[last, place]))
    return sets, ready


def _raise_rows(ready: IntArray, rows: NDArray[np.intp], scores: IntArray, part: NDArray[np.intp], gap: int) -> None:
    """Raise rows to what they can be a gap later than others, where that is more; rows come once each."""
    width = ready.shape[1] - gap
    if width > 0 and len(part):
        ready[rows, gap:] = np.maximum(ready[rows, gap:], scores[part, :width])


def _raise_by(ready: IntArray, row: IntArray, gap: int) -> None:
    if gap < len(ready):
        np.maximum(ready[gap:], row[: len(ready) - gap], out=ready[gap:])


def _ended(problem: Problem, slots: Sequence[Places], place: int, sets: NDArray[np.int64], ready: IntArray) -> Rows:
    """Return the sets whose last wish can be done and every must still be, with their best scores by each minute."""
    if not len(sets) or not len(slots[place].ends):
        return sets[:0], ready[:0]
    scores = np.maximum.accumulate(slots[place].best_by_end(ready), axis=1)
    keep = scores[:, -1] > CANNOT
    earliest = np.argmax(scores > CANNOT, axis=1)
    for must in np.flatnonzero(problem.must):
        keep &= ((sets >> int(must) & 1) == 1) | (earliest <= slots[must].latest_start())
    return sets[keep], scores[keep]


def _timed(problem: Problem, order: Sequence[int]) -> Plan | None:
    """Return the best plan in one order, its times found from the last slot back."""
    ready, steps = np.zeros((1, problem.minutes + 1), np.int32), []
    for number, place in enumerate(order):
        places = places_of(problem, place)
        scores = np.maximum.accumulate(places.best_by_end(ready), axis=1)
        steps.append((places, ready[0], scores[0]))
        if scores[0, -1] < CANNOT:
            return None
        if number + 1 < len(order):
            ready = np.full_like(ready, NEVER)
            _raise_by(ready[0], scores[0], int(problem.gap_min[place, order[number + 1]]))
    return plan_of(problem, _backwards(problem, steps))


def _backwards(problem: Problem, steps: list[tuple[Places, IntArray, IntArray]]) -> tuple[tuple[int, int, int], ...]:
    placed: list[tuple[int, int, int]] = []
    until = problem.minutes
    for places, ready, scores in reversed(steps):
        if placed:
            until = placed[-1][1] - int(problem.gap_min[places.place, placed[-1][0]])
        score = int(scores[until])
        end = int(np.searchsorted(scores, score))
        placed.append((places.place, places.start_of(ready, end, score), end))
    return tuple(reversed(placed))
