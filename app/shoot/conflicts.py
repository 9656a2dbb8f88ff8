"""Wishes that cannot all come true: the smallest set of them that clash, and what would mend it."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from app.shoot.problem import Problem, problem_of
from app.shoot.prospect import Prospect, prospects
from app.shoot.shoot import Shoot, Wish
from app.shoot.slots import CANNOT
from app.shoot.solve import MOST, solve, tabulate
from app.shoot.words import called, span, windows_said


@dataclass(frozen=True)
class Clash:
    """Wishes that must come and cannot all; ``mends`` are the single changes that would let them."""

    ids: tuple[str, ...]
    words: str
    mends: tuple[str, ...]


def clash_of(shoot: Shoot, light: Sequence[Prospect], problem: Problem) -> Clash | None:
    """Return the smallest set of musts that clash, the first by id of several; None where all can be had.

    Exact up to 14 wishes, or 14 musts; with more musts only ones and twos are
    tried, and ``BadInput`` says so where these are innocent.
    """
    ids = smallest_clash(problem)
    if not ids:
        return None
    offered = [one for one in light if one.wish.id in ids]
    return Clash(ids, _words(shoot, offered, ids), tuple(_mends(shoot, offered, problem.only(ids).with_musts(ids))))


def smallest_clash(problem: Problem) -> tuple[str, ...]:
    """Return the smallest set of musts that no plan holds, the first by id of several; nothing where one holds all."""
    musts = [one for one, must in zip(problem.ids, problem.must, strict=True) if must]
    if len(musts) > MOST:
        return _clash_by_twos(problem, musts)
    task = problem if len(problem.ids) <= MOST else problem.only(musts)
    possible = _possible(task)
    places = [task.ids.index(one) for one in musts]
    for size in range(1, len(places) + 1):
        for chosen in combinations(places, size):
            if not possible[sum(1 << place for place in chosen)]:
                return tuple(task.ids[place] for place in chosen)
    return ()


def _possible(problem: Problem) -> NDArray[np.bool_]:
    """Return for every set, by its bits, whether some plan holds it, perhaps with others."""
    possible = tabulate(problem.with_musts(())).best_of_set > CANNOT
    for place in range(len(problem.ids)):
        without, with_it = possible.reshape(-1, 2, 1 << place).transpose(1, 0, 2)
        without |= with_it
    return possible


def _clash_by_twos(problem: Problem, musts: Sequence[str]) -> tuple[str, ...]:
    for chosen in (*combinations(musts, 1), *combinations(musts, 2)):
        if solve(problem.only(chosen).with_musts(chosen)) is None:
            return chosen
    tabulate(problem)  # says in words that these are too many
    return ()


def _words(shoot: Shoot, offered: Sequence[Prospect], ids: Sequence[str]) -> str:
    free = ", ".join(span(shoot, one.starts_utc_s, one.ends_utc_s) for one in shoot.open_time)
    light = " ".join(f"“{one.called}”: {windows_said(shoot, one)}; {one.wish.shortest_min} min at least." for one in offered)
    what = "cannot be had" if len(ids) == 1 else "cannot be had together; any fewer of them can"
    return f"{called(offered, ids)} {what}. {light} The people's time: {free}."


def _mends(shoot: Shoot, offered: Sequence[Prospect], task: Problem) -> Iterator[str]:
    """Yield each single change with which the clash is gone."""
    for words, change in _CHANGES:
        if solve(change(task)) is not None:
            yield words.format(most_min=max(task.gap_min.max(initial=0), task.arrival_min.max(initial=0)))
    whole_day = replace(shoot, free=(), wishes=tuple(_alone(one, task.ids) for one in offered))
    again = prospects(whole_day, {one.wish.id: one.scene for one in offered})
    if solve(problem_of(whole_day, again).with_musts(task.ids)) is not None:
        yield "More of the people's time that day."


def _alone(one: Prospect, ids: Sequence[str]) -> Wish:
    return replace(one.wish, after=tuple(other for other in one.wish.after if other in ids))


def _without_pauses(task: Problem) -> Problem:
    return replace(task, gap_min=np.zeros_like(task.gap_min), arrival_min=np.zeros_like(task.arrival_min))


def _without_order(task: Problem) -> Problem:
    return replace(task, after=np.zeros_like(task.after))


def _without_hand(task: Problem) -> Problem:
    return replace(
        task, first_start_min=np.zeros_like(task.first_start_min), last_start_min=np.full_like(task.last_start_min, task.minutes),
        least_worth=np.maximum(task.least_worth, 1),
    )  # fmt: skip


def _shorter(task: Problem) -> Problem:
    return replace(task, shortest_min=np.ones_like(task.shortest_min))


_CHANGES: tuple[tuple[str, Callable[[Problem], Problem]], ...] = (
    ("Less time for walking, changing and lights: up to {most_min} min are counted for it at once.", _without_pauses),
    ("Another order than the one asked for.", _without_order),
    ("Another beginning than the one fixed by hand.", _without_hand),
    ("Shorter slots.", _shorter),
)
