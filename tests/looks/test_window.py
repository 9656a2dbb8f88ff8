"""Edges, reasons and best moments of windows, on the equator at an equinox, where the sun goes straight up and down.

It stands within 0.3° of due east all morning and of due west all afternoon, and its
airless altitude changes by 0.25° a minute, so that every case can be worked by hand.
"""

import numpy as np
import pytest

from app.looks.conditions import clear_of_skyline, not_above, not_below, sun_behind, sun_gone
from app.looks.margin import Margin
from app.looks.window import find_windows, open_minutes, open_spans
from app.place.bands import NOWHERE_HIGH_DEG, NOWHERE_LOW_DEG, Band
from app.place.skyline import Skyline, level_skyline
from app.sky.ephemeris import DAY_S
from app.sky.track import Observer, SunTrack
from tests.looks.scenes import scene_at
from tests.reference_data import utc_s

EQUATOR = Observer(0.0, 0.0)
MIDNIGHT = utc_s("2026-03-20T00:00:00Z")
NOON = MIDNIGHT + DAY_S / 2
EXACT_S = 0.25  # what the search claims
BEST_S = 5.0


def when(quantity: str, value_deg: float, start_utc_s: float, end_utc_s: float) -> float:
    """Return when the sun's altitude so named passes a value, by halving: nothing of the search is used."""
    rises = getattr(EQUATOR.sun_at(end_utc_s), quantity) > value_deg
    for _ in range(40):
        middle = (start_utc_s + end_utc_s) / 2
        if (getattr(EQUATOR.sun_at(middle), quantity) > value_deg) == rises:
            end_utc_s = middle
        else:
            start_utc_s = middle
    return (start_utc_s + end_utc_s) / 2


def as_high_as(margin_deg: float, name: str = "high") -> Margin:
    return not_below(margin_deg, 1.0, opens=f"{name} opens", closes=f"{name} closes")


def test_edges_are_where_the_altitude_passes_the_bounds():
    low, high = as_high_as(5.0), not_above(15.0, 1.0)
    morning, evening = find_windows((low, high), EQUATOR, MIDNIGHT, MIDNIGHT + DAY_S)
    assert morning.opens_utc_s == pytest.approx(when("refracted_deg", 5.0, MIDNIGHT, NOON), abs=EXACT_S)
    assert morning.closes_utc_s == pytest.approx(when("refracted_deg", 15.0, MIDNIGHT, NOON), abs=EXACT_S)
    assert evening.opens_utc_s == pytest.approx(when("refracted_deg", 15.0, NOON, MIDNIGHT + DAY_S), abs=EXACT_S)
    assert evening.closes_utc_s == pytest.approx(when("refracted_deg", 5.0, NOON, MIDNIGHT + DAY_S), abs=EXACT_S)
    assert (morning.opened_by, morning.closed_by, evening.opened_by, evening.closed_by) == (low, high, high, low)
    assert (morning.opens_because, morning.closes_because) == ("high opens", "sun climbs past 15°")
    assert (evening.opens_because, evening.closes_because) == ("sun down to 15°", "high closes")


def test_ten_degrees_of_climb_last_forty_minutes():
    """15° an hour; refraction adds 10′ at 5° and 4′ at 15°, which is half a minute."""
    windows = find_windows((as_high_as(5.0), not_above(15.0, 1.0)), EQUATOR, MIDNIGHT, NOON)
    assert open_minutes(windows) == pytest.approx(40.4, abs=0.1)
    assert windows[0].minutes == open_minutes(windows)


def test_the_best_moment_is_the_middle_of_a_plateau():
    """1° inside both bounds all is as well as can be: the middle of 6° to 14°."""
    (window,) = find_windows((as_high_as(5.0), not_above(15.0, 1.0)), EQUATOR, MIDNIGHT, NOON)
    first, last = (when("refracted_deg", altitude, MIDNIGHT, NOON) for altitude in (6.0, 14.0))
    assert window.best_fit == 1.0
    assert window.best_utc_s == pytest.approx((first + last) / 2, abs=BEST_S)


def test_the_best_moment_is_the_peak_where_two_margins_cross():
    """Down from 15° over ten, up from 5° over thirty: equal where (15 - h) / 10 = (h - 5) / 30, at 12.5°."""
    (window,) = find_windows((not_below(5.0, 30.0, "", ""), not_above(15.0, 10.0)), EQUATOR, MIDNIGHT, NOON)
    assert window.best_utc_s == pytest.approx(when("refracted_deg", 12.5, MIDNIGHT, NOON), abs=BEST_S)
    assert window.best_fit == pytest.approx(0.25, abs=0.001)


def test_of_two_plateaus_the_longer_counts():
    """As well as can be from 1° to 3° and from 6° to 14°, half as well between."""
    def value(sun: SunTrack) -> np.ndarray:
        return np.where(np.abs(sun.refracted_deg - 4.5) < 1.5, 0.5, 1.0) - 10.0 * ((sun.refracted_deg < 1.0) | (sun.refracted_deg > 14.0))

    anything = Margin("parted", value, "", "", bounds=lambda way: (way.ends.utc_s[0] * 0 - 10, way.ends.utc_s[0] * 0 + 1))
    (window,) = find_windows((anything,), EQUATOR, MIDNIGHT, NOON)
    first, last = (when("refracted_deg", altitude, MIDNIGHT, NOON) for altitude in (6.0, 14.0))
    assert window.best_fit == 1.0
    assert window.best_utc_s == pytest.approx((first + last) / 2, abs=BEST_S)


def test_a_window_that_the_span_cuts_has_no_reason_there():
    (window,) = find_windows((as_high_as(5.0),), EQUATOR, NOON - 3600, NOON + 3600)
    assert (window.opens_utc_s, window.closes_utc_s) == (NOON - 3600, NOON + 3600)
    assert window.opened_by is window.closed_by is None
    assert (window.opens_because, window.closes_because) == ("open since before", "goes on after")


@pytest.mark.parametrize("length_s", [0.0, -100.0, 1.0, 3599.0, 3600.0])
def test_spans_of_any_length_are_searched(length_s):
    windows = find_windows((as_high_as(5.0),), EQUATOR, NOON, NOON + length_s)
    assert [(one.opens_utc_s, one.closes_utc_s) for one in windows] == ([(NOON, NOON + length_s)] if length_s > 0 else [])


def test_a_look_that_never_holds_has_no_window():
    assert find_windows((not_above(-95.0, 1.0),), EQUATOR, MIDNIGHT, MIDNIGHT + 30 * DAY_S) == ()
    assert open_spans((not_above(-95.0, 1.0),), EQUATOR, MIDNIGHT, MIDNIGHT + 30 * DAY_S).shape == (0, 2)


def test_windows_that_touch_a_whole_hour_or_day_are_not_parted():
    """Pieces of the search meet there; the sun stays behind the line from long before to long after."""
    windows = find_windows((sun_behind(scene_at(0, 0, 90), 30.0), as_high_as(-60.0)), EQUATOR, MIDNIGHT, MIDNIGHT + DAY_S)
    assert len(windows) == 1


def test_sunset_and_sunrise_are_told_over_level_land():
    clear = clear_of_skyline(level_skyline())
    (day,) = find_windows((clear,), EQUATOR, MIDNIGHT, MIDNIGHT + DAY_S)
    assert (day.opens_because, day.closes_because) == ("sunrise over the horizon", "sunset over the horizon")
    assert day.opens_utc_s == pytest.approx(when("upper_edge_deg", 0.0, MIDNIGHT, NOON), abs=EXACT_S)
    (night,) = find_windows((sun_gone(),), EQUATOR, NOON, NOON + DAY_S)
    assert (night.opens_because, night.closes_because) == ("sun has set", "sun rises")
    assert night.opens_utc_s == day.closes_utc_s == pytest.approx(when("upper_edge_deg", 0.0, NOON, MIDNIGHT + DAY_S), abs=EXACT_S)


def test_a_tower_and_a_roof_are_named():
    """The sun, 0.53° wide, goes down at 270° behind a roof from 10° to 12° and then behind a tower of 5°.

    Between them it shows whole or in part from 9.47° under the roof to its top at the tower's.
    """
    tower = Skyline([260.0, 265.0, 275.0, 280.0], [0.0, 5.0, 5.0, 0.0], ("the hill", "the tower", "the tower", "the horizon"))
    low = np.array([NOWHERE_LOW_DEG, 10.0, 10.0, NOWHERE_LOW_DEG])
    high = np.array([NOWHERE_HIGH_DEG, 12.0, 12.0, NOWHERE_HIGH_DEG])
    roof = Band(np.array([250.0, 251.0, 289.0, 290.0]), low, high, "the roof")
    scene = Skyline(tower.azimuth_deg, tower.altitude_deg, tower.called, (roof,))
    over, under = find_windows((clear_of_skyline(scene),), EQUATOR, NOON, MIDNIGHT + DAY_S)
    assert over.closes_utc_s == pytest.approx(when("upper_edge_deg", 12.0, NOON, MIDNIGHT + DAY_S), abs=EXACT_S)
    assert (over.closes_because, under.opens_because, under.closes_because) == ("behind the roof", "sun clears the roof", "behind the tower")
    assert under.opens_utc_s == pytest.approx(when("upper_edge_deg", 10.0 + 2 * 959.63 / 3600, NOON, MIDNIGHT + DAY_S), abs=EXACT_S)
    assert under.closes_utc_s == pytest.approx(when("upper_edge_deg", 5.0, NOON, MIDNIGHT + DAY_S), abs=EXACT_S)


def test_a_wall_as_steep_as_can_be_gets_the_blame_though_other_margins_are_low():
    """At 50° N an afternoon's sun goes right, into a wall that rises by 60° within 0.01°, while it hardly stands behind the couple."""
    place, scene = Observer(50.0, 0.0), scene_at(50.0, 0.0, 262.0)
    wall = Skyline([250.0, 250.01, 275.0, 275.01], [0.0, 60.0, 60.0, 0.0], ("the wall", "the wall", "the wall", "the horizon"))
    (window,) = find_windows((sun_behind(scene, 12.5), clear_of_skyline(wall)), place, NOON, MIDNIGHT + DAY_S)
    assert (window.opens_because, window.closes_because) == ("sun comes behind them", "behind the wall")
    assert 250.0 < place.sun_at(window.closes_utc_s).azimuth_deg < 250.01
    assert window.best_fit < 0.05


def test_a_margin_steeper_than_it_tells_is_what_makes_a_search_miss():
    """The bounds are all that the search knows: a hump of two minutes is found only when its margin owns up to it."""
    hump = NOON + 1234.0

    def margin(steepest: float) -> Margin:
        return Margin("hump", lambda sun: 1 - np.abs(sun.utc_s - hump) / 60, "", "", steepest_per_deg=steepest)

    honest = 1 / 60 / (15 / 3600) * 1.1
    (window,) = find_windows((margin(honest),), EQUATOR, NOON, NOON + 3600)
    assert (window.opens_utc_s, window.closes_utc_s, window.best_utc_s) == pytest.approx((hump - 60, hump + 60, hump), abs=BEST_S)
    assert find_windows((margin(honest / 100),), EQUATOR, NOON, NOON + 3600) == ()


def test_a_margin_is_asked_only_where_the_ones_before_may_hold():
    asked = []

    def value(sun: SunTrack) -> np.ndarray:
        asked.append(sun.refracted_deg.min())
        return np.ones_like(sun.utc_s)

    watched = Margin("watched", value, "", "", steepest_per_deg=0.0)
    find_windows((as_high_as(30.0), watched), EQUATOR, MIDNIGHT, MIDNIGHT + DAY_S)
    assert 10 < min(asked) < 30, "the hour before 30° is asked for, the ones before that are not"

