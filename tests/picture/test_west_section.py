"""Rays under and through the clouds of a section, with cases worked by hand."""

import numpy as np
import pytest

from app.picture.cloud_levels import Layer, cover_of, level_of, mean_heights_m, zone
from app.picture.forecast import Forecast, Hour
from app.picture.sunset_colour import RULE, colour_chance, lit_decks, lit_times_utc_s, sun_gaps
from app.picture.west_section import (
    DISTANCES_M,
    EARTH_M,
    WestSection,
    drop_m,
    first_from_below_deg,
    last_light_deg,
    last_light_reach_m,
    level_words,
    passes_to_cloud,
    passes_to_site,
    places_to_ask,
    ray_height_m,
    section_from,
    seen_cloud_deg,
    touch_m,
)
from app.place.geodesy import inverse
from app.sky.events import day_events
from app.sky.track import Observer
from tests.reference_data import worked_examples

LOW, MIDDLE, HIGH = 0, 1, 2
HEIGHTS = np.array([1000.0, 4500.0, 9000.0])
T = 1_821_290_400.0
KM = 1000.0
EDGE_DEG = 50 / 60
CASES = worked_examples()["cloud_last_lit"]


def section(low=0.0, middle=0.0, high=0.0):
    """Nine places; one number stands for all of them."""
    rows = [np.full(9, level, float) if np.isscalar(level) else np.array(level, float) for level in (low, middle, high)]
    return WestSection(268.0, T, np.array(DISTANCES_M), np.stack(rows), HEIGHTS)


def wall(first, cover=1.0):
    """Nothing up to one of the nine places, all covered from there on."""
    return [0.0] * first + [cover] * (9 - first)


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case['H_km']} km")
def test_reach_and_depression_of_the_last_light(case):
    """sqrt(2RH) and acos(R/(R+H)), R = 6371 km, worked out apart in reference/worked-examples.json."""
    height_m = case["H_km"] * KM
    assert last_light_reach_m(height_m) == pytest.approx(case["d_km"] * KM, abs=500.0)
    assert last_light_deg(height_m) == pytest.approx(-case["depression_deg"] - EDGE_DEG, abs=0.001)


@pytest.mark.parametrize("shape", [(), (3,), (2, 3), (0,)])
def test_keeps_the_shape_of_its_input(shape):
    heights = np.full(shape, 6000.0)
    for result in (last_light_reach_m(heights), last_light_deg(heights), touch_m(-heights / 6000), drop_m(heights)):
        assert np.shape(result) == shape
    assert np.shape(passes_to_site(section(), np.full(shape, 2.0)).share) == shape
    assert np.shape(passes_to_cloud(section(), HIGH, 0.0, np.full(shape, -2.0)).share) == shape


def test_under_the_ground_there_is_no_cloud():
    assert np.isnan(last_light_reach_m(-1.0)) and np.isnan(last_light_deg(-1.0))


def test_a_cloud_nearer_to_the_sun_keeps_its_light_longer():
    """111.2 km are one degree of the Earth's 40,030 km round."""
    degree_m = np.pi * EARTH_M / 180
    assert last_light_deg(9000.0, degree_m) == pytest.approx(last_light_deg(9000.0) - 1.0)
    assert first_from_below_deg(degree_m) == pytest.approx(-1.0 - EDGE_DEG)


def test_the_last_ray_touches_the_ground_where_the_root_says_and_meets_the_cloud():
    touch = touch_m(last_light_deg(6000.0))
    assert touch == pytest.approx(last_light_reach_m(6000.0), rel=1e-3)
    assert ray_height_m(0.0, last_light_reach_m(6000.0)) == pytest.approx(6000.0)
    assert ray_height_m(last_light_reach_m(6000.0), last_light_reach_m(6000.0)) == 0.0


def test_places_lie_on_the_bearing_at_their_distances():
    places = places_to_ask(54.57, -3.13, 268.0)
    assert places[0] == pytest.approx((54.57, -3.13))
    ways = [inverse(54.57, -3.13, *place) for place in places[1:]]
    assert [way.distance_m for way in ways] == pytest.approx(list(DISTANCES_M[1:]))
    assert {round(way.bearing_deg, 6) for way in ways} == {268.0}


def forecast_with(*levels, utc_s=T):
    rows = tuple(Hour(utc_s + step * 3600.0, None, *levels) for step in range(2))
    return Forecast("Made-up Office", "© Made-up Office", 54.57, -3.13, None, T, rows)


def test_forecasts_become_a_section_with_gaps_where_nothing_is_given():
    forecasts = [forecast_with(0.1, 0.2, 0.3), None, forecast_with(0.5, None, 0.7), *[forecast_with(1.0, 1.0, 1.0)] * 6]
    built = section_from(forecasts, T + 1800.0, 268.0)
    assert built.cover[:, 0] == pytest.approx([0.1, 0.2, 0.3])
    assert np.isnan(built.cover).sum() == 4
    assert built.height_m.tolist() == [1000.0, 4500.0, 9000.0]
    assert built.cover_at(LOW, 25 * KM) == pytest.approx(0.3)  # straight between 0.1 and 0.5, over the silent one
    assert level_words(built, MIDDLE) == "middle cloud at about 4.5 km"


def test_without_any_cloud_told_there_is_no_section():
    assert section_from([None] * 9, T, 268.0) is None
    assert section_from([forecast_with(0.1, 0.1, 0.1)] * 9, T + 9 * 3600.0, 268.0) is None
    with pytest.raises(ValueError, match="has 9 places; forecasts for 2 came"):
        section_from([None] * 2, T, 268.0)


def test_beyond_the_last_place_cloud_goes_on_and_is_not_known():
    west = section(low=wall(8, 0.5))
    assert west.cover_at(LOW, np.array([300 * KM, 900 * KM])).tolist() == [0.5, 0.5]
    assert west.knows(LOW, np.array([0.0, 300 * KM, 301 * KM])).tolist() == [True, True, False]
    silent = section(high=np.nan)
    assert np.isnan(silent.cover_at(HIGH, 5.0)) and not silent.knows(HIGH, 5.0)


def test_a_section_has_three_levels_at_growing_distances():
    with pytest.raises(ValueError, match="3 levels at distances that grow"):
        WestSection(268.0, T, np.array([0.0, 5.0]), np.zeros((3, 3)), HEIGHTS)
    with pytest.raises(ValueError, match="3 levels"):
        WestSection(268.0, T, np.array([0.0, 0.0]), np.zeros((3, 2)), HEIGHTS)


def test_the_sun_shines_in_under_the_edge_of_low_cloud():
    """By hand: low cloud covers half at 62.5 km, where 1 km is seen at 1/62.5 - 62.5/(2·6371) rad, 0.636°."""
    (gap,) = sun_gaps(section(low=wall(3)))
    assert (gap.from_deg, gap.to_deg) == pytest.approx((0.7, 6.0))
    west = section(low=wall(3))
    assert passes_to_site(west, 0.6357).share == pytest.approx(0.5, abs=0.001)
    assert seen_cloud_deg(1000.0, 62.5 * KM) == pytest.approx(0.636, abs=0.001)


def test_a_low_gap_under_a_sheet_overhead():
    """By hand: middle cloud covers half at 62.5 km, where 4.5 km is seen at 4.5/62.5 - 62.5/(2·6371) rad, 3.84°."""
    (gap,) = sun_gaps(section(middle=[1.0] * 3 + [0.0] * 6))
    assert (gap.from_deg, gap.to_deg) == pytest.approx((0.0, 3.8))


def test_covers_that_lie_on_one_line_are_multiplied():
    assert passes_to_site(section(0.5, 0.5, 0.5), 5.0).share == pytest.approx(0.125)
    assert sun_gaps(section(low=1.0)) == ()


def test_a_sun_under_level_or_over_the_head_has_no_line():
    assert np.isnan(passes_to_site(section(), np.array([-0.1, 90.0])).share).all()


def test_what_is_not_known_is_told_of_a_line():
    """By hand: at 0.1° the line meets 9 km at 328 km, beyond what was asked; at 1° at 247 km."""
    assert passes_to_site(section(), np.array([0.1, 1.0])).known.tolist() == [False, True]


def test_light_reaches_a_cloud_only_between_its_first_and_its_last():
    altitudes = np.array([0.0, -0.8, -0.9, -2.0, -3.8, -3.9])
    lit = ~np.isnan(passes_to_cloud(section(), HIGH, 0.0, altitudes).share)
    assert lit.tolist() == [False, False, True, True, True, False]


def test_the_same_sheet_stops_light_that_comes_under_it_from_farther_out():
    """By hand: a ray that runs lowest at t meets the sheet again at 2t; three quarters are covered at 93.75 km.

    So the light ends with t = 46.9 km, which is 0.42° and 50′ under level.
    """
    overhead = lit_decks(section(high=[0.5, 0.0, 0.0, 0.0, 1.0, 1.0, 1.0, 1.0, 1.0]))[0]
    step_deg = (last_light_deg(9000.0) - first_from_below_deg(0.0)) / 60
    assert overhead.ends_deg == pytest.approx(-np.degrees(46.875 * KM / EARTH_M) - EDGE_DEG, abs=abs(step_deg))


def test_low_cloud_far_out_stops_only_the_last_light():
    """By hand: a ray to 9 km dips under 1 km once it runs lowest beyond √(2R·8 km) = 319.3 km, 2.87° and 50′."""
    (first, *_) = lit_decks(section(low=wall(1), high=[0.5] + [0.0] * 8))
    assert first.ends_deg == pytest.approx(-2.871 - EDGE_DEG, abs=0.06)
    assert first.stopped[LOW] > 0.3 and first.stopped[MIDDLE] == 0.0


def test_a_higher_sheet_stops_light_for_a_lower_one():
    assert not lit_decks(section(middle=[0.5] + [0.0] * 8, high=[0.0] * 2 + [1.0] * 7))[-1].lit


def test_overcast_to_the_end_is_never_lit():
    assert {deck.lit for deck in lit_decks(section(low=1.0))} == {False}


def test_clouds_lost_in_the_haze_of_the_horizon_are_not_named():
    decks = lit_decks(section(0.5, 0.5, 0.5))
    assert [deck.towards_sun_m / KM for deck in decks] == [0, 25, 50, 75, 100, 0, 25, 50, 75, 0]
    assert [deck.level for deck in decks] == [HIGH] * 5 + [MIDDLE] * 4 + [LOW]


@pytest.mark.parametrize("seed", range(20))
def test_more_cloud_never_lets_more_light_through(seed):
    chance = np.random.default_rng(seed)
    cover = chance.uniform(0, 1, (3, 9))
    more = np.minimum(1.0, cover + chance.uniform(0, 0.5, (3, 9)) * (chance.uniform(size=(3, 9)) < 0.3))
    thin, thick = (WestSection(268.0, T, np.array(DISTANCES_M), part, HEIGHTS) for part in (cover, more))
    altitudes = np.linspace(0, 6, 30)
    assert (passes_to_site(thick, altitudes).share <= passes_to_site(thin, altitudes).share + 1e-12).all()
    for level, height in enumerate(HEIGHTS):
        low = np.linspace(first_from_below_deg(0.0), last_light_deg(height) + 0.01, 30)
        before, after = (passes_to_cloud(one, level, 0.0, low).share for one in (thin, thick))
        assert ((before >= 0) & (before <= 1) & (after <= before + 1e-12)).all()


def test_a_clear_sky_has_no_colour_and_says_why():
    clear = colour_chance(section(0.1, 0.1, 0.1))
    assert (clear.chance, clear.word) == (0.0, "hardly any")
    assert clear.reasons == ("There is no cloud to be coloured, 1/8 at most.",) and clear.rule == RULE
    assert "without a source" in RULE


def test_broken_high_cloud_over_a_clear_west_is_good():
    good = colour_chance(section(high=[0.5, 0.5, 0.4] + [0.0] * 6))
    assert good.word == "good" and good.chance == pytest.approx(1.0, abs=0.02)
    assert good.reasons[0].startswith("Best placed: high cloud at about 9 km, 3 of 8, 50 km towards the sun; 100\N{NO-BREAK SPACE}% of the")
    assert "comes from beyond 300 km" in good.reasons[-1]


def test_what_spoils_it_is_told():
    closed = colour_chance(section(middle=wall(4), high=[0.5] + [0.0] * 8))
    assert closed.chance < 0.4 and "middle cloud at about 4.5 km stops" in " ".join(closed.reasons)
    hidden = colour_chance(section(low=1.0, high=[0.5] + [0.0] * 8))
    assert hidden.chance < 0.1 and "Lower cloud overhead hides 100\N{NO-BREAK SPACE}% of it." in hidden.reasons
    sheet = colour_chance(section(high=[1.0] + [0.0] * 8))
    assert 0.3 < sheet.chance < 0.5 and "It covers 8 of 8: a sheet, which colours duller than broken cloud." in sheet.reasons


@pytest.mark.parametrize(("values", "words"), [
    ({"visibility_m": 3000.0}, "Haze: one sees 3.0 km only"),
    ({"fog": 0.6}, "Fog over 60\N{NO-BREAK SPACE}% of the area"),
    ({"rain_mm_h": 1.0}, "Rain of 1.0 mm an hour"),
])  # fmt: skip
def test_the_air_on_site_halves_it(values, words):
    west = section(high=[0.5] + [0.0] * 8)
    spoilt = colour_chance(west, Hour(T, **values))
    assert spoilt.chance == pytest.approx(colour_chance(west).chance / 2)
    assert spoilt.reasons[-1].startswith(words)
    assert colour_chance(west, Hour(T)).chance == colour_chance(west).chance


def test_without_levels_nobody_knows():
    unknown = colour_chance(section(low=0.3, middle=np.nan, high=np.nan))
    assert (unknown.chance, unknown.word) == (None, "not known")
    partly = colour_chance(section(low=np.nan, middle=0.5, high=0.0))
    assert "Nothing is told of low cloud, which is counted as none." in partly.reasons


def test_times_of_the_light_are_those_of_its_altitudes():
    observer = Observer(54.57, -3.13, 75.0)
    (sunset,) = [event for event in day_events(observer, T - 6 * 3600, T + 6 * 3600) if event.name == "sunset"]
    overhead = lit_decks(section(high=[0.5] + [0.0] * 8))[0]
    begins, ends = lit_times_utc_s(observer, overhead, sunset.utc_s)
    assert sunset.utc_s - 60 < begins < ends < sunset.utc_s + 3600
    assert observer.sun_at(np.array([begins, ends])).airless_deg == pytest.approx([overhead.begins_deg, overhead.ends_deg], abs=1e-3)


def test_at_sunrise_the_light_runs_backwards():
    observer = Observer(54.57, -3.13, 75.0)
    (sunrise,) = [event for event in day_events(observer, T - 18 * 3600, T - 6 * 3600) if event.name == "sunrise"]
    begins, ends = lit_times_utc_s(observer, lit_decks(section(high=[0.5] + [0.0] * 8))[0], sunrise.utc_s)
    assert begins < ends < sunrise.utc_s + 60


def test_a_sun_that_sinks_no_lower_has_no_times_and_a_dark_deck_neither():
    north = Observer(66.0, 25.0)
    midsummer = 1_813_536_000.0 - 7200.0  # 2027-06-20, 22:00 UTC, near its lowest: the sun stays above -2°
    assert lit_times_utc_s(north, lit_decks(section(high=[0.5] + [0.0] * 8))[0], midsummer) is None
    assert lit_times_utc_s(Observer(54.57, -3.13), lit_decks(section(low=1.0))[0], T) is None


@pytest.mark.parametrize(
    ("lat_deg", "name", "middles"),
    [(0, "tropical", [1000, 5000, 12000]), (-45, "temperate", [1000, 4500, 9000]), (78, "polar", [1000, 3000, 5500])],
)
def test_levels_lie_where_the_atlas_says(lat_deg, name, middles):
    """WMO, International Cloud Atlas (2017): ranges by zone; these are their middles."""
    assert zone(lat_deg) == name
    assert mean_heights_m(lat_deg).tolist() == middles


def test_layers_are_sorted_and_not_added_up():
    assert [level_of(base, 50.0) for base in (1999, 2000, 4999, 5000)] == [LOW, MIDDLE, MIDDLE, HIGH]
    assert [level_of(4000, lat) for lat in (70.0, 50.0, 0.0)] == [HIGH, MIDDLE, MIDDLE]
    layers = (Layer("SCT", 600.0), Layer("FEW", 900.0), Layer("BKN", 3000.0))
    assert cover_of(layers, 50.0) == {"cloud": 0.75, "low": 3.5 / 8, "middle": 0.75, "high": None}
    assert cover_of((), 50.0) == {}
