"""The sun over one place: azimuth and altitude at any number of instants."""

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Self

import numpy as np

from app.errors import BadInput
from app.sky.ephemeris import DAY_S, SunDays, sun_days
from app.sky.refraction import STANDARD_TEMPERATURE_C, refraction_deg, standard_pressure_hpa
from app.units import FloatArray, FloatOrArray

FIRST_UTC_S, LAST_UTC_S = -633_830_400.0, 4_136_659_200.0  # 1949-12-01 and 2101-02-01: room for searches around 1950..2100
SEMIDIAMETER_AT_1_AU_DEG = 959.63 / 3600.0  # Astronomical Almanac's value
PARALLAX_AT_1_AU_RAD = math.radians(8.794 / 3600.0)
FLATTENING = 1 / 298.257223563  # WGS84
EQUATOR_M = 6_378_137.0
_WORKED_OUT = ("refracted_deg", "semidiameter_deg", "upper_edge_deg")
CHUNK = 46_080  # samples that stay in the processor's cache together: 32 days of minutes


@dataclass(frozen=True)
class Observer:
    """A place to look from.

    Attributes
    ----------
    lat_deg, lon_deg : float
        WGS84, north and east positive, -90..90 and -180..180. [°]
    height_m : float
        Above sea level; it sets parallax and, unless given, pressure. [m]
    pressure_hpa, temperature_c : float
        Air for the refraction; pressure is the standard one for the height
        when left out. [hPa, °C]
    delta_t_s : float, optional
        TT - UT1 where a published example fixes it. [s]
    """

    lat_deg: float
    lon_deg: float
    height_m: float = 0.0
    pressure_hpa: float | None = None
    temperature_c: float = STANDARD_TEMPERATURE_C
    delta_t_s: float | None = None

    def __post_init__(self) -> None:
        if not -90 <= self.lat_deg <= 90:
            raise BadInput(f"Latitude is between -90 and 90; {self.lat_deg:g} came. Latitude comes first.", "lat")
        if not -180 <= self.lon_deg <= 180:
            raise BadInput(f"Longitude is between -180 and 180, east positive; {self.lon_deg:g} came.", "lon")
        if not -500 <= self.height_m <= 9000:
            raise BadInput(f"Height above sea level is between -500 and 9000 m; {self.height_m:g} came.", "height")

    @property
    def air_hpa(self) -> float:
        """Pressure used for refraction. [hPa]"""
        return standard_pressure_hpa(self.height_m) if self.pressure_hpa is None else self.pressure_hpa

    @cached_property
    def parallax(self) -> tuple[float, float]:
        """Own position, up and north, in Earth radii over a sun at 1 au. [rad]

        NREL/TP-560-34302 section 3.11, as a shift of the direction vector.
        """
        lat = math.radians(self.lat_deg)
        reduced = math.atan((1 - FLATTENING) * math.tan(lat))
        height = self.height_m / EQUATOR_M
        axial = (1 - FLATTENING) * math.sin(reduced) + height * math.sin(lat)
        radial = math.cos(reduced) + height * math.cos(lat)
        up = radial * math.cos(lat) + axial * math.sin(lat)
        north = axial * math.cos(lat) - radial * math.sin(lat)
        return up * PARALLAX_AT_1_AU_RAD, north * PARALLAX_AT_1_AU_RAD

    def days(self, first_utc_s: float, last_utc_s: float) -> SunDays:
        """Return the daily cubics that hold these instants; ``BadInput`` outside 1950..2100."""
        if not (first_utc_s >= FIRST_UTC_S and last_utc_s <= LAST_UTC_S):
            raise BadInput("The sun is known here from 1950 to 2100; that instant is outside.", "date")
        return sun_days(int(first_utc_s // DAY_S), int(last_utc_s // DAY_S), self.delta_t_s)

    def sun_at(self, utc_s: FloatOrArray) -> "SunTrack":
        """Return the sun at these instants, any shape; seconds since 1970 UTC."""
        instants = np.asarray(utc_s, dtype=float)
        if not instants.size:
            return SunTrack(self, instants, instants, instants)
        sun = self.days(instants.min(), instants.max())
        x, y, z, s = sun.direction(instants)
        cos_turn, sin_turn = self._turned(s)
        nearness = 1 / sun.distance_at(instants)
        up, north = self._up_and_north(z, x * cos_turn - y * sin_turn, nearness)
        track = SunTrack(self, instants, *_angles(up, north, -(x * sin_turn + y * cos_turn)))
        track.__dict__["semidiameter_deg"] = SEMIDIAMETER_AT_1_AU_DEG * nearness  # known here at no cost
        return track

    def sun_over(self, start_utc_s: float, stop_utc_s: float, step_s: float) -> "SunTrack":
        """Return the sun from start to before stop at an even step.

        Where the step divides the day, whole days are worked as one table;
        otherwise as for any instants.
        """
        count = max(0, math.ceil((stop_utc_s - start_utc_s) / step_s))
        instants = np.arange(count, dtype=float)
        instants *= step_s  # in place: on a long span, memory costs more than the sums
        instants += start_utc_s
        a_day = round(DAY_S / step_s)
        if count < 2 or a_day * step_s != DAY_S:
            return self.sun_at(instants)
        into_step_s = start_utc_s % step_s  # the step divides the day, and so all days since 1970
        first_day = int(start_utc_s // DAY_S)
        skipped = round((start_utc_s - first_day * DAY_S - into_step_s) / step_s)
        rows = -(-(skipped + count) // a_day)
        fractions = (into_step_s + step_s * np.arange(a_day)) / DAY_S
        wanted = slice(skipped, skipped + count)
        azimuth_deg, airless_deg = (days.reshape(-1)[wanted] for days in self._whole_days(first_day, rows, fractions))
        return SunTrack(self, instants, azimuth_deg, airless_deg)

    def _whole_days(self, first_day: int, rows: int, fractions: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return azimuth and altitude at the same fractions of each day, shape (days, fractions).

        The sky turns alike every day, so a day's directions are its own numbers
        times one table, and no sample needs a sine.
        """
        days, table = self._day_rows(first_day, rows), self._turning_powers(fractions)
        azimuth_deg, airless_deg = np.empty((2, rows, len(fractions)))
        some = max(1, CHUNK // len(fractions))
        for top in range(0, rows, some):
            out = slice(top, top + some)
            _angles(*(days[:, out] @ table), azimuth_deg[out], airless_deg[out])
        return azimuth_deg, airless_deg

    def _day_rows(self, first_day: int, rows: int) -> FloatArray:
        """Return each day's factors of ``_turning_powers`` for up, north and east: shape (3, days, 13)."""
        sun = self.days(first_day * DAY_S, (first_day + rows - 1) * DAY_S)
        some = slice(first_day - sun.first_day, first_day - sun.first_day + rows)
        x, y, z = sun.cubics[:, :, some]
        none, one = np.zeros_like(z), np.zeros_like(z[:1])
        polar, nearness = np.vstack([none, none, z, one]), np.vstack([none, none, none, 1 / sun.distance_au[some]])
        up, north = self._up_and_north(polar, np.vstack([x, -y, none, one]), nearness)
        return np.stack([up.T, north.T, np.vstack([-y, -x, none, one]).T])

    def _turning_powers(self, fraction: FloatArray) -> FloatArray:
        """Return powers of the day's fraction times the cosine of the hour angle, its sine, plain, and a one.

        Shape (13, fractions).
        """
        powers, (cos_turn, sin_turn) = fraction ** np.arange(4)[:, np.newaxis], self._turned(fraction)
        return np.vstack([powers * cos_turn, powers * sin_turn, powers, np.ones_like(fraction)])

    def _turned(self, fraction: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return cosine and sine of the mean sun's hour angle; the tangent of its half is numpy's fastest way there."""
        half = np.tan(np.pi * fraction + math.radians(self.lon_deg / 2 - 90.0))
        squared = half * half
        return (1 - squared) / (1 + squared), 2 * half / (1 + squared)

    def _up_and_north(self, polar: FloatArray, meridian: FloatArray, nearness: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Tilt the pole to this latitude and step from the Earth's centre to the place; nearness is 1 / distance. [1/au]"""
        sin_lat, cos_lat = math.sin(math.radians(self.lat_deg)), math.cos(math.radians(self.lat_deg))
        parallax_up, parallax_north = self.parallax
        up = polar * sin_lat + (meridian * cos_lat - parallax_up * nearness)
        north = polar * cos_lat - (meridian * sin_lat + parallax_north * nearness)
        return up, north


@dataclass(frozen=True)
class SunTrack:
    """The sun as one place sees it.

    Attributes
    ----------
    observer : Observer
    utc_s : any shape
        Instants, seconds since 1970-01-01 UTC. [s]
    azimuth_deg : same shape
        From true north through east, 0..360. [°]
    airless_deg : same shape
        Altitude of the disc's centre without the air's lift. [°]

    Notes
    -----
    Within 0.0003° of the JPL ephemeris DE421 from 2020 to 2040 where UT1 is UTC;
    the Earth's uneven turning adds up to 0.003° per 0.7 s of UT1 - UTC.
    """

    observer: Observer
    utc_s: FloatArray
    azimuth_deg: FloatArray
    airless_deg: FloatArray

    def __getitem__(self, which: object) -> Self:
        """Return part of the track, with what has been worked out for it already."""
        part = type(self)(self.observer, self.utc_s[which], self.azimuth_deg[which], self.airless_deg[which])
        known = {name: self.__dict__[name][which] for name in _WORKED_OUT if name in self.__dict__}
        part.__dict__.update(known)
        return part

    def take(self, which: np.ndarray, axis: int | None = None) -> Self:
        """Return the instants of these numbers along an axis, as ``numpy.take`` does and as fast."""
        parts = (np.take(part, which, axis) for part in (self.utc_s, self.azimuth_deg, self.airless_deg))
        taken = type(self)(self.observer, *parts)
        known = {name: np.take(self.__dict__[name], which, axis) for name in _WORKED_OUT if name in self.__dict__}
        taken.__dict__.update(known)
        return taken

    def __len__(self) -> int:
        return len(self.utc_s)

    @cached_property
    def refracted_deg(self) -> FloatArray:
        """Altitude of the centre as seen through the air. [°]"""
        return self.airless_deg + self._lift(self.airless_deg)

    @cached_property
    def semidiameter_deg(self) -> FloatArray:
        """Half the disc's width: 959.63″ at 1 au. [°]"""
        if not np.size(self.utc_s):
            return np.zeros_like(self.utc_s)
        sun = self.observer.days(np.min(self.utc_s), np.max(self.utc_s))
        return SEMIDIAMETER_AT_1_AU_DEG / sun.distance_at(self.utc_s)

    @cached_property
    def upper_edge_deg(self) -> FloatArray:
        """Altitude of the disc's highest point as seen. [°]

        The edge is lifted by the air at its own altitude, which is how the usual
        50′ for rise and set (34′ + 16′) comes about.
        """
        edge_deg = self.airless_deg + self.semidiameter_deg
        return edge_deg + self._lift(edge_deg)

    def _lift(self, airless_deg: FloatArray) -> FloatArray:
        return refraction_deg(airless_deg, self.observer.air_hpa, self.observer.temperature_c)


def _angles(
    up: FloatArray,
    north: FloatArray,
    east: FloatArray,
    azimuth_deg: FloatArray | None = None,
    airless_deg: FloatArray | None = None,
) -> tuple[FloatArray, FloatArray]:
    """Return azimuth and altitude of a direction, into the arrays given if any. [°]"""
    from_south = np.arctan2(-east, -north, out=azimuth_deg)
    azimuth = np.multiply(from_south, 180.0 / np.pi, out=azimuth_deg)
    altitude = np.arctan2(up, np.sqrt(north * north + east * east), out=airless_deg)
    return np.add(azimuth, 180.0, out=azimuth_deg), np.multiply(altitude, 180.0 / np.pi, out=airless_deg)
