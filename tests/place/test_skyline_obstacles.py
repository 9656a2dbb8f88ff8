"""The skyline with what stands on the site, the lower horizon and the terrain, against closed forms."""


import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from app.errors import BadInput
from app.place.edit import new_document
from app.place.site import Pin, Sighting, Survey
from app.place.sitefile import parse_site
from app.place.skyline import Skyline, dip_deg, ground_skyline, highest_of, level_skyline, skyline_for
from tests.place.venue import HERE, box, disc, house, site_of, wall

EYE_M = 1.6
BETWEEN_NODES_DEG = 0.005  # 2 mm by which a straight edge of 300 m cuts the Earth's curve, seen from 30 m
ALL_ROUND = np.arange(0.0, 360.0, 0.25)


def seen(*obstacles, pin=HERE, eye_m=EYE_M, **site):
    return skyline_for(site_of(*obstacles, **site), pin, eye_m)


def test_a_long_straight_wall_is_an_arc_of_the_tangent():
    """tan(altitude) = height / distance × cos(bearing off the wall's own): the plane through eye and edge."""
    skyline = seen(wall([(-150.0, 30.0), (150.0, 30.0)], 1.6 + 12.0))
    bearing = np.linspace(-78.0, 78.0, 400)
    expected = np.degrees(np.arctan(12.0 / 30.0 * np.cos(np.radians(bearing))))
    assert skyline.altitude_at(bearing) == pytest.approx(expected, abs=BETWEEN_NODES_DEG)
    assert skyline.called_at(0.0) == "the wall"
    assert skyline.called_at(120.0) == "the horizon"


def test_a_wall_ends_at_its_corners_and_not_a_quarter_of_a_degree_away():
    end = np.degrees(np.arctan2(40.03, 100.0))
    skyline = seen(wall([(-40.03, 100.0), (40.03, 100.0)], 11.6))
    inside, outside = skyline.altitude_at(end - 0.002), skyline.altitude_at(end + 0.002)
    assert inside == pytest.approx(np.degrees(np.arctan(10.0 / np.hypot(40.03, 100.0))), abs=0.01)
    assert outside == 0.0
    assert skyline.altitude_at([360.0 - end + 0.002, 360.0 - end - 0.002]) == pytest.approx([inside, 0.0], abs=0.01)


def test_a_cone_is_two_straight_edges_down_from_its_tip():
    """The plane through the eye that touches the cone holds one edge: tan α = H/D sin(t - φ) / sin t, sin t = R/D."""
    height, radius, away, steps = 60.0, 40.0, 100.0, 240
    levels = (np.arange(steps) + 1) / steps
    rings = [house(disc(0.0, away, radius * (1 - level), 180), height * level, "the cone") for level in levels[:-1]]
    skyline = seen(*rings, eye_m=0.0)
    touch = np.arcsin(radius / away)
    bearing = np.radians(np.linspace(-0.97, 0.97, 61) * np.degrees(touch))
    expected = np.degrees(np.arctan(height / away * np.sin(touch - np.abs(bearing)) / np.sin(touch)))
    one_step = np.degrees(height / steps / (away - radius))
    assert skyline.altitude_at(np.degrees(bearing)) == pytest.approx(expected, abs=one_step)


def test_a_ridge_over_a_house_takes_over_where_they_cross():
    ridge = Skyline([0.0, 90.0, 180.0, 270.0], [8.0] * 4, ("the ridge",) * 4)
    barn = house(box(-30.0, 30.0, 60.0, 80.0), 1.6 + 9.0)
    skyline = skyline_for(site_of(barn), HERE, EYE_M, ridge)
    crossing = np.degrees(np.arccos(np.tan(np.radians(8.0)) * 60.0 / 9.0))
    assert crossing < np.degrees(np.arctan(30.0 / 60.0))  # not behind the corner
    assert [skyline.called_at(crossing - 0.01), skyline.called_at(crossing + 0.01)] == ["the barn", "the ridge"]
    assert skyline.altitude_at([crossing + 0.01, 0.0]) == pytest.approx([8.0, np.degrees(np.arctan(9.0 / 60.0))], abs=0.002)


@pytest.mark.parametrize("away_m", [1.0, 30.0, 1000.0])
def test_a_house_from_one_metre_and_from_a_kilometre(away_m):
    skyline = seen(house(box(-5.0, 5.0, away_m, away_m + 8.0), 1.6 + 6.0))
    curve = away_m**2 / (2 * 6.37e6)
    assert skyline.altitude_at(0.0) == pytest.approx(np.degrees(np.arctan((6.0 - curve) / away_m)), abs=1e-4)
    assert skyline.altitude_at(180.0) == 0.0
    half = np.degrees(np.arctan(5.0 / away_m))
    assert skyline.called_at(half - 0.01) == skyline.called_at(360.0 - half + 0.01) == "the barn"
    assert skyline.called_at(half + 0.01) == skyline.called_at(360.0 - half - 0.01) == "the horizon"


def test_the_tall_thing_behind_shows_over_the_low_one_before_it():
    skyline = seen(house(box(-5, 5, 20, 24), 4.0, "the hut"), house(box(-2, 2, 60, 70), 21.6, "the tower"))
    assert skyline.called_at(0.0) == "the tower"
    assert skyline.altitude_at(0.0) == pytest.approx(np.degrees(np.arctan(20.0 / 60.0)), abs=1e-3)
    assert skyline.called_at(5.0) == "the hut"


@pytest.mark.parametrize("bearing_deg", [45.0, 135.0, 225.0, 315.0])
def test_at_a_step_from_low_to_high_the_high_one_is_named_whichever_way_the_sun_comes(bearing_deg):
    turn = np.radians(bearing_deg)
    middle = 100.0 * np.array([np.sin(turn), np.cos(turn)])
    low, high = house(disc(*middle, 30.0), 6.0, "the shed"), house(disc(*middle * 1.5, 6.0, 4), 60.0, "the mill")
    skyline = seen(low, high)
    steps = np.flatnonzero((np.diff(skyline.altitude_deg) > 5.0) | (np.diff(skyline.altitude_deg) < -5.0))
    middles = (skyline.azimuth_deg[steps] + skyline.azimuth_deg[steps + 1]) / 2
    assert len(steps) == 2
    assert [skyline.called_at(azimuth) for azimuth in middles] == ["the mill", "the mill"]


def test_a_mast_thinner_than_the_step_is_not_lost():
    skyline = seen(house(box(49.9, 50.1, 60.0, 60.2), 31.6, "the mast"))
    bearing = np.degrees(np.arctan2(50.0, 60.0))
    assert skyline.altitude_at(bearing) == pytest.approx(np.degrees(np.arctan(30.0 / np.hypot(50.0, 60.0))), abs=0.15)
    assert skyline.altitude_at([bearing - 0.3, bearing + 0.3]) == pytest.approx(0.0)


def test_an_alley_narrower_than_the_step_stays_open():
    skyline = seen(house(box(-60, -0.05, 50, 70), 21.6, "the left house"), house(box(0.05, 60, 50, 70), 26.6, "the right house"))
    assert skyline.altitude_at(0.0) == 0.0
    assert (skyline.called_at(-0.1), skyline.called_at(0.1)) == ("the left house", "the right house")


def test_looking_down_on_a_roof_the_far_edge_counts_and_hides_nothing_of_the_sky():
    skyline = seen(house(box(-20, 20, 10, 40), 8.0), pin=Pin(HERE.lat_deg, HERE.lon_deg, 30.0))
    assert np.all(skyline.altitude_at(ALL_ROUND) == 0.0)


def test_inside_a_courtyard_its_walls_stand_all_round():
    skyline = seen(house(box(-20, 20, -20, 20), 11.6, holes=[box(-10, 10, -10, 10)]))
    assert skyline.altitude_at([0.0, 90.0, 180.0, 270.0]) == pytest.approx(45.0, abs=1e-3)
    assert set(skyline.called) == {"the barn"}


def test_what_the_eye_stands_in_is_left_out_of_its_view():
    around, other = house(box(-5, 5, -5, 5), 6.0), house(box(-5, 5, 20, 30), 6.0, "the byre")
    assert np.array_equal(seen(around, other).altitude_deg, seen(other).altitude_deg)
    on_the_roof = seen(around, other, pin=Pin(HERE.lat_deg, HERE.lon_deg, 6.0))
    assert on_the_roof.altitude_at(180.0) == 0.0


def test_light_foliage_does_not_make_the_skyline_and_dense_does():
    trees = [house(box(-5, 5, 20, 30), 9.6, f"{share}", "trees", lets_through=share) for share in (0.49, 0.5)]
    assert seen(trees[0]).altitude_at(0.0) == pytest.approx(np.degrees(np.arctan(8.0 / 20.0)), abs=1e-3)
    assert seen(trees[1]).altitude_at(0.0) == 0.0


def test_a_thing_without_a_name_is_called_by_its_kind():
    assert seen(house(box(-5, 5, 20, 30), 9.0, "building")).called_at(0.0) == "a building"


def test_every_node_is_on_or_over_the_ground_it_stands_on():
    survey = Survey("s", "s", HERE, 1.6, (Sighting(350.0, 9.0, "the fell"), Sighting(10.0, 9.0), Sighting(20.0, -1.0)))
    site = site_of(house(box(-5, 5, 20, 30), 4.0), surveys=[survey])
    ground, skyline = ground_skyline(site, HERE), skyline_for(site, HERE)
    assert np.all(skyline.altitude_deg >= ground.altitude_at(skyline.azimuth_deg) - 1e-6)
    assert set(ground.azimuth_deg) <= set(skyline.azimuth_deg)
    assert skyline.altitude_at(20.0) == -1.0


polygons = st.lists(
    st.tuples(st.floats(-200, 200), st.floats(-200, 200), st.floats(2, 30), st.integers(3, 8), st.floats(0, 6.28), st.floats(0.5, 60)),
    min_size=1,
    max_size=6,
)


def prism(east_m, north_m, size_m, count, turn, top_m):
    angle = turn + 2 * np.pi * np.arange(count) / count * np.where(np.arange(count) % 2, 1.0, 0.93)
    return [(east_m + size_m * np.sin(a), north_m + size_m * np.cos(a)) for a in angle], top_m


def highest_by_shapely(prisms, azimuth_deg, eye_m):
    """The referee: each ray cut with each outline, the steepest sight of all corners of the cut."""
    turn, best = np.radians(azimuth_deg), -90.0
    ray = shapely.LineString([(0, 0), (1000 * np.sin(turn), 1000 * np.cos(turn))])
    for ring, top_m in prisms:
        cut = shapely.LinearRing(ring).intersection(ray)
        for x, y in shapely.get_coordinates(cut):
            best = max(best, np.degrees(np.arctan2(top_m - eye_m, np.hypot(x, y))))
    return best


@settings(max_examples=40)
@given(polygons)
def test_shapely_is_the_referee_for_random_overlapping_footprints(made):
    prisms = [prism(*one) for one in made]
    outside = [one for one in prisms if not shapely.Polygon(one[0]).buffer(0.5).contains(shapely.Point(0, 0))]
    if outside:
        skyline = seen(*(house(ring, top_m) for ring, top_m in outside))
        bearings = np.arange(0.125, 360.0, 11.25) // 0.25 * 0.25  # at nodes, where the skyline claims to be exact
        expected = [max(highest_by_shapely(outside, bearing, EYE_M), 0.0) for bearing in bearings]
        straight = [abs(skyline.altitude_at(bearing) - high) for bearing, high in zip(bearings, expected, strict=True)]
        assert max(straight) < 0.01  # 2 mm of the Earth's curve within 200 m, on a side 0.5 m away at least


def test_a_footprint_that_crosses_itself_is_as_high_as_its_sides():
    bow = [(-10.0, 20.0), (10.0, 40.0), (10.0, 20.0), (-10.0, 40.0)]
    skyline = seen(house(bow, 1.6 + 10.0))
    assert skyline.altitude_at(0.0) == pytest.approx(np.degrees(np.arctan(10.0 / 30.0)), abs=1e-3)
    assert skyline.altitude_at(15.0) == pytest.approx(highest_by_shapely([(bow, 11.6)], 15.0, EYE_M), abs=1e-3)


def test_a_corner_at_the_very_eye_breaks_nothing():
    for metres in ([(0.0, 0.0), (10.0, 0.0), (10.0, 10.0)], [(-5.0, 0.0), (5.0, 0.0), (0.0, 9.0)]):
        assert np.all(seen(house(metres, 5.0)).altitude_deg == 0.0)


def test_a_wall_seen_end_on_is_as_high_as_its_near_end():
    skyline = seen(wall([(0.0, 20.0), (0.0, 50.0), (5.0, 50.0)], 11.6))
    assert np.all(np.isfinite(skyline.altitude_deg))
    assert skyline.altitude_at(2.0) == pytest.approx(np.degrees(np.arctan(10.0 / 50.0)), abs=0.01)


def test_a_level_horizon_and_one_lower_by_its_dip():
    """1.76′ √h, Explanatory Supplement to the Astronomical Almanac (1992), p. 488: 17.6′ at 100 m."""
    cliff = Pin(HERE.lat_deg, HERE.lon_deg, 80.4)
    assert skyline_for(site_of(), cliff).altitude_at(270.0) == 0.0
    assert skyline_for(site_of(horizon_m=18.0), cliff).altitude_at(270.0) == pytest.approx(-17.6 / 60)
    assert skyline_for(site_of(horizon_m=0.0), Pin(HERE.lat_deg, HERE.lon_deg, -9.0)).altitude_at(0.0) == 0.0
    assert dip_deg(-1.0) == 0.0


def test_a_gap_of_the_survey_falls_to_the_lower_horizon():
    survey = Survey("s", "s", HERE, 1.6, (Sighting(100.0, 3.0, "the fell"), Sighting(120.0, 3.0)))
    site = site_of(surveys=[survey], horizon_m=98.4)
    assert skyline_for(site, HERE).altitude_at([110.0, 300.0]) == pytest.approx([3.0, -17.6 / 60])


def test_known_terrain_may_lie_under_level_but_not_under_the_sea():
    deep = Skyline([0.0, 120.0, 240.0], [-2.0, -0.2, -2.0], ("the ridge",) * 3)
    site = site_of(height_m=98.4)
    assert skyline_for(site, HERE, EYE_M, deep).altitude_at([120.0, 0.0]) == pytest.approx([-0.2, -17.6 / 60])


def test_the_highest_of_survey_terrain_and_obstacles_wins_at_every_azimuth():
    survey = Survey("s", "s", HERE, 1.6, tuple(Sighting(float(a), 3.0, "the wood") for a in range(0, 360, 20)))
    terrain = Skyline([0.0, 90.0, 180.0, 270.0], [5.0, 1.0, 5.0, 1.0], ("the ridge",) * 4)
    skyline = skyline_for(site_of(house(box(10, 12, -3, 3), 3.0), surveys=[survey]), HERE, EYE_M, terrain)
    assert [skyline.called_at(azimuth) for azimuth in (0.0, 270.0, 90.0)] == ["the ridge", "the wood", "the barn"]
    assert skyline.altitude_at([0.0, 45.0, 45.1]) == pytest.approx([5.0, 3.0, 3.0], abs=1e-9)


heights = st.lists(st.tuples(st.integers(0, 359), st.floats(-5, 40)), min_size=1, max_size=12, unique_by=lambda node: node[0])


@given(heights, heights, st.lists(st.floats(0, 360), min_size=1, max_size=40))
def test_the_higher_of_two_skylines_is_exact_everywhere(one, other, azimuths):
    lines = [Skyline(*zip(*sorted(nodes), strict=True), ("x",) * len(nodes)) for nodes in (one, other)]
    both = highest_of(*lines)
    higher = np.maximum(*(line.altitude_at(azimuths) for line in lines))
    assert both.altitude_at(azimuths) == pytest.approx(higher, abs=1e-6)


def test_a_lower_horizon_comes_from_the_site_file():
    document = new_document("Trial", 54.57, -3.13)
    assert parse_site(document).horizon_m is None
    assert parse_site({**document, "horizon_m": 60}).horizon_m == 60.0
    with pytest.raises(BadInput, match="horizon_m lies between 0 and 9000; -1 came"):
        parse_site({**document, "horizon_m": -1})


def test_hundreds_of_houses_keep_the_line_in_order():
    rng = np.random.default_rng(3)
    houses = [house(disc(*rng.uniform(-300, 300, 2), rng.uniform(3, 9), 5), rng.uniform(3, 20), f"house {i}") for i in range(500)]
    skyline = seen(*houses)
    assert np.all(np.diff(skyline.azimuth_deg) > 0)
    assert len(skyline.azimuth_deg) < 1440 * 2 + 2 * 400
    assert np.all(skyline.altitude_deg >= 0.0)


def test_flat_land_without_obstacles_stays_one_node():
    assert np.array_equal(skyline_for(site_of(), HERE).azimuth_deg, level_skyline().azimuth_deg)
