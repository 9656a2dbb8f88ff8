"""Sheets to test with; people, places and times are invented."""

from dataclasses import replace
from datetime import UTC, date, datetime

from app.sharing.sheet import Contact, CoupleSheet, CrewNotes, CrewSheet, Meeting, Point, Revision, Stop, Turn

MINUTE_S = 60.0


def at(hours: int, minutes: int = 0, day: int = 18) -> float:
    """Return an instant of September 2027, UTC. London is an hour ahead of it."""
    return datetime(2027, 9, day, hours, minutes, tzinfo=UTC).timestamp()


MEADOW = Stop(
    "meadow", at(16, 15), at(16, 40), "Sheep meadow", where="Behind the barn", about="You walk, I follow.",
    bring="Flat soles", point=Point(54.5731, -3.1382),
)  # fmt: skip
DOORS = Stop("doors", at(17), at(17, 20), "Boathouse doors", bring="Flowers")
JETTY = Stop(
    "jetty", at(17, 30), at(17, 52), "End of the jetty", walk_min=6, walk="Along the shore.",
    standby="The boathouse doors", chosen=True,
)  # fmt: skip
FIRST = CoupleSheet(
    id="tarn-evening",
    names=("Ines", "Tomasz"),
    place="Tarnholme",
    day=date(2027, 9, 18),
    zone="Europe/London",
    revision=Revision(1, at(9, 0, day=11)),
    stops=(MEADOW, DOORS, JETTY),
    ready_utc_s=at(16),
    meeting=Meeting("By the green doors", Point(54.571, -3.134)),
    contact=Contact("Marlow", "Marlow Reyne, photographs", "07700 900147", "marlow@example.com"),
    turns=(Turn("A shower", "We wait under the roof."),),
    decide_utc_s=at(13),
)
CREW = CrewSheet(
    FIRST,
    (CrewNotes("jetty", ("1/200 s, f/2.8",), ("Key, 1/4 power",), ("Camera on the shore",), ("Wet boards",)),),
    crew=("Jun, lights",),
    cautions=("Gusts to 30 km/h",),
)


def moved(stop: Stop, minutes: float) -> Stop:
    """Return a stop so much later, as long as before."""
    shift_s = minutes * MINUTE_S
    return replace(stop, starts_utc_s=stop.starts_utc_s + shift_s, ends_utc_s=stop.ends_utc_s + shift_s)


def revised(**fields: object) -> CoupleSheet:
    """Return a second revision, written on Saturday at 08:10 in London, with these fields changed."""
    return replace(FIRST, revision=Revision(2, at(7, 10)), **fields)
