"""Sunset, or sunrise, in the air of the day: when the sun's upper edge touches the level horizon, and the cloud then."""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from app.picture.forecast import Hour
from app.shoot.morning_margins import eighths
from app.shoot.morning_weather import SiteWeather, station_hpa
from app.sky.crossings import crossings
from app.sky.events import RISE_SET_DEG
from app.sky.refraction import STANDARD_TEMPERATURE_C, refraction_deg
from app.sky.track import SEMIDIAMETER_AT_1_AU_DEG, Observer

EVENING, MORNING = "evening", "morning"


@dataclass(frozen=True)
class LowSun:
    """One sunset or sunrise.

    Attributes
    ----------
    name : str
        “sunset” or “sunrise”.
    utc_s : float
        In the air of the day, over a level horizon. [s since 1970 UTC]
    later_s : float
        How much later than in standard air; the real horizon's air differs by more than a minute at times. [s]
    azimuth_deg : float
        [°]
    words : str
        Pressure, temperature and cloud of the day.
    """

    name: str
    utc_s: float
    later_s: float
    azimuth_deg: float
    words: str


def low_sun(observer: Observer, start_utc_s: float, end_utc_s: float, part: str, weather: SiteWeather) -> LowSun | None:
    """Return the last sunset of a civil day, or its first sunrise; None where the sun does neither."""
    usual = _passage(observer, start_utc_s, end_utc_s, part, RISE_SET_DEG)
    if usual is None:
        return None
    hour = weather.at(usual)
    pressure, temperature = _air(observer, hour)
    found = _passage(observer, usual - 7200.0, usual + 7200.0, part, edge_deg(pressure, temperature) - SEMIDIAMETER_AT_1_AU_DEG)
    at = usual if found is None else found
    standard = _passage(observer, usual - 7200.0, usual + 7200.0, part, edge_deg(observer.air_hpa, STANDARD_TEMPERATURE_C) - SEMIDIAMETER_AT_1_AU_DEG)
    later_s = 0.0 if standard is None else at - standard
    name = "sunset" if part == EVENING else "sunrise"
    return LowSun(name, at, later_s, float(observer.sun_at(at).azimuth_deg), _words(hour, pressure, temperature, later_s))


def edge_deg(pressure_hpa: float, temperature_c: float) -> float:
    """Return the airless altitude of a point that is seen on the level horizon through some air; -34′ or so. [°]"""
    return float(brentq(lambda airless: airless + refraction_deg(airless, pressure_hpa, temperature_c), -3.0, 0.0))


def _passage(observer: Observer, start_utc_s: float, end_utc_s: float, part: str, altitude_deg: float) -> float | None:
    found = crossings(observer, start_utc_s, end_utc_s, altitude_deg)
    passages = found.utc_s[np.asarray(found.rising) == (part == MORNING)]
    return float(passages[0 if part == MORNING else -1]) if len(passages) else None


def _air(observer: Observer, hour: Hour | None) -> tuple[float, float]:
    """Return the pressure where the camera stands and the temperature, standard where the day's are not known. [hPa, °C]"""
    sea_hpa = hour.sea_pressure_hpa if hour else None
    warmth = hour.temperature_c if hour else None
    pressure = observer.air_hpa if sea_hpa is None else station_hpa(sea_hpa, observer.height_m)
    return pressure, STANDARD_TEMPERATURE_C if warmth is None else warmth


def _words(hour: Hour | None, pressure_hpa: float, temperature_c: float, later_s: float) -> str:
    if hour is None:
        return "the weather then is not known: standard air"
    told = [f"{pressure_hpa:.0f} hPa at the site" if hour.sea_pressure_hpa is not None else "pressure not known"]
    told.append(f"{temperature_c:.0f} °C" if hour.temperature_c is not None else "temperature not known")
    told.append(f"cloud {eighths(hour.cloud)}" if hour.cloud is not None else "cloud not known")
    moved = f"{abs(later_s):.0f} s {'later' if later_s > 0 else 'earlier'} than in standard air" if abs(later_s) >= 1 else "as in standard air"
    return f"{', '.join(told)}; {moved}"
