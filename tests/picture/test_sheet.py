"""Which moments a contact sheet shows, in ordinary places and beyond the polar circle."""

from datetime import date

import numpy as np
import pytest

from app.errors import BadInput
from app.picture.sheet import sheet_instants, sheet_span
from app.place.timezone import civil_day
from app.sky.events import RISE_SET_DEG
from app.sky.track import Observer


def span(lat, lon, zone, day, part="evening"):
    return sheet_span(Observer(lat, lon), *civil_day(zone, date.fromisoformat(day)), part)


def test_an_evening_is_laid_around_sunset():
    found = span(54.57, -3.13, "Europe/London", "2027-09-18")
    assert found.around == "sunset"
    assert Observer(54.57, -3.13).sun_at(found.around_utc_s).airless_deg == pytest.approx(RISE_SET_DEG, abs=1e-3)
    assert len(sheet_instants(found.first_utc_s, found.last_utc_s, 600)) == 13


def test_a_morning_is_laid_around_sunrise_before_noon():
    evening, morning = (span(-32.9, 17.9, "Africa/Johannesburg", "2027-01-10", part) for part in ("evening", "morning"))
    assert morning.around == "sunrise" and morning.last_utc_s < evening.first_utc_s


def test_midnight_sun_and_polar_night_have_their_frames_too():
    summer, winter = (span(68.2, 14.3, "Europe/Oslo", day) for day in ("2027-06-21", "2027-12-21"))
    place = Observer(68.2, 14.3)
    assert summer.around == "the sun's lowest" and winter.around == "the sun's highest"
    for found, sign in ((summer, 1), (winter, -1)):
        around = place.sun_at(found.around_utc_s + np.array([-1800.0, 0.0, 1800.0])).airless_deg
        assert sign * around[1] < sign * around[0] and sign * around[1] < sign * around[2]


def test_a_sunset_after_local_midnight_belongs_to_the_evening_before():
    found = span(65.9, -18.0, "Atlantic/Reykjavik", "2027-06-05")
    assert found.around == "sunset"
    assert found.around_utc_s > civil_day("Atlantic/Reykjavik", date(2027, 6, 5))[1]


def test_frames_stand_on_whole_steps_of_the_clock():
    instants = sheet_instants(1_000_130.0, 1_003_700.0, 600)
    assert np.all(instants % 600 == 0)
    assert abs(instants[0] - 1_000_130) <= 300 and abs(instants[-1] - 1_003_700) <= 300


@pytest.mark.parametrize("first,last,step,words", [
    (0, 86_400, 60, "frames; a sheet holds 121"), (0, 3600, 5, "between 10 seconds and 60 minutes"),
    (0, 3600, 7200, "between 10 seconds"), (3600, 0, 600, "comes after the first"),
])
def test_too_many_or_too_close_frames_are_refused_in_words(first, last, step, words):
    with pytest.raises(BadInput, match=words):
        sheet_instants(first, last, step)


def test_an_unknown_part_is_refused():
    with pytest.raises(BadInput, match="evening or the morning"):
        span(0, 0, "UTC", "2027-01-01", "noon")
