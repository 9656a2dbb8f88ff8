"""The colour of the day: the sun's through its air, the sky's, and both together on a face."""

import numpy as np
from numpy.typing import ArrayLike

from app.light.air import SEA_LEVEL_HPA, aerosol_depth
from app.light.beam import beam_spectrum
from app.light.clear_sky import clear_beam_lux, clear_sky_lux
from app.light.colour import chromaticity, colour_temperature_k, daylight_xy, mixed_xy
from app.units import FloatArray, FloatOrArray

# Of a whole clear sky, the sun left out. SPECTRL2 has 10 200 to 11 900 K for any sun from 5° up (pvlib's, haze 0.1).
CLEAR_SKY_K = 11_000.0


def sun_xy(altitude_deg: FloatOrArray, linke: FloatOrArray, pressure_hpa: float = SEA_LEVEL_HPA) -> FloatArray:
    """Return the chromaticity of the sun's direct beam.

    Parameters
    ----------
    altitude_deg, linke : any shapes that fit together
        The sun's altitude as seen, held at -1.5° below; Linke turbidity. [°, 1]
    pressure_hpa : float
        At the place. [hPa]

    Returns
    -------
    shape (2, ...)
        CIE 1931 x and y.
    """
    return chromaticity(beam_spectrum(altitude_deg, aerosol_depth(linke, pressure_hpa), pressure_hpa))


def sky_xy(
    altitude_deg: FloatOrArray,
    airless_deg: FloatOrArray,
    linke: FloatOrArray,
    cover: FloatOrArray = 0.0,
    pressure_hpa: float = SEA_LEVEL_HPA,
) -> FloatArray:
    """Return the chromaticity of sky and clouds, as they light level ground.

    Parameters
    ----------
    altitude_deg, airless_deg : any one shape
        Of the sun's middle as seen, and without the air's lift. [°]
    linke, cover : any shapes that fit
        Linke turbidity; share of the sky that is covered, 0..1. [1]
    pressure_hpa : float
        [hPa]

    Returns
    -------
    shape (2, ...)
        CIE 1931 x and y.

    Notes
    -----
    A clear sky has ``CLEAR_SKY_K`` at any altitude of the sun; a real one is bluer after
    sunset and warm where the sun went down. Clouds are grey: what they take of the beam
    they spread in its own colour, by as much as ``sky_left_lux`` has it.
    """
    beam = clear_beam_lux(altitude_deg, aerosol_depth(linke, pressure_hpa), pressure_hpa)
    spread = np.asarray(cover, dtype=float) ** 2 * beam * np.sin(np.radians(np.maximum(altitude_deg, 0.0)))
    clear = clear_sky_lux(altitude_deg, airless_deg, linke, pressure_hpa)
    blue = daylight_xy(np.full(np.shape(clear), CLEAR_SKY_K))
    return mixed_xy((blue, clear), (sun_xy(altitude_deg, linke, pressure_hpa), spread))


def together_k(sun: ArrayLike, sun_lux: ArrayLike, sky: ArrayLike, sky_lux: ArrayLike) -> FloatArray:
    """Return the correlated colour temperature of sun and sky on one thing.

    Parameters
    ----------
    sun, sky : shape (2, ...)
        Chromaticities, of ``sun_xy`` and ``sky_xy``.
    sun_lux, sky_lux : shape (...)
        What each gives there, the share that a grey ground throws back counted with it. [lx]

    Returns
    -------
    shape (...)
        NaN where there is no light. [K]
    """
    return colour_temperature_k(mixed_xy((sun, sun_lux), (sky, sky_lux)))
