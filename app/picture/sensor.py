"""Flat shapes on the sensor: projected, cut to the frame, and how deep a point lies in one."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.lens.projection import View
from app.units import FloatArray, FloatOrArray

NEAREST_M = 0.05  # nothing nearer to the lens can be projected
AT_ONCE = 100_000  # sides times points that are measured together, so that their table stays in the cache


def projected(view: View, corners_m: FloatArray) -> FloatArray:
    """Return a flat shape as it falls on the sensor, without the part behind the lens.

    Parameters
    ----------
    view : View
    corners_m : shape (n, 3)
        East, north and up of the lens. [m]

    Returns
    -------
    shape (m, 2)
        x to the right and y up; no corners when all of it is behind. [mm]
    """
    seen = cut(corners_m @ _axes(view).T, np.array([0.0, 0.0, 1.0]), NEAREST_M)
    return seen[:, :2] * view.camera.focal_mm / seen[:, 2:]


def cut(corners: FloatArray, normal: FloatArray, least: float) -> FloatArray:
    """Return the part of a polygon where corner · normal >= least.

    Sutherland & Hodgman, *Comm. ACM* 17 (1974) 32-42. A bent shape that falls into
    parts keeps them joined by a doubled line along the cut, which has no area.
    """
    above = corners @ normal - least
    if len(corners) == 0 or np.all(above >= 0):
        return corners
    after, after_above = np.roll(corners, -1, axis=0), np.roll(above, -1)
    crosses = (above >= 0) != (after_above >= 0)
    share = above / np.where(crosses, above - after_above, 1.0)
    met = corners + share[:, np.newaxis] * (after - corners)
    return np.stack([corners, met], axis=1)[np.stack([above >= 0, crosses], axis=1)]


def framed(corners_mm: FloatArray, width_mm: float, height_mm: float) -> FloatArray:
    """Return the part of a polygon inside a box of these sides about the sensor's middle. [mm]"""
    for side, half in ((0, width_mm / 2), (1, height_mm / 2)):
        for sign in (1.0, -1.0):
            normal = np.zeros(2)
            normal[side] = sign
            corners_mm = cut(corners_mm, normal, -half)
    return corners_mm


def area_mm2(corners_mm: FloatArray) -> float:
    """Return the area of a polygon. [mm²]"""
    x, y = corners_mm.T
    return abs(float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))) / 2


def hull(points: FloatArray) -> FloatArray:
    """Return the corners of the smallest convex shape round some points, anticlockwise.

    A. M. Andrew, *Inf. Process. Lett.* 9 (1979) 216-219.
    """
    ordered = sorted({(x, y) for x, y in np.round(points, 6).tolist()})
    if len(ordered) < 3:
        return np.array(ordered).reshape(-1, 2)
    return np.array([*_chain(ordered)[:-1], *_chain(ordered[::-1])[:-1]])


@dataclass(frozen=True, eq=False)
class Region:
    """Some shapes on the sensor, ready to be measured.

    Attributes
    ----------
    start_mm, end_mm : shape (sides, 2)
        The ends of all their sides. [mm]
    first : shape (shapes,)
        The place of each shape's first side among them.
    """

    start_mm: FloatArray
    end_mm: FloatArray
    first: NDArray[np.intp]

    def depth_mm(self, x_mm: FloatOrArray, y_mm: FloatOrArray) -> FloatArray:
        """Return how deep points lie in the shape that holds them deepest, negative outside all.

        By the distance to the shape's edge; -infinity where there are no shapes. Any one
        shape. [mm]
        """
        x, y = np.broadcast_arrays(np.asarray(x_mm, dtype=float), np.asarray(y_mm, dtype=float))
        if not len(self.first):
            return np.full(x.shape, -np.inf)
        points, some = np.stack([x.ravel(), y.ravel()]), max(1, AT_ONCE // len(self.start_mm))
        parts = [self._depth(points[:, at : at + some]) for at in range(0, x.size, some)]
        return np.concatenate([np.empty(0), *parts]).reshape(x.shape)

    def _depth(self, points: FloatArray) -> FloatArray:
        """Return the depth of points of shape (2, n)."""
        along, start = (self.end_mm - self.start_mm).T[:, :, np.newaxis], self.start_mm.T[:, :, np.newaxis]
        to_x, to_y = points[0] - start[0], points[1] - start[1]
        length = np.maximum(along[0] ** 2 + along[1] ** 2, 1e-18)
        share = np.clip((to_x * along[0] + to_y * along[1]) / length, 0.0, 1.0)
        far = np.minimum.reduceat(np.square(to_x - share * along[0]) + np.square(to_y - share * along[1]), self.first)
        crosses = (start[1] > points[1]) != (self.end_mm[:, 1:] > points[1])
        rise = np.where(along[1] == 0, 1.0, along[1])
        passed = np.add.reduceat(crosses & (to_x < to_y * along[0] / rise), self.first, dtype=np.intp)
        return np.where(passed % 2 == 1, np.sqrt(far), -np.sqrt(far)).max(axis=0)


def region_of(shapes_mm: Sequence[Sequence[FloatArray]]) -> Region:
    """Return shapes ready to be measured, each given as outlines and holes of shape (n, 2), by the even-odd rule. [mm]"""
    sides = [[np.stack([ring, np.roll(ring, -1, axis=0)]) for ring in rings if len(ring) > 2] for rings in shapes_mm]
    flat = [side for rings in sides for side in rings]
    start, end = np.concatenate(flat, axis=1) if flat else np.empty((2, 0, 2))
    counts = [sum(side.shape[1] for side in rings) for rings in sides if rings]
    return Region(start, end, np.cumsum([0, *counts])[:-1])


def direction_of(view: View, x_mm: FloatOrArray, y_mm: FloatOrArray) -> tuple[FloatArray, FloatArray]:
    """Return azimuth and altitude of what falls on points of the sensor, any shape. [°]"""
    x, y = np.broadcast_arrays(np.asarray(x_mm, dtype=float), np.asarray(y_mm, dtype=float))
    on_sensor = np.stack([x, y, np.full(x.shape, view.camera.focal_mm)], axis=-1)
    east, north, up = np.moveaxis(on_sensor @ _axes(view), -1, 0)
    return np.degrees(np.arctan2(east, north)) % 360.0, np.degrees(np.arctan2(up, np.hypot(east, north)))


def frame_grid(view: View, columns: int, rows: int) -> tuple[FloatArray, FloatArray]:
    """Return the middles of equal cells of the frame as x and y, shape (rows, columns), from its top left. [mm]"""
    camera = view.camera
    x = ((np.arange(columns) + 0.5) / columns - 0.5) * camera.width_mm
    y = (0.5 - (np.arange(rows) + 0.5) / rows) * camera.height_mm
    return tuple(np.meshgrid(x, y))


def _axes(view: View) -> FloatArray:
    """Return right, up and forward of the camera, a row each, as east, north and up."""
    bearing, tilt = np.radians([view.bearing_deg, view.tilt_deg])
    sin, cos, rise, level = np.sin(bearing), np.cos(bearing), np.sin(tilt), np.cos(tilt)
    return np.array([[cos, -sin, 0.0], [-sin * rise, -cos * rise, level], [sin * level, cos * level, rise]])


def _chain(ordered: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return the corners on one side of a hull, from the first point to the last."""
    kept: list[tuple[float, float]] = []
    for point in ordered:
        while len(kept) > 1 and _turns_right(kept[-2], kept[-1], point):
            kept.pop()
        kept.append(point)
    return kept


def _turns_right(one: tuple[float, float], two: tuple[float, float], three: tuple[float, float]) -> bool:
    return (two[0] - one[0]) * (three[1] - one[1]) <= (two[1] - one[1]) * (three[0] - one[0])
