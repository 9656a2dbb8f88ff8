"""Mirror, double, glitter, open shade and silhouette: windows worked by hand, words, and margins that keep their bounds."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.looks.catalogue import LOOKS
from app.looks.combined import all_of, any_of, unmoving
from app.looks.conditions import not_above, not_below
from app.looks.look import wanted_look
from app.looks.margin import Scene, fit
from app.looks.way import Way
from app.looks.window import find_windows
from app.picture.glitter import facets, slopes_for, sparkle
from app.picture.people import Person
from app.picture.sensor import direction_of
from app.picture.weather import Weather
from app.place.skyline import Skyline, level_skyline, skyline_for
from app.sky.track import Observer
from tests.picture.pools import LAT, LON, box, pool, setup_by, site_with, thing
from tests.reference_data import utc_s

NOON = utc_s("2027-09-18T12:00:00Z")  # the sun stands over the line, 268°, at some 4° in the evening
EVENING = NOON, NOON + 12 * 3600
CALM = Weather(0.0)
LAKE = pool(box(5, 100, -60, 60))
SECONDS_OF_TIME = 0.004  # degrees, two seconds of a setting sun; edges are found to one
SUN_ALONE = {"sky_percent": 180.0}  # so that the bright sky alone is never enough


def ridge(high_deg, called="the ridge"):
    return Skyline([0.0], [high_deg], (called,))


def scene(*things, weather=CALM, skyline=None, couple_skyline=None, drawn=(), **setup):
    """A camera by water looking along 268°, on level land unless told otherwise."""
    held = setup_by(**({"people": ()} | setup))
    site = site_with(*things, drawn=drawn)
    seen = skyline or level_skyline()
    return Scene(Observer(LAT, LON), held, seen, couple_skyline or seen, site=site, weather=weather)


def windows(name, where, span=EVENING, **bounds):
    margins = wanted_look(LOOKS, {"look": name, **bounds}).margins(where)
    return find_windows(margins, where.observer, *span)


def failing(name, where, **bounds):
    """What a look says that does not hold whatever the sun does."""
    sun = where.observer.sun_at(np.array([NOON]))
    margins = wanted_look(LOOKS, {"look": name, **bounds}).margins(where)
    return [one.because(sun, False) for one in margins if one.steepest_per_deg == 0 and one.value(sun)[0] <= 0]


def altitudes(window):
    sun = window.observer.sun_at(np.array([window.opens_utc_s, window.closes_utc_s]))
    return sun.refracted_deg.tolist()


def asides(window):
    """How far right of the line the sun stands at both ends. [°]"""
    return window.observer.sun_at(np.array([window.opens_utc_s, window.closes_utc_s])).azimuth_deg - 268.0


def test_mirror_from_the_near_edge_to_the_far_one():
    """Eye 1 m, water from 5 to 100 m ahead: b° aside its edges lie atan(cos b / 5) and atan(cos b / 100) down."""
    (found,) = windows("mirror", scene(LAKE), **SUN_ALONE)
    near, far = np.cos(np.radians(asides(found)))
    expected = [np.degrees(np.arctan(near / 5)), np.degrees(np.arctan(far / 100))]
    assert altitudes(found) == pytest.approx(expected, abs=SECONDS_OF_TIME)
    assert (found.opens_because, found.closes_because) == ("its image comes onto the pond", "its image runs off the pond")
    assert found.best_fit == 1.0


def test_mirror_ends_with_the_sun_behind_the_ridge():
    (found,) = windows("mirror", scene(LAKE, skyline=ridge(4.0)), **SUN_ALONE)
    assert found.closes_because == "behind the ridge"
    assert found.observer.sun_at(found.closes_utc_s).upper_edge_deg == pytest.approx(4.0, abs=0.005)


def test_mirror_begins_when_its_image_clears_the_jetty():
    """The deck hides the water up to 20 m, 7.125°, as worked in tests/picture/test_water.py, here along the sun's own line over its head."""
    jetty = [("jetty", box(-2, 12, -9, 9))]
    where = scene(pool(box(-5, 100, -60, 60)), drawn=jetty, lens_m=1.5, ground_m=1.0, couple_ground_m=1.0, distance_m=10.0)
    (found,) = windows("mirror", where, **SUN_ALONE)
    right = np.radians(asides(found)[0])
    head_deg = np.degrees(np.arctan(2.5 / (20.0 / np.cos(right))))
    assert found.opens_because == "its image clears the jetty"
    assert altitudes(found)[0] == pytest.approx(head_deg, abs=SECONDS_OF_TIME)


def test_mirror_ends_under_the_image_of_a_house_across_the_water():
    """10 m high, 120 m off, as wide as the view: its image reaches atan 11/120 at the least."""
    where = scene(LAKE, thing(box(120, 130, -90, 90), 10.0, name="the mill"))
    (found,) = windows("mirror", where, **SUN_ALONE)
    right = np.radians(asides(found)[1])
    edge_deg = np.degrees(np.arctan(11 * np.cos(right) / 120))
    assert found.closes_because == "its image goes behind the mill in the water"
    assert altitudes(found)[1] == pytest.approx(edge_deg, abs=SECONDS_OF_TIME)


def test_mirror_of_the_bright_sky_from_six_degrees_above_to_six_below():
    """The sun itself is wanted under 0.5° only, and its image lies beyond this water then."""
    (found,) = windows("mirror", scene(pool(box(5, 14, -60, 60))), highest_deg=0.5)
    assert (found.opens_because, found.closes_because) == ("sun down to 6°", "too dark in the water")
    assert altitudes(found) == pytest.approx([6.0, -6.0], abs=0.01)


def test_mirror_needs_sky_in_it():
    assert windows("mirror", scene(pool(box(5, 14, -60, 60)), skyline=ridge(20.0))) == ()


@pytest.mark.parametrize(("weather", "said"), [
    (Weather(0.3), "wind over 0.25 m/s"), (Weather(6.0), "wind over 0.25 m/s"),
    (Weather(people_in_water=True), "people in the water"),
])  # fmt: skip
def test_a_broken_mirror_says_what_breaks_it(weather, said):
    for name in ("mirror", "double"):
        assert windows(name, scene(LAKE, weather=weather, people=(Person("", 1.8),))) == ()
        assert said in failing(name, scene(LAKE, weather=weather))


def test_sheltered_water_stands_half_a_metre_per_second_half_as_well():
    (found,) = windows("mirror", scene(pool(box(5, 100, -60, 60), sheltered=True), weather=Weather(0.5)), **SUN_ALONE)
    assert found.best_fit == pytest.approx(0.5)


def test_unknown_wind_counts_as_calm_and_the_words_say_so():
    (known,), (unknown,) = (windows("mirror", scene(LAKE, weather=one), **SUN_ALONE) for one in (CALM, Weather()))
    assert unknown.opens_utc_s == pytest.approx(known.opens_utc_s)
    assert unknown.opens_because == f"{known.opens_because}, if the water is still"
    assert unknown.closes_because == f"{known.closes_because}, if the water is still"


@pytest.mark.parametrize("name", ["mirror", "double", "glitter"])
def test_without_water_there_is_no_window_and_a_reason(name):
    assert windows(name, scene()) == ()
    assert failing(name, scene()) == ["no water in the picture"]
    assert windows(name, replace(scene(), site=None)) == ()


def whole_scene(**more):
    return scene(pool(box(1, 19.9, -20, 20)), people=(Person("", 1.8),), aim=(268.0, -4.0), **more)


def test_double_from_dawn_to_dusk():
    (found,) = windows("double", whole_scene(), span=(NOON - 12 * 3600, NOON + 12 * 3600))
    assert altitudes(found) == pytest.approx([-6.0, -6.0], abs=0.01)
    assert (found.opens_because, found.closes_because) == ("dawn bright enough", "too dark")


def test_double_says_how_much_is_missing():
    """Level at 100 mm the frame ends 6.8° down, and the image of a 1.8 m person 20 m off, eye 1 m, reaches down to 8°."""
    where = scene(pool(box(1, 19.9, -20, 20)), people=(Person("", 1.8),), focal_mm=100.0)
    assert windows("double", where) == ()
    (said,) = failing("double", where)
    assert said.endswith("% of them shows in the water") and 60 < float(said.split()[0]) < 95
    assert len(windows("double", where, least_percent=50)) == 1


def sea_scene(**more):
    return scene(pool(box(30, 3000, -2000, 2000)), lens_m=1.5, **more)


def test_glitter_with_a_breeze_and_a_low_sun():
    """It ends when a tenth of the water sparkles: counted here on a net of its own, to 2 % of the water."""
    where = sea_scene(weather=Weather(4.0))
    (found,) = windows("glitter", where, tolerance_deg=20)
    assert (found.opens_because, found.closes_because) == ("sun comes behind them", "the water behind them sparkles on less than 10\N{NO-BREAK SPACE}%")
    sun = found.observer.sun_at(found.closes_utc_s)
    x, y = np.meshgrid(np.linspace(-18, 18, 181), np.linspace(-3.7, -0.01, 101))  # 1.5 m over 20 m is 3.75 mm under level
    azimuth, altitude = direction_of(where.setup.view, x, y)
    bright = sparkle(facets(azimuth, -altitude, sun.azimuth_deg, sun.refracted_deg), slopes_for(where.weather, LAKE))
    assert np.mean(np.clip(0.5 + np.log10(np.maximum(bright, 1e-9)) / 1.5, 0, 1)) == pytest.approx(0.1, abs=0.02)


@pytest.mark.parametrize(("wind", "said"), [(0.0, "no wind to ruffle the water"), (9.0, "wind over 8 m/s")])
def test_glitter_needs_a_breeze_but_no_gale(wind, said):
    assert windows("glitter", sea_scene(weather=Weather(wind))) == ()
    assert failing("glitter", sea_scene(weather=Weather(wind))) == [said]


def test_glitter_counts_on_a_breeze_where_no_wind_is_known():
    (told,), (known,) = (windows("glitter", sea_scene(weather=one)) for one in (Weather(), Weather(3.0)))
    assert told.closes_utc_s == pytest.approx(known.closes_utc_s)
    assert told.closes_because == f"{known.closes_because}, in a breeze of 3 m/s"


def test_glitter_stops_with_the_sun_behind_the_ridge():
    (found,) = windows("glitter", sea_scene(weather=Weather(4.0), skyline=ridge(5.0)))
    assert found.closes_because == "behind the ridge"


def test_open_shade_behind_a_wall_beside_the_couple():
    """A wall 5 m high 10 m beyond them, faces 1.6 m up: at b° off the line it hides what is under atan(0.34 cos b)."""
    wall = thing([(30, -80), (30, 80)], 5.0, kind="wall", name="the wall", closed=False)
    where = scene(wall)
    where = replace(where, couple_skyline=skyline_for(where.site, where.setup.couple_pin, 1.6))
    (found,) = windows("open shade", where)
    sun = found.observer.sun_at(found.opens_utc_s)
    assert found.opens_because == "sun goes behind the wall"
    assert sun.upper_edge_deg == pytest.approx(np.degrees(np.arctan(0.34 * np.cos(np.radians(sun.azimuth_deg - 268)))), abs=0.01)
    assert found.closes_because == "too dark"
    assert altitudes(found)[1] == pytest.approx(-4.0, abs=0.01)


def test_the_end_of_a_house_opens_shade_in_its_own_words():
    """The sun passes an upright edge within a second: the house is to blame, not the smaller margin of what they face."""
    house = thing(box(24, 30, -14, -5), 12.0, name="the mill")
    where = scene(house, thing(box(-60, -50, -90, 90), 18.0, name="the wood"))
    where = replace(where, couple_skyline=skyline_for(where.site, where.setup.couple_pin, 1.6))
    first, *_ = windows("open shade", where)
    assert (first.opens_because, first.closes_because) == ("sun goes behind the mill", "sun reaches them past the mill")


def test_open_shade_faces_open_sky():
    """They look at the camera, east; a ridge of 40° there is no bright sky."""
    east = Skyline([0.0, 20.0, 150.0, 180.0], [0.0, 40.0, 40.0, 0.0], ("the fell",) * 4)
    assert windows("open shade", scene(couple_skyline=east)) == ()
    assert failing("open shade", scene(couple_skyline=east)) == ["what they face stands 40° high"]


@pytest.mark.parametrize(("ridge_deg", "best"), [(0.0, 1.0), (3.9, 0.505)])
def test_silhouette_from_ten_degrees_to_five_below(ridge_deg, best):
    """1.8 m tall 10 m off, eye 1 m: crown 4.574°, chin 3.240°; a ridge of 3.9° leaves (4.574 - 3.9) / 1.334 of the head."""
    where = scene(skyline=ridge(ridge_deg), people=(Person("", 1.8),), distance_m=10.0)
    (found,) = windows("silhouette", where)
    assert altitudes(found) == pytest.approx([10.0, -5.0], abs=0.01)
    assert found.best_fit == pytest.approx(best, abs=0.005)
    assert (found.opens_because, found.closes_because) == ("sun down to 10°", "too dark")


def test_no_silhouette_against_a_hill():
    where = scene(skyline=ridge(5.0), people=(Person("", 1.8),), distance_m=10.0)
    assert windows("silhouette", where) == ()
    assert failing("silhouette", where) == ["their heads stand against the ridge"]


def random_scene(chance):
    """Water, banks, things and a jagged skyline about a camera anywhere, in any wind."""
    azimuth = np.sort(chance.uniform(0, 360, 60))
    altitude = np.clip(chance.normal(2, 2, 60), -1, 20)
    skyline = Skyline(azimuth, altitude, ("the ridge",) * 60)
    things = [
        thing(box(a, a + chance.uniform(1, 20), r, r + chance.uniform(1, 20)), chance.uniform(1, 15), kind=str(chance.choice(["building", "trees"])))
        for a, r in chance.uniform([3, -40], [120, 40], (3, 2))
    ]
    lake = pool(box(chance.uniform(1, 15), chance.uniform(30, 200), -80, 80), sheltered=bool(chance.random() < 0.5), holes=[box(18, 25, -4, 6)])
    held = {"lens_m": chance.uniform(0.3, 3), "focal_mm": float(chance.choice([24, 50, 135])), "distance_m": chance.uniform(3, 25),
            "aim": (268.0, chance.uniform(-8, 4)), "people": (Person("", 1.7),)}  # fmt: skip
    weather = Weather(*chance.choice([None, 0.0, 0.2, 2.0, 5.0], 1), people_in_water=False)
    return scene(lake, *things, skyline=skyline, weather=weather, **held)


@settings(max_examples=25)
@given(st.integers(0, 100_000))
def test_margins_keep_what_they_declare(seed):
    """On the way between two instants, two hours to a second apart, no margin leaves the bounds its search relies on."""
    chance = np.random.default_rng(seed)
    where = random_scene(chance)
    start = NOON + chance.uniform(2, 8) * 3600 + chance.uniform(0, 20) * 86_400
    for step_s in (7200.0, 600.0, 75.0, 9.4, 1.2):
        knots = start + step_s * np.arange(25)
        way = Way(where.observer.sun_at(np.stack([knots[:-1], knots[1:]])))
        between = where.observer.sun_at(knots[:-1, np.newaxis] + step_s * np.linspace(0, 1, 12))
        for name in ("mirror", "double", "glitter", "open shade", "silhouette"):
            for margin in wanted_look(LOOKS, name).margins(where):
                low, high = margin.between(way)
                value = np.minimum(margin.value(between), 1.0)
                assert np.all(value >= np.minimum(low, 1.0)[:, np.newaxis] - 1e-6), (name, margin.name, step_s)
                assert np.all(value <= high[:, np.newaxis] + 1e-6), (name, margin.name, step_s)


@settings(max_examples=12)
@given(st.integers(0, 100_000))
def test_windows_are_those_that_samples_find(seed):
    """Against samples every 20 s, what holds or fails for three in a row is told alike."""
    chance = np.random.default_rng(seed)
    where = random_scene(chance)
    samples = where.observer.sun_over(NOON, NOON + 10 * 3600, 20.0)
    for name in ("mirror", "glitter", "open shade", "silhouette"):
        margins = wanted_look(LOOKS, name).margins(where)
        holds = fit(margins, samples) > 0
        told = np.zeros(len(samples), dtype=bool)
        for one in find_windows(margins, where.observer, NOON, NOON + 10 * 3600):
            told |= (samples.utc_s > one.opens_utc_s) & (samples.utc_s < one.closes_utc_s)
        lasting = np.append(holds[1:] == holds[:-1], True) & np.append(True, holds[1:] == holds[:-1])
        assert holds[lasting].tolist() == told[lasting].tolist(), name


def test_several_ways_and_all_conditions_combine():
    low, high = not_above(10.0, 1.0), not_below(2.0, 1.0, opens="up", closes="down")
    sun = Observer(LAT, LON).sun_at(NOON + np.arange(0, 12, 0.1) * 3600)
    both = all_of("both", low, high)
    np.testing.assert_allclose(both.value(sun), np.maximum(np.minimum(low.value(sun), high.value(sun)), -1.0))
    np.testing.assert_allclose(any_of("any", low, high).value(sun), np.maximum(low.value(sun), high.value(sun)))
    noon = Observer(LAT, LON).sun_at(NOON)
    assert both.because(noon, False) == "sun climbs past 10°"
    assert any_of("any", low, high).because(noon, True) == "up"
    assert unmoving("set", 0.4, "a", "b").value(sun).tolist() == [0.4] * len(sun)
