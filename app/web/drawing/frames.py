"""Frames as drawings: millimetres on the sensor turned into paths, tones and words."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from app.light.daylight import sky_tone
from app.looks.margin import Scene
from app.picture.frame import Sight, sight
from app.picture.setup import Setup
from app.picture.words import cover_words, where_words
from app.place.skyline import Skyline
from app.place.timezone import local_time
from app.units import FloatArray

LAND_OVER_SKY, GROUND_OVER_SKY = 0.26, 0.46  # a far ridge against the light, and the ground before it; to look right
PAPER_TONE = 255.0


@dataclass(frozen=True)
class FrameShapes:
    """What all frames of a sheet share, in millimetres with y down.

    ``land`` is the skyline's path down to the frame's foot, empty where it is
    level; ``ground_mm`` the level horizon's y, None when it lies under the frame.
    """

    width_mm: float
    height_mm: float
    land: str
    ground_mm: float | None
    figures: tuple[str, ...]
    path: str


@dataclass(frozen=True)
class DrawnFrame:
    """One frame: its edge, its tones, its sun and its two lines of words."""

    number: int
    utc_s: float
    at: datetime
    sky: str
    land: str
    ground: str
    sun: tuple[float, float, float] | None
    where: str
    cover: str
    chosen: bool

    @property
    def clock(self) -> str:
        """Hours and minutes on the site's clocks, with seconds where they are not whole minutes."""
        return self.at.strftime("%H:%M" if self.at.second == 0 else "%H:%M:%S")


@dataclass(frozen=True)
class FrameSheet:
    """A strip or sheet of frames of one setup. ``sheet_id`` keeps shared shapes apart on a page."""

    sheet_id: str
    shapes: FrameShapes
    frames: tuple[DrawnFrame, ...]


def sheet_for(
    scene: Scene, instants_utc_s: FloatArray, zone: str, chosen: Collection[float] = (), sheet_id: str = "sheet"
) -> FrameSheet:
    """Return the predicted frames of a setup at given instants, in time order.

    ``chosen`` are the instants ringed, seconds since 1970 UTC; ``zone`` names
    the clocks the frames show.
    """
    seen = sight(scene.setup, scene.skyline, scene.observer.sun_at(instants_utc_s))
    frames = tuple(_frame(scene, seen, which, zone, chosen) for which in range(len(instants_utc_s)))
    return FrameSheet(sheet_id, _shapes(scene, seen), frames)


def _frame(scene: Scene, seen: Sight, which: int, zone: str, chosen: Collection[float]) -> DrawnFrame:
    utc_s, tone = float(seen.sun.utc_s[which]), float(sky_tone(seen.sun.airless_deg[which]))
    return DrawnFrame(
        number=which + 1,
        utc_s=utc_s,
        at=local_time(utc_s, zone),
        sky=_grey(tone),
        land=_grey(tone * LAND_OVER_SKY),
        ground=_grey(tone * GROUND_OVER_SKY),
        sun=_disc(scene.setup, seen, which),
        where=where_words(seen, scene.skyline, which),
        cover=cover_words(seen, which),
        chosen=round(utc_s) in chosen,
    )


def _disc(setup: Setup, seen: Sight, which: int) -> tuple[float, float, float] | None:
    """Return the disc's place and true radius, if any of its glow can fall in the frame. [mm]"""
    radius = setup.camera.focal_mm * np.tan(np.radians(seen.sun.semidiameter_deg[which]))
    inside = setup.view.inside_mm(seen.x_mm[which], seen.y_mm[which])
    if np.isnan(inside) or inside < -8 * radius or seen.sun.upper_edge_deg[which] < 0:
        return None
    return float(seen.x_mm[which]), float(-seen.y_mm[which]), float(radius)


def _shapes(scene: Scene, seen: Sight) -> FrameShapes:
    camera, view = scene.setup.camera, scene.setup.view
    foot = camera.height_mm / 2 + 1
    ground = -view.horizon_y_mm
    return FrameShapes(
        width_mm=camera.width_mm,
        height_mm=camera.height_mm,
        land=_land(scene, foot),
        ground_mm=max(ground, -foot) if ground < foot else None,
        figures=_figures(scene.setup),
        path=path_through(*_in_sight(seen, camera.width_mm, camera.height_mm)),
    )


def _land(scene: Scene, foot: float) -> str:
    camera, view, skyline = scene.setup.camera, scene.setup.view, scene.skyline
    reach = min(80.0, camera.diagonal_deg / 2 + 6)
    azimuth = _bends(skyline, view.bearing_deg, reach)
    altitude = skyline.altitude_at(azimuth)
    if np.all(altitude <= 0):
        return ""
    x, y = view.of_direction(azimuth, altitude)
    shown = ~np.isnan(x)
    return f"{path_through(x[shown], -y[shown])}V{_figure(foot)}H{_figure(x[shown][0])}Z"


def _bends(skyline: Skyline, middle_deg: float, reach_deg: float) -> FloatArray:
    """Return azimuths across the view, every degree and at each of the skyline's nodes."""
    nodes = (skyline.azimuth_deg - middle_deg + 180.0) % 360.0 - 180.0
    steps = np.arange(-reach_deg, reach_deg + 1.0)
    return middle_deg + np.unique(np.concatenate([steps, nodes[np.abs(nodes) < reach_deg]]))


def _figures(setup: Setup) -> tuple[str, ...]:
    """Return the people's outlines as they fall on the sensor."""
    bearing = np.radians(setup.line_deg)
    paths = []
    for solid in setup.figures:
        across, up = solid.outline_m()
        east = setup.distance_m * np.sin(bearing) + across * np.cos(bearing)
        north = setup.distance_m * np.cos(bearing) - across * np.sin(bearing)
        x, y = setup.view.of_point(east, north, up - setup.eye_m)
        if not np.isnan(x).any():
            paths.append(f"{path_through(x, -y)}Z")
    return tuple(paths)


def _in_sight(seen: Sight, width_mm: float, height_mm: float) -> tuple[FloatArray, FloatArray]:
    """Return the sun's way across the frame, a little beyond its edges."""
    near = (np.abs(seen.x_mm) < width_mm) & (np.abs(seen.y_mm) < height_mm)
    return seen.x_mm[near], -seen.y_mm[near]


def path_through(x: FloatArray, y: FloatArray) -> str:
    """Return a path through points: absolute at the start, then short relative steps."""
    if len(x) < 2:
        return ""
    across, down = np.round(x, 2), np.round(y, 2)
    steps = " ".join(f"{_figure(dx)},{_figure(dy)}" for dx, dy in zip(np.diff(across), np.diff(down), strict=True))
    return f"M{_figure(across[0])},{_figure(down[0])}l{steps}"


def _figure(value: float) -> str:
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _grey(tone: float) -> str:
    level = round(min(1.0, tone) * PAPER_TONE)
    return f"#{level:02x}{level:02x}{level:02x}"
