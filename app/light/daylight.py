"""Light of sun and sky on level ground under a clear sky, by the sun's altitude alone."""

import numpy as np

from app.units import FloatArray, FloatOrArray

# *Explanatory Supplement to the Astronomical Almanac*, Seidelmann ed. (1992), polynomial as
# reproduced in Vallado, *Fundamentals of Astrodynamics and Applications*, table 5-1: lowest
# altitude of each piece and the coefficients of log10 lux in x = altitude / 90°.
_PIECES = (
    (-18.0, (13.84, 262.72, 1447.42, 2797.93)),
    (-12.0, (2.70, 12.17, -431.69, -1899.83)),
    (-5.0, (2.88, 21.81, -258.11, -858.36)),
    (-0.8, (2.88, 22.26, -207.64, 1034.30)),
    (5.0, (3.05, 13.28, -45.98, 64.33)),
    (20.0, (3.74, 3.97, -4.07, 1.47)),
)
DARKEST_DEG = -18.0
JOINED_OVER_DEG = 0.5  # to either side of where two pieces meet


def horizontal_illuminance_lux(altitude_deg: FloatOrArray) -> FloatArray:
    """Return the illuminance of level ground, clear sky, no moon, mean turbidity. [lx]

    Any shape; airless altitude of the sun's centre, -18..90°, held at the lowest
    value below. The pieces meet within 5 %. [°]
    """
    altitude = np.maximum(np.asarray(altitude_deg, dtype=float), DARKEST_DEG)
    x = altitude / 90.0
    which = [altitude >= lowest for lowest, _ in _PIECES[::-1]]
    logs = [np.polynomial.polynomial.polyval(x, coefficients) for _, coefficients in _PIECES[::-1]]
    return 10.0 ** np.select(which, logs)


def joined_illuminance_lux(altitude_deg: FloatOrArray) -> FloatArray:
    """Return ``horizontal_illuminance_lux`` without its jumps where the pieces meet.

    Each piece is carried half a degree into the next, and the two are faded into each
    other along a smooth step; elsewhere it is the same. Any shape, held below -18°. [lx]
    """
    altitude = np.maximum(np.asarray(altitude_deg, dtype=float), DARKEST_DEG)
    x = altitude / 90.0
    log = np.polynomial.polynomial.polyval(x, _PIECES[0][1])
    for lowest_deg, coefficients in _PIECES[1:]:
        share = smooth_step(altitude, lowest_deg - JOINED_OVER_DEG, lowest_deg + JOINED_OVER_DEG)
        log = log + share * (np.polynomial.polynomial.polyval(x, coefficients) - log)
    return 10.0**log


def smooth_step(value: FloatOrArray, low: float, high: float) -> FloatArray:
    """Return 0 up to ``low``, 1 from ``high`` on, and between them a curve level at both ends; any shape."""
    part = np.clip((np.asarray(value, dtype=float) - low) / (high - low), 0.0, 1.0)
    return part * part * (3.0 - 2.0 * part)
