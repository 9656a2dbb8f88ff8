"""Where the sun stands at one instant."""

from datetime import datetime
from typing import Any

from app.place.timezone import local_time
from app.sky.track import Observer
from app.web.answers.line import Line, backlight_answer, line_answer, line_notes
from app.web.answers.question import Question
from app.web.answers.times import iso_asked, iso_local, lived_day


def sun_asked(question: Question) -> dict[str, Any]:
    """Return the answer to a question as it was typed."""
    place, when = question.place(), question.when()
    line = question.line(place, when.date())
    zone = question.zone(place) if line or question.has("tz") else None
    return sun_answer(place, when, line, zone)


def sun_answer(
    place: Observer, when: datetime, line: Line | None = None, zone: str | None = None
) -> dict[str, Any]:
    """Return the sun at an instant, and how it stands to a line.

    With a line a zone is needed too: its clocks say which day's crossings are meant.
    """
    sun = place.sun_at(when.timestamp())
    answer = {
        "lat_deg": place.lat_deg,
        "lon_deg": place.lon_deg,
        "height_m": place.height_m,
        "pressure_hpa": round(place.air_hpa, 2),
        "temperature_c": place.temperature_c,
        "time_utc": iso_asked(when),
        "azimuth_deg": round(float(sun.azimuth_deg), 6),
        "altitude_deg": round(float(sun.airless_deg), 6),
        "refracted_altitude_deg": round(float(sun.refracted_deg), 6),
        "semidiameter_deg": round(float(sun.semidiameter_deg), 6),
    }
    if zone:
        answer |= {"time_zone": zone, "time_local": iso_local(when.timestamp(), zone)}
    return answer if line is None else {**answer, **_against(place, when, line, zone, float(sun.azimuth_deg))}


def _against(place: Observer, when: datetime, line: Line, zone: str | None, azimuth_deg: float) -> dict[str, Any]:
    if zone is None:
        raise ValueError("Crossings of a line need the time zone whose day is meant; give zone.")
    told = line_answer(place, line, zone, lived_day(zone, local_time(when.timestamp(), zone).date()))
    return {
        **told,
        **backlight_answer(line, azimuth_deg),
        "notes": list(line_notes(line, told)),
    }
