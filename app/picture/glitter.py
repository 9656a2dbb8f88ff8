"""Sunlight on ruffled water: how steep the facets are, how much they reflect, how bright they sparkle."""

from dataclasses import dataclass

import numpy as np

from app.picture.weather import SHELTERED_STILL_TO_M_S, STILL_TO_M_S, Weather
from app.place.site import Water
from app.units import FloatArray, FloatOrArray

FRESH_INDEX, SEA_INDEX = 1.333, 1.34  # of fresh water at 589 nm and 20 °C, and of the sea: Sayer et al. 2010
LEAST_ALTITUDE_DEG = 0.05  # sun and sight are held above it: the formulas divide by their height
FULL_TURN = 2 * np.pi


def fresnel_parts(incidence_deg: FloatOrArray, index: float = FRESH_INDEX) -> tuple[FloatArray, FloatArray]:
    """Return the reflectance of flat water for light swinging across and along the plane of incidence.

    Any shape; incidence from the upright, 0..90°, held there. [1]

    Notes
    -----
    Fresnel's equations for a clear medium: Born & Wolf, *Principles of Optics*,
    section 1.5 (from memory).
    """
    incidence = np.radians(np.clip(np.asarray(incidence_deg, dtype=float), 0.0, 90.0))
    here = np.cos(incidence)
    under = np.sqrt(1 - (np.sin(incidence) / index) ** 2)
    across = ((here - index * under) / (here + index * under)) ** 2
    return across, ((under - index * here) / (under + index * here)) ** 2


def fresnel_reflectance(incidence_deg: FloatOrArray, index: float = FRESH_INDEX) -> FloatArray:
    """Return the reflectance of flat water for unpolarised light, any shape, incidence from the upright. [1]"""
    across, along = fresnel_parts(incidence_deg, index)
    return (across + along) / 2


@dataclass(frozen=True)
class Slopes:
    """How widely the facets' slopes scatter: variances, and the bearing the wind comes from.

    ``upwind`` and ``crosswind`` are mean squares of the slope along the wind and across
    it. [1] Where ``wind_from_deg`` is not known, both are half the total. [°]
    """

    upwind: float
    crosswind: float
    wind_from_deg: float = 0.0


def upwind_variance(wind_m_s: FloatOrArray, slick: bool = False) -> FloatArray:
    """Return the mean square slope along the wind, any shape.

    C. Cox & W. Munk, "Measurement of the roughness of the sea surface from photographs
    of the sun's glitter", *J. Opt. Soc. Am.* 44 (1954) 838-850: wind at 12.5 m, 1 to
    14 m/s, open sea; ±0.004, ±0.002 with a slick. [1]
    """
    wind = np.asarray(wind_m_s, dtype=float)
    return 0.005 + 0.78e-3 * wind if slick else 3.16e-3 * wind


def crosswind_variance(wind_m_s: FloatOrArray, slick: bool = False) -> FloatArray:
    """Return the mean square slope across the wind, as :func:`upwind_variance`; ±0.002. [1]"""
    return 0.003 + (0.84e-3 if slick else 1.92e-3) * np.asarray(wind_m_s, dtype=float)


def total_variance(wind_m_s: FloatOrArray, slick: bool = False) -> FloatArray:
    """Return the mean square slope in any direction by its own fit; the two others add up to 1 % less. [1]"""
    wind = np.asarray(wind_m_s, dtype=float)
    return 0.008 + 1.56e-3 * wind if slick else 0.003 + 5.12e-3 * wind


def slopes_for(weather: Weather, water: Water) -> Slopes:
    """Return how a sheet of water is ruffled; unknown wind counts as none.

    The wind at 10 m is taken as that at 12.5 m, 2 % less. Sheltered water feels a
    quarter of it, as it loses its mirror at four times the wind: common sense, no
    source. Even with no wind the fit leaves the slopes of an old swell.
    """
    felt = STILL_TO_M_S / SHELTERED_STILL_TO_M_S if water.sheltered else 1.0
    wind_m_s = (weather.wind_m_s or 0.0) * felt
    if weather.wind_from_deg is None:
        half = float(total_variance(wind_m_s)) / 2
        return Slopes(half, half)
    return Slopes(float(upwind_variance(wind_m_s)), float(crosswind_variance(wind_m_s)), weather.wind_from_deg)


def slope_density(upwind: FloatOrArray, crosswind: FloatOrArray, slopes: Slopes) -> FloatArray:
    """Return the share of the water with facets of a slope, per unit of both slopes.

    Any shapes that fit together; skewness and peakedness are left out. Its
    integral over all slopes is 1. [1]
    """
    steep = np.square(upwind) / slopes.upwind + np.square(crosswind) / slopes.crosswind
    return np.exp(-steep / 2) / (FULL_TURN * np.sqrt(slopes.upwind * slopes.crosswind))


@dataclass(frozen=True)
class Facets:
    """The facets that send the sun to the eye from some places on the water; arrays of one shape.

    Attributes
    ----------
    east, north : array
        Their slope, rising to the east and to the north. [1]
    incidence_deg : array
        At which the sun meets them. [°]
    sun_deg, sight_deg : array
        The sun's altitude, and how far under level they are seen. [°]
    """

    east: FloatArray
    north: FloatArray
    incidence_deg: FloatArray
    sun_deg: FloatArray
    sight_deg: FloatArray


def facets(
    azimuth_deg: FloatOrArray, depression_deg: FloatOrArray, sun_azimuth_deg: FloatOrArray, sun_altitude_deg: FloatOrArray
) -> Facets:
    """Return the facets that would show the sun.

    Parameters
    ----------
    azimuth_deg, depression_deg : any shapes that fit together
        Where the eye looks: from true north, and under level. [°]
    sun_azimuth_deg, sun_altitude_deg : same [°]
    """
    sight, sun = np.maximum(depression_deg, LEAST_ALTITUDE_DEG), np.maximum(sun_altitude_deg, LEAST_ALTITUDE_DEG)
    look, light = np.radians(azimuth_deg), np.radians(sun_azimuth_deg)
    low, high = np.radians(sight), np.radians(sun)
    east = np.cos(high) * np.sin(light) - np.cos(low) * np.sin(look)
    north = np.cos(high) * np.cos(light) - np.cos(low) * np.cos(look)
    up = np.sin(high) + np.sin(low)
    half = np.sqrt(east**2 + north**2 + up**2) / 2  # of a unit vector to the sun and one to the eye: the cosine of incidence
    incidence = np.degrees(np.arccos(np.clip(half, 0.0, 1.0)))
    return Facets(*np.broadcast_arrays(-east / up, -north / up, incidence, sun, sight))


def glint_per_sr(found: Facets, slopes: Slopes, index: float = FRESH_INDEX) -> FloatArray:
    """Return the glitter's luminance over the sun's illuminance on a plane square to its rays. [1/sr]

    R p / (4 sin e cos⁴ b), with e the depression and b the facet's tilt: Cox & Munk
    1954, section 2 (from memory), times the share of facets that neither sun nor eye
    loses behind others: B. G. Smith, *IEEE Trans. Antennas Propag.* 15 (1967) 668-671
    (from memory). Light that bounces twice and foam are left out.
    """
    wind = np.radians(slopes.wind_from_deg)
    upwind = found.east * np.sin(wind) + found.north * np.cos(wind)
    crosswind = found.east * np.cos(wind) - found.north * np.sin(wind)
    density = slope_density(upwind, crosswind, slopes) * fresnel_reflectance(found.incidence_deg, index)
    tilt = 1 + found.east**2 + found.north**2  # one over the squared cosine of the facet's tilt
    return density * tilt**2 / (4 * np.sin(np.radians(found.sight_deg))) * unhidden_share(found.sun_deg, found.sight_deg, slopes)


def unhidden_share(sun_deg: FloatOrArray, sight_deg: FloatOrArray, slopes: Slopes) -> FloatArray:
    """Return the share of facets that both sun and eye reach, 1 from high up and falling towards level. [1]"""
    return 1 / (1 + _hidden(sun_deg, slopes) + _hidden(sight_deg, slopes))


def sun_over_sky_sr(altitude_deg: FloatOrArray) -> FloatArray:
    """Return the sun's illuminance, square to its rays, over the clear sky's mean luminance. [sr]

    Any shape; altitude as seen, held at 0 below. 127.5 exp(-0.21 m) klx for the sun and
    0.8 + 15.5 √sin a klx of sky on level ground: IES RP-21 (1984), from memory; air
    mass m by F. Kasten & A. T. Young, *Appl. Opt.* 28 (1989) 4735-4738.
    """
    altitude = np.clip(np.asarray(altitude_deg, dtype=float), 0.0, 90.0)
    sine = np.sin(np.radians(altitude))
    air_mass = 1 / (sine + 0.50572 * (altitude + 6.07995) ** -1.6364)
    return 127.5 * np.exp(-0.21 * air_mass) / ((0.8 + 15.5 * np.sqrt(sine)) / np.pi)


def sparkle(found: Facets, slopes: Slopes, index: float = FRESH_INDEX) -> FloatArray:
    """Return the glitter's luminance over the clear sky's mean luminance. [1]"""
    return glint_per_sr(found, slopes, index) * sun_over_sky_sr(found.sun_deg)


def _hidden(altitude_deg: FloatOrArray, slopes: Slopes) -> FloatArray:
    """Smith's function of a direction's height over the slopes' spread, as if that were the same all round."""
    spread = np.sqrt(slopes.upwind + slopes.crosswind)
    height = np.tan(np.radians(np.asarray(altitude_deg, dtype=float))) / spread
    return (np.exp(-(height**2)) / (height * np.sqrt(np.pi)) - _complement(height)) / 2


def _complement(x: FloatArray) -> FloatArray:
    """Return erfc(x) for x >= 0, good to 2e-7: Abramowitz & Stegun (1964), formula 7.1.26 (from memory)."""
    t = 1 / (1 + 0.3275911 * x)
    series = t * (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429))))
    return series * np.exp(-(x**2))
