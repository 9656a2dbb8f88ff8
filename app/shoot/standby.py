"""What to do when a slot's light or place fails: a setup near by whose look survives what broke the first."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from app.looks.look import WantedLook
from app.looks.margin import Margin, Scene, fit
from app.looks.water_conditions import water_of
from app.picture.weather import still_to_m_s
from app.shoot.plan import Plan, Slot
from app.shoot.prospect import MINUTE_S, Prospect, looks_wanted
from app.shoot.shoot import Shoot, Wish, spot_of
from app.shoot.walking import leg, over_ground_m
from app.shoot.words import clock

WIND, CLOUD, BATHERS, CROWD, LOST = "wind", "cloud", "people in the water", "crowd", "lost light"
TRIED_WIND_M_S = 8.0  # a fresh breeze begins here: Beaufort 5, WMO-No. 306, code table 1100
NEAR_MIN, CROWD_M, LATE_MIN = 10, 50.0, 20  # common practice, no source
GOOD_FIT = 0.1  # a standby's mean fit, at least; common practice, no source
NEEDS_SUN = ("backlit", "custom", "glitter", "hidden sun", "mirror", "side light", "sun in frame")
SPARE_LOOKS = ("open shade", "double")  # tried where no look of a setup's own survives
NEEDS_BRIGHT_SKY = ("afterglow", "silhouette")  # cloud takes the bright place in the sky too

# What breaks a look, the likeliest first. Common practice, no source.
BREAKS: dict[str, tuple[str, ...]] = {
    "afterglow": (CLOUD, CROWD),
    "backlit": (CLOUD, LOST, CROWD),
    "custom": (CLOUD, LOST, CROWD),
    "double": (WIND, BATHERS, CROWD),
    "glitter": (CLOUD, WIND, LOST, CROWD),
    "hidden sun": (CLOUD, LOST, CROWD),
    "mirror": (WIND, BATHERS, CLOUD, LOST, CROWD),
    "open shade": (CROWD, LOST),
    "side light": (CLOUD, LOST, CROWD),
    "silhouette": (CLOUD, CROWD),
    "sun in frame": (CLOUD, LOST, CROWD),
}


@dataclass(frozen=True)
class Standby:
    """What takes a slot when something breaks its first choice.

    Attributes
    ----------
    wish_id : str
        Whose slot it is.
    trouble : str
        One of ``WIND``, ``CLOUD``, ``BATHERS``, ``CROWD``, ``LOST``.
    trigger : str
        When to go, in words.
    spot : str
        The standby's site and setup, “site/setup”.
    name, look : str
        The setup's name, and which look holds then.
    own_look : bool
        Whether that is one of the setup's own looks.
    cost_min : int
        What getting there takes of the slot. [min]
    fit : float
        The mean fit in what is left of the slot, the trouble counted, 0..1.
    named : bool
        Whether somebody named it in the wish or the setup; else it is proposed.
    words : str
    """

    wish_id: str
    trouble: str
    trigger: str
    spot: str
    name: str
    look: str
    own_look: bool
    cost_min: int
    fit: float
    named: bool
    words: str


@dataclass(frozen=True)
class _Around:
    """What a standby is chosen from: all setups, the looks that wishes ask of each spot, and when its slots begin, in words."""

    shoot: Shoot
    candidates: Mapping[tuple[str, str], Scene]
    asked: Mapping[str, Sequence[WantedLook]]
    begins: Mapping[str, Sequence[str]]


@dataclass(frozen=True)
class NoStandby:
    """That nothing near by survives a trouble, or that a named standby would fail too, in words."""

    wish_id: str
    trouble: str
    trigger: str
    words: str


def standbys(
    shoot: Shoot, light: Sequence[Prospect], plan: Plan, candidates: Mapping[tuple[str, str], Scene]
) -> tuple[Standby | NoStandby, ...]:
    """Return for each slot and each trouble that breaks its look what to do instead, likeliest trouble first.

    ``candidates`` are scenes of setups by site's address and setup's id, those of the
    wishes among them or not. A named standby that survives goes first, then a setup with a
    look of its own that does; of these the one with the most light left in the slot, then the nearest, then by its id.
    """
    offered, asked, begins = {one.wish.id: one for one in light}, {}, {}
    for one in light:
        asked.setdefault(one.wish.spot, []).extend(one.looks)
    for slot in plan.slots:
        begins.setdefault(offered[slot.wish_id].wish.spot, []).append(clock(shoot, slot.starts_utc_s))
    around = _Around(shoot, candidates, asked, begins)
    return tuple(
        _for_trouble(around, offered[slot.wish_id], slot, trouble)
        for slot in plan.slots
        for trouble in troubles_of(offered[slot.wish_id], slot)
    )


def answers(found: Sequence[Standby | NoStandby]) -> tuple[str, ...]:
    """Return in words what to do in each trouble of one slot; troubles with one answer share a sentence."""
    triggers: dict[str, list[str]] = {}
    for one in found:
        triggers.setdefault(one.words.removeprefix(f"{one.trigger}: "), []).append(one.trigger)
    return tuple(f"{'; or '.join([first, *map(_uncapitalised, more)])}: {words}" for words, (first, *more) in triggers.items())


def _uncapitalised(trigger: str) -> str:
    return trigger[:1].lower() + trigger[1:]


def troubles_of(one: Prospect, slot: Slot) -> tuple[str, ...]:
    """Return what breaks the look that a slot is there for, the likeliest first; a crowd where it has none."""
    look = best_look(one.looks, one.scene, slot)
    return BREAKS.get(look.name, (CLOUD, CROWD)) if look else (CROWD,)


def best_look(looks: Sequence[WantedLook], scene: Scene, slot: Slot) -> WantedLook | None:
    """Return the look with the highest mean fit over a slot, the first of equal ones."""
    return max(looks, key=lambda look: _mean_fit(look.margins(scene), scene, slot.starts_utc_s, slot.ends_utc_s), default=None)


def survives(look: WantedLook, scene: Scene, trouble: str, start_utc_s: float, end_utc_s: float) -> float:
    """Return the mean fit of a look over a time while something troubles it, 0 where it fails for sure."""
    if trouble == CLOUD and look.name in (*NEEDS_SUN, *NEEDS_BRIGHT_SKY):
        return 0.0
    late_s = LATE_MIN * MINUTE_S if trouble == LOST else 0.0
    troubled = replace(scene, weather=_TROUBLED.get(trouble, lambda weather: weather)(scene.weather))
    margins = look.margins(troubled)
    if trouble == CLOUD:  # under cloud everybody is in the shade
        margins = tuple(margin for margin in margins if margin.name != "the couple in the shade")
    return _mean_fit(margins, troubled, start_utc_s + late_s, end_utc_s + late_s)


_TROUBLED: dict[str, Callable] = {
    WIND: lambda weather: replace(weather, wind_m_s=TRIED_WIND_M_S),
    BATHERS: lambda weather: replace(weather, people_in_water=True),
}


def _for_trouble(around: _Around, one: Prospect, slot: Slot, trouble: str) -> Standby | NoStandby:
    trigger, named, candidates = _trigger(one, trouble), _named(one), around.candidates
    near = [
        found
        for key, scene in sorted(candidates.items(), key=lambda item: item[0])
        if (found := _tried(around, one, slot, trouble, key, scene, key == named))
    ]
    if near:
        best = min(near, key=lambda found: (not found.named, not found.own_look, -_light_left(found, slot), found.cost_min, found.spot))
        begins = around.begins.get(best.spot, ())
        return replace(best, words=f"{best.words} It is planned for {' and '.join(begins)} as well.") if begins else best
    words = f"{trigger}: nothing within {NEAR_MIN} min survives that."
    if named and named in candidates:
        words = f"{trigger}: “{candidates[named].setup.name}”, which you named, would fail too or is too far, and so would all near by."
    return NoStandby(slot.wish_id, trouble, trigger, words)


def _named(one: Prospect) -> tuple[str, str] | None:
    setup = one.wish.standby or one.scene.setup.standby
    return (one.wish.site, setup) if setup else None


def _tried(
    around: _Around, one: Prospect, slot: Slot, trouble: str, key: tuple[str, str], scene: Scene, named: bool
) -> Standby | None:
    """Return a standby if a setup will do: near enough, another one, with a look that survives."""
    here, there = (one.wish.site, one.scene), (key[0], scene)
    walk = leg(around.shoot, here, there)
    if spot_of(*key) == one.wish.spot or walk.minutes > min(NEAR_MIN, slot.minutes - 1) or walk.loud:
        return None
    if trouble == CROWD and _apart_m(one.scene, scene) < CROWD_M:
        return None
    start = slot.starts_utc_s + MINUTE_S * walk.minutes
    best = _best_surviving(key, scene, around.asked.get(spot_of(*key), ()), trouble, start, slot.ends_utc_s)
    if best is None:
        return None
    look, own, fits = best
    trigger, name = _trigger(one, trouble), scene.setup.name
    words = f"{trigger}: go to “{name}” for {look}{'' if own else ', which is none of its looks'}; it costs {walk.words}."
    return Standby(slot.wish_id, trouble, trigger, spot_of(*key), name, look, own, walk.minutes, fits, named, words)


def _best_surviving(
    key: tuple[str, str], scene: Scene, asked: Sequence[WantedLook], trouble: str, start_utc_s: float, end_utc_s: float
) -> tuple[str, bool, float] | None:
    """Return the look of the setup, or asked of it, that survives best, else a spare look, whether it is its own, and its fit."""
    own = (*looks_wanted(Wish("standby", *key), scene), *asked)
    spare = looks_wanted(Wish("standby", *key, looks=SPARE_LOOKS), scene)
    for looks in (own, spare):
        fits = {look.name: survives(look, scene, trouble, start_utc_s, end_utc_s) for look in looks}
        look = max(fits, key=fits.get, default=None)
        if look is not None and fits[look] >= GOOD_FIT:
            return look, looks is own, fits[look]
    return None


def _trigger(one: Prospect, trouble: str) -> str:
    """Say when to give the first choice up."""
    mirror = water_of(one.scene) if trouble == WIND else None
    breaks = f"Wind over {still_to_m_s(mirror.water):g} m/s" if mirror else "Wind"
    return {
        WIND: f"{breaks}, ripples on the water",
        CLOUD: "Cloud before the sun that will not leave in 5 min",
        BATHERS: "People in the water",
        CROWD: "People in the picture who will not leave in 5 min",
        LOST: f"{LATE_MIN} min late",
    }[trouble]


def _light_left(found: Standby, slot: Slot) -> float:
    return found.fit * (slot.minutes - found.cost_min)


def _apart_m(one: Scene, other: Scene) -> float:
    return over_ground_m(one.setup.couple_pin, other.setup.couple_pin)


def _mean_fit(margins: tuple[Margin, ...], scene: Scene, start_utc_s: float, end_utc_s: float) -> float:
    middles = np.arange(start_utc_s + MINUTE_S / 2, end_utc_s, MINUTE_S)
    return float(np.maximum(fit(margins, scene.observer.sun_at(middles)), 0.0).mean()) if middles.size else 0.0
