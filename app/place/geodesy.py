"""Bearings and distances on the WGS84 ellipsoid, and metres around a site."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from app.units import FloatArray, FloatOrArray

# WGS84: NIMA TR8350.2, 3rd ed. (2000), table 3.1 (from memory).
EQUATOR_M = 6378137.0
FLATTENING = 1 / 298.257223563
POLE_M = EQUATOR_M * (1 - FLATTENING)
ECCENTRICITY_SQUARED = FLATTENING * (2 - FLATTENING)
_OUTER_ECCENTRICITY_SQUARED = ECCENTRICITY_SQUARED / (1 - ECCENTRICITY_SQUARED)


@dataclass(frozen=True)
class Geodesic:
    """The shortest way between two points along the ellipsoid.

    Parameters
    ----------
    distance_m : float
        [m]
    bearing_deg : float
        Direction in which it leaves the first point, 0..360, from true north. [°]
    arrival_bearing_deg : float
        Direction in which it goes on at the second point: forward, not back. [°]
    """

    distance_m: float
    bearing_deg: float
    arrival_bearing_deg: float


def inverse(lat1_deg: float, lon1_deg: float, lat2_deg: float, lon2_deg: float) -> Geodesic:
    """Return the geodesic from the first point to the second.

    Parameters
    ----------
    lat1_deg, lon1_deg, lat2_deg, lon2_deg : float
        On WGS84; outside -90..90 a latitude gives NaN. [°]

    Returns
    -------
    Geodesic
        Between coincident points the distance is 0 and both bearings mean nothing.

    Notes
    -----
    C. F. F. Karney, "Algorithms for geodesics", *J. Geodesy* 87 (2013) 43-55, by
    his own library; good to nanometres. Heights are left out.
    """
    from geographiclib.geodesic import Geodesic as Karney  # 30 ms, so only when it is wanted

    line = Karney.WGS84.Inverse(lat1_deg, lon1_deg, lat2_deg, lon2_deg)
    return Geodesic(line["s12"], line["azi1"] % 360.0, line["azi2"] % 360.0)


def direct(lat_deg: float, lon_deg: float, bearing_deg: float, distance_m: float) -> tuple[float, float]:
    """Return latitude and longitude of where a bearing and a distance lead. [°]

    The counterpart of :func:`inverse`, from the same paper; longitude in -180..180.
    """
    from geographiclib.geodesic import Geodesic as Karney  # 30 ms, so only when it is wanted

    end = Karney.WGS84.Direct(lat_deg, lon_deg, bearing_deg, distance_m)
    return end["lat2"], end["lon2"]


@dataclass(frozen=True)
class LocalFrame:
    """Metres east, north and up of one point, exactly, by way of the Earth's centre.

    Parameters
    ----------
    lat_deg, lon_deg : float
        The origin, on WGS84. [°]
    height_m : float
        Height of the origin above the ellipsoid, or above whatever zero the other
        heights are counted from. [m]

    Notes
    -----
    The plane touches the ellipsoid at the origin, so far points sink under it as
    the Earth curves away: 0.08 m at 1 km, 1.96 m at 5 km. North of the plane is
    true north at the origin only.

    Raises
    ------
    ValueError
        When the origin is no point of the Earth.
    """

    lat_deg: float
    lon_deg: float
    height_m: float = 0.0

    def __post_init__(self) -> None:
        if not (abs(self.lat_deg) <= 90.0 and abs(self.lon_deg) <= 360.0 and np.isfinite(self.height_m)):
            raise ValueError(f"{self} has no place on the Earth; give a latitude in -90..90 and a longitude.")

    def to_metres(
        self, lat_deg: FloatOrArray, lon_deg: FloatOrArray, height_m: FloatOrArray = 0.0
    ) -> tuple[FloatOrArray, FloatOrArray, FloatOrArray]:
        """Return metres east, north and up of the origin, from any shapes that fit together.

        Parameters
        ----------
        lat_deg, lon_deg, height_m : any shape
            Heights from the same zero as the origin's. [°, °, m]
        """
        offset = np.stack(np.broadcast_arrays(*_geocentric_m(lat_deg, lon_deg, height_m))).T - self._origin_m
        east, north, up = (offset @ self._axes.T).T
        return east, north, up

    def to_degrees(
        self, east_m: FloatOrArray, north_m: FloatOrArray, up_m: FloatOrArray = 0.0
    ) -> tuple[FloatOrArray, FloatOrArray, FloatOrArray]:
        """Return latitude, longitude and height, from any shapes that fit together. [°, °, m]"""
        offset = np.stack(np.broadcast_arrays(east_m, north_m, up_m)).T @ self._axes
        return _geodetic(*(offset + self._origin_m).T)

    @cached_property
    def _origin_m(self) -> FloatArray:
        return np.array(_geocentric_m(self.lat_deg, self.lon_deg, self.height_m))

    @cached_property
    def _axes(self) -> FloatArray:
        """East, north and up, a row each, in geocentric terms."""
        lat, lon = np.radians([self.lat_deg, self.lon_deg])
        east = [-np.sin(lon), np.cos(lon), 0.0]
        north = [-np.sin(lat) * np.cos(lon), -np.sin(lat) * np.sin(lon), np.cos(lat)]
        up = [np.cos(lat) * np.cos(lon), np.cos(lat) * np.sin(lon), np.sin(lat)]
        return np.array([east, north, up])


def _geocentric_m(
    lat_deg: FloatOrArray, lon_deg: FloatOrArray, height_m: FloatOrArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """EPSG Guidance Note 7-2, method 9602 (from memory)."""
    lat, lon = np.radians(lat_deg), np.radians(lon_deg)
    normal = EQUATOR_M / np.sqrt(1 - ECCENTRICITY_SQUARED * np.sin(lat) ** 2)
    from_axis = (normal + height_m) * np.cos(lat)
    z = (normal * (1 - ECCENTRICITY_SQUARED) + height_m) * np.sin(lat)
    return from_axis * np.cos(lon), from_axis * np.sin(lon), z


def _geodetic(x: FloatArray, y: FloatArray, z: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """B. R. Bowring, "Transformation from spatial to geographical coordinates", 1976 (from memory).

    *Survey Review* 23 (181) 323-327. Two rounds leave nanometres for any point
    within some hundred kilometres of the ground.
    """
    from_axis = np.hypot(x, y)
    reduced = np.arctan2(z * EQUATOR_M, from_axis * POLE_M)
    for _ in range(2):
        lat = np.arctan2(
            z + _OUTER_ECCENTRICITY_SQUARED * POLE_M * np.sin(reduced) ** 3,
            from_axis - ECCENTRICITY_SQUARED * EQUATOR_M * np.cos(reduced) ** 3,
        )
        reduced = np.arctan2(POLE_M * np.sin(lat), EQUATOR_M * np.cos(lat))
    sine = np.sin(lat)
    height = from_axis * np.cos(lat) + z * sine - EQUATOR_M * np.sqrt(1 - ECCENTRICITY_SQUARED * sine**2)
    return np.degrees(lat), np.degrees(np.arctan2(y, x)), height
