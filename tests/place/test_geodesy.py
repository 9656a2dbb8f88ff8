"""Geodesics against Karney's published lines, and local metres against geodesics."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.place.geodesy import LocalFrame, direct, inverse
from app.units import signed_deg
from tests.reference_data import rows

MILLIMETRE = 1e-3
MICROMETRE = 1e-6
AZIMUTH_DEG = 0.001  # the tolerance that comes with the reference lines


def numbers(row, *names):
    return [float(row[name]) for name in names]


def line_of(row):
    return inverse(*numbers(row, "lat1_deg", "lon1_deg", "lat2_deg", "lon2_deg"))


@pytest.mark.parametrize("row", rows("geodesic-karney"), ids=lambda row: row["case_id"])
def test_lines_of_karneys_test_set(row):
    """C. F. F. Karney's GeodTest set for WGS84, 29 m to near the antipodes."""
    bearing_deg, arrival_deg, distance_m = numbers(row, "azi1_deg", "azi2_deg", "s12_m")
    line = line_of(row)
    assert line.distance_m == pytest.approx(distance_m, abs=MILLIMETRE)
    assert abs(signed_deg(line.bearing_deg - bearing_deg)) < AZIMUTH_DEG
    assert abs(signed_deg(line.arrival_bearing_deg - arrival_deg)) < AZIMUTH_DEG


@pytest.mark.parametrize("row", rows("geodesic-short"), ids=lambda row: row["case_id"])
def test_short_lines_also_across_the_date_line(row):
    """Baselines of 1 m to 5 km at six latitudes, checked there by the mid-latitude formula."""
    bearing_deg, distance_m = numbers(row, "azi1_deg", "s12_m")
    line = line_of(row)
    assert line.distance_m == pytest.approx(distance_m, abs=MILLIMETRE + 1e-6 * distance_m)
    rounding_deg = np.degrees(0.5 * MILLIMETRE / distance_m)  # of the printed end points
    assert abs(signed_deg(line.bearing_deg - bearing_deg)) < AZIMUTH_DEG + rounding_deg


@pytest.mark.parametrize("row", rows("geodesic-short"), ids=lambda row: row["case_id"])
def test_local_metres_agree_with_the_short_lines(row):
    lat1, lon1, lat2, lon2 = numbers(row, "lat1_deg", "lon1_deg", "lat2_deg", "lon2_deg")
    bearing_deg, distance_m = numbers(row, "azi1_deg", "s12_m")
    east_m, north_m, _ = LocalFrame(lat1, lon1).to_metres(lat2, lon2)
    sphere_m = distance_m**3 / (6 * 6.37e6**2)  # the plane's chord is that much shorter
    assert np.hypot(east_m, north_m) == pytest.approx(distance_m, abs=MILLIMETRE + sphere_m)
    rounding_deg = np.degrees(0.5 * MILLIMETRE / distance_m)
    assert abs(signed_deg(np.degrees(np.arctan2(east_m, north_m)) - bearing_deg)) < AZIMUTH_DEG + rounding_deg


@pytest.mark.parametrize("lat_deg", [-89.0, -45.0, 0.0, 51.5, 70.0])
@pytest.mark.parametrize("distance_m", [500.0, 5000.0])
def test_local_metres_keep_the_bearings_of_geodesics_from_the_origin(lat_deg, distance_m):
    bearings_deg = np.arange(0.0, 360.0, 15.0)
    lat, lon = np.array([direct(lat_deg, 179.99, bearing, distance_m) for bearing in bearings_deg]).T
    east_m, north_m, up_m = LocalFrame(lat_deg, 179.99).to_metres(lat, lon)
    np.testing.assert_allclose(
        signed_deg(np.degrees(np.arctan2(east_m, north_m)) - bearings_deg), 0.0, atol=1e-4
    )
    np.testing.assert_allclose(np.hypot(east_m, north_m), distance_m, atol=MILLIMETRE)
    drop_m = distance_m**2 / (2 * 6.37e6)
    np.testing.assert_allclose(-up_m, drop_m, rtol=0.01)  # the radius varies by 0.7 %


@given(
    st.floats(-90, 90),
    st.floats(-180, 180),
    st.floats(-400, 4000),
    st.floats(-35e3, 35e3),
    st.floats(-35e3, 35e3),
    st.floats(-400, 8000),
)
def test_there_and_back_within_fifty_kilometres(lat_deg, lon_deg, height_m, east_m, north_m, up_m):
    frame = LocalFrame(lat_deg, lon_deg, height_m)
    back = frame.to_metres(*frame.to_degrees(east_m, north_m, up_m))
    np.testing.assert_allclose(back, (east_m, north_m, up_m), rtol=0, atol=MICROMETRE)


@given(st.floats(-80, 80), st.floats(-180, 180), st.floats(0, 359.99), st.floats(0.1, 50e3))
def test_direct_and_inverse_lead_there_and_back(lat_deg, lon_deg, bearing_deg, distance_m):
    line = inverse(lat_deg, lon_deg, *direct(lat_deg, lon_deg, bearing_deg, distance_m))
    assert line.distance_m == pytest.approx(distance_m, abs=MICROMETRE)
    across_m = np.radians(signed_deg(line.bearing_deg - bearing_deg)) * distance_m
    assert abs(across_m) < MICROMETRE


def test_the_origin_lies_at_nothing_and_height_is_up():
    frame = LocalFrame(54.57, -3.13, 75.0)
    assert frame.to_metres(54.57, -3.13, 75.0) == pytest.approx((0.0, 0.0, 0.0), abs=MICROMETRE)
    assert frame.to_metres(54.57, -3.13, 87.0) == pytest.approx((0.0, 0.0, 12.0), abs=MICROMETRE)


def test_the_arrival_bearing_goes_on_and_does_not_point_back():
    line = inverse(0.0, 10.0, 0.0, 11.0)
    assert (line.bearing_deg, line.arrival_bearing_deg) == (90.0, 90.0)


@pytest.mark.parametrize("shape", [(), (3,), (2, 3), (0,)])
def test_keeps_the_shape_of_its_input(shape):
    frame = LocalFrame(54.57, -3.13)
    metres = frame.to_metres(np.full(shape, 54.57), -3.13)
    assert [np.shape(axis) for axis in metres] == [shape] * 3
    assert [np.shape(axis) for axis in frame.to_degrees(*metres)] == [shape] * 3


@pytest.mark.parametrize("origin", [(91.0, 0.0), (np.nan, 0.0), (0.0, np.inf), (0.0, 0.0, np.nan)])
def test_an_origin_off_the_earth_is_misuse(origin):
    with pytest.raises(ValueError, match="no place on the Earth"):
        LocalFrame(*origin)
