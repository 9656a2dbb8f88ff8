"""Things that hide a stretch of the sky with free air under them, and how clear of them a disc stands."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from app.place.closed_line import ClosedLine
from app.units import FloatArray

NOWHERE_LOW_DEG, NOWHERE_HIGH_DEG = 180.0, -180.0  # the edges of a band where it is not


@dataclass(frozen=True, eq=False)
class Band:
    """A stretch of sky that is hidden from ``low_deg`` to ``high_deg``, with sky under it.

    Parameters
    ----------
    azimuth_deg : array_like
        Where its edges bend, ascending, 0 <= azimuth < 360; they are straight between. [°]
    low_deg, high_deg : array_like
        Its lower and upper edge there; ``NOWHERE_LOW_DEG`` and ``NOWHERE_HIGH_DEG``
        where it is not. [°]
    called : str
    """

    azimuth_deg: FloatArray
    low_deg: FloatArray
    high_deg: FloatArray
    called: str

    @cached_property
    def low(self) -> ClosedLine:
        return ClosedLine(self.azimuth_deg, self.low_deg)

    @cached_property
    def high(self) -> ClosedLine:
        return ClosedLine(self.azimuth_deg, self.high_deg)


def clearance_deg(
    skyline_deg: ArrayLike,
    bands: Sequence[tuple[FloatArray, FloatArray]],
    lowest_top_deg: ArrayLike,
    highest_top_deg: ArrayLike,
    disc_deg: ArrayLike,
) -> FloatArray:
    """Return how much of an upright strip of a disc shows between what hides the sky. [°]

    Parameters
    ----------
    skyline_deg : any shape
        Where the sky begins. [°]
    bands : sequence of (low, high)
        The edges of each band, of the same shape. [°]
    lowest_top_deg, highest_top_deg : same shape
        The strip's upper end; two of them, where it is only known within bounds, and
        then the answer is the most that can show if they are given in this order, the
        least if they are swapped. [°]
    disc_deg : same shape
        The strip's length. [°]

    Returns
    -------
    same shape
        Negative by how far the strip is hidden. A strip above everything has no upper
        bound: its top less the skyline. Continuous in every argument, and it never
        grows when anything grows that hides the sky.

    Notes
    -----
    Bands are taken by their lower edges, from below: a free stretch runs from p, the
    highest of the skyline and the upper edges passed so far, to q, the next lower edge.
    What shows in it is the least of top - p, q - (top - length) and q - p; the best
    stretch counts.
    """
    if not bands:
        return np.asarray(highest_top_deg - np.asarray(skyline_deg))
    shape = np.broadcast(skyline_deg, lowest_top_deg, disc_deg, bands[0][0]).shape
    lows, highs = (np.stack([np.broadcast_to(band[edge], shape) for band in bands]) for edge in (0, 1))
    order = np.argsort(lows, axis=0)
    start, best = np.broadcast_to(skyline_deg, shape), np.full(shape, -np.inf)
    for low, high in zip(np.take_along_axis(lows, order, 0), np.take_along_axis(highs, order, 0), strict=True):
        shows = np.minimum(highest_top_deg - start, low - start)
        best = np.maximum(best, np.minimum(shows, low - lowest_top_deg + disc_deg))
        start = np.maximum(start, high)
    return np.maximum(best, highest_top_deg - start)
