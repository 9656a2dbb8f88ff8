"""The couple's image in the water: which part of them shows, and where the camera has to go for all of it."""

import numpy as np
import pytest

from app.picture.double import Move, double_in, moves_to_whole
from app.picture.people import Person, depth_m
from app.picture.water import mirrors_of
from tests.picture.pools import box, pool, setup_by, site_with, thing

ONE = (Person("", 1.8),)
GRAIN_SHARE = 0.02  # of a figure's area, one row of points 5 cm apart among some thirty


def double(setup, *things, drawn=()):
    mirror = mirrors_of(setup, site_with(*things, drawn=drawn))[0]
    return double_in(mirror, setup)


def moves(setup, *things):
    return moves_to_whole(mirrors_of(setup, site_with(*things))[0], setup)


def area_between(setup, low_m, high_m):
    """The share of the figures' area between two heights, counted on a fine net of its own."""
    across, up = np.meshgrid(np.arange(-1, 1, 0.01), np.arange(0.005, 2, 0.01))
    held = depth_m(setup.figures, across, up) > 0
    return np.count_nonzero(held & (up > low_m) & (up < high_m)) / np.count_nonzero(held)


def test_a_wide_pond_shows_all_of_them():
    shown = double(setup_by(aim=(268.0, -4.0)), pool(box(1, 19.9, -20, 20)))
    assert shown.in_water == shown.in_picture == 1.0


def test_a_strip_of_water_shows_a_strip_of_them():
    """20 m off, eye 1.2 m: the point z high meets the water at 24 / (1.2 + z), so a strip from 8 to 10 m shows 1.2 to 1.8 m of them."""
    setup = setup_by(lens_m=1.2, people=ONE)
    shown = double(setup, pool(box(8.0001, 10, -20, 20)))
    assert shown.in_water == pytest.approx(area_between(setup, 1.2, 1.8), abs=GRAIN_SHARE)


def test_a_narrow_channel_shows_one_of_two():
    """The left one of two stands within 0.5 m left of the line, so a channel left of it shows that one only."""
    setup = setup_by(people=(Person("", 1.7), Person("", 1.7)))
    assert double(setup, pool(box(1, 19.9, -20, 0))).in_water == pytest.approx(0.5, abs=GRAIN_SHARE)


def test_a_bank_before_their_feet_hides_their_legs():
    """Ground 1 m above the water ends 2 m before them, eye 1.5 m above the ground, 20 m off.

    Seen from 2.5 m under the mirror's plane, the edge at 18 m stands (2.5 + 1) / 18 high;
    where they stand that is 3.889 m over the eye's image, 0.389 m above their ground.
    """
    setup = setup_by(lens_m=1.5, ground_m=1.0, couple_ground_m=1.0, people=ONE)
    shown = double(setup, pool(box(-5, 18, -20, 20), surface_m=0.0))
    assert shown.in_water == pytest.approx(area_between(setup, 0.389, 1.8), abs=GRAIN_SHARE)


def test_what_stands_between_takes_its_share():
    setup = setup_by(people=ONE)
    lake = pool(box(1, 19.9, -20, 20))
    assert double(setup, lake, thing(box(15, 16, -1, 1), 4.0)).in_water == 0.0
    assert double(setup, lake, thing(box(15, 16, 2, 4), 4.0)).in_water == 1.0
    assert double(setup, lake, thing(box(21, 22, -1, 1), 4.0)).in_water == 1.0


def test_a_roof_between_hides_what_the_light_would_pass_through():
    """A roof 0.9 to 1.1 m up over the way from 14 to 16 m; the ray to the crown rises there from 0.96 to 1.24 m, to the feet it is at 0."""
    setup = setup_by(lens_m=1.0, people=ONE)
    shown = double(setup, pool(box(1, 19.9, -20, 20)), thing(box(14, 16, -3, 3), 1.1, base_m=0.9, kind="canopy"))
    hidden = [z for z in np.arange(0.01, 1.8, 0.01) if any(0.9 <= abs(1.0 - t * (1.0 + z)) <= 1.1 for t in np.arange(0.7, 0.8, 0.002))]
    assert shown.in_water == pytest.approx(1 - area_between(setup, min(hidden), max(hidden)), abs=2 * GRAIN_SHARE)


def test_the_frame_may_cut_what_the_water_shows():
    """100 mm, level on the crown: the frame ends 4.4° down, their image goes on to atan 2.8/20 = 8°."""
    shown = double(setup_by(focal_mm=100.0, aim=None, people=ONE), pool(box(1, 19.9, -20, 20)))
    assert shown.in_water == 1.0 and shown.in_picture < 0.6


def test_nobody_has_no_double():
    setup = setup_by(people=())
    assert double(setup, pool(box(1, 19, -9, 9))).in_water == 0.0
    assert moves(setup, pool(box(1, 19, -9, 9))) == ()


def test_how_far_the_camera_must_rise():
    """Water from 9 m on: the crown, 1.8 m, meets it at 20 h / (h + 1.8) >= 9 for h >= 1.473 m, 47.3 cm above 1 m."""
    found = {move.way: move.centimetres for move in moves(setup_by(people=ONE), pool(box(9, 19.9, -20, 20)))}
    assert found["up"] == 48
    assert "down" not in found


def test_how_far_the_camera_must_drop():
    """Water up to 19 m: what is 5 cm up meets it at 20 h / (h + 0.05) <= 19 for h <= 0.95 m, 105 cm under 2 m.

    The outline's lowest corner over 5 cm is 5 to 8 cm up, good for h <= 1.5 m.
    """
    found = {move.way: move.centimetres for move in moves(setup_by(lens_m=2.0, people=ONE), pool(box(0.2, 19, -20, 20)))}
    assert 50 <= found["down"] <= 105


def test_how_far_the_camera_must_step_aside():
    """Water to the right of the line only. A point z up and y left of it is seen there from y h / z to the right.

    The ankles are worst: 9 cm aside and 5 cm up, 1.8 m; the outline's lowest corner over
    5 cm is a little higher. Half of one shows from the line itself.
    """
    water = pool(box(1, 19.9, 0, 4))
    found = {move.way: move.centimetres for move in moves(setup_by(people=ONE), water)}
    assert set(found) & {"left", "right"} == {"right"} and 100 <= found["right"] <= 185
    assert double(setup_by(people=ONE), water).in_water == pytest.approx(0.5, abs=GRAIN_SHARE)


def test_no_place_within_three_metres():
    """A pond of 2 by 4 m is too small for a figure's whole image from anywhere near."""
    assert moves(setup_by(people=ONE, aim=(268.0, -15.0)), pool(box(2, 4, -1, 1))) == ()


def test_the_shortest_move_comes_first():
    found = moves(setup_by(people=ONE), pool(box(9, 19.9, -20, 20)))
    assert list(found) == sorted(found, key=lambda move: move.centimetres)
    assert all(isinstance(move, Move) and 0 < move.centimetres <= 300 for move in found)


def test_a_dry_camera_does_not_step_into_the_water():
    """Water from 2 m on and a couple whose image needs the camera nearer: forward only as far as the edge."""
    for move in moves(setup_by(people=ONE, lens_m=0.3), pool(box(2, 19.9, -20, 20), surface_m=-0.1)):
        assert move.way != "forward" or move.centimetres <= 200
