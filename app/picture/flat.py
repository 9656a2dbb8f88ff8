"""Shapes on the plan, told by the ends of their sides: what lies inside, how near they are, what crosses them."""

import numpy as np

from app.units import FloatArray


def sides_of(ring_m: FloatArray, closed: bool) -> FloatArray:
    """Return the sides of a ring or line by their ends, shape (sides, 2, 2). [m]"""
    ends = np.roll(ring_m, -1, axis=0)
    return np.stack([ring_m, ends], axis=1)[: None if closed else -1]


def inside(sides_m: FloatArray, points_m: FloatArray) -> np.ndarray:
    """Return whether points of shape (..., 2) lie in a shape given by its sides, by the even-odd rule."""
    return np.count_nonzero(passed(sides_m, points_m), axis=-1) % 2 == 1


def passed(sides_m: FloatArray, points_m: FloatArray) -> np.ndarray:
    """Return which sides a ray to the east from each point passes, shape (..., sides)."""
    x, y = points_m[..., 0, np.newaxis], points_m[..., 1, np.newaxis]
    (x0, y0), (x1, y1) = sides_m[:, 0].T, sides_m[:, 1].T
    crosses = (y0 > y) != (y1 > y)
    rise = np.where(y0 == y1, 1.0, y1 - y0)
    return crosses & (x < x0 + (y - y0) * (x1 - x0) / rise)


def crosses(start: FloatArray, along: FloatArray, there: FloatArray) -> bool:
    """Return whether the way from the camera to a place crosses any side."""
    cross = there[0] * along[:, 1] - there[1] * along[:, 0]
    apart = np.where(np.abs(cross) < 1e-12, np.inf, cross)
    share = (start[:, 0] * along[:, 1] - start[:, 1] * along[:, 0]) / apart
    aside = (start[:, 0] * there[1] - start[:, 1] * there[0]) / apart
    return bool(np.any((share > 0) & (share < 1) & (aside >= 0) & (aside <= 1)))


def nearest_m(sides_m: FloatArray, point_m: FloatArray) -> FloatArray:
    """Return how far a point is from each side. [m]"""
    along, to = sides_m[:, 1] - sides_m[:, 0], point_m - sides_m[:, 0]
    share = np.clip(np.sum(to * along, axis=1) / np.maximum(np.sum(along**2, axis=1), 1e-12), 0.0, 1.0)
    return np.linalg.norm(to - share[:, np.newaxis] * along, axis=1)
