"""The weather of one day at one site, from all that is known of it: forecast, airfield, and what was seen."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from app.looks.margin import Scene
from app.picture.by_eye import ByEye
from app.picture.forecast import HOUR_S, Forecast, Hour
from app.picture.weather import Weather
from app.sky.refraction import standard_pressure_hpa

SEA_LEVEL_HPA = 1013.25  # ISO 2533:1975
REPORT_HOLDS_S = 1.5 * HOUR_S  # an airfield's report says little of later hours; common practice, no source
EVERY_S = 600.0  # how closely the hours of a slot are looked at


@dataclass(frozen=True)
class SiteWeather:
    """What is known of a day at a site; None for what is not.

    Attributes
    ----------
    forecast : Forecast, optional
        Of a weather service, for the site itself.
    airfield : Forecast, optional
        Of an airfield near by (TAF): it fills in what the forecast does not give.
    report : Hour, optional
        Measured at an airfield near by (METAR): it wins over a forecast for an hour and
        a half around its time.
    seen : ByEye, optional
        What somebody saw or settled on for this day: it wins over all others, all day.
    """

    forecast: Forecast | None = None
    airfield: Forecast | None = None
    report: Hour | None = None
    seen: ByEye | None = None

    def at(self, utc_s: float) -> Hour | None:
        """Return the weather of a moment, None where nobody tells of it."""
        told = self.forecast.at(utc_s) if self.forecast else None
        filled = self.airfield.at(utc_s) if self.airfield else None
        hour = told.over(filled) if told else filled
        if self.report and abs(self.report.utc_s - utc_s) <= REPORT_HOLDS_S:
            hour = replace(self.report, utc_s=utc_s).over(hour)
        if self.seen:
            hour = replace(self.seen.over(hour), utc_s=utc_s)
        return hour if hour and hour != Hour(utc_s) else None

    def through(self, starts_utc_s: float, ends_utc_s: float) -> tuple[Hour, ...]:
        """Return what is known from one moment to another, every ten minutes, both ends among them."""
        count = max(1, math.ceil((ends_utc_s - starts_utc_s) / EVERY_S))
        moments = np.linspace(starts_utc_s, ends_utc_s, count + 1)
        return tuple(hour for at in moments if (hour := self.at(float(at))))

    def on_water(self, hour: Hour) -> Weather:
        """Return what a picture needs of an hour; water that was seen still or ruffled counts more than the wind."""
        wind_m_s = self.seen.wind_on_water_m_s(hour) if self.seen else hour.wind_m_s
        return Weather(wind_m_s, hour.wind_from_deg)

    @property
    def known(self) -> bool:
        """Whether anything at all is known."""
        return any((self.forecast, self.airfield, self.report, self.seen))


def station_hpa(sea_pressure_hpa: float, height_m: float) -> float:
    """Return the pressure at a height from that of sea level, by the standard atmosphere's ratio. [hPa]"""
    return sea_pressure_hpa * standard_pressure_hpa(height_m) / SEA_LEVEL_HPA


def in_air(scene: Scene, hour: Hour | None) -> Scene:
    """Return the scene with the air of an hour, which bends the low sun's light; standard air for what is not given."""
    if hour is None:
        return scene
    given = dict(_air(scene, hour))
    return replace(scene, observer=replace(scene.observer, **given)) if given else scene


def dimmed(scene: Scene, hour: Hour | None) -> Scene:
    """Return the scene with its light under the cloud of an hour; as it was where cloud is not known."""
    if scene.light is None or hour is None or hour.cloud is None:
        return scene
    return replace(scene, light=replace(scene.light, cover=hour.cloud, known={}))


def in_weather(scene: Scene, weather: SiteWeather, hour: Hour | None) -> Scene:
    """Return the scene with the air and the wind of an hour; as it was where nothing is known."""
    return replace(in_air(scene, hour), weather=weather.on_water(hour)) if hour else scene


def _air(scene: Scene, hour: Hour) -> Iterator[tuple[str, float]]:
    if hour.sea_pressure_hpa is not None:
        yield "pressure_hpa", station_hpa(hour.sea_pressure_hpa, scene.observer.height_m)
    if hour.temperature_c is not None:
        yield "temperature_c", hour.temperature_c
