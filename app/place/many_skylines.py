"""The skylines of thousands of places at once, each asked in a direction or two."""

import numpy as np
from numpy.typing import ArrayLike

from app.place.bands import NOWHERE_HIGH_DEG, NOWHERE_LOW_DEG, clearance_deg
from app.place.obstacles import OPAQUE_BELOW
from app.place.shade import Rays
from app.place.sides import BoolArray, IntArray, Sides, drawn
from app.place.site import Site
from app.place.skyline import SUN_DEG, Skyline
from app.units import FloatArray

AT_ONCE = 400_000  # meetings of rays and sides looked at together
LEAST_M = 0.05  # nearer than this a side is where the eye is


class ManySkylines:
    """What hides the sky from many places of a site.

    Parameters
    ----------
    site : Site
    ground : Skyline
        Without the site's obstacles, from one of the places: it is much the same for all
        within some hundred metres.
    east_m, north_m : shape (places,)
        In the site's local frame. [m]
    eye_m : shape (places,)
        The eyes above the site's datum. [m]

    Notes
    -----
    Obstacles count as in ``Skyline`` of each place, but for the Earth's curve, which lowers
    a top 1 km away by 8 cm, and for a canopy whose outline a ray enters twice: it is taken
    as one from the first to the last. An answer's first axis is that of the places.
    """

    def __init__(self, site: Site, ground: Skyline, east_m: ArrayLike, north_m: ArrayLike, eye_m: ArrayLike) -> None:
        self.ground = ground
        self.east_m, self.north_m, self.eye_m = np.broadcast_arrays(*(np.asarray(one, dtype=float) for one in (east_m, north_m, eye_m)))
        self.things = drawn(site.obstacles)
        sides = self.things.sides_in(site.local_frame)
        self.sides = Sides(sides.start_m[:2], sides.end_m[:2], sides.owner)
        self._takes_sun = self.sides[(self.things.lets_through < OPAQUE_BELOW)[sides.owner]]

    def clearance_deg(self, azimuth_deg: float, upper_edge_deg: float, disc_deg: float = SUN_DEG) -> FloatArray:
        """Return how far a disc in one direction is clear of each place's skyline and roofs, shape (places,). [°]"""
        owner, point, away_m = self._rays(float(azimuth_deg)).met(self._takes_sun)
        floats = self.things.canopy[owner] & (self.things.base_m[owner] > self.eye_m[point])
        rise = (self.things.top_m[owner] - self.eye_m[point]) / np.maximum(away_m, LEAST_M)
        line = np.full(self.eye_m.shape, np.tan(np.radians(self.ground.altitude_at(azimuth_deg))))
        np.maximum.at(line, point[~floats], rise[~floats])
        bands = [self._band(one, point[of], away_m[of]) for one in np.unique(owner[floats]) for of in [floats & (owner == one)]]
        bands += [(np.full(line.shape, band.low.at(azimuth_deg)), np.full(line.shape, band.high.at(azimuth_deg))) for band in self.ground.bands]
        return clearance_deg(np.degrees(np.arctan(line)), bands, upper_edge_deg, upper_edge_deg, disc_deg)

    def altitude_at(self, azimuth_deg: ArrayLike) -> FloatArray:
        """Return the altitude of the lowest visible sky of each place, roofs left out.

        Parameters
        ----------
        azimuth_deg : shape (places, ...)
            Each place's own directions. [°]
        """
        azimuth = np.asarray(azimuth_deg, dtype=float)
        own = azimuth.reshape(len(self.eye_m), -1)
        highest = np.stack([self._highest(column) for column in own.T], axis=1)
        return np.maximum(highest.reshape(azimuth.shape), self.ground.altitude_at(azimuth))

    def sees(self, east_m: float, north_m: float, up_m: float) -> BoolArray:
        """Tell from which places nothing stands before a point, told in the site's frame and over its datum.

        Foliage hides as walls do; under a roof the view is free.
        """
        free = np.ones(self.eye_m.shape, dtype=bool)
        for some in self._chunks():
            here = np.stack([self.east_m[some], self.north_m[some]])
            cut, share = _crossings(here, np.array([[east_m], [north_m]]) - here, self.sides)
            height = self.eye_m[some][:, np.newaxis] + share * (up_m - self.eye_m[some])[:, np.newaxis]
            owner = self.sides.owner
            base = np.where(self.things.canopy, self.things.base_m, -np.inf)[owner]
            free[some] = ~np.any(cut & (share < 1.0) & (height < self.things.top_m[owner]) & (height > base), axis=1)
        return free

    def built_on(self) -> BoolArray:
        """Tell which places lie inside something that stands on the ground, or hard by its side."""
        solid = np.flatnonzero(self.things.closed & ~self.things.canopy)
        order = np.argsort(self.east_m)
        north = Rays(self.east_m[order], self.north_m[order], order, np.array([0.0, 1.0]))
        owner, point, _ = north.met(self.sides)
        counted = np.isin(owner, solid)
        crossings = np.bincount(owner[counted] * len(order) + point[counted], minlength=len(self.things.top_m) * len(order))
        return (crossings.reshape(-1, len(order)) % 2 == 1).any(axis=0)

    def _rays(self, azimuth_deg: float) -> Rays:
        bearing = np.radians(azimuth_deg)
        toward = np.array([np.sin(bearing), np.cos(bearing)])
        across = self.east_m * toward[1] - self.north_m * toward[0]
        order = np.argsort(across)
        return Rays(across[order], (self.east_m * toward[0] + self.north_m * toward[1])[order], order, toward)

    def _band(self, one: int, point: IntArray, away_m: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return from where to where a roof hides the sky of each place along the rays that met it. [°]"""
        near, far, met = (np.full(self.eye_m.shape, start) for start in (np.inf, -np.inf, 0.0))
        np.minimum.at(near, point, away_m)
        np.maximum.at(far, point, away_m)
        np.add.at(met, point, 1.0)
        near = np.where(met % 2 == 1, LEAST_M, np.maximum(near, LEAST_M))  # met once: the eye is under it
        there = met > 0
        base, top = self.things.base_m[one] - self.eye_m, self.things.top_m[one] - self.eye_m
        low = np.degrees(np.arctan2(base, np.where(there, far, 1.0)))
        high = np.degrees(np.arctan2(top, np.where(there, near, 1.0)))
        return np.where(there, low, NOWHERE_LOW_DEG), np.where(there, high, NOWHERE_HIGH_DEG)

    def _highest(self, azimuth_deg: FloatArray) -> FloatArray:
        """Return the highest top of each place along its own direction, -90 for none. [°]"""
        best, bearing = np.full(self.eye_m.shape, -np.inf), np.radians(azimuth_deg)
        for some in self._chunks():
            here, way = np.stack([self.east_m[some], self.north_m[some]]), np.stack([np.sin(bearing[some]), np.cos(bearing[some])])
            (cut, away_m), owner = _crossings(here, way, self._takes_sun), self._takes_sun.owner
            over = self.things.top_m[owner] - self.eye_m[some][:, np.newaxis]
            floats = self.things.canopy[owner] & (self.things.base_m[owner] > self.eye_m[some][:, np.newaxis])
            best[some] = np.where(cut & ~floats, over / np.maximum(away_m, LEAST_M), -np.inf).max(axis=1, initial=-np.inf)
        return np.degrees(np.arctan(best))

    def _chunks(self) -> list[slice]:
        step = max(1, AT_ONCE // max(len(self.sides.owner), 1))
        return [slice(first, first + step) for first in range(0, len(self.eye_m), step)]


def _crossings(here_m: FloatArray, way: FloatArray, sides: Sides) -> tuple[BoolArray, FloatArray]:
    """Return where ways from some places cross sides: whether, and how many lengths of the way on; shape (places, sides)."""
    (x0, y0), (x1, y1) = sides.start_m, sides.end_m
    along_x, along_y = x1 - x0, y1 - y0
    from_x, from_y = x0 - here_m[0][:, np.newaxis], y0 - here_m[1][:, np.newaxis]
    way_x, way_y = way[0][:, np.newaxis], way[1][:, np.newaxis]
    turn = way_x * along_y - way_y * along_x
    with np.errstate(divide="ignore", invalid="ignore"):
        ahead, aside = (from_x * along_y - from_y * along_x) / turn, (from_x * way_y - from_y * way_x) / turn
    return (turn != 0) & (ahead > 0) & (aside >= 0) & (aside < 1), ahead
