"""The conditions looks are made of, each as a margin; every tolerance says where it comes from."""

import numpy as np

from app.looks.margin import Bounds, Margin, Scene
from app.picture.frame import WIDEST_DEG, sun_depth_m
from app.place.skyline import Skyline
from app.sky.track import SEMIDIAMETER_AT_1_AU_DEG, SunTrack
from app.units import FloatArray, turned_deg

SUN_DEG = 2 * SEMIDIAMETER_AT_1_AU_DEG
LEAST_SEMIDIAMETER_DEG = 0.26  # at aphelion 0.2621
SEARCH_SLACK = 1.05  # the air squeezes a low sun's path by up to a fifth, but never stretches it this much


def sun_behind(scene: Scene, tolerance_deg: float, whom: str = "them") -> Margin:
    """The sun's bearing within a tolerance of the line; 1 on the line."""
    line = scene.setup.line_deg
    return Margin(
        name="sun behind the couple",
        value=lambda sun: 1 - np.abs(turned_deg(sun.azimuth_deg, line)) / tolerance_deg,
        opens=f"sun comes behind {whom}",
        closes=lambda sun: f"sun leaves the line to the {_side(sun, line)}",
        steepest_per_deg=1 / tolerance_deg,
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
    )


def not_above(limit_deg: float, eases_deg: float) -> Margin:
    """The sun lower than a limit; 1 once it is ``eases_deg`` lower."""
    return Margin(
        name="sun low enough",
        value=lambda sun: (limit_deg - sun.refracted_deg) / eases_deg,
        opens=f"sun down to {limit_deg:g}°",
        closes=f"sun climbs past {limit_deg:g}°",
        steepest_per_deg=SEARCH_SLACK / eases_deg,
    )


def not_below(limit_deg: float, eases_deg: float, opens: str, closes: str) -> Margin:
    """The sun higher than a limit; 1 once it is ``eases_deg`` higher."""
    return Margin(
        name="sun high enough",
        value=lambda sun: (sun.refracted_deg - limit_deg) / eases_deg,
        opens=opens,
        closes=closes,
        steepest_per_deg=SEARCH_SLACK / eases_deg,
    )


def sun_gone() -> Margin:
    """The whole disc under the level horizon; 1 a degree lower."""
    return Margin(
        name="sun gone",
        value=lambda sun: -sun.upper_edge_deg,
        opens="sun has set",
        closes="sun rises",
        steepest_per_deg=SEARCH_SLACK,
    )


def clear_of_skyline(skyline: Skyline) -> Margin:
    """The disc's upper edge above the skyline, over the disc's width; 1 when all of it shows."""
    return Margin(
        name="clear of the skyline",
        value=lambda sun: skyline.clearance_deg(sun.azimuth_deg, sun.upper_edge_deg) / SUN_DEG,
        opens=lambda sun: _appears(skyline, sun),
        closes=lambda sun: _vanishes(skyline, sun),
        bounds=lambda before, after: _clearance_bounds(skyline, before, after),
    )


def in_frame(scene: Scene) -> Margin:
    """The whole disc inside the frame; 1 once it is a quarter of the short side from every edge."""
    view, camera = scene.setup.view, scene.setup.camera
    enough_mm = min(camera.width_mm, camera.height_mm) / 4
    corner = np.hypot(camera.width_mm, camera.height_mm) / 2 / camera.focal_mm

    def value(sun: SunTrack) -> FloatArray:
        inside = view.inside_mm(*view.of_direction(sun.azimuth_deg, sun.refracted_deg))
        disc_mm = camera.focal_mm * np.tan(np.radians(sun.semidiameter_deg))
        return np.maximum(np.nan_to_num((inside - disc_mm) / enough_mm, nan=-1.0), -1.0)

    return Margin(
        name="sun in the frame",
        value=value,
        opens=lambda sun: f"sun comes into the frame {_edge(scene, sun, 'from')}",
        closes=lambda sun: f"sun leaves the frame {_edge(scene, sun, 'at')}",
        # The rate a quarter of the short side outside the corner: farther out the value is cut off at -1.
        steepest_per_deg=SEARCH_SLACK * np.radians(camera.focal_mm) * (1 + (corner + enough_mm / camera.focal_mm) ** 2) / enough_mm,
    )


def hidden_by_people(scene: Scene) -> Margin:
    """The disc wholly behind the people; the spare depth over the disc's half width."""
    return Margin(
        name="sun hidden behind them",
        value=lambda sun: _spare(scene, sun, hidden=True),
        opens="they cover it",
        closes=lambda sun: f"comes out {_past_whom(scene, sun)}",
        steepest_per_deg=_steepest_behind_people(),
    )


def clear_of_people(scene: Scene) -> Margin:
    """At least half the disc's width past the people; 1 when all of it shows."""
    return Margin(
        name="sun clear of the couple",
        value=lambda sun: _spare(scene, sun, hidden=False),
        opens="comes out from behind them",
        closes="goes behind them",
        steepest_per_deg=_steepest_behind_people(),
    )


def _spare(scene: Scene, sun: SunTrack, hidden: bool) -> FloatArray:
    depth, radius = sun_depth_m(scene.setup, sun)
    return depth / radius - 1 if hidden else -depth / radius


def _steepest_behind_people() -> float:
    """The ray's foot moves at most 1 / cos² 45° times as fast, square on, as across the line itself."""
    return 1 / LEAST_SEMIDIAMETER_DEG / np.cos(np.radians(WIDEST_DEG)) ** 2


def _clearance_bounds(skyline: Skyline, before: SunTrack, after: SunTrack) -> Bounds:
    """The least and the most of the clearance on the way, canopies included.

    Within ten minutes a culminating sun swings 0.014° beyond the altitudes at its
    ends and a turning one 0.035° beyond the azimuths; it goes with the time squared.
    """
    share = ((after.utc_s - before.utc_s) / 600.0) ** 2
    lowest = np.minimum(before.upper_edge_deg, after.upper_edge_deg) - 0.02 * share
    highest = np.maximum(before.upper_edge_deg, after.upper_edge_deg) + 0.02 * share
    way = before.azimuth_deg, after.azimuth_deg
    least, most = skyline.clearance_bounds_deg(*way, lowest, highest, beyond_deg=0.05 * share)
    return least / SUN_DEG, most / SUN_DEG


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


def _past_whom(scene: Scene, sun: SunTrack) -> str:
    offset = turned_deg(sun.azimuth_deg, scene.setup.line_deg)
    later = scene.setup.people and abs(offset) < 0.15
    return "between them" if later and len(scene.setup.people) % 2 == 0 else f"past the {'right' if offset > 0 else 'left'} one"
