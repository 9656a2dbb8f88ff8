"""How water is toned in a frame: what it reflects of the sky, and where it glitters."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.looks.margin import Scene
from app.picture.frame import Sight
from app.picture.glitter import facets, fresnel_reflectance, slopes_for, sparkle
from app.picture.sensor import direction_of
from app.picture.water import Mirror, mirrors_of
from app.picture.weather import mirror_strength
from app.units import FloatArray
from app.web.drawing.frames_paths import outline_path

# Depressions at which the veil of water that is not mirror is worked out, straight between. [°]
VEIL_AT_DEG = (0.0, 0.5, 1.0, 2.0, 3.5, 5.0, 7.5, 10.0, 15.0, 20.0, 30.0, 45.0, 60.0, 85.0)
BODY = 0.03  # of the light that enters clear water comes back out of it; from memory
DISPLAY = 1 / 2.2  # a picture's tones rise as this power of the light
COLUMNS, ROWS = 48, 28
FAINTEST = 1e-9
LEVELS = (1.0, 4.0, 16.0, 64.0)  # glitter over the sky's brightness


@dataclass(frozen=True)
class Veil:
    """How much darker than the sky water is, from the level horizon's y down. Stops are (share of the way, opacity)."""

    top_mm: float
    foot_mm: float
    stops: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class WaterTone:
    """How a sheet of water is drawn in all frames: its veil, and how strongly it mirrors, 0..1."""

    veil: Veil
    strength: float


def water_tones(scene: Scene) -> tuple[WaterTone, ...]:
    """Return the tones of the scene's sheets of water, in the order of its mirrors."""
    return tuple(_tone(scene, mirror) for mirror in mirrors_of(scene.setup, scene.site, scene.skyline))


def glitter_levels(scene: Scene, seen: Sight) -> tuple[tuple[tuple[str, ...], ...], ...]:
    """Return for every instant and every sheet of water where it glitters.

    A path for each brightness, the widest first; none in a calm, with the wind not
    known or with the sun behind the skyline.
    """
    count, nothing = len(seen.sun.utc_s), ()
    mirrors = mirrors_of(scene.setup, scene.site, scene.skyline)
    each = [_levels(scene, mirror, seen) if _ruffled(scene, mirror) else [nothing] * count for mirror in mirrors]
    return tuple(zip(*each, strict=True)) if each else (nothing,) * count


def _tone(scene: Scene, mirror: Mirror) -> WaterTone:
    strength = mirror_strength(scene.weather, mirror.water)
    slopes = slopes_for(scene.weather, mirror.water)
    tilt_deg = np.degrees(np.sqrt((slopes.upwind + slopes.crosswind) / 2)) * (1 - strength)
    return WaterTone(_veil(mirror, float(tilt_deg)), round(strength, 2))


def _veil(mirror: Mirror, tilt_deg: float) -> Veil:
    """Return the veil over a sheet of water whose facets are tilted so far in the mean; to look right."""
    camera, view = mirror.view.camera, mirror.view
    depression = np.array(VEIL_AT_DEG)
    y_mm = camera.focal_mm * np.tan(np.radians(np.minimum(depression + view.tilt_deg, 85.0)))
    reflected = fresnel_reflectance(90 - np.hypot(depression, tilt_deg))
    opacity = 1 - (reflected + (1 - reflected) * BODY) ** DISPLAY
    top, foot = -view.horizon_y_mm, camera.height_mm / 2
    shown = (y_mm >= top) & (np.append(-np.inf, y_mm[:-1]) < foot)
    stops = zip(((y_mm[shown] - top) / max(foot - top, 1e-6)).tolist(), opacity[shown].tolist(), strict=True)
    return Veil(top, foot, tuple((round(share, 3), round(dark, 3)) for share, dark in stops))


def _ruffled(scene: Scene, mirror: Mirror) -> bool:
    return scene.weather.wind_m_s is not None and mirror_strength(scene.weather, mirror.water) < 1


def _levels(scene: Scene, mirror: Mirror, seen: Sight) -> list[tuple[str, ...]]:
    camera, view = mirror.view.camera, mirror.view
    top, foot = min(view.horizon_y_mm, camera.height_mm / 2), -camera.height_mm / 2
    if top <= foot:
        return [()] * len(seen.sun.utc_s)
    x, y = np.linspace(-0.5, 0.5, COLUMNS) * camera.width_mm, np.linspace(top, foot, ROWS + 1)[1:]
    azimuth, altitude = direction_of(view, *np.meshgrid(x, y))
    sun = (part[:, np.newaxis, np.newaxis] for part in (seen.sun.azimuth_deg, seen.sun.refracted_deg))
    bright = np.log(np.maximum(sparkle(facets(azimuth, -altitude, *sun), slopes_for(scene.weather, mirror.water)), FAINTEST))
    return [_paths(x, y, one) if clear else () for one, clear in zip(bright, seen.clear_deg > 0, strict=True)]


def _paths(x: FloatArray, y: FloatArray, bright: FloatArray) -> tuple[str, ...]:
    """Return the outlines of what is brighter than each level; ``bright`` is a logarithm, shape (rows, columns)."""
    found = (_outline(x, y, bright - np.log(level)) for level in LEVELS)
    return tuple(path for path in map(outline_path, found) if path)


def _outline(x: FloatArray, y: FloatArray, above: FloatArray) -> Sequence[FloatArray]:
    """Return outlines of where rows are above zero, one for each run of rows; a row has one stretch, as glitter does."""
    rows = np.flatnonzero((above > 0).any(axis=1))
    runs = np.split(rows, np.flatnonzero(np.diff(rows) > 1) + 1) if len(rows) else []
    return [_round(x, y, above, run) for run in runs]


def _round(x: FloatArray, y: FloatArray, above: FloatArray, run: FloatArray) -> FloatArray:
    up = above[run] > 0
    first, last = up.argmax(axis=1), up.shape[1] - 1 - up[:, ::-1].argmax(axis=1)
    left, right = _crossing(x, above[run], first, -1), _crossing(x, above[run], last, 1)
    half = abs(y[1] - y[0]) / 2
    down = np.concatenate([[y[run[0]] + half], y[run], [y[run[-1]] - half]])
    edges = [np.concatenate([side[:1], side, side[-1:]]) for side in (left, right)]
    return np.column_stack([np.concatenate([edges[0], edges[1][::-1]]), np.concatenate([down, down[::-1]])])


def _crossing(x: FloatArray, above: FloatArray, which: FloatArray, way: int) -> FloatArray:
    """Return where each row passes zero next to a column, on the side told by ``way``; the frame's edge if it does not."""
    rows, beside = np.arange(len(which)), np.clip(which + way, 0, len(x) - 1)
    here, there = above[rows, which], above[rows, beside]
    share = np.where(beside == which, 0.0, here / np.where(beside == which, 1.0, here - there))
    return x[which] + share * (x[beside] - x[which])
