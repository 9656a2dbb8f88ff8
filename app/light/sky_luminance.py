"""How the brightness of the sky is spread over it: the CIE general sky."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from app.units import FloatArray, FloatOrArray

HIGHEST_DEG = 89.0  # the sun is held under this by the table of wholes, which ends at 90
_TABLE_DEG = np.linspace(0.0, 90.0, 46)


@dataclass(frozen=True)
class SkyType:
    """One of the standard skies: a, b grade it from zenith to horizon; c, d, e about the sun."""

    a: float
    b: float
    c: float
    d: float
    e: float


# ISO 15469:2004 (CIE S 011), table 1; from memory, held in the tests against its closed relations.
SKY_TYPES = {
    1: SkyType(4.0, -0.70, 0.0, -1.0, 0.00),  # the CIE standard overcast sky
    2: SkyType(4.0, -0.70, 2.0, -1.5, 0.15),
    3: SkyType(1.1, -0.80, 0.0, -1.0, 0.00),
    4: SkyType(1.1, -0.80, 2.0, -1.5, 0.15),
    5: SkyType(0.0, -1.00, 0.0, -1.0, 0.00),  # uniform
    6: SkyType(0.0, -1.00, 2.0, -1.5, 0.15),
    7: SkyType(0.0, -1.00, 5.0, -2.5, 0.30),
    8: SkyType(0.0, -1.00, 10.0, -3.0, 0.45),
    9: SkyType(-1.0, -0.55, 2.0, -1.5, 0.15),
    10: SkyType(-1.0, -0.55, 5.0, -2.5, 0.30),
    11: SkyType(-1.0, -0.55, 10.0, -3.0, 0.45),
    12: SkyType(-1.0, -0.32, 10.0, -3.0, 0.45),  # the CIE standard clear sky, low turbidity
    13: SkyType(-1.0, -0.32, 16.0, -3.0, 0.30),  # the same, polluted
    14: SkyType(-1.0, -0.15, 16.0, -3.0, 0.30),
    15: SkyType(-1.0, -0.15, 24.0, -2.8, 0.15),
}
CLEAR, OVERCAST = 12, 1


def gradation(kind: SkyType, altitude_deg: FloatOrArray) -> FloatArray:
    """Return φ, how the sky grades with altitude; any shape, held at the horizon below it. [1]

    ISO 15469:2004, equation 2: 1 + a exp(b / sin altitude).
    """
    rise = np.sin(np.radians(np.maximum(np.asarray(altitude_deg, dtype=float), 0.0)))
    return 1.0 + kind.a * np.exp(kind.b / np.maximum(rise, 1e-9))


def indicatrix(kind: SkyType, cos_from_sun: FloatOrArray) -> FloatArray:
    """Return f, how the sky brightens towards the sun, from the cosine of the distance to it; any shape. [1]

    ISO 15469:2004, equation 3: 1 + c (exp(d χ) - exp(d π/2)) + e cos² χ.
    """
    cosine = np.clip(np.asarray(cos_from_sun, dtype=float), -1.0, 1.0)
    fall = np.exp(kind.d * np.arccos(cosine)) - np.exp(kind.d * np.pi / 2)
    return 1.0 + kind.c * fall + kind.e * cosine**2


def relative_luminance(
    kind: SkyType, altitude_deg: FloatOrArray, cos_from_sun: FloatOrArray, sun_altitude_deg: FloatOrArray
) -> FloatArray:
    """Return the luminance of a piece of sky over that of the zenith; any shapes that fit together. [1]

    ISO 15469:2004, equation 1.
    """
    zenith = gradation(kind, 90.0) * indicatrix(kind, np.sin(np.radians(sun_altitude_deg)))
    return gradation(kind, altitude_deg) * indicatrix(kind, cos_from_sun) / zenith


def luminance_per_lux(
    kind: int, altitude_deg: FloatOrArray, cos_from_sun: FloatOrArray, sun_altitude_deg: FloatOrArray
) -> FloatArray:
    """Return a piece of sky's luminance for each lux that the whole sky gives to level ground.

    Parameters
    ----------
    kind : int
        A key of ``SKY_TYPES``.
    altitude_deg, cos_from_sun, sun_altitude_deg : any shapes that fit together
        Of the piece, 0° and up; the cosine of its distance from the sun; of the sun. A sun
        under the horizon is held on it: the standard knows no twilight. [°, 1, °]

    Returns
    -------
    same shape
        [cd/m² per lx]
    """
    whole = np.interp(np.clip(sun_altitude_deg, 0.0, HIGHEST_DEG), _TABLE_DEG, _wholes(kind))
    spread = gradation(SKY_TYPES[kind], altitude_deg) * indicatrix(SKY_TYPES[kind], cos_from_sun)
    return spread / whole


@lru_cache(maxsize=len(SKY_TYPES))
def _wholes(kind: int) -> FloatArray:
    """Return what φ f sums to on level ground over the whole sky, for each altitude of ``_TABLE_DEG``. [sr]"""
    nodes, weights = np.polynomial.legendre.leggauss(48)
    rise = (nodes + 1.0) / 2.0
    around = np.radians(np.arange(1.0, 360.0, 2.0))
    altitude, sun = np.arcsin(rise), np.radians(_TABLE_DEG)[:, np.newaxis, np.newaxis]
    cosine = np.sin(sun) * rise + np.cos(sun) * np.cos(altitude) * np.cos(around)[:, np.newaxis]
    values = indicatrix(SKY_TYPES[kind], cosine).mean(axis=1) * gradation(SKY_TYPES[kind], np.degrees(altitude))
    return np.pi * (values * rise) @ weights
