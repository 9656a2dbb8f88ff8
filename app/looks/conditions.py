"""The conditions looks are made of, each as a margin; every tolerance says where it comes from."""

import numpy as np

from app.looks.cover import clear_bounds, clear_in_discs, comes_out, hidden_bounds, hidden_in_discs
from app.looks.margin import ALTITUDE, AZIMUTH, Margin, Scene
from app.looks.way import AIR_STRETCH, Bounds, Way
from app.place.skyline import SUN_DEG, Skyline
from app.sky.track import SunTrack
from app.units import FloatArray, turned_deg


def sun_behind(scene: Scene, tolerance_deg: float, whom: str = "them") -> Margin:
    """The sun's bearing within a tolerance of the line; 1 on the line."""
    line = scene.setup.line_deg
    return Margin(
        name="sun behind the couple",
        value=lambda sun: 1 - np.abs(turned_deg(sun.azimuth_deg, line)) / tolerance_deg,
        opens=f"sun comes behind {whom}",
        closes=lambda sun: f"sun leaves the line to the {_side(sun, line)}",
        steepest_per_deg=1 / tolerance_deg,
        along=AZIMUTH,
    )


def sun_beside(scene: Scene, tolerance_deg: float) -> Margin:
    """The sun square to the line on either side, within a tolerance; 1 when square."""
    line = scene.setup.line_deg
    return Margin(
        name="sun from the side",
        value=lambda sun: 1 - np.abs(np.abs(turned_deg(sun.azimuth_deg, line)) - 90) / tolerance_deg,
        opens="sun comes round to the side",
        closes=lambda sun: "sun goes behind them" if abs(turned_deg(sun.azimuth_deg, line)) < 90 else "sun goes to their front",
        steepest_per_deg=1 / tolerance_deg,
        along=AZIMUTH,
    )


def between_offsets(scene: Scene, low_deg: float, high_deg: float) -> Margin:
    """The sun's bearing less the line's between two bounds; 1 in the middle."""
    line, middle, half = scene.setup.line_deg, (low_deg + high_deg) / 2, (high_deg - low_deg) / 2
    return Margin(
        name="sun between the bounds on either side",
        value=lambda sun: 1 - np.abs(turned_deg(turned_deg(sun.azimuth_deg, line), middle)) / half,
        opens="sun comes within the bounds",
        closes=lambda sun: f"sun leaves the bounds to the {_side(sun, line + middle)}",
        steepest_per_deg=1 / half,
        along=AZIMUTH,
    )


def not_above(limit_deg: float, eases_deg: float) -> Margin:
    """The sun lower than a limit; 1 once it is ``eases_deg`` lower."""
    return Margin(
        name="sun low enough",
        value=lambda sun: (limit_deg - sun.refracted_deg) / eases_deg,
        opens=f"sun down to {limit_deg:g}°",
        closes=f"sun climbs past {limit_deg:g}°",
        steepest_per_deg=AIR_STRETCH / eases_deg,
        along=ALTITUDE,
    )


def not_below(limit_deg: float, eases_deg: float, opens: str, closes: str) -> Margin:
    """The sun higher than a limit; 1 once it is ``eases_deg`` higher."""
    return Margin(
        name="sun high enough",
        value=lambda sun: (sun.refracted_deg - limit_deg) / eases_deg,
        opens=opens,
        closes=closes,
        steepest_per_deg=AIR_STRETCH / eases_deg,
        along=ALTITUDE,
    )


def sun_gone() -> Margin:
    """The whole disc under the level horizon; 1 a degree lower."""
    return Margin(
        name="sun gone",
        value=lambda sun: -sun.upper_edge_deg,
        opens="sun has set",
        closes="sun rises",
        steepest_per_deg=AIR_STRETCH,
        along=ALTITUDE,
    )


def clear_of_skyline(skyline: Skyline) -> Margin:
    """What shows of the disc over the skyline, or between it and what hangs over it, over the disc's width; 1 when all shows."""
    return Margin(
        name="clear of the skyline",
        value=lambda sun: skyline.clearance_deg(sun.azimuth_deg, sun.upper_edge_deg) / SUN_DEG,
        opens=lambda sun: _appears(skyline, sun),
        closes=lambda sun: _vanishes(skyline, sun),
        bounds=lambda way: _clearance_bounds(skyline, way),
    )


def in_frame(scene: Scene) -> Margin:
    """The whole disc inside the frame; 1 once it is a quarter of the short side from every edge.

    Cut off at -1, a quarter of the short side outside, and behind the camera.
    """
    view, camera = scene.setup.view, scene.setup.camera
    enough_mm = min(camera.width_mm, camera.height_mm) / 4
    farthest = np.hypot(camera.width_mm / 2 + enough_mm, camera.height_mm / 2 + enough_mm) / camera.focal_mm

    def value(sun: SunTrack) -> FloatArray:
        inside = view.inside_mm(*view.of_direction(sun.azimuth_deg, sun.refracted_deg))
        disc_mm = camera.focal_mm * np.tan(np.radians(sun.semidiameter_deg))
        return np.maximum(np.nan_to_num((inside - disc_mm) / enough_mm, nan=-1.0), -1.0)

    return Margin(
        name="sun in the frame",
        value=value,
        opens=lambda sun: f"sun comes into the frame {_edge(scene, sun, 'from')}",
        closes=lambda sun: f"sun leaves the frame {_edge(scene, sun, 'at')}",
        # Off the axis by an angle whose tangent is t, the image moves by f (1 + t²) a radian at most.
        steepest_per_deg=AIR_STRETCH * np.radians(camera.focal_mm) * (1 + farthest**2) / enough_mm,
        bounds=lambda way: _frame_bounds(scene, way),
    )


def hidden_by_people(scene: Scene) -> Margin:
    """The disc wholly behind the people; the spare depth over the disc's half width, cut off at -1."""
    return Margin(
        name="sun hidden behind them",
        value=lambda sun: hidden_in_discs(scene, sun),
        opens="they cover the sun",
        closes=lambda sun: comes_out(scene, sun),
        bounds=lambda way: hidden_bounds(scene, way),
    )


def clear_of_people(scene: Scene) -> Margin:
    """At least half the disc's width past the people; 1 when all of it shows."""
    return Margin(
        name="sun clear of the couple",
        value=lambda sun: clear_in_discs(scene, sun),
        opens=lambda sun: comes_out(scene, sun),
        closes="sun goes behind them",
        bounds=lambda way: clear_bounds(scene, way),
    )


def _clearance_bounds(skyline: Skyline, way: Way) -> Bounds:
    least, most = skyline.clearance_bounds_deg(*way.ends.azimuth_deg, *way.upper_edge_deg, beyond_deg=way.strays_deg[0])
    return least / SUN_DEG, most / SUN_DEG


def _frame_bounds(scene: Scene, way: Way) -> Bounds:
    """Not above 0 where the sun cannot come as close to the lens's axis as the frame's corner; else anything."""
    moved_deg = AIR_STRETCH * (way.ends.utc_s[1] - way.ends.utc_s[0]) / 239.0  # the sky turns a degree in 239.3 s
    nearest_deg = (_off_axis_deg(scene, way.ends).sum(axis=0) - moved_deg) / 2
    misses = nearest_deg > scene.setup.camera.diagonal_deg / 2
    return np.full(misses.shape, -1.0), np.where(misses, 0.0, np.inf)


def _off_axis_deg(scene: Scene, sun: SunTrack) -> FloatArray:
    """Return the angle between the lens's axis and the sun. [°]"""
    view = scene.setup.view
    tilt, altitude = np.radians(view.tilt_deg), np.radians(sun.refracted_deg)
    across = np.cos(np.radians(sun.azimuth_deg - view.bearing_deg))
    cosine = np.sin(tilt) * np.sin(altitude) + np.cos(tilt) * np.cos(altitude) * across
    return np.degrees(np.arccos(np.clip(cosine, -1.0, 1.0)))


def _side(sun: SunTrack, bearing_deg: float) -> str:
    return "right" if turned_deg(sun.azimuth_deg, bearing_deg % 360) > 0 else "left"


def _appears(skyline: Skyline, sun: SunTrack) -> str:
    called = _called(skyline, sun)
    return f"sunrise over {called}" if _is_level(skyline, sun) else f"sun clears {called}"


def _vanishes(skyline: Skyline, sun: SunTrack) -> str:
    called = _called(skyline, sun)
    return f"sunset over {called}" if _is_level(skyline, sun) else f"behind {called}"


def _called(skyline: Skyline, sun: SunTrack) -> str:
    return skyline.called_at(float(sun.azimuth_deg), float(sun.upper_edge_deg))


def _is_level(skyline: Skyline, sun: SunTrack) -> bool:
    """Tell whether the sun meets a level horizon or one lower still: a sea, a plain."""
    return float(sun.upper_edge_deg) < 0.05 and skyline.altitude_at(float(sun.azimuth_deg)) <= 0.0


def _edge(scene: Scene, sun: SunTrack, preposition: str) -> str:
    x_mm, y_mm = scene.setup.view.of_direction(sun.azimuth_deg, sun.refracted_deg)
    camera = scene.setup.camera
    if camera.width_mm / 2 - abs(x_mm) < camera.height_mm / 2 - abs(y_mm):
        return f"{preposition} the {'right' if x_mm > 0 else 'left'}"
    return f"{preposition} the {'top' if y_mm > 0 else 'bottom'}"
