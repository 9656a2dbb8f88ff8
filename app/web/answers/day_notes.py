"""What is odd about a date, in words: no sunset or two, one after midnight, an hour more or less."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from app.place.timezone import local_time
from app.sky.crossings import crossings
from app.sky.ephemeris import DAY_S
from app.sky.events import ALWAYS_ABOVE, OK, RISE_SET_DEG, Event
from app.sky.refraction import rise_set_lowering_deg
from app.sky.track import FIRST_UTC_S, LAST_UTC_S, Observer
from app.web.answers.times import lived_day

SEARCHED_S = 200 * DAY_S  # no sun stays up or down for longer
ROOM_S = 3 * DAY_S  # what a search for passages reads on either side of its span


def day_notes(
    place: Observer, zone: str, day: date, events: tuple[Event, ...], eye_height_m: float
) -> Iterator[str]:
    """Yield a sentence for each thing that is unusual about a date."""
    span = lived_day(zone, day)
    horizon = _Horizon(place, zone, day, RISE_SET_DEG - float(rise_set_lowering_deg(eye_height_m)))
    passages = [event for event in events if event.name in ("sunrise", "sunset") and event.status == OK]
    if passages:
        yield from _twice(horizon, passages)
        yield from _at_the_start(horizon, span[0], passages)
        yield from _at_the_end(horizon, span[1], passages)
    else:
        yield _neither(horizon, span[1], events)
    yield from _hours((span[1] - span[0]) / 3600)


@dataclass(frozen=True)
class _Horizon:
    """The passages through one altitude, told by the clocks of a zone. [°]"""

    place: Observer
    zone: str
    day: date
    altitude_deg: float

    def nearest(self, utc_s: float, direction: int, rising: bool) -> str:
        """Return when the next rise or set comes, or when the last one was (direction -1)."""
        low, high = sorted((utc_s, utc_s + direction * SEARCHED_S))
        found = crossings(self.place, max(low, FIRST_UTC_S + ROOM_S), min(high, LAST_UTC_S - ROOM_S), self.altitude_deg)
        some = found.utc_s[found.rising == rising]
        return self.clock(some[0 if direction > 0 else -1]) if len(some) else "outside the years known here"

    def clock(self, utc_s: float) -> str:
        """Return “at 00:24”, with the date where it is another."""
        local = local_time(round(utc_s / 60) * 60, self.zone)
        words = f"at {local:%H:%M}"
        if local.date() == self.day:
            return words
        year = f" {local.year}" if local.year != self.day.year else ""
        return f"{words} on {local.day} {local:%B}{year}"


def _twice(horizon: _Horizon, passages: list[Event]) -> Iterator[str]:
    for name in ("sunrise", "sunset"):
        times = [horizon.clock(event.utc_s) for event in passages if event.name == name]
        if len(times) > 1:
            yield f"Two {name}s on this date: {' and '.join(times)}."


def _at_the_start(horizon: _Horizon, start_utc_s: float, passages: list[Event]) -> Iterator[str]:
    if passages[0].name == "sunrise":
        return
    rose = horizon.nearest(start_utc_s, -1, rising=True)
    if len(passages) == 1:
        yield f"No sunrise on this date: the sun that is up at its start rose {rose}."
    else:
        yield f"The sun that sets {horizon.clock(passages[0].utc_s)} rose {rose}."


def _at_the_end(horizon: _Horizon, end_utc_s: float, passages: list[Event]) -> Iterator[str]:
    if passages[-1].name == "sunset":
        return
    which = "No sunset" if len(passages) == 1 else "No later sunset"
    yield f"{which} on this date: the sun that is up at its end sets {horizon.nearest(end_utc_s, 1, rising=False)}."


def _neither(horizon: _Horizon, end_utc_s: float, events: tuple[Event, ...]) -> str:
    status = next(event.status for event in events if event.name == "sunset")
    if status == ALWAYS_ABOVE:
        return f"The sun does not set on this date: it is up all day and next sets {horizon.nearest(end_utc_s, 1, False)}."
    return f"The sun does not rise on this date: it next rises {horizon.nearest(end_utc_s, 1, True)}."


def _hours(hours: float) -> Iterator[str]:
    if hours != 24:
        yield f"The clocks change on this date: it has {hours:g} hours."
