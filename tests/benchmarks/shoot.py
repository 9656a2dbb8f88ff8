"""Six to fourteen setups in one evening: how long the running order takes, and that it is the best one."""

import numpy as np

from app.shoot.problem import Problem
from app.shoot.solve import best_in_order, solve
from tests.benchmarks.measure import demand, duration, medians_s
from tests.shoot.problems import problem

EVENING_MIN = 240
LIMIT_S = 0.5


def evening(count: int, seed: int) -> Problem:
    """A crowded evening: windows of half an hour to two hours, walks of 2 to 12 minutes, some musts and changes of clothes."""
    chance = np.random.default_rng(seed)
    minute = np.arange(EVENING_MIN)
    middle, half = chance.uniform(20, 220, count), chance.uniform(15, 60, count)
    fit = np.clip(1.5 * (1 - np.abs(minute - middle[:, np.newaxis]) / half[:, np.newaxis]), 0, 1)
    x, y = chance.uniform(0, 500, (2, count))
    walk = np.ceil(np.hypot(x - x[:, np.newaxis], y - y[:, np.newaxis]) / 72)
    pause = np.where(chance.random(count) < 0.2, 15, 0)
    gap = walk + pause
    np.fill_diagonal(gap, 0)
    return problem(
        fit,
        shortest=chance.integers(5, 12, count),
        longest=chance.integers(12, 25, count),
        weight=chance.uniform(0.5, 3, count),
        must=[place == 0 for place in range(count)],
        gap=gap,
        arrival=pause,
    )


def bench_running_order() -> list[str]:
    """The whole answer, one minute to the step, for 6 to 14 setups."""
    rows = []
    for count in (6, 9, 12, 14):
        tasks = [evening(count, seed) for seed in range(3)]
        spent = [medians_s(3, lambda task=task: solve(task))[0] for task in tasks]
        plans = [solve(task) for task in tasks]
        again = [best_in_order(task, plan.order) for task, plan in zip(tasks, plans, strict=True)]
        demand(plans == again, "the plan's order does not give its score again")
        slower = " more than it may be" if count == 12 and max(spent) > LIMIT_S else ""
        rows.append(f"  {count} setups: {duration(min(spent))} to {duration(max(spent))}{slower}")
    flat = problem(np.random.default_rng(1).uniform(0.2, 1, (12, EVENING_MIN)), shortest=[8] * 12, longest=[25] * 12)
    rows.append(f"  12 setups, light for all of them all evening: {duration(medians_s(3, lambda: solve(flat))[0])}")
    return [f"running order of an evening of {EVENING_MIN} minutes, exact", *rows]
