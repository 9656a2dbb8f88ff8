"""What a shoot is: a day, people with their free time, and the setups wished for, each with its terms."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from functools import cached_property

from app.errors import BadInput
from app.place.positions import check_position
from app.place.site import Pin
from app.place.timezone import civil_day, rules
from app.sky.ephemeris import DAY_S
from app.units import number

PACE_M_S = 1.2  # walking with bags and long clothes; common practice, no source
DRIVE_KM_H = 40.0  # door to door on small roads; common practice, no source
MOST_WISHES = 60  # kept in one shoot; the solver takes fewer at a time
LONGEST_TEXT = 4000
LONGEST_SLOT_MIN, LONGEST_PAUSE_MIN = 240, 180
LEAST_WEIGHT, MOST_WEIGHT = 0.1, 10.0
LONGEST_SPAN_S = 2 * DAY_S  # from the first free minute to the last
MEETING = "meeting"  # how a typed walk calls the meeting point


def spot_of(site: str, setup: str) -> str:
    """Return how walks and standbys call a place: the site's address and the setup's id."""
    return f"{site}/{setup}"


@dataclass(frozen=True)
class Free:
    """A stretch in which the people can be photographed. [s since 1970 UTC]"""

    starts_utc_s: float
    ends_utc_s: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.starts_utc_s) and math.isfinite(self.ends_utc_s)):
            raise BadInput("Free time has a beginning and an end; type both.", "free")
        if not self.ends_utc_s > self.starts_utc_s:
            raise BadInput("Free time ends after it begins; type the later time second.", "free")


@dataclass(frozen=True)
class Meeting:
    """Where everybody meets: words, and a point if it has been pinned."""

    words: str = ""
    pin: Pin | None = None

    def __post_init__(self) -> None:
        _check_text(self.words, "The meeting point", "meeting")
        if self.pin:
            check_position(self.pin.lat_deg, self.pin.lon_deg, first=None)


@dataclass(frozen=True)
class Walk:
    """A time typed over the distance between two spots, the same both ways; ``why`` says stairs, a ferry, a gate."""

    one: str
    other: str
    minutes: int
    why: str = ""

    def __post_init__(self) -> None:
        if not self.one or not self.other or self.one == self.other:
            raise BadInput("A typed walk is between two different spots.", "walks")
        _check_minutes(self.minutes, "A walk", 0, 12 * 60, "walks")
        _check_text(self.why, "Why a walk takes its time", "walks")


@dataclass(frozen=True)
class Wish:
    """One setup wished for.

    Attributes
    ----------
    id : str
        Its own, not the setup's: a setup may be wished for twice.
    site, setup : str
        The site's address and the setup's id.
    looks : tuple of str
        Names of looks, any of which will do; empty for all that the setup asks for.
    shortest_min, ideal_min : int
        How long it must and may last, 1 to 240. [min]
    weight : float
        What it is worth beside others, 0.1 to 10.
    must : bool
        Whether a running order without it is none.
    after : tuple of str
        Wishes that come earlier, if they come at all.
    change_before_min, lights_min : int
        For changing clothes, and for setting up lights, before it. [min]
    fixed_start_utc_s : float, optional
        When it begins, set by hand; seconds since 1970 UTC. [s]
    standby : str, optional
        The id of a setup of the same site.
    """

    id: str
    site: str
    setup: str
    name: str = ""
    looks: tuple[str, ...] = ()
    shortest_min: int = 10
    ideal_min: int = 20
    weight: float = 1.0
    must: bool = False
    after: tuple[str, ...] = ()
    change_before_min: int = 0
    lights_min: int = 0
    fixed_start_utc_s: float | None = None
    standby: str | None = None
    notes: str = ""

    def __post_init__(self) -> None:
        for text, called in ((self.id, "id"), (self.site, "site"), (self.setup, "setup")):
            _check_name(text, f"A wish's {called}", called)
        _check_text(self.name, "A wish's name", "name", longest=200)
        _check_text(self.notes, "Notes", "notes")
        self._check_minutes()
        _within(self.weight, "The weight", LEAST_WEIGHT, MOST_WEIGHT, "weight")
        if self.fixed_start_utc_s is not None and not math.isfinite(self.fixed_start_utc_s):
            raise BadInput("A fixed beginning is an instant; leave it empty for none.", "fixed_start")
        if self.id in self.after:
            raise BadInput(f"“{self.called}” cannot come after itself.", "after")

    def _check_minutes(self) -> None:
        _check_minutes(self.shortest_min, "The shortest time", 1, LONGEST_SLOT_MIN, "shortest_min")
        _check_minutes(self.ideal_min, "The ideal time", 1, LONGEST_SLOT_MIN, "ideal_min")
        _check_minutes(self.change_before_min, "Changing clothes", 0, LONGEST_PAUSE_MIN, "change_before_min")
        _check_minutes(self.lights_min, "Setting up lights", 0, LONGEST_PAUSE_MIN, "lights_min")
        if self.shortest_min > self.ideal_min:
            came = f"{self.shortest_min} and {self.ideal_min} min came"
            raise BadInput(f"The shortest time is not longer than the ideal one; {came}.", "shortest_min")

    @property
    def called(self) -> str:
        """Its name, or its setup's id where it has none."""
        return self.name or self.setup

    @property
    def spot(self) -> str:
        """Where it is, as typed walks call it."""
        return spot_of(self.site, self.setup)


@dataclass(frozen=True)
class Shoot:
    """A day's work, as wished for.

    ``zone`` is whose clock everybody reads; ``free`` is in time order, and empty
    where nothing was said: then the whole day counts. ``blocked`` are dates that
    are no choice. Raises ``BadInput`` for what contradicts itself.
    """

    id: str
    name: str
    day: date
    zone: str
    wishes: tuple[Wish, ...] = ()
    free: tuple[Free, ...] = ()
    people: tuple[str, ...] = ()
    meeting: Meeting = field(default_factory=Meeting)
    walks: tuple[Walk, ...] = ()
    pace_m_s: float = PACE_M_S
    drive_km_h: float = DRIVE_KM_H
    blocked: tuple[date, ...] = ()
    notes: str = ""

    def __post_init__(self) -> None:
        _check_name(self.id, "A shoot's id", "id")
        _check_text(self.name, "A shoot's name", "name", longest=200)
        _check_text(self.notes, "Notes", "notes")
        for person in self.people:
            _check_text(person, "A person's name", "people", longest=200)
        _within(self.pace_m_s, "The pace on foot, in m/s,", 0.2, 3.0, "pace_m_s")
        _within(self.drive_km_h, "The driving speed, in km/h,", 5.0, 130.0, "drive_km_h")
        self._check_times()
        _check_wishes(self.wishes)
        _check_walks(self.walks)

    def _check_times(self) -> None:
        midnight, end = civil_day(self.zone, self.day)
        low, high = midnight - DAY_S, end + DAY_S
        for instant in (*(one.starts_utc_s for one in self.free), *(one.ends_utc_s for one in self.free)):
            if not low <= instant <= high:
                raise BadInput(f"Free time is not within a day of {self.day}; mend the date or the times.", "free")
        for wish in self.wishes:
            if wish.fixed_start_utc_s is not None and not low <= wish.fixed_start_utc_s <= high:
                raise BadInput(f"“{wish.called}” is fixed more than a day from {self.day}.", "fixed_start")
        for earlier, later in zip(self.free, self.free[1:], strict=False):
            if later.starts_utc_s < earlier.ends_utc_s:
                raise BadInput("Stretches of free time follow each other and do not overlap.", "free")
        if self.free and self.free[-1].ends_utc_s - self.free[0].starts_utc_s > LONGEST_SPAN_S:
            raise BadInput("From the first free minute to the last there are two days at most.", "free")

    @cached_property
    def open_time(self) -> tuple[Free, ...]:
        """When slots may lie: the people's free time, the whole civil day where nothing was said."""
        return self.free or (Free(*civil_day(self.zone, self.day)),)

    @cached_property
    def typed_walks(self) -> Mapping[frozenset[str], Walk]:
        """Typed walks by their unordered pair of spots."""
        return {frozenset((walk.one, walk.other)): walk for walk in self.walks}

    @cached_property
    def typed_min(self) -> Mapping[frozenset[str], int]:
        """Their times by their pair of spots. [min]"""
        return {pair: walk.minutes for pair, walk in self.typed_walks.items()}

    def wish(self, wish_id: str) -> Wish:
        """Return one wish; ``BadInput`` when there is none of this id."""
        for wish in self.wishes:
            if wish.id == wish_id:
                return wish
        raise BadInput(f"This shoot has no wish “{wish_id[:60]}”.", "wishes")


def free_between(zone: str, day: date, start: time, end: time) -> Free:
    """Return the stretch between two times on the clocks of a zone; an end not later than the start is the next day's.

    A time that clocks skip is read by the clock before the skip, and so falls as
    much later; of a time they strike twice, the first begins and the second ends.
    """
    last_day = day if end > start else day + timedelta(days=1)
    begins = datetime.combine(day, start, rules(zone))
    ends = datetime.combine(last_day, end, rules(zone)).replace(fold=1 if _struck_twice(zone, last_day, end) else 0)
    return Free(begins.timestamp(), ends.timestamp())


def _struck_twice(zone: str, day: date, at: time) -> bool:
    first = datetime.combine(day, at, rules(zone))
    return first.replace(fold=1).timestamp() > first.timestamp()


def _check_wishes(wishes: tuple[Wish, ...]) -> None:
    ids = [wish.id for wish in wishes]
    if len(ids) > MOST_WISHES:
        raise BadInput(f"A shoot keeps {MOST_WISHES} wishes at most; {len(ids)} came.", "wishes")
    if twice := next((one for one in ids if ids.count(one) > 1), None):
        raise BadInput(f"Two wishes have the id “{twice}”; give one of them another.", "wishes")
    for wish in wishes:
        if unknown := next((one for one in wish.after if one not in ids), None):
            raise BadInput(f"“{wish.called}” comes after “{unknown}”, which is no wish of this shoot.", "after")
    _check_order(wishes)


def _check_order(wishes: tuple[Wish, ...]) -> None:
    """Take away what comes after nothing that is left; what stays in the end goes round in a circle."""
    left = {wish.id: set(wish.after) for wish in wishes}
    while ready := [one for one, after in left.items() if not after & left.keys()]:
        for one in ready:
            del left[one]
    if left:
        called = ", ".join(f"“{wish.called}”" for wish in wishes if wish.id in left)
        raise BadInput(f"Each comes after another in a circle: {called}; take one of the “after” away.", "after")


def _check_walks(walks: Iterable[Walk]) -> None:
    pairs = [frozenset((walk.one, walk.other)) for walk in walks]
    if len(set(pairs)) < len(pairs):
        raise BadInput("A walk between the same two spots is typed twice; keep one of the two.", "walks")


def _check_name(text: str, called: str, field_name: str) -> None:
    if not text.strip() or len(text) > 200 or not text.isprintable():
        raise BadInput(f"{called} is a short text in one line; “{text[:40]}” came.", field_name)


def _check_text(text: str, called: str, field_name: str, longest: int = LONGEST_TEXT) -> None:
    if len(text) > longest:
        raise BadInput(f"{called}: {longest} characters at most; {len(text)} came.", field_name)


def _check_minutes(minutes: int, called: str, low: int, high: int, field_name: str) -> None:
    _within(minutes, f"{called}, in minutes,", low, high, field_name)
    if minutes != int(minutes):
        raise BadInput(f"{called} is told in whole minutes; {minutes:g} came.", field_name)


def _within(value: float, called: str, low: float, high: float, field_name: str) -> None:
    try:
        number(str(value), called, low, high)
    except ValueError as error:
        raise BadInput(str(error), field_name) from error
