"""The ground's skyline as an ink profile, all round from behind the camera to behind it again."""

from dataclasses import dataclass

import numpy as np

from app.place.terrain_skyline import TerrainView
from app.units import FloatArray, compass_deg, signed_deg
from app.web.drawing.frames import path_through
from app.web.terrains import TerrainSeen

WIDTH, HEIGHT = 1000.0, 100.0  # drawn narrower and taller as the page allows
POINTS = 721  # every half degree
LEAST_TOP_DEG = 4.0
LINE_STEPS_DEG = (1.0, 2.0, 5.0, 10.0, 20.0, 40.0)
MOST_LINES = 5
ROW_DEG = 30.0


@dataclass(frozen=True)
class Row:
    """The skyline at one bearing, in numbers; ``away_m`` is None where it is level or unknown. [°, °, m]"""

    bearing_deg: float
    turn: str
    altitude_deg: float
    called: str
    away_m: float | None


@dataclass(frozen=True)
class Profile:
    """The drawing in a box ``WIDTH`` by ``HEIGHT``, and the same in numbers.

    ``unknown`` are stretches, from and to, where no ground is known; ``frame``
    the picture's left and right edge; ``lines`` stand every ``line_step_deg``.
    """

    ink: str
    level_y: float
    lines: tuple[float, ...]
    line_step_deg: float
    unknown: tuple[tuple[float, float], ...]
    frame: tuple[float, float]
    labels: tuple[tuple[float, str], ...]
    highest: Row
    rows: tuple[Row, ...]


def draw_profile(seen: TerrainSeen) -> Profile:
    """Return the profile with the setup's line in the middle."""
    line_deg = seen.setup.line_deg
    bearing = line_deg + np.linspace(-180.0, 180.0, POINTS)
    altitude = np.asarray(seen.view.skyline.altitude_at(bearing))
    foot, top, step = _scale(altitude)
    y = HEIGHT * (top - altitude) / (top - foot)
    x = np.linspace(0.0, WIDTH, POINTS)
    return Profile(
        ink=f"{path_through(np.append(x, [WIDTH, 0.0]), np.append(y, [HEIGHT, HEIGHT]))}Z",
        level_y=HEIGHT * top / (top - foot),
        lines=tuple(HEIGHT * (top - at) / (top - foot) for at in np.arange(step, top, step)),
        line_step_deg=step,
        unknown=tuple(_runs(x, _at_nodes(seen.view, bearing, seen.view.reach_m) == 0)),
        frame=_frame(seen),
        labels=tuple((float(compass_deg(line_deg + turn)), words) for turn, words in _SIDES),
        highest=_row(seen, _highest_deg(seen.view)),
        rows=tuple(_row(seen, float(at)) for at in line_deg + np.arange(-150.0, 181.0, ROW_DEG)),
    )


_SIDES = ((-180.0, "behind"), (-90.0, "left"), (0.0, "the line"), (90.0, "right"), (180.0, "behind"))


def _scale(altitude_deg: FloatArray) -> tuple[float, float, float]:
    """Return the lowest and highest altitude drawn and the step between lines. [°]"""
    top = max(LEAST_TOP_DEG, float(np.ceil(altitude_deg.max() * 1.1)))
    foot = min(-top / 8, float(altitude_deg.min()) - 0.1)
    return foot, top, next(step for step in LINE_STEPS_DEG if top / step <= MOST_LINES)


def _frame(seen: TerrainSeen) -> tuple[float, float]:
    """Return where the picture's edges fall, as x; those of a turned aim may lie beyond the drawing."""
    middle = float(signed_deg(seen.setup.view.bearing_deg - seen.setup.line_deg))
    half = seen.setup.camera.horizontal_deg / 2
    return (middle - half + 180) / 360 * WIDTH, (middle + half + 180) / 360 * WIDTH


def _runs(x: FloatArray, chosen: np.ndarray) -> list[tuple[float, float]]:
    edges = np.flatnonzero(np.diff(np.concatenate([[False], chosen, [False]])))
    return [(float(x[start]), float(x[end - 1])) for start, end in zip(edges[::2], edges[1::2], strict=True)]


def _at_nodes(view: TerrainView, bearing_deg: FloatArray, values: FloatArray) -> FloatArray:
    """Return the values of the nearest nodes."""
    step = 360.0 / len(values)
    return values[np.round(compass_deg(bearing_deg) / step).astype(int) % len(values)]


def _highest_deg(view: TerrainView) -> float:
    return float(view.skyline.azimuth_deg[np.argmax(view.skyline.altitude_deg)])


def _row(seen: TerrainSeen, bearing_deg: float) -> Row:
    view, bearing = seen.view, float(compass_deg(bearing_deg))
    away_m = float(_at_nodes(view, np.array([bearing]), view.distance_m)[0])
    return Row(
        bearing,
        turn_words(float(signed_deg(bearing - seen.setup.line_deg))),
        float(view.skyline.altitude_at(bearing)),
        view.skyline.called_at(bearing),
        None if np.isnan(away_m) else away_m,
    )


def turn_words(turn_deg: float) -> str:
    """Return where a bearing lies, seen from the line: “12° right”, “along the line”, “behind the camera”."""
    if abs(turn_deg) >= 179.5:
        return "behind the camera"
    return "along the line" if abs(turn_deg) < 0.5 else f"{abs(turn_deg):.0f}° {'right' if turn_deg > 0 else 'left'}"
