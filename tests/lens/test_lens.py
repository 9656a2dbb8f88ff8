"""Angles of view and the projection, against optics tables and geometry."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.errors import BadInput
from app.lens.camera import Camera, camera_held, format_words, sensor_sides_mm
from app.lens.projection import View
from tests.reference_data import rows


@pytest.mark.parametrize("row", rows("angle-of-view"), ids=lambda row: f"{row['format_mm']} {row['focal_mm']}")
def test_angle_of_view_table(row):
    """2 atan(s / 2f); tests/reference/README.md."""
    camera = camera_held(float(row["focal_mm"]), row["format_mm"])
    assert camera.horizontal_deg == pytest.approx(float(row["horizontal_deg"]), abs=0.0006)
    assert camera.vertical_deg == pytest.approx(float(row["vertical_deg"]), abs=0.0006)
    assert camera.diagonal_deg == pytest.approx(float(row["diagonal_deg"]), abs=0.0006)


@pytest.mark.parametrize("focal_mm,semidiameter_arcmin,image_mm", [
    (200, 31.451 / 2, 1.830), (200, 32.517 / 2, 1.893), (400, 31.451 / 2, 3.66), (400, 32.517 / 2, 3.79),
])
def test_size_of_the_suns_image(focal_mm, semidiameter_arcmin, image_mm):
    """2 f tan(a / 2), aphelion and perihelion of 2026, radius 695 700 km (IAU 2015)."""
    view = View(camera_held(focal_mm, "36x24"), 250, 0)
    left, _ = view.of_direction(250 - semidiameter_arcmin / 60, 0)
    right, _ = view.of_direction(250 + semidiameter_arcmin / 60, 0)
    assert right - left == pytest.approx(image_mm, abs=0.007)


@pytest.mark.parametrize("typed,sides", [("36x24", (36, 24)), ("24 × 36 mm", (36, 24)), ("23,6x15,7", (23.6, 15.7))])
def test_formats_as_typed(typed, sides):
    assert sensor_sides_mm(typed) == sides


@pytest.mark.parametrize("typed", ["full", "36", "36x", "36x24x2", "-36x24", ""])
def test_a_format_that_is_none_is_refused_in_words(typed):
    with pytest.raises(BadInput, match="typed in millimetres like 36x24"):
        sensor_sides_mm(typed)


@pytest.mark.parametrize("focal", [0, -50, 5000, float("nan"), float("inf")])
def test_an_impossible_focal_length_is_refused_in_words(focal):
    with pytest.raises(BadInput, match="focal length is between"):
        camera_held(focal, "36x24")


def test_portrait_turns_the_sensor():
    upright = camera_held(50, "36x24", "portrait")
    assert (upright.width_mm, upright.height_mm) == (24, 36)
    assert format_words(upright) == "36x24"
    with pytest.raises(BadInput, match="landscape or portrait"):
        camera_held(50, "36x24", "sideways")
    with pytest.raises(BadInput, match="sensor's side"):
        Camera(50, 36, 0)


def test_the_edge_of_the_frame_is_half_the_angle_of_view_away():
    view = View(camera_held(70, "36x24"), 268, 0)
    x, y = view.of_direction(268 + view.camera.horizontal_deg / 2, 0)
    assert (x, y) == (pytest.approx(18), pytest.approx(0))
    assert view.inside_mm(x, y) == pytest.approx(0, abs=1e-9)
    assert view.inside_mm(10, 3) == pytest.approx(8)


@given(st.floats(0, 360), st.floats(-60, 60), st.floats(-40, 40), st.floats(-30, 30))
def test_the_angle_between_two_directions_survives_the_projection(bearing, tilt, right, up):
    """From x, y and f one gets back the angle to the aim: the definition of rectilinear."""
    view = View(Camera(35, 36, 24), bearing, tilt)
    azimuth, altitude = math.radians(bearing + right), math.radians(max(-89, min(89, tilt + up)))
    aim = math.radians(tilt)
    cosine = math.sin(altitude) * math.sin(aim) + math.cos(altitude) * math.cos(aim) * math.cos(math.radians(right))
    x, y = view.of_direction(math.degrees(azimuth), math.degrees(altitude))
    if cosine > 0.05:
        assert math.hypot(x, y) == pytest.approx(35 * math.tan(math.acos(min(1, cosine))), rel=1e-6, abs=1e-5)


def test_level_horizon_is_one_straight_line():
    view = View(camera_held(24, "36x24"), 10, 7)
    _, y = view.of_direction(np.linspace(-20, 40, 13), 0)
    np.testing.assert_allclose(y, view.horizon_y_mm, atol=1e-9)


def test_what_is_behind_the_camera_is_nowhere():
    x, y = View(camera_held(24, "36x24"), 0, 0).of_direction([180, 90.0001, 0], [0, 0, 0])
    assert np.isnan(x[:2]).all() and np.isnan(y[:2]).all() and x[2] == 0
