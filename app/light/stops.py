"""Stops: the marks of apertures, times and sensitivities in thirds of a stop, and stops in words.

A place on a scale is a whole number of thirds, so that settings add up without rounding:
aperture 0 at f/1, time 0 at 1 s, sensitivity 0 at ISO 100. The marks are the rounded figures
on cameras; sums are made with the exact values behind them, f/11 being 2^3.5 = 11.31 (the
preferred numbers of ISO 517 for apertures, ISO 516 for times and ISO 12232 for sensitivities,
in third stops, from memory).
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from app.errors import BadInput
from app.units import FloatArray, FloatOrArray

# Widest first. [1]
_APERTURES = (
    0.7, 0.8, 0.9, 1, 1.1, 1.2, 1.4, 1.6, 1.8, 2, 2.2, 2.5, 2.8, 3.2, 3.5, 4, 4.5, 5, 5.6, 6.3, 7.1, 8,
    9, 10, 11, 13, 14, 16, 18, 20, 22, 25, 29, 32, 36, 40, 45, 51, 57, 64,
)  # fmt: skip
# Slowest first; from 1/4 s on as the number under the line. [s]
_SECONDS = (30, 25, 20, 15, 13, 10, 8, 6, 5, 4, 3.2, 2.5, 2, 1.6, 1.3, 1, 0.8, 0.6, 0.5, 0.4, 0.3)
_PARTS = (
    4, 5, 6, 8, 10, 13, 15, 20, 25, 30, 40, 50, 60, 80, 100, 125, 160, 200, 250, 320, 400, 500, 640, 800,
    1000, 1250, 1600, 2000, 2500, 3200, 4000, 5000, 6400, 8000, 10000, 12800, 16000, 20000, 25600, 32000,
)  # fmt: skip
# Least sensitive first. [1]
_SPEEDS = (
    25, 32, 40, 50, 64, 80, 100, 125, 160, 200, 250, 320, 400, 500, 640, 800, 1000, 1250, 1600, 2000, 2500,
    3200, 4000, 5000, 6400, 8000, 10000, 12800, 16000, 20000, 25600, 32000, 40000, 51200, 64000, 80000, 102400,
)  # fmt: skip
_SLIP = 1e-3  # of a third: what a typed 1/125 may differ from the mark


@dataclass(frozen=True)
class Scale:
    """One scale of marks, a third of a stop apart.

    Attributes
    ----------
    name : str
        For messages: “An aperture”.
    field : str
        The input that messages belong to.
    unit : float
        The exact value at place 0.
    stops_per_doubling : float
        How many stops darker a doubled value makes the picture: 2 for f-numbers, -1
        for times, and 1 for sensitivities, whose places run the other way round.
    first : int
        The place of the first mark. [third of a stop]
    marks : tuple of float
        The rounded values on cameras.
    words : tuple of str
        How they are written.
    """

    name: str
    field: str
    unit: float
    stops_per_doubling: float
    first: int
    marks: tuple[float, ...]
    words: tuple[str, ...]

    @property
    def last(self) -> int:
        """The place of the last mark. [third of a stop]"""
        return self.first + len(self.marks) - 1

    def value(self, thirds: ArrayLike) -> FloatArray:
        """Return the exact values behind some places, any shape."""
        return self.unit * 2.0 ** (np.asarray(thirds, dtype=float) / (3 * self.stops_per_doubling))

    def mark(self, thirds: int) -> str:
        """Return how a place is written, as on the camera; ``ValueError`` off the scale."""
        if not self.first <= thirds <= self.last:
            raise ValueError(f"Place {thirds} is off the scale {self.first}..{self.last}.")
        return self.words[int(thirds) - self.first]

    def thirds(self, value: float) -> float:
        """Return the place of a value, fractions of a third kept; a mark has its own whole place.

        Raises ``BadInput`` for what is off the scale.
        """
        for place, mark in enumerate(self.marks, self.first):
            if math.isclose(value, mark, rel_tol=1e-6):
                return float(place)
        place = 3 * self.stops_per_doubling * math.log2(value / self.unit) if value > 0 else math.nan
        if not self.first - 0.5 <= place <= self.last + 0.5:
            raise BadInput(
                f"{self.name} lies between {self.words[0]} and {self.words[-1]}; {value:g} came.", self.field
            )
        return place

    def nearest(self, value: float) -> int:
        """Return the place of the mark nearest to a value; ``BadInput`` off the scale."""
        return self._held(round(self.thirds(value)))

    def at_least(self, value: float) -> int:
        """Return the first place that is not before a value; ``BadInput`` off the scale."""
        return self._held(math.ceil(self.thirds(value) - _SLIP))

    def at_most(self, value: float) -> int:
        """Return the last place that is not past a value; ``BadInput`` off the scale."""
        return self._held(math.floor(self.thirds(value) + _SLIP))

    def _held(self, place: int) -> int:
        return min(max(place, self.first), self.last)


APERTURES = Scale("An aperture", "f_number", 1.0, 2.0, -3, _APERTURES, tuple(f"f/{mark:g}" for mark in _APERTURES))
TIMES = Scale(
    "A time",
    "time_s",
    1.0,
    -1.0,
    -15,
    (*_SECONDS, *(1 / part for part in _PARTS)),
    (*(f"{mark:g} s" for mark in _SECONDS), *(f"1/{part} s" for part in _PARTS)),
)
SPEEDS = Scale("A sensitivity", "iso", 100.0, 1.0, -6, _SPEEDS, tuple(f"ISO {mark}" for mark in _SPEEDS))


def stops(ratio: ArrayLike) -> FloatOrArray:
    """Return a ratio of two lights in stops, any shape; NaN unless it is above 0. [stop]"""
    held = np.asarray(ratio, dtype=float)
    return np.log2(held, out=np.full_like(held, np.nan), where=held > 0)[()]


def stops_words(amount_stops: float) -> str:
    """Return an amount of stops as photographers say it, its sign left out: “2/3 stop”, “1 1/3 stops”."""
    if not math.isfinite(amount_stops):
        return "an unknown number of stops"
    whole, part = divmod(round(abs(amount_stops) * 3), 3)
    size = " ".join(word for word in (f"{whole}" if whole or not part else "", f"{part}/3" if part else "") if word)
    return f"{size} stop" if (whole, part) in {(1, 0), (0, 1), (0, 2)} else f"{size} stops"


def power_words(power_stops: float) -> str:
    """Return a flash's setting as on its dial: “full power”, “1/4 power”, “1/4 power plus 1/3 stop”."""
    if not math.isfinite(power_stops) or power_stops > 1e-6:
        return "no power that it has"
    thirds = round(-power_stops * 3)
    whole = -(-thirds // 3)
    dial = "full power" if whole == 0 else f"1/{2**whole} power"
    more = 3 * whole - thirds
    return f"{dial} plus {more}/3 stop" if more else dial
