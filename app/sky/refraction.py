"""How the air lifts low bodies, and how far a lower horizon lets one see."""

import numpy as np

from app.units import FloatArray, FloatOrArray

FADES_FROM_DEG, FADES_TO_DEG = -1.0, -5.0  # airless altitudes between which refraction dies out
STANDARD_PRESSURE_HPA, STANDARD_TEMPERATURE_C = 1010.0, 10.0


def refraction_deg(
    airless_deg: FloatOrArray,
    pressure_hpa: float = STANDARD_PRESSURE_HPA,
    temperature_c: float = STANDARD_TEMPERATURE_C,
) -> FloatOrArray:
    """Return the angle by which the air lifts a body that stands at this altitude.

    Parameters
    ----------
    airless_deg : any shape
        Geometric altitude above the level plane, -90..90. [°]
    pressure_hpa, temperature_c : float
        Air at the observer. [hPa, °C]

    Returns
    -------
    same shape
        What to add for the altitude as seen, never negative. [°]

    Notes
    -----
    Sæmundsson's fit for 1010 hPa and 10 °C, scaled by pressure and absolute
    temperature: Meeus, *Astronomical Algorithms*, 2nd ed. (1998), formula 16.4
    and p. 107. Below -1° nothing can be seen over level ground; there the fit is
    faded to nothing at -5° along a smooth step, so that no altitude jumps. Real
    air near the horizon differs from any formula by several arcminutes.
    """
    altitude = np.asarray(airless_deg, dtype=float)
    fitted = np.maximum(altitude, FADES_FROM_DEG)
    arcminutes = 1.02 / np.tan(np.radians(fitted + 10.3 / (fitted + 5.11)))
    fade = np.clip((altitude - FADES_TO_DEG) / (FADES_FROM_DEG - FADES_TO_DEG), 0.0, 1.0)
    air = (pressure_hpa / STANDARD_PRESSURE_HPA) * 283.0 / (273.0 + temperature_c)
    return np.maximum(arcminutes, 0.0) / 60.0 * air * fade * fade * (3.0 - 2.0 * fade)


def standard_pressure_hpa(height_m: float) -> float:
    """Return the standard atmosphere's pressure at a height above sea level. [hPa]

    ISO 2533:1975, layer from -2 to 11 km; constants from memory.
    """
    return 1013.25 * (1.0 - 2.25577e-5 * height_m) ** 5.25588


def dip_deg(eye_height_m: FloatOrArray) -> FloatOrArray:
    """Return how far the sea horizon is seen below level from this eye height. [°]

    1.76′ √h with mean refraction: *Explanatory Supplement to the Astronomical
    Almanac*, Seidelmann ed. (1992), p. 488. NaN for a negative height.
    """
    return 1.76 / 60.0 * _root(eye_height_m)


def rise_set_lowering_deg(eye_height_m: FloatOrArray) -> FloatOrArray:
    """Return how much lower, airless, a body stands when it rises over a lower horizon. [°]

    2.12′ √h, same book p. 484: the dip and the extra bending of a ray that has
    come down to the sea and up again. NaN for a negative height.
    """
    return 2.12 / 60.0 * _root(eye_height_m)


def _root(eye_height_m: FloatOrArray) -> FloatArray:
    height = np.asarray(eye_height_m, dtype=float)
    return np.sqrt(np.where(height < 0, np.nan, height))
