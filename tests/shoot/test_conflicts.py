"""The smallest sets of wishes that clash, against trying every set."""

from datetime import time
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings

from app.errors import BadInput
from app.shoot.conflicts import smallest_clash
from app.shoot.order import running_order
from app.shoot.solve import solve
from tests.shoot.evenings import scene, shoot, wish
from tests.shoot.problems import problem, problems

GATE, JETTY = scene("gate", 258), scene("jetty", 280, ("afterglow",), 300)


@settings(max_examples=80)
@given(problems(most=5, longest_evening=8))
def test_the_clash_is_the_smallest_set_no_plan_holds(task):
    musts = [one for one, must in zip(task.ids, task.must, strict=True) if must]
    sets = [chosen for size in range(1, len(musts) + 1) for chosen in combinations(musts, size)]
    clashes = [chosen for chosen in sets if solve(task.with_musts(chosen)) is None]
    assert smallest_clash(task) == (clashes[0] if clashes else ())
    assert (solve(task) is None) == bool(clashes)


def test_three_that_clash_only_together_are_found():
    task = problem(np.ones((4, 5)), shortest=[2] * 4, longest=[2] * 4, must=[False, True, True, True])
    assert smallest_clash(task) == ("b", "c", "d")


def test_a_wish_without_light_in_the_people_s_time_is_named_with_its_windows_and_what_would_mend_it():
    order = running_order(shoot(wish("gate", must=True), wish("jetty", must=True), free=((time(16), time(19)),)), {"gate": GATE, "jetty": JETTY})
    assert order.plan is None and order.clash.ids == ("jetty",)
    assert "“Jetty” cannot be had. “Jetty”: afterglow" in order.clash.words and "people's time: 16:00–19:00" in order.clash.words
    assert order.clash.mends == ("More of the people's time that day.",)


def test_two_that_clash_by_the_order_asked_for():
    wishes = wish("gate", must=True, after=("jetty",)), wish("jetty", must=True)
    clash = running_order(shoot(*wishes), {"gate": GATE, "jetty": JETTY}).clash
    assert clash.ids == ("gate", "jetty") and "“Gate” and “Jetty” cannot be had together" in clash.words
    assert "Another order than the one asked for." in clash.mends and "Shorter slots." not in clash.mends


def test_two_that_clash_by_walking_or_by_length():
    """Some 1500 m at 1.2 m/s are 20.9 min."""
    wishes = wish("gate", must=True, shortest_min=20), wish("oak", must=True, shortest_min=20)
    scenes = {"gate": GATE, "oak": scene("oak", 258, east_m=1500)}
    clash = running_order(shoot(*wishes, free=((time(18), time(18, 45)),)), scenes).clash
    assert clash.ids == ("gate", "oak")
    assert {"Less time for walking, changing and lights: up to 21 min are counted for it at once.", "Shorter slots.", "More of the people's time that day."} == set(clash.mends)


def test_two_fixed_by_hand_at_the_same_time():
    at = shoot().open_time[0].starts_utc_s + 3600
    wishes = wish("gate", must=True, fixed_start_utc_s=at), wish("oak", must=True, fixed_start_utc_s=at + 60)
    clash = running_order(shoot(*wishes), {"gate": GATE, "oak": scene("oak", 258, east_m=100)}).clash
    assert clash.ids == ("gate", "oak") and clash.mends == ("Another beginning than the one fixed by hand.",)


def test_of_twenty_musts_one_that_cannot_be_is_found_and_else_words_say_it_is_too_many():
    crowd = problem(np.ones((20, 60)), must=[True] * 20)
    with pytest.raises(BadInput, match="20 setups are too many"):
        smallest_clash(crowd)
    dark = np.ones((20, 60))
    dark[3] = 0
    assert smallest_clash(problem(dark, must=[True] * 20)) == ("d",)
