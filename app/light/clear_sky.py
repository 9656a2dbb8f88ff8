"""Sun and sky apart under a clear sky, from noon to the end of twilight."""

import numpy as np

from app.light.air import LOWEST_DEG, SEA_LEVEL_HPA
from app.light.beam import beam_lux
from app.light.daylight import joined_illuminance_lux, smooth_step
from app.units import FloatArray, FloatOrArray

# What skylight gives of light for its heat. Bird & Riordan's SPECTRL2 has 134 to 142 from 5° up
# (pvlib's, haze 0.1); Perez et al. (1990) have 131 to 149 in its bins for clear skies, which jump.
SKY_LM_W = 138.0
OUTSIDE_W_M2 = 1361.0  # G. Kopp & J. Lean, *Geophys. Res. Lett.* 38 (2011) L01706
TWILIGHT_TO_DEG, DAY_FROM_DEG = 0.0, 6.0  # between them twilight's formula hands over to the day's
MEAN_HAZE = 0.09  # the mean air that twilight's polynomial is taken to be for; nothing printed says
GONE_DEG = -0.9  # as seen: under this no edge of the disc is above level; it fades as for a lower horizon


def clear_beam_lux(altitude_deg: FloatOrArray, haze: FloatOrArray, pressure_hpa: float = SEA_LEVEL_HPA) -> FloatArray:
    """Return the clear sun's illuminance on a plane square to it, nothing before it.

    Parameters
    ----------
    altitude_deg, haze : any shapes that fit together
        As seen; depth of haze at 550 nm. [°, 1]
    pressure_hpa : float
        [hPa]

    Returns
    -------
    same shape
        At 1 au. Fades from -0.9° to nothing at -1.5°, where no horizon on land lies. [lx]
    """
    return beam_lux(altitude_deg, haze, pressure_hpa) * smooth_step(altitude_deg, LOWEST_DEG, GONE_DEG)


def clear_sky_lux(
    altitude_deg: FloatOrArray, airless_deg: FloatOrArray, linke: FloatOrArray, pressure_hpa: float = SEA_LEVEL_HPA
) -> FloatArray:
    """Return what a whole clear sky gives to level ground, the sun's own beam left out.

    Parameters
    ----------
    altitude_deg, airless_deg : any one shape
        Of the sun's middle as seen, and without the air's lift. [°]
    linke : same shape or a number
        Linke turbidity.
    pressure_hpa : float
        [hPa]

    Returns
    -------
    same shape
        At 1 au; held below -18°. [lx]

    Notes
    -----
    From 6° up the European Solar Radiation Atlas's clear sky times ``SKY_LM_W``. Down from 0° the
    *Explanatory Supplement*'s polynomial by the airless altitude, which is for mean air
    and knows no turbidity; in between their logarithms are faded along a smooth step,
    the beam of mean air taken off the polynomial, which is of sun and sky together.
    """
    sun_up = np.sin(np.radians(np.maximum(altitude_deg, 0.0)))
    beam = clear_beam_lux(altitude_deg, MEAN_HAZE) * sun_up
    whole = joined_illuminance_lux(np.minimum(airless_deg, DAY_FROM_DEG))
    twilight = np.log(np.maximum(whole - beam, 1e-9))  # with a high sun this means nothing and has no share
    day = np.log(SKY_LM_W * sky_w_m2(altitude_deg, linke))
    return np.exp(twilight + smooth_step(airless_deg, TWILIGHT_TO_DEG, DAY_FROM_DEG) * (day - twilight))


def sky_w_m2(altitude_deg: FloatOrArray, linke: FloatOrArray) -> FloatArray:
    """Return the clear sky's diffuse irradiance of level ground, held below 0°; any shapes that fit together. [W/m²]

    C. Rigollier, O. Bauer & L. Wald, *Solar Energy* 68 (2000) 33, equations 21 to 24: the
    European Solar Radiation Atlas's model; coefficients from memory, and within a fifth of
    SPECTRL2 in the tests.
    """
    turbidity = np.asarray(linke, dtype=float)
    rise = np.sin(np.radians(np.maximum(np.asarray(altitude_deg, dtype=float), 0.0)))
    zenith = -0.015843 + 0.030543 * turbidity + 0.0003797 * turbidity**2
    first = np.maximum(0.26463 - 0.061581 * turbidity + 0.0031408 * turbidity**2, 0.002 / zenith)
    second = 2.0402 + 0.018945 * turbidity - 0.011161 * turbidity**2
    third = -1.3025 + 0.039231 * turbidity + 0.0085079 * turbidity**2
    return OUTSIDE_W_M2 * zenith * (first + second * rise + third * rise**2)
