"""Settings: aperture, time, sensitivity and filter for a light, within what the camera can do.

Among all settings in whole thirds of a stop the first by this order is taken: least wrong,
least sensitive, aperture nearest to the one wanted, weakest filter. So the time moves first;
too little light opens the aperture and then raises the sensitivity; too much puts a filter on
and then closes the aperture. One filter at a time; the order is the trade's habit (common
practice, no source).
"""

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import ArrayLike

from app.errors import BadInput
from app.light.exposure import ev100_of_settings
from app.light.stops import APERTURES, SPEEDS, TIMES, stops_words
from app.units import FloatArray

DENSEST_STOPS = 20.0
MOST_FILTERS = 12


@dataclass(frozen=True)
class Limits:
    """What camera and lens can do, and what the photographer is willing to.

    Attributes
    ----------
    widest_f_number, smallest_f_number : float
        Of the lens. [1]
    wanted_f_number : float, optional
        The aperture to keep while it can be kept; the widest unless given. [1]
    slowest_s : float
        The slowest time that is still sharp in the hand. [s]
    fastest_s, sync_s : float
        The shortest time of the shutter, and the shortest at which a flash lights the whole frame. [s]
    base_iso, highest_iso : float
        [1]
    nd_stops : tuple of float
        The neutral-density filters owned, by what each takes, to the nearest third. [stop]

    Raises
    ------
    BadInput
        Naming the limit that is off the scale or on the wrong side of its fellow.
    """

    widest_f_number: float = 1.8
    smallest_f_number: float = 16.0
    wanted_f_number: float | None = None
    slowest_s: float = 1 / 125
    fastest_s: float = 1 / 8000
    sync_s: float = 1 / 200
    base_iso: float = 100.0
    highest_iso: float = 6400.0
    nd_stops: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        wide, small, wanted = self.apertures
        if wide > small:
            raise BadInput("The widest aperture has a smaller f-number than the smallest; they came the other way round.", "widest_f_number")
        if not wide <= wanted <= small:
            lens = f"{APERTURES.mark(wide)} to {APERTURES.mark(small)}"
            raise BadInput(f"The aperture f/{self.wanted_f_number:g} is outside the lens, which has {lens}.", "wanted_f_number")
        if not self.fastest_s <= self.sync_s:
            raise BadInput("No flash goes with a time shorter than the shutter's shortest; give a longer sync time.", "sync_s")
        if not self.fastest_s <= self.slowest_s:
            raise BadInput("The slowest time is longer than the shutter's shortest; they came the other way round.", "slowest_s")
        if not self.base_iso <= self.highest_iso:
            raise BadInput("The highest ISO is at least the base ISO; they came the other way round.", "highest_iso")
        self._check_filters()
        _ = self.times, self.speeds  # off their scales they refuse

    def _check_filters(self) -> None:
        if len(self.nd_stops) > MOST_FILTERS:
            raise BadInput(f"At most {MOST_FILTERS} filters are tried; {len(self.nd_stops)} came.", "nd_stops")
        for taken in self.nd_stops:
            if not 1 / 3 <= taken <= DENSEST_STOPS:
                raise BadInput(f"A filter takes between 1/3 and {DENSEST_STOPS:g} stops; {taken:g} came.", "nd_stops")

    @cached_property
    def apertures(self) -> tuple[int, int, int]:
        """The places of the widest, the smallest and the wanted aperture. [third of a stop]"""
        wide, small = APERTURES.at_least(self.widest_f_number), APERTURES.at_most(self.smallest_f_number)
        wants_widest = self.wanted_f_number in (None, self.widest_f_number)
        return wide, small, wide if wants_widest else APERTURES.nearest(self.wanted_f_number)

    @cached_property
    def times(self) -> tuple[int, int, int]:
        """The places of the slowest, the shortest and the sync time. [third of a stop]"""
        return TIMES.at_least(self.slowest_s), TIMES.at_most(self.fastest_s), TIMES.at_most(self.sync_s)

    @cached_property
    def speeds(self) -> tuple[int, int]:
        """The places of the base and the highest sensitivity. [third of a stop]"""
        return SPEEDS.at_least(self.base_iso), SPEEDS.at_most(self.highest_iso)


@dataclass(frozen=True, eq=False)
class Settings:
    """What to set at each moment; all arrays have one shape.

    Attributes
    ----------
    limits : Limits
    sync : bool
        Whether the time had to stay at sync or slower.
    aperture, time, speed, nd : array of int
        Places on their scales, and the filter's density. [third of a stop]
    miss_stops : array
        How far the picture comes out over what was asked for, under when negative,
        rounding to thirds apart; NaN where the light is unknown. [stop]
    """

    limits: Limits
    sync: bool
    aperture: np.ndarray
    time: np.ndarray
    speed: np.ndarray
    nd: np.ndarray
    miss_stops: FloatArray

    @cached_property
    def f_number(self) -> FloatArray:
        """The exact f-number behind the mark. [1]"""
        return APERTURES.value(self.aperture)

    @cached_property
    def time_s(self) -> FloatArray:
        """The exact time behind the mark. [s]"""
        return TIMES.value(self.time)

    @cached_property
    def iso(self) -> FloatArray:
        """The exact sensitivity behind the mark. [1]"""
        return SPEEDS.value(self.speed)

    @cached_property
    def camera_ev100(self) -> FloatArray:
        """The EV at ISO 100 that the settings are right for; NaN where the light is unknown."""
        return ev100_of_settings(self.f_number, self.time_s, self.iso, self.nd / 3) + 0.0 * self.miss_stops

    def one(self, at: int | tuple[int, ...]) -> "Settings":
        """Return the settings of one moment."""
        kept = (self.aperture, self.time, self.speed, self.nd, self.miss_stops)
        return Settings(self.limits, self.sync, *(np.asarray(values[at]) for values in kept))

    def words(self, at: int | tuple[int, ...] = ()) -> str:
        """Return what to set at one moment: “f/2.8, 1/250 s, ISO 100, ND 6 stops”."""
        if not np.isfinite(self.miss_stops[at]):
            return "no settings: too dark to tell"
        marks = [APERTURES.mark(self.aperture[at]), TIMES.mark(self.time[at]), SPEEDS.mark(self.speed[at])]
        return ", ".join([*marks, f"ND {stops_words(self.nd[at] / 3)}"] if self.nd[at] else marks)

    def gives_way(self, at: int | tuple[int, ...] = ()) -> tuple[str, ...]:
        """Return what had to give way at one moment, in the order it did; nothing where all could be kept."""
        if not np.isfinite(self.miss_stops[at]):
            return ("too dark to tell what to set",)
        wanted, base = self.limits.apertures[2], self.limits.speeds[0]
        aperture, speed, said = self.aperture[at], self.speed[at], []
        if self.nd[at]:
            said.append(f"ND {stops_words(self.nd[at] / 3)} on")
        if aperture != wanted:
            said.append(f"aperture {'opens' if aperture < wanted else 'closes'} to {APERTURES.mark(aperture)}")
        if speed > base:
            said.append(f"ISO rises to {SPEEDS.mark(speed).removeprefix('ISO ')}")
        return (*said, *self._missed(at))

    def _missed(self, at: int | tuple[int, ...]) -> tuple[str, ...]:
        miss = self.miss_stops[at]
        if abs(miss) < 1 / 6:
            return ()
        even = TIMES.mark(self.time[at]) if miss > 0 else SPEEDS.mark(self.speed[at])
        return (f"{stops_words(miss)} {'over' if miss > 0 else 'under'} even at {even}",)


def settings_for(camera_ev100: ArrayLike, limits: Limits, sync: bool = False) -> Settings:
    """Return what to set for a light, by the order told above.

    Parameters
    ----------
    camera_ev100 : any shape
        What to expose for, at ISO 100; rounded to thirds of a stop.
    limits : Limits
    sync : bool
        Keep the time at sync or slower, for a flash.

    Returns
    -------
    Settings
        The same shape; how far they miss is in them, and in words.
    """
    wanted = np.asarray(camera_ev100, dtype=float)
    known = np.isfinite(wanted)
    targets, place = np.unique(np.rint(3 * np.where(known, wanted, 0.0)).astype(int), return_inverse=True)
    found = _settled(targets, limits, sync)[:, place.reshape(wanted.shape)]
    return Settings(limits, sync, *found[:4], np.where(known, found[4] / 3, np.nan))


def _settled(targets: np.ndarray, limits: Limits, sync: bool) -> np.ndarray:
    """Return aperture, time, speed, filter and miss in thirds for some targets; shape (5, targets)."""
    slow, fast, synced = limits.times
    short = synced if sync else fast
    slow = min(slow, short)  # a hand-held limit shorter than sync gives way to the flash
    aperture, speed, nd, cost = _choices(limits)
    time = targets[:, np.newaxis] - aperture + speed - nd
    held = np.clip(time, slow, short)
    best = np.argmin(np.abs(held - time) * (cost.max() + 1) + cost, axis=1)
    every = np.arange(len(targets))
    # What was asked for less what the settings are right for: bright light left over is over.
    miss = (time - held)[every, best]
    return np.stack([aperture[best], held[every, best], speed[best], nd[best], miss])


@lru_cache(maxsize=64)
def _choices(limits: Limits) -> tuple[np.ndarray, ...]:
    """Return every aperture, speed and filter in thirds, and their rank: sensitivity before aperture before filter."""
    (wide, small, wanted), (base, highest) = limits.apertures, limits.speeds
    densities = sorted({0, *(round(3 * taken) for taken in limits.nd_stops)})
    grids = np.meshgrid(np.arange(base, highest + 1), np.arange(wide, small + 1), densities, indexing="ij")
    speed, aperture, nd = (grid.ravel() for grid in grids)
    order = np.lexsort((aperture, nd, np.abs(aperture - wanted), speed))
    return aperture[order], speed[order], nd[order], np.arange(len(order))
