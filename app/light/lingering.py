"""The places of a low-sun map where the light stays longest."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.light.low_sun import LowSunMap
from app.place.site import Pin, Site, Water
from app.units import FloatArray

FEW = 3
APART_M = 20.0  # so that the few best are not one place told three times; no source


@dataclass(frozen=True)
class LingeringPlace:
    """The middle of a square in the site's local frame, and its minutes of low sun. [m, min]"""

    east_m: float
    north_m: float
    minutes: float


def lingering_places(
    site: Site, low: LowSunMap, near: Sequence[Pin] = (), few: int = FEW, apart_m: float = APART_M
) -> tuple[LingeringPlace, ...]:
    """Return the few squares that keep low sun longest, the best first.

    Parameters
    ----------
    site : Site
    low : LowSunMap
    near : sequence of Pin
        Of squares that keep it equally long, to the whole minute, the one nearest to
        any of these comes first; without any, the nearest to the site's centre.
    few : int
    apart_m : float
        No two of them are nearer to each other. [m]

    Notes
    -----
    Squares that are built on, lie in water, or get no low sun are left out. What is
    only drawn, a jetty over water, is not known here.
    """
    east_m, north_m = (axis.ravel() for axis in squares_m(low))
    minutes = np.where(low.built_on | _wet(site, low), 0.0, low.minutes).ravel()
    pins = np.array([_metres(site, pin) for pin in near] or [(0.0, 0.0)])
    away_m = np.hypot(east_m[:, np.newaxis] - pins[:, 0], north_m[:, np.newaxis] - pins[:, 1]).min(axis=1)
    order = np.lexsort([away_m, -np.round(minutes)])
    order = order[minutes[order] >= 0.5]
    found: list[LingeringPlace] = []
    while len(order) and len(found) < few:
        best = order[0]
        found.append(LingeringPlace(float(east_m[best]), float(north_m[best]), float(minutes[best])))
        order = order[np.hypot(east_m[order] - east_m[best], north_m[order] - north_m[best]) >= apart_m]
    return tuple(found)


def squares_m(low: LowSunMap) -> tuple[FloatArray, FloatArray]:
    """Return how far east and north the middle of each square lies, in the map's shape. [m]"""
    rows, columns = low.minutes.shape
    east = low.west_m + (np.arange(columns) + 0.5) * low.cell_m
    north = low.south_m + (np.arange(rows) + 0.5) * low.cell_m
    return tuple(np.meshgrid(east, north))


def _wet(site: Site, low: LowSunMap) -> np.ndarray:
    if not site.waters:
        return np.zeros(low.minutes.shape, dtype=bool)
    import shapely  # 0.1 s, so only when there is water

    return shapely.contains_xy(shapely.union_all([_sheet(site, one) for one in site.waters]), *squares_m(low))


def _sheet(site: Site, water: Water) -> object:
    import shapely

    rings = [np.stack(site.local_frame.to_metres(*np.array(ring).T[1::-1])[:2], axis=1) for ring in (water.ring, *water.holes)]
    return shapely.make_valid(shapely.Polygon(rings[0], rings[1:]))


def _metres(site: Site, pin: Pin) -> tuple[float, float]:
    east_m, north_m, _ = site.local_frame.to_metres(pin.lat_deg, pin.lon_deg)
    return float(east_m), float(north_m)
