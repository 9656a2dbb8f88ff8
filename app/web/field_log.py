"""What devices tell of a shoot's day: read with care, kept once, sighted points put into their site."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

from app.errors import BadInput, Conflict, NotFound
from app.place.sighting_in import with_sighting
from app.place.sitefile import parse_site
from app.shoot.log import (
    KINDS,
    SIGHTED,
    Happened,
    Pace,
    SlotLog,
    late_min,
    observed_pace,
    observed_stops,
    slot_log,
)
from app.shoot.words import clock
from app.storage.shoot_book import LogEntry
from app.storage.store import Store
from app.web.fields import as_happened, entry_data
from app.web.shelf import Shelf
from app.web.shoots import OpenShoot, ShootShelf

MOST_ENTRIES = 500  # in one sending; a phone sends the rest after it
LONGEST_ID, LONGEST_TOLD, MOST_TOLD = 80, 2000, 12
MOST_NUMBER = 1e12  # past the year 30000 in seconds; digits without end are no number of anything
TRIES = 3  # when a site is changed elsewhere at the same moment
AHEAD_S = 400 * 86_400.0  # a device's clock that is farther off is no clock: then the time of coming counts


@dataclass(frozen=True)
class Refused:
    """An entry that cannot be kept, and why."""

    uid: str
    why: str


@dataclass(frozen=True)
class LogRow:
    """One slot of the plan beside what became of it."""

    wish_id: str
    called: str
    planned: str
    happened: str
    late: str
    log: SlotLog


@dataclass(frozen=True)
class Brighter:
    """How much brighter or darker a site was found than an uncorrected sum, and what is kept of that now. [stop]"""

    site: str
    name: str
    found_stops: float
    kept_stops: float
    readings: int


@dataclass(frozen=True)
class LogPage:
    """All that shoot_log.html may use."""

    template: ClassVar[str] = "shoot_log.html"
    opened: OpenShoot
    rows: tuple[LogRow, ...]
    brighter: tuple[Brighter, ...]
    pace: Pace | None
    entries: int
    changed: str = ""


def read_entries(sent: Any, now_utc_s: float) -> tuple[tuple[LogEntry, ...], tuple[Refused, ...]]:
    """Return the entries of a list that a device sent, and those that cannot be kept; ``BadInput`` for no such list."""
    if not isinstance(sent, list) or len(sent) > MOST_ENTRIES:
        raise BadInput(f"The log takes a list of at most {MOST_ENTRIES} entries.")
    good, bad = [], []
    for one in sent:
        try:
            good.append(_entry(one, now_utc_s))
        except BadInput as error:
            bad.append(Refused(str(one.get("uid", ""))[:LONGEST_ID] if isinstance(one, dict) else "", str(error)))
    return tuple(good), tuple(bad)


def keep_entries(shelf: ShootShelf, slug: str, entries: Sequence[LogEntry]) -> tuple[Refused, ...]:
    """Keep what is new; a sighted point goes into its site first, so that none is lost. Return those that no site can take."""
    store = shelf.store
    there = {one.uid for one in store.shoots.log(slug)}
    new = (one for one in entries if one.kind == SIGHTED and one.uid not in there)
    refused = tuple(_sighted(store, new))
    bad = {one.uid for one in refused}
    store.shoots.add_log(slug, [one for one in entries if one.uid not in bad])
    return refused


def answer_of(store: Store, slug: str, sent: Sequence[LogEntry], refused: Sequence[Refused], now_utc_s: float) -> dict[str, Any]:
    """Return what a device is answered: what is kept by now, the whole log, and the server's clock."""
    log = store.shoots.log(slug)
    there = {one.uid for one in log}
    return {
        "now_utc_s": now_utc_s,
        "kept": [one.uid for one in sent if one.uid in there],
        "refused": [{"uid": one.uid, "why": one.why} for one in refused],
        "log": [entry_data(one) for one in log],
    }


def log_page(opened: OpenShoot, entries: Sequence[LogEntry], changed: str = "") -> LogPage:
    """Return a shoot's log against its plan, with what the next plan may learn from it."""
    happened = tuple(map(as_happened, entries))
    plan = opened.order.plan
    slots = plan.slots if plan else ()
    rows = tuple(_row(opened, slot, slot_log(happened, slot.wish_id)) for slot in slots)
    others = tuple(_others(opened, happened, {slot.wish_id for slot in slots}))
    return LogPage(opened, (*rows, *others), tuple(_brighter(opened, happened)), observed_pace(opened.order, happened), len(entries), changed)


def found_stops(opened: OpenShoot, happened: Iterable[Happened], site: str) -> tuple[float | None, int]:
    """Return the correction that readings at one site come to, None without any, and how many there are. [stop]"""
    known = tuple(happened)
    logs = [slot_log(known, wish.id) for wish in opened.whole.wishes if wish.site == site]
    return observed_stops(logs), sum(len(one.readings_stops) for one in logs)


def _entry(one: Any, now_utc_s: float) -> LogEntry:
    if not isinstance(one, Mapping):
        raise BadInput("An entry of the log is an object with uid, slot, kind, at_utc_s, told and device.")
    uid, slot, kind, device = (_name(one.get(key), key) for key in ("uid", "slot", "kind", "device"))
    if kind not in KINDS:
        raise BadInput(f"The log knows {', '.join(KINDS)}; “{kind[:40]}” came.", "kind")
    at = one.get("at_utc_s")
    if not _is_number(at):
        raise BadInput(f"at_utc_s is the time in seconds since 1970; {str(at)[:40]} came.", "at_utc_s")
    told, nonsense = _told(one.get("told", {})), abs(at - now_utc_s) > AHEAD_S
    return LogEntry(uid, slot, kind, now_utc_s if nonsense else float(at), told | ({"clock_utc_s": at} if nonsense else {}), device, now_utc_s)


def _name(value: Any, key: str) -> str:
    if not isinstance(value, str) or not value.strip() or len(value) > LONGEST_ID or not value.isprintable():
        raise BadInput(f"{key} is a text of 1 to {LONGEST_ID} characters.", key)
    return value


def _told(value: Any) -> dict[str, Any]:
    """Return what an entry tells: a few texts and finite numbers, nothing nested."""
    if not isinstance(value, Mapping) or len(value) > MOST_TOLD:
        raise BadInput(f"told is an object of at most {MOST_TOLD} members.", "told")
    for name, one in value.items():
        fine = (isinstance(one, str) and len(one) <= LONGEST_TOLD) or one is None or isinstance(one, bool) or _is_number(one)
        if not fine or len(name) > LONGEST_ID:
            raise BadInput(f"told.{name[:40]} is a text of at most {LONGEST_TOLD} characters or a number.", "told")
    return dict(value)


def _is_number(value: Any) -> bool:
    """Tell whether a value is a number that can be reckoned with: neither yes nor no, and no larger than any time or angle."""
    return isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < MOST_NUMBER


def _sighted(store: Store, entries: Iterable[LogEntry]) -> Iterator[Refused]:
    for one in entries:
        try:
            _into_site(store, one)
        except (BadInput, NotFound) as error:
            yield Refused(one.uid, str(error))


def _into_site(store: Store, one: LogEntry) -> None:
    """Put a sighted point into the survey; the same point twice changes nothing, so a sending repeated does no harm."""
    site, setup = str(one.told.get("site", "")), str(one.told.get("setup", ""))
    bearing, altitude = (_angle(one.told.get(name), name) for name in ("bearing_deg", "altitude_deg"))
    for last in (*(False,) * (TRIES - 1), True):
        kept = Shelf(store).site(site)
        seen = kept.setup(setup)
        document = with_sighting(kept.site, seen.camera_pin, seen.lens_height_m, bearing, altitude)
        try:
            store.save_site(site, parse_site(document).document, kept.version)
            return
        except Conflict:
            if last:
                raise


def _angle(value: Any, name: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise BadInput(f"A sighted point has a {name} in degrees.", name)
    return float(value)


def _row(opened: OpenShoot, slot: Any, log: SlotLog) -> LogRow:
    late = late_min(log, slot.starts_utc_s)
    words = "" if late is None else "on time" if abs(late) < 2 else f"{abs(late)} min {'late' if late > 0 else 'early'}"
    planned = f"{clock(opened.shoot, slot.starts_utc_s)}–{clock(opened.shoot, slot.ends_utc_s)}"
    return LogRow(slot.wish_id, opened.order.prospect(slot.wish_id).called, planned, _happened(opened, log), words, log)


def _others(opened: OpenShoot, happened: Sequence[Happened], planned: set[str]) -> Iterator[LogRow]:
    """Yield what was told of wishes that have no slot any more, in the order it happened."""
    names = {wish.id: wish.called for wish in opened.whole.wishes}
    for wish_id in dict.fromkeys(one.slot for one in happened if one.slot not in planned):
        log = slot_log(happened, wish_id)
        yield LogRow(wish_id, names.get(wish_id, wish_id), "no slot in the order as it is now", _happened(opened, log), "", log)


def _happened(opened: OpenShoot, log: SlotLog) -> str:
    start, end = (None if at is None else clock(opened.shoot, at) for at in (log.started_utc_s, log.ended_utc_s))
    if log.outcome == "skip":
        return f"skipped at {end}" + (f", started {start}" if start else "")
    if log.outcome == "done":
        return f"{start}–{end}" if start else f"done at {end}, no start told"
    return f"{start}, no end told" if start else "nothing told"


def _brighter(opened: OpenShoot, happened: Sequence[Happened]) -> Iterator[Brighter]:
    for slug, kept in opened.sites.items():
        stops, readings = found_stops(opened, happened, slug)
        if stops is not None:
            yield Brighter(slug, kept.site.name, stops, kept.site.observed_stops, readings)
