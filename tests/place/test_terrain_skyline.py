"""The skyline of made landscapes against closed forms, and what is said where ground is unknown."""

import math
import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.place import terrain_skyline
from app.place.edit import new_document
from app.place.geodesy import LocalFrame, direct, inverse
from app.place.site import Pin
from app.place.sitefile import parse_site
from app.place.terrain import Grid, Terrain
from app.place.terrain_eye import standing_at
from app.place.terrain_skyline import bearings_words, drop_m, terrain_view
from tests.place.landscapes import HERE, ONE_SECOND_DEG, fine, grid_of, hills, wide

STEP_SHARE = 0.004  # a crest may be looked at up to one step of 0.4 % too far away, and seems that much lower
POST_M = 31.0
EYE_M = 2.0


@pytest.fixture
def light_bends_with_the_earth(monkeypatch):
    """With k near 1 light follows the ground's curve, and a flat Earth's closed forms hold."""
    monkeypatch.setattr(terrain_skyline, "REFRACTION", 1 - 1e-9)


def degrees_up(rise_m, distance_m):
    return np.degrees(np.arctan2(rise_m, distance_m))


# Closed forms


def test_a_ring_shaped_ridge_stands_equally_high_all_round():
    """H above the eye at distance D, less the drop (1 - k) D²/2R, which is 4.4 m at 8 km."""
    ridge = fine(lambda distance, bearing: np.where(np.abs(distance - 8_050) < 50, 600.0, 100.0))
    view = terrain_view(ridge, *HERE, 102.0)
    expected = degrees_up(600 - 102 - 0.87 * 8_000**2 / (2 * 6.38e6), 8_000)
    nearer_by_a_cell = 1 + 40 / 8_000  # the ring begins somewhere within a cell of 31 x 18 m
    assert view.skyline.altitude_deg.max() < expected * nearer_by_a_cell
    assert view.skyline.altitude_deg.min() > expected * (1 - STEP_SHARE) / nearer_by_a_cell
    assert len(view.skyline.azimuth_deg) == 1440
    assert set(view.skyline.called) == {"the ridge"}
    assert view.distance_m == pytest.approx(8_000, abs=8_000 * STEP_SHARE + POST_M)


def test_the_line_goes_on_over_north():
    ridge = fine(lambda distance, bearing: np.where(np.abs(distance - 8_050) < 50, 600.0, 100.0))
    skyline = terrain_view(ridge, *HERE, 102.0).skyline
    assert skyline.altitude_at([359.9, 360.0, -0.1]) == pytest.approx(skyline.altitude_at([0.1, 0.0, 0.1]), rel=0.01)


@pytest.mark.usefixtures("light_bends_with_the_earth")
def test_a_straight_wall_falls_off_with_the_cosine():
    """tan(altitude) = H cos(turn) / D: a level edge at distance D, seen askew."""
    lat = 55.0 - np.arange(3601) * ONE_SECOND_DEG
    edge = int(np.searchsorted(-lat, -(HERE[0] + 3_000 / 111_300)))  # the first row south of 3 km
    heights = np.where(np.arange(3601)[:, None] < edge, 400.0, 0.0) + np.zeros(2000)
    wall = Terrain((Grid(heights, 55.0, HERE[1] - 1000 * ONE_SECOND_DEG, ONE_SECOND_DEG, ONE_SECOND_DEG),))
    distance_m = inverse(*HERE, lat[edge - 1], HERE[1]).distance_m
    turn = np.radians(np.arange(-60, 61, 5.0))
    expected = degrees_up((400 - EYE_M) * np.cos(turn), distance_m)
    seen = terrain_view(wall, *HERE, EYE_M).skyline.altitude_at(np.degrees(turn))
    half_a_post_late = STEP_SHARE + POST_M / 2 / 3_000
    bent = 0.002  # a parallel leaves the straight line by 3 m at 60 degrees
    assert np.all(seen <= expected * (1 + bent))
    assert np.all(seen >= expected * (1 - half_a_post_late - bent))


@pytest.mark.usefixtures("light_bends_with_the_earth")
def test_a_cone_shows_the_outline_of_its_tangent_planes():
    """tan(altitude) = H/D sin(t - |turn|)/sin t with sin t = r/D: a plane through the eye and one edge of the cone.

    The eye is level with the foot, at distance D from the axis; r is the foot's radius.
    """
    apex_m, away_m, foot_m, towards = 500.0, 6_000.0, 2_000.0, 251.0

    def cone(distance, bearing):
        turn = np.radians(bearing - towards)
        from_axis = np.sqrt(distance**2 + away_m**2 - 2 * distance * away_m * np.cos(turn))
        return np.maximum(apex_m * (1 - from_axis / foot_m), 0.0)

    half = np.degrees(np.arcsin(foot_m / away_m))
    turn = np.arange(-np.floor(half), np.floor(half) + 1)
    share = np.sin(np.radians(half - np.abs(turn))) / np.sin(np.radians(half))
    expected = degrees_up(apex_m * share, away_m)
    seen = terrain_view(fine(cone), *HERE, 0.0).skyline.altitude_at(towards + turn)
    # Between crossings up to 18 m from the edge the cone's slope of 1/4 loses 4.5 m, 0.04 degrees at 6 km.
    assert seen == pytest.approx(expected, abs=0.05)
    assert np.all(seen <= expected + 0.01)


def test_far_ground_sinks_as_the_geodesic_says():
    """The same point 40 km away by way of the Earth's centre: what the plane through the eye loses."""
    ring = wide(lambda distance, bearing: np.where(np.abs(distance - 40_200) < 200, 900.0, 0.0))
    for bearing in (0, 90, 200):
        lat, lon = direct(*HERE, bearing, 40_000)
        _, _, up = LocalFrame(*HERE).to_metres(lat, lon, 0.0)
        assert drop_m(40_000, HERE[0]) == pytest.approx(-0.87 * up, rel=0.004)  # the ellipsoid is not equally round all ways
    expected = degrees_up(900 - 50 - drop_m(40_000, HERE[0]), 40_000)
    view = terrain_view(ring, *HERE, 50.0)
    nearer_by_a_cell = 1 + 120 / 40_000
    assert view.skyline.altitude_deg.max() < expected * nearer_by_a_cell
    assert view.skyline.altitude_deg.min() > expected * (1 - 2 * STEP_SHARE)


@pytest.mark.parametrize("eye_m", [10.0, 100.0])
def test_a_plain_lies_below_level_by_the_dip(eye_m):
    """√(2 (1 - k) h/R); navigators reckon 1.76' √h (Bowditch, from memory), with slightly more refraction."""
    sea = wide(lambda distance, bearing: np.zeros_like(distance))
    view = terrain_view(sea, *HERE, eye_m)
    dip = math.degrees(math.sqrt(2 * 0.87 * eye_m / 6.381e6))
    assert view.skyline.altitude_deg == pytest.approx(-dip, rel=2e-3)
    assert view.skyline.altitude_deg == pytest.approx(-1.76 / 60 * math.sqrt(eye_m), rel=0.03)
    assert set(view.skyline.called) == {"the horizon"}
    assert view.notes == ()


def test_near_ground_is_called_otherwise_than_a_ridge():
    knoll = fine(lambda distance, bearing: np.where((distance > 900) & (distance < 1000) & (bearing < 90), 60.0, 0.0))
    view = terrain_view(knoll, *HERE, EYE_M, far="the fells", near="the knoll")
    assert view.skyline.called_at(45.0) == "the knoll"
    assert view.skyline.called_at(135.0) == "the horizon"
    far = fine(lambda distance, bearing: np.where(distance > 5000, 200.0, 0.0))
    assert set(terrain_view(far, *HERE, EYE_M, far="the fells").skyline.called) == {"the fells"}


def test_ground_nearer_than_three_posts_is_left_out():
    bump = fine(lambda distance, bearing: np.where(distance < 60, 20.0, 0.0))
    view = terrain_view(bump, *HERE, EYE_M)
    assert view.from_m == pytest.approx(3 * POST_M, abs=1)
    assert view.skyline.altitude_deg.max() <= 0.0


# Looking less far than all the way


@settings(max_examples=12)
@given(eye_m=st.floats(-50, 3000), seed=st.integers(0, 3))
def test_giving_up_early_never_changes_the_skyline(eye_m, seed):
    """Against every distance at every azimuth, with nothing left out."""
    terrain = Terrain((Grid(hills(seed, 301), HERE[0] + 0.15, HERE[1] - 0.15, 0.001, 0.001),))
    ways = terrain_skyline._Ways(*HERE, np.arange(0, 360, 5.0), 8_000.0)
    best, _ = terrain_skyline._steepest(terrain, ways, eye_m, 300.0, 50.0)
    distances = np.concatenate(list(terrain_skyline._blocks(300.0, 8_000.0, 50.0)))
    rise = terrain.height_at(*ways.at(distances)) - (eye_m + drop_m(distances, HERE[0]))[:, None]
    assert best == pytest.approx((rise / distances[:, None]).max(axis=0), abs=1e-12)


def test_finer_steps_change_rough_hills_by_hundredths_of_a_degree(monkeypatch):
    """Hills as rough as the Alps, 5 m from post to post; the worst is a knoll some 200 m away."""
    terrain = Terrain((Grid(hills(2, 1201, 1.5), HERE[0] + 1 / 6, HERE[1] - 1 / 6, ONE_SECOND_DEG, ONE_SECOND_DEG),))
    eye_m = float(terrain.height_at(*HERE)) + 1.6
    usual = terrain_view(terrain, *HERE, eye_m).skyline.altitude_deg
    monkeypatch.setattr(terrain_skyline, "GROWTH", 0.0005)
    monkeypatch.setattr(terrain_skyline, "NEAR_GROWTH", 0.0015)
    too_low = terrain_view(terrain, *HERE, eye_m).skyline.altitude_deg - usual
    assert too_low.max() < 0.15
    assert np.abs(too_low).mean() < 0.015


def test_what_is_kept_for_a_site_has_the_skyline_of_the_whole_file():
    terrain = Terrain((Grid(hills(3, 3601, 1.6, 900.0), 55.0, -4.0, ONE_SECOND_DEG, ONE_SECOND_DEG),))
    kept = terrain.around(*HERE)
    eye_m = float(terrain.height_at(*HERE)) + 1.6
    apart = terrain_view(kept, *HERE, eye_m).skyline.altitude_deg - terrain_view(terrain, *HERE, eye_m).skyline.altitude_deg
    assert apart.min() > -0.02  # no ridge sinks, but for its place within a cell
    assert apart.max() < 0.15  # it may seem nearer by a cell of 120 m at 6 km


# Ways over the Earth


@pytest.mark.parametrize("lat_deg,within_m", [(0.0, 0.01), (54.5, 0.01), (-54.5, 0.01), (70.0, 0.01), (85.0, 0.1)])
@pytest.mark.parametrize("lon_deg", [-3.5, 179.9])
def test_ways_lead_where_the_geodesic_leads(lat_deg, lon_deg, within_m):
    bearings = np.arange(0, 360, 30.0)
    ways = terrain_skyline._Ways(lat_deg, lon_deg, bearings, 50_000.0)
    for distance_m in (100.0, 10_000.0, 40_000.0, 50_000.0):
        lats, lons = ways.at(np.array([distance_m]))
        for bearing, lat, lon in zip(bearings, lats[0], lons[0], strict=True):
            there = direct(lat_deg, lon_deg, bearing, distance_m)
            assert inverse(lat, lon, *there).distance_m < within_m


def test_a_skyline_at_the_date_line_is_that_of_the_same_hills_elsewhere():
    heights = hills(5, 601)
    views = [
        terrain_view(Terrain((Grid(heights, 10.08, lon_deg - 1 / 12, ONE_SECOND_DEG, ONE_SECOND_DEG),)), 10.0, lon_deg, 700.0)
        for lon_deg in (0.0, 180.0, -180.0)
    ]
    for view in views[1:]:
        assert view.skyline.altitude_deg == pytest.approx(views[0].skyline.altitude_deg, abs=1e-6)


# What is not known


def test_towards_the_near_edge_of_a_file_the_skyline_is_level_and_the_note_says_so():
    """Two hundred metres east of the file's western edge."""
    grid = Grid(np.full((1200, 1200), 300.0), HERE[0] + 1 / 6, HERE[1] - 200 / 64_700, ONE_SECOND_DEG, ONE_SECOND_DEG)
    view = terrain_view(Terrain((grid,)), *HERE, 320.0)
    west, east = view.skyline.altitude_at(270.0), view.skyline.altitude_at(90.0)
    assert west == 0.0 and view.reach_m[1080] == 0.0 and np.isnan(view.distance_m[1080])
    assert east == 0.0  # the plain is known for 19 km there, and nothing higher
    # Half a kilometre west in that direction lies 204 to 336 degrees; nearer ground is no skyline.
    assert re.match(r"No ground is known towards 20[3-5] to 33[5-7]°: the skyline is level there", view.notes[0])
    assert "less than 50 km" in view.notes[1] and "a ridge beyond would be missed" in view.notes[1]


def test_a_ridge_before_the_edge_still_counts():
    ridge = fine(lambda distance, bearing: np.where(distance > 9_000, 500.0, 0.0))
    view = terrain_view(ridge, *HERE, EYE_M)
    assert view.skyline.altitude_deg.min() > 3.0
    assert len(view.notes) == 1 and view.notes[0].startswith("Towards all bearings the ground is known for less than 50 km")


def test_gaps_are_bridged_and_told():
    def gappy(distance, bearing):
        hole = (np.abs(distance - 7_000) < 1_000) & (np.abs(bearing - 90) < 20)
        return np.where(hole, np.nan, np.where(distance > 9_000, 500.0, 0.0))

    whole = fine(lambda distance, bearing: np.where(distance > 9_000, 500.0, 0.0))
    view = terrain_view(fine(gappy), *HERE, EYE_M)
    assert view.skyline.altitude_deg == pytest.approx(terrain_view(whole, *HERE, EYE_M).skyline.altitude_deg)
    assert view.notes[-1] == "Towards 70 to 110° there are gaps in the heights; they were bridged straight."


def test_a_bridge_over_a_gap_hides_no_ground_that_is_higher_than_its_ends():
    """Ground rises evenly into the gap and out of it: the straight bridge lies on the slope itself."""
    slope = fine(lambda distance, bearing: np.where(np.abs(distance - 5_000) < 800, np.nan, distance / 10))
    view = terrain_view(slope, *HERE, EYE_M)
    assert view.skyline.altitude_at(0.0) > math.degrees(math.atan(0.09))


def test_a_viewpoint_outside_has_a_level_skyline_and_a_note():
    view = terrain_view(fine(lambda distance, bearing: distance), 50.0, 8.0, 100.0)
    assert view.skyline.altitude_at([0.0, 200.0]) == pytest.approx(0.0)
    assert view.notes == ("The terrain kept here does not cover this viewpoint.",)


def test_a_viewpoint_in_a_hole_of_the_file_still_sees_the_ridge():
    holed = fine(lambda distance, bearing: np.where(distance < 400, np.nan, np.where(distance > 6_000, 300.0, 0.0)))
    view = terrain_view(holed, *HERE, EYE_M)
    assert view.skyline.altitude_deg.min() > 2.5


@pytest.mark.parametrize("chosen,words", [
    ([0, 1, 2, 3], "all bearings"),
    ([1, 2], "90 to 180°"),
    ([3, 0], "270 to 0°"),
    ([0, 2], "0 to 0°, 180 to 180°"),
])
def test_stretches_of_bearings_in_words(chosen, words):
    which = np.isin(np.arange(4), chosen)
    assert bearings_words(np.arange(4) * 90.0, which) == words


# How high one stands


def site_at(height_m):
    return parse_site(new_document("Quay", *HERE, height_m=height_m))


@pytest.mark.parametrize("told_m,found_m,used_m,agree", [
    (75.0, 80.0, 80.5, True), (85.0, 80.0, 85.5, True), (0.0, 300.0, 300.0, False), (400.0, 300.0, 300.0, False),
])
def test_the_higher_ground_counts_where_file_and_site_agree_and_the_terrain_where_they_do_not(told_m, found_m, used_m, agree):
    terrain = fine(lambda distance, bearing: np.full_like(distance, found_m))
    standing = standing_at(terrain, site_at(told_m), Pin(*HERE, 0.5))
    assert standing.agree is agree
    assert standing.used_m == pytest.approx(used_m, abs=0.5)


def test_without_terrain_the_site_s_own_height_counts():
    standing = standing_at(Terrain((grid_of(lambda distance, bearing: distance),)), site_at(75.0), Pin(50.0, 8.0, 0.5))
    assert standing.used_m == 75.5 and not standing.agree
