"""What clouds leave of the light, on average over where they happen to be."""

import numpy as np

from app.units import FloatArray, FloatOrArray

TAKES, POWER = 0.75, 3.4


def cloud_factor(cover: FloatOrArray) -> FloatArray:
    """Return the share of sun and sky together that is left on level ground.

    Parameters
    ----------
    cover : any shape
        Share of the sky that is covered, 0..1; NaN outside.

    Returns
    -------
    same shape
        1 under a clear sky, 0.25 under an overcast one. [1]

    Notes
    -----
    F. Kasten & G. Czeplak, *Solar Energy* 24 (1980) 177: ten years at Hamburg, sun at 5°
    to 60°. High thin cloud leaves more and rain cloud far less; a meter tells.
    """
    covered = np.asarray(cover, dtype=float)
    covered = np.where((covered >= 0.0) & (covered <= 1.0), covered, np.nan)
    return 1.0 - TAKES * covered**POWER


def beam_left(cover: FloatOrArray) -> FloatArray:
    """Return the share of the direct beam that is left on average, as ``cloud_factor``.

    Kasten & Czeplak let the diffuse share of the whole grow with the square of the
    cover, from 0.3 to 1; here from what the clear sky of the moment has.
    """
    return cloud_factor(cover) * (1.0 - np.asarray(cover, dtype=float) ** 2)


def sky_left_lux(cover: FloatOrArray, sky_lux: FloatOrArray, beam_on_level_lux: FloatOrArray) -> FloatArray:
    """Return the light of sky and clouds on level ground: what the beam loses to them comes from them. [lx]

    Any shapes that fit together; with the beam that is left it makes up the whole that
    ``cloud_factor`` leaves.
    """
    return cloud_factor(cover) * (np.asarray(sky_lux) + np.asarray(cover, dtype=float) ** 2 * beam_on_level_lux)
