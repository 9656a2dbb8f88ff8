"""The standard skies: closed forms, the older formula of the clear one, and what they give to level ground."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.light.day import daylight_over, sky_cd_m2
from app.light.sky_luminance import (
    CLEAR,
    SKY_TYPES,
    gradation,
    indicatrix,
    luminance_per_lux,
    relative_luminance,
)
from app.sky.track import Observer

KINDS = sorted(SKY_TYPES)
COSINE = st.floats(-1.0, 1.0)
UNIFORM = 5
NOON = 1_821_225_600.0 + 43_200.0  # 18 September 2027


def on_level_ground(luminance_of):
    """Sum the light of a sky on level ground, luminance given by azimuth and altitude: ∫ L sin h dω, dω = dA d(sin h)."""
    nodes, weights = np.polynomial.legendre.leggauss(80)
    rise = (nodes + 1) / 2
    azimuth_deg = np.arange(0.5, 360.0, 1.0)[:, np.newaxis]
    values = luminance_of(azimuth_deg, np.degrees(np.arcsin(rise)))
    return float(2 * np.pi * (values.mean(axis=0) * rise) @ (weights / 2))


def cosine_from_sun(azimuth_deg, altitude_deg, sun_deg):
    """By the spherical law of cosines, the sun at azimuth 0."""
    altitude, sun = np.radians(altitude_deg), np.radians(sun_deg)
    return np.sin(altitude) * np.sin(sun) + np.cos(altitude) * np.cos(sun) * np.cos(np.radians(azimuth_deg))


@given(COSINE, st.floats(0.0, 90.0), st.floats(0.0, 89.0))
def test_the_uniform_sky_has_one_luminance_everywhere(cosine, altitude_deg, sun_deg):
    """ISO 15469 type 5: L = E / π."""
    assert luminance_per_lux(UNIFORM, altitude_deg, cosine, sun_deg) == pytest.approx(1 / np.pi, rel=1e-9)
    assert relative_luminance(SKY_TYPES[UNIFORM], altitude_deg, cosine, sun_deg) == pytest.approx(1.0)


@given(COSINE, st.floats(0.5, 90.0), st.floats(0.0, 90.0))
def test_the_clear_sky_is_the_commissions_older_one(cosine, altitude_deg, sun_deg):
    """CIE Publication 22 (1973), R. Kittler's clear sky, from memory: its printed 0.91 and 0.274 are rounded, half a per cent together.

    L / Lz = (0.91 + 10 exp(-3 χ) + 0.45 cos² χ)(1 - exp(-0.32 / sin h)) / (0.274 (0.91 + 10 exp(-3 Zs) + 0.45 cos² Zs)).
    """

    def about_the_sun(apart):
        return 0.91 + 10 * np.exp(-3 * apart) + 0.45 * np.cos(apart) ** 2

    zenith = 0.274 * about_the_sun(np.radians(90.0 - sun_deg))
    older = about_the_sun(np.arccos(cosine)) * (1 - np.exp(-0.32 / np.sin(np.radians(altitude_deg)))) / zenith
    assert relative_luminance(SKY_TYPES[CLEAR], altitude_deg, cosine, sun_deg) == pytest.approx(older, rel=0.005)


@pytest.mark.parametrize("kind", KINDS)
def test_at_the_zenith_it_is_one_and_a_right_angle_from_the_sun_is_the_measure(kind):
    """Equation 1 at the zenith; equation 3 at χ = 90°, where it is 1 by its own making."""
    for sun_deg in (0.0, 23.0, 61.0):
        assert relative_luminance(SKY_TYPES[kind], 90.0, np.sin(np.radians(sun_deg)), sun_deg) == pytest.approx(1.0)
    assert indicatrix(SKY_TYPES[kind], 0.0) == pytest.approx(1.0)


@pytest.mark.parametrize("kind", KINDS)
def test_every_standard_sky_gives_back_what_it_is_scaled_to(kind):
    """Within 1 %, for suns on and between the steps of the table of wholes."""
    for sun_deg in (0.0, 3.0, 17.5, 45.0, 71.3, 88.0):
        whole = on_level_ground(lambda azimuth_deg, altitude_deg, sun_deg=sun_deg: luminance_per_lux(kind, altitude_deg, cosine_from_sun(azimuth_deg, altitude_deg, sun_deg), sun_deg))
        assert whole == pytest.approx(1.0, abs=0.01)


@given(st.sampled_from(KINDS), COSINE, st.floats(0.0, 90.0), st.floats(0.0, 89.0))
def test_no_piece_of_sky_is_black(kind, cosine, altitude_deg, sun_deg):
    assert luminance_per_lux(kind, altitude_deg, cosine, sun_deg) > 0.0


def test_which_skies_brighten_to_the_zenith_and_which_to_the_horizon():
    """Table 1's own words, from memory: types 1 to 4 grade to the zenith, 5 to 8 are even, 9 to 15 brighten to the horizon."""
    rise = {kind: float(gradation(SKY_TYPES[kind], 90.0) - gradation(SKY_TYPES[kind], 1.0)) for kind in KINDS}
    assert all(rise[kind] > 0.4 for kind in range(1, 5))
    assert all(rise[kind] == 0.0 for kind in range(5, 9))
    assert all(rise[kind] < -0.3 for kind in range(9, 16))


@pytest.mark.parametrize("cover", [0.0, 0.4, 1.0])
def test_the_sky_of_a_day_sums_to_its_light_on_level_ground(cover):
    """The luminance that stands behind a couple against the illuminance that the same sky gives: within 1 %, from day into twilight."""
    sun = Observer(54.57, -3.13, 70.0).sun_over(NOON, NOON + 27_000.0, 2700.0)
    day = daylight_over(sun, 3.0, cover)
    for moment in range(len(sun)):
        one = daylight_over(sun[moment : moment + 1], 3.0, cover)
        whole = on_level_ground(lambda azimuth_deg, altitude_deg, one=one: sky_cd_m2(one, *np.broadcast_arrays(azimuth_deg, altitude_deg)))
        assert whole == pytest.approx(float(day.sky_lux[moment]), rel=0.01)
