"""What stands up on a site, seen from one viewpoint: its rim against the sky, and what it lets through."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from app.place.bands import NOWHERE_HIGH_DEG, NOWHERE_LOW_DEG, Band
from app.place.closed_line import ClosedLine
from app.place.geodesy import LocalFrame
from app.place.sides import BoolArray, Drawn, IntArray, Sides, drawn, spread
from app.place.site import Obstacle, Pin, Site
from app.units import FloatArray, compass_deg

EYE_HEIGHT_M = 1.6
STEP_DEG = 0.25  # between azimuths
GRID_DEG = np.arange(0.0, 360.0, STEP_DEG)
EDGE_DEG = 0.0005  # on either side of a corner's azimuth; the sun passes it in a quarter of a second or less
MOST_CORNERS = 400
OPAQUE_BELOW = 0.5  # what lets through less of the light takes the sun; common sense, no source
TOUCHING_M = 0.05  # an eye this near to a wall stands in it
HIDDEN_BY_DEG = 1.0  # a corner this far under both its neighbours on the skyline is behind something


def containing(site: Site, pin: Pin, eye_height_m: float = EYE_HEIGHT_M) -> tuple[Obstacle, ...]:
    """Return the obstacles that an eye over a pin stands in.

    Inside its outline, or within 5 cm of it, and lower than its top; in a canopy only
    from its base up, as under it there is free air. They are left out of the view
    from there, so a page has to say so.
    """
    seen = outlook(site, pin, eye_height_m)
    return tuple(one for one, holds in zip(site.obstacles, seen.holding, strict=True) if holds)


def light_through(
    site: Site, pin: Pin, eye_height_m: float, azimuth_deg: ArrayLike, altitude_deg: ArrayLike
) -> FloatArray:
    """Return the share of direct light that reaches an eye from some directions, 0..1.

    Parameters
    ----------
    azimuth_deg, altitude_deg : any shapes that fit together
        Where the light comes from, as seen; altitude below 90. [°]

    Returns
    -------
    same shape
        The product of what every obstacle on the ray lets through, each counted once;
        those the eye stands in are left out. Ground and sighted skyline play no part.
    """
    return outlook(site, pin, eye_height_m).light_through(azimuth_deg, altitude_deg)


def outlook(site: Site, pin: Pin, eye_height_m: float = EYE_HEIGHT_M) -> "Outlook":
    """Return what stands up on a site as an eye over a pin sees it."""
    eye_m = pin.ground_m + eye_height_m
    things = drawn(site.obstacles)
    return Outlook(things, things.sides_in(LocalFrame(pin.lat_deg, pin.lon_deg, eye_m)), eye_m)


@dataclass(frozen=True, eq=False)
class Outlook:
    """Obstacles from an eye.

    Attributes
    ----------
    things : Drawn
    sides : Sides
        In metres east, north and up of the eye.
    eye_m : float
        The eye above the site's datum. [m]

    Notes
    -----
    Buildings, walls and trees are solid from the ground to their flat top; a canopy
    is a slab from its base to its top, and counts as solid for an eye above its base.
    Seen at an azimuth θ, an edge's tangent of altitude is a sin θ + b cos θ: the plane
    through the eye and the edge. The Earth's curve is in it, the bending of light is
    left out: over the first kilometre it would lift a top by 1 cm.
    """

    things: Drawn
    sides: Sides
    eye_m: float

    @cached_property
    def holding(self) -> BoolArray:
        """Whether the eye stands in each obstacle."""
        count = len(self.things.top_m)
        inside = self.sides.hold_origin(count) & self.things.closed
        here = inside | (self.sides.nearest_m(count) < TOUCHING_M)
        return here & (self.eye_m < self.things.top_m) & ~self._floats

    @cached_property
    def rim_sides(self) -> Sides:
        """The sides of all that takes the sun from the ground up."""
        return self.sides[(self._takes_sun & ~self._floats)[self.sides.owner]]

    def rim(self, ground: ClosedLine) -> tuple[FloatArray, FloatArray, IntArray]:
        """Return where obstacles end against the sky.

        Parameters
        ----------
        ground : ClosedLine
            The skyline behind them; corners lower than it are not asked for.

        Returns
        -------
        azimuth_deg, altitude_deg, owner : shape (n,)
            Every 0.25°, at the ground's nodes, and close by on both sides of the
            corners that show, or of the 400 that stand out most; -90° and -1 where
            nothing stands. [°, °, 1]
        """
        altitude_deg, owner = _rim(self.rim_sides, GRID_DEG)
        corners = self._corners_showing(np.maximum(altitude_deg, ground.at(GRID_DEG)))
        more_deg = np.setdiff1d(np.append(_beside(corners), ground.azimuth_deg), GRID_DEG)
        more_altitude_deg, more_owner = _rim(self.rim_sides, more_deg)
        azimuth = np.append(GRID_DEG, more_deg)
        order = np.argsort(azimuth)
        return azimuth[order], np.append(altitude_deg, more_altitude_deg)[order], np.append(owner, more_owner)[order]

    def bands(self, ground: ClosedLine) -> Iterator[Band]:
        """Yield what canopies over the eye's level hide, where it rises above the ground's skyline."""
        for which in np.flatnonzero(self._takes_sun & self._floats):
            yield from self._bands_of(which, ground)

    def light_through(self, azimuth_deg: ArrayLike, altitude_deg: ArrayLike) -> FloatArray:
        """Return the share of light that comes through from directions of any shape, 0..1."""
        azimuth, altitude = np.broadcast_arrays(azimuth_deg, altitude_deg)
        order = np.argsort(azimuth.ravel() % 360.0, kind="stable")
        rays = (azimuth.ravel() % 360.0)[order]
        slope = np.tan(np.radians(altitude.ravel()))[order]
        share = np.ones(rays.shape)
        share[order] = self._shares(rays, slope)
        return share.reshape(azimuth.shape)

    def _shares(self, rays: FloatArray, slope: FloatArray) -> FloatArray:
        sides = self.sides[~self.holding[self.sides.owner]]
        which, ray = _hits(sides, rays)
        owner, distance = sides.owner[which], _distance_m(sides, which, rays[ray])
        top = distance * _rise(sides, which, rays[ray])
        height = distance * slope[ray]
        base = np.where(self._floats, self.things.base_m - self.eye_m, -np.inf)
        meets = (height <= top) & (height >= base[owner])
        through = (height > base[owner]) & (self._floats & self.things.closed)[owner]
        pair = owner * len(rays) + ray
        inside, crossings = np.unique(pair[through], return_counts=True)
        met = np.union1d(pair[meets], inside[crossings % 2 == 1])
        met_owner, met_ray = np.divmod(met, max(len(rays), 1))
        share = np.ones(rays.shape)
        np.multiply.at(share, met_ray, self.things.lets_through[met_owner])
        return share

    def _corners_showing(self, showing_deg: FloatArray) -> FloatArray:
        """Return the azimuths of corners that are not far under the skyline at both sides of them."""
        sides = self.rim_sides
        corner, place = np.append(sides.start_deg, sides.end_deg), np.hstack([sides.start_m, sides.end_m])
        before = (corner / STEP_DEG).astype(np.intp)
        lower = np.minimum(showing_deg, np.roll(showing_deg, -1))[before]
        stands_out = np.degrees(np.arctan2(place[2], np.hypot(place[0], place[1]))) - lower
        shows = np.flatnonzero(stands_out > -HIDDEN_BY_DEG)
        corner, which = np.unique(corner[shows], return_index=True)
        return corner[np.argsort(-stands_out[shows[which]])[:MOST_CORNERS]]

    def _bands_of(self, which: int, ground: ClosedLine) -> Iterator[Band]:
        sides, closed = self.sides[self.sides.owner == which], bool(self.things.closed[which])
        rays = np.union1d(GRID_DEG, _beside(np.append(sides.start_deg, sides.end_deg)))
        under = closed and bool(sides.hold_origin(which + 1)[which])
        base_m, top_m = self.things.base_m[which] - self.eye_m, self.things.top_m[which] - self.eye_m
        for near_m, far_m in _stretches_m(sides, rays, closed, under):
            there = np.isfinite(far_m)
            low = np.where(there, np.degrees(np.arctan2(base_m, far_m)), NOWHERE_LOW_DEG)
            high = np.where(there, np.degrees(np.arctan2(top_m, near_m)), NOWHERE_HIGH_DEG)
            if np.any(high > ground.at(rays)):
                kept = there | np.roll(there, 1) | np.roll(there, -1)
                yield Band(rays[kept], low[kept], high[kept], self.things.called[which])

    @cached_property
    def _floats(self) -> BoolArray:
        """Whether there is free air under each, as far as this eye is concerned."""
        return self.things.canopy & (self.things.base_m > self.eye_m)

    @cached_property
    def _takes_sun(self) -> BoolArray:
        return (self.things.lets_through < OPAQUE_BELOW) & ~self.holding


def _beside(corner_deg: FloatArray) -> FloatArray:
    """Return the azimuths close by on both sides of some."""
    return compass_deg(np.append(corner_deg - EDGE_DEG, corner_deg + EDGE_DEG))


def _hits(sides: Sides, rays_deg: FloatArray) -> tuple[IntArray, IntArray]:
    """Return which side and which ray meet, for every meeting; rays ascend from 0 to below 360.

    A side holds its left end but not its right one, so that a ray through a corner
    crosses an outline as often as its neighbours do.
    """
    start, end = sides.start_deg, sides.end_deg
    clockwise = (end - start + 180.0) % 360.0 >= 180.0
    low, high = np.where(clockwise, start, end), np.where(clockwise, end, start)
    first = _first_from(rays_deg, low)
    count = _first_from(rays_deg, np.where(high < low, high + 360.0, high)) - first
    (x0, y0, _), (x1, y1, _) = sides.start_m, sides.end_m
    edge_on = np.abs(x0 * y1 - x1 * y0) < 1e-9  # no width: its neighbours tell all there is
    which, place = spread(first, np.where(edge_on, 0, count))
    return which, np.where(place >= len(rays_deg), place - len(rays_deg), place)


def _rise(sides: Sides, which: IntArray, azimuth_deg: FloatArray) -> FloatArray:
    """Return the tangent of altitude of the tops of some sides, each at an azimuth. [1]"""
    (x0, y0, z0), (x1, y1, z1) = sides.start_m, sides.end_m
    with np.errstate(divide="ignore", invalid="ignore"):
        scale = 1.0 / (x0 * y1 - x1 * y0)
        east, north = (z0 * y1 - z1 * y0) * scale, (x0 * z1 - x1 * z0) * scale
    bearing = np.radians(azimuth_deg)
    return east[which] * np.sin(bearing) + north[which] * np.cos(bearing)


def _distance_m(sides: Sides, which: IntArray, azimuth_deg: FloatArray) -> FloatArray:
    """Return how far away some sides are, each at an azimuth. [m]"""
    (x0, y0, _), (x1, y1, _) = sides.start_m[:, which], sides.end_m[:, which]
    bearing = np.radians(azimuth_deg)
    return (x0 * y1 - x1 * y0) / (np.sin(bearing) * (y1 - y0) - np.cos(bearing) * (x1 - x0))


def _first_from(rays_deg: FloatArray, azimuth_deg: FloatArray) -> IntArray:
    """Return the number of the first ray at or after each azimuth, counted on through a second turn."""
    if rays_deg is GRID_DEG:
        return np.ceil(azimuth_deg / STEP_DEG).astype(np.intp)
    return np.searchsorted(np.append(rays_deg, rays_deg + 360.0), azimuth_deg)


def _rim(sides: Sides, rays_deg: FloatArray) -> tuple[FloatArray, IntArray]:
    """Return the highest altitude at each ray, and whose it is: -90° and -1 for nobody's."""
    which, ray = _hits(sides, rays_deg)
    rise = _rise(sides, which, rays_deg[ray])
    best, owner = np.full(rays_deg.shape, -np.inf), np.full(rays_deg.shape, -1)
    np.maximum.at(best, ray, rise)
    highest = rise == best[ray]
    owner[ray[highest]] = sides.owner[which[highest]]
    return np.degrees(np.arctan(best)), owner


def _stretches_m(
    sides: Sides, rays_deg: FloatArray, closed: bool, under: bool
) -> Iterator[tuple[FloatArray, FloatArray]]:
    """Yield from where to where each ray runs within an outline, nearest first; not finite where it does not. [m]"""
    which, ray = _hits(sides, rays_deg)
    distance = _distance_m(sides, which, rays_deg[ray])
    order = np.lexsort([distance, ray])
    ray, distance = ray[order], distance[order]
    rank = np.arange(len(ray)) - np.searchsorted(ray, ray)
    met = np.full((rank.max(initial=-1) + 2, len(rays_deg)), np.nan)
    met[rank, ray] = distance
    met = np.vstack([np.zeros(len(rays_deg)), met]) if under else met
    pairs = zip(met[::2], met[1::2], strict=False) if closed else zip(met[:-1], met[:-1], strict=True)
    return (pair for pair in pairs if np.isfinite(pair[1]).any())
