"""A shoot as the texts of its form, and back."""

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, time, timedelta

from app.errors import BadInput
from app.place.coordinates import format_coordinates, parse_coordinates
from app.place.site import Pin
from app.place.timezone import local_time, rules
from app.shoot.shoot import Free, Meeting, Shoot, Walk, free_between
from app.shoot.words import clock
from app.units import calendar_date, clock_time, number
from app.web.forms import Form
from app.web.shoots import Telling

SHIFTS = {"": 0, "the day after": 1, "the day before": -1}
DAY_TIME = re.compile(r"(\S*)\s*(the day after|the day before|)")
LOW_NUMBER = re.compile(r"[0-9]{1,6}")  # of a row in a form; a page has a few dozen
NONE_TYPED = "Type a time, such as 18:40."


def shoot_typed(shoot: Shoot, telling: Telling) -> dict[str, str]:
    """Return what the form of a shoot holds."""
    pin = shoot.meeting.pin
    return {
        "name": shoot.name,
        "date": shoot.day.isoformat(),
        "time_zone": shoot.zone,
        "people": "\n".join(shoot.people),
        "meeting": shoot.meeting.words,
        "meeting_pin": format_coordinates(pin.lat_deg, pin.lon_deg) if pin else "",
        "exact": "yes" if telling.exact else "",
        "pace_m_s": f"{shoot.pace_m_s:g}",
        "drive_km_h": f"{shoot.drive_km_h:g}",
        "blocked": "\n".join(day.isoformat() for day in shoot.blocked),
        "notes": shoot.notes,
        "wear": telling.wear,
        "contact_name": telling.name,
        "business": telling.business,
        "phone": telling.phone,
        "email": telling.email,
        "crew": "\n".join(telling.crew),
        **{f"free-{n}-{what}": words for n, one in enumerate(shoot.free) for what, words in _free_typed(shoot, one)},
        **{f"turn-{n}-{what}": words for n, one in enumerate(telling.turns) for what, words in zip(("trigger", "instead"), one, strict=True)},
        **{f"walk-{n}-{what}": words for n, one in enumerate(shoot.walks) for what, words in _walk_typed(one)},
    }


def read_shoot_form(form: Form, before: Shoot, told: Telling) -> tuple[Shoot, Telling] | None:
    """Return the shoot that a form describes, its wishes as before; None with the form's errors filled.

    A new date takes free times and beginnings fixed by hand along.
    """
    day, zone = form.read("date", calendar_date), form.read("time_zone", lambda text: rules(text).key)
    facts = {
        "meeting": _meeting(form, before),
        "pace_m_s": form.read("pace_m_s", lambda text: number(text, "The pace on foot, in m/s,", 0.2, 3.0), before.pace_m_s),
        "drive_km_h": form.read("drive_km_h", lambda text: number(text, "The driving speed, in km/h,", 5, 130), before.drive_km_h),
        "blocked": form.read("blocked", lambda text: tuple(map(calendar_date, text.split())), ()),
        "walks": tuple(_walks(form)),
        "people": lines_of(form.text("people")),
        "notes": form.text("notes"),
        "name": " ".join(form.text("name").split()) or _missing_name(form),
    }
    if day is None or zone is None:
        return None
    free = tuple(_free(form, zone, day))
    if form.errors:
        return None
    try:
        return replace(moved_to(before, day, zone), free=free, **facts), _telling(form, told)
    except BadInput as error:
        form.blame(error, "date")
        return None


def moved_to(shoot: Shoot, day: date, zone: str) -> Shoot:
    """Return a shoot on another date, free times and fixed beginnings at the same clock times as before."""
    if (day, zone) == (shoot.day, shoot.zone):
        return shoot

    def moved(utc_s: float) -> float:
        at = local_time(utc_s, shoot.zone)
        there = day + (at.date() - shoot.day)
        return free_between(zone, there, at.time(), at.time()).starts_utc_s

    wishes = tuple(
        wish if wish.fixed_start_utc_s is None else replace(wish, fixed_start_utc_s=moved(wish.fixed_start_utc_s)) for wish in shoot.wishes
    )
    free = tuple(Free(moved(one.starts_utc_s), moved(one.ends_utc_s)) for one in shoot.free)
    return replace(shoot, day=day, zone=zone, wishes=wishes, free=free)


def read_free(zone: str, day: date, start: str, end: str) -> Free:
    """Return the stretch between two times as ``clock`` writes them; an end not later than its start is on the next day.

    Raises ``ValueError`` for what is no time.
    """
    (first, shift), (last, end_shift) = read_day_time(start), read_day_time(end)
    if not end_shift:
        return free_between(zone, day + timedelta(days=shift), first, last)
    begins = free_between(zone, day + timedelta(days=shift), first, first).starts_utc_s
    return Free(begins, free_between(zone, day + timedelta(days=end_shift - 1), last, last).ends_utc_s)


def read_instant(zone: str, day: date, text: str) -> float:
    """Return the instant of a time as ``clock`` writes it, “18:40” or “00:20 the day after”. [s since 1970 UTC]"""
    at, shift = read_day_time(text)
    return free_between(zone, day + timedelta(days=shift), at, at).starts_utc_s


def read_day_time(text: str) -> tuple[time, int]:
    """Return a time of day and how many days from the shoot's date; ``ValueError`` with a sentence otherwise."""
    parts = DAY_TIME.fullmatch(" ".join(text.split()))
    if parts is None:
        raise ValueError(f"A time looks like 18:40 or “00:20 the day after”; “{text[:40]}” does not.")
    if not parts[1]:
        raise ValueError(NONE_TYPED)
    return clock_time(parts[1]), SHIFTS[parts[2]]


def rows_in(form: Form, kind: str) -> tuple[int, ...]:
    """Return the numbers of a kind's rows that hold anything, with a blank one at the end."""
    rows = {
        int(parts[1])
        for name in form.typed
        if form.text(name) and len(parts := name.split("-")) == 3 and parts[0] == kind and LOW_NUMBER.fullmatch(parts[1])
    }
    return (*sorted(rows), max(rows, default=-1) + 1)


def lines_of(text: str) -> tuple[str, ...]:
    """Return the lines of a text that hold anything."""
    return tuple(line for one in text.splitlines() if (line := " ".join(one.split())))


def _missing_name(form: Form) -> str:
    form.errors["name"] = "A shoot needs a name, such as the couple's."
    return ""


def _free_typed(shoot: Shoot, one: Free) -> tuple[tuple[str, str], ...]:
    """Leave out that an end is on the next day where that goes without saying."""
    start, end = clock(shoot, one.starts_utc_s), clock(shoot, one.ends_utc_s)
    plain = end.removesuffix(" the day after")
    same = start.count(" ") == 0 and read_free(shoot.zone, shoot.day, start, plain) == one
    return ("from", start), ("to", plain if same else end)


def _walk_typed(walk: Walk) -> tuple[tuple[str, str], ...]:
    return ("one", walk.one), ("other", walk.other), ("minutes", str(walk.minutes)), ("why", walk.why)


def _meeting(form: Form, before: Shoot) -> Meeting:
    place = form.read("meeting_pin", parse_coordinates) if form.text("meeting_pin") else None
    ground_m = before.meeting.pin.ground_m if before.meeting.pin else 0.0
    words = form.read("meeting", _meeting_words, "")
    return Meeting(words or "", Pin(place.lat_deg, place.lon_deg, ground_m) if place else None)


def _meeting_words(text: str) -> str:
    return Meeting(text).words


def _free(form: Form, zone: str, day: date) -> Iterator[Free]:
    for row in rows_in(form, "free"):
        start, end = form.text(f"free-{row}-from"), form.text(f"free-{row}-to")
        if not start and not end:
            continue
        name = f"free-{row}-{'from' if not start else 'to'}"
        found = form.read(f"free-{row}-from", read_day_time) and form.read(f"free-{row}-to", read_day_time)
        if found:
            yield from filter(None, [form.read(name, lambda _, a=start, b=end: read_free(zone, day, a, b))])


def _walks(form: Form) -> Iterator[Walk]:
    for row in rows_in(form, "walk"):
        one, other, minutes, why = (form.text(f"walk-{row}-{what}") for what in ("one", "other", "minutes", "why"))
        if minutes or why:
            name = f"walk-{row}-minutes"
            walked = form.read(name, lambda text: int(whole(text, "A walk, in minutes,", 0, 720)))
            if walked is not None:
                yield from filter(None, [form.read(name, lambda _, a=one, b=other, m=walked, w=why: Walk(a, b, m, w))])


def whole(text: str, called: str, low: float, high: float) -> int:
    """Return a whole number in [low, high]; ``ValueError`` with a sentence otherwise."""
    value = number(text, called, low, high)
    if value != int(value):
        raise ValueError(f"{called} is told in whole numbers; {value:g} came.")
    return int(value)


def _telling(form: Form, before: Telling) -> Telling:
    """Return what people are told; what belongs to single wishes stays as before."""
    rows = [(form.text(f"turn-{row}-trigger"), form.text(f"turn-{row}-instead")) for row in rows_in(form, "turn")]
    return replace(
        before,
        wear=form.text("wear"),
        turns=tuple(pair for pair in rows if any(pair)),
        name=form.text("contact_name"),
        business=form.text("business"),
        phone=form.text("phone"),
        email=form.text("email"),
        crew=lines_of(form.text("crew")),
        exact=bool(form.text("exact")),
    )
