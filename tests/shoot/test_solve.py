"""The solver against every plan there is, its ties, its terms and its speed's limits."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings

from app.errors import BadInput
from app.shoot.problem import GRAINS
from app.shoot.solve import MOST, best_in_order, solve, tabulate
from tests.shoot.problems import best_by_trying_all, breaks_no_rule, problem, problems


@settings(max_examples=150)
@given(problems())
def test_the_plan_is_worth_as_much_as_the_best_of_all_plans(task):
    plan, best = solve(task), best_by_trying_all(task)
    assert (plan is None) == (best is None)
    if plan:
        assert round(plan.score * GRAINS) == best
        assert breaks_no_rule(task, plan)


@settings(max_examples=60)
@given(problems(longest_evening=30))
def test_the_score_is_the_sum_of_weight_times_value_and_its_order_gives_it_again(task):
    plan = solve(task)
    if plan:
        assert plan.score == pytest.approx(sum(slot.weight * slot.value for slot in plan.slots), abs=1e-9)
        assert best_in_order(task, plan.order) == plan
        assert solve(task) == plan


@settings(max_examples=60)
@given(problems(longest_evening=20))
def test_every_set_has_the_score_it_has_alone(task):
    """What explanations read from the table is what solving for that set would say."""
    table = tabulate(task.with_musts(()))
    for chosen in range(1 << len(task.ids)):
        ids = [one for place, one in enumerate(task.ids) if chosen >> place & 1]
        alone = solve(task.only(ids).with_musts(ids))
        best = int(table.best_of_set[chosen])
        assert alone is None and best < 0 or round(alone.score * GRAINS) == best


def test_waits_for_the_light_and_takes_it_whole():
    plan = solve(problem([[0, 0, 0, 1, 1, 0, 0]]))
    assert [(slot.starts_utc_s, slot.ends_utc_s, slot.value) for slot in plan.slots] == [(180.0, 300.0, 1.0)]


def test_of_equal_plans_the_alphabet_and_the_earlier_end_decide():
    plan = solve(problem([[1, 1, 1, 1]] * 2, longest=[1, 1]))
    assert [(slot.wish_id, slot.starts_utc_s) for slot in plan.slots] == [("a", 0.0), ("b", 60.0)]
    again = solve(problem([[1, 1]] * 3, longest=[2, 2, 2], shortest=[2, 2, 2]))
    assert again.order == ("a",)


def test_a_may_that_gets_no_light_is_left_out_and_such_a_must_cannot_be():
    dark = problem([[1, 1, 0], [0, 0, 0]])
    assert solve(dark).left_out == ("b",)
    assert solve(dark.with_musts(["b"])) is None


def test_a_slot_fixed_by_hand_stands_even_in_the_dark():
    plan = solve(problem([[1, 1, 0, 0], [0, 0, 0, 0]], fixed=[-1, 2], must=[False, True]))
    assert plan.order == ("a", "b") and plan.slots[1].starts_utc_s == 120.0 and plan.slots[1].value == 0


def test_a_slot_does_not_reach_over_a_break():
    plan = solve(problem([[1] * 6], longest=[6], free=((0, 2), (3, 6))))
    assert plan.slots[0].minutes == 3


def test_no_wishes_make_an_empty_plan():
    plan = solve(problem(np.zeros((0, 5))))
    assert plan.slots == () and plan.score == 0


def test_one_minute_windows_are_found():
    fit = np.zeros((2, 200))
    fit[0, 77], fit[1, 150] = 0.5, 1.0
    assert solve(problem(fit, shortest=[10, 10], longest=[20, 20])).order == ("a", "b")


def test_too_many_are_refused_in_words():
    crowd = problem(np.ones((MOST + 1, 4)))
    with pytest.raises(BadInput, match="15 setups are too many .* 14 at most; split the evening"):
        solve(crowd)


def test_the_order_asked_for_is_kept_whatever_it_costs():
    task = problem([[1, 1, 0, 0], [0, 0, 1, 1]], after=[(0, 1)])
    assert len(solve(task).slots) == 1
    assert solve(replace(task, after=np.zeros((2, 2), bool))).order == ("a", "b")
