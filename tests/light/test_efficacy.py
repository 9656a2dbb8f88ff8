"""Lumens for each watt: the sky's one figure, and the beam, against Perez and his co-workers' measured model.

Westering takes the beam's light from its spectrum and the sky's from ``SKY_LM_W``; Perez's model
jumps at the edges of its bins, so it stands here only, as the referee.
"""

import numpy as np
import pytest

from app.light.air import aerosol_depth, air_mass
from app.light.clear_sky import OUTSIDE_W_M2, SKY_LM_W, clear_beam_lux, sky_w_m2
from tests.reference_data import rows, worked_examples

BINS = rows("perez1990-luminous-efficacy")
CASES = worked_examples()["perez"]
WATER_CM = 1.5  # as the table's spectra have
LINKE = 3.0  # haze of 0.083 at 550 nm, where the spectra have 0.09


def clearness(direct_w_m2, diffuse_w_m2, zenith_deg):
    """ε, equation 1: how clear the sky is, 1 overcast."""
    third = 1.041 * np.radians(zenith_deg) ** 3
    return ((diffuse_w_m2 + direct_w_m2) / diffuse_w_m2 + third) / (1 + third)


def brightness(diffuse_w_m2, zenith_deg, outside_w_m2):
    """Δ, equation 2."""
    return diffuse_w_m2 * air_mass(90.0 - zenith_deg) / outside_w_m2


def efficacies(direct_w_m2, diffuse_w_m2, zenith_deg, outside_w_m2=OUTSIDE_W_M2, water_cm=WATER_CM):
    """Return what sky and beam give for each watt, equations 7 and 8 with table 4. [lm/W]"""
    clear = clearness(direct_w_m2, diffuse_w_m2, zenith_deg)
    row = [one for one in BINS if float(one["eps_low"]) <= clear][-1]
    bright, zenith = brightness(diffuse_w_m2, zenith_deg, outside_w_m2), np.radians(zenith_deg)
    terms = {"diffuse": (1, water_cm, np.cos(zenith), np.log(bright)), "direct": (1, water_cm, np.exp(5.73 * zenith - 5), bright)}
    return [sum(float(row[f"{part}_{letter}"]) * term for letter, term in zip("abcd", terms[part], strict=True)) for part in ("diffuse", "direct")]


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case['zen']}° from the zenith, bin {case['bin']}")
def test_the_referee_gives_its_worked_cases(case):
    """R. Perez et al., *Solar Energy* 44 (1990) 271; Δ is printed to four decimals, a thousandth of itself."""
    measured = case["dni"], case["dhi"], case["zen"]
    assert clearness(*measured) == pytest.approx(case["eps"], rel=0.001)
    assert brightness(*measured[1:], case["i0"]) == pytest.approx(case["delta"], rel=0.001)
    found = efficacies(*measured, case["i0"], np.exp(0.07 * case["td"] - 0.075))
    assert found == pytest.approx([case["k_diffuse"], case["k_direct"]], rel=0.001)


def clear_skies():
    """SPECTRL2's, haze 0.1: altitude, and the watts of beam and sky that its light comes from."""
    for row in rows("illuminance-vs-altitude"):
        if row["spectrl2_direct_normal_lx"]:
            beam = float(row["spectrl2_direct_normal_lx"]) / float(row["spectrl2_direct_efficacy_lm_per_W"])
            sky = float(row["spectrl2_diffuse_horizontal_lx"]) / float(row["spectrl2_diffuse_efficacy_lm_per_W"])
            yield float(row["sun_altitude_true_deg"]), beam, sky


@pytest.mark.parametrize("sky", tuple(clear_skies()), ids=lambda sky: f"{sky[0]:g}°")
def test_one_figure_for_the_sky_lies_within_a_fifth_of_a_stop_of_the_referee(sky):
    """Perez's own falls from 156 lm/W under a low sun to 127 under a high one."""
    altitude_deg, direct_w_m2, diffuse_w_m2 = sky
    sky_lm_w, _ = efficacies(direct_w_m2, diffuse_w_m2, 90.0 - altitude_deg)
    assert abs(np.log2(SKY_LM_W / sky_lm_w)) < 0.2
    assert abs(np.log2(SKY_LM_W * sky_w_m2(altitude_deg, LINKE) / (sky_lm_w * diffuse_w_m2))) < 0.2


@pytest.mark.parametrize("sky", tuple(clear_skies()), ids=lambda sky: f"{sky[0]:g}°")
def test_the_beam_lies_within_a_third_of_a_stop_of_the_referee(sky):
    """Farthest at 10°, where SPECTRL2's own efficacy is 0.23 stop over Perez's too."""
    altitude_deg, direct_w_m2, diffuse_w_m2 = sky
    _, beam_lm_w = efficacies(direct_w_m2, diffuse_w_m2, 90.0 - altitude_deg)
    beam_lux = clear_beam_lux(altitude_deg, aerosol_depth(LINKE))
    assert abs(np.log2(beam_lux / (beam_lm_w * direct_w_m2))) < 1 / 3
