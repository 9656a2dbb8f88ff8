"""The couple's own image in the water: how much of it shows, and where the camera shows all of it."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from app.picture.flat import inside
from app.picture.people import Solid, depth_m
from app.picture.setup import Setup
from app.picture.stage import Pool, Stage, Thing
from app.picture.water import Mirror
from app.place.obstacles import OPAQUE_BELOW
from app.units import FloatArray

GRAIN_M = 0.05  # between the points of the people that are asked for
WHOLE = 0.98  # all of them but the soles
FARTHEST_M = 3.0  # how far the camera is moved in search of the whole image
STEP_M, FINE_M = 0.1, 0.01
LOWEST_LENS_M = 0.1  # above the ground it stands on
OVER_WATER_M = 0.05
CLEAR_OF_COUPLE_M = 0.5
SOLES_M = 0.05


@dataclass(frozen=True)
class Double:
    """How much of the couple a mirror shows. Shares of their figures' area, 0..1.

    Attributes
    ----------
    in_water : float
        What the water shows, wherever the frame ends.
    in_picture : float
        What of that falls inside the frame.
    """

    in_water: float
    in_picture: float


@dataclass(frozen=True)
class Move:
    """A way for the camera to go, by whole centimetres: “down”, “up”, “left”, “right”, “forward” or “back”."""

    way: str
    centimetres: int


def double_in(mirror: Mirror, setup: Setup) -> Double:
    """Return how much of the couple a mirror shows to the setup's camera; nothing without people."""
    return _double_in(mirror, setup.figures) if setup.figures else Double(0.0, 0.0)


def moves_to_whole(mirror: Mirror, setup: Setup) -> tuple[Move, ...]:
    """Return the shortest move each way, up to 3 m, after which the water shows all of the couple.

    All of their outlines, that is, from 5 cm above their ground. The shortest first; none
    where no way leads there. The camera keeps its ground's
    height when it steps, and stays dry if it is; the frame is left out, as it can be
    turned.
    """
    return _moves_to_whole(mirror, setup.figures, setup.lens_height_m) if setup.figures else ()


def shown_in_water(stage: Stage, pool: Pool, eyes_m: FloatArray, points_m: FloatArray) -> np.ndarray:
    """Return which points each of some eyes sees in a level mirror.

    Parameters
    ----------
    stage : Stage
    pool : Pool
        The mirror.
    eyes_m : shape (eyes, 3)
    points_m : shape (points, 3)
        East and north of the camera, and above the datum. [m]

    Returns
    -------
    array of bool, shape (eyes, points)

    Notes
    -----
    The straight ray from the eye to the point's image under the water, folded up at the
    water, is the light's way. It must meet the plane inside the water's edge and pass
    banks, decks and all obstacles that let through less than half.
    """
    rays = _Rays(eyes_m[:, np.newaxis], points_m[np.newaxis], pool.water.surface_m)
    shown = rays.sees & inside(pool.sides_m, rays.at(rays.meets))
    shown &= ~rays.stopped(pool.bank_sides_m, rays.level_m, pool.bank_tops_m)
    reach_m = np.linalg.norm(points_m[:, :2], axis=1).max(initial=0.0) + FARTHEST_M
    for thing in (*pool.decks, *stage.things):
        if thing.lets_through < OPAQUE_BELOW and thing.far_m < reach_m:
            shown &= ~_stopped_by(rays, thing)
    return shown


@dataclass(frozen=True, eq=False)
class _Rays:
    """Rays folded at a water's level; a share of 0 is at the eye, of 1 at the point.

    Attributes
    ----------
    eyes_m, points_m : arrays that broadcast to (eyes, points, 3)
    level_m : float
    """

    eyes_m: FloatArray
    points_m: FloatArray
    level_m: float

    @property
    def sees(self) -> np.ndarray:
        """Whether eye and point are above the water."""
        return (self.eyes_m[..., 2] > self.level_m) & (self.points_m[..., 2] >= self.level_m)

    @property
    def drop_m(self) -> FloatArray:
        """From the eye down to the image under the water."""
        return np.maximum(self.eyes_m[..., 2] + self.points_m[..., 2] - 2 * self.level_m, 1e-9)

    @property
    def meets(self) -> FloatArray:
        """The share of the way at which each meets the water."""
        return (self.eyes_m[..., 2] - self.level_m) / self.drop_m

    def at(self, share: FloatArray) -> FloatArray:
        """Return the place on the plan at a share of the way."""
        here, there = self.eyes_m[..., :2], self.points_m[..., :2]
        return here + share[..., np.newaxis] * (there - here)

    def stopped(self, sides_m: FloatArray, base_m: float, tops_m: FloatArray) -> np.ndarray:
        """Return whether rays meet upright sides, shape (sides, 2, 2), between a base and tops at their ends, shape (sides, 2)."""
        here, way = self.eyes_m[..., np.newaxis, :2], (self.points_m - self.eyes_m)[..., np.newaxis, :2]
        start, along = sides_m[:, 0], sides_m[:, 1] - sides_m[:, 0]
        cross = _cross(way, along)
        apart = np.where(cross == 0, np.inf, cross)
        share, aside = _cross(start - here, along) / apart, _cross(start - here, way) / apart
        level = self.eyes_m[..., 2, np.newaxis] - self.level_m - share * self.drop_m[..., np.newaxis]
        height_m = self.level_m + np.abs(level)
        top_m = tops_m[:, 0] + aside * (tops_m[:, 1] - tops_m[:, 0])
        met = (share > 0) & (share < 1) & (aside >= 0) & (aside <= 1) & (height_m >= base_m) & (height_m < top_m)
        return met.any(axis=-1)


def _stopped_by(rays: _Rays, thing: Thing) -> np.ndarray:
    """Return whether rays meet a thing's sides, its top or its underside."""
    stopped = rays.stopped(thing.sides_m, thing.base_m, np.full((len(thing.sides_m), 2), thing.top_m))
    if not thing.closed:
        return stopped
    for height_m in (thing.base_m, thing.top_m):
        for up_m in (height_m - rays.level_m, rays.level_m - height_m):
            share = rays.meets - up_m / rays.drop_m
            stopped |= (height_m > rays.level_m) & (share > 0) & (share < 1) & inside(thing.sides_m, rays.at(share))
    return stopped


@lru_cache(maxsize=32)
def _double_in(mirror: Mirror, figures: tuple[Solid, ...]) -> Double:
    body = _body_m(mirror.stage, figures, GRAIN_M)
    shown = shown_in_water(mirror.stage, mirror.pool, np.array([[0.0, 0.0, mirror.stage.eye_m]]), body)[0]
    return Double(float(np.mean(shown)), float(np.mean(shown & _framed(mirror, body))))


@lru_cache(maxsize=32)
def _moves_to_whole(mirror: Mirror, figures: tuple[Solid, ...], lens_height_m: float) -> tuple[Move, ...]:
    body, coarse = _rim_m(mirror.stage, figures), np.arange(1, round(FARTHEST_M / STEP_M) + 1) * STEP_M
    moves = []
    for name, way in _ways(mirror.stage).items():
        far_m = _first(mirror, lens_height_m, body, way, coarse)
        if far_m is not None:
            fine = far_m - np.arange(round(STEP_M / FINE_M) - 1, -1, -1) * FINE_M
            moves.append(Move(name, round(100 * (_first(mirror, lens_height_m, body, way, fine) or far_m))))
    return tuple(sorted(moves, key=lambda move: move.centimetres))


def _ways(stage: Stage) -> dict[str, FloatArray]:
    """Return the ways the camera may go, as steps of one metre east, north and up."""
    east, north = stage.couple_m / np.linalg.norm(stage.couple_m)
    ways = {"forward": (east, north, 0), "back": (-east, -north, 0), "left": (-north, east, 0), "right": (north, -east, 0)}
    return {name: np.array(way, dtype=float) for name, way in ({"down": (0, 0, -1), "up": (0, 0, 1)} | ways).items()}


def _first(mirror: Mirror, lens_height_m: float, body_m: FloatArray, way: FloatArray, steps_m: FloatArray) -> float | None:
    """Return the first of some steps one way from which all of the couple shows."""
    eyes = np.array([0.0, 0.0, mirror.stage.eye_m]) + steps_m[:, np.newaxis] * way
    may = _may_stand(mirror, lens_height_m, eyes)
    eyes, steps_m = eyes[may], steps_m[may]
    whole = np.flatnonzero(shown_in_water(mirror.stage, mirror.pool, eyes, body_m).all(axis=1))
    return float(steps_m[whole[0]]) if len(whole) else None


def _may_stand(mirror: Mirror, lens_height_m: float, eyes_m: FloatArray) -> np.ndarray:
    """Return where a camera can be held: above its ground and the water, clear of the couple, and as dry as now."""
    ground_m = mirror.stage.eye_m - lens_height_m
    high = (eyes_m[:, 2] >= ground_m + LOWEST_LENS_M) & (eyes_m[:, 2] >= mirror.water.surface_m + OVER_WATER_M)
    clear = np.linalg.norm(eyes_m[:, :2] - mirror.stage.couple_m, axis=1) > CLEAR_OF_COUPLE_M
    places = np.concatenate([np.zeros((1, 2)), eyes_m[:, :2]])
    wet = inside(mirror.pool.sides_m, places)
    for deck in mirror.pool.decks:
        wet &= ~inside(deck.sides_m, places)
    return high & clear & (~wet[1:] | wet[0])


def _body_m(stage: Stage, figures: tuple[Solid, ...], grain_m: float) -> FloatArray:
    """Return even points of the people's figures, east and north of the camera and above the datum, shape (n, 3)."""
    half_m = max(abs(one.across_m) + max(one.low_radius_m, one.high_radius_m) for one in figures)
    tall_m = max(one.high_m + one.high_radius_m for one in figures)
    across, up = np.meshgrid(_middles(-half_m, half_m, grain_m), _middles(0.0, tall_m, grain_m))
    held = depth_m(figures, across, up) > 0
    return _placed(stage, across[held], up[held])


def _rim_m(stage: Stage, figures: tuple[Solid, ...]) -> FloatArray:
    """Return points of the people's outlines but for their soles, as :func:`_body_m`."""
    across, up = np.concatenate([one.outline_m() for one in figures], axis=1)
    return _placed(stage, across[up >= SOLES_M], up[up >= SOLES_M])


def _placed(stage: Stage, across_m: FloatArray, up_m: FloatArray) -> FloatArray:
    """Return places in the upright plane through the couple, shape (n, 3)."""
    east, north = stage.couple_m / np.linalg.norm(stage.couple_m)
    return np.column_stack([stage.couple_m + across_m[:, np.newaxis] * [north, -east], stage.couple_ground_m + up_m])


def _middles(low_m: float, high_m: float, grain_m: float) -> FloatArray:
    """Return the middles of equal pieces of a stretch, about as long as the grain."""
    count = int(np.ceil((high_m - low_m) / grain_m))
    return low_m + (np.arange(count) + 0.5) / count * (high_m - low_m)


def _framed(mirror: Mirror, body_m: FloatArray) -> np.ndarray:
    """Return which points' images fall inside the frame."""
    down_m = 2 * mirror.water.surface_m - body_m[:, 2] - mirror.stage.eye_m
    x_mm, y_mm = mirror.view.of_point(body_m[:, 0], body_m[:, 1], down_m)
    return mirror.view.inside_mm(x_mm, y_mm) > 0


def _cross(one: FloatArray, other: FloatArray) -> FloatArray:
    return one[..., 0] * other[..., 1] - one[..., 1] * other[..., 0]
