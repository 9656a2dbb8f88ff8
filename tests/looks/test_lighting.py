"""A setup's light through an evening: the sky outshines faces turned from it, settings follow, and the flash begins to suffice."""

from dataclasses import replace

import numpy as np
import pytest

from app.light.kit import DEMO_KIT
from app.looks.light_plan import light_plan
from app.looks.lighting import lighting
from app.web.scenes import scene_of
from tests.looks.test_light_plan import pin
from tests.picture.pools import box, setup_by, site_with, thing

START = 1_821_225_600.0 + 15 * 3600.0  # 18 September 2027, 15:00 UTC


def evening(setup, site=None, **told):
    scene = scene_of(site or site_with(), setup)
    return lighting(scene, light_plan(setup, DEMO_KIT), scene.observer.sun_over(START, START + 4 * 3600.0, 300.0), **told)


def lit(intent="sky-down-1", modifier="Softbox 60 cm", away_m=3.0, flash="Battery head, 400 Ws"):
    light = {"flash": flash, "pin": pin(8.0 - away_m, 1.0), "modifier": modifier, "height_m": 2.2}
    return replace(setup_by(8.0, aim=None), lights=(light,), exposure={"intent": intent, "f_number": 2.8})


def test_against_the_light_the_sky_outshines_the_faces():
    found = evening(setup_by(8.0))
    low = (found.day.sun.refracted_deg < 12) & (found.day.sun.refracted_deg > 1)
    assert np.all(found.difference_stops[low] > 1.0)
    assert found.flashed is None and found.face_lux.shape == (2, 48)


def test_settings_follow_the_light_down_and_keep_to_the_kit():
    found = evening(replace(setup_by(8.0), exposure={"intent": "faces", "f_number": 2.8}))
    thirds = found.settings.camera_ev100
    assert np.all(np.diff(thirds) < 1e-6 + 1.0) and thirds[0] - thirds[-1] > 4
    assert "f/2.8" in found.settings.words(10) and np.all(found.settings.time_s <= 1 / 124)


def test_the_flash_begins_to_suffice_as_the_sky_falls():
    found = evening(lit(flash="Clip-on flash", away_m=6.0))
    enough = found.flashed.enough
    assert not enough[0] and enough[-1]
    at = found.enough_from_s()
    first = int(np.argmax(enough))
    assert found.day.sun.utc_s[first - 1] <= at <= found.day.sun.utc_s[first]
    ways = {way.kind: way for way in found.ways_out(0)}
    assert ways["wait"].utc_s == pytest.approx(at) and "closer" in ways


def test_a_wall_before_the_sun_takes_its_light_from_the_faces_but_not_from_the_sky():
    wall = site_with(thing(box(-40, -30, -40, 40), 30.0))
    free, shaded = evening(replace(setup_by(8.0))), evening(setup_by(8.0), wall)
    assert np.all(shaded.face_lux < free.face_lux) and shaded.sky_cd_m2 == pytest.approx(free.sky_cd_m2)


def test_nobody_squints_with_the_sun_behind_them_and_all_do_facing_it():
    behind = evening(setup_by(8.0))
    assert behind.squint.max() == 0.0
    turned = replace(setup_by(8.0), people=tuple(replace(one, facing_deg=float(behind.day.sun.azimuth_deg[0])) for one in setup_by(8.0).people))
    assert evening(turned).squint[0] > 0.5


def test_a_meter_reading_moves_face_and_sky_alike():
    plain, brighter = evening(setup_by(8.0)), evening(setup_by(8.0), correction_stops=-1.5)
    assert brighter.face_ev100 == pytest.approx(plain.face_ev100 - 1.5)
    assert brighter.difference_stops == pytest.approx(plain.difference_stops)


def test_a_bare_portable_flash_in_high_speed_sync_is_a_second_sun_in_hard_light():
    """Common practice, no source, within 1.5 stops: the 500 Ws class, bare, full power, a few metres away, against mid-afternoon sun.

    By hand: guide number 80 at 3.5 m gives 2.5 · 80² / 3.5² lx s; at f/2.8 and EV 15 the time
    is 1/4000 s, which costs 2 and 4.3 stops past 1/200; the sun gives its lux for 1/4000 s.
    """
    setup = setup_by(8.0)
    scene = scene_of(site_with(), setup)
    sun = scene.observer.sun_over(START - 3 * 3600.0, START, 300.0)
    day = lighting(scene, light_plan(setup, DEMO_KIT), sun).day
    high = int(np.argmin(np.abs(sun.refracted_deg - 33.0)))
    (flash,) = (one for one in DEMO_KIT.flashes if one.name == "Battery head, 400 Ws")
    flash_lux_s = 2.5 * flash.guide_number_m**2 / 3.5**2 * 2.0 ** -float(flash.high_speed_loss_stops(1 / 4000, 1 / 200))
    sun_lux_s = float(day.beam_lux[high]) / 4000
    assert abs(np.log2(flash_lux_s / sun_lux_s)) < 1.5
