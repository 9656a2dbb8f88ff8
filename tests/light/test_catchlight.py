"""Where a light shows in the eyes, by the mirror on a ball."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.errors import BadInput
from app.light.catchlight import catchlight
from tests.light.flashes import face

CAMERA = (5.0, 0.0, 1.6)  # due east of the face and level with it: north is its right


@pytest.mark.parametrize(
    ("lamp_m", "clock_h"),
    [((3.0, 0.0, 4.6), 12.0), ((3.0, 3.0, 1.6), 3.0), ((3.0, -3.0, 1.6), 9.0), ((3.0, 0.0, 0.1), 6.0)],
)
def test_the_clock(lamp_m, clock_h):
    found = catchlight(face(), CAMERA, lamp_m)
    assert found.clock_h == pytest.approx(clock_h)
    assert found.words == f"catchlight at {clock_h:.0f} o'clock"


def test_up_and_to_the_left_is_between_ten_and_eleven():
    assert catchlight(face(), CAMERA, (3.0, -1.0, 2.6)).clock_h == pytest.approx(10.5)


def test_how_far_up_by_the_mirror():
    """45° up: the surface that mirrors it leans 22.5°, so 7.8 mm sin 22.5° = 2.985 mm of the iris' 5.9 mm."""
    found = catchlight(face(), CAMERA, (3.0, 0.0, 4.6))
    assert found.height == pytest.approx(2.985 / 5.9, abs=1e-3)
    assert found.off_middle == pytest.approx(found.height)
    assert found.shows


def test_a_light_on_the_camera_sits_in_the_pupil():
    assert catchlight(face(), CAMERA, (3.0, 0.0, 1.6)).words == "catchlight in the middle of the pupil"


def test_a_light_far_round_shows_none():
    """Beyond 2 asin(5.9 / 7.8) = 98.3° the mirroring spot lies off the iris."""
    lit, dark = ((np.cos(turn), np.sin(turn), 0.0) for turn in np.radians([98.0, 98.6]))
    assert catchlight(face(), CAMERA, tuple(np.add(lit, face().position_m))).shows
    missed = catchlight(face(), CAMERA, tuple(np.add(dark, face().position_m)))
    assert not missed.shows and missed.words == "no catchlight: the light is too far round"


@given(st.floats(0.3, 5.0), st.floats(-5.0, 5.0), st.floats(0.2, 5.0))
def test_mirrored_lights_show_on_mirrored_sides(east_m, north_m, up_m):
    one, other = (catchlight(face(), CAMERA, (east_m, sign * north_m, up_m)) for sign in (1, -1))
    assert one.off_middle == pytest.approx(other.off_middle) and one.height == pytest.approx(other.height)
    assert (one.clock_h + other.clock_h) % 12 == pytest.approx(0.0, abs=1e-6) or (one.clock_h + other.clock_h) % 12 == pytest.approx(12.0)


def test_a_lamp_or_a_camera_in_the_face_is_refused():
    with pytest.raises(BadInput, match="Camera and light stand apart from the face"):
        catchlight(face(), CAMERA, face().position_m)
    with pytest.raises(BadInput, match="not one behind it from the other"):
        catchlight(face(), CAMERA, (-5.0, 0.0, 1.6))
