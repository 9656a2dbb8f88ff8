"""A line of straight pieces, closed round the compass."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from app.units import FloatArray, FloatOrArray, compass_deg

LONGER_DEG = 0.05  # by how much a way is taken longer at both ends when its range is asked for


@dataclass(frozen=True, eq=False)
class ClosedLine:
    """Altitudes at ascending azimuths, straight between them, and from the last on to the first.

    Parameters
    ----------
    azimuth_deg, altitude_deg : arrays of one length, one node or more
        0 <= azimuth < 360, ascending; taken as they come, unchecked. [°]
    """

    azimuth_deg: FloatArray
    altitude_deg: FloatArray

    def at(self, azimuth_deg: ArrayLike) -> FloatOrArray:
        """Return the altitude at azimuths of any shape. [°]"""
        return np.interp(compass_deg(azimuth_deg), *self._wrapped)

    def piece_at(self, azimuth_deg: float) -> int:
        """Return the number of the node from which the piece at an azimuth goes on clockwise; -1 before the first."""
        return int(np.searchsorted(self.azimuth_deg, compass_deg(azimuth_deg), side="right")) - 1

    def range_between(
        self, from_deg: ArrayLike, to_deg: ArrayLike, beyond_deg: ArrayLike = LONGER_DEG
    ) -> tuple[FloatArray, FloatArray]:
        """Return the lowest and highest altitude on the shorter way between azimuths of one shape. [°]

        Exact, gaps of any narrowness included; the way is taken ``beyond_deg``
        longer at both ends, 180° at most.
        """
        start = np.asarray(from_deg, dtype=float)
        turn = np.asarray(to_deg) - start
        turn = turn - 360.0 * np.rint(turn / 360.0)
        low = start + np.minimum(turn, 0.0) - beyond_deg
        high = start + np.maximum(turn, 0.0) + beyond_deg
        azimuth, lowest, highest = self._extremes
        altitude, number = lowest[0, :-1], np.arange(len(azimuth))
        ends = np.interp(low, azimuth, altitude), np.interp(high, azimuth, altitude)
        # Interpolated numbers tell the nodes inside, several times faster than a search for each.
        first = np.ceil(np.interp(low, azimuth, number)).astype(int)
        count = np.floor(np.interp(high, azimuth, number)).astype(int) + 1 - first
        level = np.frexp(np.maximum(count, 1))[1] - 1
        second = np.maximum(first + count - (1 << level), 0)
        low_nodes = np.minimum(lowest[level, first], lowest[level, second])
        high_nodes = np.maximum(highest[level, first], highest[level, second])
        return (
            np.minimum(np.minimum(*ends), np.where(count > 0, low_nodes, np.inf)),
            np.maximum(np.maximum(*ends), np.where(count > 0, high_nodes, -np.inf)),
        )

    @cached_property
    def _extremes(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """The nodes of five turns, and the lowest and highest of each 1, 2, 4, … from every node on.

        Any run of nodes is covered by two of those, so its extremes take two looks.
        """
        azimuth = np.concatenate([self.azimuth_deg + turn for turn in (-720.0, -360.0, 0.0, 360.0, 720.0)])
        levels = len(azimuth).bit_length()
        lowest, highest = np.empty((2, levels, len(azimuth) + 1))
        lowest[0] = highest[0] = np.append(np.tile(self.altitude_deg, 5), np.nan)
        for level in range(1, levels):
            step = 2 ** (level - 1)
            for kept, extreme in ((lowest, np.fmin), (highest, np.fmax)):
                extreme(kept[level - 1, :-step], kept[level - 1, step:], out=kept[level, :-step])
                kept[level, -step:] = kept[level - 1, -step:]
        return azimuth, lowest, highest

    @cached_property
    def _wrapped(self) -> tuple[FloatArray, FloatArray]:
        """The nodes with one more on each side, so that no azimuth lies outside."""
        azimuth, altitude = self.azimuth_deg, self.altitude_deg
        return (
            np.concatenate([azimuth[-1:] - 360.0, azimuth, azimuth[:1] + 360.0]),
            np.concatenate([altitude[-1:], altitude, altitude[:1]]),
        )
