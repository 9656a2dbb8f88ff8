"""Glitter: published reflectances and slopes, and what light does whatever the formulas."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.picture.glitter import (
    FRESH_INDEX,
    SEA_INDEX,
    Slopes,
    crosswind_variance,
    facets,
    fresnel_parts,
    fresnel_reflectance,
    glint_per_sr,
    slope_density,
    slopes_for,
    sparkle,
    sun_over_sky_sr,
    total_variance,
    unhidden_share,
    upwind_variance,
)
from app.picture.sparkle import cells_behind, sparkling_bounds, sparkling_share
from app.picture.water import mirrors_of
from app.picture.weather import Weather
from tests.picture.pools import LINE_DEG, box, pool, setup_by, site_with
from tests.reference_data import rows

LAST_DIGIT = 5.1e-7  # of six decimals
SEA = pool(box(5, 2000, -900, 900))


@pytest.mark.parametrize("row", rows("fresnel-water"), ids=lambda row: row["incidence_from_vertical_deg"])
def test_fresnel_against_the_table(row):
    """Fresnel's equations by another algebraic form, tests/reference/fresnel-water.csv."""
    for index, name in ((FRESH_INDEX, "n1333"), (SEA_INDEX, "n134")):
        incidence = float(row["incidence_from_vertical_deg"])
        across, along = fresnel_parts(incidence, index)
        assert across == pytest.approx(float(row[f"Rs_{name}"]), abs=LAST_DIGIT)
        assert along == pytest.approx(float(row[f"Rp_{name}"]), abs=LAST_DIGIT)
        assert fresnel_reflectance(incidence, index) == pytest.approx(float(row[f"R_unpolarised_{name}"]), abs=LAST_DIGIT)


def test_brewsters_angle_takes_all_light_that_swings_along():
    """At atan n nothing of it is reflected: Born & Wolf, section 1.5."""
    assert fresnel_parts(np.degrees(np.arctan(FRESH_INDEX)))[1] == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize("row", rows("cox-munk"), ids=lambda row: row["wind_12p5m_m_s"])
def test_slopes_against_the_table(row):
    """Cox & Munk 1954, tests/reference/cox-munk.csv; five decimals."""
    wind, last_digit = float(row["wind_12p5m_m_s"]), 5.1e-6
    for slick, name in ((False, "clean"), (True, "slick")):
        assert upwind_variance(wind, slick) == pytest.approx(float(row[f"{name}_upwind_mss"]), abs=last_digit)
        assert crosswind_variance(wind, slick) == pytest.approx(float(row[f"{name}_crosswind_mss"]), abs=last_digit)
        assert total_variance(wind, slick) == pytest.approx(float(row[f"{name}_total_mss"]), abs=last_digit)


@pytest.mark.parametrize("wind", [1.0, 5.0, 14.0])
def test_some_facet_there_is_everywhere(wind):
    """The density's integral over all slopes is 1, and its second moments are the variances it was given."""
    slopes = slopes_for(Weather(wind, 240.0), SEA)
    steps = np.linspace(-3, 3, 1201)
    up, cross = np.meshgrid(steps, steps)
    density = slope_density(up, cross, slopes) * (steps[1] - steps[0]) ** 2
    assert density.sum() == pytest.approx(1, abs=1e-6)
    assert (density * up**2).sum() == pytest.approx(slopes.upwind, rel=1e-4)
    assert (density * cross**2).sum() == pytest.approx(slopes.crosswind, rel=1e-4)


@pytest.mark.parametrize("sun_deg", [60.0, 40.0, 25.0])
def test_nearly_flat_water_sends_out_what_a_mirror_would(sun_deg):
    """All glitter over level water, times its slant, is R sin a of the sun's light: 1 % for slopes of 1.3°, hiding apart."""
    slopes, count = Slopes(0.0005, 0.0005), 900
    depression, azimuth = np.meshgrid((np.arange(count) + 0.5) * 90 / count, (np.arange(2 * count) + 0.5) * 180 / count, indexing="ij")
    found = facets(azimuth, depression, 180.0, sun_deg)
    leaving = glint_per_sr(found, slopes) / unhidden_share(found.sun_deg, found.sight_deg, slopes)
    slant = np.sin(np.radians(depression)) * np.cos(np.radians(depression))
    flux = (leaving * slant).sum() * np.radians(90 / count) * np.radians(180 / count)
    assert flux == pytest.approx(fresnel_reflectance(90 - sun_deg) * np.sin(np.radians(sun_deg)), rel=0.01)


@given(st.floats(5, 80), st.floats(0, 359))
def test_a_level_facet_shows_the_sun_at_its_mirror_image(sun_deg, azimuth):
    found = facets(azimuth, sun_deg, azimuth, sun_deg)
    assert np.hypot(found.east, found.north) == pytest.approx(0, abs=1e-12)
    assert found.incidence_deg == pytest.approx(90 - sun_deg, abs=1e-5)


def test_the_glitter_of_nearly_still_water_is_brightest_at_the_mirror_image():
    """Slopes of 0.6°: within a degree of the image of a sun 20° up, bearing 250°."""
    depression, azimuth = np.meshgrid(np.arange(1, 60, 0.25), np.arange(220, 280, 0.25), indexing="ij")
    bright = glint_per_sr(facets(azimuth, depression, 250.0, 20.0), Slopes(0.0001, 0.0001))
    row, column = np.unravel_index(bright.argmax(), bright.shape)
    assert depression[row, 0] == pytest.approx(20.0, abs=1.0)
    assert azimuth[0, column] == pytest.approx(250.0, abs=0.26)


def test_the_glitter_widens_with_the_wind():
    azimuth = np.arange(200, 300, 0.25)
    widths = []
    for wind in (0.0, 2.0, 5.0, 10.0):
        bright = glint_per_sr(facets(azimuth, 15.0, 250.0, 15.0), slopes_for(Weather(wind), SEA))
        widths.append(np.count_nonzero(bright > bright.max() / 2))
    assert widths == sorted(set(widths)) and widths[-1] > 2 * widths[0]


def test_slopes_are_wider_along_the_wind():
    """At 10 m/s 0.0316 along and 0.0222 across: the glitter of a high sun is longer towards the wind."""
    slopes = slopes_for(Weather(10.0, 0.0), SEA)
    along = glint_per_sr(facets(0.0, 60.0, 0.0, 40.0), slopes)
    assert along > glint_per_sr(facets(0.0, 60.0, 0.0, 40.0), slopes_for(Weather(10.0, 90.0), SEA))


def test_sheltered_water_is_smoother_and_unknown_wind_a_calm():
    sheltered = pool(box(5, 50, -5, 5), sheltered=True)
    assert slopes_for(Weather(4.0), sheltered) == slopes_for(Weather(1.0), SEA)
    assert slopes_for(Weather(), SEA) == slopes_for(Weather(0.0), SEA)


def test_few_facets_are_hidden_from_high_up_and_most_at_grazing():
    slopes = slopes_for(Weather(5.0), SEA)
    shares = unhidden_share(np.array([60.0, 20.0, 5.0, 1.0]), 60.0, slopes)
    assert shares[0] == pytest.approx(1, abs=1e-6)
    assert np.all(np.diff(shares) < 0) and shares[-1] < 0.35


def test_smiths_function_against_scipy():
    from scipy.special import erfc

    slopes = Slopes(0.02, 0.02)
    height = np.tan(np.radians(5.0)) / 0.2
    expected = (np.exp(-(height**2)) / (height * np.sqrt(np.pi)) - erfc(height)) / 2
    assert 1 / unhidden_share(5.0, 90.0, slopes) - 1 == pytest.approx(expected, abs=1e-6)


def test_a_low_sun_outshines_the_sky_less():
    ratio = sun_over_sky_sr(np.array([-5.0, 0.0, 1.0, 5.0, 15.0, 27.0]))
    assert ratio[0] == ratio[1] and np.all(np.diff(ratio[1:]) > 0)


def test_overhead_sun_and_sky_are_the_formulas_own():
    """127.5 exp(-0.21) klx of sun over 16.3 / π kcd/m² of sky: 19.9 sr."""
    assert sun_over_sky_sr(90.0) == pytest.approx(127.5 * np.exp(-0.21) / (16.3 / np.pi), rel=1e-3)


@pytest.mark.parametrize("shape", [(), (3,), (2, 3), (0,)])
def test_keeps_the_shape_of_its_input(shape):
    assert np.shape(sparkle(facets(np.full(shape, 250.0), 5.0, 250.0, 10.0), Slopes(0.01, 0.01))) == shape


def cells():
    setup = setup_by(distance_m=10.0, lens_m=1.5, people=(), aim=(LINE_DEG, 0.0))
    return cells_behind(mirrors_of(setup, site_with(SEA))[0])


def test_only_water_behind_the_couple_counts():
    """Eye 1.5 m, the couple 10 m off: behind them is less than 8.53° under level."""
    assert len(cells()) > 50
    assert cells().depression_deg.max() < 8.54


def test_more_of_it_sparkles_in_the_line_than_beside_and_none_without_water():
    slopes = slopes_for(Weather(4.0), SEA)
    shares = sparkling_share(cells(), slopes, LINE_DEG + np.array([0.0, 20.0, 60.0]), np.full(3, 8.0))
    assert shares[0] > shares[1] > shares[2] == 0
    none = cells_behind(mirrors_of(setup_by(people=(), distance_m=60.0), site_with(pool(box(5, 50, -9, 9))))[0])
    assert sparkling_share(none, slopes, 268.0, 5.0) == 0


@given(st.integers(0, 10_000), st.sampled_from([1.0, 4.0, 9.0]), st.sampled_from([None, 200.0, 300.0]))
def test_the_share_stays_within_its_bounds(seed, wind, wind_from):
    chance = np.random.default_rng(seed)
    slopes, count = slopes_for(Weather(wind, wind_from), SEA), 40
    azimuth, altitude = LINE_DEG + chance.uniform(-50, 50, count), chance.uniform(-1, 40, count)
    turn, rise = chance.uniform(0, 2.5, count), chance.uniform(0, 2.5, count)
    low, high = sparkling_bounds(cells(), slopes, azimuth, altitude, turn, rise)
    for _ in range(5):
        share = sparkling_share(cells(), slopes, azimuth + turn * chance.uniform(-1, 1, count), altitude + rise * chance.uniform(-1, 1, count))
        assert np.all(share >= low - 1e-9) and np.all(share <= high + 1e-9)
