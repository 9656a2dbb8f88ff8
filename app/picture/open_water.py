"""Open water: where a plan shows only a piece of a sea that goes on to the horizon."""

from dataclasses import replace

import numpy as np

from app.picture.flat import sides_of
from app.picture.stage import Pool, Stage
from app.place.skyline import Skyline
from app.units import FloatArray

LEAST_FAR_M = 50.0  # a nearer edge is a shore, whatever lies behind it; common sense, no source
LEAST_DIP_DEG = 0.01  # a skyline this far under level is a sea's or a plain's


def opened(stage: Stage, pool: Pool, skyline: Skyline) -> Pool:
    """Return a sheet of water with its far edge moved out to the horizon where it is open.

    It is open where it is not sheltered, its edge is 50 m away or more with no more of
    it behind, and the skyline there lies under level, as only a horizon does. The edge
    then goes to where the water's level meets that skyline.
    """
    ring = pool.rings_m[0]
    far_m = np.linalg.norm(ring, axis=1)
    azimuth_deg = np.degrees(np.arctan2(ring[:, 0], ring[:, 1]))
    dip_deg = -np.asarray(skyline.altitude_at(azimuth_deg))
    open_here = (dip_deg > LEAST_DIP_DEG) & (far_m > LEAST_FAR_M) & _is_last(ring)
    eye_m = stage.eye_m - pool.water.surface_m
    if pool.water.sheltered or eye_m <= 0 or not open_here.any():
        return pool
    reach_m = np.maximum(far_m, eye_m / np.tan(np.radians(np.maximum(dip_deg, LEAST_DIP_DEG))))
    scale = np.where(open_here, reach_m / np.maximum(far_m, 1e-9), 1.0)
    return replace(pool, rings_m=(ring * scale[:, np.newaxis], *pool.rings_m[1:]))


def _is_last(ring_m: FloatArray) -> np.ndarray:
    """Return which corners have no side of the ring behind them, as seen from the camera."""
    start, end = np.moveaxis(sides_of(ring_m, True), 1, 0)
    along, ray = end - start, ring_m[:, np.newaxis]
    cross = ray[..., 0] * along[:, 1] - ray[..., 1] * along[:, 0]
    apart = np.where(np.abs(cross) < 1e-9, np.inf, cross)
    share = (start[:, 0] * along[:, 1] - start[:, 1] * along[:, 0]) / apart
    aside = (start[:, 0] * ray[..., 1] - start[:, 1] * ray[..., 0]) / apart
    return ~np.any((share > 1 + 1e-6) & (aside >= 0) & (aside <= 1), axis=1)
