"""What a slot's camera and flash are set to under the day's cloud, beside what a clear sky would ask for."""

import math
from dataclasses import dataclass

import numpy as np

from app.errors import BadInput
from app.light.cloud import cloud_factor
from app.light.stops import stops_words
from app.looks.light_plan import LightPlan
from app.looks.lighting import Lighting, lighting
from app.looks.margin import Scene
from app.shoot.morning_margins import DayMargin, eighths
from app.units import FloatArray, percent

FELT_STOPS = 1 / 6  # less is told as no difference
LIGHT = "light"
EVERY_S = 180.0  # how closely a slot's light is looked at: dusk takes half a stop meanwhile


@dataclass(frozen=True)
class SlotPlan:
    """A slot's lights and exposure, and its air's usual haze; ``trouble`` says why there is no plan. [Linke turbidity]"""

    plan: LightPlan | None
    linke: float
    trouble: str = ""


@dataclass(frozen=True)
class SlotLight:
    """What to set in the middle of a slot.

    Attributes
    ----------
    utc_s : float
        [s since 1970 UTC]
    cloud : str
        What the day's cloud leaves of the light, in words.
    left : float, optional
        Share of a clear sky's light that is left on level ground; None where cloud is not known. [0..1]
    settings, flash : str
        Under the day's cloud, or under a clear sky where it is not known; no flash, no words.
    clear_settings, clear_flash : str
        Under a clear sky.
    gives_way : tuple of str
        What had to give way.
    filters : tuple of float
        Densities that the slot asks for from its start to its end. [stop]
    short, dark : Lack
        How much the flash, and the settings, fall short at most, and when.
    """

    utc_s: float
    cloud: str
    left: float | None
    settings: str
    flash: str
    clear_settings: str
    clear_flash: str
    gives_way: tuple[str, ...]
    filters: tuple[float, ...]
    short: "Lack"
    dark: "Lack"

    @property
    def words(self) -> str:
        """What to set, and what a clear sky would have asked for where that is something else."""
        now, clear = (joined(*pair) for pair in ((self.settings, self.flash), (self.clear_settings, self.clear_flash)))
        return now if now == clear else f"{now} (under a clear sky {clear})"

    def margins(self) -> tuple[DayMargin, ...]:
        """Return how far exposure and flash are from failing; both ask for a change only."""
        names = ("bright enough for the camera", self.dark), ("the flash keeps up", self.short)
        return tuple(
            DayMargin(name, max(-1.0, -lack.stops), lack.from_utc_s, lack.words, LIGHT, soft=True)
            for name, lack in names
            if lack.stops >= FELT_STOPS
        )


@dataclass(frozen=True)
class Lack:
    """By how much something falls short at its worst in a slot, from when it does, and what was set then.

    ``stops`` is 0 where it suffices throughout. [stop]; [s since 1970 UTC]
    """

    stops: float
    from_utc_s: float
    words: str


def slot_light(scene: Scene, slot: SlotPlan, starts_utc_s: float, ends_utc_s: float, cover: float | None) -> SlotLight | None:
    """Return a slot's light under a cover of cloud, 0..1 or None; None where there is no plan for it."""
    if slot.plan is None:
        return None
    half = max(1, math.ceil((ends_utc_s - starts_utc_s) / 2 / EVERY_S))
    moments = np.linspace(starts_utc_s, ends_utc_s, 2 * half + 1)  # the middle among them
    sun = scene.observer.sun_at(moments)
    clear = lighting(scene, slot.plan, sun, slot.linke)
    now = clear if cover is None else lighting(scene, slot.plan, sun, slot.linke, cover)
    try:
        return _told(now, clear, moments, cover)
    except BadInput:
        return None


def joined(settings: str, flash: str) -> str:
    """Return settings and flash as one text."""
    return f"{settings}; flash {flash}" if flash else settings


def _told(now: Lighting, clear: Lighting, moments: FloatArray, cover: float | None) -> SlotLight:
    filters = sorted({round(float(density) / 3, 2) for density in now.settings.nd if density > 0})
    middle = len(moments) // 2
    return SlotLight(
        utc_s=float(moments[middle]),
        cloud=_cloud_words(cover),
        left=None if cover is None else float(cloud_factor(cover)),
        settings=now.settings.words(middle),
        flash=now.flash_words(middle),
        clear_settings=clear.settings.words(middle),
        clear_flash=clear.flash_words(middle),
        gives_way=now.settings.gives_way(middle),
        filters=tuple(filters),
        short=_lack(now.flashed.short_stops if now.flashed is not None else np.zeros(len(moments)), now, moments, "beside"),
        dark=_lack(-now.settings.miss_stops, now, moments, "even at"),
    )


def _lack(short_stops: FloatArray, now: Lighting, moments: FloatArray, beside: str) -> Lack:
    """Return how much is short, of shape (moments) or (lights or faces, moments)."""
    held = np.nan_to_num(np.asarray(short_stops, dtype=float)).reshape(-1, len(moments)).max(axis=0, initial=0.0)
    worst, first = int(np.argmax(held)), int(np.argmax(held >= FELT_STOPS))
    words = f"{stops_words(held[worst])} short {beside} {now.settings.words(worst)}"
    return Lack(float(held[worst]), float(moments[first]), words)


def _cloud_words(cover: float | None) -> str:
    if cover is None:
        return "Cloud is not known: reckoned for a clear sky."
    left = float(cloud_factor(cover))
    stops = -math.log2(left)
    less = "as bright as a clear sky" if stops < FELT_STOPS else f"{stops_words(stops)} less than a clear sky"
    return f"Cloud {eighths(cover)} leaves {percent(left)} of the light on level ground, {less}."
