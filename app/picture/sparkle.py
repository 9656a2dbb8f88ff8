"""How much of the water behind the couple sparkles, and between which bounds while the sun moves."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from app.picture.glitter import (
    LEAST_ALTITUDE_DEG,
    Facets,
    Slopes,
    facets,
    fresnel_reflectance,
    slope_density,
    sparkle,
    sun_over_sky_sr,
    unhidden_share,
)
from app.picture.sensor import direction_of
from app.picture.water import Mirror, touches_water_m
from app.units import FloatArray, FloatOrArray

COLUMNS, ROWS = 40, 6
AIMED_ASIDE = 0.02  # of the frame's height: room for a plane that does not stand square to the aim
BRIGHT = 1.0  # sparkling water is as bright as the clear sky's mean or brighter; to look right
DECADES = 1.5  # over which a cell passes from not counted to counted, about that
SKY_OUTSHONE_DEG = 26.6  # where the sun is brightest over the sky; less on both sides
ROUNDING = 1.0001


@dataclass(frozen=True, eq=False)
class Cells:
    """Equal cells of the frame that show water behind the couple.

    Attributes
    ----------
    azimuth_deg, depression_deg : shape (n,)
        Where they are. [°]
    """

    azimuth_deg: FloatArray
    depression_deg: FloatArray

    def __len__(self) -> int:
        return len(self.azimuth_deg)


@lru_cache(maxsize=32)
def cells_behind(mirror: Mirror) -> Cells:
    """Return the cells of a mirror's picture that the camera sees as water beyond the upright plane through the couple."""
    x, y = _grid(mirror)
    azimuth, altitude = direction_of(mirror.view, x, y)
    east, north = mirror.stage.couple_m / np.linalg.norm(mirror.stage.couple_m)
    ahead = east * np.sin(np.radians(azimuth)) + north * np.cos(np.radians(azimuth))
    behind = touches_water_m(mirror.eye_m, -altitude) * ahead > np.linalg.norm(mirror.stage.couple_m)
    seen = behind & (mirror.seen_mm(x, y) > 0)
    return Cells(azimuth[seen], -altitude[seen])


def _grid(mirror: Mirror) -> tuple[FloatArray, FloatArray]:
    """Return the middles of equal cells of the frame between the horizon and the couple's place on the water. [mm]"""
    camera, view = mirror.view.camera, mirror.view
    _, place = view.of_point(*mirror.stage.couple_m, -mirror.eye_m)
    low = float(np.nan_to_num(place, nan=-np.inf)) - AIMED_ASIDE * camera.height_mm
    low, high = (np.clip(end, -camera.height_mm / 2, camera.height_mm / 2) for end in (low, view.horizon_y_mm))
    x = ((np.arange(COLUMNS) + 0.5) / COLUMNS - 0.5) * camera.width_mm
    return tuple(np.meshgrid(x, low + (np.arange(ROWS) + 0.5) / ROWS * (high - low)))


def sparkling_share(cells: Cells, slopes: Slopes, azimuth_deg: FloatOrArray, altitude_deg: FloatOrArray) -> FloatArray:
    """Return the share of cells that sparkle, 0..1.

    Parameters
    ----------
    cells : Cells
    slopes : Slopes
    azimuth_deg, altitude_deg : any one shape
        The sun, as seen. [°]

    Returns
    -------
    same shape
        A cell counts by half when its glitter is as bright as the clear sky's mean,
        whole from three quarters of a power of ten above; 0 without cells. What shades the water
        from the sun is left out.
    """
    azimuth, altitude = np.broadcast_arrays(np.asarray(azimuth_deg, dtype=float), np.asarray(altitude_deg, dtype=float))
    if not len(cells):
        return np.zeros(azimuth.shape)
    found = facets(cells.azimuth_deg, cells.depression_deg, azimuth[..., np.newaxis], altitude[..., np.newaxis])
    return _counted(sparkle(found, slopes)).mean(axis=-1)


def sparkling_bounds(
    cells: Cells, slopes: Slopes, azimuth_deg: FloatArray, altitude_deg: FloatArray, turn_deg: FloatArray, rise_deg: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return the least and the most the share can be while the sun stays near some places.

    Parameters
    ----------
    cells, slopes
    azimuth_deg, altitude_deg : shape (n,)
        Those places. [°]
    turn_deg, rise_deg : shape (n,)
        How far azimuth and altitude may be off, either way. [°]

    Notes
    -----
    Each factor of the glitter is taken at its least and its greatest, so the bounds
    are safe and wide.
    """
    if not len(cells):
        return np.zeros(azimuth_deg.shape), np.zeros(azimuth_deg.shape)
    azimuth, altitude, turn, rise = (one[:, np.newaxis] for one in (azimuth_deg, altitude_deg, turn_deg, rise_deg))
    low, high = (np.maximum(altitude + side * rise, LEAST_ALTITUDE_DEG) for side in (-1, 1))
    found = facets(cells.azimuth_deg, cells.depression_deg, azimuth, altitude)
    off = np.hypot(turn, rise)  # no part of the sun's direction moves by more, in radians
    up_low, up_high = (np.sin(np.radians(sun)) + np.sin(np.radians(found.sight_deg)) for sun in (low, high))
    least = _extreme(found, slopes, low, _Reach(up_low, up_high, np.radians(off)), -off)
    most = _extreme(found, slopes, high, _Reach(up_high, up_low, -np.radians(off)), off)
    least_sky = np.minimum(sun_over_sky_sr(low), sun_over_sky_sr(high))
    most_sky = sun_over_sky_sr(np.clip(SKY_OUTSHONE_DEG, low, high)) * ROUNDING
    return _counted(least * least_sky).mean(axis=-1), _counted(most * most_sky).mean(axis=-1)


@dataclass(frozen=True, eq=False)
class _Reach:
    """How a slope is pushed to one end of its range.

    Attributes
    ----------
    steep_over, flat_over : array
        The upright part that its level part is divided by, for the density of slopes
        and for the tilt.
    pushed : array
        By how much its level part may be longer; negative to make it shorter.
    """

    steep_over: FloatArray
    flat_over: FloatArray
    pushed: FloatArray

    def steepest(self, level: FloatArray) -> FloatArray:
        return np.maximum(np.abs(level) + self.pushed, 0.0) / self.steep_over

    def flattest(self, level: FloatArray) -> FloatArray:
        return np.maximum(level - self.pushed, 0.0) / self.flat_over


def _extreme(found: Facets, slopes: Slopes, sun_deg: FloatArray, reach: _Reach, turned_deg: FloatArray) -> FloatArray:
    """Return the glitter per sr with each factor pushed the same way; as :func:`glint_per_sr`, taken apart."""
    wind = np.radians(slopes.wind_from_deg)
    up = np.sin(np.radians(found.sun_deg)) + np.sin(np.radians(found.sight_deg))
    upwind = (found.east * np.sin(wind) + found.north * np.cos(wind)) * up
    crosswind = (found.east * np.cos(wind) - found.north * np.sin(wind)) * up
    density = slope_density(reach.steepest(upwind), reach.steepest(crosswind), slopes)
    tilt = 1 + reach.flattest(np.hypot(upwind, crosswind)) ** 2
    reflected = fresnel_reflectance(found.incidence_deg + turned_deg)
    seen = unhidden_share(sun_deg, found.sight_deg, slopes) / (4 * np.sin(np.radians(found.sight_deg)))
    return density * tilt**2 * reflected * seen


def _counted(brightness: FloatArray) -> FloatArray:
    """Return how far each cell counts as sparkling, 0..1."""
    return np.clip(0.5 + np.log10(np.maximum(brightness, 1e-30) / BRIGHT) / DECADES, 0.0, 1.0)
