"""Windows of civil days: over midnight, through polar days that last months, on days of 23 and 25 hours."""

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise

import numpy as np
import pytest

from app.looks.catalogue import LOOKS
from app.looks.look import WantedLook, wanted_look
from app.looks.margin import Scene
from app.looks.search import next_window, windows_in_each, windows_on, windows_through
from app.looks.window import find_windows
from app.place.timezone import civil_day
from app.sky.ephemeris import DAY_S
from tests.looks.scenes import scene_at
from tests.reference_data import utc_s

EXACT_S = 0.5  # two edges by the search, each to 0.25 s
BACKLIT = {"look": "backlit", "tolerance_deg": 60}
SUN_UP = {"look": "custom", "offset_deg": [-180, 180], "altitude_deg": [0, 90]}


def wanted(typed: object) -> WantedLook:
    return wanted_look(LOOKS, typed)


def days_of(zone: str) -> Callable[[date], tuple[float, float]]:
    return lambda day: civil_day(zone, day)


def edges(windows) -> list[float]:
    return [edge for one in windows for edge in (one.opens_utc_s, one.closes_utc_s)]


@pytest.fixture
def harbour() -> Scene:
    """Reykjavik: in June the sun sets after local midnight."""
    return scene_at(64.15, -21.94, 0.0)


@pytest.fixture
def polar() -> Scene:
    """68° N: up from late May to mid-July, down in December."""
    return scene_at(68.2, 14.3, 0.0)


def test_a_window_past_midnight_belongs_to_the_day_it_opens_on(harbour):
    zone = days_of("Atlantic/Reykjavik")
    (window,) = windows_on(wanted("afterglow"), harbour, date(2026, 5, 25), zone)
    start, end = civil_day("Atlantic/Reykjavik", date(2026, 5, 25))
    assert start < window.opens_utc_s < end < window.closes_utc_s
    assert (window.opens_because, window.closes_because) == ("sun has set", "sun rises")
    after = windows_on(wanted("afterglow"), harbour, date(2026, 5, 26), zone)
    assert len(after) == 1
    assert after[0].opens_utc_s > window.closes_utc_s


def test_days_and_the_year_tell_the_same_windows(harbour):
    zone, look = days_of("Atlantic/Reykjavik"), wanted(BACKLIT)
    through = windows_through(look, harbour, date(2026, 5, 1), date(2026, 7, 31), zone)
    assert [one.day for one in through] == [date(2026, 5, 1) + timedelta(n) for n in range(92)]
    assert sum(len(one.windows) for one in through) > 80
    for one in through[::7]:
        assert edges(windows_on(look, harbour, one.day, zone)) == pytest.approx(edges(one.windows), abs=EXACT_S)


def test_every_window_belongs_to_one_day(harbour):
    through = windows_through(wanted(BACKLIT), harbour, date(2026, 6, 1), date(2026, 6, 30), days_of("Atlantic/Reykjavik"))
    start, end = civil_day("Atlantic/Reykjavik", date(2026, 6, 1))[0], civil_day("Atlantic/Reykjavik", date(2026, 6, 30))[1]
    whole = find_windows(wanted(BACKLIT).margins(harbour), harbour.observer, start - DAY_S, end + DAY_S)
    expected = [one for one in whole if start <= one.opens_utc_s < end]
    assert edges(one for day in through for one in day.windows) == pytest.approx(edges(expected), abs=EXACT_S)


def test_a_polar_day_has_its_share_of_a_window_that_lasts_for_weeks(polar):
    """The sun stays up from 28 May to 14 July there; every day in between has all of it."""
    (window,) = windows_on(wanted(SUN_UP), polar, date(2026, 6, 21), days_of("Europe/Oslo"))
    assert (window.opens_utc_s, window.closes_utc_s) == civil_day("Europe/Oslo", date(2026, 6, 21))
    assert (window.opens_because, window.closes_because) == ("open since before", "goes on after")
    assert window.opens_utc_s <= window.best_utc_s <= window.closes_utc_s


def test_the_shares_of_a_long_window_add_up_to_it(polar):
    zone, first, last = days_of("Europe/Oslo"), date(2026, 5, 10), date(2026, 7, 31)
    through = windows_through(wanted(SUN_UP), polar, first, last, zone)
    found = [one for day in through for one in day.windows]
    whole = find_windows(wanted(SUN_UP).margins(polar), polar.observer, zone(first)[0], zone(last)[1])
    assert max(one.minutes for one in whole) > 40 * 24 * 60
    assert sum(one.minutes for one in found) == pytest.approx(sum(one.minutes for one in whole), abs=1)
    assert max(one.minutes for one in found) < 36 * 60
    assert all(later.opens_utc_s >= one.closes_utc_s for one, later in pairwise(found))
    assert all(day.windows for day in through)


def test_the_first_day_of_a_long_window_keeps_its_reason(polar):
    through = windows_through(wanted(SUN_UP), polar, date(2026, 5, 10), date(2026, 7, 31), days_of("Europe/Oslo"))
    opening = [one for day in through for one in day.windows if one.opened_by and not one.closed_by]
    closing = [one for day in through for one in day.windows if one.closed_by and not one.opened_by]
    assert [one.opens_because for one in opening] == ["sun up to 0°"]
    assert [one.closes_because for one in closing] == ["sun down to 0°"]


def test_a_polar_night_has_no_backlit_window(polar):
    through = windows_through(wanted("backlit"), polar, date(2026, 12, 15), date(2026, 12, 28), days_of("Europe/Oslo"))
    assert len(through) == 14
    assert not any(day.windows for day in through)


@pytest.mark.parametrize("day,hours", [(date(2026, 3, 29), 23), (date(2026, 10, 25), 25), (date(2026, 6, 1), 24)])
def test_days_of_odd_length_are_told_whole(polar, day, hours):
    """The whole day is 23 or 25 hours of a look that always holds."""
    always = wanted({"look": "custom", "offset_deg": [-180, 180], "altitude_deg": [-90, 90]})
    (window,) = windows_on(always, polar, day, days_of("Europe/Oslo"))
    assert window.minutes == pytest.approx(hours * 60)


def test_a_day_that_the_date_line_swallowed_has_no_window():
    """Samoa went from 29 to 31 December 2011."""
    scene, zone = scene_at(-13.83, -171.77, 250.0), days_of("Pacific/Apia")
    through = windows_through(wanted("afterglow"), scene, date(2011, 12, 29), date(2011, 12, 31), zone)
    assert [bool(one.windows) for one in through] == [True, False, True]


@pytest.mark.parametrize("day", [date(1950, 1, 1), date(2100, 12, 31)])
@pytest.mark.parametrize("zone", ["Etc/GMT+12", "Etc/GMT-14"])
def test_the_first_and_last_days_that_are_known_can_be_asked(day, zone):
    assert len(windows_through(wanted("side light"), scene_at(45, 0, 0), day, day, days_of(zone))) == 1


def test_spans_get_the_windows_that_reach_into_them_whole(harbour):
    start = utc_s("2026-05-25T12:00:00Z")
    whole = find_windows(wanted("afterglow").margins(harbour), harbour.observer, start, start + DAY_S)[0]
    middle = (whole.opens_utc_s + whole.closes_utc_s) / 2
    before, inside, after = windows_in_each(wanted("afterglow"), harbour, [(start, whole.opens_utc_s - 60), (middle, middle + 1), (whole.closes_utc_s + 60, start + DAY_S)])
    assert before == after == ()
    assert edges(inside) == pytest.approx([whole.opens_utc_s, whole.closes_utc_s], abs=EXACT_S)
    assert windows_in_each(wanted("afterglow"), harbour, []) == ()


def test_the_next_window_is_today_while_one_is_open(harbour):
    look, noon = wanted(BACKLIT), utc_s("2026-06-10T12:00:00Z")
    first = next_window(look, harbour, noon)
    during = next_window(look, harbour, first.closes_utc_s - 1)
    after = next_window(look, harbour, first.closes_utc_s + 1)
    assert during.closes_utc_s == pytest.approx(first.closes_utc_s, abs=EXACT_S)
    assert first.closes_utc_s < after.opens_utc_s < first.closes_utc_s + DAY_S / 4, "the next morning's"


def test_the_next_window_may_be_months_ahead(polar):
    """The sun stands within 12° of due north only around midsummer's midnights."""
    found = next_window(wanted("backlit"), polar, utc_s("2026-08-15T12:00:00Z"))
    assert datetime.fromtimestamp(found.opens_utc_s, UTC).month in (5, 6)
    assert datetime.fromtimestamp(found.opens_utc_s, UTC).year == 2027


def test_the_next_window_is_followed_to_its_end_weeks_later(polar):
    found = next_window(wanted(SUN_UP), polar, utc_s("2026-06-01T12:00:00Z"))
    assert found.closes_because == "sun down to 0°"
    assert datetime.fromtimestamp(found.closes_utc_s, UTC).month == 7
    assert found.opens_because == "open since before"


def test_there_may_be_no_next_window(polar):
    never = wanted({"look": "custom", "altitude_deg": [80, 90]})
    assert next_window(never, polar, utc_s("2026-08-15T12:00:00Z")) is None


def test_nobody_travels_for_a_window_of_two_minutes(polar):
    """Half a degree of height lasts for three minutes at most times of the year, and for an hour about a turn."""
    slit = wanted({"look": "custom", "offset_deg": [85, 95], "altitude_deg": [10, 10.3]})
    start = utc_s("2026-03-20T00:00:00Z")
    found = find_windows(slit.margins(polar), polar.observer, start, start + 100 * DAY_S)
    good = next_window(slit, polar, start, 100)
    assert found
    assert np.all([one.minutes < 5 or one.best_fit < 0.25 for one in found if good is None or one.opens_utc_s < good.opens_utc_s])
