"""The colour of sun, sky and both together against a spectral model's table."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.light.air import aerosol_depth
from app.light.clear_sky import clear_beam_lux, clear_sky_lux
from app.light.colour import colour_temperature_k, daylight_xy, mixed_xy
from app.light.day_colour import sky_xy, sun_xy, together_k
from tests.reference_data import rows

TABLE = rows("cct-vs-altitude")
ALTITUDE_DEG = np.array([float(row["sun_altitude_deg"]) for row in TABLE])
WITHIN = 0.15  # no measured table of good pedigree was found, so more would be claimed of the model than is known
MEAN_LINKE = 3.0
MIRED = 1.0


def told_k(column):
    return np.array([float(row[column]) for row in TABLE])


def linke_of(haze):
    """The turbidity whose haze it is, by looking through them."""
    every = np.linspace(1.0, 8.0, 7001)
    return every[np.argmin(np.abs(aerosol_depth(every) - haze))]


def clear_day_k(altitude_deg, linke=MEAN_LINKE, cover=0.0):
    """Sun and sky together on open level ground."""
    beam_lux = clear_beam_lux(altitude_deg, aerosol_depth(linke)) * np.sin(np.radians(np.maximum(altitude_deg, 0.0)))
    sky_lux = clear_sky_lux(altitude_deg, altitude_deg, linke)
    return together_k(sun_xy(altitude_deg, linke), (1 - cover) * beam_lux, sky_xy(altitude_deg, altitude_deg, linke, cover), sky_lux)


@pytest.mark.parametrize("depth", ["0.05", "0.10", "0.27"])
def test_the_sun_through_three_hazes(depth):
    """SPECTRL2's direct beam by Ohno's method; its depths are at 500 nm, and haze falls off as wavelength^-1.14."""
    linke = linke_of(float(depth) * (550 / 500) ** -1.14)
    found = colour_temperature_k(sun_xy(ALTITUDE_DEG, linke))
    assert found == pytest.approx(told_k(f"direct_beam_cct_K_aod{depth}"), rel=WITHIN)


def test_a_whole_clear_sky():
    """SPECTRL2's diffuse light."""
    assert colour_temperature_k(sky_xy(ALTITUDE_DEG, ALTITUDE_DEG, MEAN_LINKE)) == pytest.approx(told_k("sky_diffuse_cct_K_aod0.10"), rel=WITHIN)


def test_sun_and_sky_together_on_level_ground():
    """SPECTRL2's global light, which neither of its parts comes near at low sun."""
    assert clear_day_k(ALTITUDE_DEG) == pytest.approx(told_k("global_horizontal_cct_K_aod0.10"), rel=WITHIN)


@given(st.floats(2.0, 7.0), st.sampled_from([1013.25, 850.0]))
def test_the_sun_only_reddens_as_it_sinks(linke, pressure_hpa):
    """Down to half a degree under level, where the disc is still seen from a height; 1000 K is as red as is told."""
    found = colour_temperature_k(sun_xy(np.linspace(90.0, -0.5, 400), linke, pressure_hpa))
    told = found[1:] > 1000.0
    assert np.all(np.diff(found)[told] < 0) and np.all(found[1:][~told] == 1000.0)
    assert told.mean() > 0.95


@given(st.floats(5.0, 60.0), st.floats(2.0, 6.0))
def test_haze_reddens_the_sun(altitude_deg, linke):
    clear, hazy = (float(colour_temperature_k(sun_xy(altitude_deg, one))) for one in (linke, linke + 1.0))
    assert hazy < clear


@settings(max_examples=50)
@given(st.floats(1.0, 80.0), st.floats(0.01, 1.0), st.floats(0.0, 1.0))
def test_the_mix_lies_between_its_parts(altitude_deg, share, cover):
    sun, sky = sun_xy(altitude_deg, MEAN_LINKE), sky_xy(altitude_deg, altitude_deg, MEAN_LINKE, cover)
    low, high = (float(colour_temperature_k(one)) for one in (sun, sky))
    mixed = float(together_k(sun, share, sky, 1.0 - share))
    assert 1e6 / high - MIRED <= 1e6 / mixed <= 1e6 / low + MIRED


def test_more_sky_on_a_face_makes_it_cooler():
    """A face in the sun at 5° against one turned from it: from late gold to blue shade."""
    sun, sky = sun_xy(5.0, MEAN_LINKE), sky_xy(5.0, 5.0, MEAN_LINKE)
    found = together_k(sun[:, np.newaxis], np.array([1.0, 0.7, 0.4, 0.0]), sky[:, np.newaxis], np.array([0.0, 0.3, 0.6, 1.0]))
    assert np.all(np.diff(found) > 500.0)
    assert found[0] < 3500.0 and found[-1] > 10_000.0


def test_clouds_are_as_warm_as_all_that_comes_to_them():
    """An overcast sky has the colour of the clear one's sun and sky together, here 5500 to 7000 K; CIE's D65 stands for average daylight."""
    altitude_deg = np.array([8.0, 20.0, 50.0])
    grey = colour_temperature_k(sky_xy(altitude_deg, altitude_deg, MEAN_LINKE, 1.0))
    assert grey == pytest.approx(clear_day_k(altitude_deg), rel=1e-6)
    assert np.all((grey > 5500.0) & (grey < 7000.0))
    half = colour_temperature_k(sky_xy(altitude_deg, altitude_deg, MEAN_LINKE, 0.5))
    assert np.all((half > grey) & (half < 11_100.0))


def test_equal_parts_of_one_colour_stay_it_and_no_light_has_none():
    d65 = daylight_xy(6504.0)
    assert mixed_xy((d65, 3.0), (d65, 5.0)) == pytest.approx(d65)
    assert np.isnan(together_k(d65, 0.0, d65, 0.0))


@pytest.mark.parametrize("shape", [(), (3,), (2, 3), (0,)])
def test_keeps_the_shape_of_its_input(shape):
    altitude_deg = np.full(shape, 20.0)
    assert np.shape(sun_xy(altitude_deg, 3.0)) == np.shape(sky_xy(altitude_deg, altitude_deg, 3.0)) == (2, *shape)
    assert np.shape(clear_day_k(altitude_deg)) == shape
