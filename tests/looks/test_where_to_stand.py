"""Where to stand: the many at once against each alone, shadows by hand, and ground one can stand on."""

from dataclasses import replace
from functools import partial

import numpy as np
import pytest

from app.errors import BadInput
from app.looks.catalogue import LOOKS
from app.looks.look import wanted_look
from app.looks.margin import fit
from app.looks.places import CAMERA, COUPLE, grid
from app.looks.where_to_stand import where_to_stand
from app.picture.people import Person
from app.place.site import Pin, Sighting, Survey
from app.place.skyline import skyline_for
from app.sky.track import Observer
from app.web.scenes import scene_of
from tests.looks.scenes import apart_deg
from tests.picture.pools import LAT, LINE_DEG, LON, box, corners, pool, setup_by, site_with, thing

AT_ONCE = [name for name, look in LOOKS.items() if not look.place_by_place]
FLAT_DEG = 0.02  # of the planes that the two ways reckon in, within 40 m
MARGIN = 0.03  # what 0.02° makes of the steepest margin, the disc's 0.53°


def low_sun(site, altitude_deg=8.0):
    """Return an instant at which the sun stands so high over the site in the west, of 18 September 2027."""
    sun = Observer(LAT, LON, site.centre.height_m).sun_over(1_821_225_600.0, 1_821_225_600.0 + 86_400.0, 10.0)
    falls = np.flatnonzero((sun.refracted_deg[:-1] >= altitude_deg) & (sun.refracted_deg[1:] < altitude_deg))
    return float(sun.utc_s[falls[-1]])


def lined_up(site, utc_s, **more):
    """Return a setup whose line points at the sun at an instant."""
    sun = Observer(LAT, LON, site.centre.height_m).sun_at(utc_s)
    turn = np.radians(float(sun.azimuth_deg) - LINE_DEG)
    ahead, right = 8.0 * np.cos(turn), 8.0 * np.sin(turn)
    lon, lat = corners([(ahead, right)])[0]
    return replace(setup_by(aim=None, lens_m=1.0, **more), couple_pin=Pin(lat, lon))


def venue():
    """A barn, a hedge, a roof on posts and a sighted ridge round the camera."""
    ridge = Survey("s", "s", Pin(LAT, LON), 1.6, tuple(Sighting(float(b), 2.0 + (b % 7) / 3) for b in range(0, 360, 9)))
    things = (
        thing(box(30, 42, -14, -4), 7.0), thing(box(-25, -18, 4, 16), 5.0, name="the mill"),
        thing([(14, 6), (22, 12)], 1.3, name="the wall", closed=False), thing(box(2, 9, 5, 12), 3.4, 2.6, kind="canopy", name="the roof"),
        thing(box(22, 27, 12, 19), 9.0, kind="trees", name="the limes", lets_through=0.2),
    )  # fmt: skip
    return replace(site_with(*things), surveys=(ridge,))


@pytest.mark.parametrize("moved", [CAMERA, COUPLE])
@pytest.mark.parametrize("name", AT_ONCE)
def test_thousands_at_once_fit_as_each_does_alone(name, moved):
    """The referee is the ordinary scene with the skyline of its own pins."""
    site = venue()
    for altitude_deg in (4.0, 15.0):
        utc_s = low_sun(site, altitude_deg)
        setup, wanted = lined_up(site, utc_s), wanted_look(LOOKS, name)
        stand = where_to_stand(wanted, partial(scene_of, site), setup, moved, utc_s, 25.0, 3.1)
        checked = 0
        for place in np.flatnonzero(stand.standable):
            scene = scene_of(site, stand.places.setup_at(place))
            alone = float(fit(wanted.margins(scene), scene.observer.sun_at(np.array([utc_s])))[0])
            near = site_edges_near(scene, utc_s)
            if not near:
                assert stand.fit[place] == pytest.approx(alone, abs=MARGIN), (name, moved, altitude_deg, place)
                checked += 1
        assert checked > 60


def site_edges_near(scene, utc_s):
    """Tell whether the sun or the heads stand within a hair of an upright edge, where a hundredth of a degree decides."""
    sun = scene.observer.sun_at(utc_s)
    for skyline in (scene.skyline, scene.couple_skyline):
        for azimuth in (float(sun.azimuth_deg), scene.setup.line_deg - 3.0, scene.setup.line_deg + 3.0, scene.setup.line_deg):
            spread_deg = 4.0 if azimuth != float(sun.azimuth_deg) else FLAT_DEG
            near = np.linspace(azimuth - spread_deg, azimuth + spread_deg, 81)
            if np.abs(np.diff(skyline.altitude_at(near))).max() > 0.4:
                return True
            if np.abs(np.diff(skyline.clearance_deg(near, float(sun.upper_edge_deg)))).max() > 0.4:
                return True
    return False


def test_for_a_hidden_sun_the_good_places_lie_in_the_couples_own_shadow():
    """On level ground a lens 1.0 m up is in the shadow of a crown 1.80 m up to 0.8 m / tan h away, straight from the sun."""
    site = site_with()
    utc_s = low_sun(site)
    setup = lined_up(site, utc_s, people=(Person("", 1.8),))
    stand = where_to_stand(wanted_look(LOOKS, "hidden sun"), partial(scene_of, site), setup, CAMERA, utc_s, 15.0, 0.25)
    sun = Observer(LAT, LON).sun_at(utc_s)
    good = stand.fit > 0
    east, north = stand.places.east_m - stand.places.stays_m[0], stand.places.north_m - stand.places.stays_m[1]
    away, bearing = np.hypot(east, north)[good], np.degrees(np.arctan2(east, north))[good]
    shadow_m = (1.8 - 1.0) / np.tan(np.radians(float(sun.refracted_deg)))
    aside_m = away * np.sin(np.radians(apart_deg(bearing, float(sun.azimuth_deg) + 180.0)))
    assert good.sum() > 10
    assert np.all(away < shadow_m) and np.all(aside_m < 0.26)  # shoulders are 0.26 of the height across
    assert np.all(apart_deg(bearing, float(sun.azimuth_deg) + 180.0) < 90)
    straight = np.abs(aside_of(stand, sun)) < 0.05
    reach = stand.fit[straight & (np.hypot(east, north) < 0.55 * shadow_m) & (np.hypot(east, north) > 1.5)]
    assert np.all(reach[~np.isnan(reach)] > 0) and len(reach) > 2


def aside_of(stand, sun):
    """How far each place lies off the middle of the shadow, infinite on the sun's side. [m]"""
    east, north = stand.places.east_m - stand.places.stays_m[0], stand.places.north_m - stand.places.stays_m[1]
    toward = np.radians(float(sun.azimuth_deg))
    along = east * np.sin(toward) + north * np.cos(toward)
    return np.where(along < 0, east * np.cos(toward) - north * np.sin(toward), np.inf)


def test_the_other_way_round_the_couple_goes_into_the_light():
    """Given the camera, the couple hides the sun where its ray passes their heads or bodies: in a line to the sun."""
    site = site_with()
    utc_s = low_sun(site)
    setup = lined_up(site, utc_s, people=(Person("", 1.8),))
    stand = where_to_stand(wanted_look(LOOKS, "hidden sun"), partial(scene_of, site), setup, COUPLE, utc_s, 15.0, 0.25)
    sun = Observer(LAT, LON).sun_at(utc_s)
    east, north = stand.places.east_m - stand.places.stays_m[0], stand.places.north_m - stand.places.stays_m[1]
    bearing = np.degrees(np.arctan2(east, north))[stand.fit > 0]
    assert len(bearing) > 10 and np.all(apart_deg(bearing, float(sun.azimuth_deg)) < 15)


def test_nobody_stands_in_water_in_a_building_or_behind_one():
    deck = [(0.0, -1.0), (0.0, 1.0), (18.0, 1.0), (18.0, -1.0)]
    site = site_with(pool(box(-8, 8, -12, 12)), thing(box(12, 16, -9, -5), 6.0), drawn=[("the jetty", deck)])
    utc_s = low_sun(site)
    setup = setup_by(20.0)
    stand = where_to_stand(wanted_look(LOOKS, "backlit"), partial(scene_of, site), setup, CAMERA, utc_s, 24.0, 0.5)
    turn = np.radians(LINE_DEG)
    east, north = stand.places.east_m, stand.places.north_m
    ahead, right = east * np.sin(turn) + north * np.cos(turn), east * np.cos(turn) - north * np.sin(turn)
    in_water = (np.abs(ahead) < 7.9) & (np.abs(right) < 11.9)
    on_deck = (ahead > 0.1) & (ahead < 7.8) & (np.abs(right) < 0.9)
    assert not stand.standable[in_water & ~((ahead > -0.1) & (np.abs(right) < 1.1))].any() and stand.standable[on_deck].all()
    assert not stand.standable[(ahead > 12.1) & (ahead < 15.9) & (right > -8.9) & (right < -5.1)].any()
    # Straight behind the house as seen from the couple at 20 m ahead: at 6 m ahead, 20 m to the left.
    behind = (np.abs(ahead - 8.5) < 0.5) & (np.abs(right + 20.0 * (20 - 8.5) / (20 - 14) * 7 / 20) < 0.6)
    assert behind.any() and not stand.standable[behind].any()


def test_candidates_are_exact_apart_and_told_from_where_one_stands():
    site = venue()
    utc_s = low_sun(site, 15.0)
    setup = lined_up(site, utc_s)
    stand = where_to_stand(wanted_look(LOOKS, "backlit"), partial(scene_of, site), setup, CAMERA, utc_s, 20.0, 1.0)
    assert 2 <= len(stand.candidates) <= 5
    fits = [one.fit for one in stand.candidates]
    assert fits == sorted(fits, reverse=True) and fits[-1] > 0
    for one in stand.candidates:
        scene = scene_of(site, one.setup)
        values = {margin.name: float(margin.value(scene.observer.sun_at(utc_s))) for margin in wanted_look(LOOKS, "backlit").margins(scene)}
        assert one.fit == pytest.approx(min(1.0, *values.values()), abs=1e-3) and one.limited_by in values
        line = np.radians(setup.line_deg)
        east = one.ahead_m * np.sin(line) + one.aside_m * np.cos(line)
        metres = site.local_frame.to_metres(one.pin.lat_deg, one.pin.lon_deg)[0] - site.local_frame.to_metres(setup.camera_pin.lat_deg, setup.camera_pin.lon_deg)[0]
        assert east == pytest.approx(float(metres), abs=0.01)


def test_water_looks_are_tried_place_by_place_and_tell_how_far_they_are():
    site = site_with(pool(box(5, 60, -30, 30), sheltered=True))
    told = []
    stand = where_to_stand(
        wanted_look(LOOKS, "double"), partial(scene_of, site), setup_by(4.0), CAMERA, low_sun(site), 6.0, 2.0, report=lambda done, of: told.append((done, of))
    )
    assert told[0][0] == 0 and [done for done, _ in told] == list(range(told[-1][1]))
    place = int(np.flatnonzero(stand.standable)[0])
    scene = scene_of(site, stand.places.setup_at(place))
    sun = scene.observer.sun_at(np.array([stand.utc_s]))
    assert stand.fit[place] == pytest.approx(float(fit(wanted_look(LOOKS, "double").margins(scene), sun)[0]))


def test_ground_that_rises_lifts_the_eye():
    """A camera on ground 2 m up looks down: its eye over the couple's ground is as much higher."""
    site, setup = site_with(), setup_by(8.0)
    places = grid(site, setup, CAMERA, 10.0, 2.0, ground_at=lambda lat, lon: np.where(lat > LAT, 2.0, np.nan))
    scene = places.scene(scene_of(site, setup), places.skylines())
    north = places.north_m > 0.01
    assert np.allclose(scene.setup.eye_m[north], setup.lens_height_m + 2.0)
    assert np.allclose(scene.setup.eye_m[~north], setup.lens_height_m)


@pytest.mark.parametrize("reach_m,step_m", [(500.0, 0.5), (1.0, 2.0), (10.0, 0.0)])
def test_too_many_places_or_none_are_refused(reach_m, step_m):
    with pytest.raises(BadInput, match="A search has 1 to 40,000 places"):
        grid(site_with(), setup_by(8.0), CAMERA, reach_m, step_m)


def test_a_skyline_of_many_is_that_of_each():
    site = venue()
    places = grid(site, setup_by(20.0), CAMERA, 24.0, 3.7)
    many = places.skylines()
    for azimuth, top in ((251.0, 6.0), (10.0, 3.0), (133.3, 20.0)):
        found = many.clearance_deg(azimuth, top)
        for place in range(0, len(found), 5):
            own = skyline_for(site, places.pin(place), places.eye_height_m)
            beside = own.clearance_deg(azimuth + np.linspace(-0.06, 0.06, 13), top)
            if np.ptp(beside) < 0.5 and not many.built_on()[place]:
                assert found[place] == pytest.approx(float(own.clearance_deg(azimuth, top)), abs=0.06)
