"""What sun and moon do on one date."""

from datetime import date
from typing import Any

from app.sky.events import Event, Stretch, day_events, day_stretches
from app.sky.moon import moon_day
from app.sky.track import Observer
from app.web.answers.day_notes import day_notes
from app.web.answers.line import Line, backlight_answer, line_answer, line_notes
from app.web.answers.question import Question
from app.web.answers.times import iso_local, iso_utc, lived_day

NO_BACKLIGHT = {"backlight_deg": None, "backlight_side": None}


def day_asked(question: Question) -> dict[str, Any]:
    """Return the answer to a question as it was typed."""
    place, day = question.place(), question.day()
    return day_answer(place, day, question.zone(place), question.eye_height_m(), question.line(place, day))


def day_answer(
    place: Observer, day: date, zone: str, eye_height_m: float = 0.0, line: Line | None = None
) -> dict[str, Any]:
    """Return a date's events, stretches and moon, what is odd about it, and how the sun stands to a line."""
    span = lived_day(zone, day)
    events = day_events(place, *span, eye_height_m)
    told = line_answer(place, line, zone, span) if line else {}
    notes = [*day_notes(place, zone, day, events, eye_height_m), *(line_notes(line, told) if line else ())]
    return {
        "lat_deg": place.lat_deg,
        "lon_deg": place.lon_deg,
        "date": day.isoformat(),
        "time_zone": zone,
        "eye_height_m": eye_height_m,
        **told,
        "events": [_event(event, zone, line) for event in events],
        "stretches": [_stretch(stretch, zone) for stretch in _in_order(day_stretches(place, *span))],
        "moon": _moon(place, span, zone),
        "notes": notes,
    }


def _event(event: Event, zone: str, line: Line | None) -> dict[str, Any]:
    came = event.utc_s is not None
    told = {
        "event": event.name,
        "time_utc": iso_utc(event.utc_s) if came else None,
        "time_local": iso_local(event.utc_s, zone) if came else None,
        "azimuth_deg": round(event.azimuth_deg, 6) if came else None,
        "status": event.status,
    }
    if line is None:
        return told
    return {**told, **(backlight_answer(line, event.azimuth_deg) if came else NO_BACKLIGHT)}


def _in_order(stretches: tuple[Stretch, ...]) -> list[Stretch]:
    return sorted(stretches, key=lambda stretch: stretch.opens_utc_s)


def _stretch(stretch: Stretch, zone: str) -> dict[str, Any]:
    return {
        "stretch": stretch.name,
        "part": stretch.part,
        "opens": iso_local(stretch.opens_utc_s, zone),
        "closes": iso_local(stretch.closes_utc_s, zone),
    }


def _moon(place: Observer, span: tuple[float, float], zone: str) -> dict[str, Any]:
    moon = moon_day(place, *span)
    return {
        "rises": [iso_local(utc_s, zone) for utc_s in moon.rises_utc_s],
        "sets": [iso_local(utc_s, zone) for utc_s in moon.sets_utc_s],
        "phase": moon.phase_words,
    }
