"""Solving again: around held slots, from now on, and with the least change, against trying every change."""

from dataclasses import replace
from datetime import time
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings

from app.errors import BadInput
from app.shoot.again import SHARE, from_now, least_change, solve_around
from app.shoot.order import running_order
from app.shoot.plan import Plan, Slot
from app.shoot.solve import solve
from tests.shoot.evenings import scene, shoot, wish
from tests.shoot.problems import best_by_trying_all, breaks_no_rule, problem, problems

SCENES = {
    "barn": scene("barn", 262, ("backlit",), 500),
    "gate": scene("gate", 258),
    "jetty": scene("jetty", 280, ("afterglow",), 300),
}
EVENING = shoot(wish("barn"), wish("gate"), wish("jetty", must=True), free=((time(17), time(20)),))


@settings(max_examples=60)
@given(problems(most=4, longest_evening=8))
def test_a_held_slot_stays_and_the_rest_is_the_best_around_it(task):
    first = solve(task)
    if first and first.slots:
        held = first.slots[-1]
        around = solve_around(task, [held])
        assert around.slot(held.wish_id) == held and around.score == pytest.approx(first.score)


def test_a_slot_moved_by_hand_is_solved_around():
    task = problem([[1] * 10, [1] * 10], shortest=[2, 2], longest=[4, 4])
    moved = solve_around(task, [Slot("b", 180.0, 300.0, 0.5, 1.0)])
    assert moved.slot("b").starts_utc_s == 180.0 and moved.slot("b").minutes == 2
    assert moved.slot("a").minutes == 4 and moved.slot("a").starts_utc_s == 300.0


def test_nothing_changes_where_nothing_has_to():
    task = problem([[0, 1, 1, 1, 0.9, 0], [0, 0, 1, 1, 1, 1]], shortest=[1, 1], longest=[2, 2])
    plan = solve(task)
    assert least_change(task, plan).plan == plan and least_change(task, plan).moved == ()


@settings(max_examples=80)
@given(problems(most=3, longest_evening=7), problems(most=3, longest_evening=7))
def test_no_plan_worth_enough_changes_fewer_wishes_nor_moves_any_less(task, other):
    """Against every set of changes and every largest shift, each by the oracle that tries all plans."""
    known, best = solve(other), solve(task)
    if known is None or best is None:
        return
    known = Plan(tuple(slot for slot in known.slots if slot.wish_id in task.ids), (), 0.0, 0.0)
    changed = least_change(task, known)
    assert breaks_no_rule(task, changed.plan) and changed.plan.score >= SHARE * best.score - 1e-4
    count = len(changed.moved) + len(changed.dropped) + len(changed.added)
    enough = int(np.ceil(SHARE * round(best.score * 1e4) - 1e-6))
    for kept in product((True, False), repeat=len(task.ids)):
        ids = [one for one, keep in zip(task.ids, kept, strict=True) if keep]
        fewer = len(task.ids) - len(ids) < count
        left = [one for one in task.ids if one not in ids or known.slot(one)]
        has_musts = {one for one, must in zip(task.ids, task.must, strict=True) if must} <= set(left)
        if has_musts and (fewer or len(task.ids) - len(ids) == count and changed.largest_shift_min):
            narrowed = _holding(task.only(left), [slot for slot in known.slots if slot.wish_id in ids])
            score = best_by_trying_all(narrowed if fewer else _nearer(narrowed, known, changed.largest_shift_min))
            assert score is None or score < enough


def _holding(task, slots):
    """The task with some slots where they are and all its terms as they were, and those wishes musts."""
    first, last, short, long, must = (
        getattr(task, name).copy() for name in ("first_start_min", "last_start_min", "shortest_min", "longest_min", "must")
    )
    for slot in slots:
        place, at = task.ids.index(slot.wish_id), task.minute_of(slot.starts_utc_s)
        first[place], last[place], must[place] = max(first[place], at), min(last[place], at), True
        short[place], long[place] = max(short[place], slot.minutes), min(long[place], slot.minutes)
    return replace(task, first_start_min=first, last_start_min=last, shortest_min=short, longest_min=long, must=must)


def _nearer(task, known, shift_min):
    """The task in which every known slot begins less than so many minutes from where it was."""
    first, last = task.first_start_min.copy(), task.last_start_min.copy()
    for place, one in enumerate(task.ids):
        if slot := known.slot(one):
            first[place] = max(first[place], task.minute_of(slot.starts_utc_s) - shift_min + 1)
            last[place] = min(last[place], task.minute_of(slot.starts_utc_s) + shift_min - 1)
    return replace(task, first_start_min=first, last_start_min=last)


def test_the_shift_is_the_smallest_that_is_worth_enough():
    """A slot of one minute must leave minute 7; its light is as good at 0, which alone would be taken, as at 9, which is nearer."""
    task = problem([[1, 0, 0, 0, 0, 0, 0, 0, 0, 1]], shortest=[1], longest=[1], must=[True])
    known = solve(problem([[0, 0, 0, 0, 0, 0, 0, 1, 0, 0]], shortest=[1], longest=[1]))
    changed = least_change(task, known)
    assert solve(task).slots[0].starts_utc_s == 0.0
    assert changed.moved == ("a",) and changed.largest_shift_min == 2 and changed.plan.slots[0].starts_utc_s == 9 * 60.0


def test_a_slot_that_must_be_shorter_begins_as_it_was_known():
    task = problem([[1] * 10], shortest=[2], longest=[2])
    changed = least_change(task, Plan((Slot("a", 240.0, 480.0, 1.0, 1.0),), (), 1.0, 1.0))
    assert changed.moved == ("a",) and changed.largest_shift_min == 0
    assert [(slot.starts_utc_s, slot.ends_utc_s) for slot in changed.plan.slots] == [(240.0, 360.0)]


def test_half_an_hour_late_the_last_stop_stays_where_people_know_it():
    plan = running_order(EVENING, SCENES).plan
    assert plan.order == ("gate", "barn", "jetty")
    gate, barn, jetty = plan.slots
    rest, light, task = from_now(EVENING, SCENES, gate.ends_utc_s + 1770, done=("gate",))
    changed = least_change(task, plan)
    assert [one.wish.id for one in light] == ["barn", "jetty"] == [one.id for one in rest.wishes]
    assert changed.plan.slot("jetty") == jetty and set(changed.moved) <= {"barn"}
    assert changed.plan.slot("barn").starts_utc_s >= gate.ends_utc_s + 1770 + 7 * 60  # 500 m from the gate
    assert changed.dropped == () and changed.share >= SHARE


def test_what_was_skipped_frees_what_should_come_after_it():
    asked = shoot(wish("gate"), wish("jetty", after=("gate",)))
    rest, _, task = from_now(asked, SCENES, asked.open_time[0].starts_utc_s, skipped=("gate",))
    assert rest.wishes[0].after == () and solve(task).order == ("jetty",)


def test_after_the_people_s_time_there_is_nothing_to_plan():
    with pytest.raises(BadInput, match="time is over"):
        from_now(EVENING, SCENES, EVENING.open_time[-1].ends_utc_s)
