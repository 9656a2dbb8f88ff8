"""How bright things are drawn: one fixed curve from luminance to tone, for every frame."""

import numpy as np

from app.light.exposure import ev100_of_cd_m2
from app.units import FloatArray, FloatOrArray

# To look right: the sky about a setting sun comes out light and leaves room for the sun's own disc, what
# is four stops under it dark, and an hour after sunset all is near black. Steepest, 0.11 a stop, at EV 10.5.
MIDDLE_EV, PER_STOP = 10.5, 0.55
BLACKEST, SPAN = 0.03, 0.80
DARKEST_CD_M2 = 1e-6


def tone(luminance_cd_m2: FloatOrArray) -> FloatArray:
    """Return how light a luminance is drawn, any shape, from 0.03 near black to 0.83.

    No exposure: the same luminance has the same tone in every frame, so that a dark frame
    is a dark evening and the stops between people and what is behind them can be seen.
    """
    luminance = np.maximum(np.asarray(luminance_cd_m2, dtype=float), DARKEST_CD_M2)
    return BLACKEST + SPAN / (1.0 + np.exp(PER_STOP * (MIDDLE_EV - np.asarray(ev100_of_cd_m2(luminance)))))
