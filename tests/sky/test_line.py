"""Crossings of a bearing against skyfield, and in all the numbers in which they come."""

from datetime import UTC, datetime

import numpy as np
import pytest

from app.sky.line import line_crossings
from app.sky.track import Observer
from tests.reference_data import utc_s

DAY_S = 86_400.0
UT1_DEG = 0.003  # as in test_track.py: 0.7 s of UT1 - UTC, the most in 2020-2040


def crossed(lat: float, lon: float, day: str, bearing: float, **limits: float):
    start = utc_s(f"{day}T00:00:00Z")
    return line_crossings(Observer(lat, lon), start, start + DAY_S, bearing, **limits)


@pytest.fixture(scope="module")
def jpl_azimuth():
    """Azimuths and altitudes by skyfield with DE421, at instants in seconds since 1970."""
    import warnings

    from skyfield.api import load, load_file, wgs84
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the package warns of a table that is not used here
        from skyfield_data import get_skyfield_data_path
        ephemeris = load_file(f"{get_skyfield_data_path()}/de421.bsp")
    scale = load.timescale(builtin=True)

    def at(lat, lon, instants):
        times = scale.from_datetimes([datetime.fromtimestamp(t, UTC) for t in instants])
        seen = (ephemeris["earth"] + wgs84.latlon(lat, lon)).at(times).observe(ephemeris["sun"]).apparent()
        altitude, azimuth, _ = seen.altaz()
        return azimuth.degrees, altitude.degrees

    yield at
    ephemeris.close()


@pytest.mark.parametrize(("lat", "lon", "day", "bearing", "count"), [
    (54.57, -3.13, "2027-09-18", 265.0, 1),
    (54.57, -3.13, "2027-09-18", 20.0, 0),
    (10.0, 0.0, "2027-06-21", 67.5, 2),  # the morning sun turns back towards north, passing noon there
    (10.0, 0.0, "2027-06-21", 292.5, 2),
    (10.0, 0.0, "2027-06-21", 0.0, 1),
    (10.0, 0.0, "2027-06-21", 180.0, 0),
    (-34.1, 18.4, "2027-01-15", 240.0, 1),
    (68.2, 14.3, "2027-06-21", 359.9, 1),
    (68.2, 14.3, "2027-06-21", 0.1, 1),
])
def test_crossings_are_where_skyfield_has_the_sun_over_the_bearing(jpl_azimuth, lat, lon, day, bearing, count):
    found = crossed(lat, lon, day, bearing)
    assert len(found) == count
    if count:
        azimuth, altitude = jpl_azimuth(lat, lon, found.utc_s)
        across = ((azimuth - bearing + 180) % 360 - 180) * np.cos(np.radians(altitude))
        assert np.abs(across).max() < UT1_DEG
        np.testing.assert_allclose(found.airless_deg, altitude, atol=UT1_DEG)


@pytest.mark.parametrize("lat", [-90, -66, -23, -5, 0, 5, 23.4, 40, 70, 89.9])
def test_as_many_as_skyfields_azimuth_shows_every_two_minutes(jpl_azimuth, lat):
    instants = utc_s("2027-05-03T00:00:00Z") + np.arange(0, DAY_S + 1, 120)
    azimuth, altitude = jpl_azimuth(lat, 30.0, instants)
    for bearing in np.arange(2.5, 360, 5):
        turn = np.sin(np.radians(azimuth - bearing))
        over = (turn[1:] > 0) != (turn[:-1] > 0)
        facing = np.cos(np.radians(azimuth - bearing)) > 0
        expected = np.count_nonzero(over & facing[1:] & facing[:-1] & (altitude[:-1] > -6) & (altitude[1:] > -6))
        assert len(crossed(lat, 30.0, "2027-05-03", bearing)) == expected


def test_below_the_limit_a_crossing_does_not_count():
    assert len(crossed(51.5, 0.0, "2027-12-21", 0.0)) == 0
    assert len(crossed(51.5, 0.0, "2027-12-21", 0.0, above_deg=-90)) == 1
    assert len(crossed(51.5, 0.0, "2027-12-21", 180.0, above_deg=20)) == 0


def test_days_side_by_side_share_no_crossing_and_lose_none():
    place, start = Observer(54.57, -3.13), utc_s("2027-03-01T00:00:00Z")
    whole = line_crossings(place, start, start + 30 * DAY_S, 250.0).utc_s
    daily = [line_crossings(place, start + n * DAY_S, start + (n + 1) * DAY_S, 250.0).utc_s for n in range(30)]
    np.testing.assert_allclose(np.concatenate(daily), whole, atol=2e-3)
    assert len(whole) == 30


def test_a_span_of_odd_length_ends_where_it_ends():
    place = Observer(54.57, -3.13)
    (crossing,) = crossed(54.57, -3.13, "2027-09-18", 265.0).utc_s
    assert len(line_crossings(place, crossing - 100.0, crossing + 0.5, 265.0)) == 1
    assert len(line_crossings(place, crossing - 100.0, crossing - 0.5, 265.0)) == 0
    assert len(line_crossings(place, crossing, crossing, 265.0)) == 0
