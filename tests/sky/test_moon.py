"""The moon by astral against skyfield with DE421."""

from datetime import UTC, datetime

import numpy as np
import pytest

from app.sky.moon import moon_at, moon_day, phase_words
from app.sky.track import Observer
from tests.reference_data import utc_s
from tests.sky.test_track import jpl  # noqa: F401  (a fixture)

INSTANTS = np.random.default_rng(7).uniform(utc_s("2026-01-01T00:00:00Z"), utc_s("2035-01-01T00:00:00Z"), 60)


@pytest.mark.parametrize("lat,lon", [(51.5, 0), (0, 100), (68, 14), (-33, 18)])
def test_position_within_what_the_docstring_says(jpl, lat, lon):  # noqa: F811
    from skyfield.api import wgs84
    ephemeris, scale = jpl
    place = ephemeris["earth"] + wgs84.latlon(lat, lon)
    for instant in INSTANTS:
        seen = place.at(scale.from_datetime(datetime.fromtimestamp(instant, UTC))).observe(ephemeris["moon"]).apparent()
        altitude, azimuth, _ = seen.altaz()
        ours = moon_at(Observer(lat, lon), instant)
        assert ours[1] == pytest.approx(altitude.degrees, abs=0.15)
        assert abs((ours[0] - azimuth.degrees + 180) % 360 - 180) * np.cos(altitude.radians) < 0.15


def test_rises_sets_and_phase_through_a_month(jpl):  # noqa: F811
    from skyfield import almanac
    from skyfield.api import wgs84
    ephemeris, scale = jpl
    start, place = utc_s("2027-03-01T00:00:00Z"), Observer(54.5, -3.1)
    ground, found = ephemeris["earth"] + wgs84.latlon(54.5, -3.1), 0
    for n in range(30):
        day = start + n * 86_400, start + (n + 1) * 86_400
        span = [scale.from_datetime(datetime.fromtimestamp(t, UTC)) for t in day]
        ours = moon_day(place, *day)
        for finder, times in ((almanac.find_risings, ours.rises_utc_s), (almanac.find_settings, ours.sets_utc_s)):
            true = [t.utc_datetime().timestamp() for t, yes in zip(*finder(ground, ephemeris["moon"], *span), strict=True) if yes]
            assert len(times) == len(true)
            assert np.allclose(times, true, atol=60)
            found += len(true)
        phase = almanac.moon_phase(ephemeris, scale.from_datetime(datetime.fromtimestamp(sum(day) / 2, UTC))).degrees / 360
        assert abs((ours.phase - phase + 0.5) % 1 - 0.5) * 29.53 < 0.6  # days
    assert found > 50


@pytest.mark.parametrize("phase,words", [(0, "new moon"), (0.99, "new moon"), (0.13, "waxing crescent"), (0.25, "first quarter"), (0.5, "full moon")])
def test_words_for_phases(phase, words):
    assert phase_words(phase) == words
