"""The weather as it is typed: in the address of a page, on the command line, to the API."""

import re
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any, TypeVar
from urllib.parse import urlencode

from app.errors import BadInput
from app.picture.weather import STRONGEST_M_S, Weather, beaufort, wind_of_force_m_s
from app.units import number

if TYPE_CHECKING:  # forms bring the web along, which the command line does without
    from app.web.forms import Form

T = TypeVar("T")
FIELDS = ("wind", "wind_from", "people_in_water")
YES, NO = ("1", "true", "yes", "on"), ("", "0", "false", "no", "none")
FORCE = re.compile(r"(?:force|beaufort|bft)\s*(\S+)|(\S+)\s*(?:bft|beaufort)", re.IGNORECASE)
SPEED = re.compile(r"(\S+?)\s*m/s", re.IGNORECASE)
POINTS = ("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW")


def wind_m_s(text: str) -> float:
    """Return a wind typed in metres a second, or as a Beaufort force such as “force 3”. [m/s]

    Raises ``ValueError`` with a sentence otherwise.
    """
    if force := FORCE.fullmatch(text.strip()):
        return wind_of_force_m_s(number(force[1] or force[2], "A Beaufort force", 0, 12))
    speed = SPEED.fullmatch(text.strip())
    return number(speed[1] if speed else text, "The wind in m/s, or as “force 3”,", 0, STRONGEST_M_S)


def wind_from_deg(text: str) -> float:
    """Return where a wind comes from, typed as a true bearing or a point such as SW. [°]"""
    point = text.strip().upper()
    if point in POINTS:
        return POINTS.index(point) * 360.0 / len(POINTS)
    return number(text.strip().removesuffix("°"), "Where the wind comes from, as a bearing in degrees or a point such as SW,", 0, 360)


def yes_or_no(text: str) -> bool:
    """Return a tick; ``ValueError`` with a sentence for any other word."""
    if text.lower() not in (*YES, *NO):
        raise ValueError(f"People in the water is yes or no; “{text[:40]}” came.")
    return text.lower() in YES


def weather_from(form: "Form") -> Weather:
    """Return the weather typed into a form; what cannot be used is told by its field and left out."""
    wind = form.read("wind", wind_m_s) if form.text("wind") else None
    came_from = form.read("wind_from", wind_from_deg) if form.text("wind_from") else None
    return Weather(wind, came_from, form.read("people_in_water", yes_or_no, default=False) or False)


def weather_asked(texts: Mapping[str, Any]) -> Weather:
    """Return the weather of a question; ``BadInput`` names the field that cannot be used."""
    return Weather(
        _read(texts, "wind", wind_m_s),
        _read(texts, "wind_from", wind_from_deg),
        _read(texts, "people_in_water", yes_or_no) or False,
    )


def weather_query(form: "Form", **more: str) -> str:
    """Return a query that carries the weather typed, and more, to another address; empty without any."""
    kept = {name: form.text(name) for name in FIELDS if form.text(name) and not form.error(name)}
    query = urlencode({**{name: value for name, value in more.items() if value}, **kept})
    return f"?{query}" if query else ""


def weather_words(weather: Weather) -> str:
    """Return “Wind 4 m/s from 225°, force 3; people in the water.”, empty where nothing is known."""
    told = []
    if weather.wind_m_s is not None:
        came_from = "" if weather.wind_from_deg is None else f" from {weather.wind_from_deg:g}°"
        told.append(f"wind {weather.wind_m_s:g} m/s{came_from}, force {beaufort(weather.wind_m_s)}")
    if weather.people_in_water:
        told.append("people in the water")
    return f"{'; '.join(told)}.".capitalize() if told else ""


def _read(texts: Mapping[str, Any], name: str, parse: Callable[[str], T]) -> T | None:
    text = str(texts.get(name) or "").strip()
    try:
        return parse(text) if text else None
    except ValueError as error:
        raise BadInput(str(error), name) from error
