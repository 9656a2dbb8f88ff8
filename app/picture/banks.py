"""Banks: how the ground that camera and couple stand on comes down to water."""

from itertools import pairwise

import numpy as np

from app.units import FloatArray

STEEP_BANK_M, GENTLE_BANK_M = 5.0, 10.0  # from the line; common sense, no source
STRAIGHT_M = 0.02  # a bank's top may leave a straight line by less between two samples
SAMPLES = 65  # along a side, to find where it comes near the line

Standing = tuple[FloatArray, float]  # where a pin is, east and north, and its ground above the datum [m]


def banks(sides_m: FloatArray, surface_m: float, pins: tuple[Standing, Standing]) -> tuple[FloatArray, FloatArray]:
    """Return the pieces of an edge that lie near the line and under the pins' ground, and how high they rise."""
    share = np.linspace(0.0, 1.0, SAMPLES)[:, np.newaxis]
    points = sides_m[:, np.newaxis, 0] * (1 - share) + sides_m[:, np.newaxis, 1] * share
    top_m = _bank_tops(points, surface_m, pins)
    bends = [_bends(tops - surface_m) for tops in top_m]
    ends = [(side, first, last) for side, found in enumerate(bends) for first, last in pairwise(found)]
    side, first, last = np.array(ends, dtype=np.intp).reshape(-1, 3).T
    return np.stack([points[side, first], points[side, last]], axis=1), np.stack([top_m[side, first], top_m[side, last]], axis=1)


def _bank_tops(points: FloatArray, surface_m: float, pins: tuple[Standing, Standing]) -> FloatArray:
    """Return how high a bank would rise at some places; the water's surface where it runs out gently."""
    (start, start_m), (end, end_m) = pins
    along = np.clip((points - start) @ (end - start) / np.sum((end - start) ** 2), 0.0, 1.0)
    aside = np.linalg.norm(points - start - along[..., np.newaxis] * (end - start), axis=-1)
    steep = np.clip((GENTLE_BANK_M - aside) / (GENTLE_BANK_M - STEEP_BANK_M), 0.0, 1.0)
    return surface_m + steep * np.maximum(start_m + along * (end_m - start_m) - surface_m, 0.0)


def _bends(rise_m: FloatArray) -> list[int]:
    """Return the samples between which a bank's top is nearly straight, from where it leaves the water to where it is back."""
    risen = np.flatnonzero(rise_m > 1e-6)
    if not len(risen):
        return []
    first, last = max(risen[0] - 1, 0), min(risen[-1] + 1, len(rise_m) - 1)
    turned = np.abs(np.diff(rise_m, 2)) > STRAIGHT_M
    return [int(at) for at in np.unique([first, *(np.flatnonzero(turned) + 1), last]) if first <= at <= last]
