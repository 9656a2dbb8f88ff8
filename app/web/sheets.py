"""The couple's and the crew's sheet of a shoot, made from its running order."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from app.errors import BadInput
from app.light.kit import Kit
from app.place.site import Pin
from app.sharing.sheet import Contact, CoupleSheet, CrewSheet, Meeting, Point, Revision, Stop, Turn
from app.shoot.plan import Slot
from app.shoot.prospect import Prospect
from app.shoot.standby import Standby, answers
from app.shoot.walking import Leg
from app.web.crew_notes import crew_notes, site_cautions
from app.web.drawing.frame_alone import frame_document
from app.web.shoots import OpenShoot

MINUTE_S, DAY_MIN = 60, 24 * 60
ROUNDED_S = 5 * MINUTE_S  # people are asked to be ready at a time that is easily kept

Planned = tuple[Slot, Prospect, Leg]


@dataclass(frozen=True)
class Said:
    """What the photographer says when sharing.

    Attributes
    ----------
    about : mapping of str to str
        A sentence for the couple on a stop, by the wish's id.
    decide_utc_s : float, optional
        By when the photographer decides about the weather. [s since 1970 UTC]
    """

    about: Mapping[str, str] = field(default_factory=dict)
    decide_utc_s: float | None = None


def sheets_of(opened: OpenShoot, said: Said, kit: Kit, revision: Revision, before: CrewSheet | None = None) -> CrewSheet:
    """Return the crew's sheet of a shoot, the couple's within it.

    Parameters
    ----------
    opened : OpenShoot
    said : Said
    kit : Kit
        What lights and settings are reckoned with.
    revision : Revision
    before : CrewSheet, optional
        The revision before: what is on it and no more goes on being named as dropped.

    Raises
    ------
    BadInput
        Where there is no running order.
    """
    slots = _planned(opened)
    couple = _couple(opened, said, slots, revision, before.couple if before else None)
    notes = tuple(crew_notes(opened.sites[one.wish.site], one, slot, kit, _answers(opened, slot)) for slot, one, _ in slots)
    cautions = site_cautions(opened.sites[one.wish.site] for _, one, _ in slots)
    return CrewSheet(couple, notes, opened.telling.crew, tuple(cautions))


def for_couple(sheet: CrewSheet, exact: bool) -> CoupleSheet:
    """Return what a couple is told of it; without ``exact`` no coordinates."""
    couple = sheet.couple
    if exact:
        return couple
    stops, dropped = (tuple(replace(stop, point=None) for stop in each) for each in (couple.stops, couple.dropped))
    return replace(couple, stops=stops, dropped=dropped, meeting=replace(couple.meeting, point=None))


def _planned(opened: OpenShoot) -> tuple[Planned, ...]:
    order = opened.order
    if order.plan is None:
        why = "there are too many setups for one evening" if order.parts else "what must be cannot all be had"
        raise BadInput(f"There is no running order to share: {why}. The shoot's page says what to change.", "shoot")
    return tuple((slot, order.prospect(slot.wish_id), leg) for slot, leg in zip(order.plan.slots, order.legs, strict=True))


def _couple(opened: OpenShoot, said: Said, slots: Sequence[Planned], revision: Revision, before: CoupleSheet | None) -> CoupleSheet:
    shoot, telling = opened.shoot, opened.telling
    stops = tuple(_stop(opened, said, number, slots) for number in range(len(slots)))
    return CoupleSheet(
        id=shoot.id,
        names=shoot.people,
        place=", ".join(_site_names(opened, slots)),
        day=shoot.day,
        zone=shoot.zone,
        revision=revision,
        stops=stops,
        dropped=_dropped(before, {stop.id for stop in stops}),
        ready_utc_s=_ready_utc_s(opened, slots),
        meeting=Meeting(shoot.meeting.words, _point(shoot.meeting.pin)),
        contact=Contact(telling.name, telling.business, telling.phone, telling.email),
        turns=tuple(Turn(*turn) for turn in telling.turns),
        decide_utc_s=said.decide_utc_s,
    )


def _stop(opened: OpenShoot, said: Said, number: int, slots: Sequence[Planned]) -> Stop:
    (slot, one, leg), kept = slots[number], opened.sites[slots[number][1].wish.site]
    wish, names, zone = one.wish, _site_names(opened, slots), kept.site.time_zone
    on_foot = not leg.loud and (number == 0 or slots[number - 1][1].wish.site == wish.site)
    return Stop(
        id=wish.id,
        starts_utc_s=slot.starts_utc_s,
        ends_utc_s=slot.ends_utc_s,
        title=wish.name or one.scene.setup.name,  # without looks, which are the trade's words
        where=kept.site.name if len(names) > 1 else "",
        about=said.about.get(wish.id, ""),
        bring=_bring(opened, number, wish.id),
        standby=_standby(opened, wish.id),
        walk_min=leg.minutes if on_foot and leg.minutes else None,
        point=_point(one.scene.setup.couple_pin),
        zone="" if zone == opened.shoot.zone else zone,
        chosen=_is_chosen(slot, slots),
        frame=frame_document(one.scene, (slot.starts_utc_s + slot.ends_utc_s) / 2, zone),
        way_min=None if on_foot else min(leg.minutes, DAY_MIN),
        change_min=wish.change_before_min or None,
    )


def _bring(opened: OpenShoot, number: int, wish_id: str) -> str:
    """Return what to wear or bring to a stop; what is for the whole evening stands with the first."""
    whole = opened.telling.wear if number == 0 else ""
    return "\n".join(filter(None, (whole, opened.telling.bring.get(wish_id, ""))))


def _standby(opened: OpenShoot, wish_id: str) -> str:
    """Return where they go when the likeliest trouble comes: a name, for the triggers are the crew's."""
    found = (one.name for one in opened.standbys if isinstance(one, Standby) and one.wish_id == wish_id)
    return next(found, "")


def _answers(opened: OpenShoot, slot: Slot) -> tuple[str, ...]:
    return answers([one for one in opened.standbys if one.wish_id == slot.wish_id])


def _is_chosen(slot: Slot, slots: Sequence[Planned]) -> bool:
    """Tell whether one slot weighs more than every other: the picture of the evening."""
    weights = sorted((one.weight for one, _, _ in slots), reverse=True)
    return len(weights) > 1 and slot.weight == weights[0] > weights[1]


def _point(pin: Pin | None) -> Point | None:
    return Point(pin.lat_deg, pin.lon_deg) if pin else None


def _ready_utc_s(opened: OpenShoot, slots: Sequence[Planned]) -> float | None:
    """Return when to be at the meeting point: early enough for the way and the first clothes, to 5 minutes, but not before they are free. [s]"""
    if not slots:
        return None
    slot, one, leg = slots[0]
    latest = slot.starts_utc_s - MINUTE_S * (leg.minutes + one.wish.change_before_min)
    free = next((one.starts_utc_s for one in opened.shoot.open_time if one.starts_utc_s <= latest <= one.ends_utc_s), -math.inf)
    return max(latest // ROUNDED_S * ROUNDED_S, free)


def _dropped(before: CoupleSheet | None, kept: set[str]) -> tuple[Stop, ...]:
    gone = {stop.id: stop for stop in ((*before.dropped, *before.stops) if before else ())}
    return tuple(replace(stop, frame=None) for key, stop in gone.items() if key not in kept)


def _site_names(opened: OpenShoot, slots: Sequence[Planned]) -> tuple[str, ...]:
    """Return the sites of the stops in their order; of all that is wished for while there is no stop."""
    sites = [one.wish.site for _, one, _ in slots] or [wish.site for wish in opened.shoot.wishes]
    return tuple(dict.fromkeys(opened.sites[site].site.name for site in sites))
