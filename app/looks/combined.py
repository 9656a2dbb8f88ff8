"""Margins made of margins: all of some conditions, or any of several ways to meet a look."""

from collections.abc import Sequence

import numpy as np

from app.looks.margin import Margin, Words
from app.looks.way import Bounds, Way
from app.sky.track import SunTrack
from app.units import FloatArray, FloatOrArray

LOWEST = -1.0  # where a margin of several is cut off: the dear ones need not be asked then


def unmoving(name: str, margin: FloatOrArray, opens: Words, closes: Words) -> Margin:
    """A condition that does not change with the sun; an array holds those of many places at one instant."""
    def value(sun: SunTrack) -> FloatArray:
        return np.broadcast_to(margin, np.broadcast_shapes(np.shape(margin), np.shape(sun.utc_s)))

    return Margin(name, value, opens, closes, steepest_per_deg=0.0)


def all_of(name: str, *margins: Margin) -> Margin:
    """All of some conditions as one: the smallest of them, but -1 at least, in the words of that one.

    Cheap ones first: each is asked only where those before it leave the matter open.
    """
    def words(sun: SunTrack, opening: bool) -> str:
        return min(margins, key=lambda margin: float(margin.value(sun))).because(sun, opening)

    return Margin(
        name=name,
        value=lambda sun: _smallest(margins, sun),
        opens=lambda sun: words(sun, True),
        closes=lambda sun: words(sun, False),
        bounds=lambda way: _all_bounds(margins, way),
    )


def any_of(name: str, *margins: Margin) -> Margin:
    """Any of several ways to meet a condition: the largest of them, in the words of that one."""
    def words(sun: SunTrack, opening: bool) -> str:
        return max(margins, key=lambda margin: float(margin.value(sun))).because(sun, opening)

    def bounds(way: Way) -> Bounds:
        low, high = zip(*(margin.between(way) for margin in margins), strict=True)
        return np.maximum.reduce(low), np.maximum.reduce(high)

    return Margin(
        name=name,
        value=lambda sun: np.maximum.reduce([margin.value(sun) for margin in margins]),
        opens=lambda sun: words(sun, True),
        closes=lambda sun: words(sun, False),
        bounds=bounds,
    )


def _smallest(margins: Sequence[Margin], sun: SunTrack) -> FloatArray:
    shape = np.shape(sun.utc_s)
    flat = SunTrack(sun.observer, *(np.reshape(part, -1) for part in (sun.utc_s, sun.azimuth_deg, sun.airless_deg)))
    smallest = np.full(flat.utc_s.shape, np.inf)
    for margin in margins:
        asked = np.flatnonzero(smallest > LOWEST)
        smallest[asked] = np.minimum(smallest[asked], margin.value(flat[asked]))
    return np.maximum(smallest, LOWEST).reshape(shape)


def _all_bounds(margins: Sequence[Margin], way: Way) -> Bounds:
    """Bounds of all: where one can no longer be positive, those after it are not asked, and the least is not known."""
    low, high = np.full(way.ends.utc_s.shape[1], np.inf), np.full(way.ends.utc_s.shape[1], np.inf)
    for margin in margins:
        asked = np.flatnonzero(high > 0)
        low[high <= 0] = -np.inf
        least, most = margin.between(way.take(asked))
        low[asked], high[asked] = np.minimum(low[asked], least), np.minimum(high[asked], most)
    return np.maximum(low, LOWEST), np.maximum(high, LOWEST)
