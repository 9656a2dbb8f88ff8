"""The morning check: a running order held against the weather of its day, slot by slot, with what decides each."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from app.light.stops import stops_words
from app.looks.margin import Scene
from app.shoot.morning_light import LIGHT, SlotLight, SlotPlan, slot_light
from app.shoot.morning_margins import (
    CLOTH,
    RAIN,
    STANDS,
    STANDS_M_S,
    TIGHT,
    DayMargin,
    day_margins,
    hour_words,
    missing_for,
)
from app.shoot.morning_spare import Spare, spare_for
from app.shoot.morning_sun import LowSun
from app.shoot.morning_weather import SiteWeather
from app.shoot.morning_window import window_words
from app.shoot.plan import Plan, Slot
from app.shoot.prospect import Prospect
from app.shoot.shoot import Shoot
from app.shoot.standby import CLOUD, NoStandby, Standby, best_look
from app.shoot.words import clock_at
from app.units import listed

HOLDS, CHANGE, STANDBY, UNKNOWN = "stands", "stands with a change", "use the standby", "weather not known"
WEIGHT_FROM_M_S = 5.5  # where Beaufort 4, which moves small branches, ends nearly: WMO-No. 306, code table 1100

Candidates = Mapping[tuple[str, str], Scene]
CHANGES = {
    RAIN: "bring umbrellas and cover for the kit",
    STANDS: "take the light off its stand, or have it held and weighed down",
    CLOTH: "let veil and hair go with the wind, or turn the couple's backs to it",
    LIGHT: "open up, bring a faster lens, or move the light nearer",
    CLOUD: "wait for a gap, the standby in reach",
}  # fmt: skip


@dataclass(frozen=True)
class SlotCheck:
    """One slot on this day.

    Attributes
    ----------
    wish_id, called, spot, look : str
        Whose slot it is, where, and for which look; an empty look where the setup asks for none.
    starts_utc_s, ends_utc_s : float
        [s since 1970 UTC]
    verdict : str
        One of ``HOLDS``, ``CHANGE``, ``STANDBY``, ``UNKNOWN``.
    reason : str
        The margin that decides, in a sentence.
    margins : tuple of DayMargin
        All there are, the least first.
    changes : tuple of str
        What to do otherwise than planned.
    weather : str
        What is known of the slot's middle.
    window : str
        The look's window in the air of the day.
    light : SlotLight, optional
        What to set.
    light_trouble : str
        Why nothing can be said of the light.
    standby : Standby, optional
        What takes the slot, where the verdict says so and something survives the day.
    """

    wish_id: str
    called: str
    spot: str
    look: str
    starts_utc_s: float
    ends_utc_s: float
    verdict: str
    reason: str
    margins: tuple[DayMargin, ...]
    changes: tuple[str, ...]
    weather: str
    window: str
    light: SlotLight | None
    light_trouble: str
    standby: Standby | None

    @property
    def title(self) -> str:
        """Its name with its look, told once where the name holds it."""
        return self.called if not self.look or self.look in self.called.lower() else f"{self.called}, {self.look}"


@dataclass(frozen=True)
class MorningCheck:
    """The whole plan on this day; ``suns`` has a site's sunset or sunrise by its address, ``bring`` what to take along, ``tell`` what to say to people, ``lit`` whether a slot has lights."""

    checked_utc_s: float
    slots: tuple[SlotCheck, ...]
    suns: Mapping[str, LowSun]
    bring: tuple[str, ...]
    tell: tuple[str, ...]
    lit: bool

    @property
    def headline(self) -> str:
        """The answer in one sentence."""
        if self.slots and all(one.verdict == UNKNOWN for one in self.slots):
            return "No slot is checked: the weather that they depend on is not known."
        counts = [(sum(one.verdict == verdict for one in self.slots), words) for verdict, words in _COUNTED]
        told = [f"{count} of {len(self.slots)} {words}" for count, words in counts if count]
        return f"{', '.join(told) or 'There is no slot to check'}."


_COUNTED = ((HOLDS, "stand"), (CHANGE, "stand with a change"), (STANDBY, "need the standby"), (UNKNOWN, "not checked for lack of weather"))


def morning_check(
    shoot: Shoot,
    plan: Plan,
    light: Sequence[Prospect],
    spare: Sequence[Standby | NoStandby],
    candidates: Candidates,
    days: Mapping[str, SiteWeather],
    lights: Mapping[str, SlotPlan],
    suns: Mapping[str, LowSun],
    checked_utc_s: float,
) -> MorningCheck:
    """Return what becomes of a running order in the weather of its day.

    Parameters
    ----------
    shoot, plan, light
        As ``running_order`` gives them; the scenes in ``light`` know no weather.
    spare : sequence
        The slots' standbys, as ``standbys`` gives them.
    candidates : mapping
        The scenes these were chosen from, by site's address and setup's id.
    days : mapping
        The weather by site's address; a site left out is not known.
    lights : mapping
        The slots' lights by the wish's id.
    suns : mapping
        By site's address.
    checked_utc_s : float
        [s since 1970 UTC]
    """
    offered = {one.wish.id: one for one in light}
    slots = tuple(
        _slot_check(
            shoot, offered[slot.wish_id], slot, days.get(offered[slot.wish_id].wish.site, SiteWeather()),
            lights.get(slot.wish_id), [one for one in spare if isinstance(one, Standby) and one.wish_id == slot.wish_id], candidates,
        )
        for slot in plan.slots
    )  # fmt: skip
    gusts = [_strongest(days.get(offered[slot.wish_id].wish.site, SiteWeather()), slot) for slot in plan.slots]
    lit = [bool(offered[slot.wish_id].scene.setup.lights) for slot in plan.slots]
    return MorningCheck(checked_utc_s, slots, dict(suns), tuple(_bring(slots, gusts, lit)), tuple(_tell(slots)), any(lit))


def _slot_check(
    shoot: Shoot, one: Prospect, slot: Slot, weather: SiteWeather, lights: SlotPlan | None, spare: Sequence[Standby], candidates: Candidates
) -> SlotCheck:
    look = best_look(one.looks, one.scene, slot)
    middle = weather.at((slot.starts_utc_s + slot.ends_utc_s) / 2)
    found = slot_light(one.scene, lights, slot.starts_utc_s, slot.ends_utc_s, middle and middle.cloud) if lights else None
    day = day_margins(look, one.scene, weather, slot.starts_utc_s, slot.ends_utc_s)
    margins = tuple(sorted((*day, *(found.margins() if found else ())), key=lambda margin: (margin.value, margin.soft)))
    missing = missing_for(look, day)
    verdict = _verdict(margins, bool(day) and not missing)
    held = spare_for(spare, slot, weather, candidates) if verdict == STANDBY else None
    return SlotCheck(
        wish_id=slot.wish_id,
        called=one.called,
        spot=one.wish.spot,
        look=look.name if look else "",
        starts_utc_s=slot.starts_utc_s,
        ends_utc_s=slot.ends_utc_s,
        verdict=verdict,
        reason=_reason(shoot, one, verdict, margins, missing, middle is not None),
        margins=margins,
        changes=tuple(_changes(shoot, one, margins, spare, held, verdict)),
        weather=hour_words(middle, weather.seen),
        window=window_words(shoot, one, look, slot, middle),
        light=found,
        light_trouble=(lights.trouble or "A light or a face of this setup cannot be used.") if lights and not found else "",
        standby=held.standby if held else None,
    )


def _verdict(margins: Sequence[DayMargin], known: bool) -> str:
    if any(one.fails and not one.soft for one in margins):
        return STANDBY
    if not known:
        return UNKNOWN
    if any(one.fails if one.soft else one.value < TIGHT for one in margins):
        return CHANGE
    return HOLDS


def _deciding(verdict: str, margins: Sequence[DayMargin]) -> DayMargin | None:
    """Return the least of the margins that make the verdict."""
    hard = [one for one in margins if not one.soft]
    if verdict == STANDBY:
        return hard[0]
    soft = [one for one in margins if one.soft and (one.fails or verdict == HOLDS)]
    tight = [one for one in hard if one.value < TIGHT or verdict == HOLDS]
    return min((*tight, *soft), key=lambda one: one.value, default=None)


def _reason(shoot: Shoot, one: Prospect, verdict: str, margins: Sequence[DayMargin], missing: Sequence[str], told: bool) -> str:
    if verdict == UNKNOWN:
        unknown = "No weather is known here then" if not told else "Nothing that can break this look is known of the weather"
        if missing:
            unknown = f"{_capital(' and '.join(missing))} {'are' if len(missing) > 1 else 'is'} not known, and this look depends on {'them' if len(missing) > 1 else 'it'}"
        return f"{unknown}; by the sun alone the slot stands."
    deciding = _deciding(verdict, margins)
    if deciding is None:
        return "Nothing that is told of the weather here then can break it."
    at = clock_at(shoot, one, deciding.utc_s)
    if deciding.fails:
        return f"“{_capital(deciding.name)}” fails from {at}: {deciding.told} (margin {_margin_words(deciding.value)}).{_worse(verdict, deciding, margins)}"
    degree = "is tight" if deciding.value < TIGHT else "holds"
    return f"“{_capital(deciding.name)}” {degree}: {deciding.told} at {at} (margin {_margin_words(deciding.value)}; 0 is the edge)."


def _margin_words(value: float) -> str:
    """Return “0.4”, or on which side of the edge it lies where its digits would say none."""
    if abs(value) >= 0.05:
        return f"{value:.1f}"
    return "just under 0" if value < 0 else "just over 0" if value > 0 else "0"


def _worse(verdict: str, deciding: DayMargin, margins: Sequence[DayMargin]) -> str:
    """Say of lower margins why they do not make the verdict."""
    lower = [f"“{_capital(one.name)}” is lower ({_margin_words(one.value)})" for one in margins if one.soft and one.value < deciding.value]
    return f" {listed(lower)}, but would ask for a change only." if verdict == STANDBY and lower else ""


def _changes(
    shoot: Shoot, one: Prospect, margins: Sequence[DayMargin], spare: Sequence[Standby], held: Spare | None, verdict: str
) -> Iterator[str]:
    if held:
        yield _go(shoot, one, held)
        return  # what the place that is left would have asked for is no matter any more
    if verdict == STANDBY:
        yield f"No standby survives this day: {'all those near by fail too' if spare else 'none is near'}."
    for margin in margins:
        words = CHANGES.get(margin.trouble)
        if words and (margin.fails if margin.soft else 0.0 <= margin.value < TIGHT):
            yield f"{_capital(words)} ({margin.told})."


def _capital(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}"


def _go(shoot: Shoot, one: Prospect, held: Spare) -> str:
    """Say which standby to go to, and from when to when it holds in this weather and its light."""
    begins, ends = (clock_at(shoot, one, at) for at in (held.from_utc_s, held.until_utc_s))
    why = f", then: {held.ends_because}" if held.ends_because else ""
    return (
        f"Go to “{held.standby.name}” for {held.standby.look}; it costs {held.standby.cost_min} min of the slot "
        f"and holds in this weather {begins}–{ends}{why}."
    )


def _strongest(weather: SiteWeather, slot: Slot) -> float:
    winds = [wind for hour in weather.through(slot.starts_utc_s, slot.ends_utc_s) for wind in (hour.wind_m_s, hour.gust_m_s) if wind is not None]
    return max(winds, default=0.0)


def _bring(slots: Sequence[SlotCheck], gusts_m_s: Sequence[float], lit: Sequence[bool]) -> Iterator[str]:
    filters = sorted({density for one in slots if one.light for density in one.light.filters})
    if filters:
        where = [one.called for one in slots if one.light and one.light.filters]
        yield f"Grey filters of {', '.join(stops_words(density) for density in filters)}, for {', '.join(f'“{name}”' for name in where)}."
    windy = max((gust for gust, has_lights in zip(gusts_m_s, lit, strict=True) if has_lights), default=0.0)
    if any(lit):
        over = f"{windy:.1f} m/s" if windy else "wind not known"
        heavy = " Take softboxes and umbrellas off them" if windy >= STANDS_M_S else " Two weights a stand" if windy >= WEIGHT_FROM_M_S else ""
        yield f"A weight for every light stand, always (strongest wind or gust in a slot with lights: {over}).{f'{heavy}.' if heavy else ''}"
    if any(margin.trouble == RAIN and margin.value < 1.0 for one in slots for margin in one.margins):
        yield "Cover for people and kit: some rain is forecast in a slot."


def _tell(slots: Sequence[SlotCheck]) -> Iterator[str]:
    for one in slots:
        if one.standby:
            yield f"Tell the couple and the assistant that “{one.called}” moves to “{one.standby.name}”."
