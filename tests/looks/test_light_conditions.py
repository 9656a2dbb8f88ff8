"""Margins of light: they keep to their bounds, and windows close when the light or the flash gives out."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.light.kit import DEMO_KIT, Kit
from app.looks.catalogue import LOOKS
from app.looks.light_conditions import (
    bright_enough,
    flash_holds,
    from_daylights_side,
    not_squinting,
    well_lit,
)
from app.looks.light_plan import light_plan
from app.looks.lighting import lighting
from app.looks.look import wanted_look
from app.looks.quick_light import QuickLight
from app.looks.scene_light import SceneLight
from app.looks.way import Way
from app.looks.window import find_windows, open_spans
from app.picture.people import Person
from app.place.geodesy import direct
from app.sky.ephemeris import DAY_S
from tests.looks.sampled import compare, sampled_spans
from tests.looks.scenes import random_scene, scene_at, setup_at

SPRING_2027 = 1_803_859_200.0  # 1 March 2027, 00:00 UTC


def with_light(scene, intent="sky-down-1", away_m=4.0, turn_deg=45.0, flash="Battery head, 400 Ws", kit=DEMO_KIT, cover=0.0, **more):
    """The scene with one light, so far from the couple and so far round from the camera."""
    setup = scene.setup
    lat, lon = direct(setup.couple_pin.lat_deg, setup.couple_pin.lon_deg, (setup.line_deg + 180.0 - turn_deg) % 360.0, away_m)
    lights = ({"flash": flash, "pin": [lon, lat], "height_m": 2.2},) if flash else ()
    setup = replace(setup, lights=lights, exposure={"intent": intent}, **more)
    return replace(scene, setup=setup, light=SceneLight(light_plan(setup, kit), cover=cover))


def lit_scene(seed, lat, start):
    chance = np.random.default_rng(seed)
    return with_light(
        random_scene(chance, lat, start),
        str(chance.choice(["sky", "sky-down-2", "sky-up-1"])),
        float(chance.uniform(1.5, 20)),
        float(chance.uniform(-180, 180)),
        cover=float(chance.choice([0.0, 0.4, 1.0])),
    )


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 2**32), st.floats(-70, 70), st.floats(0, 300 * DAY_S), st.floats(1.0, 3600.0))
def test_margins_of_light_keep_within_their_bounds_on_the_way(seed, lat, start, length_s):
    scene = lit_scene(seed, lat, SPRING_2027 + start)
    sun = scene.observer.sun_at(SPRING_2027 + start + np.linspace(0, length_s, 41))
    way = Way(sun.take(np.array([[0], [40]])))
    for margin in (*well_lit(scene), *not_squinting(scene), *from_daylights_side(scene)):
        low, high = margin.between(way)
        values = margin.value(sun)
        assert np.all(values >= low - 1e-6), margin.name
        assert np.all(values <= high + 1e-6), margin.name


@settings(max_examples=12, deadline=None)
@given(st.integers(0, 2**32), st.floats(-65, 65))
def test_no_window_is_missed_for_the_light(seed, lat):
    scene = lit_scene(seed, lat, SPRING_2027)
    margins, span = well_lit(scene), (SPRING_2027, SPRING_2027 + DAY_S)
    found = compare(margins, scene.observer, sampled_spans(margins, scene.observer, *span), open_spans(margins, scene.observer, *span))
    assert (found.missed, found.made_up) == (0, 0) and found.worst_edge_s < 1.0


def test_the_flash_begins_to_hold_the_sky_as_the_evening_falls():
    """The window opens when full power at sync is a sixth of a stop short, the rounding of settings."""
    scene = with_light(scene_at(45.0, 10.0, 262.0), "sky", away_m=9.0)
    evening = SPRING_2027 + 15 * 3600.0
    windows = find_windows(wanted_look(LOOKS, "backlit").margins(scene), scene.observer, evening, evening + 4 * 3600.0)
    assert windows[0].opens_because == "the flash can hold the sky"
    sun = scene.observer.sun_at(np.array([windows[0].opens_utc_s]))
    plan = scene.light.plan
    found = lighting(scene, plan, sun, scene.light.linke(sun.utc_s))
    assert flash_holds(scene)[0].value(sun)[0] == pytest.approx(0.0, abs=0.01)
    assert found.sky_ev100[0] > found.face_ev100[0]


def test_in_the_morning_the_window_closes_when_the_flash_can_no_longer_hold_the_sky():
    scene = with_light(scene_at(45.0, 10.0, 95.0), "sky", away_m=9.0)
    morning = SPRING_2027 + 4 * 3600.0
    windows = find_windows(wanted_look(LOOKS, "backlit").margins(scene), scene.observer, morning, morning + 6 * 3600.0)
    assert windows[-1].closes_because == "the flash can no longer hold the sky"


def test_the_flash_is_asked_nothing_where_the_faces_are_exposed_for():
    assert flash_holds(with_light(scene_at(45.0, 10.0, 262.0), "faces")) == ()
    assert flash_holds(with_light(scene_at(45.0, 10.0, 262.0), "silhouette")) == ()
    assert flash_holds(with_light(scene_at(45.0, 10.0, 262.0), "sky", flash=None)) == ()
    assert well_lit(scene_at(45.0, 10.0, 262.0)) == ()


def test_an_afterglow_closes_when_the_camera_can_take_no_less():
    slow = Kit(cameras=tuple(replace(one, highest_iso=400.0) for one in DEMO_KIT.cameras), lenses=DEMO_KIT.lenses)
    windows = []
    for kit in (DEMO_KIT, slow):
        scene = with_light(scene_at(45.0, 10.0, 265.0), "faces", flash=None, kit=kit)
        evening = SPRING_2027 + 16 * 3600.0
        windows.append(find_windows(wanted_look(LOOKS, "afterglow").margins(scene), scene.observer, evening, evening + 3 * 3600.0)[0])
    quick, late = windows
    assert late.closes_utc_s < quick.closes_utc_s - 300.0
    assert late.closes_because.startswith("too dark for the faces at f/") and late.closes_because.endswith("ISO 400")


def test_lights_let_the_faces_be_dark_but_not_the_backdrop():
    dark = scene_at(45.0, 10.0, 265.0)
    sun = dark.observer.sun_at(SPRING_2027 + np.array([17.3, 18.0]) * 3600.0)
    without, lit = (bright_enough(with_light(dark, "faces", flash=flash))[0] for flash in (None, "Clip-on flash"))
    assert lit.value(sun)[1] > without.value(sun)[1] + 2
    assert lit.closes.startswith("too dark for the sky")


def test_nobody_squints_at_a_low_sun_or_one_off_to_the_side():
    facing = replace(scene_at(45.0, 10.0, 80.0), setup=replace(setup_at(45.0, 10.0, 80.0, 8.0), people=(Person("Ana", 1.7, facing_deg=250.0),)))
    margin = not_squinting(with_light(facing, "faces", flash=None))[0]
    sun = facing.observer.sun_over(SPRING_2027 + 10 * 3600.0, SPRING_2027 + 17.5 * 3600.0, 60.0)
    high_and_ahead = (sun.refracted_deg > 10.1) & (np.abs(sun.azimuth_deg - 250.0) < 39.9)
    at_ease = (sun.refracted_deg < 9.9) | (np.abs(sun.azimuth_deg - 250.0) > 40.1)
    assert high_and_ahead.any() and np.all(margin.value(sun[high_and_ahead]) < 0) and np.all(margin.value(sun[at_ease]) > 0)
    first = sun[np.flatnonzero(high_and_ahead)[0]]
    assert margin.because(first, opening=False) == "Ana squints into the sun"


def test_a_key_agrees_with_the_sun_within_twenty_degrees_and_a_fill_is_not_asked():
    scene = scene_at(45.0, 10.0, 170.0)  # the camera looks south, the couple north; the evening sun is on its right
    key = from_daylights_side(with_light(scene, "faces", turn_deg=80.0))[0]
    assert from_daylights_side(with_light(scene, "faces", turn_deg=10.0)) == ()
    assert from_daylights_side(with_light(scene, "faces", turn_deg=150.0)) == ()
    sun = scene.observer.sun_over(SPRING_2027 + 14 * 3600.0, SPRING_2027 + 18 * 3600.0, 60.0)
    bearing = (170.0 + 180.0 - 80.0) % 360.0
    assert np.array_equal(key.value(sun) > 0, np.abs(sun.azimuth_deg - bearing) < 20.0)


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 2**32), st.floats(-70, 70))
def test_the_quick_light_is_the_same_within_a_tenth_of_a_stop(seed, lat):
    scene = lit_scene(seed, lat, SPRING_2027)
    sun = scene.observer.sun_over(SPRING_2027, SPRING_2027 + DAY_S, 240.0)
    sun = sun[np.flatnonzero(sun.airless_deg > -14)]
    light = scene.light
    found = lighting(scene, light.plan, sun, light.linke(sun.utc_s), light.cover)
    sky, faces = QuickLight(scene, light).at(sun)
    assert np.abs(np.log2(sky / found.sky_cd_m2)).max() < 1 / 10  # a narrow frame about the sun, where the sky has its cusp
    assert np.abs(np.log2(faces / found.face_lux)).max() < 1 / 30


def test_a_silhouette_asks_nothing_of_the_faces():
    scene = with_light(scene_at(45.0, 10.0, 265.0), "faces", flash=None)
    evening = SPRING_2027 + 16 * 3600.0
    window = find_windows(wanted_look(LOOKS, "silhouette").margins(scene), scene.observer, evening, evening + 3 * 3600.0)[-1]
    assert "faces" not in window.closes_because
    assert bright_enough(scene, of_sky=True)[0].closes.startswith("too dark for the sky")


def test_quick_light_goes_by_the_sky_where_heads_stand_over_the_skyline_though_the_frame_shows_none():
    """Aimed 8° down from a metre, an 85 mm lens shows no sky; what is behind their heads, out of the frame, is sky."""
    scene = scene_at(45.0, 10.0, 262.0)
    scene = with_light(replace(scene, setup=setup_at(45.0, 10.0, 262.0, 8.0, 85.0, lens_height_m=1.0, aim=(262.0, -8.0))), "sky", flash=None)
    sun = scene.observer.sun_over(SPRING_2027 + 15 * 3600.0, SPRING_2027 + 18 * 3600.0, 600.0)
    found = lighting(scene, scene.light.plan, sun, scene.light.linke(sun.utc_s))
    assert not found.behind.sky_shows and found.behind.goes_by_sky
    assert QuickLight(scene, scene.light).at(sun)[0] == pytest.approx(found.sky_cd_m2, rel=0.11)  # one piece of sky, whose cusp about the sun the table rounds


def test_lights_that_can_do_nothing_close_no_window_and_break_none():
    """A light inside somebody, behind everybody, or with nobody to light."""
    base = scene_at(45.0, 10.0, 262.0)
    couple = base.setup.couple_pin
    for people, pin in ((base.setup.people[:1], [couple.lon_deg, couple.lat_deg]), ((), [couple.lon_deg + 2e-5, couple.lat_deg])):
        setup = replace(base.setup, people=people, lights=({"flash": "Battery head, 400 Ws", "pin": pin, "height_m": 1.57},), exposure={"intent": "sky"})
        scene = replace(base, setup=setup, light=SceneLight(light_plan(setup, DEMO_KIT)))
        assert flash_holds(scene) == () and from_daylights_side(scene) == ()
        found = lighting(scene, scene.light.plan, base.observer.sun_at(SPRING_2027 + np.array([15.0, 16.0]) * 3600.0))
        assert found.flashed is None and found.flash_trouble and "ISO" in found.settings.words(0)
    behind = with_light(base, "sky", turn_deg=180.0)
    assert flash_holds(behind) == ()
    lit = lighting(behind, behind.light.plan, base.observer.sun_at(SPRING_2027 + np.array([15.0, 16.0]) * 3600.0))
    assert "No light reaches" in lit.flash_words(0)


def test_lights_stay_off_for_a_silhouette():
    scene = with_light(scene_at(45.0, 10.0, 262.0), "silhouette")
    assert lighting(scene, scene.light.plan, scene.observer.sun_at(SPRING_2027 + np.array([15.0, 16.0]) * 3600.0)).flash_words(0) == "off for a silhouette"


def test_nobody_squints_at_a_sun_behind_cloud():
    facing = replace(scene_at(45.0, 10.0, 80.0), setup=replace(setup_at(45.0, 10.0, 80.0, 8.0), people=(Person("Ana", 1.7, facing_deg=220.0),)))
    scene = with_light(facing, "faces", flash=None)
    sun = scene.observer.sun_at(SPRING_2027 + np.array([13.0, 14.0]) * 3600.0)
    clear, grey = (lighting(scene, scene.light.plan, sun, cover=cover) for cover in (0.0, 1.0))
    assert clear.squint.max() > 0.5 and grey.squint.max() == 0.0
    assert np.isfinite(clear.colours.sun_k).all() and np.isnan(grey.colours.sun_k).all()


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 2**32), st.floats(-70, 70), st.floats(0, 300 * DAY_S))
def test_the_least_by_the_suns_height_is_never_more_than_the_light(seed, lat, start):
    scene = lit_scene(seed, lat, SPRING_2027 + start)
    sun = scene.observer.sun_over(SPRING_2027 + start, SPRING_2027 + start + DAY_S, 600.0)
    sun = sun[np.flatnonzero((sun.airless_deg > -12) & (sun.airless_deg < 30))]
    lit = QuickLight(scene, scene.light)
    (sky, faces), (least_sky, least_faces) = lit.at(sun), lit.least_at(sun.airless_deg)
    assert np.all(least_sky <= sky * 1.02) and np.all(least_faces <= faces * 1.02)
