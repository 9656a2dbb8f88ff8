"""The lowest visible sky all round one viewpoint, as a closed line of straight pieces."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TypeVar

import numpy as np
from numpy.typing import ArrayLike

from app.place.geodesy import inverse
from app.place.site import Pin, Sighting, Site, Survey
from app.units import FloatArray, FloatOrArray, compass_deg

LEVEL = "the horizon"
UNNAMED = "the skyline"
WIDEST_GAP_DEG = 30.0  # between sighted points; a wider one was not surveyed
STEP_DEG = 0.01  # how far outside the sighted points the line falls to level
NEAR_M = 2000.0  # a survey farther away tells nothing about here

T = TypeVar("T")


@dataclass(frozen=True, eq=False)
class Skyline:
    """A skyline through nodes, straight between them, and closed round the compass.

    Parameters
    ----------
    azimuth_deg : array_like
        Where it bends, ascending, 0 <= azimuth < 360. [°]
    altitude_deg : array_like
        Its altitude there. [°]
    called : sequence of str
        Its name from each node on clockwise, up to the next.

    Raises
    ------
    ValueError
        When the three do not fit together or the azimuths do not ascend.
    """

    azimuth_deg: FloatArray
    altitude_deg: FloatArray
    called: tuple[str, ...]

    def __post_init__(self) -> None:
        for name in ("azimuth_deg", "altitude_deg"):
            object.__setattr__(self, name, _fixed(getattr(self, name)))
        object.__setattr__(self, "called", tuple(self.called))
        self._check()

    def altitude_at(self, azimuth_deg: ArrayLike) -> FloatOrArray:
        """Return the altitude of the lowest visible sky at azimuths of any shape. [°]"""
        return np.interp(compass_deg(azimuth_deg), *self._wrapped)

    def called_at(self, azimuth_deg: float) -> str:
        """Return what the skyline is called at one azimuth, “the ridge” or “the horizon”."""
        node = np.searchsorted(self.azimuth_deg, compass_deg(azimuth_deg), side="right") - 1
        return self.called[node]

    def range_between(self, from_deg: FloatArray, to_deg: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the lowest and highest altitude on the shorter way between azimuths of one shape. [°]

        Exact, gaps of any narrowness included; the way is taken 0.05° longer at
        both ends.
        """
        start = np.asarray(from_deg, dtype=float)
        turn = (np.asarray(to_deg) - start + 180.0) % 360.0 - 180.0
        low = np.minimum(start, start + turn) - 0.05
        high = np.maximum(start, start + turn) + 0.05
        ends = self.altitude_at(low), self.altitude_at(high)
        azimuth, lowest, highest = self._extremes
        first, last = np.searchsorted(azimuth, low), np.searchsorted(azimuth, high, side="right")
        level = np.frexp(np.maximum(last - first, 1))[1] - 1
        second = np.maximum(last - 2**level, 0)
        some = last > first
        low_nodes = np.minimum(lowest[level, first], lowest[level, second])
        high_nodes = np.maximum(highest[level, first], highest[level, second])
        return (
            np.minimum(np.minimum(*ends), np.where(some, low_nodes, np.inf)),
            np.maximum(np.maximum(*ends), np.where(some, high_nodes, -np.inf)),
        )

    @cached_property
    def _extremes(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """The nodes of three turns, and the lowest and highest of each 1, 2, 4, … from every node on.

        Any run of nodes is covered by two of those, so its extremes take two looks.
        """
        azimuth = np.concatenate([self.azimuth_deg + turn for turn in (-360.0, 0.0, 360.0)])
        lowest, highest = (
            [np.append(np.tile(self.altitude_deg, 3), np.nan)],
            [np.append(np.tile(self.altitude_deg, 3), np.nan)],
        )
        step = 1
        while step < len(azimuth):
            lowest.append(np.fmin(lowest[-1], np.append(lowest[-1][step:], np.full(step, np.nan))))
            highest.append(np.fmax(highest[-1], np.append(highest[-1][step:], np.full(step, np.nan))))
            step *= 2
        return azimuth, np.stack(lowest), np.stack(highest)

    @cached_property
    def _wrapped(self) -> tuple[FloatArray, FloatArray]:
        """The nodes with one more on each side, so that no azimuth lies outside."""
        azimuth, altitude = self.azimuth_deg, self.altitude_deg
        return (
            np.concatenate([azimuth[-1:] - 360.0, azimuth, azimuth[:1] + 360.0]),
            np.concatenate([altitude[-1:], altitude, altitude[:1]]),
        )

    def _check(self) -> None:
        azimuth, altitude = self.azimuth_deg, self.altitude_deg
        if not (azimuth.ndim == 1 and azimuth.shape == altitude.shape == (len(self.called),)):
            raise ValueError("A skyline needs as many altitudes and names as azimuths, in one row each.")
        if not (azimuth.size and np.all(np.isfinite(altitude)) and np.all(np.diff(azimuth) > 0.0)):
            raise ValueError("A skyline needs one node or more, finite, with ascending azimuths.")
        if not (azimuth[0] >= 0.0 and azimuth[-1] < 360.0):
            raise ValueError("The azimuths of a skyline run from 0 to below 360 degrees.")


def level_skyline() -> Skyline:
    """Return the skyline of flat land, with nothing standing on it."""
    return Skyline([0.0], [0.0], (LEVEL,))


def surveyed_skyline(survey: Survey) -> Skyline:
    """Return the skyline through the sighted points of a survey.

    Between neighbouring points it is straight. A gap wider than 30° was not
    surveyed and counts as level: the line falls to 0° within 0.01° outside the
    sighted points. A name holds clockwise from its point to the next name, also
    past north; where nothing was named it is “the skyline”, and “the horizon”
    where it is level and has no name of its own.

    The eye is taken to be where the sights were; obstacles of the site's plan are
    left out.
    """
    sightings = sorted(survey.sightings, key=lambda sighting: sighting.bearing_deg)
    nodes = [
        (sighting.bearing_deg, sighting.altitude_deg, name)
        for sighting, name in zip(sightings, _names(sightings), strict=True)
    ]
    gaps = [node for here, after in zip(nodes, _turned(nodes), strict=True) for node in _gap(here, after)]
    return Skyline(*zip(*sorted(nodes + gaps), strict=True))


def skyline_for(site: Site, pin: Pin) -> Skyline:
    """Return the skyline of the site's nearest survey within 2 km of a pin, or a level one."""
    far_m = {survey: _distance_m(survey.pin, pin) for survey in site.surveys}
    nearest = min(far_m, key=far_m.get, default=None)
    return surveyed_skyline(nearest) if nearest and far_m[nearest] <= NEAR_M else level_skyline()


def _gap(here: tuple[float, float, str], after: tuple[float, float, str]) -> list[tuple[float, float, str]]:
    """Return the two level nodes that bound a gap, none where it is narrow."""
    width_deg = (after[0] - here[0]) % 360.0 or 360.0
    if width_deg <= WIDEST_GAP_DEG:
        return []
    falls, rises = compass_deg(here[0] + STEP_DEG), compass_deg(after[0] - STEP_DEG)
    return [(float(falls), 0.0, LEVEL), (float(rises), 0.0, after[2])]


def _names(sightings: Sequence[Sighting]) -> list[str]:
    """Name the piece after each point: by its own name, as level, or by the last name before it.

    The round is made twice, so that a name holds past north.
    """
    last, names = UNNAMED, []
    for here, after in [*zip(sightings, _turned(sightings), strict=True)] * 2:
        last = here.called or last
        level = here.altitude_deg == after.altitude_deg == 0.0 and not here.called
        names.append(LEVEL if level else last)
    return names[len(sightings) :]


def _turned(ring: Sequence[T]) -> list[T]:
    return [*ring[1:], ring[0]]


def _distance_m(one: Pin, other: Pin) -> float:
    return inverse(one.lat_deg, one.lon_deg, other.lat_deg, other.lon_deg).distance_m


def _fixed(values: ArrayLike) -> FloatArray:
    fixed = np.array(values, dtype=float)
    fixed.flags.writeable = False
    return fixed
