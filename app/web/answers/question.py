"""What is asked, read from texts: a bad value is told alike on the command line and by the API."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, TypeVar

from app.errors import BadInput
from app.place.positions import check_position
from app.place.timezone import rules, zone_name
from app.sky.refraction import STANDARD_TEMPERATURE_C
from app.sky.track import Observer
from app.units import calendar_date, calendar_year, instant, number
from app.web.answers.line import Line, sighted_line

T = TypeVar("T")
YES, NO = ("1", "true", "yes"), ("", "0", "false", "no")

CALLED = {
    "lat": "The latitude",
    "lon": "The longitude",
    "at": "The instant",
    "date": "The date",
    "year": "The year",
    "look": "The look",
    "height": "The height above sea level in metres",
    "eye_height": "The height of the eye above the sea or plain in metres",
    "bearing": "The bearing in degrees",
    "pressure": "The pressure in hPa",
    "temperature": "The temperature in °C",
}
RANGES = {
    "height": (-500.0, 9000.0),
    "eye_height": (0.0, 9000.0),
    "bearing": (0.0, 360.0),
    "pressure": (100.0, 1200.0),
    "temperature": (-90.0, 60.0),
}


@dataclass(frozen=True)
class Question:
    """The texts of one question by name; what is not asked is missing, None or empty.

    Every method raises ``BadInput`` with the field's name when its text cannot be used.
    """

    texts: Mapping[str, Any]

    def has(self, name: str) -> bool:
        """Tell whether anything was given."""
        return bool(self._text(name))

    def place(self) -> Observer:
        """Return where the sun is looked at from, and through which air."""
        lat_deg, lon_deg = self._position()
        return Observer(
            lat_deg,
            lon_deg,
            self._number_or("height", 0.0),
            self._number_or("pressure", None),
            self._number_or("temperature", STANDARD_TEMPERATURE_C),
        )

    def air(self, pressure_hpa: float, temperature_c: float) -> tuple[float, float]:
        """Return pressure and temperature, or what is taken unless they are given. [hPa, °C]"""
        return self._number_or("pressure", pressure_hpa), self._number_or("temperature", temperature_c)

    def when(self) -> datetime:
        """Return the instant."""
        return self._needed("at", instant)

    def day(self) -> date:
        """Return the date."""
        return self._needed("date", calendar_date)

    def year(self) -> int:
        """Return the year."""
        return self._needed("year", calendar_year)

    def look(self) -> str | None:
        """Return the name of a look, if one was asked for."""
        return self._text("look") or None

    def needed_look(self) -> str:
        """Return the name of the look."""
        return self._needed("look", str)

    def eye_height_m(self) -> float:
        """Return the eye's height above the horizon's sea or plain; 0 unless given. [m]"""
        return self._number_or("eye_height", 0.0)

    def zone(self, place: Observer) -> str:
        """Return the time zone given, or the one of the place."""
        if self.has("tz"):
            return self._needed("tz", lambda text: rules(text).key)
        return zone_name(place.lat_deg, place.lon_deg)

    def line(self, place: Observer, on: date) -> Line | None:
        """Return the bearing that was asked about, made true."""
        magnetic = self._needed("magnetic", _flag) if self.has("magnetic") else False
        if not self.has("bearing"):
            if magnetic:
                raise BadInput("A magnetic bearing was announced and none came: give the bearing too.", "bearing")
            return None
        return sighted_line(place, self._number_or("bearing", 0.0), magnetic, on)

    def _position(self) -> tuple[float, float]:
        lat_deg, lon_deg = (self._needed(name, _finite(CALLED[name])) for name in ("lat", "lon"))
        try:
            check_position(lat_deg, lon_deg)
        except BadInput as error:
            raise BadInput(str(error), "lon" if abs(lat_deg) <= 90 else "lat") from error
        return lat_deg, lon_deg

    def _number_or(self, name: str, otherwise: Any) -> Any:
        if not self.has(name):
            return otherwise
        return self._needed(name, lambda text: number(text, CALLED[name], *RANGES[name]))

    def _needed(self, name: str, parse: Callable[[str], T]) -> T:
        if not self.has(name):
            raise BadInput(f"{CALLED[name]} is missing: give “{name}”.", name)
        try:
            return parse(self._text(name))
        except (BadInput, ValueError) as error:
            raise BadInput(str(error), name) from error

    def _text(self, name: str) -> str:
        value = self.texts.get(name)
        return "" if value is None or value is False else str(value).strip()


def _finite(called: str) -> Callable[[str], float]:
    return lambda text: number(text, called, -math.inf, math.inf)


def _flag(text: str) -> bool:
    if text.lower() not in (*YES, *NO):
        raise BadInput(f"Magnetic is yes or no; “{text[:40]}” came.")
    return text.lower() in YES
