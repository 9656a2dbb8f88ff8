"""The morning check: a running order held against the weather of its day, slot by slot, with what decides each."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from app.light.stops import stops_words
from app.looks.look import WantedLook
from app.looks.margin import Scene
from app.looks.window import Window, find_windows
from app.picture.forecast import Hour
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
from app.shoot.morning_sun import LowSun
from app.shoot.morning_weather import SiteWeather, in_air
from app.shoot.plan import Plan, Slot
from app.shoot.prospect import Prospect, looks_wanted
from app.shoot.shoot import Shoot, Wish
from app.shoot.standby import CLOUD, NoStandby, Standby, best_look
from app.shoot.words import clock_at
from app.units import listed

HOLDS, CHANGE, STANDBY, UNKNOWN = "stands", "stands with a change", "use the standby", "weather not known"
WINDOW_MOVED_S = 30.0  # less is told as no difference
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


@dataclass(frozen=True)
class MorningCheck:
    """The whole plan on this day; ``suns`` has a site's sunset or sunrise by its address, ``bring`` what to take along, ``lit`` whether a slot has lights."""

    checked_utc_s: float
    slots: tuple[SlotCheck, ...]
    suns: Mapping[str, LowSun]
    bring: tuple[str, ...]
    lit: bool

    @property
    def headline(self) -> str:
        """The answer in one sentence."""
        counts = [(sum(one.verdict == verdict for one in self.slots), words) for verdict, words in _COUNTED]
        told = [f"{count} of {len(self.slots)} {words}" for count, words in counts if count]
        return f"{', '.join(told) or 'There is no slot to check'}."


_COUNTED = ((HOLDS, "stand"), (CHANGE, "stand with a change"), (STANDBY, "need the standby"), (UNKNOWN, "are not checked, the weather not being known"))


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
    return MorningCheck(checked_utc_s, slots, dict(suns), tuple(_bring(slots, gusts, lit)), any(lit))


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
    standby = _survivor(spare, slot, weather, candidates) if verdict == STANDBY else None
    return SlotCheck(
        wish_id=slot.wish_id,
        called=one.called,
        spot=one.wish.spot,
        look=look.name if look else "",
        starts_utc_s=slot.starts_utc_s,
        ends_utc_s=slot.ends_utc_s,
        verdict=verdict,
        reason=_reason(shoot, one, verdict, margins, missing),
        margins=margins,
        changes=tuple(_changes(margins, spare, standby, verdict)),
        weather=hour_words(middle, weather.seen),
        window=_window_words(shoot, one, look, slot, middle),
        light=found,
        light_trouble=(lights.trouble or "A light or a face of this setup cannot be used.") if lights and not found else "",
        standby=standby,
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


def _reason(shoot: Shoot, one: Prospect, verdict: str, margins: Sequence[DayMargin], missing: Sequence[str]) -> str:
    if verdict == UNKNOWN:
        told = f"Nothing is told of {listed(missing)} here then, and the look needs to know" if missing else "Nothing is known of the weather here then"
        return f"{told}; by the sun alone the slot stands."
    deciding = _deciding(verdict, margins)
    if deciding is None:
        return "Nothing that is told of the weather here then can break it."
    at = clock_at(shoot, one, deciding.utc_s)
    if deciding.fails:
        return f"“{_capital(deciding.name)}” fails from {at}: {deciding.told} (margin {deciding.value:.1f})."
    degree = "is tight" if deciding.value < TIGHT else "holds"
    return f"“{_capital(deciding.name)}” {degree}: {deciding.told} at {at} (margin {deciding.value:.1f}; 0 is the edge)."


def _changes(margins: Sequence[DayMargin], spare: Sequence[Standby], standby: Standby | None, verdict: str) -> Iterator[str]:
    if standby:
        yield f"Go to “{standby.name}” for {standby.look}; it costs {standby.cost_min} min of the slot."
    elif verdict == STANDBY:
        yield f"No standby survives this day: {'all those near by fail too' if spare else 'none is near'}."
    for margin in margins:
        words = CHANGES.get(margin.trouble)
        if words and (margin.fails if margin.soft else 0.0 <= margin.value < TIGHT):
            yield f"{_capital(words)} ({margin.told})."


def _capital(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}"


def _survivor(spare: Sequence[Standby], slot: Slot, weather: SiteWeather, candidates: Candidates) -> Standby | None:
    """Return the first standby of a slot that the weather of the day leaves standing."""
    for one in spare:
        site, setup = one.spot.split("/", 1)
        scene = candidates[site, setup]
        (look,) = looks_wanted(Wish("standby", site, setup, looks=(one.look,)), scene)
        margins = day_margins(look, scene, weather, slot.starts_utc_s + 60.0 * one.cost_min, slot.ends_utc_s)
        if not any(margin.fails and not margin.soft for margin in margins):
            return one
    return None


def _window_words(shoot: Shoot, one: Prospect, look: WantedLook | None, slot: Slot, hour: Hour | None) -> str:
    """Return the window that the slot lies in, in the air of the day, and by how much that moves its end."""
    planned = next((window for name, window in one.windows if look and name == look.name and _holds(window, slot)), None)
    if planned is None:
        return "any minute is as good as another" if look is None else "no window of its look holds the middle of the slot"
    scene = in_air(one.scene, hour)
    span = planned.opens_utc_s - 1800.0, planned.closes_utc_s + 1800.0
    now = next((window for window in find_windows(look.margins(scene), scene.observer, *span) if _holds(window, slot)), planned)
    later_s = now.closes_utc_s - planned.closes_utc_s
    moved = f", {abs(later_s):.0f} s {'later' if later_s > 0 else 'earlier'} than planned" if abs(later_s) >= WINDOW_MOVED_S else ""
    opens, closes = clock_at(shoot, one, now.opens_utc_s), clock_at(shoot, one, now.closes_utc_s)
    return f"{look.name} {opens}–{closes}{moved}; closes: {planned.closes_because}"


def _holds(window: Window, slot: Slot) -> bool:
    return window.opens_utc_s <= (slot.starts_utc_s + slot.ends_utc_s) / 2 <= window.closes_utc_s


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
    if any(one.verdict == STANDBY for one in slots):
        yield "Word to the couple and the assistant that a place changes."
