"""Flash: what the lights add to the day on each face, and the power to set.

Daylight and flash are added as light, in lux seconds while the shutter is open, never as stops.
Of two faces lit unevenly one comes out as far over as the other under: the power is set for the
middle between the brightest and the darkest face that the lights reach.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from app.errors import BadInput
from app.light.camera_settings import Limits, Settings
from app.light.exposure import FLAT_C, FULL_SPEED, right_lux_s
from app.light.faces import Face
from app.light.lights import Light, check_lights, distance_m, lux_s_at, off_axis_deg
from app.light.stops import TIMES, power_words, stops, stops_words
from app.units import FloatArray, FloatOrArray, listed, signed_deg

ENOUGH_STOPS = 1 / 6  # rounded to thirds it is nothing
_FAINTEST = 1e-200  # and where nothing is wanted. [lx s]
_DARK = 1e-12  # keeps a logarithm finite where neither day nor flash reaches. [lx s]


@dataclass(frozen=True, eq=False)
class Reach:
    """How the lights come to the faces; arrays of shape (lights, faces).

    Attributes
    ----------
    distance_m, off_axis_deg : array
        From lamp to face, and how far the face is off the middle of the beam. [m, °]
    lux_s : array
        At full power, on the face. [lx s]
    """

    distance_m: FloatArray
    off_axis_deg: FloatArray
    lux_s: FloatArray

    @property
    def f_number(self) -> FloatArray:
        """The aperture at ISO 100 that full power alone is right for; 0 where none arrives. [1]"""
        return np.sqrt(self.lux_s * FULL_SPEED / FLAT_C)

    @property
    def difference_stops(self) -> FloatArray:
        """How much brighter each light makes the face it lights best than the one it lights least; shape (lights,).

        NaN where one of them gets nothing. [stop]
        """
        least = self.lux_s.min(axis=1)
        return np.asarray(stops(np.divide(self.lux_s.max(axis=1), least, out=np.full_like(least, np.nan), where=least > 0)))


def reach(lights: tuple[Light, ...], faces: tuple[Face, ...]) -> Reach:
    """Return how every light comes to every face; ``BadInput`` where there is nothing to light or to light with."""
    check_lights(lights, faces)
    measures = (distance_m, off_axis_deg, lux_s_at)
    return Reach(*(np.array([[measure(light, face) for face in faces] for light in lights], dtype=float) for measure in measures))


def turned_away(lights: tuple[Light, ...], faces: tuple[Face, ...], sun_azimuth_deg: float | None = None) -> tuple[str, ...]:
    """Return in words whose face gets nothing from any light, nor from the sun where its azimuth is given. [°]"""
    sources = [*(["the sun"] if sun_azimuth_deg is not None else []), *(["every light"] if lights else [])]
    return tuple(
        f"{face.words} is turned away from {' and '.join(sources)}"
        for face in faces
        if sources and not any(lux_s_at(light, face) > 0 for light in lights) and not _in_sun(face, sun_azimuth_deg)
    )


def _in_sun(face: Face, sun_azimuth_deg: float | None) -> bool:
    return sun_azimuth_deg is not None and abs(float(signed_deg(sun_azimuth_deg - face.facing_deg))) < 90.0


@dataclass(frozen=True, eq=False)
class Flashed:
    """What the flash does at each moment; arrays of shape (moments), or (faces, moments).

    Attributes
    ----------
    settings : Settings
        Of the camera, shape (moments).
    lights, faces : tuple
    face_lux : array
        The day on each face; shape (faces, moments). [lx]
    down_stops : float
        How far under right the faces shall be. [stop]
    power_stops : array
        To set on every light whose power is open, 0 at full power, in thirds; NaN where
        no flash is needed or no power is open. [stop]
    day_stops, level_stops : array
        Each face against what was asked for, without and with the lights; shape (faces, moments). [stop]
    full_stops : array
        The middle of the faces against what was asked for, at full power: what is
        missing when negative. [stop]
    reached : array of bool
        Which faces any light reaches; shape (faces).
    """

    settings: Settings
    lights: tuple[Light, ...]
    faces: tuple[Face, ...]
    face_lux: FloatArray
    down_stops: float
    power_stops: FloatArray
    day_stops: FloatArray
    level_stops: FloatArray
    full_stops: FloatArray
    reached: np.ndarray

    @cached_property
    def short_stops(self) -> FloatArray:
        """By how much full power falls short; 0 where it suffices. [stop]"""
        return np.where(self.full_stops < -ENOUGH_STOPS, -self.full_stops, 0.0)

    @property
    def enough(self) -> np.ndarray:
        """Where the lights suffice; not where the light of the day is unknown."""
        return self.full_stops >= -ENOUGH_STOPS

    @property
    def difference_stops(self) -> FloatArray:
        """How much brighter the brightest face is than the darkest, day and lights together. [stop]"""
        return self.level_stops.max(axis=0) - self.level_stops.min(axis=0)

    @property
    def high_speed(self) -> np.ndarray:
        """Where the time is shorter than sync."""
        return np.asarray(self.settings.time > self.settings.limits.times[2])

    def words(self, at: int | tuple[int, ...] = ()) -> str:
        """Return what to set on the lights at one moment, or why it does not do."""
        if not np.isfinite(self.full_stops[at]):
            return "how bright the day is, is unknown"
        if np.isnan(self.power_stops[at]) and self.enough[at]:
            if self._middle_stops(at) < -ENOUGH_STOPS - 1e-9 and len(_steps(self.lights)) > 1:
                return f"none: even {power_words(_steps(self.lights)[-1])} is too bright"
            return "no flash needed" if any(light.power_stops is None for light in self.lights) else "as set"
        silent = [light.words for light in self.lights if light.flash.high_speed_stops is None] if self.high_speed[at] else []
        if silent:
            return f"{listed(silent)} does not fire at {TIMES.mark(self.settings.time[at])}: no high-speed sync"
        if not self.enough[at]:
            stated = all(light.power_stops is not None for light in self.lights)
            return f"{stops_words(self.short_stops[at])} short {'as set' if stated else 'at full power'}"
        fast = " in high-speed sync" if self.high_speed[at] else ""
        return power_words(self.power_stops[at]) + fast + self._over(at)

    def _over(self, at: int | tuple[int, ...]) -> str:
        over = self._middle_stops(at)
        return f", {stops_words(over)} too bright" if over > ENOUGH_STOPS + 1e-9 else ""

    def _middle_stops(self, at: int | tuple[int, ...]) -> float:
        """Return the middle of the faces that any light reaches, against what was asked for. [stop]"""
        return float(_middle(self.level_stops[_faces_at(at)][self.reached]))

    def one(self, at: int | tuple[int, ...]) -> "Flashed":
        """Return the same for one moment alone."""
        return flash_for(self.settings.one(at), self.face_lux[_faces_at(at)], self.lights, self.faces, self.down_stops)


def flash_for(
    settings: Settings,
    face_lux: ArrayLike,
    lights: tuple[Light, ...],
    faces: tuple[Face, ...],
    down_stops: float = 0.0,
) -> Flashed:
    """Return the power that brings the faces right under given settings.

    Parameters
    ----------
    settings : Settings
        Shape (moments), any.
    face_lux : shape (faces, moments), or one that fits it
        The day on each face. [lx]
    lights, faces : tuple
        Lights of a stated power fire at that; all others get the same setting.
    down_stops : float
        How far under right the faces shall be. [stop]

    Returns
    -------
    Flashed

    Raises
    ------
    BadInput
        Where there is no light, nobody, a light inside somebody, or no face that any light reaches.
    """
    lux_s = reach(lights, faces).lux_s
    reached = lux_s.sum(axis=0) > 0
    if not reached.any():
        names = listed(face.words for face in faces)
        raise BadInput(f"No light reaches {names}: turned away from every light. Turn the people or move a light.", "lights")
    day_lux = np.broadcast_to(np.asarray(face_lux, dtype=float), (len(faces), *settings.time_s.shape))
    wanted = np.asarray(right_lux_s(settings.camera_ev100, settings.time_s)) * 2.0**-down_stops
    fixed, free = _by_power(lights, lux_s, settings)
    unset, steps = day_lux * settings.time_s + fixed, _steps(lights)
    every = _level_stops(unset + np.multiply.outer(2.0**steps, free), wanted)
    middle = _middle(every[:, reached], axis=1)
    best = np.argmin(np.abs(np.where(np.isnan(middle), np.inf, middle)), axis=0)
    without, least_off = _middle(_level_stops(unset, wanted)[reached]), np.abs(np.take_along_axis(middle, best[np.newaxis], axis=0)[0])
    helps = least_off < np.abs(without)  # at dusk the weakest flash may miss by more than none
    set_ = (without < -ENOUGH_STOPS) & helps & any(light.power_stops is None for light in lights)
    chosen = np.take_along_axis(every, best[np.newaxis, np.newaxis], axis=0)[0]
    return Flashed(
        settings=settings,
        lights=lights,
        faces=faces,
        face_lux=day_lux,
        down_stops=down_stops,
        power_stops=np.where(set_, steps[best], np.nan),
        day_stops=_level_stops(day_lux * settings.time_s, wanted),
        level_stops=np.where(set_, chosen, _level_stops(unset, wanted)),
        full_stops=middle[0],
        reached=reached,
    )


def holds_stops(
    camera_ev100: ArrayLike,
    face_lux: ArrayLike,
    limits: Limits,
    lights: tuple[Light, ...],
    faces: tuple[Face, ...],
    down_stops: float = 0.0,
) -> FloatOrArray:
    """Return by how much full power at the sync time exceeds what the faces need; negative when it cannot hold the sky.

    Parameters
    ----------
    camera_ev100 : any shape (moments)
        What the exposure is made for, at ISO 100, not rounded.
    face_lux : shape (faces, moments), or one that fits it
        [lx]

    Returns
    -------
    shape (moments)
        Smooth in both lights, for margins. Aperture, sensitivity and filters are
        taken to reach: they change day and flash alike, the time alone does not. [stop]
    """
    lux_s = reach(lights, faces).lux_s
    powers = np.array([2.0 ** (light.power_stops or 0.0) for light in lights])
    ev100 = np.asarray(camera_ev100, dtype=float)
    flash = (powers @ lux_s).reshape(-1, *(1,) * ev100.ndim)
    day = np.broadcast_to(np.asarray(face_lux, dtype=float), (len(faces), *ev100.shape)) * limits.sync_s
    level = _level_stops(day + flash, np.asarray(right_lux_s(ev100, limits.sync_s)) * 2.0**-down_stops)
    return _middle(level[lux_s.sum(axis=0) > 0])[()] if np.any(lux_s > 0) else np.full(ev100.shape, np.nan)[()]


def _by_power(lights: tuple[Light, ...], lux_s: FloatArray, settings: Settings) -> tuple[FloatArray, FloatArray]:
    """Return what lights of a stated power give, and what the others give at full power; shapes (faces, moments). [lx s]"""
    sync_s = float(2.0 ** (-settings.limits.times[2] / 3))
    fixed = np.zeros((lux_s.shape[1], *settings.time_s.shape))
    free = np.zeros_like(fixed)
    for light, given in zip(lights, lux_s, strict=True):
        loss = light.flash.high_speed_loss_stops(settings.time_s, sync_s) - (light.power_stops or 0.0)
        fires = np.nan_to_num(2.0**-loss)  # without high-speed sync nothing fires past sync
        (free if light.power_stops is None else fixed)[...] += np.multiply.outer(given, fires)
    return fixed, free


def _steps(lights: tuple[Light, ...]) -> FloatArray:
    """Return the settings that all lights of an open power have, full power first. [stop]"""
    ranges = [light.flash.range_stops for light in lights if light.power_stops is None]
    return -np.arange(np.floor(3 * min(ranges, default=0.0) + 1e-6) + 1) / 3


def _level_stops(lux_s: FloatArray, wanted_lux_s: FloatArray) -> FloatArray:
    """Return lights against what is wanted; the last axes are moments. [stop]"""
    return np.log2(np.maximum(lux_s, _DARK)) - np.log2(np.maximum(wanted_lux_s, _FAINTEST))


def _middle(level_stops: FloatArray, axis: int = 0) -> FloatArray:
    """Return the middle between the brightest and the darkest along the axis of faces. [stop]"""
    return (level_stops.max(axis=axis) + level_stops.min(axis=axis)) / 2


def _faces_at(at: int | tuple[int, ...]) -> tuple:
    """Return the index of one moment in arrays whose first axis is faces."""
    return (slice(None), *(at if isinstance(at, tuple) else (at,)))
