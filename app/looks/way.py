"""The sun's way between two instants: all that azimuth and altitude can be in between."""

from dataclasses import dataclass
from functools import cached_property
from typing import Self

import numpy as np

from app.sky.ephemeris import DAY_S
from app.sky.track import SunTrack
from app.units import FloatArray

Bounds = tuple[FloatArray, FloatArray]

# By how much the air may stretch a path upwards. Above -1° it only squeezes; from there to -5° the
# lift of 0.65° is faded out, by 0.24° a degree, and by 0.33 in air of -40 °C and 1080 hPa.
AIR_STRETCH = 1.35
DRIFT = 1.01  # what the declination's change adds to how sharply the sun's path bends
_WORKED_OUT = ("strays_deg", "refracted_deg", "upper_edge_deg")


@dataclass(frozen=True)
class Way:
    """The sun going from one instant to another, hours later at most, any number of times.

    ``ends`` has shape (2, ways): the first instants and the last. Bounds are the
    least and the most on the whole way, ends included.
    """

    ends: SunTrack

    def take(self, which: np.ndarray) -> Self:
        """Return the ways of these numbers, with what has been worked out for them already."""
        some = type(self)(self.ends.take(which, axis=1))
        known = {name: tuple(part[which] for part in self.__dict__[name]) for name in _WORKED_OUT if name in self.__dict__}
        some.__dict__.update(known)
        return some

    @cached_property
    def strays_deg(self) -> Bounds:
        """How far azimuth and airless altitude may go beyond their values at both ends. [°]

        What bends by m at most goes m T² / 8 beyond its ends a time T apart at most.
        With the sky's turn as the time, A' = sin φ - cos φ tan h cos A and h' = cos φ
        sin A; at any latitude these change by 1/2 + t/2 + t² and 1/2 + t at most,
        where t is the tangent of the greatest altitude on the way. Where that may be
        the zenith or the nadir, t is endless and the azimuth may be any: 180°.
        """
        turn = (self.ends.utc_s[1] - self.ends.utc_s[0]) * (2 * np.pi / DAY_S)
        highest = np.radians(np.maximum(*np.abs(self.ends.airless_deg))) + turn / 2
        t = np.tan(np.minimum(highest, np.pi / 2))
        beyond = np.degrees(turn * turn) * (DRIFT / 8)
        return np.minimum(beyond * (0.5 + t * (0.5 + t)), 180.0), np.minimum(beyond * (0.5 + t), np.degrees(turn) / 2)

    @property
    def turned_deg(self) -> FloatArray:
        """By how much the azimuth goes to and fro at most. [°]"""
        turn = np.abs(self.ends.azimuth_deg[1] - self.ends.azimuth_deg[0])
        return np.minimum(turn, 360.0 - turn) + 2 * self.strays_deg[0]

    @property
    def climbed_deg(self) -> FloatArray:
        """By how much the airless altitude goes up and down at most. [°]"""
        return np.abs(self.ends.airless_deg[1] - self.ends.airless_deg[0]) + 2 * self.strays_deg[1]

    def azimuth_deg(self, from_deg: float = 0.0) -> Bounds:
        """Return the bounds of the azimuth less a bearing; they do not wrap: 170 to 190, or -20 to -5. [°]"""
        start, turn = self.ends.azimuth_deg[0] - from_deg, self.ends.azimuth_deg[1] - self.ends.azimuth_deg[0]
        start, turn = start - 360.0 * np.rint(start / 360.0), turn - 360.0 * np.rint(turn / 360.0)
        stray = self.strays_deg[0]
        return start + np.minimum(turn, 0.0) - stray, start + np.maximum(turn, 0.0) + stray

    @cached_property
    def refracted_deg(self) -> Bounds:
        """Altitude of the centre as seen. [°]"""
        return self._seen_deg(self.ends.refracted_deg)

    @cached_property
    def upper_edge_deg(self) -> Bounds:
        """Altitude of the disc's highest point as seen. [°]"""
        return self._seen_deg(self.ends.upper_edge_deg)

    def _seen_deg(self, at_ends: FloatArray) -> Bounds:
        stray = AIR_STRETCH * self.strays_deg[1]
        return np.minimum(*at_ends) - stray, np.maximum(*at_ends) + stray
