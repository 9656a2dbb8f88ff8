"""What explanations say, held against solving for it."""

from datetime import time

import numpy as np
import pytest
from hypothesis import given, settings

from app.shoot.explain import _during, _opening, _slack_words
from app.shoot.order import running_order
from app.shoot.slack import KEEPS, Slack, slacks
from app.shoot.solve import solve, tabulate
from tests.shoot.evenings import scene, shoot, wish
from tests.shoot.problems import problem, problems

SCENES = {
    "barn": scene("barn", 262, ("backlit",), 500),
    "gate": scene("gate", 258),
    "jetty": scene("jetty", 285, ("afterglow",), 300),
    "oak": scene("oak", 270, ("silhouette",), 200),
}
WISHES = wish("barn"), wish("gate", must=True), wish("jetty", must=True), wish("oak", change_before_min=20)
ORDER = running_order(shoot(*WISHES, free=((time(18), time(20)),)), SCENES)


def test_each_neighbouring_pair_has_its_sentence():
    assert ORDER.plan.order[-1] == "jetty" and len(ORDER.reasons.swaps) == len(ORDER.plan.slots) - 1
    last = ORDER.reasons.swaps[-1]
    assert last.second_id == "jetty" and last.cost_percent > 5
    assert "“Jetty”: the other way round would cost" in last.words and "“Jetty” begins only 19:12: sun has set." in last.words


def test_an_order_that_was_asked_for_says_so():
    asked = shoot(wish("barn", after=("gate",)), wish("gate"), free=((time(18), time(20)),))
    order = running_order(asked, SCENES)
    assert order.plan.order == ("gate", "barn")
    assert order.reasons.swaps[0].words == "“Gate” before “Barn”: you asked for that."


def test_what_is_left_out_costs_what_solving_with_it_says():
    tight = shoot(*WISHES, free=((time(18, 30), time(19, 30)),))
    order = running_order(tight, SCENES)
    assert order.plan.left_out
    for one in order.reasons.left_out:
        musts = {"gate", "jetty", one.wish_id}
        forced = solve(order.problem.with_musts(musts))
        if forced is None:
            assert one.cost_percent is None and "beside what must be" in one.words
        else:
            assert one.cost_percent == pytest.approx(100 * (1 - forced.score / order.plan.score))
            assert set(one.pushed_out) == set(order.plan.order) - set(forced.order)


@settings(max_examples=60)
@given(problems(longest_evening=16))
def test_forcing_a_wish_never_gains(task):
    table, plan = tabulate(task), solve(task)
    for one in plan.left_out if plan else ():
        forced = table.best_plan([one])
        alone = solve(task.with_musts({one, *(name for name, must in zip(task.ids, task.must, strict=True) if must)}))
        assert (forced is None) == (alone is None)
        assert forced is None or forced.score == alone.score <= plan.score


@settings(max_examples=100)
@given(problems(longest_evening=25))
def test_within_its_slack_nothing_is_lost_and_a_minute_more_loses(task):
    """Slips every slot by hand, all after it pushed no more than they must be."""
    plan = solve(task)
    for number, slack in enumerate(slacks(task, plan) if plan else ()):
        assert all(_slipped_is_good(task, plan, number, more, more) for more in range(slack.later_min + 1))
        assert not _slipped_is_good(task, plan, number, slack.later_min + 1, slack.later_min + 1)
        assert all(_slipped_is_good(task, plan, number, 0, more) for more in range(slack.overrun_min + 1))
        assert not _slipped_is_good(task, plan, number, 0, slack.overrun_min + 1)


def _slipped_is_good(task, plan, number, later, longer):
    free = np.zeros(task.minutes + 400, int)
    for label, (start, end) in enumerate(task.free_min, 1):
        free[start:end] = label
    end_before = None
    for at, slot in enumerate(plan.slots[number:]):
        place = task.ids.index(slot.wish_id)
        planned = task.minute_of(slot.starts_utc_s), task.minute_of(slot.ends_utc_s)
        if at == 0:
            start, end = planned[0] + later, planned[1] + longer
        else:
            before = task.ids.index(plan.slots[number + at - 1].wish_id)
            start = max(planned[0], end_before + task.gap_min[before, place])
            end = start + planned[1] - planned[0]
        stretch = set(free[start:end].tolist())
        if end > task.minutes or len(stretch) != 1 or 0 in stretch or start > task.last_start_min[place]:
            return False
        if start - task.arrival_min[place] < task.free_min[stretch.pop() - 1][0]:
            return False
        if task.worth[place, end] - task.worth[place, start] < KEEPS * (task.worth[place, planned[1]] - task.worth[place, planned[0]]):
            return False
        end_before = end
    return True


def test_slack_worked_by_hand():
    """Light of 30 minutes for a slot of 10 at its beginning: 21 minutes later a tenth is lost, 20 years longer nothing."""
    fit = np.zeros((1, 60))
    fit[0, 10:40] = 1.0
    (slack,) = slacks(task := problem(fit, shortest=[10], longest=[10]), solve(task))
    assert (slack.later_min, slack.overrun_min, slack.stopped_by, slack.why) == (21, 40, "a", "light")


def test_a_fixed_slot_stops_the_one_before_it():
    (first, second) = slacks(task := problem(np.ones((2, 9)), shortest=[2, 2], longest=[2, 2], fixed=[-1, 5], gap=[[0, 1], [1, 0]]), solve(task))
    assert (first.later_min, first.stopped_by, first.why) == (2, "b", "fixed")
    assert second.later_min == 0 and second.why == "fixed"


def test_poor_slots_are_warned_of():
    poor = shoot(wish("gate", must=True, fixed_start_utc_s=ORDER.problem.starts_utc_s - 3 * 3600), free=((time(12), time(20)),))
    (warning,) = running_order(poor, SCENES).reasons.warnings
    assert "“Gate” gets no light for its looks; its windows: backlit 17:0" in warning


def test_a_wish_without_a_name_is_called_by_its_setup_and_looks():
    bare = shoot(wish("a", name="", setup="gate", looks=("backlit",)), wish("b", name="", setup="gate"), free=((time(12), time(14)),))
    words = [one.words for one in running_order(bare, {"a": SCENES["gate"], "b": SCENES["gate"]}).reasons.left_out]
    assert words[0].startswith("“Gate (backlit)” gets no light") and words[1].startswith("“Gate” gets no light")


@pytest.mark.parametrize(
    ("later", "over", "words"),
    [
        (0, 0, "May neither begin later nor run over; begun later, it loses"),
        (0, 5, "May run over by 5 min at no cost to the rest, but not begin later; begun later, it loses"),
        (4, 0, "May begin 4 min later, but not run over; begun later still, it loses"),
        (4, 25, "May begin 4 min later, or run over by 25 min at no cost to the rest; begun later still, it loses"),
    ],
)
def test_slack_is_told_without_counting_nothing(later, over, words):
    assert _slack_words({}, Slack("gate", later, over, "gate", "light")).startswith(words)


def test_a_window_that_was_open_all_along_is_no_reason_to_wait():
    order = running_order(shoot(*WISHES, free=((time(17), time(20)),)), SCENES)
    light = {one.wish.id: one for one in order.light}
    for slot in order.plan.slots:
        window = min(_during(light[slot.wish_id], slot), key=lambda one: one.opens_utc_s)
        assert "begins only" in _opening(order.shoot, light[slot.wish_id], slot, window.opens_utc_s - 1)
        assert _opening(order.shoot, light[slot.wish_id], slot, window.opens_utc_s) == ""
