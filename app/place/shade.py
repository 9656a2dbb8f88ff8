"""Shade on the plan: the ground that obstacles keep the sun from, drawn as polygons or asked at points."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from app.place.geodesy import LocalFrame
from app.place.sides import BoolArray, IntArray, Sides, drawn, spread
from app.place.site import Obstacle, Site
from app.units import FloatArray

if TYPE_CHECKING:
    from shapely import MultiPolygon, Polygon

LOWEST_DEG = 1.0  # shadows are drawn as long as this sun makes them, 57 heights; longer ones mean nothing on real ground
DATUM_M = 0.0
AT_ONCE = 64  # sides looked at together, so that the work stays in the processor's cache
LEAST_AREA_M2 = 1e-6  # a sheet seen edge-on casts a line


@dataclass(frozen=True)
class Shade:
    """Ground in the shade of one thing.

    ``area`` is in metres of the site's local frame, east and north; ``lets_through``
    the share of direct light that comes through, 0..1.
    """

    obstacle: Obstacle
    area: "Polygon | MultiPolygon"
    lets_through: float


def shade_polygons(
    site: Site,
    sun_azimuth_deg: float,
    sun_altitude_deg: float,
    ground_m: float | None = DATUM_M,
    above_ground_m: float = 0.0,
) -> tuple[Shade, ...]:
    """Return what every obstacle shades on level ground.

    Parameters
    ----------
    sun_azimuth_deg, sun_altitude_deg : float
        Where the middle of the sun is seen, the air's lift included. [°]
    ground_m : float, optional
        The level of the ground above the site's datum. None takes the ground to be level
        at each obstacle's own base, which is nearer to the truth where a site slopes; a
        canopy's ground is then the datum. [m]
    above_ground_m : float
        How high over the ground the shade is asked for: 0 for the shadow as it lies there,
        1.6 for that on faces. [m]

    Returns
    -------
    tuple of Shade
        In the order of the site's obstacles, without those that cast none. Empty when the
        sun is not above level: then all is shade.

    Notes
    -----
    A height h casts a shadow of h / tan(altitude); below 1° it is drawn as long as at 1°,
    57 heights. Buildings, walls and trees stand solid on the ground; under a canopy's base
    the air is free, so its shadow may lie apart from it. The sun counts as a point: the
    true edge is blurred over 1/107 of the way from what casts it.
    """
    if not sun_altitude_deg > 0.0:
        return ()
    field = ShadeField(site, ground_m, above_ground_m)
    away = -_unit(sun_azimuth_deg) / np.tan(np.radians(max(sun_altitude_deg, LOWEST_DEG)))
    frame = site.local_frame
    areas = (
        (site.obstacles[which], _swept(site.obstacles[which], frame, field.low_m[which] * away, field.high_m[which] * away))
        for which in np.flatnonzero(field.high_m > 0.0)
    )
    return tuple(Shade(one, area, one.lets_through) for one, area in areas if not area.is_empty)


class ShadeField:
    """The obstacles of a site over level ground, and the light that comes past them to points of it.

    Parameters
    ----------
    site, ground_m, above_ground_m
        As in :func:`shade_polygons`.

    Attributes
    ----------
    low_m, high_m : arrays of shape (obstacles,)
        Between which heights over the shaded level each takes the light. [m]
    """

    def __init__(self, site: Site, ground_m: float | None = DATUM_M, above_ground_m: float = 0.0) -> None:
        self.things = drawn(site.obstacles)
        sides = self.things.sides_in(site.local_frame)
        self.sides = Sides(sides.start_m[:2], sides.end_m[:2], sides.owner)
        own_ground_m = np.where(self.things.canopy, DATUM_M, self.things.base_m)
        level_m = (own_ground_m if ground_m is None else ground_m) + above_ground_m
        self.low_m = np.where(self.things.canopy, np.maximum(self.things.base_m - level_m, 0.0), 0.0)
        self.high_m = self.things.top_m - level_m

    def at(self, east_m: ArrayLike, north_m: ArrayLike) -> "ShadedPoints":
        """Return points of the ground, in metres of the site's local frame, ready to be asked."""
        return ShadedPoints(self, np.ravel(east_m).astype(float), np.ravel(north_m).astype(float))


class ShadedPoints:
    """Some points of a :class:`ShadeField`.

    Attributes
    ----------
    built_on : array of bool, shape (points,)
        Whether something solid and opaque stands there.
    """

    def __init__(self, field: ShadeField, east_m: FloatArray, north_m: FloatArray) -> None:
        self.field, self.east_m, self.north_m = field, east_m, north_m
        things = field.things
        stands, opaque = (field.high_m > 0.0) & (field.low_m == 0.0), things.lets_through == 0.0
        self._partly = np.flatnonzero(stands & ~opaque)
        self._floating = np.flatnonzero((field.high_m > 0.0) & (field.low_m > 0.0))
        self._sides = {one: field.sides[field.sides.owner == one] for one in np.flatnonzero(field.high_m > 0.0)}
        self._opaque_sides = field.sides[(stands & opaque)[field.sides.owner]]
        self.built_on = self._inside(np.flatnonzero(stands & opaque)).any(axis=0)
        self._among = self._inside(self._partly)

    def light(self, sun_azimuth_deg: float, sun_altitude_deg: float) -> FloatArray:
        """Return the share of direct light that reaches each point, 0..1; nothing from a sun not above level."""
        if not sun_altitude_deg > 0.0:
            return np.zeros(self.east_m.shape)
        rise = np.tan(np.radians(sun_altitude_deg))
        low_m, high_m = self.field.low_m / rise, self.field.high_m / rise
        toward = _unit(sun_azimuth_deg)
        across_m = self.east_m * toward[1] - self.north_m * toward[0]
        order = np.argsort(across_m)
        rays = Rays(across_m[order], (self.east_m * toward[0] + self.north_m * toward[1])[order], order, toward)
        light = np.where(self.built_on, 0.0, 1.0)
        for first in range(0, len(self._opaque_sides.owner), AT_ONCE):
            owner, point, away_m = rays.met(self._opaque_sides[first : first + AT_ONCE])
            light[point[away_m <= high_m[owner]]] = 0.0
        self._dim(light, self._partly, self._among | self._met(self._partly, rays, low_m, high_m))
        self._dim(light, self._floating, self._met(self._floating, rays, low_m, high_m))
        return light

    def _dim(self, light: FloatArray, which: IntArray, shaded: BoolArray) -> None:
        for one, points in zip(which, shaded, strict=True):
            light[points] *= self.field.things.lets_through[one]

    def _met(self, which: IntArray, rays: "Rays", low_m: FloatArray, high_m: FloatArray) -> BoolArray:
        """Return whether each thing stands between each point and the sun, shape (things, points).

        It does if the ray crosses its outline between its two heights, or is within it on
        coming to the lower one: then an odd number of crossings is still ahead.
        """
        met = np.zeros((len(which), len(self.east_m)), dtype=bool)
        for row, one in enumerate(which):
            _, point, away_m = rays.met(self._sides[one])
            met[row, point[(away_m >= low_m[one]) & (away_m <= high_m[one])]] = True
            if low_m[one] > 0.0 and self.field.things.closed[one]:
                met[row] |= np.bincount(point[away_m > low_m[one]], minlength=met.shape[1]) % 2 == 1
        return met

    def _inside(self, which: IntArray) -> BoolArray:
        """Return whether each point lies in each closed outline, by the even-odd rule, shape (things, points)."""
        order = np.argsort(self.east_m)
        rays = Rays(self.east_m[order], self.north_m[order], order, np.array([0.0, 1.0]))
        inside = np.zeros((len(which), len(order)), dtype=bool)
        for row, one in enumerate(which):
            if self.field.things.closed[one]:
                _, point, _ = rays.met(self._sides[one])
                inside[row] = np.bincount(point, minlength=len(order)) % 2 == 1
        return inside


@dataclass(frozen=True, eq=False)
class Rays:
    """Rays from points toward the sun, on the plan.

    Attributes
    ----------
    across_m, along_m : arrays of shape (points,)
        The points right of and along the way to the sun, from left to right. [m]
    point : array of shape (points,)
        Which point each is.
    toward : array of shape (2,)
        East and north of a metre toward the sun. [m]
    """

    across_m: FloatArray
    along_m: FloatArray
    point: IntArray
    toward: FloatArray

    def met(self, sides: Sides) -> tuple[IntArray, IntArray, FloatArray]:
        """Return the owner, the point and the distance of every meeting of a ray with a side. [m]"""
        (x0, y0), (x1, y1) = sides.start_m, sides.end_m
        across0, across1 = (x * self.toward[1] - y * self.toward[0] for x, y in ((x0, y0), (x1, y1)))
        along0, along1 = (x * self.toward[0] + y * self.toward[1] for x, y in ((x0, y0), (x1, y1)))
        first, last = np.searchsorted(self.across_m, np.sort([across0, across1], axis=0))
        which, ray = spread(first, last - first)
        slope = (along1 - along0) / np.where(across1 == across0, 1.0, across1 - across0)
        away_m = along0[which] + slope[which] * (self.across_m[ray] - across0[which]) - self.along_m[ray]
        ahead = away_m >= 0.0
        return sides.owner[which[ahead]], self.point[ray[ahead]], away_m[ahead]


def _unit(azimuth_deg: float) -> FloatArray:
    azimuth = np.radians(azimuth_deg)
    return np.array([np.sin(azimuth), np.cos(azimuth)])


def _swept(one: Obstacle, frame: LocalFrame, near_m: FloatArray, far_m: FloatArray) -> "Polygon | MultiPolygon":
    """Return what an obstacle's outline sweeps over while it moves from one shift to another.

    Its inside at the far end needs no mention: what is in it was inside from the start,
    or some side has passed over it.
    """
    import shapely  # 0.1 s, so only when there is shade to draw

    rings = [np.stack(frame.to_metres(*np.array(ring).T[::-1], one.top_m)[:2], axis=1) for ring in (one.outline, *one.holes)]
    sides = [np.stack([ring[:-1], ring[1:]]) for ring in rings]
    sheets = shapely.polygons(np.concatenate([[*(pair + near_m), *(pair[::-1] + far_m)] for pair in sides], axis=1).swapaxes(0, 1))
    sheets = sheets[shapely.area(sheets) > LEAST_AREA_M2]
    if not one.closed:
        return shapely.union_all(sheets)
    inside = shapely.make_valid(shapely.Polygon(rings[0] + near_m, [ring + near_m for ring in rings[1:]]))
    return shapely.union_all([inside, *sheets])
