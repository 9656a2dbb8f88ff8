"""What things cover of the picture, against projections worked by hand and against shapely."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPoint, Point, Polygon
from shapely.ops import unary_union

from app.picture.outlines import bank_outline, in_view, people_outlines, pool_outline, thing_outline
from app.picture.sensor import area_mm2, cut, direction_of, framed, hull, projected, region_of
from app.picture.stage import hides_couple, stage_of
from tests.picture.pools import LINE_DEG, box, pool, setup_by, site_with, thing


def laid(*things, **setup):
    held = setup_by(**({"people": ()} | setup))
    return held, stage_of(held, site_with(*things))


def covered(shapes):
    return unary_union([Polygon(shape).buffer(0) for shape in shapes])


def test_a_house_front_by_hand():
    """50 mm, eye 1 m: a front 20 m off, 4 m wide, 6 m high is 10 mm wide and reaches 12.5 mm up and 2.5 mm down."""
    setup, stage = laid(thing(box(20, 30, -2, 2), 6.0))
    left, low, right, high = covered(thing_outline(setup.view, stage, stage.things[0])).bounds
    assert (left, low, right, high) == pytest.approx((-5.0, -2.5, 5.0, 12.5), abs=0.005)


def test_its_image_by_hand():
    """Water at the site's datum: the front's image hangs from -2.5 mm to 50 · 7 / 20 = 17.5 mm down."""
    setup, stage = laid(thing(box(20, 30, -2, 2), 6.0))
    _, low, _, high = covered(thing_outline(setup.view, stage, stage.things[0], mirror_m=0.0)).bounds
    assert (low, high) == pytest.approx((-17.5, -2.5 * 20 / 30), abs=0.005)


def test_only_a_canopy_has_air_under_it():
    """Base 3 m up, 20 m off, eye 1 m: 5 mm over the middle; anything else stands on the ground."""
    for kind, low_mm in (("canopy", 2 / 30 * 50), ("building", -2.5), ("trees", -2.5)):
        setup, stage = laid(thing(box(20, 30, -2, 2), 6.0, base_m=3.0, kind=kind))
        assert covered(thing_outline(setup.view, stage, stage.things[0])).bounds[1] == pytest.approx(low_mm, abs=0.005)


@pytest.mark.parametrize("kind", ["trees", "canopy"])
@pytest.mark.parametrize("mirror_m", [None, 0.0])
def test_soft_tops_lie_within_the_true_shape_and_touch_its_top(kind, mirror_m):
    setup, stage = laid(thing([(20, -6), (20, 6), (30, 8), (30, -8)], 6.0, base_m=2.0, kind=kind))
    soft = covered(thing_outline(setup.view, stage, stage.things[0], mirror_m, soft=True))
    true = covered(thing_outline(setup.view, stage, stage.things[0], mirror_m))
    end = 3 if mirror_m is None else 1
    assert true.buffer(1e-3).contains(soft) and soft.area > 0.8 * true.area
    assert soft.bounds[end] == pytest.approx(true.bounds[end], abs=0.02)


corner = st.tuples(st.floats(2, 60), st.floats(-40, 40))


@settings(max_examples=60)
@given(st.lists(corner, min_size=3, max_size=7, unique=True), st.floats(0.5, 12), st.floats(0.2, 5))
def test_a_convex_outline_is_the_hull_of_its_corners(corners, top_m, lens_m):
    """Referee: shapely's hull of all corners, bottom and top, projected one by one; the camera stands outside."""
    shape = MultiPoint(corners).convex_hull
    if shape.geom_type != "Polygon" or shape.area < 1 or shape.distance(Point(0, 0)) < 1:
        return
    footprint = list(shape.exterior.coords)[:-1]
    setup, stage = laid(thing(footprint, top_m), lens_m=lens_m)
    ahead_right = np.array(footprint)
    expected = MultiPoint(
        [(50 * right / ahead, 50 * (height - lens_m) / ahead) for ahead, right in ahead_right for height in (0.0, top_m)]
    ).convex_hull
    found = covered(thing_outline(setup.view, stage, stage.things[0]))
    assert found.symmetric_difference(expected).area <= 1e-3 * expected.area + 1e-3


def test_a_thing_half_behind_the_camera_is_cut_and_one_round_it_left_out():
    setup, stage = laid(thing(box(-10, 10, 2, 4), 3.0), thing(box(-5, 5, -1, 1), 3.0, name="the tower"))
    around = {one.name: covered(thing_outline(setup.view, stage, one)) for one in stage.things}
    assert around["the barn"].bounds[2] > 18 and around["the barn"].bounds[0] >= 50 * 2 / 10 - 0.01
    assert around["the tower"].is_empty


def test_a_roof_overhead_is_seen_from_below():
    setup, stage = laid(thing(box(-5, 10, -3, 3), 4.0, base_m=3.0, kind="canopy"))
    assert covered(thing_outline(setup.view, stage, stage.things[0])).bounds[1] == pytest.approx(50 * 2 / 10, abs=0.01)


def test_what_lies_outside_the_view_is_left_out():
    things = [thing(box(20, 25, a, a + 5), 4.0, name=name) for a, name in ((-40, "left"), (-2, "middle"), (30, "right"))]
    setup, stage = laid(*things, thing(box(-30, -20, -2, 2), 4.0, name="behind"))
    assert [one.name for one in in_view(setup.view, stage.things)] == ["middle"]


@settings(max_examples=40)
@given(st.lists(st.tuples(st.floats(-60, 60), st.floats(-60, 60)), min_size=3, max_size=3, unique=True), st.floats(-30, 30))
def test_nothing_in_the_frame_is_left_out(corners, tilt):
    setup, stage = laid(thing(corners, 8.0), aim=(LINE_DEG, tilt))
    shapes = [framed(shape, 36, 24) for shape in thing_outline(setup.view, stage, stage.things[0])]
    if sum(area_mm2(shape) for shape in shapes if len(shape) > 2) > 0.01:
        assert in_view(setup.view, stage.things)


def test_water_lies_on_its_level():
    """Eye 1 m: edges 5 and 50 m ahead fall 10 and 1 mm under the middle."""
    setup, stage = laid(pool(box(5, 50, -4, 4)))
    (shape,) = pool_outline(setup.view, stage, stage.pools[0])
    assert sorted(set(np.round(shape[:, 1], 2))) == [-10.0, -1.0]


def test_banks_tell_their_faces_from_their_backs():
    """Ground 0.5 m over water from 4 to 16 m, couple at 20: the near edge is seen from behind, the far one from before."""
    setup, stage = laid(pool(box(4, 16, -30, 30), surface_m=-0.5))
    backs, faces = (covered(bank_outline(setup.view, stage, stage.pools[0], faces=side)) for side in (False, True))
    assert faces.bounds[1] == pytest.approx(-50 * 1.5 / 16, abs=0.01)
    assert faces.bounds[3] == pytest.approx(-50 * 1.0 / 16, abs=0.01)
    assert backs.bounds[1] == pytest.approx(-50 * 1.5 / 4, abs=0.01)


def test_people_and_their_image_mirror_each_other_at_the_water():
    setup, stage = laid(people=setup_by().people)
    upright = covered(people_outlines(setup.view, stage, setup.figures))
    image = covered(people_outlines(setup.view, stage, setup.figures, mirror_m=0.0))
    assert upright.bounds[3] == pytest.approx(50 * 0.83 / 20, abs=0.01)
    assert image.bounds[1] == pytest.approx(-50 * 2.83 / 20, abs=0.01)


@pytest.mark.parametrize(("shape", "expected"), [
    (box(8, 10, -3, 3), True), (box(8, 10, 2, 6), False), (box(22, 25, -3, 3), False), (box(18, 25, -3, 3), False),
    (box(-2, 30, -3, 3), True),
])  # fmt: skip
def test_what_stands_between_camera_and_couple(shape, expected):
    """A roof over the couple alone is behind them, so that it never covers them."""
    _, stage = laid(thing(shape, 4.0, base_m=3.0, kind="canopy"))
    assert hides_couple(stage, stage.things[0]) is expected


@given(st.lists(st.tuples(st.floats(-9, 9), st.floats(-9, 9)), min_size=1, max_size=12))
def test_hull_against_shapely(points):
    found = hull(np.array(points))
    expected = MultiPoint(points).convex_hull
    if expected.geom_type == "Polygon" and expected.area > 1e-6:
        assert Polygon(found).symmetric_difference(expected).area < 1e-4


@given(st.lists(st.tuples(st.floats(-9, 9), st.floats(-9, 9)), min_size=3, max_size=8, unique=True), st.floats(-8, 8))
def test_a_cut_keeps_what_lies_on_one_side(points, least):
    expected = Polygon(points).buffer(0).intersection(Polygon([(least, -99), (99, -99), (99, 99), (least, 99)]))
    kept = cut(np.array(points), np.array([1.0, 0.0]), least)
    if Polygon(points).is_valid:
        assert (area_mm2(kept) if len(kept) else 0.0) == pytest.approx(expected.area, abs=1e-6)


@given(st.lists(st.tuples(st.floats(-9, 9), st.floats(-9, 9)), min_size=3, max_size=8, unique=True), st.floats(-12, 12), st.floats(-12, 12))
def test_depth_in_a_region_against_shapely(points, x, y):
    shape = Polygon(points)
    if shape.is_valid and shape.area > 1e-3:
        distance = shape.exterior.distance(Point(x, y))
        depth = float(region_of([[np.array(points)]]).depth_mm(x, y))
        assert abs(depth) == pytest.approx(distance, abs=1e-6)
        assert distance < 1e-6 or (depth > 0) == shape.contains(Point(x, y))


def test_a_hole_is_outside_and_no_region_holds_nothing():
    outer, hole = np.array([(-5, -5), (5, -5), (5, 5), (-5, 5)]), np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)])
    assert region_of([[outer, hole]]).depth_mm(np.array([0.0, 3.0, 9.0]), 0.0).tolist() == [-1.0, 2.0, -4.0]
    assert region_of([]).depth_mm(0.0, 0.0) == -np.inf


@given(st.floats(-17, 17), st.floats(-11, 11), st.floats(-40, 40))
def test_there_and_back_between_sensor_and_sky(x, y, tilt):
    view = setup_by(aim=(350.0, tilt)).view
    back = view.of_direction(*direction_of(view, x, y))
    assert (float(back[0]), float(back[1])) == pytest.approx((x, y), abs=1e-9)


def test_nothing_behind_the_lens_is_projected():
    view = replace(setup_by()).view
    assert len(projected(view, np.array([[10.0, 0, 0], [10, 1, 0], [10, 0, 1]]))) == 0
