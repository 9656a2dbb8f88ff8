"""Which standby the weather of the day leaves standing, and for how long of the slot."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from app.looks.margin import Margin, Scene
from app.shoot.morning_margins import day_margins
from app.shoot.morning_weather import SiteWeather, dimmed, in_weather
from app.shoot.plan import Slot
from app.shoot.prospect import MINUTE_S, looks_wanted
from app.shoot.shoot import Wish
from app.shoot.standby import CLOUD, Standby

SHADE = "the couple in the shade"  # what the looks call it; under cloud everybody is in the shade


@dataclass(frozen=True)
class Spare:
    """A standby that holds on this day.

    Attributes
    ----------
    standby : Standby
    from_utc_s, until_utc_s : float
        From when to when its look holds there, in what is left of the slot. [s since 1970 UTC]
    ends_because : str
        What ends it before the slot does; empty where nothing does.
    """

    standby: Standby
    from_utc_s: float
    until_utc_s: float
    ends_because: str

    @property
    def held_s(self) -> float:
        """How long it holds. [s]"""
        return self.until_utc_s - self.from_utc_s


def spare_for(spare: Sequence[Standby], slot: Slot, weather: SiteWeather, candidates: Mapping[tuple[str, str], Scene]) -> Spare | None:
    """Return the standby of a slot that holds longest in the day's weather and light, the first of equal ones; None without any."""
    return max(filter(None, (_held(one, slot, weather, candidates) for one in spare)), key=lambda found: found.held_s, default=None)


def _held(one: Standby, slot: Slot, weather: SiteWeather, candidates: Mapping[tuple[str, str], Scene]) -> Spare | None:
    site, setup = one.spot.split("/", 1)
    scene, starts_utc_s = candidates[site, setup], slot.starts_utc_s + MINUTE_S * one.cost_min
    (look,) = looks_wanted(Wish("standby", site, setup, looks=(one.look,)), scene)
    if any(margin.fails and not margin.soft for margin in day_margins(look, scene, weather, starts_utc_s, slot.ends_utc_s)):
        return None
    hour = weather.at((starts_utc_s + slot.ends_utc_s) / 2)
    there = in_weather(dimmed(scene, hour), weather, hour)
    margins = tuple(margin for margin in look.margins(there) if not (one.trouble == CLOUD and margin.name == SHADE))
    return _longest(one, margins, there, starts_utc_s, slot.ends_utc_s)


def _longest(one: Standby, margins: Sequence[Margin], scene: Scene, starts_utc_s: float, ends_utc_s: float) -> Spare | None:
    """Return the first stretch of minutes in which all margins hold."""
    middles = np.arange(starts_utc_s + MINUTE_S / 2, ends_utc_s, MINUTE_S)
    if not middles.size:
        return None
    values = np.array([margin.value(scene.observer.sun_at(middles)) for margin in margins]).reshape(len(margins), -1)
    least = values.min(axis=0) if len(margins) else np.ones(middles.size)
    if not (least > 0.0).any():
        return None
    first = int(np.argmax(least > 0.0))
    last = first + int(np.argmin(np.append(least[first:] > 0.0, False)))
    because = _closes(margins[int(np.argmin(values[:, last]))], scene, float(middles[last])) if last < middles.size else ""
    return Spare(one, starts_utc_s + MINUTE_S * first, min(starts_utc_s + MINUTE_S * last, ends_utc_s), because)


def _closes(margin: Margin, scene: Scene, utc_s: float) -> str:
    return margin.closes if isinstance(margin.closes, str) else margin.closes(scene.observer.sun_at(utc_s))
