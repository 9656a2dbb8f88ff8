"""The predicted frame: where the sun falls, what covers it, how far the camera may move."""

from dataclasses import dataclass

import numpy as np

from app.picture.people import depth_m
from app.picture.setup import Setup
from app.place.skyline import Skyline
from app.sky.track import SunTrack
from app.units import FloatArray, turned_deg

WIDEST_DEG = 45.0  # the plane through the couple means little farther off the line


@dataclass(frozen=True)
class Sight:
    """The sun in a setup's picture at many instants; all arrays have one shape.

    Attributes
    ----------
    offset_deg : array
        The sun's bearing less the line's, right positive, -180..180. [°]
    altitude_deg : array
        As seen through the air. [°]
    x_mm, y_mm : array
        The disc's centre on the sensor, right and up; NaN behind the camera. [mm]
    in_frame : array of bool
        Any of the disc lies in the frame, whatever hides it.
    clear_deg : array
        The disc's upper edge above the skyline there. [°]
    covered : array
        Share of the disc that the people hide, 0..1, the skyline apart.
    room_m : array
        How far the camera may move, at right angles to the sun's ray, before
        the sun is touched, bared or wholly hidden; NaN where the line says nothing. [m]
    """

    sun: SunTrack
    offset_deg: FloatArray
    altitude_deg: FloatArray
    x_mm: FloatArray
    y_mm: FloatArray
    in_frame: np.ndarray
    clear_deg: FloatArray
    covered: FloatArray
    room_m: FloatArray


def sight(setup: Setup, skyline: Skyline, sun: SunTrack) -> Sight:
    """Return where the sun stands in the picture at every instant of a track."""
    x_mm, y_mm = setup.view.of_direction(sun.azimuth_deg, sun.refracted_deg)
    depth, radius = sun_depth_m(setup, sun)
    radius_mm = setup.camera.focal_mm * np.tan(np.radians(sun.semidiameter_deg))
    return Sight(
        sun=sun,
        offset_deg=turned_deg(sun.azimuth_deg, setup.line_deg),
        altitude_deg=sun.refracted_deg,
        x_mm=x_mm,
        y_mm=y_mm,
        in_frame=setup.view.inside_mm(x_mm, y_mm) > -radius_mm,
        clear_deg=skyline.clearance_deg(sun.azimuth_deg, sun.upper_edge_deg),
        covered=covered_share(setup, sun),
        room_m=np.minimum(np.abs(depth - radius), np.abs(depth + radius)),
    )


def sun_on_couple_m(setup: Setup, sun: SunTrack) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return where the ray from the lens to the sun meets the plane through the couple.

    Across to the right of the line, up from their ground, and the disc's radius
    there, all in metres. Farther than 45° off the line it is held at 45°, well
    away from anybody.
    """
    offset = np.radians(np.clip(turned_deg(sun.azimuth_deg, setup.line_deg), -WIDEST_DEG, WIDEST_DEG))
    slant_m = setup.distance_m / np.cos(offset)
    across_m = setup.distance_m * np.tan(offset)
    up_m = setup.eye_m + slant_m * np.tan(np.radians(np.minimum(sun.refracted_deg, 80.0)))
    return across_m, up_m, slant_m * np.tan(np.radians(sun.semidiameter_deg))


def sun_depth_m(setup: Setup, sun: SunTrack) -> tuple[FloatArray, FloatArray]:
    """Return how deep behind the people the disc's centre stands, and its radius there. [m]"""
    across_m, up_m, radius_m = sun_on_couple_m(setup, sun)
    if not setup.figures:
        return np.full_like(across_m, -np.inf), radius_m
    return depth_m(setup.figures, across_m, up_m), radius_m


def covered_share(setup: Setup, sun: SunTrack) -> FloatArray:
    """Return the share of the disc that the people hide, by 300 even points on it."""
    across_m, up_m, radius_m = sun_on_couple_m(setup, sun)
    if not setup.figures:
        return np.zeros_like(across_m)
    n = np.arange(300)
    reach, turn = np.sqrt((n + 0.5) / len(n)), n * np.pi * (3 - np.sqrt(5))  # a sunflower's even spread
    points_across = across_m[..., np.newaxis] + radius_m[..., np.newaxis] * reach * np.cos(turn)
    points_up = up_m[..., np.newaxis] + radius_m[..., np.newaxis] * reach * np.sin(turn)
    return np.mean(depth_m(setup.figures, points_across, points_up) > 0, axis=-1)
