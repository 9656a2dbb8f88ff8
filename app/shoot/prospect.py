"""What the light offers each wish, minute by minute."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from app.errors import BadInput
from app.looks.catalogue import LOOKS
from app.looks.look import WantedLook, wanted_look
from app.looks.margin import Scene, fit
from app.looks.window import Window, find_windows
from app.place.timezone import civil_day
from app.shoot.shoot import Shoot, Wish
from app.units import FloatArray

MINUTE_S = 60.0
SAMPLES = 4  # to a minute, at the middles of its quarters: a window of 15 s is not lost


@dataclass(frozen=True)
class Prospect:
    """One wish in its scene.

    Attributes
    ----------
    looks : tuple of WantedLook
        Any of which will do; none where the setup asks for none, and then any
        minute is as good as another.
    starts_utc_s : float
        When the first minute begins. [s since 1970 UTC]
    fit : shape (minutes,)
        The fit of the look that fits best, the mean of each minute, 0..1; a
        negative fit counts as 0.
    searched : tuple of float
        From when to when windows are told. [s since 1970 UTC]
    """

    wish: Wish
    scene: Scene
    looks: tuple[WantedLook, ...]
    starts_utc_s: float
    fit: FloatArray
    searched: tuple[float, float]

    @property
    def called(self) -> str:
        """What sentences call the wish."""
        return called_in(self.wish, self.scene.setup.name)

    @cached_property
    def windows(self) -> tuple[tuple[str, Window], ...]:
        """Every window of the day, with its look's name, in time order."""
        found = [
            (look.name, window)
            for look in self.looks
            for window in find_windows(look.margins(self.scene), self.scene.observer, *self.searched)
        ]
        return tuple(sorted(found, key=lambda one: (one[1].opens_utc_s, one[0])))

    def fit_over(self, starts_utc_s: float, ends_utc_s: float) -> float:
        """Return the mean fit from one whole minute to another."""
        first, last = (round((at - self.starts_utc_s) / MINUTE_S) for at in (starts_utc_s, ends_utc_s))
        return float(np.mean(self.fit[first:last])) if last > first else 0.0


def called_in(wish: Wish, setup_name: str) -> str:
    """Return a wish's own name, or its setup's with the looks it is wished for."""
    looks = f" ({', '.join(wish.looks)})" if wish.looks else ""
    return wish.name or f"{setup_name}{looks}"


def prospects(shoot: Shoot, scenes: Mapping[str, Scene]) -> tuple[Prospect, ...]:
    """Return what the light offers every wish over the people's time, in the order of the wishes.

    ``scenes`` go by the wish's id, weather included. Raises ``BadInput`` for a wish
    without a scene or with a look nobody knows.
    """
    start, end = span_utc_s(shoot)
    day = civil_day(shoot.zone, shoot.day)
    searched = min(start, day[0]), max(end, day[1])
    found = []
    for wish in shoot.wishes:
        scene = _scene(scenes, wish)
        looks = looks_wanted(wish, scene)
        found.append(Prospect(wish, scene, looks, start, fit_by_minute(looks, scene, start, end), searched))
    return tuple(found)


def span_utc_s(shoot: Shoot) -> tuple[float, float]:
    """Return the whole minutes that hold all of the people's time. [s since 1970 UTC]"""
    first, last = shoot.open_time[0].starts_utc_s, shoot.open_time[-1].ends_utc_s
    return math.floor(first / MINUTE_S) * MINUTE_S, math.ceil(last / MINUTE_S) * MINUTE_S


def looks_wanted(wish: Wish, scene: Scene) -> tuple[WantedLook, ...]:
    """Return the looks a wish will take: those it names, with the setup's bounds, or all of the setup's."""
    of_setup = tuple(wanted_look(LOOKS, typed) for typed in scene.setup.looks)
    if not wish.looks:
        return of_setup
    known = {look.name: look for look in reversed(of_setup)}
    return tuple(known.get(name) or wanted_look(LOOKS, name) for name in wish.looks)


def fit_by_minute(looks: tuple[WantedLook, ...], scene: Scene, start_utc_s: float, end_utc_s: float) -> FloatArray:
    """Return the mean fit of the best look in every minute, 0..1; all 1 without a look."""
    minutes = round((end_utc_s - start_utc_s) / MINUTE_S)
    if not looks:
        return np.ones(minutes)
    step = MINUTE_S / SAMPLES
    sun = scene.observer.sun_at(start_utc_s + step * (np.arange(minutes * SAMPLES) + 0.5))
    best = np.maximum.reduce([fit(look.margins(scene), sun) for look in looks])
    return np.maximum(best, 0.0).reshape(minutes, SAMPLES).mean(axis=1)


def _scene(scenes: Mapping[str, Scene], wish: Wish) -> Scene:
    if wish.id not in scenes:
        raise BadInput(f"The setup of “{wish.called}” is not there any more; choose another.", "setup")
    return scenes[wish.id]
