"""Gels: how a flash is brought to the colour of the sun or the sky.

Colour temperatures are compared in mireds, 1 000 000 over the kelvins, because a filter shifts
every light by about the same number of them.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from app.errors import BadInput
from app.light.stops import stops_words
from app.units import FloatOrArray

FLASH_K = 5500.0  # of a bare flash; makers give 5000 to 6000 K; common practice, no source
COOLEST_K, HOTTEST_K = 1000.0, 40_000.0
CLOSE_MIRED = 10.0  # differences below this go unseen beside each other; common practice, no source


@dataclass(frozen=True)
class Gel:
    """A colour filter for a flash.

    Attributes
    ----------
    name : str
    shift_mired : float
        Warmer positive, cooler negative. [mired]
    loss_stops : float
        What it takes of the light. [stop]
    """

    name: str
    shift_mired: float
    loss_stops: float

    def __post_init__(self) -> None:
        if not abs(self.shift_mired) <= 500.0:
            raise BadInput(f"A gel shifts by -500 to 500 mired; {self.shift_mired:g} came.", "shift_mired")
        if not 0.0 <= self.loss_stops <= 10.0:
            raise BadInput(f"A gel takes 0 to 10 stops; {self.loss_stops:g} came.", "loss_stops")


NO_GEL = Gel("no gel", 0.0, 0.0)
# Mired shift and transmission of the orange and blue correction series: Lee Filters' swatch
# book, nos. 204, 205, 206, 223 and 201, 202, 203, 218, from memory. Makers differ by some mireds.
GELS = (
    NO_GEL,
    *(
        Gel(name, shift_mired, -float(np.log2(passed)))
        for name, shift_mired, passed in (
            ("full CTO", 159.0, 0.554),
            ("half CTO", 109.0, 0.708),
            ("quarter CTO", 64.0, 0.791),
            ("eighth CTO", 26.0, 0.852),
            ("full CTB", -137.0, 0.340),
            ("half CTB", -78.0, 0.549),
            ("quarter CTB", -35.0, 0.692),
            ("eighth CTB", -18.0, 0.813),
        )
    ),
)


def mired(temperature_k: ArrayLike) -> FloatOrArray:
    """Return a colour temperature in mireds, any shape; NaN outside 1000..40 000 K. [mired]"""
    kelvin = np.asarray(temperature_k, dtype=float)
    known = (kelvin >= COOLEST_K) & (kelvin <= HOTTEST_K)
    return np.divide(1e6, kelvin, out=np.full_like(kelvin, np.nan), where=known)[()]


def shift_mired(from_k: ArrayLike, to_k: ArrayLike) -> FloatOrArray:
    """Return the shift that brings one colour to another, warmer positive, shapes that fit together. [mired]"""
    return mired(to_k) - mired(from_k)


def through_gel_k(temperature_k: ArrayLike, gel: Gel) -> FloatOrArray:
    """Return the colour temperature behind a gel, any shape; NaN where it would be none. [K]"""
    shifted = np.asarray(mired(temperature_k) + gel.shift_mired)
    return np.divide(1e6, shifted, out=np.full_like(shifted, np.nan), where=shifted > 0)[()]


def nearest_gel(shift_mired: float, gels: tuple[Gel, ...] = GELS) -> Gel:
    """Return the gel whose shift is nearest to what is wanted, no gel among them; the weaker of two alike.

    Raises ``BadInput`` where the shift is unknown.
    """
    if not np.isfinite(shift_mired):
        raise BadInput("There is no gel for a light of unknown colour; its colour temperature lies in 1000 to 40 000 K.", "temperature_k")
    return min(gels, key=lambda gel: (round(abs(gel.shift_mired - shift_mired), 6), abs(gel.shift_mired)))


def gel_words(to_k: float, flash_k: float = FLASH_K, gels: tuple[Gel, ...] = GELS) -> str:
    """Return which gel brings a flash to a light's colour, and what it leaves and takes, in words."""
    wanted = float(shift_mired(flash_k, to_k))
    gel = nearest_gel(wanted, gels)
    left = wanted - gel.shift_mired
    near = "matches" if abs(left) < CLOSE_MIRED else f"stays {abs(left):.0f} mired too {'cool' if left > 0 else 'warm'}"
    taken = f", takes {stops_words(gel.loss_stops)}" if gel.loss_stops >= 1 / 6 else ""
    return f"{gel.name}: {near} for {to_k:.0f} K{taken}"
