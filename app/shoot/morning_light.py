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
from app.units import FloatArray

FELT_STOPS = 1 / 6  # less is told as no difference
LIGHT = "light"


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
    short_stops, dark_stops : float
        How much the flash, and the settings, fall short at most. [stop]
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
    short_stops: float
    dark_stops: float

    @property
    def words(self) -> str:
        """What to set, and what a clear sky would have asked for where that is something else."""
        now, clear = (joined(*pair) for pair in ((self.settings, self.flash), (self.clear_settings, self.clear_flash)))
        return now if now == clear else f"{now} (under a clear sky {clear})"

    def margins(self) -> tuple[DayMargin, ...]:
        """Return how far exposure and flash are from failing; both ask for a change only."""
        names = ("bright enough for the camera", self.dark_stops), ("the flash keeps up", self.short_stops)
        return tuple(
            DayMargin(name, max(-1.0, -short), self.utc_s, f"{stops_words(short)} short", LIGHT, soft=True)
            for name, short in names
            if short >= FELT_STOPS
        )


def slot_light(scene: Scene, slot: SlotPlan, starts_utc_s: float, ends_utc_s: float, cover: float | None) -> SlotLight | None:
    """Return a slot's light under a cover of cloud, 0..1 or None; None where there is no plan for it."""
    if slot.plan is None:
        return None
    moments = np.array([starts_utc_s, (starts_utc_s + ends_utc_s) / 2, ends_utc_s])
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
    return SlotLight(
        utc_s=float(moments[1]),
        cloud=_cloud_words(cover),
        left=None if cover is None else float(cloud_factor(cover)),
        settings=now.settings.words(1),
        flash=_flash(now),
        clear_settings=clear.settings.words(1),
        clear_flash=_flash(clear),
        gives_way=now.settings.gives_way(1),
        filters=tuple(filters),
        short_stops=float(np.nanmax(np.nan_to_num(now.flashed.short_stops))) if now.flashed is not None else 0.0,
        dark_stops=float(np.max(np.maximum(0.0, -np.nan_to_num(now.settings.miss_stops)))),
    )


def _flash(found: Lighting) -> str:
    return found.flash_words(1)


def _cloud_words(cover: float | None) -> str:
    if cover is None:
        return "Cloud is not known: reckoned for a clear sky."
    left = float(cloud_factor(cover))
    stops = -math.log2(left)
    less = "as bright as a clear sky" if stops < FELT_STOPS else f"{stops_words(stops)} less than a clear sky"
    return f"Cloud {eighths(cover)} leaves {left:.0%} of the light on level ground, {less}."
