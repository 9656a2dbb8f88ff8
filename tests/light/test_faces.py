"""Faces: short and broad side, squinting, key height and agreement with the sun, worked by hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.errors import BadInput
from app.light.faces import (
    BROAD,
    FRONT,
    RIM,
    SHORT,
    SIDE_WORDS,
    SQUARE_ON,
    UNSEEN,
    Face,
    agreement,
    agreement_words,
    bearing_deg,
    cosine,
    couple_faces,
    direction,
    key_height_deg,
    side_of_face,
    squint,
    squint_room,
    sun_on_face,
)
from tests.light.flashes import face

AZIMUTH, ALTITUDE = st.floats(0.0, 359.99), st.floats(-10.0, 80.0)


class TestSides:
    """From drawings: a face turned towards the light shows the camera its shaded, broad cheek, so the light is short.

    Camera due south of the face, so that bearing 180° is straight into it; a face
    turned 30° towards east looks to 150°, towards west to 210°.
    """

    @pytest.mark.parametrize("turned_deg", [0.0, 90.0, 200.0, 355.0])  # the whole drawing turned round
    @pytest.mark.parametrize(
        ("facing_deg", "light_deg", "side"),
        [
            (150.0, 100.0, SHORT),  # turned east, light from the east
            (150.0, 220.0, BROAD),  # turned east, light from the west
            (210.0, 260.0, SHORT),  # turned west, light from the west
            (210.0, 140.0, BROAD),  # turned west, light from the east
            (150.0, 170.0, BROAD),  # light between where the face looks and the camera
            (150.0, 195.0, BROAD),  # light a little beyond the camera
            (210.0, 190.0, BROAD),
            (210.0, 216.0, SHORT),  # light hardly past where the face looks
        ],
    )
    def test_short_and_broad(self, facing_deg, light_deg, side, turned_deg):
        assert side_of_face(face(facing_deg=(facing_deg + turned_deg) % 360), 180.0 + turned_deg, light_deg + turned_deg) == side

    @pytest.mark.parametrize(
        ("facing_deg", "light_deg", "side"),
        [(150.0, 152.0, FRONT), (180.0, 120.0, SQUARE_ON), (150.0, 10.0, RIM), (350.0, 10.0, UNSEEN), (180.0, 0.0, RIM)],
    )
    def test_neither(self, facing_deg, light_deg, side):
        assert side_of_face(face(facing_deg=facing_deg), 180.0, light_deg) == side
        assert SIDE_WORDS[side]

    @given(st.floats(-85.0, 85.0), st.floats(-85.0, 85.0))
    def test_a_mirrored_drawing_has_the_same_sides(self, camera_turn, light_turn):
        one, other = (side_of_face(face(facing_deg=180.0), 180.0 + sign * camera_turn, 180.0 + sign * light_turn) for sign in (1, -1))
        assert one == other


class TestSquinting:
    """The sun within 40° of where the face looks and above 10°: common practice, no source."""

    @pytest.mark.parametrize(
        ("azimuth_deg", "altitude_deg", "hard"),
        [(90.0, 30.0, 1.0), (90.0, 20.0, 1.0), (90.0, 15.0, 0.5), (90.0, 10.0, 0.0), (90.0, 5.0, 0.0), (110.0, 30.0, 0.5), (70.0, 30.0, 0.5), (130.0, 30.0, 0.0), (270.0, 30.0, 0.0)],
    )
    def test_cases(self, azimuth_deg, altitude_deg, hard):
        assert squint(face(), azimuth_deg, altitude_deg) == pytest.approx(hard)

    def test_across_north(self):
        assert squint(face(facing_deg=350.0), 10.0, 30.0) == pytest.approx(0.5)

    def test_shade_spares_the_eyes(self):
        assert squint(face(), 90.0, 30.0, light_share=0.25) == pytest.approx(0.25)

    @given(AZIMUTH, ALTITUDE, st.floats(-0.01, 0.01), st.floats(-0.01, 0.01))
    def test_no_steeper_than_it_says(self, azimuth_deg, altitude_deg, turn, climb):
        before = squint_room(face(), azimuth_deg, altitude_deg)
        after = squint_room(face(), azimuth_deg + turn, altitude_deg + climb)
        assert abs(after - before) <= abs(turn) / 40 + abs(climb) / 10 + 1e-9

    @given(AZIMUTH, ALTITUDE)
    def test_room_and_squint_tell_the_same(self, azimuth_deg, altitude_deg):
        room = squint_room(face(), azimuth_deg, altitude_deg)
        within = abs((azimuth_deg - 90 + 180) % 360 - 180) < 40 and altitude_deg > 10
        assert (room < 0) == within == (squint(face(), azimuth_deg, altitude_deg) > 0)


class TestSun:
    def test_full_light_straight_in_and_none_from_behind_or_below(self):
        assert sun_on_face(face(), 90.0, 1e-9) == pytest.approx(1.0)
        assert sun_on_face(face(), 270.0, 5.0) == 0.0
        assert sun_on_face(face(), 90.0, -2.0) == 0.0

    def test_at_sixty_degrees_round_or_up_it_is_half(self):
        assert sun_on_face(face(), 150.0, 1e-9) == pytest.approx(0.5)
        assert sun_on_face(face(), 90.0, 60.0) == pytest.approx(0.5)
        assert sun_on_face(face(), 90.0, 60.0, light_share=0.5) == pytest.approx(0.25)

    @pytest.mark.parametrize("shape", [(), (3,), (2, 3), (0,)])
    def test_keeps_the_shape_of_its_input(self, shape):
        for measure in (sun_on_face, squint, squint_room):
            assert np.shape(measure(face(), np.full(shape, 90.0), np.full(shape, 20.0))) == shape


def test_directions_are_unit_vectors_east_north_and_up():
    assert direction([0.0, 90.0, 0.0], [0.0, 0.0, 90.0]).T == pytest.approx(np.array([[0, 1, 0], [1, 0, 0], [0, 0, 1.0]]), abs=1e-12)
    assert cosine(face(), direction(150.0, 0.0)) == pytest.approx(0.5)


def test_key_height_and_bearing():
    """3 m east and 3 m up of the face: 45° up, bearing 90°; 3 m south: 180°."""
    assert key_height_deg(face(), (3.0, 0.0, 4.6)) == pytest.approx(45.0)
    assert bearing_deg(face(), (3.0, 0.0, 4.6)) == pytest.approx(90.0)
    assert bearing_deg(face(), (0.0, -3.0, 1.6)) == pytest.approx(180.0)
    assert key_height_deg(face(), (0.0, -3.0, 1.6)) == 0.0


class TestAgreement:
    @pytest.mark.parametrize(("key_deg", "sun_deg", "fit"), [(250.0, 250.0, 1.0), (260.0, 250.0, 0.5), (230.0, 250.0, 0.0), (290.0, 250.0, -1.0), (5.0, 355.0, 0.5)])
    def test_of_key_and_sun(self, key_deg, sun_deg, fit):
        assert agreement(key_deg, sun_deg) == pytest.approx(fit)

    def test_words(self):
        assert agreement_words(268.0, 250.0) == "agrees with the sun: 18° from its bearing"
        assert agreement_words(310.0, 250.0) == "disagrees with the sun: 60° clockwise of its bearing"
        assert agreement_words(350.0, 20.0) == "disagrees with the sun: 30° anticlockwise of its bearing"


class TestCouple:
    def test_stands_from_left_to_right_as_the_camera_sees_it(self):
        """Camera looks west: its right is north, so the first stands south; both look back east."""
        ada, ben = couple_faces((1.60, 2.00), 270.0, names=("Ada", "Ben"))
        assert ada.position_m == pytest.approx((0.0, -0.25, 0.935 * 1.60))
        assert ben.position_m == pytest.approx((0.0, 0.25, 0.935 * 2.00))
        assert (ada.facing_deg, ben.facing_deg) == (90.0, 90.0)

    def test_each_may_look_elsewhere(self):
        assert [one.facing_deg for one in couple_faces((1.6, 1.8), 0.0, (90.0, 270.0))] == [90.0, 270.0]
        with pytest.raises(BadInput, match="2 bearings are wanted; 1 came"):
            couple_faces((1.6, 1.8), 0.0, (90.0,))

    def test_nobody_is_nobody(self):
        assert couple_faces((), 0.0) == ()


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"facing_deg": 999.0}, "bearing of 0 to 360°; 999 came"),
        ({"facing_deg": float("nan")}, "bearing of 0 to 360°; nan came"),
        ({"tilt_deg": 90.0}, "-80 to 80°; 90 came"),
        ({"position_m": (0.0, 1.0)}, "metres east, north and up"),
        ({"position_m": (0.0, 1.0, float("inf"))}, "metres east, north and up"),
    ],
)
def test_faces_that_cannot_be(wrong, words):
    with pytest.raises(BadInput, match=words):
        Face(**{"name": "Ada", "position_m": (0.0, 0.0, 1.6), "facing_deg": 90.0, **wrong})


def test_an_exact_profile_is_seen_whatever_rounding_makes_of_it():
    """At 90° from the camera, in sums that do not come out even."""
    for facing in np.arange(0.0, 360.0, 0.1):
        assert side_of_face(Face("", (0.0, 0.0, 1.6), float(facing)), float(facing + 90.0) % 360.0, float(facing + 45.0) % 360.0) != UNSEEN
