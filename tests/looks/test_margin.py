"""What a margin declares must hold: nothing else keeps the window search from stepping over a window."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.looks.catalogue import LOOKS
from app.looks.conditions import clear_of_skyline
from app.looks.margin import ALTITUDE, AZIMUTH, Margin, fit
from app.looks.way import AIR_STRETCH, Way
from app.looks.window import find_windows
from app.place.skyline import Skyline
from app.sky.crossings import transits_utc_s
from app.sky.refraction import refraction_deg
from app.sky.track import Observer, SunTrack
from tests.looks.scenes import apart_deg, random_scene, scene_at
from tests.reference_data import utc_s

LATITUDES = (0.0, 8.0, 23.4, 45.0, 62.0, 68.0, -33.0, 78.0, 89.5)
DAY_STEP = 3e-4  # the disc's width is held through a UTC day; at midnight it jumps by 0.00016 of itself at most

seeds = st.integers(0, 2**32 - 1)
latitudes = st.sampled_from(LATITUDES) | st.floats(-89.5, 89.5)
instants = st.floats(1.6e9, 2.2e9)


def ways_from(observer: Observer, start_utc_s: float, length_s: float, count: int = 30) -> tuple[Way, SunTrack]:
    """Return ways spread over two days, and the sun at 60 instants on each: shape (instants, ways)."""
    starts = start_utc_s + np.linspace(0, 2 * 86_400, count)
    return Way(observer.sun_at(np.stack([starts, starts + length_s]))), observer.sun_at(starts + length_s * np.linspace(0, 1, 60)[:, np.newaxis])


def margins_of(name: str, chance: np.random.Generator, lat_deg: float, start_utc_s: float) -> tuple[Observer, tuple[Margin, ...]]:
    scene, look = random_scene(chance, lat_deg, start_utc_s), LOOKS[name]
    wider = {"highest_deg": chance.uniform(5, 170)} if "highest_deg" in look.bounds and chance.random() < 0.5 else {}
    return scene.observer, look.margins(scene, **{**look.bounds, **wider})


@settings(max_examples=150)
@given(latitudes | st.sampled_from([-90.0, 90.0]), st.floats(-180, 180), instants, st.sampled_from([3600.0, 600.0, 75.0, 4.7]))
def test_the_sun_stays_where_its_way_says(lat, lon, start, length_s):
    way, sun = ways_from(Observer(lat, lon), start, length_s)
    low, high = way.azimuth_deg()
    assert np.all(apart_deg(sun.azimuth_deg, (low + high) / 2) <= np.maximum((high - low) / 2 + 1e-6, 0))
    for name in ("refracted_deg", "upper_edge_deg"):
        low, high = getattr(way, name)
        assert np.all((getattr(sun, name) >= low - 1e-3) & (getattr(sun, name) <= high + 1e-3))


@settings(max_examples=150)
@given(latitudes | st.sampled_from([-90.0, 90.0]), st.floats(-180, 180), instants, st.sampled_from([3600.0, 600.0, 75.0]))
def test_the_sun_goes_no_longer_way_than_told(lat, lon, start, length_s):
    way, sun = ways_from(Observer(lat, lon), start, length_s)
    turned, climbed = apart_deg(sun.azimuth_deg[1:], sun.azimuth_deg[:-1]).sum(axis=0), np.abs(np.diff(sun.airless_deg, axis=0)).sum(axis=0)
    assert np.all(turned <= way.turned_deg + 1e-6)
    assert np.all(climbed <= way.climbed_deg + 1e-6)


def test_a_sun_through_the_zenith_may_be_anywhere():
    """On the equator at an equinox it passes within 0.1° of the zenith, and its bearing swings round in minutes."""
    place = Observer(0, 0)
    (noon,) = transits_utc_s(place, utc_s("2026-03-20T00:00:00Z"), utc_s("2026-03-21T00:00:00Z"), every=1.0)
    way = Way(place.sun_at(np.array([[noon - 300], [noon + 300]])))
    low, high = way.azimuth_deg()
    assert way.ends.airless_deg.min() > 88
    assert high - low >= 360


def test_a_way_across_north_is_short():
    """In the Arctic at midnight: 15° an hour or a little less, from one side of 360° to the other."""
    place = Observer(75, 0)
    midnight = utc_s("2026-06-21T00:02:00Z")
    way = Way(place.sun_at(np.array([[midnight - 1800], [midnight + 1800]])))
    assert way.ends.azimuth_deg[0] > 350
    assert way.ends.azimuth_deg[1] < 10
    assert 13 < way.turned_deg[0] < 17
    low, high = way.azimuth_deg()
    assert high[0] - low[0] < 17


def test_a_notch_where_the_suns_bearing_turns_back_is_not_stepped_over():
    """At 8° N in June the sun first goes south as it climbs, to 67.9°, and then turns north; the notch lies beyond both ends."""
    place = Observer(8, 0)
    morning = place.sun_over(utc_s("2026-06-21T06:00:00Z"), utc_s("2026-06-21T11:00:00Z"), 5.0)
    turns = morning[morning.azimuth_deg.argmax()]
    way = Way(place.sun_at(turns.utc_s + np.array([[-1500.0], [1500.0]])))
    beyond = turns.azimuth_deg - way.ends.azimuth_deg.max()
    assert beyond > 0.1
    notch = Skyline(turns.azimuth_deg + np.array([-0.5, 0.0, 0.5]) * beyond, [80.0, 0.0, 80.0], ("wood", "gap", "wood"))
    clear = clear_of_skyline(notch)
    assert clear.value(way.ends).max() < 0 < clear.value(turns) <= clear.between(way)[1][0]
    (window,) = find_windows((clear,), place, turns.utc_s - 7200, turns.utc_s + 7200)
    assert window.opens_utc_s < turns.utc_s < window.closes_utc_s


@pytest.mark.parametrize("hpa,celsius", [(1010, 10), (1080, -40), (700, 30)])
def test_no_air_stretches_a_path_more_than_allowed_for(hpa, celsius):
    airless = np.linspace(-90, 90, 180_001)
    seen = airless + refraction_deg(airless, hpa, celsius)
    assert np.diff(seen).max() / np.diff(airless).min() < AIR_STRETCH
    assert np.all(np.diff(seen) > 0)


@pytest.mark.parametrize("name", LOOKS)
@settings(max_examples=150)
@given(seed=seeds, lat=latitudes, start=instants, length_s=st.sampled_from([3600.0, 600.0, 75.0, 4.7]))
def test_margins_keep_within_their_bounds_on_the_way(name, seed, lat, start, length_s):
    observer, margins = margins_of(name, np.random.default_rng(seed), lat, start)
    way, sun = ways_from(observer, start, length_s)
    for margin in margins:
        (low, high), value = margin.between(way), margin.value(sun)
        assert np.all(np.minimum(value, 1.0) >= np.minimum(low, 1.0) - DAY_STEP), margin.name
        assert np.all(value <= high + DAY_STEP), margin.name


@pytest.mark.parametrize("name", LOOKS)
@settings(max_examples=150)
@given(seed=seeds, lat=latitudes, start=instants)
def test_margins_are_no_steeper_than_they_tell(name, seed, lat, start):
    """Between any two places on the sky, near each other or not, whether the sun goes there or not."""
    chance = np.random.default_rng(seed)
    observer, margins = margins_of(name, chance, lat, start)
    azimuth, altitude = chance.uniform(0, 360, 200), np.degrees(np.arcsin(chance.uniform(-1, 1, 200)))
    away = np.exp(chance.uniform(-7, 3, 200))
    other = (azimuth + away * chance.uniform(-1, 1, 200)) % 360, np.clip(altitude + away * chance.uniform(-1, 1, 200), -90, 90)
    one, two = (SunTrack(observer, np.full(200, start), *place) for place in ((azimuth, altitude), other))
    turned, climbed = apart_deg(azimuth, other[0]), np.abs(altitude - other[1])
    for margin in margins:
        if np.isfinite(margin.steepest_per_deg):
            moved = {AZIMUTH: turned, ALTITUDE: climbed}.get(margin.along, turned + climbed)
            change = np.abs(np.minimum(margin.value(one), 1) - np.minimum(margin.value(two), 1))
            assert np.all(change <= margin.steepest_per_deg * moved + 1e-9), margin.name


def test_the_fit_is_the_smallest_margin_and_one_at_most():
    def steady(value: float) -> Margin:
        return Margin("steady", lambda sun: np.full_like(sun.utc_s, value), "", "", steepest_per_deg=0.0)

    sun = Observer(45, 10).sun_at(np.array([1.8e9, 1.9e9]))
    assert fit((steady(0.4), steady(-2.0), steady(7.0)), sun).tolist() == [-2.0, -2.0]
    assert fit((steady(3.0), steady(7.0)), sun).tolist() == [1.0, 1.0]


def test_a_margin_without_steepness_or_bounds_is_refused():
    with pytest.raises(ValueError, match="“bent” must tell how steep it is, or give bounds"):
        Margin("bent", lambda sun: sun.airless_deg, "", "")


def test_a_margin_along_something_else_is_refused():
    with pytest.raises(ValueError, match="along azimuth, altitude or both; “height” came"):
        Margin("bent", lambda sun: sun.airless_deg, "", "", steepest_per_deg=1.0, along="height")


def test_steepness_and_bounds_together_give_the_closer_of_the_two():
    scene = scene_at(45, 10, 270, focal_mm=800.0)  # so long that ten minutes may cross the frame
    in_frame = LOOKS["sun in frame"].margins(scene, highest_deg=45.0)[1]
    east = scene.observer.sun_at(np.array([[1.7745e9], [1.7745e9 + 600]]))
    assert apart_deg(east.azimuth_deg, 270).min() > 45
    assert in_frame.bounds(Way(east))[1] == 0
    assert in_frame._by_steepness(Way(east))[1] > 0
    assert in_frame.between(Way(east))[1] == 0
