"""The level mirror: published geometry, cases worked by hand, and the light's own way as referee."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.picture.double import shown_in_water
from app.picture.stage import stage_of
from app.picture.water import (
    image_depression_deg,
    meets_water_m,
    mirrors_of,
    open_sky_share,
    sun_image,
    touches_water_m,
)
from app.place.skyline import Skyline, level_skyline
from app.sky.track import Observer, SunTrack
from tests.picture.pools import LAT, LINE_DEG, LON, box, pool, setup_by, site_with, thing

LAKE = box(5, 100, -50, 50)


def sun_stood(altitude_deg, right_deg=0.0) -> SunTrack:
    """A sun put where a test wants it, seen without air so that altitudes are the given ones."""
    altitude, azimuth = np.broadcast_arrays(np.atleast_1d(altitude_deg).astype(float), LINE_DEG + np.atleast_1d(right_deg))
    return SunTrack(Observer(LAT, LON, pressure_hpa=0.0), np.full(azimuth.shape, 1.8e9), azimuth % 360.0, altitude)


def shows(setup, site, altitude_deg, right_deg=0.0):
    return sun_image(mirrors_of(setup, site)[0], sun_stood(altitude_deg, right_deg)).open_mm > 0


@pytest.mark.parametrize(
    ("distance_m", "eye_m", "height_m", "meets_m", "depression_deg"),
    [
        (100, 1.6, 10, 13.793, 6.617),
        (500, 2.5, 100, 12.195, 11.585),
        (20, 1.2, 1.2, 10.000, 6.843),
        (1000, 1.6, 300, 5.305, 16.783),
        (10, 0.3, 5, 0.566, 27.924),
    ],
)
def test_where_a_reflection_meets_the_water(distance_m, eye_m, height_m, meets_m, depression_deg):
    """The law of reflection on a level mirror: x = D h / (h + z), atan((z + h) / D); worked to three decimals."""
    assert meets_water_m(distance_m, eye_m, height_m) == pytest.approx(meets_m, abs=5e-4)
    assert image_depression_deg(distance_m, eye_m, height_m) == pytest.approx(depression_deg, abs=5e-4)


def test_where_the_suns_image_touches():
    """h / tan a for an eye 1.6 m above the water; worked to a centimetre."""
    np.testing.assert_allclose(touches_water_m(1.6, [1, 5, 10, 30]), [91.66, 18.29, 9.07, 2.77], atol=0.005)


def test_without_a_mirror_there_is_no_place():
    assert np.isnan(touches_water_m([1.6, 1.6, -1.0, 0.0], [0.0, -2.0, 5.0, 5.0])).all()
    assert np.isnan(meets_water_m(10.0, [-1.0, 1.0, 0.0], [1.0, -1.0, 0.0])).all()


@pytest.mark.parametrize("shape", [(), (3,), (2, 3), (0,)])
def test_keeps_the_shape_of_its_input(shape):
    assert np.shape(touches_water_m(np.full(shape, 1.0), 5.0)) == shape
    assert np.shape(meets_water_m(np.full(shape, 10.0), 1.0, 1.0)) == shape


def test_the_suns_image_is_as_far_under_level_as_the_sun_is_above():
    """50 mm, level camera: 50 tan 5° = 4.374 mm under the middle, 2° right at 50 tan 2° = 1.746 mm."""
    image = sun_image(mirrors_of(setup_by(people=()), site_with(pool(LAKE)))[0], sun_stood(5.0, [0.0, 2.0]))
    np.testing.assert_allclose(image.x_mm, [0.0, 1.746], atol=1e-3)
    assert image.y_mm[0] == pytest.approx(-4.374, abs=1e-3)
    assert image.touches_m[0] == pytest.approx(11.43, abs=0.005)


def test_the_image_shows_only_on_water():
    """Eye 1 m above water from 5 to 100 m: the image lies there for altitudes from atan 1/100 to atan 1/5, 0.573° to 11.31°."""
    setup, site = setup_by(people=()), site_with(pool(LAKE))
    assert shows(setup, site, [0.55, 0.6, 5.0, 11.25, 11.4]).tolist() == [False, True, True, True, False]


def test_the_image_needs_the_frame_and_the_sun_ahead():
    """Half the frame's width is 18 mm: 19.8° at 50 mm."""
    setup, site = setup_by(people=()), site_with(pool(box(5, 100, -90, 90)))
    assert shows(setup, site, 2.0, [19.7, 20.0, 180.0]).tolist() == [True, False, False]


def test_an_island_and_land_between_two_ponds_are_no_water():
    """Land from 20 to 30 m: no image from atan 1/30 to atan 1/20, 1.909° to 2.862°."""
    setup = setup_by(people=())
    island = site_with(pool(LAKE, holes=[box(20, 30, -10, 10)]))
    ponds = site_with(pool(box(5, 20, -50, 50)), pool(box(30, 100, -50, 50)))
    for site in (island, ponds):
        seen = np.any([sun_image(mirror, sun_stood([1.8, 2.0, 2.8, 2.9])).open_mm > 0 for mirror in mirrors_of(setup, site)], axis=0)
        assert seen.tolist() == [True, False, False, True]


def test_a_rim_hides_the_water_behind_its_edge():
    """Lens 1.5 m over ground that lies 1 m above the water and ends upright after 4 m: water shows from 4 · 2.5 / 1.5 = 6.667 m, 20.556°."""
    setup = setup_by(lens_m=1.5, ground_m=1.0, couple_ground_m=1.0, people=(), focal_mm=24.0, aim=(LINE_DEG, -10.0))
    site = site_with(pool(box(4, 100, -50, 50)))
    assert shows(setup, site, [20.5, 20.6]).tolist() == [True, False]


def test_a_bank_far_from_the_line_runs_out_gently():
    """The same height, but the water begins 30 m beyond the couple: seen from its edge on, atan 2.5/50 = 2.862°."""
    setup = setup_by(lens_m=1.5, ground_m=1.0, couple_ground_m=1.0, people=())
    assert shows(setup, site_with(pool(box(50, 200, -50, 50))), [2.8, 2.9]).tolist() == [True, False]


def test_a_jetty_hides_the_water_under_it_and_beyond_its_head():
    """Deck 1 m up from 0 to 12 m, lens 1.5 m over it: along the line water shows from 12 · 2.5 / 1.5 = 20 m, atan 2.5/20 = 7.125°."""
    setup = setup_by(distance_m=10.0, lens_m=1.5, ground_m=1.0, couple_ground_m=1.0, people=())
    jetty = [("jetty", box(-2, 12, -1, 1))]
    lake = pool(box(-5, 100, -50, 50))
    assert shows(setup, site_with(lake, drawn=jetty), [7.05, 7.2]).tolist() == [True, False]
    assert shows(setup, site_with(lake), [7.05, 7.2]).tolist() == [True, True]
    parts = mirrors_of(setup, site_with(lake, drawn=jetty))[0].parts
    assert {part.called for part in parts if part.kind == "before"} == {"the jetty"}


def test_what_is_only_drawn_round_a_tank_is_no_deck():
    setup, rim = setup_by(people=()), [("rim", box(4, 101, -51, 51))]
    assert stage_of(setup, site_with(pool(LAKE), drawn=rim)).pools[0].decks == ()


def test_a_wall_before_the_water_hides_it():
    """A wall 0.5 m high 4 m ahead, eye 1 m: its top hides what lies from atan 0.5/4 = 7.125° down to its foot."""
    site = site_with(pool(LAKE), thing([(4, -5), (4, 5)], 0.5, kind="wall", closed=False))
    assert shows(setup_by(people=()), site, [7.05, 7.2]).tolist() == [True, False]


def test_a_house_on_the_far_bank_shades_the_spot():
    """A house 10 m high 120 m ahead, eye 1 m: its image reaches atan 11/120 = 5.238° down. The sun stands above it for the eye from 4.289°."""
    site = site_with(pool(LAKE), thing(box(120, 130, -5, 5), 10.0))
    assert shows(setup_by(people=()), site, [4.5, 5.2, 5.3]).tolist() == [False, False, True]
    assert shows(setup_by(people=()), site, 4.5, 5.0).tolist() == [True]


def test_foliage_that_lets_half_the_light_through_does_not():
    house = thing(box(120, 130, -5, 5), 10.0, kind="trees")
    for share, expected in ((0.5, True), (0.49, False)):
        assert shows(setup_by(people=()), site_with(pool(LAKE), replace(house, lets_through=share)), 4.5).tolist() == [expected]


def test_a_roof_lets_the_low_sun_in_under_it():
    """A roof 3 to 4 m up, 20 to 30 m ahead, eye 1 m: its image covers atan 4/30 = 7.595° to atan 5/20 = 14.036°."""
    roof = thing(box(20, 30, -5, 5), 4.0, base_m=3.0, kind="canopy")
    site = site_with(pool(box(2, 100, -50, 50)), roof)
    setup = setup_by(people=(), focal_mm=35.0, aim=(LINE_DEG, -8.0))
    assert shows(setup, site, [7.5, 7.7, 13.9, 14.1]).tolist() == [True, False, False, True]


def test_the_couple_hide_their_own_spot_and_take_its_sun():
    """One of 1.8 m on the line 20 m off, feet at the water, eye 1 m: the body stands down to 2.862° and its image to atan 2.8/20 = 7.97°."""
    setup = setup_by(people=(setup_by().people[1],))
    seen = shows(setup, site_with(pool(LAKE)), [2.0, 5.0, 7.9, 8.2])
    assert seen.tolist() == [False, False, False, True]
    assert shows(setup, site_with(pool(LAKE)), [2.0, 5.0, 7.9], 2.0).tolist() == [True, True, True]


def test_water_above_the_lens_is_no_mirror():
    assert mirrors_of(setup_by(people=()), site_with(pool(LAKE, surface_m=1.2))) == ()
    assert mirrors_of(setup_by(people=()), site_with()) == ()
    assert mirrors_of(setup_by(people=()), None) == ()


def test_the_water_that_fills_most_of_the_frame_comes_first():
    site = site_with(pool(box(60, 100, 0, 20), name="far"), pool(box(5, 50, -20, 0), name="near"))
    assert [mirror.water.name for mirror in mirrors_of(setup_by(people=()), site)] == ["near", "far"]


def test_a_sea_drawn_to_150_m_goes_on_to_its_horizon():
    """Against a horizon 0.1° under level the image shows down to that; against a level one the drawn edge, atan 1/150 = 0.382°, ends it."""
    setup, site = setup_by(people=()), site_with(pool(box(5, 150, -80, 80)))
    for skyline, expected in ((level_skyline(-0.1), [False, True]), (level_skyline(), [False, False])):
        mirror = mirrors_of(setup, site, skyline)[0]
        assert (sun_image(mirror, sun_stood([0.08, 0.3])).open_mm > 0).tolist() == expected


def test_sheltered_water_ends_where_it_is_drawn():
    setup, site = setup_by(people=()), site_with(pool(box(5, 150, -80, 80), sheltered=True))
    mirror = mirrors_of(setup, site, level_skyline(-0.1))[0]
    assert (sun_image(mirror, sun_stood([0.3, 0.45])).open_mm > 0).tolist() == [False, True]


def test_share_of_the_water_that_mirrors_sky():
    """Level camera, eye 1 m, water from 1 m on: seen from 0 to 13.5° down. A ridge of 5° all round takes 4.374 of 12 mm: 63.5 % is sky; the grid is good to a row, 3 %."""
    mirror = mirrors_of(setup_by(people=()), site_with(pool(box(1, 3000, -2000, 2000))))[0]
    assert open_sky_share(mirror, level_skyline()) == 1.0
    assert open_sky_share(mirror, Skyline([0.0], [5.0], ("the ridge",))) == pytest.approx(0.635, abs=0.03)


places = st.tuples(st.floats(-6, 6), st.floats(3, 40))


@settings(max_examples=60)
@given(
    st.lists(st.tuples(st.floats(3, 60), st.floats(-20, 20), st.floats(1, 12), st.floats(1, 12), st.floats(0.3, 6)), max_size=4),
    st.floats(0.4, 3.0),
    st.floats(0.0, 1.0),
    st.integers(0, 10_000),
)
def test_the_outlines_agree_with_the_lights_own_way(boxes, lens_m, ground_m, seed):
    """Referee: the folded ray from the lens by way of the water to a point far up the sun's ray, side by side in space.

    Within 0.05 mm of an edge, 0.06°, the far point and the sun may differ; the referee
    knows no frame.
    """
    things = [thing(box(a, a + d, r, r + w), h) for a, r, d, w, h in boxes]
    setup = setup_by(lens_m=lens_m, ground_m=ground_m, couple_ground_m=ground_m, people=())
    site = site_with(pool([(4, -30), (3, 25), (50, 40), (35, 0), (70, -35)], surface_m=-0.2, holes=[box(12, 16, 2, 6)]), *things)
    mirror, stage = mirrors_of(setup, site)[0], stage_of(setup, site)
    chance = np.random.default_rng(seed)
    altitude, right = chance.uniform(0.3, 13.0, 40), chance.uniform(-19.0, 19.0, 40)
    image = sun_image(mirror, sun_stood(altitude, right))
    far = 1e5
    azimuth = np.radians(LINE_DEG + right)
    rise = -0.2 + np.tan(np.radians(altitude)) * far - (stage.eye_m + 0.2)
    points = np.column_stack([far * np.sin(azimuth), far * np.cos(azimuth), rise])
    shown = shown_in_water(stage, mirror.pool, np.array([[0.0, 0.0, stage.eye_m]]), points)[0]
    sure = (np.abs(image.open_mm) > 0.05) & (mirror.view.inside_mm(image.x_mm, image.y_mm) > 0)
    assert (image.open_mm > 0)[sure].tolist() == shown[sure].tolist()


@settings(max_examples=40)
@given(places, places, st.floats(0.3, 3.0))
def test_depth_changes_by_no_more_than_a_point_is_moved(one, other, lens_m):
    site = site_with(pool(LAKE), thing(box(110, 120, -5, 5), 10.0), thing(box(8, 10, -6, -3), 1.0))
    mirror = mirrors_of(setup_by(lens_m=lens_m), site)[0]
    (x0, y0), (x1, y1) = one, other
    before, after = mirror.open_mm(x0, -y0 / 3), mirror.open_mm(x1, -y1 / 3)
    assert abs(after - before) <= np.hypot(x1 - x0, (y1 - y0) / 3) + 1e-9
