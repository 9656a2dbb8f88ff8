"""Where the sun lands in the picture, what covers it, and how far the camera may move."""

from dataclasses import replace

import numpy as np
import pytest
from shapely import Point, Polygon
from shapely.ops import unary_union

from app.picture.frame import covered_share, sight, sun_depth_m, sun_on_couple_m
from app.picture.people import Person, solids
from app.picture.words import cover_words, side_words, where_words
from app.place.geodesy import direct
from app.place.site import Pin
from app.place.skyline import Skyline, level_skyline
from app.sky.track import Observer, SunTrack
from tests.picture.scenes import LAT, LON, setup_along
from tests.reference_data import utc_s

EVENING = utc_s("2027-09-18T18:40:00+01:00")


def sun_stood(azimuth_deg, altitude_deg) -> SunTrack:
    """A sun put where a test wants it, seen without air so that altitudes are the given ones."""
    azimuth, altitude = np.atleast_1d(azimuth_deg).astype(float), np.atleast_1d(altitude_deg).astype(float)
    return SunTrack(Observer(LAT, LON, pressure_hpa=0.0), np.full(azimuth.shape, EVENING), azimuth, altitude)


def test_sun_on_the_line_lands_in_the_middle_column():
    seen = sight(setup_along(268.0), level_skyline(), sun_stood(268.0, 5.0))
    assert seen.x_mm[0] == pytest.approx(0, abs=1e-6)
    assert seen.offset_deg[0] == pytest.approx(0, abs=1e-6)


def test_place_in_millimetres_by_hand():
    """Crown 1.8 m, lens 1.6 m, 10 m: tilt atan 0.02 = 1.1457°. Sun 6° up on the line: 70 tan(6° - 1.1457°) = 5.945 mm."""
    seen = sight(setup_along(268.0), level_skyline(), sun_stood(268.0, 6.0))
    assert seen.y_mm[0] == pytest.approx(5.945, abs=0.001)


def test_left_and_right_are_as_seen_in_the_picture():
    seen = sight(setup_along(268.0), level_skyline(), sun_stood([264.0, 272.0], 5.0))
    assert seen.x_mm[0] < 0 < seen.x_mm[1]
    assert [side_words(offset) for offset in seen.offset_deg] == ["4° left", "4° right"]


def test_north_is_no_edge():
    seen = sight(setup_along(1.0), level_skyline(), sun_stood([359.0, 3.0], 5.0))
    np.testing.assert_allclose(seen.offset_deg, [-2, 2], atol=1e-6)


@pytest.mark.parametrize("altitude", [2.0, 4.0, 8.0])
def test_a_lens_in_the_shadow_of_the_head_sees_no_sun(altitude):
    """Shadow of the head's middle: (0.935 · 1.8 - lens) / tan(altitude) behind it. There the disc is hidden, a metre aside it is not."""
    head_m = 0.935 * 1.8
    lens_m = head_m - 3.0 * np.tan(np.radians(altitude))
    setup = setup_along(250.0, 3.0, lens_m=lens_m)
    assert covered_share(setup, sun_stood(250.0, altitude))[0] == 1.0
    aside = direct(LAT, LON, 250.0 + 90.0, 1.0)
    assert covered_share(replace(setup, camera_pin=Pin(*aside)), sun_stood(250.0, altitude))[0] == 0.0


@pytest.mark.parametrize("offset", np.linspace(-2.5, 2.5, 21))
@pytest.mark.parametrize("altitude", [0.2, 0.9, 1.3])
def test_covered_share_against_shapely(offset, altitude):
    """The disc's area inside the people's outline; 300 points are good to half a hundredth or so."""
    setup = setup_along(people=(Person("", 1.68), Person("", 1.83)))
    across, up, radius = (part[0] for part in sun_on_couple_m(setup, sun_stood(268.0 + offset, altitude)))
    people = unary_union([Polygon(np.column_stack(solid.outline_m(200))) for solid in solids(setup.people)])
    disc = Point(across, up).buffer(radius, 128)
    expected = disc.intersection(people).area / disc.area
    assert covered_share(setup, sun_stood(268.0 + offset, altitude))[0] == pytest.approx(expected, abs=0.015)


@pytest.mark.parametrize("offset", [-1.5, -0.3, 0.05, 0.8])
def test_the_camera_may_move_just_so_far(offset):
    """Moved by less than the room in any of eight directions nothing changes; the room is not pessimistic by much sideways."""
    setup, sun = setup_along(people=(Person("", 1.8),)), sun_stood(268.0 + offset, 0.6)
    room = sight(setup, level_skyline(), sun).room_m[0]
    was = _state(setup, sun)
    for turn in np.arange(0, 360, 45):
        aside, up = 0.98 * room * np.cos(np.radians(turn)), 0.98 * room * np.sin(np.radians(turn))
        assert _state(_moved(setup, aside, up), sun) == was
    beyond = [_state(_moved(setup, 1.05 * room * np.cos(a), 1.05 * room * np.sin(a)), sun) for a in np.linspace(0, 2 * np.pi, 72)]
    assert any(state != was for state in beyond)


def _moved(setup, aside_m, up_m):
    """The camera moved square to the line and up, its aim and the couple left alone."""
    there = direct(LAT, LON, 268.0 + (90 if aside_m > 0 else -90), abs(aside_m))
    couple_turned = replace(setup, camera_pin=Pin(*there), lens_height_m=setup.lens_height_m + up_m)
    return _Fixed(couple_turned, setup, aside_m)


class _Fixed:
    """A setup seen in the old line's plane: the couple stays where it was while the camera has moved aside."""

    def __init__(self, moved, old, aside_m):
        self.distance_m, self.eye_m, self.line_deg = old.distance_m, moved.eye_m, old.line_deg
        self.figures = tuple(replace(solid, across_m=solid.across_m - aside_m) for solid in old.figures)


def _state(setup, sun):
    depth, radius = (part[0] for part in sun_depth_m(setup, sun))
    return "hidden" if depth >= radius else "clear" if depth <= -radius else "part"


def test_far_off_the_line_nobody_covers_anything():
    shares = covered_share(setup_along(), sun_stood([180.0, 90.0, 0.0, 268.0 + 60], [5.0, 5.0, 5.0, 0.5]))
    assert np.all(shares == 0)


def test_a_setup_without_people_covers_nothing():
    seen = sight(setup_along(people=()), level_skyline(), sun_stood(268.0, 1.0))
    assert seen.covered[0] == 0 and seen.room_m[0] == np.inf


def test_words_name_what_took_the_sun():
    ridge = Skyline([0.0, 200.0, 300.0], [0.0, 5.0, 5.0], ("the horizon", "the ridge", "the horizon"))
    setup = setup_along()
    seen = sight(setup, ridge, sun_stood([268.0, 264.0, 100.0], [3.0, 6.9, -3.0]))
    assert where_words(seen, ridge, 0) == "behind ridge"
    assert where_words(seen, ridge, 1) == "4° left · 6.9° up"
    assert where_words(sight(setup, level_skyline(), sun_stood(268.0, -3.0)), level_skyline(), 0) == "3.0° below the horizon"
    assert cover_words(seen, 0) == "sun out of sight"
    assert cover_words(seen, 1).startswith("in frame")
    assert cover_words(sight(setup, level_skyline(), sun_stood(268.0, 0.5)), 0).startswith("hidden, ")
    assert cover_words(sight(setup, level_skyline(), sun_stood(100.0, 5.0)), 0) == "sun outside the frame"
