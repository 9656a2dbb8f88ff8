"""The field page of a shoot: all that a phone needs on site, worked out while there is signal."""

import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

from app.looks.margin import Scene
from app.picture.weather import Weather
from app.place.geodesy import inverse
from app.place.site import Pin
from app.shoot.log import Happened, SlotLog, done_and_skipped, slot_log
from app.shoot.plan import Slot
from app.shoot.prospect import MINUTE_S, Prospect, looks_wanted
from app.shoot.shoot import Wish
from app.shoot.standby import NoStandby, Standby, answers
from app.shoot.walking import leg, leg_from_meeting
from app.shoot.words import clock
from app.storage.shoot_book import LogEntry
from app.web.field_sky import compass, offsets, sun_table
from app.web.field_stands import LEAST_STOPS, Stand, stand_for
from app.web.kept_files import KEPT
from app.web.mornings import MorningDesk, part_of
from app.web.shoots import OpenShoot
from app.web.skies import POINTS

AROUND_S = 5400.0  # how long before and after the shoot the sun is told


@dataclass(frozen=True, eq=False)
class FieldSlot:
    """One slot of the field page.

    Attributes
    ----------
    slot : Slot
    one : Prospect
    number : int
        Counted from 1.
    span, way, leave : str
        From when to when, the walk to it, and by when to go there.
    windows : tuple of str
        When its looks hold, and what closes each.
    standbys : tuple of Standby or NoStandby
    stands : tuple of Stand
        Its own place, then its standbys'.
    log : SlotLog
    data : dict
        The same for the script.
    """

    slot: Slot
    one: Prospect
    number: int
    span: str
    way: str
    leave: str
    windows: tuple[str, ...]
    standbys: tuple[Standby | NoStandby, ...]
    stands: tuple[Stand, ...]
    log: SlotLog
    data: dict[str, Any]

    @property
    def answers(self) -> tuple[str, ...]:
        """What to do in each trouble, in words."""
        return answers(self.standbys)


@dataclass(frozen=True, eq=False)
class FieldPage:
    """All that field.html may use. ``again`` fills the form that solves the rest anew; ``data`` is for the script."""

    template: ClassVar[str] = "field.html"
    opened: OpenShoot
    slots: tuple[FieldSlot, ...]
    weather: tuple[str, ...]
    again: tuple[tuple[str, str], ...]
    data: dict[str, Any]
    version: str

    @property
    def scripts(self) -> tuple[str, ...]:
        """The scripts that a phone keeps, by their names."""
        return tuple(name for name in KEPT if name.startswith("js/"))


def field_page(opened: OpenShoot, desk: MorningDesk, entries: Sequence[LogEntry], now_utc_s: float, version: str) -> FieldPage:
    """Return the field page of a shoot, from what is kept of its weather and its log; without slots where there is no order."""
    happened = tuple(map(as_happened, entries))
    known = _Known(opened, desk, now_utc_s)
    slots = tuple(_slots(known, happened))
    planned = [one.slot.wish_id for one in slots]
    again = again_query(opened, happened, planned, now_utc_s)
    return FieldPage(opened, slots, tuple(known.words()), again, _data(known, slots, entries, now_utc_s), version)


def as_happened(entry: LogEntry) -> Happened:
    """Return a kept entry as the core reads it."""
    return Happened(entry.uid, entry.slot, entry.kind, entry.at_utc_s, entry.told, entry.device, entry.received_utc_s)


def entry_data(entry: LogEntry) -> dict[str, Any]:
    """Return a kept entry as a device sends it."""
    return {"uid": entry.uid, "slot": entry.slot, "kind": entry.kind, "at_utc_s": entry.at_utc_s, "told": entry.told, "device": entry.device}


def again_query(opened: OpenShoot, happened: Sequence[Happened], planned: Sequence[str], now_utc_s: float) -> tuple[tuple[str, str], ...]:
    """Return what the page that solves again is asked with: from when on, held within the people's time, and what is done or skipped."""
    done, skipped = done_and_skipped(happened, planned)
    states = [*((one, "done") for one in done), *((one, "skipped") for one in skipped)]
    starts_utc_s, ends_utc_s = _open_span(opened)
    return (("at", clock(opened.shoot, min(max(now_utc_s, starts_utc_s), ends_utc_s))), *((f"state-{one}", state) for one, state in states))


def _open_span(opened: OpenShoot) -> tuple[float, float]:
    """Return from when to when the people have time, first to last. [s since 1970 UTC]"""
    times = opened.shoot.open_time
    return times[0].starts_utc_s, times[-1].ends_utc_s


def plan_sign(opened: OpenShoot) -> str:
    """Return a text that is the same only for the same slots at the same times."""
    slots = opened.order.plan.slots if opened.order.plan else ()
    told = ",".join(f"{slot.wish_id}@{round(slot.starts_utc_s)}-{round(slot.ends_utc_s)}" for slot in slots)
    return hashlib.sha256(told.encode()).hexdigest()[:16]


class _Known:
    """A shoot with the wind and cloud that are kept for its slots."""

    def __init__(self, opened: OpenShoot, desk: MorningDesk, now_utc_s: float) -> None:
        self.opened, plan = opened, opened.order.plan
        part = part_of(opened) if plan and plan.slots else "evening"
        self.days = {site: desk.weather.day(kept, opened.shoot.day, part, now_utc_s) for site, kept in opened.sites.items()}

    def scene(self, site: str, setup: str, utc_s: float) -> tuple[Scene, float | None]:
        """Return a setup's scene in the wind of a moment, and the cloud then, None where nobody knows. [0..1]"""
        weather = self.days[site].weather
        hour = weather.at(utc_s)
        return self.opened.scene(site, setup, weather.on_water(hour) if hour else Weather()), hour.cloud if hour else None

    def words(self) -> Iterator[str]:
        """Yield whose weather frames and settings are reckoned with."""
        for site, day in self.days.items():
            name = f"{self.opened.sites[site].site.name}: " if len(self.days) > 1 else ""
            yield name + (" ".join(day.sources) or "no weather is known: frames are drawn in still air, settings are for a clear sky.")


def _slots(known: _Known, happened: Sequence[Happened]) -> Iterator[FieldSlot]:
    opened = known.opened
    order = opened.order
    slots = order.plan.slots if order.plan else ()
    for number, slot in enumerate(slots, 1):
        one, way = order.prospect(slot.wish_id), order.legs[number - 1]
        spares = tuple(spare for spare in opened.standbys if spare.wish_id == slot.wish_id)
        stands = tuple(_stands(known, number, one, slot, spares))
        ready_s = slot.starts_utc_s - MINUTE_S * (one.wish.change_before_min + one.wish.lights_min)
        log = slot_log(happened, slot.wish_id)
        yield FieldSlot(
            slot, one, number, f"{clock(opened.shoot, slot.starts_utc_s)}–{clock(opened.shoot, slot.ends_utc_s)}",
            _way(opened, slots[number - 2].wish_id if number > 1 else "", slot.wish_id),
            clock(opened.shoot, ready_s - MINUTE_S * way.minutes), tuple(_windows(opened, one)), spares, stands, log,
            _slot_data(opened, one, slot, spares, stands, ready_s),
        )  # fmt: skip


def _stands(known: _Known, number: int, one: Prospect, slot: Slot, spares: Sequence[Standby | NoStandby]) -> Iterator[Stand]:
    spots = dict.fromkeys([one.wish.spot, *(spare.spot for spare in spares if isinstance(spare, Standby))])
    span = slot.starts_utc_s, slot.ends_utc_s
    for place, spot in enumerate(spots):
        site, setup = spot.split("/", 1)
        scene, cover = known.scene(site, setup, sum(span) / 2)
        looks = one.looks if place == 0 else _spare_looks(spot, scene, spares)
        yield stand_for(f"{number}-{place}", scene, known.opened.sites[site], looks, span, cover)


def _spare_looks(spot: str, scene: Scene, spares: Sequence[Standby | NoStandby]):
    """Return the looks that a standby is there for."""
    names = dict.fromkeys(spare.look for spare in spares if isinstance(spare, Standby) and spare.spot == spot)
    return looks_wanted(Wish("standby", *spot.split("/", 1), looks=tuple(names)), scene)


def _windows(opened: OpenShoot, one: Prospect) -> Iterator[str]:
    for name, window in one.windows:
        if window.minutes >= 1:
            yield f"{name} {clock(opened.shoot, window.opens_utc_s)}–{clock(opened.shoot, window.closes_utc_s)}, {window.closes_because}"


def _way(opened: OpenShoot, before: str, wish_id: str) -> str:
    """Return the walk to a slot from the one before or, with none, from the meeting point: minutes, and where to."""
    order = opened.order
    there = order.prospect(wish_id)
    if not before:
        way, pin = leg_from_meeting(opened.shoot, there.wish, there.scene), opened.shoot.meeting.pin
        return f"from the meeting point: {way.words}" + (_towards(pin, there, way.words) if pin else "")
    here = order.prospect(before)
    way = leg(opened.shoot, (here.wish.site, here.scene), (there.wish.site, there.scene))
    return way.words if way.words == "same spot" else way.words + _towards(here.scene.setup.couple_pin, there, way.words)


def _towards(pin: Pin, there: Prospect, told: str) -> str:
    """Return where to go: “, 70 m towards the north-west (312°)”, the distance unless it is told; nothing for a step or two."""
    other = there.scene.setup.couple_pin
    way = inverse(pin.lat_deg, pin.lon_deg, other.lat_deg, other.lon_deg)
    if way.distance_m < 5.0:
        return ""
    point = POINTS[round(way.bearing_deg / 45.0) % 8]
    far = "" if "straight" in told else f"{way.distance_m:.0f} m straight "
    return f", {far}towards the {point} ({way.bearing_deg:.0f}°)"


def _slot_data(
    opened: OpenShoot, one: Prospect, slot: Slot, spares: Sequence[Standby | NoStandby], stands: Sequence[Stand], ready_s: float
) -> dict[str, Any]:
    plan = opened.order.plan
    before = ["", *(other for other in plan.order if other != slot.wish_id)] if plan else []
    return {
        "id": slot.wish_id,
        "called": one.called,
        "site_name": opened.sites[one.wish.site].site.name,
        "starts": slot.starts_utc_s,
        "ends": slot.ends_utc_s,
        "ready": ready_s,
        "ways": {other: _way(opened, other, slot.wish_id) for other in before},
        "walk_min": {other: _walk_min(opened, other, one) for other in before},
        "windows": [
            [name, round(window.opens_utc_s), round(window.closes_utc_s), window.closes_because, round(window.best_utc_s)]
            for name, window in one.windows
            if window.minutes >= 1
        ],
        "standbys": [_spare_data(spare, stands) for spare in spares if isinstance(spare, Standby)],
        "stands": [dict(stand.data) for stand in stands],
    }


def _walk_min(opened: OpenShoot, before: str, there: Prospect) -> int:
    if not before:
        return leg_from_meeting(opened.shoot, there.wish, there.scene).minutes
    here = opened.order.prospect(before)
    return leg(opened.shoot, (here.wish.site, here.scene), (there.wish.site, there.scene)).minutes


def _spare_data(spare: Standby, stands: Sequence[Stand]) -> dict[str, Any]:
    site, setup = spare.spot.split("/", 1)
    place = next(n for n, stand in enumerate(stands) if stand.kept.slug == site and stand.scene.setup.id == setup)
    return {"trigger": spare.trigger, "spot": spare.spot, "name": spare.name, "look": spare.look, "cost_min": spare.cost_min, "words": spare.words, "stand": place}


def _data(known: _Known, slots: Sequence[FieldSlot], entries: Sequence[LogEntry], now_utc_s: float) -> dict[str, Any]:
    opened = known.opened
    span = _span(slots, now_utc_s)
    sites = {stand.kept.slug: stand for slot in slots for stand in slot.stands}
    return {
        "shoot": opened.slug,
        "name": opened.whole.name,
        "zone": opened.shoot.zone,
        "day": opened.shoot.day.isoformat(),
        "open": list(_open_span(opened)),
        "made": now_utc_s,
        "plan": plan_sign(opened),
        "offsets": offsets(opened.shoot.zone, *span, now_utc_s),
        "least_third": round(LEAST_STOPS * 3),
        "suns": {slug: sun_table(stand.scene, *span) for slug, stand in sites.items()},
        "compass": {slug: compass(opened.sites[slug].site, opened.shoot.day) for slug in sites},
        "slots": [slot.data for slot in slots],
        "log": [entry_data(entry) for entry in entries],
    }


def _span(slots: Sequence[FieldSlot], now_utc_s: float) -> tuple[float, float]:
    if not slots:
        return now_utc_s, now_utc_s
    return slots[0].slot.starts_utc_s - AROUND_S, max(one.slot.ends_utc_s for one in slots) + AROUND_S
