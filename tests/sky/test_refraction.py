"""Refraction against published fits and its smoothness; dip of lower horizons."""

import numpy as np
import pytest

from app.sky.refraction import dip_deg, refraction_deg, rise_set_lowering_deg, standard_pressure_hpa
from tests.reference_data import worked_examples

ARCMINUTE = 1 / 60


@pytest.mark.parametrize("airless_deg,saemundsson,bennett", [
    (-0.8333, 37.09, 37.32), (-0.575, 34.44, 34.46), (0, 28.98, 28.92), (1, 21.74, 21.75), (2, 16.93, 16.94),
    (4, 11.36, 11.33), (6, 8.40, 8.34), (10, 5.41, 5.34), (20, 2.74, 2.70), (45, 1.01, 0.99),
])
def test_both_published_fits(airless_deg, saemundsson, bennett):
    """Meeus (1998) ch. 16: formula 16.4 to its last digit; Bennett's, iterated, within 0.25′."""
    assert refraction_deg(airless_deg) == pytest.approx(saemundsson * ARCMINUTE, abs=0.006 * ARCMINUTE)
    assert refraction_deg(airless_deg) == pytest.approx(bennett * ARCMINUTE, abs=0.25 * ARCMINUTE)


def test_meeus_16a_upper_limb_of_a_low_sun():
    """Meeus (1998), example 16.a, p. 107: true upper limb 33.246′ is lifted by 24.618′."""
    example = worked_examples()["meeus"]["16a"]
    lifted = refraction_deg(example["true_upper_arcmin"] * ARCMINUTE)
    assert lifted == pytest.approx(example["R_upper_arcmin"] * ARCMINUTE, abs=0.0006 * ARCMINUTE)


def test_no_jump_and_no_turning_back_anywhere():
    """What is seen must rise when the sun rises; a jump at the horizon would make and lose windows."""
    altitude = np.linspace(-90, 90, 1_800_001)
    seen = altitude + refraction_deg(altitude)
    assert np.all(np.diff(seen) > 0)
    assert np.abs(np.diff(refraction_deg(altitude))).max() < 0.0001


def test_never_negative_and_nothing_far_below():
    altitude = np.linspace(-90, 90, 100_001)
    assert np.all(refraction_deg(altitude) >= 0)
    assert np.all(refraction_deg(altitude[altitude < -5]) == 0)


def test_scales_with_pressure_and_absolute_temperature():
    """Meeus (1998), p. 107: (P / 1010) · (283 / (273 + T))."""
    assert refraction_deg(5, 820, -10) == pytest.approx(refraction_deg(5) * 820 / 1010 * 283 / 263)


@pytest.mark.parametrize("height_m,hpa", [(0, 1013.25), (1000, 898.75), (3000, 701.1)])
def test_standard_atmosphere(height_m, hpa):
    """ISO 2533:1975 table values, from memory."""
    assert standard_pressure_hpa(height_m) == pytest.approx(hpa, abs=0.3)


@pytest.mark.parametrize("case", worked_examples()["dip"], ids=lambda case: f"{case['h_m']} m")
def test_dip_and_lowering(case):
    """Explanatory Supplement (1992), pp. 484-489."""
    assert dip_deg(case["h_m"]) == pytest.approx(case["apparent_dip_arcmin"] * ARCMINUTE, abs=0.005 * ARCMINUTE)
    assert rise_set_lowering_deg(case["h_m"]) == pytest.approx(case["riseset_lowering_arcmin"] * ARCMINUTE, abs=0.006 * ARCMINUTE)
    assert np.isnan(dip_deg(-case["h_m"]))
