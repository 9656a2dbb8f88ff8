"""A setup's light through time: sky and faces as a meter reads them, settings, and what the flash does."""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from app.errors import BadInput
from app.light.camera_settings import Settings, settings_for
from app.light.cloud import beam_left
from app.light.colour import colour_temperature_k
from app.light.day import Daylight, FaceLight, daylight_over, face_light, ground_lux, sky_cd_m2
from app.light.day_colour import sky_xy, sun_xy, together_k
from app.light.exposure import SILHOUETTE, cd_m2_of_ev100, ev100_of_cd_m2, ev100_of_lux
from app.light.faces import Face, squint
from app.light.flash import Flashed, flash_for
from app.light.flash_ways import Way, first_enough_s, ways_out
from app.light.kit import DEMO_KIT
from app.light.spot import Spot
from app.looks.light_plan import LightPlan, light_plan
from app.looks.margin import Scene
from app.looks.scene_light import SceneLight
from app.picture.backdrop import SKY, STANDS, WATER, Backdrop, backdrop
from app.sky.track import SunTrack
from app.units import FloatArray, FloatOrArray

STANDS_ALBEDO = 0.15  # walls and leaves towards the camera, in visible light; from memory
NO_SUN = 0.02  # with less of the beam left there is no sun to speak of
CLOTHED = 0.65  # of a grey of 18 %: people with clothes and hair are a little darker than skin; to look right
WATER_BODY = 0.03  # of the light that enters clear water comes back out of it; from memory


@dataclass(frozen=True, eq=False)
class Colours:
    """Correlated colour temperatures, shape (moments); NaN where there is no such light. [K]

    Attributes
    ----------
    sun_k, sky_k, faces_k : array
        Of the sun's beam, of the whole sky, and of both as they fall on the faces.
    """

    sun_k: FloatArray
    sky_k: FloatArray
    faces_k: FloatArray


@dataclass(frozen=True, eq=False)
class Lighting:
    """The light of a setup at many moments; arrays of shape (moments), or (faces, moments).

    Attributes
    ----------
    behind : Backdrop
        What lies behind the couple in the frame.
    lit : tuple of FaceLight
        The day on each face, sun and sky apart.
    sky_cd_m2 : shape (moments)
        The frame's sky, the mean of its stops; what is behind them where the frame has
        none. [cd/m²]
    behind_cd_m2 : shape (moments)
        What is behind their heads; the same as the frame's sky where that is sky. [cd/m²]
    ground_cd_m2, stands_cd_m2 : shape (moments)
        The ground about the couple, and what stands upright towards the camera. [cd/m²]
    """

    plan: LightPlan
    day: Daylight
    behind: Backdrop
    lit: tuple[FaceLight, ...]
    sky_cd_m2: FloatArray
    behind_cd_m2: FloatArray
    ground_cd_m2: FloatArray
    stands_cd_m2: FloatArray
    linke: FloatOrArray = 3.0

    @cached_property
    def face_lux(self) -> FloatArray:
        """The day on each face; shape (faces, moments). [lx]"""
        return np.stack([one.lux for one in self.lit]) if self.lit else np.zeros((0, *np.shape(self.sky_cd_m2)))

    @cached_property
    def face_ev100(self) -> FloatArray:
        """The middle of the faces as an incident meter reads it, at ISO 100."""
        return middle_ev100(self.face_lux)

    @cached_property
    def sky_ev100(self) -> FloatArray:
        """The sky as a spot meter reads it, at ISO 100."""
        return np.asarray(ev100_of_cd_m2(self.sky_cd_m2))

    @cached_property
    def behind_ev100(self) -> FloatArray:
        """What is behind their heads as a spot meter reads it, at ISO 100."""
        return np.asarray(ev100_of_cd_m2(self.behind_cd_m2))

    @property
    def difference_stops(self) -> FloatArray:
        """By how much what is behind them outshines the faces: over what would make both mid-tone. [stop]"""
        return self.behind_ev100 - self.face_ev100

    @cached_property
    def settings(self) -> Settings:
        """What to set; the time stays at sync where there are lights. With nobody in it all is made for the sky."""
        intent = self.plan.intent
        wanted = intent.camera_ev100(self.face_ev100, self.sky_ev100) if self.plan.faces else self.sky_ev100 + intent.down_stops
        return settings_for(wanted, self.plan.limits, sync=bool(self.plan.lights))

    @cached_property
    def _fired(self) -> Flashed | str:
        """What the lights do, or why they do nothing."""
        if not self.plan.lights:
            return ""
        if self.plan.intent.kind == SILHOUETTE:
            return "off for a silhouette"
        try:
            return flash_for(self.settings, self.face_lux, self.plan.lights, self.plan.faces)
        except BadInput as error:
            return str(error)

    @property
    def flashed(self) -> Flashed | None:
        """What the lights do; None where there are none, or where they do nothing."""
        return self._fired if isinstance(self._fired, Flashed) else None

    @property
    def flash_trouble(self) -> str:
        """Why lights that stand there do nothing, as words; empty where they do, or none stands there."""
        return self._fired if isinstance(self._fired, str) else ""

    def flash_words(self, at: int) -> str:
        """Return what to set on the lights at a moment, or why they do nothing; empty without any."""
        return self.flashed.words(at) if self.flashed is not None else self.flash_trouble

    @cached_property
    def person_cd_m2(self) -> FloatArray:
        """The people as they come out, clothes and hair with the face, flash included, shape (moments). [cd/m²]"""
        by_day = np.asarray(cd_m2_of_ev100(self.face_ev100))
        if self.flashed is None:
            return np.nan_to_num(CLOTHED * by_day)
        lit = cd_m2_of_ev100(self.settings.camera_ev100) * 2.0 ** self.flashed.level_stops.mean(axis=0)
        return np.nan_to_num(CLOTHED * np.where(np.isfinite(lit), lit, by_day))

    @cached_property
    def colours(self) -> Colours:
        """The colour of sun, sky and faces at each moment."""
        sun, hpa = self.day.sun, self.day.sun.observer.air_hpa
        of_sun = sun_xy(sun.refracted_deg, self.linke, hpa)
        of_sky = sky_xy(sun.refracted_deg, sun.airless_deg, self.linke, self.day.cover, hpa)
        beam = sum((one.beam_lux * one.beam_share for one in self.lit), np.zeros(np.shape(sun.utc_s)))
        sky = sum((one.sky_lux for one in self.lit), np.zeros(np.shape(sun.utc_s)))
        shines = (sun.upper_edge_deg > 0) & (beam_left(self.day.cover) > NO_SUN)
        sun_k = np.where(shines, colour_temperature_k(of_sun), np.nan)
        return Colours(sun_k, colour_temperature_k(of_sky), together_k(of_sun, beam, of_sky, sky))

    @cached_property
    def sun_on_faces(self) -> FloatArray:
        """The share of a clear sun's beam that reaches each face's place, clouds counted; shape (faces, moments)."""
        left = float(beam_left(self.day.cover))
        return np.stack([one.beam_share * left for one in self.lit]) if self.lit else np.zeros((0, *np.shape(self.sky_cd_m2)))

    @cached_property
    def squint(self) -> FloatArray:
        """How hard the sun makes anybody squint, 0..1; shape (moments)."""
        sun = self.day.sun
        each = [squint(face, sun.azimuth_deg, sun.refracted_deg, share) for face, share in zip(self.plan.faces, self.sun_on_faces, strict=True)]
        return np.max(each, axis=0) if each else np.zeros(np.shape(sun.utc_s))

    def ways_out(self, at: int) -> tuple[Way, ...]:
        """Return the ways out at a moment at which the flash falls short."""
        return ways_out(self.flashed, at, self.day.sun.utc_s) if self.flashed is not None else ()

    def enough_from_s(self, after: int = 0) -> float:
        """Return when the flash begins to suffice, NaN where it never does. [s]"""
        return first_enough_s(self.flashed, self.day.sun.utc_s, after) if self.flashed is not None else float("nan")


def middle_ev100(face_lux: FloatArray) -> FloatArray:
    """Return the middle of the faces, the first axis, as an incident meter reads it, at ISO 100; NaN for nobody."""
    if not len(face_lux):
        return np.full(np.shape(face_lux)[1:], np.nan)
    return np.asarray(ev100_of_lux(np.exp(np.log(np.maximum(face_lux, 1e-9)).mean(axis=0))))


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
    The couple's own skyline is over the faces, the camera's behind them; see ``backdrop``.
    Water mirrors the sky by Fresnel and gives 3 % of what enters it back; ground and what
    stands are even whites of their albedo, what stands upright and turned to the camera.
    """
    day = daylight_over(sun, linke, cover, correction_stops)
    spot = Spot(scene.couple_skyline, plan.ground)
    behind = backdrop(scene.setup, scene.skyline, scene.site)
    faces = tuple(face_light(day, spot, face) for face in plan.faces)
    upright_lux, level_lux = face_light(day, spot, upright(behind)).lux, ground_lux(day, spot)
    frames_sky = _mean_sky_cd_m2(day, behind)
    past_heads = frames_sky if behind.kind == SKY else sky_cd_m2(day, behind.azimuth_deg, behind.altitude_deg)
    backdrop_cd = behind_cd_m2(behind, spot.albedo, past_heads, upright_lux, level_lux)
    sky = frames_sky if behind.goes_by_sky else backdrop_cd
    return Lighting(plan, day, behind, faces, sky, backdrop_cd, spot.albedo / np.pi * level_lux, STANDS_ALBEDO / np.pi * upright_lux, linke)


def behind_cd_m2(behind: Backdrop, albedo: float, sky_cd_m2: FloatOrArray, upright_lux: FloatArray, level_lux: FloatArray) -> FloatArray:
    """Return the luminance of what is behind their heads, any shapes that fit together.

    Parameters
    ----------
    albedo : float
        Of the ground, 0..1.
    sky_cd_m2 : any shape
        Of the sky there; for water, of the sky that it mirrors. [cd/m²]
    upright_lux, level_lux : any shape
        On what stands there, turned to the camera, and on level ground. [lx]

    Returns
    -------
    array
        In proportion to all three: a part of the light gives its part. [cd/m²]
    """
    stands, level = STANDS_ALBEDO / np.pi * upright_lux, level_lux / np.pi
    if behind.kind == SKY:
        return np.asarray(sky_cd_m2)
    if behind.kind == WATER:
        mirrored = sky_cd_m2 if behind.mirrors_sky else stands
        return behind.reflectance * mirrored + (1.0 - behind.reflectance) * WATER_BODY * level
    return stands if behind.kind == STANDS else albedo * level


def upright(behind: Backdrop) -> Face:
    """Return what stands behind them as a face turned to the camera."""
    return Face("", (0.0, 0.0, 1.6), (behind.azimuth_deg + 180.0) % 360.0)


def scene_lighting(scene: Scene, sun: SunTrack) -> Lighting:
    """Return the light of a scene by what it knows of it; without lights and faces right where that cannot be used."""
    light = scene.light or SceneLight(light_plan(replace(scene.setup, lights=(), exposure={}), DEMO_KIT))
    return lighting(scene, light.plan, sun, light.linke(sun.utc_s), light.cover, light.correction_stops)


def _mean_sky_cd_m2(day: Daylight, behind: Backdrop) -> FloatArray:
    """Return the mean of the stops of the frame's sky. [cd/m²]"""
    some = tuple([slice(None), *[np.newaxis] * np.ndim(day.sky_lux)])
    each = sky_cd_m2(day, behind.sky_azimuth_deg[some], behind.sky_altitude_deg[some])
    return np.exp(np.log(np.maximum(each, 1e-12)).mean(axis=0))
