"""Outlines on the sensor: water, things that stand up, banks and people, and the same as water mirrors them."""

from collections.abc import Iterable, Sequence

import numpy as np

from app.lens.projection import View
from app.picture.flat import sides_of
from app.picture.people import Solid
from app.picture.sensor import hull, projected
from app.picture.stage import Pool, Stage, Thing
from app.units import FloatArray

Shapes = tuple[FloatArray, ...]  # polygons of shape (n, 2) that overlap or touch [mm]
CROWN_M = 3.0  # from one bulge of a soft top to the next
LEAST_CROWN_MM = 0.5  # smaller bulges cannot be seen
BULGES = np.array([0.0, 0.07, 0.25, 0.5, 0.75, 0.93])


def pool_outline(view: View, stage: Stage, pool: Pool) -> Shapes:
    """Return the edge of a sheet of water and its islands, the nearest water's level taken as a plane; even-odd. [mm]"""
    height_m = pool.water.surface_m - stage.eye_m
    rings = (projected(view, _raised(ring, height_m)) for ring in pool.rings_m)
    return tuple(ring for ring in rings if len(ring) > 2)


def thing_outline(view: View, stage: Stage, thing: Thing, mirror_m: float | None = None, soft: bool = False) -> Shapes:
    """Return what a thing covers of the picture.

    Parameters
    ----------
    view : View
    stage : Stage
    thing : Thing
    mirror_m : float, optional
        Height of the water whose image of the thing is wanted, above the datum. [m]
    soft : bool
        Whether the tops of trees and canopies are drawn as crowns; their highest points
        then reach the true top.

    Notes
    -----
    A camera inside an outline sees its top from above or its underside from below;
    the inside of a building or thicket is left out.
    """
    base_m, top_m = thing.base_m - stage.eye_m, thing.top_m - stage.eye_m
    if mirror_m is not None:
        level_m = 2 * (mirror_m - stage.eye_m)
        base_m, top_m = level_m - max(base_m, level_m / 2), level_m - top_m
    faces = list(_faces(view, thing, base_m, top_m, soft and thing.kind in ("trees", "canopy")))
    shapes = [shape for shape in (projected(view, face) for face in faces) if len(shape) > 2]
    if len(shapes) > 1 and thing.closed and not soft and _is_convex(thing.rings_m[0]):
        shapes = [hull(np.concatenate(shapes))]
    return tuple(_one_way_round(shape) for shape in shapes)


def bank_outline(
    view: View, stage: Stage, pool: Pool, mirrored: bool = False, faces: bool | None = None
) -> Shapes:
    """Return what the upright banks of a sheet of water cover of the picture. [mm]

    ``faces`` takes only those that turn their face to the camera, or only those that
    turn it away and hide the water behind their edge.
    """
    surface_m = pool.water.surface_m - stage.eye_m
    tops_m = pool.bank_tops_m - stage.eye_m
    tops_m = 2 * surface_m - tops_m if mirrored else tops_m
    some = np.ones(len(tops_m), dtype=bool) if faces is None else pool.bank_faces == faces
    walls = (_wall(side, surface_m, tops) for side, tops in zip(pool.bank_sides_m[some], tops_m[some], strict=True))
    shapes = (projected(view, wall) for wall in walls)
    return tuple(_one_way_round(shape) for shape in shapes if len(shape) > 2)


def people_outlines(view: View, stage: Stage, figures: Sequence[Solid], mirror_m: float | None = None) -> Shapes:
    """Return the people's outlines in the picture, or in the image that water at a height mirrors. [mm]"""
    return tuple(shape for shape in (projected(view, one) for one in _bodies(stage, figures, mirror_m)) if len(shape) > 2)


def in_view(view: View, things: Sequence[Thing]) -> tuple[Thing, ...]:
    """Return the things that may reach into the frame, told by their corners on the plan alone."""
    if not things:
        return ()
    counts = [sum(len(ring) for ring in thing.rings_m) for thing in things]
    corners = np.concatenate([ring for thing in things for ring in thing.rings_m])
    bearing = np.radians(view.bearing_deg)
    ahead = corners @ [np.sin(bearing), np.cos(bearing)]
    right = corners @ [np.cos(bearing), -np.sin(bearing)]
    reach = np.maximum(ahead, 0.0) * _widest_slope(view) + 1.0
    starts = np.concatenate([[0], np.cumsum(counts)[:-1]])
    out = [np.logical_and.reduceat(side, starts) for side in (ahead < 0, right > reach, right < -reach)]
    return tuple(thing for thing, gone in zip(things, np.any(out, axis=0), strict=True) if not gone or thing.holds_camera)


def _bodies(stage: Stage, figures: Sequence[Solid], mirror_m: float | None) -> Iterable[FloatArray]:
    """Yield the people's outlines in the upright plane through the couple, from the lens, shape (n, 3). [m]"""
    east, north = stage.couple_m / np.linalg.norm(stage.couple_m)
    for solid in figures:
        across, up = solid.outline_m()
        height = stage.couple_ground_m + up
        height = height if mirror_m is None else 2 * mirror_m - height
        there = stage.couple_m + across[:, np.newaxis] * [north, -east]
        yield np.column_stack([there, height - stage.eye_m])


def _widest_slope(view: View) -> float:
    """Return how far aside, per metre ahead on the plan, anything in the frame can be."""
    camera, tilt = view.camera, np.radians(abs(view.tilt_deg))
    ahead = np.cos(tilt) - np.sin(tilt) * camera.height_mm / 2 / camera.focal_mm
    return camera.width_mm / 2 / camera.focal_mm / ahead if ahead > 0.05 else np.inf


def _faces(view: View, thing: Thing, base_m: float, top_m: float, soft: bool) -> Iterable[FloatArray]:
    """Yield the faces that turn to the camera, heights from the lens, shape (n, 3)."""
    if not thing.holds_camera:
        for ring in thing.rings_m[:1]:
            sides = sides_of(ring, thing.closed)
            for side in sides[_turned_here(ring)] if thing.closed else sides:
                yield _crowned(view, side, base_m, top_m, thing) if soft else _wall(side, base_m, (top_m, top_m))
    low_m, high_m = min(base_m, top_m), max(base_m, top_m)
    if thing.closed and (high_m < 0 or low_m > 0):
        yield _raised(thing.rings_m[0], high_m if high_m < 0 else low_m)


def _wall(side_m: FloatArray, base_m: float, tops_m: Sequence[float]) -> FloatArray:
    (start, end), (start_top_m, end_top_m) = side_m, tops_m
    return np.array([[*start, base_m], [*end, base_m], [*end, end_top_m], [*start, start_top_m]])


def _crowned(view: View, side_m: FloatArray, base_m: float, top_m: float, thing: Thing) -> FloatArray:
    """Return a wall whose upper edge bulges like crowns beside one another."""
    start, end = side_m
    length_m, near_m = float(np.linalg.norm(end - start)), max(thing.far_m, 1.0)
    bulges = int(max(1, min(length_m / CROWN_M, view.camera.focal_mm * length_m / near_m / LEAST_CROWN_MM, 40)))
    share = ((np.arange(bulges)[:, np.newaxis] + BULGES) / bulges).ravel()[::-1]
    dent_m = np.copysign(min(0.25 * thing.body_m, 0.3 * CROWN_M), top_m - base_m)
    heights = top_m - dent_m * (1 - np.sqrt(np.abs(np.sin(np.pi * bulges * share))))
    upper = np.column_stack([start + share[:, np.newaxis] * (end - start), heights])
    lower = np.array([[*start, base_m], [*end, base_m], [*end, top_m - dent_m]])
    return np.concatenate([lower, upper])


def _turned_here(ring_m: FloatArray) -> np.ndarray:
    """Return which sides of a ring show their outside to the camera at the origin."""
    sides = sides_of(ring_m, True)
    (x0, y0), (x1, y1) = sides[:, 0].T, sides[:, 1].T
    turn = x0 * y1 - x1 * y0  # positive where the camera is on a side's left
    return turn * np.sum(turn) < 0


def _is_convex(ring_m: FloatArray) -> bool:
    along = np.roll(ring_m, -1, axis=0) - ring_m
    after = np.roll(along, -1, axis=0)
    turn = along[:, 0] * after[:, 1] - along[:, 1] * after[:, 0]
    return bool(np.all(turn >= -1e-9) or np.all(turn <= 1e-9))


def _raised(ring_m: FloatArray, height_m: float) -> FloatArray:
    return np.column_stack([ring_m, np.full(len(ring_m), height_m)])


def _one_way_round(shape_mm: FloatArray) -> FloatArray:
    """Return a polygon turned anticlockwise, so that several fill as one by the nonzero rule."""
    x, y = shape_mm.T
    return shape_mm if np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y) >= 0 else shape_mm[::-1]
