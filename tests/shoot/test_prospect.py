"""The fit by minute against the looks' own windows, and evenings on odd days and in two zones."""

from dataclasses import replace
from datetime import date, time

import numpy as np
import pytest

from app.errors import BadInput
from app.looks.catalogue import LOOKS
from app.looks.look import wanted_look
from app.looks.margin import fit
from app.place.skyline import Skyline
from app.place.timezone import local_time
from app.shoot.order import running_order
from app.shoot.problem import GRAINS, problem_of
from app.shoot.prospect import prospects
from app.shoot.solve import solve
from app.shoot.words import clock, clock_at
from tests.shoot.evenings import DAY, ZONE, scene, shoot, wish

SCENES = {"gate": scene("gate", 258), "jetty": scene("jetty", 280, ("afterglow",), 300)}
EVENING = shoot(wish("gate"), wish("jetty"))


def test_the_fit_by_minute_is_positive_just_where_the_windows_are():
    """Quarters of a minute are sampled, so an edge is told to 15 s."""
    for one in prospects(EVENING, SCENES):
        (_, window), *more = [(name, w) for name, w in one.windows if w.closes_utc_s > one.starts_utc_s]
        assert not more
        minutes = np.flatnonzero(one.fit > 0)
        first, last = one.starts_utc_s + 60 * minutes[0], one.starts_utc_s + 60 * (minutes[-1] + 1)
        assert first - 15 <= max(window.opens_utc_s, one.starts_utc_s) <= first + 60
        assert last - 60 <= window.closes_utc_s <= last + 15


def test_a_slot_is_worth_its_fit_integrated_over_the_ideal_time():
    """Against a sum of five-second samples of the looks' own fit."""
    task = problem_of(EVENING, prospects(EVENING, SCENES))
    for slot in solve(task).slots:
        of = SCENES[slot.wish_id]
        at = np.arange(slot.starts_utc_s + 2.5, slot.ends_utc_s, 5.0)
        margins = wanted_look(LOOKS, of.setup.looks[0]).margins(of)
        whole = np.maximum(fit(margins, of.observer.sun_at(at)), 0).sum() * 5 / 60 / 20
        assert slot.value == pytest.approx(whole, abs=0.002)  # the fit bends within a minute
        assert abs(slot.value * GRAINS - round(slot.value * GRAINS)) < 1e-6


def test_the_best_of_a_wish_s_looks_counts_each_minute():
    both = scene("gate", 258, ("backlit", "afterglow"))
    one, other, together = (
        prospects(shoot(wish("gate", looks=looks)), {"gate": both})[0].fit for looks in (("backlit",), ("afterglow",), ())
    )
    assert (together >= np.maximum(one, other) - 1e-12).all() and together.max() <= 1
    assert one.any() and other.any() and not np.array_equal(one, other)


def test_bounds_of_the_setup_count_and_unknown_looks_and_lost_setups_are_refused():
    narrow = scene("gate", 258, ({"look": "backlit", "tolerance_deg": 3.0},))
    wide, tight = (prospects(shoot(wish("gate", looks=("backlit",))), {"gate": of})[0].fit for of in (SCENES["gate"], narrow))
    assert 0 < tight.sum() < wide.sum()
    with pytest.raises(BadInput, match="no look “moonlit”"):
        prospects(shoot(wish("gate", looks=("moonlit",))), SCENES)
    with pytest.raises(BadInput, match="“Oak” is not there any more"):
        prospects(shoot(wish("oak")), SCENES)


def test_a_setup_without_looks_takes_any_minute():
    (one,) = prospects(shoot(wish("hall")), {"hall": scene("hall", looks=())})
    assert (one.fit == 1).all() and one.windows == ()


def test_people_free_only_before_sunset_get_what_comes_before_it():
    """Sunset is at 19:12; the afterglow comes after it."""
    early = shoot(wish("gate"), wish("jetty"), free=((time(16), time(19)),))
    order = running_order(early, SCENES)
    assert order.plan.order == ("gate",)
    assert "gets no light in the people's time: afterglow 19:1" in order.reasons.left_out[0].words


def test_a_gap_in_a_ridge_one_minute_wide_is_worth_a_slot():
    """The sun takes some 5 minutes for a degree of azimuth here; a notch of 0.25° holds it a minute or so."""
    ridge = Skyline([0.0, 257.9, 257.95, 258.2, 258.25], [40.0, 40.0, 0.0, 0.0, 40.0], ("the ridge",) * 5)
    (one,) = light = prospects(shoot(wish("gate", shortest_min=10, must=True)), {"gate": scene("gate", 258, skyline=ridge)})
    (_, window), = [found for found in one.windows if found[1].opens_utc_s > one.starts_utc_s]
    assert 0.5 < window.minutes < 4
    slot = solve(problem_of(shoot(wish("gate", shortest_min=10, must=True)), light)).slots[0]
    assert slot.starts_utc_s <= window.opens_utc_s + 60 and slot.ends_utc_s >= window.closes_utc_s - 60 and 0 < slot.value < 0.2


@pytest.mark.parametrize(("day", "hours", "line_deg"), [(date(2027, 3, 28), 23, 262), (date(2027, 10, 31), 25, 240)])
def test_a_whole_day_on_which_clocks_change_is_planned_by_the_sun(day, hours, line_deg):
    """The day is 23 or 25 hours long; the low sun is where it is, and the clock is told as it then stands."""
    whole = shoot(wish("gate", must=True), free=(), day=day)
    order = running_order(whole, {"gate": scene("gate", line_deg)})
    assert len(order.light[0].fit) == hours * 60
    slot = order.plan.slots[0]
    sun = order.light[0].scene.observer.sun_at(np.array([slot.starts_utc_s, slot.ends_utc_s]))
    assert (sun.refracted_deg > -1).all() and (sun.refracted_deg < 18).all()
    assert clock(whole, slot.starts_utc_s) == f"{local_time(slot.starts_utc_s, ZONE):%H:%M}"


def test_an_evening_that_runs_past_midnight_in_the_north():
    """At 62° N in June the sun sets at 22:30 UTC or so, past local midnight at 20° E by this clock."""
    north = shoot(wish("quay", must=True), free=((time(22), time(2)),), day=date(2027, 6, 21), zone="Europe/Helsinki")
    quay = scene("quay", 320, ("backlit",), lat=62.0, lon=2.0)
    order = running_order(north, {"quay": quay})
    slot = order.plan.slots[0]
    assert local_time(slot.ends_utc_s, "Europe/Helsinki").date() == date(2027, 6, 22)
    assert clock(north, slot.ends_utc_s).endswith("the day after")


def test_a_site_in_another_zone_is_told_by_both_clocks():
    class There:
        time_zone = "Europe/Lisbon"

    class Abroad:
        time_zone = "Europe/Madrid"

    (one, _) = prospects(EVENING, SCENES)
    at = one.starts_utc_s
    same, other = (replace(one, scene=replace(one.scene, site=site())) for site in (There, Abroad))
    assert clock_at(EVENING, same, at) == "17:00"  # Lisbon keeps London's time in September
    assert clock_at(EVENING, other, at) == "17:00 (18:00 at the site)"


def test_no_wishes_and_no_free_time_make_an_empty_order():
    order = running_order(shoot(free=()), {})
    assert order.plan.slots == () and order.legs == () and order.reasons.swaps == ()


def test_forty_wishes_get_parts_in_place_of_a_plan():
    many = tuple(wish(f"w{number:02}", setup="gate") for number in range(40))
    order = running_order(shoot(*many), {one.id: SCENES["gate"] for one in many})
    assert order.plan is None and sorted(one for part in order.parts for one in part.ids) == [one.id for one in many]
    assert max(len(part.ids) for part in order.parts) <= 14 and DAY == order.shoot.day
