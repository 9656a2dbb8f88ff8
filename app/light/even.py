"""The light that evens people: where to turn it, or where to move it, so that the far one gets the same.

The person farther from a near light is darker. Turned beyond the far one, the light feathers: the
edge of its beam falls on the near one. Moved, it comes to stand as far from the one as from the
other. Both answers keep the change smallest: the smallest turn, the shortest move.
"""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from app.errors import BadInput
from app.light.faces import Face, Point
from app.light.lights import Light, check_lights, lux_s_at
from app.light.stops import stops_words
from app.units import FloatArray

SAME_STOPS = 0.1  # a difference this small goes unseen; common practice, no source
NEAREST_M = 0.5  # from any face; common practice, no source
MOST_LOSS_STOPS = 3.0  # feathered further, little is left of the light; to look right
FURTHEST_TURN_DEG = 90.0
DARK_STOPS = 30.0  # below full power at 1 m: nothing
SLACK_STOPS = 1e-3  # what an optimiser may leave; metres too
_TURN_STEP_DEG = 0.25


@dataclass(frozen=True)
class Reachable:
    """Where a light may be moved to: within reach of where it stands, and so high. [m]"""

    reach_m: float = 5.0
    lowest_m: float = 0.3
    highest_m: float = 4.0

    def __post_init__(self) -> None:
        if not 0 < self.reach_m <= 100:
            raise BadInput(f"A light is moved by up to 100 m; {self.reach_m:g} m came.", "reach_m")
        if not -50 <= self.lowest_m < self.highest_m <= 50:
            raise BadInput("The highest place of a light is above the lowest, both within 50 m.", "highest_m")


@dataclass(frozen=True)
class Evened:
    """A light put right, or as far as it goes.

    Attributes
    ----------
    light : Light
        Where it now stands and is turned to.
    before_stops, after_stops : float
        How much brighter the best lit face is than the least lit; 30 at most. [stop]
    turned_deg, moved_m : float
        What was changed. [°, m]
    loss_stops : float
        How much less the best lit face gets than the best lit one did. [stop]
    even : bool
        Whether the difference is now as small as was asked for.
    """

    light: Light
    before_stops: float
    after_stops: float
    turned_deg: float
    moved_m: float
    loss_stops: float
    even: bool

    @property
    def words(self) -> str:
        """Return what to do and what it brings, in words."""
        moved = f"moved {self.moved_m:.1f} m" if self.moved_m >= 0.05 else ""
        turned = f"turned {self.turned_deg:.0f}°" if self.turned_deg >= 0.5 else ""
        what = " and ".join(part for part in (moved, turned) if part)
        if not what:
            return "even as it is" if self.even else "nothing within reach evens it"
        left = "even" if self.even else f"{_left_words(self.after_stops)} between them"
        power = f", {stops_words(self.loss_stops)} {'less' if self.loss_stops > 0 else 'more'} light" if abs(self.loss_stops) >= 1 / 6 else ""
        return f"{what}: {left}{power}"


def difference_stops(light: Light, faces: tuple[Face, ...], position_m: FloatArray | None = None, aim_m: FloatArray | None = None) -> FloatArray:
    """Return how much brighter the best lit face is than the least lit. [stop]

    Other places and aims, shape (3, ...), may be tried. Where one of them gets nothing it
    is ``DARK_STOPS``.
    """
    given = _given_stops(light, faces, position_m, aim_m)
    least = given.min(axis=0)
    return np.where(least > _floor_stops(light), np.minimum(given.max(axis=0) - least, DARK_STOPS), DARK_STOPS)


def turned_even(light: Light, faces: tuple[Face, ...], within_stops: float = SAME_STOPS) -> Evened:
    """Return the light turned as little as evens the faces, its stand left where it is.

    It is turned from the best lit face towards the least lit and past it, by up to 90°
    and as long as that face loses no more than three stops; where that does not
    suffice, to where it is evenest.

    Parameters
    ----------
    light : Light
    faces : tuple of Face
        Two or more; ``BadInput`` otherwise, and for a light inside somebody.
    within_stops : float
        The difference that counts as none. [stop]
    """
    _check(light, faces)
    aims = _Turn(light, faces)
    if difference_stops(light, faces) <= within_stops or not aims.aside_m.any():
        return _evened(light, light, faces, within_stops)
    turns_deg = np.arange(0.0, FURTHEST_TURN_DEG + _TURN_STEP_DEG, _TURN_STEP_DEG)
    dark = (faces[aims.dark],)
    lost = _given_stops(light, dark)[0] - _given_stops(light, dark, aim_m=aims.at(turns_deg))[0]
    turns_deg = turns_deg[np.cumprod(lost <= MOST_LOSS_STOPS).astype(bool)]
    excess = aims.excess_stops(turns_deg)
    met = np.flatnonzero(excess <= within_stops)
    if len(met):
        turn_deg = aims.crossing_deg(*turns_deg[met[0] - 1 : met[0] + 1], within_stops)
    else:
        turn_deg = float(turns_deg[np.argmin(excess)])
    turned = replace(light, aim_m=_point(aims.at(np.asarray(turn_deg)))) if turn_deg else light
    return _evened(light, turned, faces, within_stops)


def moved_even(light: Light, faces: tuple[Face, ...], reachable: Reachable | None = None, within_stops: float = SAME_STOPS) -> Evened:
    """Return the light moved as little as evens the faces, turned to the middle between them.

    Parameters
    ----------
    light : Light
    faces : tuple of Face
        Two or more; ``BadInput`` otherwise, and for a light inside somebody.
    reachable : Reachable, optional
        Where it may stand; half a metre from any face at least, and so that no
        face falls more than three stops below the least lit one now.
    within_stops : float
        The difference that counts as none. [stop]

    Notes
    -----
    Places all around are tried, then the best of them are drawn in to the shortest
    move under the same conditions by sequential quadratic programming (Kraft 1988,
    in SciPy). Where none does, the light stays.
    """
    _check(light, faces)
    if difference_stops(light, faces) <= within_stops:
        return _evened(light, light, faces, within_stops)
    middle = np.mean([face.position_m for face in faces], axis=0)
    spots = _Spots(light, faces, middle, reachable or Reachable(), within_stops)
    drawn = [spot for spot in map(spots.drawn_in, spots.starts()) if spots.allowed(spot)]
    if not drawn:
        return _evened(light, light, faces, within_stops)
    place = min(drawn, key=spots.moved_m)
    return _evened(light, replace(light, position_m=_point(place), aim_m=_point(middle)), faces, within_stops + SLACK_STOPS)


class _Turn:
    """Turns of a light from the best lit face towards the least lit."""

    def __init__(self, light: Light, faces: tuple[Face, ...]) -> None:
        self.light, self.faces = light, faces
        given = _given_stops(light, faces)
        self.bright, self.dark = int(np.argmax(given)), int(np.argmin(given))
        self.where = np.asarray(light.position_m, dtype=float)
        self.axis_m = np.subtract(light.aim_m, self.where)
        self.aside_m = self._aside_m()

    def _aside_m(self) -> FloatArray:
        """Return which way the beam turns, square to its axis and as long."""
        axis = self.axis_m / np.linalg.norm(self.axis_m)
        bright, dark = (np.subtract(self.faces[one].position_m, self.where) for one in (self.bright, self.dark))
        aside = dark / np.linalg.norm(dark) - bright / np.linalg.norm(bright)
        aside = aside - (aside @ axis) * axis
        length = float(np.linalg.norm(aside))
        return np.zeros(3) if length < 1e-9 else aside / length * np.linalg.norm(self.axis_m)

    def at(self, turn_deg: FloatArray) -> FloatArray:
        """Return the aims after some turns, vector axis first. [m]"""
        turn, where = np.radians(turn_deg), self.where.reshape(3, *(1,) * np.ndim(turn_deg))
        return where + np.multiply.outer(self.axis_m, np.cos(turn)) + np.multiply.outer(self.aside_m, np.sin(turn))

    def excess_stops(self, turn_deg: FloatArray) -> FloatArray:
        """Return how much more the one gets than the other; of many, the best lit than the least. [stop]"""
        given = _given_stops(self.light, self.faces, aim_m=self.at(turn_deg))
        return given[self.bright] - given[self.dark] if len(self.faces) == 2 else given.max(axis=0) - given.min(axis=0)

    def crossing_deg(self, low_deg: float, high_deg: float, within_stops: float) -> float:
        """Return the turn between two at which it falls to a limit, by halving. [°]"""
        for _ in range(40):
            middle = (low_deg + high_deg) / 2
            met = self.excess_stops(np.asarray(middle)) <= within_stops
            low_deg, high_deg = (low_deg, middle) if met else (middle, high_deg)
        return float(high_deg)


@dataclass(frozen=True, eq=False)
class _Spots:
    """Places that a light may be moved to."""

    light: Light
    faces: tuple[Face, ...]
    middle: FloatArray
    reachable: Reachable
    within_stops: float

    @cached_property
    def least_stops(self) -> float:
        """What the least lit face gets from where the light stands now. [stop]"""
        return float(_given_stops(self.light, self.faces).min())

    def moved_m(self, spot: FloatArray) -> FloatArray:
        start = np.asarray(self.light.position_m, dtype=float).reshape(3, *(1,) * (np.ndim(spot) - 1))
        return np.linalg.norm(spot - start, axis=0)

    def rooms(self, spot: FloatArray) -> FloatArray:
        """Return what each condition leaves at a place, 0 on its edge: stops, then metres; shape (conditions, ...)."""
        given = _given_stops(self.light, self.faces, spot, self.middle)
        first, second = np.nonzero(~np.eye(len(self.faces), dtype=bool))
        even = self.within_stops - (given[first] - given[second])
        lit = given - max(self.least_stops - MOST_LOSS_STOPS, _floor_stops(self.light) + 1.0)
        apart = [np.linalg.norm(spot - np.reshape(face.position_m, (3, *(1,) * (np.ndim(spot) - 1))), axis=0) for face in self.faces]
        reach = [self.reachable.reach_m - self.moved_m(spot), spot[2] - self.reachable.lowest_m, self.reachable.highest_m - spot[2]]
        return np.concatenate([even, lit, np.stack(apart) - NEAREST_M, np.stack(reach)])

    def allowed(self, spot: FloatArray) -> bool:
        return bool(np.all(self.rooms(spot) >= -SLACK_STOPS))

    def starts(self) -> FloatArray:
        """Return the most promising of places all around: near, and even or nearly; shape (places, 3)."""
        out_m = self.reachable.reach_m * np.linspace(0.02, 1.0, 25) ** 1.5
        turn, up_m = np.radians(np.arange(0.0, 360.0, 10.0)), np.linspace(self.reachable.lowest_m, self.reachable.highest_m, 6)
        out, turned, up = (grid.ravel() for grid in np.meshgrid(out_m, turn, [self.light.position_m[2], *up_m], indexing="ij"))
        spots = np.stack([self.light.position_m[0] + out * np.sin(turned), self.light.position_m[1] + out * np.cos(turned), up])
        lacks, far_m = -np.minimum(self.rooms(spots).min(axis=0), 0.0), self.moved_m(spots)
        best = {int(np.argmin(far_m + dear * lacks)) for dear in (2.0, 5.0, 10.0, 30.0, 100.0)}
        for sector in range(6):  # one each way as well: the nearest by this measure may lead nowhere
            there = np.where(turned // (np.pi / 3) == sector, far_m + 10.0 * lacks, np.inf)
            best.add(int(np.argmin(there)))
        return spots.T[sorted(best)]

    def drawn_in(self, spot: FloatArray) -> FloatArray:
        """Return the nearest place to the light's own that fulfils all, searched from one place."""
        from scipy.optimize import minimize  # 0.1 s, so only when it is wanted

        start = np.asarray(self.light.position_m, dtype=float)
        conditions = {"type": "ineq", "fun": self.rooms}
        options = {"maxiter": 200, "ftol": 1e-9}
        return minimize(lambda one: float(np.sum((one - start) ** 2)), spot, method="SLSQP", constraints=conditions, options=options).x


def _left_words(left_stops: float) -> str:
    return f"still {stops_words(left_stops)}" if left_stops >= 1 / 6 else "still a trace"


def _evened(before: Light, after: Light, faces: tuple[Face, ...], within_stops: float) -> Evened:
    axes = [np.subtract(light.aim_m, light.position_m) for light in (before, after)]
    one, other = (axis / np.linalg.norm(axis) for axis in axes)
    difference = float(difference_stops(after, faces))
    return Evened(
        light=after,
        before_stops=float(difference_stops(before, faces)),
        after_stops=difference,
        turned_deg=float(np.degrees(2 * np.arctan2(np.linalg.norm(one - other), np.linalg.norm(one + other)))),
        moved_m=float(np.linalg.norm(np.subtract(after.position_m, before.position_m))),
        loss_stops=float(_given_stops(before, faces).max() - _given_stops(after, faces).max()),
        even=difference <= within_stops + 1e-6,
    )


def _given_stops(light: Light, faces: tuple[Face, ...], position_m: FloatArray | None = None, aim_m: FloatArray | None = None) -> FloatArray:
    """Return what each face gets, on a scale of stops, nothing being far below all else; shape (faces, ...)."""
    given = np.stack([np.asarray(lux_s_at(light, face, position_m, aim_m)) for face in faces])
    return np.log2(np.fmax(given, 2.0 ** _floor_stops(light)))


def _floor_stops(light: Light) -> float:
    """Return what counts as nothing, on the same scale. [stop]"""
    return float(np.log2(light.middle_lux_s)) - DARK_STOPS


def _check(light: Light, faces: tuple[Face, ...]) -> None:
    check_lights((light,), faces)
    if len(faces) < 2:
        raise BadInput("Evening out takes two people; one is always as bright as himself or herself.", "people")


def _point(metres: FloatArray) -> Point:
    east_m, north_m, up_m = (float(one) for one in metres)
    return east_m, north_m, up_m
