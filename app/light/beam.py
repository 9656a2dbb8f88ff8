"""The sun's direct beam after the air has dimmed and reddened it, wavelength by wavelength."""

import numpy as np

from app.light.air import SEA_LEVEL_HPA, air_mass, ozone_mass
from app.light.colour import OBSERVER, WAVES_NM, black_body
from app.units import FloatArray, FloatOrArray

OUTSIDE_LUX = 133_500.0  # outside the air at 1 au, by SPECTRL2's spectrum; USNO Circular 171 has 133 775
OUTSIDE_K = 5966.0  # correlated colour temperature of the same spectrum

_WAVES_UM = WAVES_NM / 1000.0
_RAYLEIGH = 0.008735 * _WAVES_UM**-4.08  # B. Leckner, *Solar Energy* 20 (1978) 143, at sea level's pressure
_HAZE = (WAVES_NM / 550.0) ** -1.14  # over its depth at 550 nm; the rural haze of Bird & Riordan (1986)
# Ozone's band in the yellow as one hump, 0.34 atm cm of it; from memory, within 0.01 of Leckner's table.
_OZONE = 0.34 * 0.13 * np.exp(-0.5 * ((WAVES_NM - 595.0) / 47.0) ** 2)
_OUTSIDE = black_body(OUTSIDE_K)
_OUTSIDE *= OUTSIDE_LUX / (OBSERVER[1] @ _OUTSIDE)


def beam_spectrum(
    altitude_deg: FloatOrArray, aerosol_depth: FloatOrArray, pressure_hpa: float = SEA_LEVEL_HPA
) -> FloatArray:
    """Return the direct beam's spectrum, on a plane square to it, the Earth 1 au from the sun.

    Parameters
    ----------
    altitude_deg, aerosol_depth : any shapes that fit together
        The sun's altitude as seen; the depth of haze at 550 nm. [°, 1]
    pressure_hpa : float
        At the place. [hPa]

    Returns
    -------
    shape (waves, ...)
        At ``WAVES_NM``, in units that ȳ sums to lux.

    Notes
    -----
    Molecules, haze and ozone dim it by the law of Beer and Lambert; the sun outside the air
    is taken as a black body of its colour temperature. Water vapour and the circumsolar
    glow are left out.
    """
    altitude, haze = np.broadcast_arrays(np.asarray(altitude_deg, dtype=float), np.asarray(aerosol_depth, dtype=float))
    air = air_mass(altitude)
    depth = np.multiply.outer(_RAYLEIGH, air * pressure_hpa / SEA_LEVEL_HPA)
    depth += np.multiply.outer(_HAZE, air * haze)
    depth += np.multiply.outer(_OZONE, ozone_mass(altitude))
    return np.exp(-depth) * _OUTSIDE.reshape(-1, *[1] * altitude.ndim)


def beam_lux(
    altitude_deg: FloatOrArray, aerosol_depth: FloatOrArray, pressure_hpa: float = SEA_LEVEL_HPA
) -> FloatArray:
    """Return the direct beam's illuminance on a plane square to it; as ``beam_spectrum``. [lx]"""
    return np.tensordot(OBSERVER[1], beam_spectrum(altitude_deg, aerosol_depth, pressure_hpa), axes=1)
