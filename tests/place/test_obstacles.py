"""What an eye stands in, what canopies hide of the sky, and how much light comes through things."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from app.place.obstacles import containing, light_through
from app.place.site import Pin
from app.place.skyline import SUN_DEG, Skyline, skyline_for
from tests.place.venue import HERE, box, disc, house, pin_at, site_of, wall

EYE_M = 1.6
ROOF = house(box(-4.0, 4.0, -2.0, 6.0), 3.0, "the pergola", "canopy", base_m=2.6)


def names(site, pin=HERE, eye_m=EYE_M):
    return [one.name for one in containing(site, pin, eye_m)]


def test_an_eye_stands_in_a_house_by_its_outline_and_its_top():
    site = site_of(house(box(-5, 5, -5, 5), 6.0), house(box(20, 30, -5, 5), 6.0, "the byre"))
    assert names(site) == ["the barn"]
    assert names(site, eye_m=6.1) == []
    assert names(site, pin_at(0.0, 0.0, 4.5)) == []
    assert names(site, pin_at(25.0, 0.0)) == ["the byre"]
    assert names(site, pin_at(12.0, 0.0)) == []


def test_a_courtyard_is_outside():
    assert names(site_of(house(box(-20, 20, -20, 20), 9.0, holes=[box(-9, 9, -9, 9)]))) == []


@pytest.mark.parametrize(("north_m", "found"), [(0.04, ["the wall"]), (0.06, [])])
def test_an_eye_within_five_centimetres_of_a_wall_stands_in_it(north_m, found):
    assert names(site_of(wall([(-5.0, 0.0), (5.0, 0.0)], 2.0)), pin_at(0.0, north_m)) == found


@pytest.mark.parametrize(("eye_m", "found"), [(1.6, []), (2.8, ["the pergola"]), (3.1, [])])
def test_under_a_canopy_there_is_free_air(eye_m, found):
    assert names(site_of(ROOF), eye_m=eye_m) == found


def test_under_a_canopy_the_sky_is_hidden_from_its_edge_to_the_zenith():
    """From 1.6 m, the edge of a roof at 2.6 m: 4 m to the east, 6 m to the north, 2 m to the south."""
    skyline = skyline_for(site_of(ROOF), HERE, EYE_M)
    (band,) = skyline.bands
    edges = np.degrees(np.arctan(1.0 / np.array([6.0, 4.0, 2.0, 4.0])))
    assert band.low.at([0.0, 90.0, 180.0, 270.0]) == pytest.approx(edges, abs=1e-4)
    assert np.all(band.high_deg == 90.0)
    assert np.all(skyline.altitude_at([0.0, 90.0]) == 0.0)


def test_from_beside_a_canopy_hides_a_slab_with_sky_under_it():
    skyline = skyline_for(site_of(ROOF), pin_at(0.0, -22.0), EYE_M)
    (band,) = skyline.bands
    assert band.high.at(0.0) == pytest.approx(np.degrees(np.arctan(1.4 / 20.0)), abs=1e-4)
    assert band.low.at(0.0) == pytest.approx(np.degrees(np.arctan(1.0 / 28.0)), abs=1e-4)
    assert band.high.at(180.0) < band.low.at(180.0)  # it is nowhere there
    assert skyline.called_at(0.0, 3.0) == "the pergola"
    assert skyline.called_at(0.0, 1.0) == skyline.called_at(0.0) == "the horizon"


def test_from_above_its_base_a_canopy_is_solid():
    skyline = skyline_for(site_of(ROOF), pin_at(0.0, -22.0), 2.7)
    assert skyline.bands == ()
    assert skyline.altitude_at(0.0) == pytest.approx(np.degrees(np.arctan(0.3 / 20.0)), abs=1e-4)


def test_a_canopy_with_a_hole_hides_the_sky_twice():
    ring = house(box(-4, 4, 10, 30), 6.6, "the glass roof", "canopy", base_m=5.6, holes=[box(-2, 2, 15, 25)])
    bands = skyline_for(site_of(ring), HERE, EYE_M).bands
    found = sorted((round(float(band.low.at(0.0)), 2), round(float(band.high.at(0.0)), 2)) for band in bands)
    expected = [(np.arctan(4 / 30), np.arctan(5 / 25)), (np.arctan(4 / 15), np.arctan(5 / 10))]
    assert found == [tuple(np.round(np.degrees(pair), 2)) for pair in expected]


def test_a_canopy_behind_a_hill_makes_no_band():
    hill = Skyline([0.0], [30.0], ("the hill",))
    assert skyline_for(site_of(ROOF), pin_at(0.0, -22.0), EYE_M, hill).bands == ()


def test_a_beam_over_the_way_is_a_band_too():
    beam = wall([(-5.0, 20.0), (5.0, 20.0)], 6.6, "the beam", "canopy", base_m=5.6)
    (band,) = skyline_for(site_of(beam), HERE, EYE_M).bands
    assert [band.low.at(0.0), band.high.at(0.0)] == pytest.approx(np.degrees(np.arctan([4 / 20, 5 / 20])), abs=1e-4)


def test_a_disc_under_a_roof_is_clear_until_the_skyline_takes_it():
    skyline = skyline_for(site_of(ROOF), HERE, EYE_M)
    low = float(skyline.bands[0].low.at(90.0))
    tops = np.array([low + SUN_DEG, low + SUN_DEG / 2, low, SUN_DEG, 0.1, 0.0, -0.2])
    expected = np.array([0.0, SUN_DEG / 2, SUN_DEG, SUN_DEG, 0.1, 0.0, -0.2])
    assert np.minimum(skyline.clearance_deg(90.0, tops), SUN_DEG) == pytest.approx(expected, abs=1e-6)


# Light through things


HEDGE = wall([(-50.0, 20.0), (50.0, 20.0)], 2.6, "the hedge", lets_through=0.2)
TREES = house(box(-50, 50, 40, 60), 21.6, "the larches", "trees", lets_through=0.35)


@pytest.mark.parametrize(
    ("altitude_deg", "share"),
    [(-5.0, 0.07), (1.0, 0.07), (2.8, 0.07), (2.95, 0.35), (26.0, 0.35), (26.7, 1.0), (60.0, 1.0)],
)
def test_what_stands_on_the_ray_lets_its_share_through_once_each(altitude_deg, share):
    """Tops seen at atan(1/20) = 2.86° and, from 40 m, at atan(20/40) = 26.57°."""
    assert light_through(site_of(HEDGE, TREES), HERE, EYE_M, 0.0, altitude_deg) == pytest.approx(share)


def test_nothing_stands_in_the_south_and_opaque_things_let_nothing_through():
    site = site_of(HEDGE, house(box(-5, 5, 30, 34), 9.0))
    assert light_through(site, HERE, EYE_M, [180.0, 0.0, 0.0], [1.0, 5.0, 20.0]) == pytest.approx([1.0, 0.0, 1.0])


def test_trees_the_eye_stands_in_are_left_out():
    assert light_through(site_of(TREES), pin_at(0.0, 50.0), EYE_M, 0.0, 5.0) == 1.0


@pytest.mark.parametrize(("altitude_deg", "share"), [(13.9, 1.0), (14.2, 0.5), (89.0, 0.5)])
def test_under_a_canopy_light_comes_in_below_its_edge(altitude_deg, share):
    """The edge 4 m to the east, 1 m over the eye: atan(1/4) = 14.04°."""
    site = site_of(house(box(-4.0, 4.0, -2.0, 6.0), 3.0, "the pergola", "canopy", 2.6, 0.5))
    assert light_through(site, HERE, EYE_M, 90.0, altitude_deg) == share


@pytest.mark.parametrize("shape", [(), (3,), (2, 3), (0,)])
def test_keeps_the_shape_of_its_input(shape):
    assert np.shape(light_through(site_of(HEDGE), HERE, EYE_M, np.full(shape, 10.0), 1.0)) == shape
    assert np.shape(light_through(site_of(), HERE, EYE_M, np.full(shape, 10.0), 1.0)) == shape


things = st.lists(
    st.tuples(
        st.floats(-80, 80), st.floats(-80, 80), st.floats(2, 25), st.integers(3, 7),
        st.sampled_from(["building", "trees", "canopy"]), st.floats(3, 30), st.floats(0.1, 0.9),
    ),
    min_size=1, max_size=5,
)  # fmt: skip


def share_by_shapely(site, rings, azimuth_deg, altitude_deg):
    """The referee: walks along the ray inside each outline, from near to far."""
    turn, slope = np.radians(azimuth_deg), np.tan(np.radians(altitude_deg))
    ray = shapely.LineString([(0, 0), (300 * np.sin(turn), 300 * np.cos(turn))])
    share = 1.0
    for one, ring in zip(site.obstacles, rings, strict=True):
        for part in filter(shapely.get_num_coordinates, shapely.get_parts(shapely.Polygon(ring).intersection(ray))):
            near, far = np.sort(np.hypot(*shapely.get_coordinates(part).T))[[0, -1]]
            base = one.base_m - EYE_M if one.kind == "canopy" else -1e9
            if near * slope <= one.top_m - EYE_M and far * slope >= base:
                share *= one.lets_through
                break
    return share


@settings(max_examples=60)
@given(things, st.lists(st.tuples(st.floats(0, 360), st.floats(0.5, 60)), min_size=1, max_size=8))
def test_shapely_is_the_referee_for_light_through_random_things(made, rays):
    rings = [disc(east, north, size, count) for east, north, size, count, *_ in made]
    far = [i for i, ring in enumerate(rings) if shapely.Polygon(ring).distance(shapely.Point(0, 0)) > 0.1]
    kept = [(made[i], rings[i]) for i in far]
    obstacles = [
        house(ring, top, f"{i}", kind, base_m=top - 1.0 if kind == "canopy" else 0.0, lets_through=share)
        for i, ((*_, kind, top, share), ring) in enumerate(kept)
    ]
    site = site_of(*obstacles)
    found = light_through(site, HERE, EYE_M, *np.array(rays).T)
    for (azimuth, altitude), share in zip(rays, found, strict=True):
        near = [share_by_shapely(site, [r for _, r in kept], azimuth + da, altitude + dh) for da in (-0.02, 0.02) for dh in (-0.02, 0.02)]
        assert min(near) - 1e-9 <= share <= max(near) + 1e-9  # a hair off an edge either is right


def test_the_eye_height_and_the_ground_of_the_pin_count():
    low, high = (light_through(site_of(HEDGE), Pin(HERE.lat_deg, HERE.lon_deg, ground), EYE_M, 0.0, 0.5) for ground in (0.0, 1.2))
    assert (low, high) == (0.2, 1.0)
