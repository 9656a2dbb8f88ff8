"""The sides of what stands up on a site, as arrays, and the rays and points that lie behind each."""

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from app.place.geodesy import LocalFrame
from app.place.site import Obstacle
from app.units import FloatArray

IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]

_WORKED_OUT = ("start_deg", "end_deg")
_UNNAMED = {"building": "a building", "wall": "a wall", "trees": "trees", "canopy": "a canopy"}


@dataclass(frozen=True, eq=False)
class Sides:
    """The straight sides of obstacles, each an upright sheet under its upper edge.

    Attributes
    ----------
    start_m, end_m : arrays of shape (3, sides)
        East, north and up of the frame's origin, at the top. [m]
    owner : array of shape (sides,)
        Which obstacle each belongs to, by its place among those given.
    """

    start_m: FloatArray
    end_m: FloatArray
    owner: IntArray

    def __getitem__(self, which: object) -> "Sides":
        """Return some of the sides."""
        some = Sides(self.start_m[:, which], self.end_m[:, which], self.owner[which])
        some.__dict__.update({name: self.__dict__[name][which] for name in _WORKED_OUT if name in self.__dict__})
        return some

    @cached_property
    def start_deg(self) -> FloatArray:
        """The azimuth of each start, 0 <= azimuth < 360. [°]"""
        return _azimuth_deg(self.start_m)

    @cached_property
    def end_deg(self) -> FloatArray:
        """The azimuth of each end, 0 <= azimuth < 360. [°]"""
        return _azimuth_deg(self.end_m)

    def hold_origin(self, count: int) -> BoolArray:
        """Return, for each of ``count`` obstacles, whether the frame's origin lies inside its outline.

        By the even-odd rule, so that courtyards are outside and outlines may cross
        themselves; it means nothing for one that is not closed.
        """
        (x0, y0, _), (x1, y1, _) = self.start_m, self.end_m
        crosses = (y0 > 0) != (y1 > 0)
        rise = np.where(crosses, y1 - y0, 1.0)
        passed = crosses & (x0 - y0 * (x1 - x0) / rise > 0)
        return np.bincount(self.owner[passed], minlength=count) % 2 == 1

    def nearest_m(self, count: int) -> FloatArray:
        """Return how far the origin is from the outline of each of ``count`` obstacles, on the plan. [m]"""
        start, along = self.start_m[:2], self.end_m[:2] - self.start_m[:2]
        length = np.maximum((along**2).sum(axis=0), 1e-12)
        share = np.clip(-(start * along).sum(axis=0) / length, 0.0, 1.0)
        nearest = np.full(count, np.inf)
        np.minimum.at(nearest, self.owner, np.hypot(*(start + share * along)))
        return nearest


def _azimuth_deg(points_m: FloatArray) -> FloatArray:
    azimuth = np.degrees(np.arctan2(points_m[0], points_m[1]))
    return np.where(azimuth < 0.0, np.where(azimuth > -1e-13, 0.0, azimuth + 360.0), azimuth)


def spread(first: IntArray, count: IntArray) -> tuple[IntArray, IntArray]:
    """Return the members of ranges of numbers, one after the other, and which range each is of.

    ``first`` is where each range starts, ``count`` how many numbers it holds.
    """
    which = np.repeat(np.arange(len(first)), count)
    shift = first - (np.cumsum(count) - count)
    return which, np.arange(len(which)) + np.repeat(shift, count)


@dataclass(frozen=True, eq=False)
class Drawn:
    """Obstacles as arrays, the same for every viewpoint.

    Attributes
    ----------
    lat_deg, lon_deg, height_m : arrays of shape (corners,)
        Every corner of every ring in turn, at the top. [°, °, m]
    starts, owner : arrays of shape (sides,)
        The corner each side goes on from, and the obstacle it belongs to.
    top_m, base_m, lets_through, closed, canopy : arrays of shape (obstacles,)
        As in ``Obstacle``; whether it is a canopy.
    called : array of shape (obstacles + 1,)
        What each is called in a sentence; the last, for no obstacle, is empty.
    """

    lat_deg: FloatArray
    lon_deg: FloatArray
    height_m: FloatArray
    starts: IntArray
    owner: IntArray
    top_m: FloatArray
    base_m: FloatArray
    lets_through: FloatArray
    closed: BoolArray
    canopy: BoolArray
    called: NDArray[np.object_]

    def sides_in(self, frame: LocalFrame) -> Sides:
        """Return the sides in the metres of a frame."""
        corners = np.stack(frame.to_metres(self.lat_deg, self.lon_deg, self.height_m))
        return Sides(corners[:, self.starts], corners[:, self.starts + 1], self.owner)


def called(obstacle: Obstacle) -> str:
    """Return what an obstacle is called in a sentence: by its name, else “a building” and the like."""
    return obstacle.name if obstacle.name != obstacle.kind else _UNNAMED[obstacle.kind]


@lru_cache(maxsize=8)
def drawn(obstacles: tuple[Obstacle, ...]) -> Drawn:
    """Return obstacles as arrays; those of the last few sites are kept."""
    rings = [(which, ring) for which, one in enumerate(obstacles) for ring in (one.outline, *one.holes)]
    lengths = np.array([len(ring) for _, ring in rings], dtype=np.intp)
    owner = np.repeat(np.array([which for which, _ in rings], dtype=np.intp), lengths)
    corners = np.array([corner for _, ring in rings for corner in ring]).reshape(-1, 2)
    starts = np.delete(np.arange(len(corners)), np.cumsum(lengths) - 1)
    top_m, base_m, lets_through = (
        np.array([getattr(one, name) for one in obstacles], dtype=float) for name in ("top_m", "base_m", "lets_through")
    )
    closed = np.array([one.closed for one in obstacles], dtype=bool)
    canopy = np.array([one.kind == "canopy" for one in obstacles], dtype=bool)
    calls = np.array([*map(called, obstacles), ""], dtype=object)
    return Drawn(
        corners[:, 1], corners[:, 0], top_m[owner], starts, owner[starts],
        top_m, base_m, lets_through, closed, canopy, calls,
    )  # fmt: skip
