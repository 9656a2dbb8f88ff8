"""The sky in a vertical section towards the low sun: cloud by distance and level, and the rays that pass it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.picture.cloud_levels import LEVEL_NAMES, mean_heights_m
from app.picture.forecast import Forecast
from app.place.geodesy import direct
from app.units import FloatArray, FloatOrArray

EARTH_M = 6_371_000.0  # mean radius
# The upper edge of the sun is 16′ above its centre, and air lifts it by 34′ at the horizon: Meeus ch. 15. A ray that
# leaves the ground again is bent once more and cloud heights are guesses, so depressions are good to 0.7°.
UPPER_EDGE_DEG = 50 / 60
SLACK_M = 1.0  # so that no ray is lost by rounding
DISTANCES_M = (0.0, 25e3, 50e3, 75e3, 100e3, 150e3, 200e3, 250e3, 300e3)


@dataclass(frozen=True, eq=False)
class WestSection:
    """Cloud along one bearing at one moment; for a sunrise it runs east.

    Attributes
    ----------
    bearing_deg : float
        Along which the sun sets or rises. [°]
    utc_s : float
        [s since 1970 UTC]
    distance_m : (n,)
        From the site, growing from 0. [m]
    cover : (3, n)
        Share of the sky covered by low, middle and high cloud there; NaN where not given. [0..1]
    height_m : (3,)
        At which each level's cloud is taken to lie: the middle of its range. [m]
    """

    bearing_deg: float
    utc_s: float
    distance_m: FloatArray
    cover: FloatArray
    height_m: FloatArray

    def __post_init__(self) -> None:
        distance = np.asarray(self.distance_m)
        if np.shape(self.cover) != (3, len(distance)) or distance[0] != 0 or (np.diff(distance) <= 0).any():
            shape = np.shape(self.cover)
            raise ValueError(f"A section has 3 levels at distances that grow from 0; cover of shape {shape} came.")

    def cover_at(self, level: int, distance_m: FloatOrArray) -> FloatArray:
        """Return the cover of a level, straight between the places that tell it.

        Beyond the last of them it is taken to go on as there, which ``knows`` tells apart;
        NaN where not one place tells it. [0..1]
        """
        given = ~np.isnan(self.cover[level])
        distance = np.asarray(distance_m, dtype=float)
        if not given.any():
            return np.full(distance.shape, np.nan)
        return np.interp(distance, self.distance_m[given], self.cover[level, given])

    def knows(self, level: int, distance_m: FloatOrArray) -> np.ndarray:
        """Tell whether the cover of a level at a distance lies between two places that tell it."""
        told = self.distance_m[~np.isnan(self.cover[level])]
        distance = np.asarray(distance_m, dtype=float)
        return (distance >= told[0]) & (distance <= told[-1]) if len(told) else np.zeros(distance.shape, dtype=bool)


@dataclass(frozen=True, eq=False)
class Passed:
    """Share of the light that passes all the cloud on its way, and whether all of that cloud is known.

    ``by_level`` (3, …) is what each level lets through. Beyond the last place that was
    asked cloud is taken to go on as there; a level of which nothing is told counts as
    none, so that the share is the most that can be. ``known`` is false in both cases.
    """

    share: FloatArray
    known: np.ndarray
    by_level: FloatArray


def places_to_ask(lat_deg: float, lon_deg: float, bearing_deg: float) -> tuple[tuple[float, float], ...]:
    """Return latitude and longitude of ``DISTANCES_M`` along a bearing, the site first. [°]"""
    return tuple(direct(lat_deg, lon_deg, bearing_deg, distance_m) for distance_m in DISTANCES_M)


def section_from(forecasts: Sequence[Forecast | None], utc_s: float, bearing_deg: float) -> WestSection | None:
    """Return the section at a moment from the forecasts for ``places_to_ask``; None when not one tells of cloud.

    Heights are those of the first forecast's latitude.
    """
    if len(forecasts) != len(DISTANCES_M):
        raise ValueError(f"A section has {len(DISTANCES_M)} places; forecasts for {len(forecasts)} came.")
    hours = [forecast and forecast.at(utc_s) for forecast in forecasts]
    columns = [hour.levels if hour else (None, None, None) for hour in hours]
    cover = np.array(columns, dtype=float).T  # None becomes NaN
    lat_deg = next((forecast.lat_deg for forecast in forecasts if forecast), 0.0)
    if np.isnan(cover).all():
        return None
    return WestSection(bearing_deg, utc_s, np.array(DISTANCES_M), cover, mean_heights_m(lat_deg))


def last_light_reach_m(height_m: FloatOrArray) -> FloatArray:
    """Return how far towards the sun the ray that lights a cloud last has grazed the ground: √(2 R H). [m]

    Any shape; NaN for a negative height. It is as far as the edge of that cloud may lie
    for grazing light to come in under it. Refraction and hills are left out.
    """
    height = np.asarray(height_m, dtype=float)
    return np.sqrt(2.0 * EARTH_M * np.where(height < 0.0, np.nan, height))


def last_light_deg(height_m: FloatOrArray, towards_sun_m: FloatOrArray = 0.0) -> FloatArray:
    """Return the airless altitude of the sun's centre, at the site, when a cloud takes its last light. [°]

    acos(R / (R + H)) below level for a cloud overhead, more by the Earth's turn for
    one nearer to the sun, and 50′ for the sun's upper edge in mean air.
    """
    height = np.asarray(height_m, dtype=float)
    dip = np.arccos(EARTH_M / (EARTH_M + np.where(height < 0.0, np.nan, height)))
    return -np.degrees(dip + np.asarray(towards_sun_m) / EARTH_M) - UPPER_EDGE_DEG


def first_from_below_deg(towards_sun_m: FloatOrArray) -> FloatArray:
    """Return the airless altitude of the sun's centre, at the site, from which it lights a cloud from below. [°]

    There the sun's upper edge stands level over that cloud's place.
    """
    return -np.degrees(np.asarray(towards_sun_m, dtype=float) / EARTH_M) - UPPER_EDGE_DEG


def touch_m(airless_deg: FloatOrArray) -> FloatArray:
    """Return where towards the sun its upper edge stands level: there its rays run nearest to the ground. [m]"""
    return -EARTH_M * np.radians(np.asarray(airless_deg, dtype=float) + UPPER_EDGE_DEG)


def ray_height_m(distance_m: FloatOrArray, touch: FloatOrArray, lowest_m: FloatOrArray = 0.0) -> FloatArray:
    """Return the height over the ground of a ray that runs lowest at ``touch``, by distance from the site. [m]"""
    return np.asarray(lowest_m) + (np.asarray(distance_m, dtype=float) - touch) ** 2 / (2.0 * EARTH_M)


def drop_m(distance_m: FloatOrArray) -> FloatArray:
    """Return how far the ground lies under the site's level plane at a distance, d² / 2R, for drawing. [m]"""
    return np.asarray(distance_m, dtype=float) ** 2 / (2.0 * EARTH_M)


def passes_to_site(section: WestSection, seen_deg: FloatOrArray) -> Passed:
    """Return the share of the sun's light that comes through to the site.

    Parameters
    ----------
    section : WestSection
    seen_deg : any shape
        Altitude of the sun as seen, 0..90; NaN outside. [°]

    Notes
    -----
    Each level is a thin sheet at its mean height, which the line of sight meets once and
    which stops as much as its cover. That clouds have sides, which hide more the lower
    the sun, is left out, and so is that thin cloud lets light through.
    """
    altitude = np.asarray(seen_deg, dtype=float)
    slope = np.tan(np.radians(np.where((altitude >= 0.0) & (altitude < 90.0), altitude, np.nan)))
    meets = [EARTH_M * (np.sqrt(slope**2 + 2.0 * height / EARTH_M) - slope) for height in section.height_m]
    through = np.stack([1.0 - section.cover_at(level, meets[level]) for level in range(3)])
    known = np.stack([section.knows(level, meets[level]) for level in range(3)])
    return _passed(through, known, ~np.isnan(slope))


def passes_to_cloud(section: WestSection, level: int, towards_sun_m: float, airless_deg: FloatOrArray) -> Passed:
    """Return the share of the sun's light that reaches a cloud from below.

    Parameters
    ----------
    section : WestSection
    level : int
        0 for low, 1 for middle, 2 for high.
    towards_sun_m : float
        Where the cloud hangs. [m]
    airless_deg : any shape
        Altitude of the sun's centre at the site. [°]

    Returns
    -------
    Passed
        NaN before the sun is under the cloud's level and after its last light.

    Notes
    -----
    A ray comes down through the higher levels and this one beyond the place where it runs
    lowest, and through the lower levels twice if it dips under them; sheets as in
    ``passes_to_site``.
    """
    touch = touch_m(airless_deg)
    lowest = section.height_m[level] - (touch - towards_sun_m) ** 2 / (2.0 * EARTH_M)
    through, known = zip(*(_through(section, level, other, touch, lowest) for other in range(3)))
    return _passed(np.stack(through), np.stack(known), (touch >= towards_sun_m - SLACK_M) & (lowest >= -SLACK_M))


def _through(
    section: WestSection, level: int, other: int, touch: FloatArray, lowest: FloatArray
) -> tuple[FloatArray, np.ndarray]:
    """Return what one level lets through of rays to a cloud of another, and whether it is known."""
    sheet = section.height_m[other]
    half = np.sqrt(2.0 * EARTH_M * np.maximum(sheet - lowest, 0.0))
    meets = [touch + half, touch - half] if other < level else [touch + half]
    through = np.prod([1.0 - section.cover_at(other, distance) for distance in meets], axis=0)
    known = np.all([section.knows(other, distance) for distance in meets], axis=0)
    crossed = sheet >= lowest
    return np.where(crossed, through, 1.0), known | ~crossed


def seen_cloud_deg(height_m: FloatOrArray, towards_sun_m: FloatOrArray) -> FloatArray:
    """Return how high a cloud is seen from the site, negative below level. [°]"""
    distance = np.asarray(towards_sun_m, dtype=float)
    return np.degrees(np.arctan2(np.asarray(height_m) - drop_m(distance), distance))


def level_words(section: WestSection, level: int) -> str:
    """Return “high cloud at about 9 km”."""
    return f"{LEVEL_NAMES[level]} cloud at about {math.floor(section.height_m[level] / 100 + 0.5) / 10:g} km"


def _passed(through: FloatArray, known: np.ndarray, possible: np.ndarray) -> Passed:
    by_level = np.where(np.isnan(through), 1.0, through)
    return Passed(np.where(possible, by_level.prod(axis=0), np.nan), known.all(axis=0) & possible, by_level)
