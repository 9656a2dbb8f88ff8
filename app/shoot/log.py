"""The log of a shoot's day: what happened in each slot, where two devices disagree, and what the next plan learns from it."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations, pairwise
from typing import Any

import numpy as np

from app.shoot.order import RunningOrder
from app.shoot.prospect import MINUTE_S, Prospect
from app.shoot.shoot import Shoot
from app.shoot.walking import over_ground_m

START, DONE, SKIP, STANDBY, METER, NOTE, SIGHTED, UNDO = "start", "done", "skip", "standby", "meter", "note", "sighted", "undo"
KINDS = (START, DONE, SKIP, STANDBY, METER, NOTE, SIGHTED, UNDO)
SHORTEST_WALK_M = 40.0  # a shorter way says more of packing than of walking; common practice, no source
SLOWEST_M_S, FASTEST_M_S = 0.2, 3.0  # what a shoot takes as a pace
MOST_STOPS = 5.0  # a reading farther off than that is a slip of the finger; common practice, no source


@dataclass(frozen=True)
class Happened:
    """One thing that happened, as a device told it.

    Attributes
    ----------
    uid : str
        Made by the device.
    slot : str
        The wish's id.
    kind : str
        One of ``KINDS``.
    at_utc_s, received_utc_s : float
        By the device's clock, and by the server's when it came. [s since 1970 UTC]
    told : mapping
        What belongs to its kind: of a meter ``stops`` over what was reckoned with ``base_stops``
        of correction, ``text`` of a note, ``spot`` and ``name`` of a standby, ``of`` of an undoing.
    device : str
    """

    uid: str
    slot: str
    kind: str
    at_utc_s: float
    told: Mapping[str, Any] = field(default_factory=dict)
    device: str = ""
    received_utc_s: float = 0.0


@dataclass(frozen=True)
class SlotLog:
    """What became of one slot. [s since 1970 UTC]

    Attributes
    ----------
    wish_id : str
    started_utc_s, ended_utc_s : float, optional
        The first start and the last end told.
    outcome : str
        “done”, “skip”, “start” while it goes on, or empty.
    standbys : tuple of str
        Where they went instead, in the order they did.
    readings_stops : tuple of float
        By how much a meter found it brighter than an uncorrected sum. [stop]
    notes : tuple of str
    clashes : tuple of str
        Where two devices told different things, in words.
    """

    wish_id: str
    started_utc_s: float | None = None
    ended_utc_s: float | None = None
    outcome: str = ""
    standbys: tuple[str, ...] = ()
    readings_stops: tuple[float, ...] = ()
    notes: tuple[str, ...] = ()
    clashes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Pace:
    """How fast people walked from slot to slot: the middle of all ways, and of how many. [m/s]"""

    m_s: float
    ways: int


def standing(entries: Iterable[Happened]) -> tuple[Happened, ...]:
    """Return what still counts, in time order: without what was taken back, and the taking back itself."""
    known = sorted(entries, key=lambda one: (one.at_utc_s, one.uid))
    undone = {one.told.get("of") for one in known if one.kind == UNDO}
    return tuple(one for one in known if one.kind != UNDO and one.uid not in undone)


def slot_log(entries: Iterable[Happened], wish_id: str) -> SlotLog:
    """Return what became of one slot.

    Parameters
    ----------
    entries : iterable of Happened
        Of the whole shoot, in any order.
    wish_id : str
        A wish nobody told anything of gets an empty log.
    """
    mine = [one for one in standing(entries) if one.slot == wish_id]
    starts = [one.at_utc_s for one in mine if one.kind == START]
    ends = [one for one in mine if one.kind in (DONE, SKIP)]
    return SlotLog(
        wish_id,
        started_utc_s=min(starts, default=None),
        ended_utc_s=ends[-1].at_utc_s if ends else None,
        outcome=ends[-1].kind if ends else START if starts else "",
        standbys=tuple(str(one.told.get("name", "")) for one in mine if one.kind == STANDBY),
        readings_stops=tuple(_readings(mine)),
        notes=tuple(str(one.told["text"]) for one in mine if one.kind == NOTE and one.told.get("text")),
        clashes=tuple(_clashes(mine)),
    )


def done_and_skipped(entries: Sequence[Happened], planned: Iterable[str]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return which planned wishes are done, in the order they were, and which are skipped."""
    logs = [slot_log(entries, one) for one in planned]
    done = sorted((one for one in logs if one.outcome == DONE), key=lambda one: one.ended_utc_s or 0.0)
    return tuple(one.wish_id for one in done), tuple(one.wish_id for one in logs if one.outcome == SKIP)


def observed_stops(logs: Iterable[SlotLog]) -> float | None:
    """Return the median of all readings, to the nearest third: the site's whole correction, not one on top of it. [stop]

    None where there is no reading.
    """
    readings = [stops for one in logs for stops in one.readings_stops]
    return round(float(np.median(readings)) * 3) / 3 + 0.0 if readings else None


def observed_pace(order: RunningOrder, entries: Sequence[Happened]) -> Pace | None:
    """Return the median pace of the ways that were walked from one slot to the next; None where nothing tells of it.

    Notes
    -----
    From the end of one slot to the start of the next, less what changing clothes and
    setting up lights was planned to take; straight over the plan, as the running order
    reckons. Who talks on the way walks slowly here: it is the pace to plan with, not that
    of feet. Ways under 40 m, by car, or with a typed time, which counts instead of any
    pace, are left out.
    """
    paces = list(_paces(order, entries))
    return Pace(round(float(np.median(paces)), 2), len(paces)) if paces else None


def late_min(log: SlotLog, planned_utc_s: float) -> int | None:
    """Return how late a slot began, early when negative; None where it never did. [min]"""
    return None if log.started_utc_s is None else round((log.started_utc_s - planned_utc_s) / MINUTE_S)


def _readings(mine: Iterable[Happened]) -> Iterator[float]:
    for one in mine:
        stops, base = one.told.get("stops"), one.told.get("base_stops", 0.0)
        if one.kind == METER and all(isinstance(told, int | float) and abs(told) <= MOST_STOPS for told in (stops, base)):
            yield float(stops) + float(base)


def _clashes(mine: Sequence[Happened]) -> Iterator[str]:
    """Yield two devices' starts of one slot, and a done against a skip; each pair of devices once."""
    told = set()
    for one, other in combinations(mine, 2):
        kinds = frozenset((one.kind, other.kind))
        if one.device != other.device and kinds in ({START}, {DONE, SKIP}):
            told.add((frozenset((one.device, other.device)), kinds, _clash_words(kinds)))
    yield from sorted(words for *_, words in told)


def _clash_words(kinds: frozenset[str]) -> str:
    return "Two devices started it; the first start counts." if kinds == {START} else "One device says done, another skipped; the later one counts."


def _paces(order: RunningOrder, entries: Sequence[Happened]) -> Iterator[float]:
    logs = {one.wish.id: slot_log(entries, one.wish.id) for one in order.light}
    walked = sorted((one for one in logs.values() if one.started_utc_s is not None), key=lambda one: one.started_utc_s)
    for before, after in pairwise(walked):
        if before.outcome != DONE or before.standbys or after.standbys or before.ended_utc_s is None:
            continue
        here, there = order.prospect(before.wish_id), order.prospect(after.wish_id)
        pause_s = MINUTE_S * (there.wish.change_before_min + there.wish.lights_min)
        took_s = after.started_utc_s - before.ended_utc_s - pause_s
        distance_m = _walked_m(order.shoot, here, there)
        if distance_m >= SHORTEST_WALK_M and took_s > 0 and SLOWEST_M_S <= distance_m / took_s <= FASTEST_M_S:
            yield distance_m / took_s


def _walked_m(shoot: Shoot, here: Prospect, there: Prospect) -> float:
    """Return the way over the plan, for the couple or the camera, whoever has the longer one; 0 where no pace counts. [m]"""
    spots = {here.wish.spot, there.wish.spot}
    if here.wish.site != there.wish.site or any({walk.one, walk.other} == spots for walk in shoot.walks):
        return 0.0
    one, two = here.scene.setup, there.scene.setup
    return max(over_ground_m(one.couple_pin, two.couple_pin), over_ground_m(one.camera_pin, two.camera_pin))
