"""A running order solved again for the weather of its day: standbys in their slots, and the least change to the rest."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from app.looks.look import WantedLook
from app.looks.margin import Scene
from app.picture.forecast import HOUR_S
from app.shoot.again import Changed, least_change
from app.shoot.morning import STANDBY, MorningCheck, SlotCheck
from app.shoot.morning_margins import NEEDS_WIND, share_left
from app.shoot.morning_weather import SiteWeather, in_weather
from app.shoot.plan import Plan
from app.shoot.problem import problem_of
from app.shoot.prospect import MINUTE_S, Prospect, fit_by_minute, looks_wanted, span_utc_s
from app.shoot.shoot import Shoot, Wish
from app.units import FloatArray

EVERY_S = HOUR_S / 2  # how often the weather is asked while the order is solved


@dataclass(frozen=True)
class Revised:
    """What is proposed.

    Attributes
    ----------
    shoot : Shoot
        With standbys as the wishes' setups.
    light : tuple of Prospect
        In the weather of the day.
    changed : Changed
        The new plan beside the known one.
    swapped : tuple of str
        Ids of wishes that a standby takes.
    hopeless : tuple of str
        Ids of musts that have no light on this day, and so are not held to.
    """

    shoot: Shoot
    light: tuple[Prospect, ...]
    changed: Changed
    swapped: tuple[str, ...]
    hopeless: tuple[str, ...]

    @property
    def same(self) -> bool:
        """Whether it is what is known already."""
        return not (self.swapped or self.changed.moved or self.changed.dropped or self.changed.added)


def revised(
    shoot: Shoot,
    known: Plan,
    light: Sequence[Prospect],
    check: MorningCheck,
    candidates: Mapping[tuple[str, str], Scene],
    days: Mapping[str, SiteWeather],
) -> Revised | None:
    """Return the order for the weather of the day that changes least; None where not even one without musts is found.

    ``shoot``, ``known`` and ``light`` are as the check got them. A slot whose standby survives the
    day keeps its wish, at the standby's place and for its look; all wishes are worth what
    the weather leaves of their light, minute by minute.
    """
    taken = {one.wish_id: one for one in check.slots if one.standby}
    wishes = tuple(_standing_in(wish, taken.get(wish.id)) for wish in shoot.wishes)
    failing = tuple(one.wish_id for one in check.slots if one.verdict == STANDBY and not one.standby)
    hopeless = tuple(wish.id for wish in wishes if wish.must and wish.id in failing)
    stood_in = replace(shoot, wishes=tuple(replace(wish, must=wish.must and wish.id not in hopeless) for wish in wishes))
    scenes = {one.wish.id: one.scene for one in light}
    scenes |= {wish.id: candidates[wish.site, wish.setup] for wish in wishes if wish.id in taken}
    offered = tuple(_in_weather(stood_in, wish, scenes[wish.id], days.get(wish.site, SiteWeather())) for wish in stood_in.wishes)
    problem = problem_of(stood_in, offered)
    changed = least_change(problem, known)
    if changed is None:
        changed = least_change(problem.with_musts(()), known)
        hopeless = tuple(wish.id for wish in shoot.wishes if wish.must and changed and wish.id not in changed.plan.order)
    return Revised(stood_in, offered, changed, tuple(taken), hopeless) if changed else None


def _standing_in(wish: Wish, check: SlotCheck | None) -> Wish:
    """Return a wish at the place and for the look of its standby; one named by hand keeps its name no longer."""
    if check is None or check.standby is None:
        return wish
    site, setup = check.standby.spot.split("/", 1)
    return replace(wish, site=site, setup=setup, name="", looks=(check.standby.look,), standby=None)


def _in_weather(shoot: Shoot, wish: Wish, scene: Scene, weather: SiteWeather) -> Prospect:
    start, end = span_utc_s(shoot)
    looks = looks_wanted(wish, scene)
    each = [_fit(look, scene, weather, start, end) for look in looks] or [_share(None, weather, start, end)]
    return Prospect(wish, scene, looks, start, np.maximum.reduce(each), (start, end))


def _fit(look: WantedLook, scene: Scene, weather: SiteWeather, start_utc_s: float, end_utc_s: float) -> FloatArray:
    """Return a look's fit by minute in the day's wind, times what cloud, fog and rain leave of it."""
    share = _share(look, weather, start_utc_s, end_utc_s)
    if look.name not in NEEDS_WIND or not weather.known:
        return fit_by_minute((look,), scene, start_utc_s, end_utc_s) * share
    parts = []
    for first in np.arange(start_utc_s, end_utc_s, EVERY_S):
        last = min(first + EVERY_S, end_utc_s)
        there = in_weather(scene, weather, weather.at((first + last) / 2))
        parts.append(fit_by_minute((look,), there, first, last))
    return np.concatenate(parts) * share


def _share(look: WantedLook | None, weather: SiteWeather, start_utc_s: float, end_utc_s: float) -> FloatArray:
    """Return what the day leaves of a look by minute, 0..1, straight between half hours; all where nothing is known."""
    minutes = start_utc_s + MINUTE_S * (np.arange(round((end_utc_s - start_utc_s) / MINUTE_S)) + 0.5)
    nodes = np.arange(start_utc_s, end_utc_s + EVERY_S, EVERY_S)
    left = [share_left(look.name if look else "", hour) if (hour := weather.at(float(at))) else 1.0 for at in nodes]
    return np.interp(minutes, nodes, left)
