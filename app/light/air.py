"""The air that the sun's light comes through: how much of it, and how clear it is."""

import numpy as np

from app.units import FloatArray, FloatOrArray

SEA_LEVEL_HPA = 1013.25
LOWEST_DEG = -1.5  # the fit of the air mass turns round below this
OZONE_HEIGHT = 22.0 / 6370.0  # of the ozone layer over the Earth's radius

# Rain that the air could give, 1.5 cm: what Bird & Riordan's standard case has, and the middle
# latitudes on average. It is not known by place here, and light, unlike heat, hardly feels it.
WATER_CM = 1.5
CLEAREST = 0.02  # aerosol depth of the cleanest air there is over land; from memory


def air_mass(altitude_deg: FloatOrArray) -> FloatArray:
    """Return how much more air the light crosses than from the zenith, at sea level's pressure.

    Parameters
    ----------
    altitude_deg : any shape
        As seen, refraction included; held at -1.5° below. [°]

    Notes
    -----
    F. Kasten & A. T. Young, *Appl. Opt.* 28 (1989) 4735. Their table ends at the horizon.
    """
    altitude = np.maximum(np.asarray(altitude_deg, dtype=float), LOWEST_DEG)
    return 1.0 / (np.sin(np.radians(altitude)) + 0.50572 * (altitude + 6.07995) ** -1.6364)


def ozone_mass(altitude_deg: FloatOrArray) -> FloatArray:
    """Return how much more ozone the light crosses than from the zenith; any shape, held at 0° below. [°]

    The layer lies 22 km up: Robinson's formula as in R. E. Bird & C. Riordan, *J. Climate
    Appl. Meteor.* 25 (1986) 87, equation 9.
    """
    rise = np.sin(np.radians(np.maximum(np.asarray(altitude_deg, dtype=float), 0.0)))
    return (1.0 + OZONE_HEIGHT) / np.sqrt(rise**2 + 2.0 * OZONE_HEIGHT)


def aerosol_depth(linke: FloatOrArray, pressure_hpa: float = SEA_LEVEL_HPA) -> FloatArray:
    """Return the optical depth of haze at 550 nm that goes with a Linke turbidity.

    Parameters
    ----------
    linke : any shape
        Linke turbidity at air mass 2.
    pressure_hpa : float
        At the place. [hPa]

    Returns
    -------
    same shape
        Never under ``CLEAREST``. [1]

    Notes
    -----
    P. Ineichen, *Solar Energy* 82 (2008) 1095, solved for the depth, with 1.5 cm of
    water in the air; coefficients from memory, held in the tests against Kasten's
    formula of 1996, which it agrees with to 0.3 of turbidity.
    """
    thinner = SEA_LEVEL_HPA / pressure_hpa
    clean = 2.0 + 0.54 * thinner - 0.5 * thinner**2 + 0.16 * thinner**3 + 0.376 * np.log(WATER_CM)
    depth = (np.asarray(linke, dtype=float) - clean) / (3.91 * np.exp(0.689 / thinner))
    return np.maximum(depth, CLEAREST)
