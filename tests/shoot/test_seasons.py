"""Dates of a season: windows in the people's time, weekends, blocked dates, and where every must fits."""

from dataclasses import replace
from datetime import date, time

import pytest

from app.errors import BadInput
from app.place.skyline import Skyline
from app.shoot.order import running_order
from app.shoot.seasons import season
from app.shoot.shoot import free_between
from tests.shoot.evenings import ZONE, scene, shoot, wish

SCENES = {"gate": scene("gate", 258), "jetty": scene("jetty", 280, ("afterglow",), 300), "hall": scene("hall", looks=())}
SHOOT = replace(shoot(wish("gate", must=True), wish("jetty", must=True), wish("hall")), blocked=(date(2027, 5, 8),))
FROM, TO = time(17), time(21)
YEAR = season(SHOOT, SCENES, date(2027, 1, 1), date(2027, 12, 31), FROM, TO)


def test_every_date_is_there_once_with_its_weekend_and_block():
    assert len(YEAR) == 365 and [one.day.timetuple().tm_yday for one in YEAR] == list(range(1, 366))
    assert sum(one.weekend for one in YEAR) == 104  # 2027 begins on a Friday: 52 of each
    assert [one.day for one in YEAR if one.blocked] == [date(2027, 5, 8)]


def test_dates_on_which_every_must_fits_are_those_the_solver_can_plan():
    """A date the season promises has a plan by the fit itself; one it refuses for want of light has little or none."""
    for one in YEAR[::13]:
        that_day = replace(SHOOT, day=one.day, free=(free_between(ZONE, one.day, FROM, TO),))
        plan = running_order(that_day, SCENES).plan
        if one.musts_fit:
            assert plan is not None and not one.missing
        elif plan is not None:
            assert min(plan.slot(must).value for must in ("gate", "jetty")) < 0.3
    assert 50 < sum(one.musts_fit for one in YEAR) < 300


def test_windows_are_those_of_the_day_cut_to_the_people_s_time():
    for one in YEAR[::29]:
        for wish_day in one.wishes:
            assert all(one.free.starts_utc_s <= start < end <= one.free.ends_utc_s for start, end in wish_day.windows)
        hall = one.wishes[2]
        assert hall.wish_id == "hall" and hall.minutes == 240


def test_words_say_what_is_missing():
    june = YEAR[171]
    assert june.day == date(2027, 6, 21) and june.missing == ("gate", "jetty")
    assert june.words == "Too little light in the people's time: “Gate”, “Jetty”."
    assert next(one for one in YEAR if one.musts_fit).words == "Every must fits."


def test_each_alone_but_not_all_together():
    crowded = shoot(wish("gate", must=True, shortest_min=60, ideal_min=60), wish("oak", must=True, shortest_min=60, ideal_min=60))
    scenes = {"gate": SCENES["gate"], "oak": scene("oak", 258, east_m=60)}
    (day,) = season(crowded, scenes, date(2027, 9, 18), date(2027, 9, 18), time(17, 15), time(19, 0))
    assert not day.musts_fit and day.missing == () and day.words == "Each must has its light, but not all in one order."


def test_a_window_much_shorter_than_the_slot_does_not_make_a_date():
    """A notch of 0.25° holds the sun for some two minutes; half of the shortest time is asked for."""
    ridge = Skyline([0.0, 257.9, 257.95, 258.2, 258.25], [40.0, 40.0, 0.0, 0.0, 40.0], ("the ridge",) * 5)
    scenes, day = {"gate": scene("gate", 258, skyline=ridge)}, date(2027, 9, 18)
    for shortest, fits in ((10, False), (2, True)):
        (one,) = season(shoot(wish("gate", must=True, shortest_min=shortest)), scenes, day, day, FROM, TO)
        assert one.musts_fit == fits and 0 < one.wishes[0].minutes < 4


def test_free_time_across_midnight_counts_the_light_after_it():
    north = shoot(wish("quay", must=True), zone="Europe/Helsinki", day=date(2027, 6, 21))
    (day,) = season(north, {"quay": scene("quay", 320, lat=62.0, lon=2.0)}, date(2027, 6, 21), date(2027, 6, 21), time(22), time(2))
    assert day.musts_fit and day.wishes[0].windows[-1][1] > day.free.starts_utc_s + 2 * 3600


@pytest.mark.parametrize(("first", "last"), [(date(2027, 2, 1), date(2027, 1, 1)), (date(2027, 1, 1), date(2031, 1, 1))])
def test_a_season_the_wrong_way_round_or_too_long_is_refused(first, last):
    with pytest.raises(BadInput, match="1 to 1098 dates"):
        season(SHOOT, SCENES, first, last, FROM, TO)
