"""Thin lines in a frame: a sea's horizon, the level of water, the rise that people stand on. Paths in millimetres, y down."""

import numpy as np

from app.picture.sensor import framed, projected
from app.picture.setup import Setup
from app.picture.stage import Stage
from app.place.skyline import Skyline
from app.units import FloatArray
from app.web.drawing.frames_paths import figure, outline_path, path_through

LEVEL_TO_DEG = 0.3  # a skyline lower than this is drawn as a horizon
FIRST_LINE_DEG, LINES_GROW = 0.5, 1.5  # from one line on the water to the next; to look right
RISE_M, STROKE_EVERY_M = 200.0, 0.35  # how far the rise goes to the sides, and between its strokes
STROKE_SHARES = (0.97, 0.93)  # how near the couple's line its strokes come down to, of the way from the camera


def horizon(setup: Setup, skyline: Skyline, azimuth_deg: FloatArray) -> str:
    """Return the skyline where it is all but level, at azimuths across the view."""
    altitude = skyline.altitude_at(azimuth_deg)
    x, y = setup.view.of_direction(azimuth_deg, altitude)
    level = (altitude <= LEVEL_TO_DEG) & ~np.isnan(x)
    ends = np.flatnonzero(np.diff(level)) + 1
    runs = (run for run in np.split(np.arange(len(x)), ends) if level[run[0]])
    return "".join(path_through(x[run], -y[run]) for run in runs)


def water_lines(setup: Setup) -> str:
    """Return level lines, denser towards the horizon, as still water is hatched."""
    camera, top = setup.camera, -setup.view.horizon_y_mm
    below_deg = FIRST_LINE_DEG * LINES_GROW ** np.arange(12)
    y = top + camera.focal_mm * np.tan(np.radians(below_deg))
    shown = y[(y > -camera.height_mm / 2) & (y < camera.height_mm / 2)]
    starts = -camera.width_mm / 2 - (np.arange(len(shown)) * 1.9) % 6.1  # so that their gaps do not stand in columns
    return "".join(f"M{figure(x)},{figure(at)}H{figure(camera.width_mm / 2)}" for x, at in zip(starts, shown, strict=True))


def rise(setup: Setup, stage: Stage) -> str:
    """Return the ground that comes up to the people where their feet are above the lens, with strokes down its slope.

    As in the stage: straight from pin to pin and level to the sides. Empty where their
    feet are lower, for then the ground reaches up to the horizon anyway.
    """
    if stage.couple_ground_m <= stage.eye_m:
        return ""
    camera, wide = setup.camera, np.array([-RISE_M, RISE_M])
    slope = projected(setup.view, np.concatenate([_on_slope(setup, stage, wide, 1.0), _on_slope(setup, stage, wide[::-1], 0.02)]))
    cut = framed(slope, camera.width_mm + 2, camera.height_mm + 2)
    return (outline_path([cut]) + _strokes(setup, stage)) if len(cut) > 2 else ""


def _strokes(setup: Setup, stage: Stage) -> str:
    """Return short strokes down the slope, long and short by turns, across the frame."""
    half_m = setup.distance_m * setup.camera.width_mm / setup.camera.focal_mm
    aside = np.arange(-half_m, half_m, STROKE_EVERY_M)
    upper = _on_slope(setup, stage, aside, 1.0)
    lower = np.where((np.arange(len(aside)) % 2 == 0)[:, np.newaxis], *(_on_slope(setup, stage, aside, share) for share in STROKE_SHARES))
    ends = [setup.view.of_point(*corners.T) for corners in (upper, lower)]
    (x0, y0), (x1, y1) = ends
    return "".join(path_through(np.array(x), -np.array(y)) for x, y in zip(zip(x0, x1, strict=True), zip(y0, y1, strict=True), strict=True))


def _on_slope(setup: Setup, stage: Stage, aside_m: FloatArray, share: float) -> FloatArray:
    """Return places on the slope from the lens, at a share of the way to the couple and so far to the right, shape (n, 3). [m]"""
    east, north = stage.couple_m / np.linalg.norm(stage.couple_m)
    camera_ground_m = stage.eye_m - setup.lens_height_m
    up_m = camera_ground_m + share * (stage.couple_ground_m - camera_ground_m) - stage.eye_m
    there = share * stage.couple_m + aside_m[:, np.newaxis] * [north, -east]
    return np.column_stack([there, np.full(len(aside_m), up_m)])
