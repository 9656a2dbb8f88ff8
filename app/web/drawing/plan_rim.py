"""The plan's border: how much of the sky is cut off, all round, and where the sun passes it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.looks.margin import Scene
from app.units import FloatArray
from app.web.drawing.plan_sheet import Sheet, path_of
from app.web.render import clock

TICK_EVERY = 4.0  # units along the border
HIGHEST = 24.0  # units for the highest skyline that is drawn, or for the sun passing over it
LEAST, MOST = 2.0, 3.0  # units for a degree: a wall near by is cut off, so that far hills still show
SIDE, TOP = 68.0, 46.0  # the border's width, left and right, above and below
BEARINGS_EVERY = 10
ROOM_ASIDE, ROOM_ALONG = 13.0, 34.0  # between two labels on a side wall, and along the top
WAY_S = 120.0  # between points of the sun's way
SHOWN_S = 1200.0  # times are lettered so often, and for the moment picked


@dataclass(frozen=True)
class RimLabel:
    """Words on the border, with the stroke that points at their place."""

    x: float
    y: float
    words: str
    anchor: str
    stroke: str
    kind: str


@dataclass(frozen=True)
class Rim:
    """The border of a sheet, told from one point.

    ``ticks`` is the hatching, ``edge`` the skyline itself, ``way`` the sun's path
    and ``sun`` its place at the moment picked, both while it is low enough. What of the skyline is higher than
    ``drawn_deg`` is cut off there. [°]
    """

    ticks: str
    edge: str
    way: str
    sun: tuple[float, float] | None
    labels: tuple[RimLabel, ...]
    highest_deg: float
    drawn_deg: float


def rim_for(scene: Scene, sheet: Sheet, instants_utc_s: FloatArray, at_utc_s: float, zone: str) -> Rim | None:
    """Return the border as seen from the couple; None when they stand outside the sheet."""
    couple = sheet.of_pin(scene.setup.couple_pin)
    if not (2.0 < couple[0] < sheet.width - 2.0 and 2.0 < couple[1] < sheet.height - 2.0):
        return None
    border, outward = _border(sheet)
    altitude_deg = np.maximum(scene.couple_skyline.altitude_at(_bearings(border - couple)), 0.0)
    highest_deg = float(np.max(scene.couple_skyline.altitude_deg))
    for_degree = float(np.clip(HIGHEST / max(highest_deg, 0.1), LEAST, MOST))
    tops = border + outward * np.minimum(altitude_deg * for_degree, HIGHEST)[:, np.newaxis]
    return Rim(
        ticks="".join(
            f"M{_xy(foot)}L{_xy(top)}" for foot, top in zip(border, tops, strict=True) if _apart(foot, top)
        ),
        edge=path_of(tops, True),
        way=_way(scene, sheet, couple, instants_utc_s, for_degree),
        sun=_sun(scene, sheet, couple, at_utc_s, for_degree),
        labels=tuple(_labels(scene, sheet, couple, instants_utc_s, at_utc_s, zone)),
        highest_deg=highest_deg,
        drawn_deg=HIGHEST / for_degree,
    )


def _border(sheet: Sheet) -> tuple[FloatArray, FloatArray]:
    """Return points along the sheet's edge, clockwise from the upper left corner, and which way is out."""
    across = np.linspace(0, sheet.width, int(sheet.width / TICK_EVERY) + 1)
    down = np.linspace(0, sheet.height, int(sheet.height / TICK_EVERY) + 1)
    sides = [
        (across, np.zeros_like(across), (0, -1)),
        (np.full_like(down, sheet.width), down, (1, 0)),
        (across[::-1], np.full_like(across, sheet.height), (0, 1)),
        (np.zeros_like(down), down[::-1], (-1, 0)),
    ]
    points = np.concatenate([np.stack([x, y], axis=-1) for x, y, _ in sides])
    return points, np.concatenate([np.tile(np.array(out, dtype=float), (len(x), 1)) for x, _, out in sides])


def _bearings(steps: FloatArray) -> FloatArray:
    return np.degrees(np.arctan2(steps[..., 0], -steps[..., 1])) % 360.0


def _at_border(sheet: Sheet, couple: FloatArray, bearing_deg: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return where bearings from the couple meet the sheet's edge, and which way is out there."""
    towards = np.stack([np.sin(np.radians(bearing_deg)), -np.cos(np.radians(bearing_deg))], axis=-1)
    size = np.array([sheet.width, sheet.height])
    with np.errstate(divide="ignore"):
        reach = np.where(
            towards > 0, (size - couple) / towards, np.where(towards < 0, -couple / towards, np.inf)
        )
    first = np.argmin(reach, axis=-1)
    out = np.zeros_like(towards)
    rows = np.arange(len(towards))
    out[rows, first] = np.sign(towards[rows, first])
    return couple + towards * np.min(reach, axis=-1)[:, np.newaxis], out


def _way(
    scene: Scene, sheet: Sheet, couple: FloatArray, instants_utc_s: FloatArray, for_degree: float
) -> str:
    if not len(instants_utc_s):
        return ""
    sun = scene.observer.sun_over(float(instants_utc_s[0]), float(instants_utc_s[-1]) + WAY_S, WAY_S)
    height = sun.refracted_deg * for_degree
    low = (height > -2.0) & (height < HIGHEST)
    if low.sum() < 2:
        return ""
    points, out = _at_border(sheet, couple, sun.azimuth_deg[low])
    shown = points + out * height[low][:, np.newaxis]
    breaks = (
        np.flatnonzero((np.diff(np.flatnonzero(low)) > 1) | np.any(np.diff(out, axis=0) != 0, axis=1)) + 1
    )
    return "".join(path_of(piece) for piece in np.split(shown, breaks) if len(piece) > 1)


def _sun(
    scene: Scene, sheet: Sheet, couple: FloatArray, at_utc_s: float, for_degree: float
) -> tuple[float, float] | None:
    sun = scene.observer.sun_at(np.array([at_utc_s]))
    height = float(sun.refracted_deg[0]) * for_degree
    if sun.upper_edge_deg[0] < 0 or height > HIGHEST:
        return None
    points, out = _at_border(sheet, couple, sun.azimuth_deg)
    x, y = points[0] + out[0] * height
    return float(x), float(y)


def _labels(
    scene: Scene, sheet: Sheet, couple: FloatArray, instants_utc_s: FloatArray, at_utc_s: float, zone: str
) -> list[RimLabel]:
    """Return times where the sun stands, then bearings in what room is left."""
    shown = np.array([at_utc_s, *(at for at in instants_utc_s if round(at) % SHOWN_S == 0)])
    sun = scene.observer.sun_at(shown)
    times = [
        (float(azimuth), clock(at, zone), "picked" if at == at_utc_s else "time")
        for azimuth, at, above in zip(sun.azimuth_deg, shown, sun.upper_edge_deg > 0, strict=True)
        if above
    ]
    bearings = [(float(bearing), f"{bearing:03d}°", "bearing") for bearing in range(0, 360, BEARINGS_EVERY)]
    kept: list[RimLabel] = []
    for bearing_deg, words, kind in times + bearings:
        label = _label(sheet, couple, bearing_deg, words, kind)
        if all(_clear(label, other) for other in kept):
            kept.append(label)
    return kept


def _label(sheet: Sheet, couple: FloatArray, bearing_deg: float, words: str, kind: str) -> RimLabel:
    points, outs = _at_border(sheet, couple, np.array([bearing_deg]))
    (x, y), (right, down) = points[0], outs[0]
    if right:
        wall = x + right * SIDE
        level = float(np.clip(y, 6, sheet.height - 6) + 3)
        anchor = "end" if right > 0 else "start"
        return RimLabel(
            float(wall - right * 8), level, words, anchor, f"M{wall:.1f} {y:.1f}h{-right * 5:g}", kind
        )
    wall = y + down * TOP
    middle = float(np.clip(x, 12, sheet.width - 12))
    level = float(wall - down * 11 + 3)
    return RimLabel(middle, level, words, "middle", f"M{x:.1f} {wall:.1f}v{-down * 5:g}", kind)


def _clear(one: RimLabel, other: RimLabel) -> bool:
    if one.anchor != other.anchor:
        return True
    return abs(one.y - other.y) >= ROOM_ASIDE or abs(one.x - other.x) >= ROOM_ALONG


def _apart(foot: FloatArray, top: FloatArray) -> bool:
    return bool(np.max(np.abs(foot - top)) > 0.2)


def _xy(point: Sequence[float]) -> str:
    return f"{point[0]:.1f} {point[1]:.1f}"
