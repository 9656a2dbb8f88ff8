"""Shade on level ground against the table of shadow lengths, and against shapely on random outlines."""

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import affinity

from app.place.shade import ShadeField, shade_polygons
from tests.place.venue import box, disc, house, site_of, wall

MILLIMETRE = 0.001
# L = h / tan(altitude), per metre of height; check values, section 10.1, computed from the formula.
LENGTHS = {
    1.0: 57.290, 2.0: 28.636, 3.0: 19.081, 4.0: 14.301, 5.0: 11.430, 6.0: 9.514, 10.0: 5.671, 15.0: 3.732,
    20.0: 2.747, 30.0: 1.732, 45.0: 1.0, 60.0: 0.5774, 75.0: 0.2679, 85.0: 0.0875,
}  # fmt: skip


def areas(site, *sun, **level):
    return [shade.area for shade in shade_polygons(site, *sun, **level)]


@pytest.mark.parametrize(("altitude_deg", "length_m"), LENGTHS.items())
def test_a_wall_of_one_metre_casts_the_length_of_the_table(altitude_deg, length_m):
    (area,) = areas(site_of(wall([(-10.0, 0.0), (10.0, 0.0)], 1.0)), 180.0, altitude_deg)
    half_a_digit = 0.0005 if altitude_deg < 50 else 0.00005
    assert area.bounds == pytest.approx((-10.0, 0.0, 10.0, length_m), abs=half_a_digit + 1e-6)


def test_a_person_of_180_cm_at_ten_degrees():
    """Check values, section 10.1: 10.208 m."""
    (area,) = areas(site_of(wall([(0.0, -0.3), (0.0, 0.3)], 1.8)), 270.0, 10.0)
    assert area.bounds[2] == pytest.approx(10.208, abs=0.0005)


@pytest.mark.parametrize(("azimuth_deg", "away"), [(0, (0, -1)), (90, (-1, 0)), (135, (-(0.5**0.5), 0.5**0.5)), (270, (1, 0))])
def test_the_shadow_points_away_from_the_sun(azimuth_deg, away):
    (area,) = areas(site_of(house(box(-1, 1, -1, 1), 10.0)), azimuth_deg, 30.0)
    assert area.contains(shapely.Point(*(np.array(away) * 17.0)))
    assert not area.intersects(shapely.Point(*(np.array(away) * -2.0)))


def test_the_shadow_of_a_box_is_its_outline_swept():
    """10 m × 6 m, 5 m high, sun in the south at 45°: 5 m more to the north."""
    (shade,) = shade_polygons(site_of(house(box(-5, 5, -3, 3), 5.0, lets_through=0.0)), 180.0, 45.0)
    assert shade.area.symmetric_difference(shapely.box(-5, -3, 5, 8)).area < 40 * MILLIMETRE
    assert (shade.obstacle.name, shade.lets_through) == ("the barn", 0.0)


def test_the_shadow_of_a_canopy_lies_apart_from_it():
    """Base 3 m and top 4 m at 45° from the south: the outline shifted by 3 to 4 m."""
    site = site_of(house(box(-1, 1, -1, 1), 4.0, "the awning", "canopy", base_m=3.0, lets_through=0.4))
    (shade,) = shade_polygons(site, 180.0, 45.0)
    assert shade.area.bounds == pytest.approx((-1.0, 2.0, 1.0, 5.0), abs=MILLIMETRE)
    assert shade.lets_through == 0.4


def test_a_courtyard_wider_than_the_shadow_keeps_its_sun():
    (area,) = areas(site_of(house(box(-20, 20, -20, 20), 5.0, holes=[box(-10, 10, -10, 10)])), 180.0, 45.0)
    assert not area.contains(shapely.Point(0.0, 9.0))
    assert area.contains(shapely.Point(0.0, -6.0))
    assert area.area == pytest.approx(40 * 45 - 20 * 15, abs=0.1)


def test_under_one_degree_the_length_is_that_of_one_degree():
    site = site_of(wall([(-10.0, 0.0), (10.0, 0.0)], 1.0))
    assert areas(site, 180.0, 0.2)[0].equals(areas(site, 180.0, 1.0)[0])


@pytest.mark.parametrize("altitude_deg", [0.0, -3.0, float("nan")])
def test_without_a_sun_above_level_there_is_nothing_to_draw(altitude_deg):
    assert shade_polygons(site_of(house(box(-1, 1, -1, 1), 4.0)), 180.0, altitude_deg) == ()


def test_a_wall_along_the_light_casts_no_shade():
    assert shade_polygons(site_of(wall([(0.0, 0.0), (0.0, 9.0)], 2.0)), 180.0, 20.0) == ()


@pytest.mark.parametrize(
    ("level", "length_m"),
    [({}, 5.2), ({"ground_m": 4.0}, 1.2), ({"ground_m": None}, 1.2), ({"ground_m": None, "above_ground_m": 1.0}, 0.2)],
)
def test_the_level_that_is_shaded_can_be_the_datum_another_or_each_things_own_ground(level, length_m):
    site = site_of(wall([(-10.0, 0.0), (10.0, 0.0)], 5.2, base_m=4.0))
    (area,) = areas(site, 180.0, 45.0, **level)
    assert area.bounds[3] == pytest.approx(length_m, abs=MILLIMETRE)


def test_what_lies_under_the_shaded_level_casts_none():
    assert areas(site_of(wall([(-10.0, 0.0), (10.0, 0.0)], 1.0)), 180.0, 45.0, above_ground_m=1.6) == []


def test_an_outline_that_crosses_itself_is_shaded_too():
    bow = [(-10.0, 0.0), (10.0, 10.0), (10.0, 0.0), (-10.0, 10.0)]
    (area,) = areas(site_of(house(bow, 1e-3)), 180.0, 45.0)
    assert area.area == pytest.approx(100.0, rel=0.001)


outlines = st.tuples(st.floats(-50, 50), st.floats(-50, 50), st.floats(2, 25), st.integers(3, 11), st.floats(0.4, 1.0))


def star(east_m, north_m, size_m, count, dent):
    ring = disc(0.0, 0.0, size_m, count)
    ring[::2] *= dent
    return ring + [east_m, north_m]


def swept_by_shapely(ring, near_m, far_m, azimuth_deg):
    """The referee: cut into triangles, each swept to the hull of its first and last place, and joined again."""
    turn = np.radians(azimuth_deg)
    triangles = shapely.get_parts(shapely.constrained_delaunay_triangles(shapely.Polygon(ring)))
    first, last = (affinity.translate(shapely.MultiPolygon(list(triangles)), -np.sin(turn) * d, -np.cos(turn) * d) for d in (near_m, far_m))
    pairs = zip(first.geoms, last.geoms, strict=True)
    return shapely.union_all([shapely.convex_hull(shapely.MultiPolygon(pair)) for pair in pairs])


@settings(max_examples=100)
@given(outlines, st.floats(0, 360), st.floats(8, 80), st.floats(1, 30), st.booleans())
def test_shapely_is_the_referee_for_random_outlines_within_half_a_percent(made, azimuth_deg, altitude_deg, top_m, floats):
    """Dented outlines; asked for is 0.5 %, found is what the Earth's curve does to metres within 75 m."""
    ring = star(*made)
    assume(shapely.Polygon(ring).is_valid)
    base_m = 0.6 * top_m if floats else 0.0
    site = site_of(house(ring, top_m, kind="canopy" if floats else "building", base_m=base_m))
    (area,) = areas(site, azimuth_deg, altitude_deg)
    rise = np.tan(np.radians(altitude_deg))
    expected = swept_by_shapely(ring, base_m / rise, top_m / rise, azimuth_deg)
    assert area.area == pytest.approx(expected.area, rel=1e-4)
    assert area.symmetric_difference(expected).area <= 0.001 * expected.area


@settings(max_examples=40)
@given(
    st.lists(st.tuples(outlines, st.floats(1, 30), st.sampled_from(["building", "canopy", "trees"]), st.sampled_from([0.0, 0.3, 0.6])), max_size=5),
    st.floats(0, 360),
    st.floats(2, 80),
)
def test_light_at_points_agrees_with_the_polygons(made, azimuth_deg, altitude_deg):
    kept = [one for one in made if shapely.Polygon(star(*one[0])).is_valid]
    obstacles = [
        house(star(*shape), top_m, f"{i}", kind, 0.5 * top_m if kind == "canopy" else 0.0, share)
        for i, (shape, top_m, kind, share) in enumerate(kept)
    ]
    site = site_of(*obstacles, wall([(-30.0, 5.0), (30.0, -8.0)], 3.0, lets_through=0.5))
    rng = np.random.default_rng(1)
    east_m, north_m = rng.uniform(-90, 90, (2, 400))
    expected, sure = np.ones(400), np.ones(400, dtype=bool)
    for shade in shade_polygons(site, azimuth_deg, altitude_deg):
        expected *= np.where(shapely.contains_xy(shade.area, east_m, north_m), shade.lets_through, 1.0)
        sure &= shapely.distance(shade.area.boundary, shapely.points(east_m, north_m)) > 0.01
    found = ShadeField(site).at(east_m, north_m).light(azimuth_deg, altitude_deg)
    assert found[sure] == pytest.approx(expected[sure])


def test_points_in_a_house_are_built_on_and_get_no_light():
    points = ShadeField(site_of(house(box(-5, 5, -5, 5), 3.0))).at([0.0, 6.0], [0.0, 0.0])
    assert points.built_on.tolist() == [True, False]
    assert points.light(90.0, 89.0).tolist() == [0.0, 1.0]
    assert points.light(90.0, -1.0).tolist() == [0.0, 0.0]
