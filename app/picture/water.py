"""The level mirror: what still water shows of sun, sky and skyline, and where it really shows it."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np

from app.lens.projection import View
from app.picture.open_water import opened
from app.picture.outlines import Shapes, bank_outline, in_view, people_outlines, pool_outline, thing_outline
from app.picture.people import Solid
from app.picture.sensor import Region, area_mm2, direction_of, frame_grid, framed, region_of
from app.picture.setup import Setup
from app.picture.stage import Pool, Stage, Thing, stage_of
from app.place.obstacles import OPAQUE_BELOW
from app.place.site import Site, Water
from app.place.skyline import Skyline
from app.sky.track import SunTrack
from app.units import FloatArray, FloatOrArray

GRID = (48, 32)  # cells of the frame by which shares of it are told


def touches_water_m(eye_m: FloatOrArray, altitude_deg: FloatOrArray) -> FloatArray:
    """Return how far away the image of something far off lies on level water: h / tan a.

    Parameters
    ----------
    eye_m, altitude_deg : any shapes that fit together
        The eye above the water, and the altitude as seen. [m, °]

    Returns
    -------
    same shape
        NaN where either is not above 0. [m]
    """
    eye, altitude = np.broadcast_arrays(np.asarray(eye_m, dtype=float), np.asarray(altitude_deg, dtype=float))
    sees = (eye > 0) & (altitude > 0) & (altitude < 90)
    return np.where(sees, eye / np.tan(np.radians(np.where(sees, altitude, 45.0))), np.nan)


def meets_water_m(distance_m: FloatOrArray, eye_m: FloatOrArray, height_m: FloatOrArray) -> FloatArray:
    """Return how far away the image of a point lies on level water: D h / (h + z).

    Parameters
    ----------
    distance_m, eye_m, height_m : any shapes that fit together
        To the point over the ground; eye and point above the water. [m]

    Returns
    -------
    same shape
        NaN where eye or point is below the water, or both on it. [m]
    """
    distance, eye, height = np.broadcast_arrays(*(np.asarray(one, dtype=float) for one in (distance_m, eye_m, height_m)))
    sees = (eye >= 0) & (height >= 0) & (eye + height > 0)
    return np.where(sees, distance * eye / np.where(sees, eye + height, 1.0), np.nan)


def image_depression_deg(distance_m: FloatOrArray, eye_m: FloatOrArray, height_m: FloatOrArray) -> FloatArray:
    """Return how far under level a point's image is seen, eye and point above the water: atan((z + h) / D). [°]"""
    return np.degrees(np.arctan2(np.asarray(height_m, dtype=float) + eye_m, distance_m))


@dataclass(frozen=True)
class Part:
    """One shape that says where a mirror shows open sky.

    Attributes
    ----------
    kind : str
        “frame”, “water”, “before” for what stands before the water, “mirrored” for
        what covers the sky in it.
    called : str
    shapes_mm : tuple of arrays of shape (n, 2)
        None for the frame itself. [mm]
    """

    kind: str
    called: str
    shapes_mm: Shapes = ()


@dataclass(frozen=True, eq=False)
class Mirror:
    """A sheet of water as a camera has it.

    Attributes
    ----------
    stage : Stage
    view : View
    pool : Pool
    parts : tuple of Part
        The frame, the water, then all that is before it or mirrored in it and takes light.
    """

    stage: Stage
    view: View
    pool: Pool
    parts: tuple[Part, ...]

    @property
    def water(self) -> Water:
        return self.pool.water

    @property
    def eye_m(self) -> float:
        """The lens above the water. [m]"""
        return self.stage.eye_m - self.water.surface_m

    @cached_property
    def area_mm2(self) -> float:
        """How much of the frame lies within the water's edge, whatever stands before it. [mm²]"""
        outer, *islands = (area_mm2(framed(ring, *_sides(self.view))) for ring in self.parts[1].shapes_mm)
        return max(0.0, outer - sum(islands))

    def open_mm(self, x_mm: FloatOrArray, y_mm: FloatOrArray) -> FloatArray:
        """Return how deep points of the sensor lie in water that shows open sky, negative outside. [mm]

        Skyline and clouds apart; any one shape. Its sign is exact and it changes by no
        more than a point is moved; inside it is never more than the distance to where the
        open water ends, outside it may be nearer to 0 than the true distance.
        """
        return np.minimum(self.seen_mm(x_mm, y_mm), -self._mirrored.depth_mm(x_mm, y_mm))

    def seen_mm(self, x_mm: FloatOrArray, y_mm: FloatOrArray) -> FloatArray:
        """Return how deep points lie in water that the camera sees, whatever it mirrors. [mm]"""
        inside = np.minimum(self.view.inside_mm(x_mm, y_mm), self._surface.depth_mm(x_mm, y_mm))
        return np.minimum(inside, -self._before.depth_mm(x_mm, y_mm))

    def ends_at(self, x_mm: float, y_mm: float) -> Part:
        """Return what ends the open mirror nearest to a point, or keeps the point out of it."""
        return min(self.parts, key=lambda part: self._depth(part, x_mm, y_mm))

    @cached_property
    def sky_cells(self) -> tuple[FloatArray, FloatArray, int]:
        """Where cells of the frame that show open sky mirror it, azimuth and altitude, and how many show water. [°, °, 1]"""
        x, y = frame_grid(self.view, *GRID)
        seen = self.seen_mm(x, y) > 0
        x, y = x[seen], y[seen]
        azimuth_deg, altitude_deg = direction_of(self.view, x, y)
        free = self._mirrored.depth_mm(x, y) < 0
        return azimuth_deg[free], -altitude_deg[free], len(x)

    @cached_property
    def _surface(self) -> Region:
        return region_of([self.parts[1].shapes_mm])

    @cached_property
    def _before(self) -> Region:
        return region_of([[shape] for part in self.parts if part.kind == "before" for shape in part.shapes_mm])

    @cached_property
    def _mirrored(self) -> Region:
        return region_of([[shape] for part in self.parts if part.kind == "mirrored" for shape in part.shapes_mm])

    def _depth(self, part: Part, x_mm: float, y_mm: float) -> float:
        if part.kind == "frame":
            return float(self.view.inside_mm(x_mm, y_mm))
        if part.kind == "water":
            return float(self._surface.depth_mm(x_mm, y_mm))
        return -float(region_of([[shape] for shape in part.shapes_mm]).depth_mm(x_mm, y_mm))


@dataclass(frozen=True, eq=False)
class SunImage:
    """The sun's image in a mirror at many instants; all arrays have the track's shape.

    Attributes
    ----------
    x_mm, y_mm : array
        Where it lies on the sensor; NaN behind the camera. [mm]
    touches_m : array
        How far away it lies on the water's level; NaN with the sun down. [m]
    open_mm : array
        How deep its middle lies in water that shows open sky; -infinity behind the camera. [mm]
    """

    x_mm: FloatArray
    y_mm: FloatArray
    touches_m: FloatArray
    open_mm: FloatArray

    @property
    def shows(self) -> np.ndarray:
        """Whether its middle shows, the skyline apart."""
        return self.open_mm > 0


def sun_image(mirror: Mirror, sun: SunTrack, at_least_mm: float = -np.inf) -> SunImage:
    """Return where a mirror shows the sun: at its azimuth, as far under level as it stands above.

    The spot must be water, in the frame, and free of what stands before it; the ray on
    from there to the sun must pass what the water mirrors. Whether the sun stands above
    the skyline is another question. Where it lies farther outside the frame than
    ``at_least_mm``, nothing else is looked at. [mm]
    """
    x_mm, y_mm = mirror.view.of_direction(sun.azimuth_deg, -sun.refracted_deg)
    depth = np.array(np.nan_to_num(mirror.view.inside_mm(x_mm, y_mm), nan=-np.inf))
    near = depth > at_least_mm
    depth[near] = mirror.open_mm(x_mm[near], y_mm[near])
    return SunImage(x_mm, y_mm, touches_water_m(mirror.eye_m, sun.refracted_deg), depth)


def open_sky_share(mirror: Mirror, skyline: Skyline) -> float:
    """Return the share of the water seen in the frame that mirrors sky above the skyline, 0..1."""
    azimuth_deg, altitude_deg, seen = mirror.sky_cells
    return float(np.count_nonzero(altitude_deg > skyline.altitude_at(azimuth_deg))) / max(seen, 1)


def mirrors_of(setup: Setup, site: Site | None, skyline: Skyline | None = None) -> tuple[Mirror, ...]:
    """Return the sheets of water in a setup's frame, the one that takes most of it first.

    Those that lie above the lens are no mirrors to it and are left out. The skyline, as
    the camera sees it, tells where water goes on to the horizon.
    """
    stage = stage_of(setup, site)
    pools = tuple(opened(stage, pool, skyline) if skyline else pool for pool in stage.pools)
    outlines = tuple(tuple(map(tuple, pool.rings_m[0].tolist())) for pool in pools)
    return _mirrors(stage, setup.view, setup.figures, outlines)


@lru_cache(maxsize=32)
def _mirrors(
    stage: Stage, view: View, figures: tuple[Solid, ...], outlines: tuple[tuple[tuple[float, float], ...], ...]
) -> tuple[Mirror, ...]:
    things = tuple(one for one in in_view(view, stage.things) if one.lets_through < OPAQUE_BELOW)
    pools = (replace(pool, rings_m=(np.array(ring), *pool.rings_m[1:])) for pool, ring in zip(stage.pools, outlines, strict=True))
    below = (pool for pool in pools if pool.water.surface_m < stage.eye_m)
    mirrors = (_mirror(stage, view, pool, things, figures) for pool in below)
    seen = [mirror for mirror in mirrors if mirror and mirror.area_mm2 > 0]
    return tuple(sorted(seen, key=lambda mirror: -mirror.area_mm2))


def _mirror(
    stage: Stage, view: View, pool: Pool, things: tuple[Thing, ...], figures: tuple[Solid, ...]
) -> Mirror | None:
    outline = pool_outline(view, stage, pool)
    if not outline:
        return None
    frame, water = Part("frame", "the frame"), Part("water", pool.water.name or "the water", outline)
    around = _around(stage, view, pool, things, figures)
    parts = (Part(kind, called, shapes) for kind, called, shapes in around if shapes)
    return Mirror(stage, view, pool, (frame, water, *parts))


def _around(
    stage: Stage, view: View, pool: Pool, things: tuple[Thing, ...], figures: tuple[Solid, ...]
) -> Iterator[tuple[str, str, Shapes]]:
    """Yield what stands before the water and what it mirrors."""
    for kind, level_m in (("before", None), ("mirrored", pool.water.surface_m)):
        yield kind, "the bank", bank_outline(view, stage, pool, mirrored=kind == "mirrored")
        yield kind, "the couple", people_outlines(view, stage, figures, level_m)
        for thing in (*things, *pool.decks):
            yield kind, thing.name, thing_outline(view, stage, thing, level_m)


def _sides(view: View) -> tuple[float, float]:
    return view.camera.width_mm, view.camera.height_mm
