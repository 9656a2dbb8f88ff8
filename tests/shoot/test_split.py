"""Where a full evening is split."""

import numpy as np

from app.shoot.solve import solve
from app.shoot.split import part_of, split
from tests.shoot.problems import problem


def lit(*middles, minutes=200):
    fit = np.zeros((len(middles), minutes))
    for row, middle in zip(fit, middles, strict=True):
        row[middle - 2 : middle + 2] = 1.0
    return problem(fit, longest=[4] * len(middles))


def test_the_widest_gap_between_the_lights_parts_the_evening():
    first, second = split(lit(10, 20, 30, 120, 130, 150), most=4)
    assert (first.ids, second.ids) == (("a", "b", "c"), ("d", "e", "f"))
    assert first.ends_utc_s == second.starts_utc_s == 75 * 60.0 and second.ends_utc_s == 200 * 60.0


def test_parts_are_solved_alone_and_keep_to_their_time():
    task = lit(10, 20, 30, 120, 130, 150)
    plans = [solve(part_of(task, part)) for part in split(task, most=4)]
    assert [plan.order for plan in plans] == [("a", "b", "c"), ("d", "e", "f")]
    assert plans[0].slots[-1].ends_utc_s <= 75 * 60 <= plans[1].slots[0].starts_utc_s


def test_few_enough_are_one_part_and_many_alike_are_halved():
    assert len(split(lit(10, 20))) == 1
    alike = problem(np.ones((20, 30)))
    assert [len(part.ids) for part in split(alike)] == [10, 10]
