"""A setup's light through time: sky and faces as a meter reads them, settings, and what the flash does."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from app.light.camera_settings import Settings, settings_for
from app.light.day import Daylight, daylight_over, face_lux, sky_cd_m2
from app.light.exposure import ev100_of_cd_m2, ev100_of_lux
from app.light.faces import squint
from app.light.flash import Flashed, flash_for
from app.light.flash_ways import Way, first_enough_s, ways_out
from app.light.spot import Spot
from app.looks.light_plan import LightPlan
from app.looks.margin import Scene
from app.sky.track import SunTrack
from app.units import FloatArray, FloatOrArray

OVER_DEG = 1.0  # how far over the skyline the sky behind them is read


@dataclass(frozen=True, eq=False)
class Lighting:
    """The light of a setup at many moments; arrays of shape (moments), or (faces, moments).

    Attributes
    ----------
    face_lux : shape (faces, moments)
        The day on each face. [lx]
    sky_cd_m2 : shape (moments)
        The sky behind the couple, a degree over what it ends at. [cd/m²]
    """

    plan: LightPlan
    day: Daylight
    face_lux: FloatArray
    sky_cd_m2: FloatArray

    @cached_property
    def face_ev100(self) -> FloatArray:
        """The middle of the faces as an incident meter reads it, at ISO 100."""
        return np.asarray(ev100_of_lux(np.exp(np.log(np.maximum(self.face_lux, 1e-9)).mean(axis=0))))

    @cached_property
    def sky_ev100(self) -> FloatArray:
        """The sky behind them as a spot meter reads it, at ISO 100."""
        return np.asarray(ev100_of_cd_m2(self.sky_cd_m2))

    @property
    def difference_stops(self) -> FloatArray:
        """By how much the sky outshines the faces: over what would make both mid-tone. [stop]"""
        return self.sky_ev100 - self.face_ev100

    @cached_property
    def settings(self) -> Settings:
        """What to set; the time stays at sync where there are lights."""
        wanted = self.plan.intent.camera_ev100(self.face_ev100, self.sky_ev100)
        return settings_for(wanted, self.plan.limits, sync=bool(self.plan.lights))

    @cached_property
    def flashed(self) -> Flashed | None:
        """What the lights do; None where there are none."""
        if not self.plan.lights:
            return None
        return flash_for(self.settings, self.face_lux, self.plan.lights, self.plan.faces)

    @cached_property
    def squint(self) -> FloatArray:
        """How hard the sun makes anybody squint, 0..1; shape (moments)."""
        sun, lit = self.day.sun, (self.face_lux * 0 + 1)
        each = [squint(face, sun.azimuth_deg, sun.refracted_deg) for face in self.plan.faces]
        return np.max(np.stack(each) * lit, axis=0) if each else np.zeros(np.shape(sun.utc_s))

    def ways_out(self, at: int) -> tuple[Way, ...]:
        """Return the ways out at a moment at which the flash falls short."""
        return ways_out(self.flashed, at, self.day.sun.utc_s) if self.flashed is not None else ()

    def enough_from_s(self, after: int = 0) -> float:
        """Return when the flash begins to suffice, NaN where it never does. [s]"""
        return first_enough_s(self.flashed, self.day.sun.utc_s, after) if self.flashed is not None else float("nan")


def lighting(
    scene: Scene, plan: LightPlan, sun: SunTrack, linke: FloatOrArray = 3.0, cover: float = 0.0, correction_stops: float = 0.0
) -> Lighting:
    """Return the light of a setup at every instant of a track, a row of them.

    Parameters
    ----------
    linke, cover, correction_stops
        As in ``daylight_over``.

    Notes
    -----
    The couple's own skyline is over the faces, the camera's behind them. Where ground or
    what stands fills all behind their heads, the sky over it is what is read.
    """
    day = daylight_over(sun, linke, cover, correction_stops)
    spot = Spot(scene.couple_skyline, plan.ground)
    line_deg = scene.setup.line_deg
    above_deg = max(float(scene.skyline.altitude_at(line_deg)), 0.0) + OVER_DEG
    lux = np.stack([face_lux(day, spot, face) for face in plan.faces]) if plan.faces else np.zeros((0, *np.shape(sun.utc_s)))
    behind = sky_cd_m2(day, np.full(np.shape(sun.utc_s), line_deg), np.full(np.shape(sun.utc_s), above_deg))
    return Lighting(plan, day, lux, behind)
