"""The sun's slowly varying coordinates as daily cubics, the same for every site.

Of the sun's apparent motion nearly all is the Earth's even rotation. What is
left, declination and the drift of the hour angle, changes so smoothly that one
cubic a day through the four nearest midnights follows the NREL Solar Position
Algorithm to 0.000001°. The algorithm itself (I. Reda & A. Andreas,
NREL/TP-560-34302, 2008) is pvlib's.
"""

from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.util import find_spec, module_from_spec, spec_from_file_location
from pathlib import Path
from types import ModuleType

import numpy as np

from app.units import FloatArray

DAY_S = 86_400.0
BLOCK_DAYS = 512

# TT - UT1 measured since 2017 and expected for the years ahead, within a second
# or two. Extrapolating polynomials run off to 85 s by 2040; ten seconds more or
# less move the sun by 0.0001°.
DELTA_T_NOW_S = 69.2

# Lagrange's cubic through the values at -1, 0, 1 and 2 days: rows are the four
# values, columns the coefficients of 1, s, s² and s³.
_THROUGH_FOUR = np.array(
    [[0, -1 / 3, 1 / 2, -1 / 6], [1, -1 / 2, -1, 1 / 2], [0, 1, 1 / 2, -1 / 2], [0, -1 / 6, 0, 1 / 6]]
)


@dataclass(frozen=True)
class SunDays:
    """Cubics for consecutive UTC days, UT1 taken as UTC.

    Attributes
    ----------
    first_day : int
        Days from 1970-01-01 to the first row.
    cubics : array of shape (3, 4, days)
        Coefficients of 1, s, s² and s³, s the fraction of the day, for
        cos δ cos E, cos δ sin E and sin δ. δ is the geocentric apparent
        declination; the Greenwich hour angle is E + 360° · s - 180°, so that E
        is the equation of time as an angle.
    distance_au : array of shape (days,)
        Distance of the sun at the start of each day. [au]
    """

    first_day: int
    cubics: FloatArray
    distance_au: FloatArray

    def rows(self, utc_s: FloatArray) -> tuple[np.ndarray, FloatArray]:
        """Return the row of each instant and the fraction of its day gone by."""
        days = np.asarray(utc_s) / DAY_S - self.first_day
        row = np.floor(days).astype(np.intp)
        return row, days - row

    def distance_at(self, utc_s: FloatArray) -> FloatArray:
        """Return the sun's distance, held through each UTC day: it changes 0.0003 au a day. [au]"""
        return self.distance_au[self.rows(utc_s)[0]]

    def direction(self, utc_s: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """Return cos δ cos E, cos δ sin E, sin δ and the fraction of the day."""
        row, s = self.rows(utc_s)
        x, y, z = (_horner(np.take(cubic, row, axis=1), s) for cubic in self.cubics)
        return x, y, z, s


def sun_days(first_day: int, last_day: int, delta_t_s: float | None = None) -> SunDays:
    """Return the cubics of the UTC days ``first_day`` to ``last_day``, both included.

    Days count from 1970-01-01. ``delta_t_s`` is TT - UT1; left out, it is what
    was observed (see ``delta_t``). [s]
    """
    return _blocks(first_day // BLOCK_DAYS, last_day // BLOCK_DAYS, delta_t_s)


def delta_t(year: float) -> float:
    """Return TT - UT1, good to about 2 s from 1950 on. [s]

    Espenak and Meeus's polynomials (*Five Millennium Canon of Solar Eclipses*,
    NASA/TP-2006-214141) up to where they overtook what was then measured, and a
    steady 69.2 s from there.
    """
    return float(min(_spa().calculate_deltat(year, 1), DELTA_T_NOW_S))


@lru_cache(maxsize=16)
def _blocks(first: int, last: int, delta_t_s: float | None) -> SunDays:
    """Return neighbouring blocks as one, 53 kB each; the last few runs are kept."""
    if first == last:
        return _block(first, delta_t_s)
    blocks = [_block(number, delta_t_s) for number in range(first, last + 1)]
    cubics = np.concatenate([block.cubics for block in blocks], axis=2)
    return SunDays(blocks[0].first_day, cubics, np.concatenate([block.distance_au for block in blocks]))


@cache
def _block(number: int, delta_t_s: float | None) -> SunDays:
    first_day = number * BLOCK_DAYS
    midnights_s = (first_day + np.arange(-1, BLOCK_DAYS + 2)) * DAY_S
    if delta_t_s is None:
        delta_t_s = delta_t(1970 + midnights_s[BLOCK_DAYS // 2] / (365.2425 * DAY_S))
    sidereal_deg, ascension_deg, declination_deg = _spa_geocentric(midnights_s, delta_t_s, sst=True)
    (distance_au,) = _spa_geocentric(midnights_s, delta_t_s, esd=True)
    drift = np.radians(sidereal_deg - ascension_deg + 180.0)
    declination = np.radians(declination_deg)
    nodes = np.stack([np.cos(declination) * np.cos(drift), np.cos(declination) * np.sin(drift), np.sin(declination)])
    fours = np.stack([nodes[:, i : i + BLOCK_DAYS] for i in range(4)], axis=1)
    return SunDays(first_day, _THROUGH_FOUR.T @ fours, distance_au[1 : BLOCK_DAYS + 1])


def _spa_geocentric(utc_s: FloatArray, delta_t_s: float, **part: bool) -> tuple[FloatArray, ...]:
    """Return pvlib's geocentric part: no place, pressure or threads play in it."""
    return _spa().solar_position_numpy(utc_s, 0.0, 0.0, 0.0, 0.0, 0.0, delta_t_s, 0.0, 1, **part)


@cache
def _spa() -> ModuleType:
    """Return pvlib's SPA alone: ``import pvlib`` would fetch pandas and half a second."""
    folder = find_spec("pvlib").submodule_search_locations[0]
    spec = spec_from_file_location("westering_spa", Path(folder) / "spa.py")
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def _horner(cubic: FloatArray, s: FloatArray) -> FloatArray:
    return ((cubic[3] * s + cubic[2]) * s + cubic[1]) * s + cubic[0]
