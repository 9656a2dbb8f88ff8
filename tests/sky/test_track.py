"""The sun's position against JPL's ephemeris, NREL's and Meeus's published examples."""

from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.errors import BadInput
from app.sky.ephemeris import delta_t, sun_days
from app.sky.track import Observer
from tests.reference_data import rows, utc_s, worked_examples

UT1_DEG = 0.003  # 0.7 s of UT1 - UTC, the most in 2020-2040, while UT1 is taken as UTC


def across_deg(azimuth_deg, other_deg, altitude_deg):
    """Return the distance on the sky between two azimuths at one altitude."""
    return abs((azimuth_deg - other_deg + 180) % 360 - 180) * np.cos(np.radians(altitude_deg))


@pytest.mark.parametrize("row", rows("sun-positions"), ids=lambda row: row["case_id"])
def test_position_is_that_of_jpl_de421(row):
    """skyfield 1.55 with DE421, apparent topocentric; see tests/reference/README.md."""
    sun = Observer(float(row["lat_deg"]), float(row["lon_deg"]), float(row["elev_m"]), 1010).sun_at(utc_s(row["utc"]))
    assert sun.airless_deg == pytest.approx(float(row["alt_airless_deg"]), abs=UT1_DEG)
    assert across_deg(sun.azimuth_deg, float(row["azimuth_deg"]), sun.airless_deg) < UT1_DEG
    # The table's sun has a radius of 695 700 km, 0.4″ less than the almanac's 959.63″; the rest is the day's change.
    assert sun.semidiameter_deg * 60 == pytest.approx(float(row["semidiameter_arcmin"]), abs=0.013)
    if row["refracted_alt_is_model_dependent"] == "no":
        fits_apart_deg = 3.9 / 3600  # Bennett's against Saemundsson's refraction
        assert sun.refracted_deg == pytest.approx(float(row["alt_refracted_1010mb_10C_deg"]), abs=UT1_DEG + fits_apart_deg)


def test_nrel_worked_example():
    """I. Reda & A. Andreas, NREL/TP-560-34302 (2008), appendix A.5, table A5.1."""
    example = worked_examples()["spa_a5"]
    given_, expected = example["inputs"], example["expected"]
    place = Observer(given_["lat"], given_["lon"], given_["elev_m"], given_["pressure_mbar"], given_["temp_C"], given_["delta_t_s"])
    sun = place.sun_at(utc_s(given_["local"]))
    last_digit = 1e-5
    assert sun.airless_deg == pytest.approx(expected["elev_airless_deg"], abs=last_digit)
    assert sun.refracted_deg == pytest.approx(expected["elev_refracted_deg"], abs=last_digit)
    assert 90 - sun.refracted_deg == pytest.approx(expected["zenith_deg"], abs=last_digit)
    assert sun.azimuth_deg == pytest.approx(expected["azimuth_deg"], abs=last_digit)


@pytest.mark.parametrize("row", rows("nrel-spa-c-output"), ids=lambda row: f"{row['utc']} {row['lat_deg']}")
def test_output_of_nrels_own_program(row):
    """NREL's spa.c, 2014-09-08, delta T 0, 1000 mbar, 10 °C. It refracts only above -0.8333°."""
    sun = Observer(float(row["lat_deg"]), float(row["lon_deg"]), 0, 1000, 10, 0).sun_at(utc_s(row["utc"]))
    seen_deg = sun.refracted_deg if sun.airless_deg > -0.8333 else sun.airless_deg
    assert 90 - seen_deg == pytest.approx(float(row["apparent_zenith_deg"]), abs=1e-4)
    assert across_deg(sun.azimuth_deg, float(row["azimuth_deg"]), sun.airless_deg) < 1e-4


def test_meeus_25b_high_accuracy_sun():
    """Meeus (1998), example 25.b, p. 169: declination -7°47′01.74″ at 1992-10-13 0h TD."""
    instant = np.array([utc_s("1992-10-13T00:00:00Z") - 59.0])  # TD - UT was 59 s
    day = int(instant[0] // 86400)
    *_, sine, _ = sun_days(day, day).direction(instant)
    seconds_of_arc = 1 / 3600
    assert np.degrees(np.arcsin(sine[0])) == pytest.approx(-(7 + 47 / 60 + 1.74 / 3600), abs=0.5 * seconds_of_arc)


def test_meeus_28_equation_of_time():
    """Meeus (1998), examples 28.a and 28.b: 13 min 42.6 s; his low-accuracy method is good to 1 s."""
    instant = np.array([utc_s("1992-10-13T00:00:00Z") - 59.0])
    day = int(instant[0] // 86400)
    x, y, _, _ = sun_days(day, day).direction(instant)
    assert np.degrees(np.arctan2(y[0], x[0])) * 240 == pytest.approx(worked_examples()["meeus"]["28a_eot_s"], abs=1.0)


@pytest.mark.parametrize("row", rows("equation-of-time-2026"), ids=lambda row: row["utc"])
def test_equation_of_time_declination_and_distance(row):
    """skyfield with DE421, noon UTC; 1 s of time is the table's own tolerance."""
    instant = np.array([utc_s(row["utc"])])
    sun = sun_days(int(instant[0] // 86400), int(instant[0] // 86400))
    x, y, z, _ = sun.direction(instant)
    assert np.degrees(np.arctan2(y[0], x[0])) * 4 == pytest.approx(float(row["eot_apparent_minus_mean_min"]), abs=1 / 60)
    assert np.degrees(np.arcsin(z[0])) == pytest.approx(float(row["declination_deg"]), abs=0.0003)
    assert sun.distance_at(instant)[0] == pytest.approx(float(row["distance_au"]), abs=0.0003)  # held through the day


@pytest.fixture(scope="module")
def jpl():
    """skyfield's Earth and sun by DE421, with its built-in time scale."""
    import warnings

    from skyfield.api import load, load_file
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the package warns of a table that is not used here
        from skyfield_data import get_skyfield_data_path
        ephemeris = load_file(f"{get_skyfield_data_path()}/de421.bsp")
    yield ephemeris, load.timescale(builtin=True)
    ephemeris.close()


@settings(max_examples=60, deadline=None)
@given(
    lat=st.floats(-90, 90), lon=st.floats(-180, 180), height=st.floats(0, 4000),
    when=st.datetimes(datetime(2018, 1, 1), datetime(2040, 1, 1), timezones=st.just(UTC)),
)
def test_random_places_and_times_against_skyfield(jpl, lat, lon, height, when):
    """Live cross-check with skyfield and DE421; separation on the sky, so that zenith and poles count too."""
    from skyfield.api import wgs84
    ephemeris, scale = jpl
    place = ephemeris["earth"] + wgs84.latlon(lat, lon, height)
    seen = place.at(scale.from_datetime(when)).observe(ephemeris["sun"]).apparent()
    altitude, azimuth, _ = seen.altaz()
    sun = Observer(lat, lon, height).sun_at(when.timestamp())
    apart = direction(altitude.degrees, azimuth.degrees) - direction(sun.airless_deg, sun.azimuth_deg)
    assert np.degrees(np.linalg.norm(apart)) < UT1_DEG + 0.0003


def direction(altitude_deg, azimuth_deg):
    altitude, azimuth = np.radians(altitude_deg), np.radians(azimuth_deg)
    return np.array([np.cos(altitude) * np.sin(azimuth), np.cos(altitude) * np.cos(azimuth), np.sin(altitude)])


@pytest.mark.parametrize("start,step_s", [(0, 60), (900 * 7, 300), (12.5, 600), (86_399, 3600), (100, 7.0), (0, 86_400)])
def test_even_steps_give_the_same_sun_as_single_instants(start, step_s):
    place = Observer(54.5, -3.1, 100)
    begin = 1_789_000_000.0 + start
    track = place.sun_over(begin, begin + 40 * 86_400, step_s)
    alone = place.sun_at(track.utc_s)
    assert len(track) == -(-40 * 86_400 // step_s)
    assert track.utc_s[0] == begin
    np.testing.assert_allclose(track.airless_deg, alone.airless_deg, atol=1e-8)
    np.testing.assert_allclose(track.azimuth_deg, alone.azimuth_deg, atol=1e-7)


@pytest.mark.parametrize("shape", [(), (3,), (2, 3), (0,)])
def test_keeps_the_shape_of_its_input(shape):
    sun = Observer(10, 20).sun_at(np.full(shape, 1.8e9))
    for part in (sun.azimuth_deg, sun.airless_deg, sun.refracted_deg, sun.upper_edge_deg):
        assert np.shape(part) == shape


def test_no_jump_at_midnight_utc_nor_between_blocks_of_days():
    place = Observer(48, 179.5)
    midnights = np.arange(18_000, 22_000) * 86_400.0
    before, after = place.sun_at(midnights - 1e-3), place.sun_at(midnights)
    assert np.abs(after.airless_deg - before.airless_deg).max() < 2e-5


def test_delta_t_follows_what_was_measured_and_then_stays():
    """Measured TT - UT1 (IERS): 29.1 s in 1950, 63.8 s in 2000, 69.1 s in 2024; from memory."""
    for year, measured in ((1950, 29.1), (2000, 63.8), (2024, 69.1), (2040, 69.2)):
        assert delta_t(year) == pytest.approx(measured, abs=1.0)


@pytest.mark.parametrize("lat,lon,height,words", [
    (91, 0, 0, "Latitude is between"), (0, 181, 0, "Longitude is between"), (0, 0, 10_000, "Height above sea"),
    (float("nan"), 0, 0, "Latitude is between"),
])
def test_an_impossible_place_is_refused_in_words(lat, lon, height, words):
    with pytest.raises(BadInput, match=words):
        Observer(lat, lon, height)


@pytest.mark.parametrize("when", [-1e9, 1e10, float("nan")])
def test_an_instant_outside_the_known_years_is_refused_in_words(when):
    with pytest.raises(BadInput, match="from 1950 to 2100"):
        Observer(0, 0).sun_at(when)
