"""Two ways to hold a bright sky with a flash, side by side: a filter at sync, or high-speed sync.

At the sync time the flash gives all it has, and a neutral-density filter takes from day and
flash alike. In high-speed sync the short time takes the day, and from the flash its own loss
besides.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from app.light.camera_settings import Limits, settings_for
from app.light.faces import Face
from app.light.flash import ENOUGH_STOPS, Flashed, flash_for
from app.light.lights import Light
from app.light.stops import stops_words

FILTER, HIGH_SPEED, EITHER, NEITHER = "filter", "high speed", "either", "neither"


@dataclass(frozen=True, eq=False)
class TwoWays:
    """Both ways at the same moments.

    Attributes
    ----------
    at_sync : Flashed
        At the sync time or slower, with a filter where one is needed.
    high_speed : Flashed
        At any time of the shutter, with no filter.
    """

    at_sync: Flashed
    high_speed: Flashed

    @property
    def gain_stops(self) -> np.ndarray:
        """How much more the flash can do at sync than in high-speed sync, on the faces' middle. [stop]"""
        return self.at_sync.full_stops - self.high_speed.full_stops

    def better(self, at: int | tuple[int, ...] = ()) -> str:
        """Return which way does it at one moment: one of “filter”, “high speed”, “either”, “neither”."""
        filtered, fast = (bool(_does(way)[at]) for way in (self.at_sync, self.high_speed))
        if filtered and fast:
            return EITHER
        return FILTER if filtered else HIGH_SPEED if fast else NEITHER

    def words(self, at: int | tuple[int, ...] = ()) -> tuple[str, str]:
        """Return both ways at one moment, at sync first: settings, then flash, then what the sky misses."""
        return tuple(": ".join((way.settings.words(at), way.words(at))) + _sky_words(way, at) for way in (self.at_sync, self.high_speed))


def two_ways(
    camera_ev100: ArrayLike,
    face_lux: ArrayLike,
    limits: Limits,
    lights: tuple[Light, ...],
    faces: tuple[Face, ...],
    down_stops: float = 0.0,
) -> TwoWays:
    """Return what to set at sync and in high-speed sync for the same exposure.

    Parameters
    ----------
    camera_ev100 : any shape (moments)
        What to expose for, at ISO 100.
    face_lux : shape (faces, moments), or one that fits it
        The day on each face. [lx]
    limits, lights, faces, down_stops
        As for ``settings_for`` and ``flash_for``, which also say what is refused.
    """
    at_sync = settings_for(camera_ev100, limits, sync=True)
    fast = settings_for(camera_ev100, replace(limits, nd_stops=()))
    return TwoWays(*(flash_for(settings, face_lux, lights, faces, down_stops) for settings in (at_sync, fast)))


def _does(way: Flashed) -> np.ndarray:
    return way.enough & (np.abs(way.settings.miss_stops) < ENOUGH_STOPS)


def _sky_words(way: Flashed, at: int | tuple[int, ...]) -> str:
    miss = float(way.settings.miss_stops[at])
    if not abs(miss) >= ENOUGH_STOPS:
        return ""
    return f"; the sky {stops_words(miss)} {'over' if miss > 0 else 'under'} what was asked for"
