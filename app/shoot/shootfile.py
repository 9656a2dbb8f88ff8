"""A shoot as a plain JSON object, read strictly and written back whole."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import fields
from datetime import UTC, date, datetime
from typing import Any, TypeVar

from app.errors import BadInput
from app.place.site import Pin
from app.place.strict_json import read_json, write_json
from app.place.values import flag_in, number_in, object_in, shown, text_in
from app.shoot.shoot import DRIVE_KM_H, MOST_WISHES, PACE_M_S, Free, Meeting, Shoot, Walk, Wish
from app.units import calendar_date, instant

T = TypeVar("T")
MAX_BYTES = 500_000
FORMAT = 1
_MEMBERS = {
    "westering_shoot", "id", "name", "day", "zone", "people", "free", "meeting", "wishes", "walks", "pace_m_s",
    "drive_km_h", "blocked", "notes",
}  # fmt: skip
_WISH_MEMBERS = ({field.name for field in fields(Wish)} - {"fixed_start_utc_s"}) | {"fixed_start"}


def read_shoot(source: str | bytes | Mapping[str, Any]) -> Shoot:
    """Return the shoot of a JSON object or its text.

    Raises ``BadInput`` with the field's name, or ``TooLarge``, for what is not as
    ``shoot_document`` writes it; a member left out takes its default.
    """
    members = _object(read_json(source, MAX_BYTES), "A shoot", _MEMBERS)
    if members.get("westering_shoot", FORMAT) != FORMAT:
        raise BadInput(f"westering_shoot is {FORMAT} here; a newer program wrote this.", "westering_shoot")
    return Shoot(
        id=text_in(members, "id"),
        name=text_in(members, "name"),
        day=_day(members.get("day"), "day"),
        zone=text_in(members, "zone"),
        wishes=_each(members, "wishes", _wish),
        free=_each(members, "free", _free),
        people=_texts(members, "people"),
        meeting=_meeting(object_in(members, "meeting")),
        walks=_each(members, "walks", _walk),
        pace_m_s=number_in(members, "pace_m_s", 0.2, 3.0, PACE_M_S),
        drive_km_h=number_in(members, "drive_km_h", 5.0, 130.0, DRIVE_KM_H),
        blocked=tuple(_day(one, "blocked") for one in _texts(members, "blocked")),
        notes=text_in(members, "notes"),
    )


def shoot_document(shoot: Shoot) -> dict[str, Any]:
    """Return the JSON object of a shoot; ``read_shoot`` gives the same shoot back."""
    return {
        "westering_shoot": FORMAT,
        "id": shoot.id,
        "name": shoot.name,
        "day": shoot.day.isoformat(),
        "zone": shoot.zone,
        "people": list(shoot.people),
        "free": [{"from": iso_utc(one.starts_utc_s), "to": iso_utc(one.ends_utc_s)} for one in shoot.free],
        "meeting": _meeting_document(shoot.meeting),
        "wishes": [_wish_document(wish) for wish in shoot.wishes],
        "walks": [{"between": [one.one, one.other], "minutes": one.minutes, "why": one.why} for one in shoot.walks],
        "pace_m_s": shoot.pace_m_s,
        "drive_km_h": shoot.drive_km_h,
        "blocked": [day.isoformat() for day in shoot.blocked],
        "notes": shoot.notes,
    }


def write_shoot(shoot: Shoot) -> str:
    """Return the JSON text of a shoot."""
    return write_json(shoot_document(shoot))


def iso_utc(utc_s: float) -> str:
    """Return an instant as ISO 8601 with Z; seconds since 1970 UTC."""
    return datetime.fromtimestamp(utc_s, UTC).isoformat().replace("+00:00", "Z")


def _wish(members: Mapping[str, Any]) -> Wish:
    _object(members, "A wish", _WISH_MEMBERS)
    fixed = members.get("fixed_start")
    return Wish(
        id=text_in(members, "id"),
        site=text_in(members, "site"),
        setup=text_in(members, "setup"),
        name=text_in(members, "name"),
        looks=_texts(members, "looks"),
        shortest_min=_minutes(members, "shortest_min", 10),
        ideal_min=_minutes(members, "ideal_min", 20),
        weight=number_in(members, "weight", 0.1, 10.0, 1.0),
        must=flag_in(members, "must"),
        after=_texts(members, "after"),
        change_before_min=_minutes(members, "change_before_min", 0),
        lights_min=_minutes(members, "lights_min", 0),
        fixed_start_utc_s=None if fixed is None else _instant_s(fixed, "fixed_start"),
        standby=text_in(members, "standby") or None,
        notes=text_in(members, "notes"),
    )


def _wish_document(wish: Wish) -> dict[str, Any]:
    kept = {field.name: getattr(wish, field.name) for field in fields(wish) if field.name != "fixed_start_utc_s"}
    fixed = wish.fixed_start_utc_s
    return kept | {"looks": list(wish.looks), "after": list(wish.after), "fixed_start": None if fixed is None else iso_utc(fixed)}


def _free(members: Mapping[str, Any]) -> Free:
    _object(members, "A stretch of free time", {"from", "to"})
    return Free(_instant_s(members.get("from"), "free"), _instant_s(members.get("to"), "free"))


def _walk(members: Mapping[str, Any]) -> Walk:
    _object(members, "A walk", {"between", "minutes", "why"})
    between = _texts(members, "between")
    if len(between) != 2:
        raise BadInput("A walk is between two spots.", "walks")
    return Walk(*between, _minutes(members, "minutes", 0), text_in(members, "why"))


def _meeting(members: Mapping[str, Any]) -> Meeting:
    _object(members, "The meeting point", {"words", "pin"})
    pin = object_in(members, "pin")
    if not pin:
        return Meeting(text_in(members, "words"))
    _object(pin, "A pin", {"lat_deg", "lon_deg", "ground_m"})
    where = number_in(pin, "lat_deg", -90, 90), number_in(pin, "lon_deg", -180, 180)
    return Meeting(text_in(members, "words"), Pin(*where, number_in(pin, "ground_m", -500, 9000, 0.0)))


def _meeting_document(meeting: Meeting) -> dict[str, Any]:
    pin = meeting.pin
    kept = pin and {"lat_deg": pin.lat_deg, "lon_deg": pin.lon_deg, "ground_m": pin.ground_m}
    return {"words": meeting.words, "pin": kept}


def _object(value: Any, called: str, known: set[str]) -> Mapping[str, Any]:
    if not isinstance(value, Mapping):
        raise BadInput(f"{called} is an object in curly brackets; {shown(value)} came.")
    unknown = next((name for name in value if name not in known), None)
    if unknown is not None:
        raise BadInput(f"{called} has no “{unknown[:40]}”; it has: {', '.join(sorted(known))}.", unknown)
    return value


def _each(members: Mapping[str, Any], name: str, read: Callable[[Any], T]) -> tuple[T, ...]:
    return tuple(read(one) for one in _list(members, name))


def _list(members: Mapping[str, Any], name: str) -> Sequence[Any]:
    value = members.get(name)
    if value is None:
        return ()
    if not isinstance(value, list) or len(value) > MOST_WISHES**2:
        raise BadInput(f"{name} is a list; {shown(value)} came.", name)
    return value


def _texts(members: Mapping[str, Any], name: str) -> tuple[str, ...]:
    values = _list(members, name)
    if wrong := next((one for one in values if not isinstance(one, str)), None):
        raise BadInput(f"{name} is a list of texts; {shown(wrong)} came in it.", name)
    return tuple(values)


def _minutes(members: Mapping[str, Any], name: str, default: int) -> int:
    minutes = number_in(members, name, 0, 24 * 60, default)
    if minutes != int(minutes):
        raise BadInput(f"{name} is in whole minutes; {minutes:g} came.", name)
    return int(minutes)


def _day(value: Any, name: str) -> date:
    try:
        return calendar_date(value if isinstance(value, str) else shown(value))
    except ValueError as error:
        raise BadInput(str(error), name) from error


def _instant_s(value: Any, name: str) -> float:
    try:
        return instant(value if isinstance(value, str) else shown(value)).timestamp()
    except ValueError as error:
        raise BadInput(str(error), name) from error
