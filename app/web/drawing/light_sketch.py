"""Lights seen from above, the camera at the foot: where each stands, what it is turned to, and where it would be even."""

from dataclasses import dataclass

import numpy as np

from app.light.lights import Light
from app.looks.light_plan import LightPlan
from app.picture.setup import Setup
from app.units import FloatArray
from app.web.drawing.frames_paths import figure

SIDE = 100.0  # of the drawing, in its own units; 90 of them for what is shown
LAMP = 5.0
STEPS_M = (0.5, 1.0, 2.0, 5.0, 10.0, 20.0)


@dataclass(frozen=True)
class SketchedLight:
    """A lamp's outline, where its number stands, and whether it is where it would be even."""

    number: int
    lamp: str
    x: float
    y: float
    moved: bool


@dataclass(frozen=True)
class LightSketch:
    """People as points with the way they look, lights, a scale bar of some metres, in a square with y down."""

    people: tuple[tuple[float, float, str], ...]
    lights: tuple[SketchedLight, ...]
    bar: float
    bar_m: float
    told: str


def light_sketch(setup: Setup, plan: LightPlan, moved: tuple[tuple[int, Light], ...]) -> LightSketch | None:
    """Return the sketch of a setup's lights, None where there are none; ``moved`` by their number where they would be even."""
    if not plan.lights:
        return None
    ahead = np.radians(setup.line_deg)
    placed = [*((n, light, False) for n, light in enumerate(plan.lights, 1)), *((n, light, True) for n, light in moved)]
    farthest_m = max(float(np.hypot(*light.position_m[:2])) for _, light, _ in placed)
    scale = 0.38 * SIDE / max(farthest_m, 1.5)
    turn = np.array([[np.cos(ahead), -np.sin(ahead)], [-np.sin(ahead), -np.cos(ahead)]])  # right and, with y down, nearer

    def at(point_m: tuple[float, ...]) -> FloatArray:
        return SIDE / 2 + scale * turn @ np.asarray(point_m[:2], dtype=float)

    people = tuple((*at(face.position_m).tolist(), _look(at(face.position_m), turn @ face.normal[:2])) for face in plan.faces)
    lights = tuple(SketchedLight(n, _lamp(at(light.position_m), at(light.aim_m)), *at(light.position_m).tolist(), is_moved) for n, light, is_moved in placed)
    bar_m = max(step for step in STEPS_M if step * scale <= 0.4 * SIDE or step == STEPS_M[0])
    told = ", ".join(f"light {n}{' where it would be even' if is_moved else ''} {_told(at(light.position_m), scale)}" for n, light, is_moved in placed)
    return LightSketch(people, lights, bar_m * scale, bar_m, told)


def _told(at: FloatArray, scale: float) -> str:
    across, nearer = (at - SIDE / 2) / scale
    side = "right" if across > 0 else "left"
    return f"{abs(across):.1f} m to the {side} and {abs(nearer):.1f} m {'towards the camera' if nearer > 0 else 'behind them'}"


def _look(at: FloatArray, way: FloatArray) -> str:
    return f"M{_xy(at)}L{_xy(at + 4.0 * way)}"


def _lamp(at: FloatArray, aim: FloatArray) -> str:
    """Return a reflector from above, narrow at its back, with a stroke the way it shines."""
    way = aim - at
    along = way / max(float(np.hypot(*way)), 1e-9)
    across = np.array([-along[1], along[0]])
    corners = (at - across * 1.6, at + across * 1.6, at + along * LAMP + across * 3.4, at + along * LAMP - across * 3.4)
    return f"M{'L'.join(_xy(corner) for corner in corners)}ZM{_xy(at + along * LAMP)}L{_xy(at + along * 2 * LAMP)}"


def _xy(point: FloatArray) -> str:
    return f"{figure(float(point[0]))},{figure(float(point[1]))}"
