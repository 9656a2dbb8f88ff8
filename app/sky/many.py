"""The sun at many instants, each with a place of its own."""

import numpy as np

from app.sky.ephemeris import DAY_S, sun_days
from app.sky.track import EQUATOR_M, FLATTENING, PARALLAX_AT_1_AU_RAD
from app.units import FloatArray


def sun_at_places(
    lat_deg: FloatArray, lon_deg: FloatArray, height_m: FloatArray, utc_s: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return the sun's azimuth, 0..360, and the airless altitude of its centre. [°]

    The same as ``Observer.sun_at``, which has one place for all instants; here
    every argument is an array, all of one shape, one entry or more. Nothing is
    checked. [°, °, m, s since 1970 UTC]
    """
    sun = sun_days(int(utc_s.min() // DAY_S), int(utc_s.max() // DAY_S))
    x, y, z, s = sun.direction(utc_s)
    turn = 2 * np.pi * s + np.radians(lon_deg - 180.0)
    cos_turn, sin_turn = np.cos(turn), np.sin(turn)
    meridian, west = x * cos_turn - y * sin_turn, x * sin_turn + y * cos_turn
    lat = np.radians(lat_deg)
    sin_lat, cos_lat = np.sin(lat), np.cos(lat)
    parallax_up, parallax_north = _parallax(lat, height_m) / sun.distance_at(utc_s)
    up = z * sin_lat + meridian * cos_lat - parallax_up
    north = z * cos_lat - meridian * sin_lat - parallax_north
    azimuth_deg = np.degrees(np.arctan2(-west, north)) % 360.0
    return azimuth_deg, np.degrees(np.arctan2(up, np.hypot(north, west)))


def _parallax(lat: FloatArray, height_m: FloatArray) -> FloatArray:
    """Return each place's own position, up and north, in Earth radii over a sun at 1 au. [rad]

    NREL/TP-560-34302 section 3.11, as a shift of the direction vector.
    """
    reduced = np.arctan((1 - FLATTENING) * np.tan(lat))
    height = height_m / EQUATOR_M
    axial = (1 - FLATTENING) * np.sin(reduced) + height * np.sin(lat)
    radial = np.cos(reduced) + height * np.cos(lat)
    up = radial * np.cos(lat) + axial * np.sin(lat)
    north = axial * np.cos(lat) - radial * np.sin(lat)
    return PARALLAX_AT_1_AU_RAD * np.stack([up, north])
