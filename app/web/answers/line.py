"""A line that somebody looks along, and where the sun stands against it."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from app.place.declination import Declination, declination, true_bearing_deg
from app.sky.line import LOWEST_DEG, line_crossings
from app.sky.track import Observer
from app.units import compass_deg, turned_deg
from app.web.answers.times import iso_local, iso_utc

ON_THE_LINE_DEG = 0.5  # nearer than anybody sights; two widths of the sun


@dataclass(frozen=True)
class Line:
    """The bearing of a line from true north, and what made a compass bearing true. [°]"""

    bearing_deg: float
    declination: Declination | None = None


def sighted_line(place: Observer, bearing_deg: float, magnetic: bool, on: date) -> Line:
    """Return the line along a bearing that is true, or magnetic on that date."""
    if not magnetic:
        return Line(float(compass_deg(bearing_deg)))
    found = declination(place.lat_deg, place.lon_deg, on, place.height_m)
    return Line(float(true_bearing_deg(bearing_deg, found)), found)


def line_answer(place: Observer, line: Line, zone: str, span: tuple[float, float]) -> dict[str, Any]:
    """Return the true bearing, the correction that made it so, and when the sun crosses it in a span."""
    answer: dict[str, Any] = {"bearing_deg": round(line.bearing_deg, 6)}
    if line.declination:
        answer["declination_deg"] = round(line.declination.east_deg, 4)
    return {**answer, "crosses_line": list(_crossings(place, line, zone, span))}


def backlight_answer(line: Line, azimuth_deg: float) -> dict[str, Any]:
    """Return how far the sun stands from straight behind a subject seen along the line.

    Right of the line is positive, -180..180; within half a degree it counts as on the line.
    """
    turn_deg = float(turned_deg(azimuth_deg, line.bearing_deg))
    side = "on the line" if abs(turn_deg) < ON_THE_LINE_DEG else "right" if turn_deg > 0 else "left"
    return {"backlight_deg": round(turn_deg, 6), "backlight_side": side}


def line_notes(line: Line, answer: dict[str, Any]) -> Iterator[str]:
    """Yield what has to be known about the bearing and the crossings."""
    if line.declination and line.declination.note:
        yield line.declination.note
    if not answer["crosses_line"]:
        yield f"The sun does not cross this bearing on this date while it is higher than {LOWEST_DEG:g}°."


def _crossings(place: Observer, line: Line, zone: str, span: tuple[float, float]) -> Iterator[dict[str, Any]]:
    found = line_crossings(place, *span, line.bearing_deg)
    for utc_s, airless_deg, seen_deg in zip(found.utc_s, found.airless_deg, found.refracted_deg, strict=True):
        yield {
            "time_utc": iso_utc(utc_s),
            "time_local": iso_local(utc_s, zone),
            "altitude_deg": round(float(airless_deg), 6),
            "refracted_altitude_deg": round(float(seen_deg), 6),
        }
