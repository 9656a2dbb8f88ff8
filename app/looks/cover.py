"""How the people cover the sun, and the least and the most of that on the sun's way."""

import numpy as np

from app.looks.margin import Scene
from app.looks.way import Bounds, Way
from app.picture.frame import WIDEST_DEG, sun_depth_m, sun_on_couple_m
from app.picture.people import depth_m
from app.sky.track import SEMIDIAMETER_AT_1_AU_DEG, SunTrack
from app.units import FloatArray, turned_deg


def hidden_in_discs(scene: Scene, sun: SunTrack) -> FloatArray:
    """Return by how many of the disc's half widths it is more than hidden behind the people, -1 at least."""
    return _hidden(_depth_in_discs(scene, sun), _inside_in_discs(scene, sun))


def clear_in_discs(scene: Scene, sun: SunTrack) -> FloatArray:
    """Return how many of the disc's half widths its centre stands outside the people, 1 at most."""
    return _clear(_depth_in_discs(scene, sun), _inside_in_discs(scene, sun))


def hidden_bounds(scene: Scene, way: Way) -> Bounds:
    """Return the least and the most of ``hidden_in_discs`` on the sun's way between instants."""
    (shallow, deep), (least, most) = _depth_bounds(scene, way), _inside_bounds(scene, way)
    return _hidden(shallow, least), _hidden(deep, most)


def clear_bounds(scene: Scene, way: Way) -> Bounds:
    """Return the least and the most of ``clear_in_discs`` on the sun's way between instants."""
    (shallow, deep), (least, most) = _depth_bounds(scene, way), _inside_bounds(scene, way)
    return _clear(deep, most), _clear(shallow, least)


def comes_out(scene: Scene, sun: SunTrack) -> str:
    """Say where the sun crosses the people's outline: over a head, to a side, or between two of them."""
    across_m, up_m, _ = sun_on_couple_m(scene.setup, sun)
    figures = scene.setup.figures
    nearest = max(figures, key=lambda solid: float(solid.depth_m(across_m, up_m)))
    aside_m = float(across_m) - nearest.across_m
    if up_m - nearest.high_m > abs(aside_m):
        crown = max(solid.high_m for solid in figures if solid.across_m == nearest.across_m)
        return f"sun comes out over a {'head' if nearest.high_m == crown else 'shoulder'}"
    if any((solid.across_m - nearest.across_m) * aside_m > 0 for solid in figures):
        return "sun comes out between them"
    return f"sun comes out to the {'right' if aside_m > 0 else 'left'} of them"


def _hidden(depth: FloatArray, inside: FloatArray) -> FloatArray:
    return np.maximum(np.minimum(depth - 1.0, inside), -1.0)


def _clear(depth: FloatArray, inside: FloatArray) -> FloatArray:
    return np.minimum(np.maximum(-depth, -inside), 1.0)


def _depth_in_discs(scene: Scene, sun: SunTrack) -> FloatArray:
    """Return how deep behind the people the disc's centre stands, over the disc's half width."""
    depth, radius = sun_depth_m(scene.setup, sun)
    return depth / radius


def _inside_in_discs(scene: Scene, sun: SunTrack) -> FloatArray:
    """Return how far the sun stands within the widest angle off the line, over the disc's half width.

    Farther off the ray is held at that angle, and close to a row of people it
    would go on touching the last one wherever the sun went.
    """
    return (WIDEST_DEG - np.abs(turned_deg(sun.azimuth_deg, scene.setup.line_deg))) / SEMIDIAMETER_AT_1_AU_DEG


def _inside_bounds(scene: Scene, way: Way) -> Bounds:
    nearest, farthest = _off_line(*way.azimuth_deg(scene.setup.line_deg))
    return (WIDEST_DEG - farthest) / SEMIDIAMETER_AT_1_AU_DEG, (WIDEST_DEG - nearest) / SEMIDIAMETER_AT_1_AU_DEG


def _off_line(left_deg: FloatArray, right_deg: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the least and the most of the angle off the line, either side, between two offsets. [°]"""
    return np.maximum(np.maximum(left_deg, -right_deg), 0.0), np.maximum(-left_deg, right_deg)


def _depth_bounds(scene: Scene, way: Way) -> Bounds:
    """Return the least and the most of ``_depth_in_discs``.

    The ray's foot stays in a box across and up, and the depth changes by no more
    than the foot moves, so that the box's middle tells it for the whole box.
    """
    across_m, up_m, radius_m = _box_m(scene, way)
    reach_m = np.hypot(across_m[1] - across_m[0], up_m[1] - up_m[0]) / 2
    middle = (across_m[0] + across_m[1]) / 2, (up_m[0] + up_m[1]) / 2
    figures = scene.setup.figures
    depth = depth_m(figures, *middle) if figures else np.full_like(reach_m, -np.inf)
    shallow, deep = depth - reach_m, depth + reach_m
    return np.minimum(shallow / radius_m[0], shallow / radius_m[1]), np.maximum(deep / radius_m[0], deep / radius_m[1])


def _box_m(scene: Scene, way: Way) -> tuple[Bounds, Bounds, Bounds]:
    """Return the least and the most of what ``sun_on_couple_m`` gives: across, up and the radius. [m]"""
    setup = scene.setup
    left, right = (np.radians(np.clip(end, -WIDEST_DEG, WIDEST_DEG)) for end in way.azimuth_deg(setup.line_deg))
    slants = [setup.distance_m / np.cos(angle) for angle in _off_line(left, right)]
    low, high = (np.tan(np.radians(np.clip(end, -89.999, 80.0))) for end in way.refracted_deg)
    discs = np.tan(np.radians(way.ends.semidiameter_deg))
    return (
        (setup.distance_m * np.tan(left), setup.distance_m * np.tan(right)),
        (setup.eye_m + np.minimum(slants[0] * low, slants[1] * low), setup.eye_m + np.maximum(slants[0] * high, slants[1] * high)),
        (slants[0] * np.minimum(*discs), slants[1] * np.maximum(*discs)),
    )
