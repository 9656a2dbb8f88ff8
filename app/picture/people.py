"""People as simple solids of true height, seen against the sun.

All is worked in the upright plane through the couple, square to the line from
the camera: across to the right and up from their ground, in metres. The sun is
so far away that a camera moved by ten centimetres moves the sun's place in that
plane by the same ten centimetres, so every distance here is also a distance the
camera may move.
"""

from dataclasses import dataclass

import numpy as np

from app.errors import BadInput
from app.units import FloatArray, FloatOrArray

SHORTEST_M, TALLEST_M = 0.3, 2.6
MOST_PEOPLE = 12
SHOULDER_ROOM_M = 0.5  # from one middle to the next, standing close; common practice, no source


@dataclass(frozen=True)
class Person:
    """Somebody in the picture.

    ``height_m`` is that of the crown above the ground; ``facing_deg`` the bearing that the
    face looks to, None for into the camera. [m, °]
    """

    name: str
    height_m: float
    facing_deg: float | None = None

    def __post_init__(self) -> None:
        if self.facing_deg is not None and not 0 <= self.facing_deg <= 360:
            raise BadInput(f"A face looks to a bearing of 0 to 360°; {self.facing_deg:g} came.", "people")
        if not SHORTEST_M <= self.height_m <= TALLEST_M:
            raise BadInput(
                f"A person's height is between {SHORTEST_M:g} and {TALLEST_M:g} m; {self.height_m:g} came.", "people"
            )


@dataclass(frozen=True)
class Solid:
    """Two discs and all between them: a limb, a trunk, a head. [m]

    Seen from any side it looks the same, as a ball-ended cone does.
    """

    across_m: float
    low_m: float
    low_radius_m: float
    high_m: float
    high_radius_m: float

    def depth_m(self, across_m: FloatOrArray, up_m: FloatOrArray) -> FloatArray:
        """Return how deep inside the outline a point lies, negative outside, any shape. [m]"""
        aside = np.abs(np.asarray(across_m) - self.across_m)
        above = np.asarray(up_m) - self.low_m
        length = self.high_m - self.low_m
        lean = (self.low_radius_m - self.high_radius_m) / length  # sine of the side's lean
        upright = np.sqrt(1.0 - lean * lean)
        along_side = above * upright - aside * lean
        distance = np.where(
            along_side < 0,
            np.hypot(aside, above) - self.low_radius_m,
            np.where(
                along_side > length * upright,
                np.hypot(aside, above - length) - self.high_radius_m,
                aside * upright + above * lean - self.low_radius_m,
            ),
        )
        return -distance

    def outline_m(self, corners: int = 20) -> tuple[FloatArray, FloatArray]:
        """Return the outline, anticlockwise from the right, as across and up. [m]"""
        lean = np.arcsin((self.low_radius_m - self.high_radius_m) / (self.high_m - self.low_m))
        upper = np.linspace(lean, np.pi - lean, corners // 2)
        lower = np.linspace(np.pi - lean, 2 * np.pi + lean, corners // 2)
        across = np.concatenate([self.high_radius_m * np.cos(upper), self.low_radius_m * np.cos(lower)])
        up = np.concatenate([self.high_m + self.high_radius_m * np.sin(upper), self.low_m + self.low_radius_m * np.sin(lower)])
        return across + self.across_m, up


def solids(people: tuple[Person, ...]) -> tuple[Solid, ...]:
    """Return the people's solids, side by side from left to right about the line.

    Head 0.130 of the height from crown to chin and shoulders 0.26 across: R.
    Drillis & R. Contini, *Body Segment Parameters* (1966), from memory; the
    rest drawn to look right. Clothes and hair are left out.
    """
    middles = (np.arange(len(people)) - (len(people) - 1) / 2) * SHOULDER_ROOM_M
    return tuple(solid for person, middle in zip(people, middles, strict=True) for solid in _one(person, float(middle)))


def depth_m(figures: tuple[Solid, ...], across_m: FloatOrArray, up_m: FloatOrArray) -> FloatArray:
    """Return how deep inside the people a point lies, negative outside. [m]

    Inside, where two solids meet, the true depth may be a little more.
    """
    return np.maximum.reduce([solid.depth_m(across_m, up_m) for solid in figures])


def _one(person: Person, middle_m: float) -> tuple[Solid, ...]:
    tall = person.height_m
    return (
        Solid(middle_m, tall * 0.914, tall * 0.044, tall * 0.955, tall * 0.045),  # head
        Solid(middle_m, tall * 0.80, tall * 0.034, tall * 0.88, tall * 0.030),  # neck
        Solid(middle_m, tall * 0.56, tall * 0.100, tall * 0.735, tall * 0.130),  # trunk
        Solid(middle_m, tall * 0.06, tall * 0.060, tall * 0.50, tall * 0.105),  # legs
    )
