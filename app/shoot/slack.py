"""How much a slot may slip before anything is lost."""

from collections.abc import Callable
from dataclasses import dataclass

from app.shoot.plan import Plan
from app.shoot.problem import Problem

KEEPS = 0.9  # the share of its planned value that a slot must keep to have lost nothing; common practice, no source

Placed = tuple[int, int, int]  # wish, first and last minute


@dataclass(frozen=True)
class Slack:
    """How far one slot may slip.

    Attributes
    ----------
    later_min : int
        The most minutes it may begin later, as long as it is planned, so that for
        these and all fewer: every slot after it begins as planned or as soon
        after as it can, all keep 9/10 of their planned value or more, none leaves
        the people's time and none that is fixed moves. [min]
    overrun_min : int
        The same for the minutes by which it may last longer. [min]
    stopped_by : str
        The id of the wish that would be the first to lose when it begins later still.
    why : str
        “light”, “time” or “fixed”: what that one loses.
    """

    wish_id: str
    later_min: int
    overrun_min: int
    stopped_by: str
    why: str


def slacks(problem: Problem, plan: Plan) -> tuple[Slack, ...]:
    """Return the slack of every slot of a plan, in its order."""
    placed = [_placed(problem, slot.wish_id, slot.starts_utc_s, slot.ends_utc_s) for slot in plan.slots]
    found = []
    for number, (place, start, end) in enumerate(placed):
        later, (stopped_by, why) = _most(problem, placed, number, lambda more, a=start, b=end: (a + more, b + more))
        overrun, _ = _most(problem, placed, number, lambda more, a=start, b=end: (a, b + more))
        found.append(Slack(problem.ids[place], later, overrun, problem.ids[stopped_by], why))
    return tuple(found)


def _placed(problem: Problem, wish_id: str, starts_utc_s: float, ends_utc_s: float) -> Placed:
    return problem.ids.index(wish_id), problem.minute_of(starts_utc_s), problem.minute_of(ends_utc_s)


def _most(
    problem: Problem, placed: list[Placed], number: int, slipped: Callable[[int], tuple[int, int]]
) -> tuple[int, tuple[int, str]]:
    """Return the most minutes that lose nothing, and which wish loses what with one more."""
    more = 0
    while not (loses := _loses(problem, placed[number:], slipped(more + 1))):
        more += 1
    return more, loses


def _loses(problem: Problem, placed: list[Placed], slipped: tuple[int, int]) -> tuple[int, str] | None:
    """Return the first wish that loses something when the first slot slips, and what; None when none does."""
    start, end = slipped
    for number, (place, planned_start, planned_end) in enumerate(placed):
        if number:
            ready = end + int(problem.gap_min[placed[number - 1][0], place])
            start = max(planned_start, ready)
            end = start + planned_end - planned_start
            if start == planned_start:
                return None
        if start > problem.last_start_min[place]:
            return place, "fixed"
        if end > problem.minutes or not _is_free(problem, place, start, end):
            return place, "time"
        if problem.slot_worth(place, start, end) < KEEPS * problem.slot_worth(place, planned_start, planned_end):
            return place, "light"
    return None


def _is_free(problem: Problem, place: int, start: int, end: int) -> bool:
    return any(first + problem.arrival_min[place] <= start and end <= last for first, last in problem.free_min)
