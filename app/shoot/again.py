"""Solving again with the least change to what people already know: around slots fixed by hand, or from now on."""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from app.errors import BadInput
from app.looks.margin import Scene
from app.shoot.plan import Plan, Slot
from app.shoot.problem import GRAINS, Problem, problem_of
from app.shoot.prospect import MINUTE_S, Prospect, prospects
from app.shoot.shoot import Free, Shoot
from app.shoot.slots import places_of
from app.shoot.solve import solve
from app.shoot.walking import leg

SHARE = 0.95  # of the best score that may not be given up for the sake of calm; common practice, no source
MOST_TRIES = 400  # sets of slots that may change, before all may


@dataclass(frozen=True)
class Changed:
    """A new plan, and how it differs from the known one.

    Attributes
    ----------
    plan : Plan
    moved, dropped, added : tuple of str
        Ids of wishes whose slots lie elsewhere, are gone, or are new.
    largest_shift_min : int
        The most any beginning moved. [min]
    share : float
        The plan's score over the best one's, 1 where nothing was given up.
    """

    plan: Plan
    moved: tuple[str, ...]
    dropped: tuple[str, ...]
    added: tuple[str, ...]
    largest_shift_min: int
    share: float


def solve_around(problem: Problem, fixed: Iterable[Slot]) -> Plan | None:
    """Return the best plan with some slots held where a hand put them, None where there is none."""
    return solve(problem.holding((slot.wish_id, slot.starts_utc_s, slot.ends_utc_s) for slot in fixed))


def least_change(problem: Problem, known: Plan, share: float = SHARE) -> Changed | None:
    """Return the plan that changes least of a known one and is worth ``share`` of the best or more.

    A known slot that breaks a term of the task by itself must change. Else the fewest
    wishes change: are moved, dropped or added. Among these sets of
    wishes, and then among plans, the one whose largest shift of a beginning is
    smallest is taken, then the highest score, then the alphabet. Where
    ``MOST_TRIES`` sets do not do, it is the best plan. None where no plan holds
    every must.
    """
    best = solve(problem)
    if best is None:
        return None
    enough = math.ceil(share * round(best.score * GRAINS) - 1e-6)
    for may_change in _by_size(_sets_to_try(problem, known, enough)):
        found = [one for change in may_change if (one := _calmest(problem, known, change, enough))]
        if found:
            return min((_changed(plan, known, best) for plan in found), key=lambda one: (one.largest_shift_min, -one.plan.score, one.plan.order))
    return _changed(best, known, best)


def from_now(
    shoot: Shoot, scenes: Mapping[str, Scene], now_utc_s: float, done: Sequence[str] = (), skipped: Sequence[str] = ()
) -> tuple[Shoot, tuple[Prospect, ...], Problem]:
    """Return what is left of a shoot: its wishes, their light and the task, from an instant on.

    ``done`` is in the order it was done; people stand at the last of it, and the
    walk from there counts. One that is being done counts as done, with its end as now. ``scenes`` go by the wish's id and hold the weather as it is
    now. Raises ``BadInput`` when the people's time is over.
    """
    gone = {*done, *skipped}
    left = tuple(
        replace(wish, after=tuple(one for one in wish.after if one not in gone)) for wish in shoot.wishes if wish.id not in gone
    )
    now = math.ceil(now_utc_s / MINUTE_S) * MINUTE_S
    free = tuple(Free(max(now, one.starts_utc_s), one.ends_utc_s) for one in shoot.open_time if one.ends_utc_s > now)
    if not free:
        raise BadInput("The people's time is over; nothing is left to plan.", "now")
    rest = replace(shoot, wishes=left, free=free)
    light = prospects(rest, scenes)
    task = problem_of(rest, light)
    here = shoot.wish(done[-1]) if done else None
    return rest, light, _standing_at(rest, light, task, (here.site, scenes[here.id])) if here else task


def _standing_at(rest: Shoot, light: Sequence[Prospect], task: Problem, here: tuple[str, Scene]) -> Problem:
    """Return the task with the way from where people stand in place of the way from the meeting point, after a later break too."""
    waits = {
        one.wish.id: leg(rest, here, (one.wish.site, one.scene)).minutes + max(one.wish.change_before_min, one.wish.lights_min)
        for one in light
    }
    return replace(task, arrival_min=np.array([waits[one] for one in task.ids], np.int32))


def _by_size(sets: Iterator[tuple[str, ...]]) -> Iterator[list[tuple[str, ...]]]:
    """Yield together what has as many members, up to ``MOST_TRIES`` in all."""
    group: list[tuple[str, ...]] = []
    for number, one in enumerate(sets):
        if number >= MOST_TRIES:
            return  # the group is not whole, and its best may be missing
        if group and len(one) > len(group[0]):
            yield group
            group = []
        group.append(one)
    yield group


def _sets_to_try(problem: Problem, known: Plan, enough: int) -> Iterator[tuple[str, ...]]:
    """Yield the sets of wishes that may change, small ones first, those left out that cannot be worth enough."""
    held = {slot.wish_id: slot for slot in known.slots if slot.wish_id in problem.ids}
    alone = {one: _alone(problem, one) for one in problem.ids}
    must_change = [one for one, slot in held.items() if not _may_stay(problem, slot)]
    must_change += [one for one, must in zip(problem.ids, problem.must, strict=True) if must and one not in held]
    others = [one for one in problem.ids if one not in must_change]
    stays = {one: _worth_of(problem, slot) for one, slot in held.items() if one not in must_change}
    for size in range(len(others) + 1):
        for more in combinations(others, size):
            change = (*must_change, *more)
            at_most = sum(alone[one] for one in change) + sum(worth for one, worth in stays.items() if one not in more)
            if at_most >= enough:
                yield change


def _may_stay(problem: Problem, slot: Slot) -> bool:
    """Tell whether a known slot still keeps the task's terms by itself: free time, length, light, a fixed beginning."""
    places = places_of(problem, problem.ids.index(slot.wish_id))
    at = np.flatnonzero(places.ends == problem.minute_of(slot.ends_utc_s))
    return bool(at.size) and places.low[at[0]] <= problem.minute_of(slot.starts_utc_s) <= places.high[at[0]]


def _alone(problem: Problem, wish_id: str) -> int:
    plan = solve(problem.only([wish_id]).with_musts(()))
    return round(plan.score * GRAINS) if plan else 0


def _worth_of(problem: Problem, slot: Slot) -> int:
    place = problem.ids.index(slot.wish_id)
    return problem.slot_worth(place, problem.minute_of(slot.starts_utc_s), problem.minute_of(slot.ends_utc_s))


def _calmest(problem: Problem, known: Plan, change: Sequence[str], enough: int) -> Plan | None:
    """Return the plan with the smallest largest shift that is worth enough, only some wishes changed; None without one."""
    kept = [slot for slot in known.slots if slot.wish_id in problem.ids and slot.wish_id not in change]
    task = problem.only([*change, *(slot.wish_id for slot in kept)]).holding((s.wish_id, s.starts_utc_s, s.ends_utc_s) for s in kept)
    plan = _enough(task, enough)
    low, high = -1, _largest_shift(plan, known) if plan else 0
    while plan and high - low > 1:
        middle = (low + high) // 2
        calmer = _enough(_within(task, known, middle), enough)
        low, high = (low, min(middle, _largest_shift(calmer, known))) if calmer else (middle, high)
        plan = calmer or plan
    return plan and replace(plan, left_out=tuple(one for one in problem.ids if one not in plan.order), best_score=float(problem.weight.sum()))


def _enough(task: Problem, enough: int) -> Plan | None:
    plan = solve(task)
    return plan if plan and round(plan.score * GRAINS) >= enough else None


def _within(task: Problem, known: Plan, shift_min: int) -> Problem:
    """Return the task in which no known beginning moves farther than this."""
    first, last = task.first_start_min.copy(), task.last_start_min.copy()
    for place, one in enumerate(task.ids):
        if slot := known.slot(one):
            at = task.minute_of(slot.starts_utc_s)
            first[place], last[place] = max(first[place], at - shift_min), min(last[place], at + shift_min)
    return replace(task, first_start_min=first, last_start_min=last)


def _largest_shift(plan: Plan, known: Plan) -> int:
    return max((_shift_min(slot, known.slot(slot.wish_id)) for slot in plan.slots), default=0)


def _shift_min(slot: Slot, before: Slot | None) -> int:
    return round(abs(slot.starts_utc_s - before.starts_utc_s) / MINUTE_S) if before else 0


def _changed(plan: Plan, known: Plan, best: Plan) -> Changed:
    both = [(slot, before) for slot in plan.slots if (before := known.slot(slot.wish_id))]
    return Changed(
        plan=plan,
        moved=tuple(slot.wish_id for slot, before in both if (slot.starts_utc_s, slot.ends_utc_s) != (before.starts_utc_s, before.ends_utc_s)),
        dropped=tuple(one for one in known.order if one in plan.left_out),
        added=tuple(one for one in plan.order if one not in known.order),
        largest_shift_min=_largest_shift(plan, known),
        share=plan.score / best.score if best.score else 1.0,
    )
