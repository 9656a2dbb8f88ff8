"""What lies and stands about a camera, in metres east and north of it: water, banks, decks, things that stand up."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np

from app.picture.banks import Standing, banks
from app.picture.flat import crosses, inside, nearest_m, passed, sides_of
from app.picture.setup import Setup
from app.place.geodesy import LocalFrame
from app.place.site import LonLat, Obstacle, Pin, Site, Water
from app.units import FloatArray

BESIDE_M = 0.5  # from the couple's middle to their outer sides
A_STEP_M = 0.05


@dataclass(frozen=True, eq=False)
class Thing:
    """Something with upright sides and a level top.

    Attributes
    ----------
    name : str
    kind : str
        One of the kinds of obstacles, or “deck”.
    rings_m : tuple of arrays of shape (n, 2)
        Its outline and courtyards, or the one line of a wall or hedge. [m]
    closed : bool
    base_m, top_m : float
        Above the site's datum. What stands on the ground reaches down to the lowest
        ground or water there is; only a canopy has free air under it. [m]
    body_m : float
        From where it was drawn to stand up to its top. [m]
    lets_through : float
        Share of direct light, 0..1.
    far_m : float
        How far its nearest side is from the camera on the plan. [m]
    holds_camera : bool
        Whether the camera stands inside its outline.
    """

    name: str
    kind: str
    rings_m: tuple[FloatArray, ...]
    closed: bool
    base_m: float
    top_m: float
    body_m: float
    lets_through: float
    far_m: float
    holds_camera: bool

    @cached_property
    def sides_m(self) -> FloatArray:
        """Its sides on the plan by their ends, shape (sides, 2, 2). [m]"""
        return np.concatenate([sides_of(ring, self.closed) for ring in self.rings_m])


@dataclass(frozen=True, eq=False)
class Pool:
    """A sheet of water and what rims it near the line.

    Attributes
    ----------
    water : Water
    rings_m : tuple of arrays of shape (n, 2)
        Edge and islands. [m]
    decks : tuple of Thing
        What camera or couple stand on inside its edge: jetties.
    bank_sides_m : shape (pieces, 2, 2)
        Pieces of its edge that rise upright to the pins' ground. [m]
    bank_tops_m : shape (pieces, 2)
        How high the ground is at their ends, above the datum. [m]
    """

    water: Water
    rings_m: tuple[FloatArray, ...]
    decks: tuple[Thing, ...]
    bank_sides_m: FloatArray
    bank_tops_m: FloatArray

    @cached_property
    def bank_faces(self) -> np.ndarray:
        """Whether each piece of bank turns its face to the camera, across the water; the others are seen from behind."""
        middle = self.bank_sides_m.mean(axis=1)
        near = np.maximum(np.linalg.norm(middle, axis=1, keepdims=True), 1e-9)
        return inside(self.sides_m, middle * np.maximum(1 - A_STEP_M / near, 0.0))

    @cached_property
    def sides_m(self) -> FloatArray:
        """Its edge and islands by the ends of their sides, shape (sides, 2, 2). [m]"""
        return np.concatenate([sides_of(ring, True) for ring in self.rings_m])


@dataclass(frozen=True, eq=False)
class Stage:
    """All about one camera.

    Attributes
    ----------
    eye_m, couple_ground_m : float
        The lens and the ground under the couple, above the site's datum. [m]
    couple_m : array of shape (2,)
        The couple, east and north of the camera. [m]
    pools : tuple of Pool
    things : tuple of Thing
        The nearest last.

    Notes
    -----
    Ground between the pins runs straight from one to the other; beyond them and to the
    sides it is level. What is not known is how it comes down to the water: within 5 m
    of the line it is taken to end upright, as a rim, a quay or a step does, and from 10 m
    on to run out so gently that it hides nothing. The Earth's curve is left out: it is
    2 cm over half a kilometre.
    """

    eye_m: float
    couple_ground_m: float
    couple_m: FloatArray
    pools: tuple[Pool, ...]
    things: tuple[Thing, ...]


def stage_of(setup: Setup, site: Site | None) -> Stage:
    """Return what lies and stands about a setup's camera; nothing where there is no site."""
    drawn = tuple(_drawn(site)) if site else ()
    waters, obstacles = (site.waters, site.obstacles) if site else ((), ())
    return _stage(setup.camera_pin, setup.couple_pin, setup.lens_height_m, waters, obstacles, drawn)


def hides_couple(stage: Stage, thing: Thing) -> bool:
    """Return whether a thing stands between the camera and the couple, or to within half a metre beside it.

    A roof over the couple does not.
    """
    if thing.holds_camera:
        return True
    if thing.closed and inside(thing.sides_m, stage.couple_m[np.newaxis])[0]:
        return False
    aside = BESIDE_M * np.array([stage.couple_m[1], -stage.couple_m[0]]) / np.linalg.norm(stage.couple_m)
    start, along = thing.sides_m[:, 0], thing.sides_m[:, 1] - thing.sides_m[:, 0]
    return any(crosses(start, along, stage.couple_m + side * aside) for side in (-1, 0, 1))


@lru_cache(maxsize=32)
def _stage(
    camera: Pin,
    couple: Pin,
    lens_height_m: float,
    waters: tuple[Water, ...],
    obstacles: tuple[Obstacle, ...],
    drawn: tuple[tuple[str, tuple[LonLat, ...]], ...],
) -> Stage:
    frame = LocalFrame(camera.lat_deg, camera.lon_deg)
    couple_m = _metres(frame, [(couple.lon_deg, couple.lat_deg)])[0]
    pins = (np.zeros(2), camera.ground_m), (couple_m, couple.ground_m)
    lowest_m = min([camera.ground_m, couple.ground_m, *(water.surface_m for water in waters)])
    things = sorted(_things(frame, obstacles, lowest_m), key=lambda one: -one.far_m)
    outlines = [(name, _ring(frame, ring)) for name, ring in drawn]
    pools = tuple(_pool(frame, water, outlines, pins) for water in waters)
    return Stage(camera.ground_m + lens_height_m, couple.ground_m, couple_m, pools, tuple(things))


def _things(frame: LocalFrame, obstacles: Sequence[Obstacle], lowest_m: float) -> Iterator[Thing]:
    """Yield the obstacles, measured all together: a venue may have thousands."""
    if not obstacles:
        return
    rings = [[ring[:-1] if one.closed else ring for ring in (one.outline, *one.holes)] for one in obstacles]
    shapes = iter(_all_metres(frame, [ring for one in rings for ring in one]))
    placed = [tuple(next(shapes) for _ in one) for one in rings]
    far_m, holds = _from_camera(placed, np.array([one.closed for one in obstacles]))
    for one, shape, far, held in zip(obstacles, placed, far_m.tolist(), holds.tolist(), strict=True):
        base_m = one.base_m if one.kind == "canopy" else min(one.base_m, lowest_m)
        body_m = one.top_m - one.base_m
        yield Thing(one.name or one.kind, one.kind, shape, one.closed, base_m, one.top_m, body_m, one.lets_through, far, held)


def _from_camera(placed: Sequence[tuple[FloatArray, ...]], closed: np.ndarray) -> tuple[FloatArray, np.ndarray]:
    """Return how far each of some shapes is from the camera, and whether it stands inside. [m]"""
    sides = [sides_of(ring, shut) for rings, shut in zip(placed, closed.tolist(), strict=True) for ring in rings]
    counts = [sum(len(ring) if shut else len(ring) - 1 for ring in rings) for rings, shut in zip(placed, closed.tolist(), strict=True)]
    first = np.concatenate([[0], np.cumsum(counts)[:-1]])
    every = np.concatenate(sides)
    met = np.add.reduceat(passed(every, np.zeros(2)), first, dtype=np.intp)
    return np.minimum.reduceat(nearest_m(every, np.zeros(2)), first), closed & (met % 2 == 1)


def _pool(frame: LocalFrame, water: Water, drawn: Sequence[tuple[str, FloatArray]], pins: tuple[Standing, Standing]) -> Pool:
    rings = tuple(_ring(frame, ring) for ring in (water.ring, *water.holes))
    sides = np.concatenate([sides_of(ring, True) for ring in rings])
    decks = tuple(_decks(water, sides, drawn, pins))
    return Pool(water, rings, decks, *banks(sides, water.surface_m, pins))


def _decks(
    water: Water, sides_m: FloatArray, drawn: Sequence[tuple[str, FloatArray]], pins: tuple[Standing, Standing]
) -> Iterator[Thing]:
    """Yield the drawn outlines in the water on which a pin stands dry; the ground of the lower pin is theirs."""
    for name, ring in drawn:
        outline = sides_of(ring, True)
        on_it = [
            ground_m
            for place, ground_m in pins
            if ground_m > water.surface_m and inside(sides_m, place[np.newaxis])[0] and inside(outline, place[np.newaxis])[0]
        ]
        if on_it:
            body_m = min(on_it) - water.surface_m
            held = bool(inside(outline, np.zeros((1, 2)))[0])
            far_m = float(nearest_m(outline, np.zeros(2)).min())
            yield Thing(name, "deck", (ring,), True, water.surface_m, min(on_it), body_m, 0.0, far_m, held)


def _drawn(site: Site) -> Iterator[tuple[str, tuple[LonLat, ...]]]:
    """Yield name and edge of the closed outlines that are only drawn on the plan."""
    for feature in site.document.get("features", ()):
        geometry, properties = feature.get("geometry") or {}, feature.get("properties") or {}
        if properties.get("role") == "drawing" and geometry.get("type") == "Polygon":
            name = str(properties.get("name") or "deck").removeprefix("the ")
            yield f"the {name}", tuple((corner[0], corner[1]) for corner in geometry["coordinates"][0])


def _ring(frame: LocalFrame, ring: Sequence[LonLat]) -> FloatArray:
    """Return a closed ring without its repeated last corner. [m]"""
    return _metres(frame, ring[:-1] if ring[0] == ring[-1] else ring)


def _metres(frame: LocalFrame, corners: Sequence[LonLat]) -> FloatArray:
    lon_deg, lat_deg = np.array(corners, dtype=float).T
    east_m, north_m, _ = frame.to_metres(lat_deg, lon_deg)
    return np.column_stack([east_m, north_m])


def _all_metres(frame: LocalFrame, rings: Sequence[Sequence[LonLat]]) -> list[FloatArray]:
    """Return many rings or lines in metres, turned in one go. [m]"""
    corners = _metres(frame, [corner for ring in rings for corner in ring])
    return np.split(corners, np.cumsum([len(ring) for ring in rings])[:-1])