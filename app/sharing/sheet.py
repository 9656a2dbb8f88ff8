"""What the couple's sheet and the crew's sheet hold, before it is put in words."""

import math
from dataclasses import dataclass
from datetime import date

from app.errors import BadInput
from app.place.positions import check_position
from app.place.timezone import rules

LONGEST_SHEET_S = 48 * 3600  # one evening, or a night that begins late on the next day
MOST_STOPS = 60


@dataclass(frozen=True)
class Point:
    """A place on the ground in WGS84, checked when made. [°]"""

    lat_deg: float
    lon_deg: float

    def __post_init__(self) -> None:
        check_position(self.lat_deg, self.lon_deg)

    @property
    def geo(self) -> str:
        """The address of the place as a ``geo:`` link (RFC 5870), to about one metre."""
        return f"geo:{self.shown.replace(' ', '')}"

    @property
    def shown(self) -> str:
        """The place in digits that map programs take: latitude, longitude, to about one metre. [°]"""
        return f"{self.lat_deg:.5f}, {self.lon_deg:.5f}"


@dataclass(frozen=True)
class Meeting:
    """Where everybody meets: words, and a point where one may be shown."""

    words: str = ""
    point: Point | None = None


@dataclass(frozen=True)
class Contact:
    """How to reach the photographer; what is empty is not shown. ``business`` heads the sheet."""

    name: str = ""
    business: str = ""
    phone: str = ""
    email: str = ""


@dataclass(frozen=True)
class Turn:
    """What happens if something turns: “Wind on the lake”, “We go to the boathouse instead”."""

    trigger: str
    instead: str


@dataclass(frozen=True)
class Stop:
    """One slot as the people in front of the camera need it.

    Attributes
    ----------
    id : str
        Its own, the same in every revision.
    starts_utc_s, ends_utc_s : float
        Seconds since 1970, UTC; the end comes after the start. [s]
    title, where, about, bring, standby : str
        Plain text in any script; what is empty is not shown. ``standby`` says
        where they go if this stop fails.
    walk_min : int, optional
        How long the walk to it takes, from the stop before or the meeting point. [min]
    way_min : int, optional
        The same where it is no walk: a drive, a ferry. [min]
    change_min : int, optional
        For changing clothes before it. [min]
    walk : str
        Words about that walk, or about the rest before this stop.
    point : Point, optional
        Where it is, if that may be shown.
    zone : str
        Its time zone where that is another than the sheet's.
    chosen : bool
        Whether this is the picture of the evening, ringed on the sheet.
    frame : object
        A drawing for the page that shows it; nothing here looks inside.
    """

    id: str
    starts_utc_s: float
    ends_utc_s: float
    title: str
    where: str = ""
    about: str = ""
    bring: str = ""
    standby: str = ""
    walk_min: int | None = None
    walk: str = ""
    point: Point | None = None
    zone: str = ""
    chosen: bool = False
    frame: object = None
    way_min: int | None = None
    change_min: int | None = None

    def __post_init__(self) -> None:
        if not self.id:
            raise BadInput("A stop of a sheet needs an id of its own.", "stops")
        if not (math.isfinite(self.starts_utc_s) and math.isfinite(self.ends_utc_s)):
            raise BadInput(f"“{self.title}” begins and ends at an instant; give both.", "stops")
        if not self.starts_utc_s < self.ends_utc_s:
            raise BadInput(f"“{self.title}” ends after it begins; give the later time second.", "stops")
        for minutes in (self.walk_min, self.way_min, self.change_min):
            if minutes is not None and not 0 <= minutes <= 24 * 60:
                raise BadInput(f"A walk takes 0 to 1440 min; {minutes} came.", "stops")
        if self.zone:
            rules(self.zone)


@dataclass(frozen=True)
class Revision:
    """Which writing of the sheet this is, from 1, and when it was written. [s since 1970 UTC]"""

    number: int
    written_utc_s: float

    def __post_init__(self) -> None:
        if self.number < 1 or not math.isfinite(self.written_utc_s):
            raise BadInput(f"Revisions count from 1 and have a date; {self.number} came.", "revision")


@dataclass(frozen=True)
class CoupleSheet:
    """All that a couple is told, and nothing else.

    ``id`` names the shoot and never changes. ``stops`` are in time order;
    ``dropped`` are stops of earlier revisions that are off, which a calendar has to
    go on naming. ``done_utc_s`` defaults to the end of the last stop. Raises
    ``BadInput`` for what contradicts itself.
    """

    id: str
    names: tuple[str, ...]
    place: str
    day: date
    zone: str
    revision: Revision
    stops: tuple[Stop, ...] = ()
    dropped: tuple[Stop, ...] = ()
    ready_utc_s: float | None = None
    done_utc_s: float | None = None
    meeting: Meeting = Meeting()
    contact: Contact = Contact()
    turns: tuple[Turn, ...] = ()
    decide_utc_s: float | None = None

    def __post_init__(self) -> None:
        rules(self.zone)
        if len(self.stops) > MOST_STOPS:
            came = f"{len(self.stops)} came. Split the day."
            raise BadInput(f"A sheet holds up to {MOST_STOPS} stops; {came}", "stops")
        ids = [stop.id for stop in (*self.stops, *self.dropped)]
        if len(set(ids)) < len(ids):
            raise BadInput("Each stop of a sheet has an id of its own; one came twice.", "stops")
        starts = [stop.starts_utc_s for stop in self.stops]
        if starts != sorted(starts):
            raise BadInput("The stops of a sheet come in time order.", "stops")
        if starts and starts[-1] - starts[0] > LONGEST_SHEET_S:
            raise BadInput("A sheet spans up to 48 hours; make two of it.", "stops")

    @property
    def done(self) -> float | None:
        """When it is over: as said, or when the last stop ends; ``None`` without stops. [s]"""
        if self.done_utc_s is not None or not self.stops:
            return self.done_utc_s
        return max(stop.ends_utc_s for stop in self.stops)

    def zone_of(self, stop: Stop) -> str:
        """Return whose clocks a stop is told by."""
        return stop.zone or self.zone


@dataclass(frozen=True)
class CrewNotes:
    """What the crew needs at one stop, each line ready to read: “Key, 1/4 power, 2.4 m left of them”.

    ``sketch`` is a drawing of the positions, a whole SVG document as wide as high, and
    ``sketch_alt`` what it shows in words.
    """

    stop_id: str
    settings: tuple[str, ...] = ()
    lights: tuple[str, ...] = ()
    positions: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    sketch: str = ""
    sketch_alt: str = ""


@dataclass(frozen=True)
class CrewSheet:
    """The couple's sheet, and what the crew has to know besides.

    ``cautions`` hold for the whole evening. Raises ``BadInput`` for notes on a stop
    that the sheet has not.
    """

    couple: CoupleSheet
    notes: tuple[CrewNotes, ...] = ()
    crew: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        known = {stop.id for stop in self.couple.stops}
        strange = [notes.stop_id for notes in self.notes if notes.stop_id not in known]
        if strange:
            raise BadInput(f"There are notes for “{strange[0]}”, which is no stop of this sheet.", "notes")

    def notes_of(self, stop: Stop) -> CrewNotes:
        """Return the notes on a stop, empty where there are none."""
        return next((notes for notes in self.notes if notes.stop_id == stop.id), CrewNotes(stop.id))
