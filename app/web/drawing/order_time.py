"""What runs across a running order's drawing: the scale of its time, its ticks, and the sun's height."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

import numpy as np

from app.place.timezone import local_time
from app.sky.crossings import crossings
from app.sky.events import RISE_SET_DEG
from app.sky.track import Observer
from app.units import FloatArray
from app.web.drawing.frames_paths import path_through
from app.web.render import clock

STEP_S = 30.0
TICKS_S = (600, 900, 1800, 3600, 7200, 14_400, 21_600, 43_200, 86_400)
HEIGHTS_DEG = (2, 5, 10, 20, 40, 60)  # the last is for a whole day where the sun goes overhead
Sun = tuple[str, str, tuple[tuple[float, str], ...], tuple[float, float, str] | None]


@dataclass(frozen=True)
class TimeScale:
    """Instants to places across the drawing."""

    first_s: float
    last_s: float
    left: float
    right: float

    def x(self, utc_s: FloatArray | float) -> FloatArray | float:
        return self.left + (np.clip(utc_s, self.first_s, self.last_s) - self.first_s) / (self.last_s - self.first_s) * (self.right - self.left)

    @property
    def instants(self) -> FloatArray:
        return np.linspace(self.first_s, self.last_s, round((self.last_s - self.first_s) / STEP_S) + 1)


def sun_lines(observer: Observer, scale: TimeScale, zone: str, top: float, bottom: float) -> Sun:
    """Return the height of the sun's upper edge above and below a level horizon, its scale, and where it sets or rises first."""
    level = np.asarray(observer.sun_at(scale.instants).upper_edge_deg)
    high, low = float(max(level.max(), 3.0)), float(min(level.min(), -1.0))

    def y(deg: FloatArray | float) -> FloatArray | float:
        return bottom - (deg - low) / (high - low) * (bottom - top)

    x = np.asarray(scale.x(scale.instants))
    paths = ["".join(_run(x, y(level), mask)) for mask in (level >= 0, level <= 0)]
    step = next((step for step in HEIGHTS_DEG if (high - low) / step <= 4), HEIGHTS_DEG[-1])
    marks = tuple((float(y(float(deg))), f"{deg}°") for deg in range(int(np.ceil(low / step)) * step, int(high) + 1, step))
    found = crossings(observer, scale.first_s, scale.last_s, RISE_SET_DEG)
    passage = None
    if len(found.utc_s):
        at = float(found.utc_s[0])
        words = f"{clock(at, zone)} {'sunrise' if found.rising[0] else 'sunset'} over level ground"
        passage = float(scale.x(at)), float(y(0.0)), words
    return paths[0], paths[1], marks, passage


def _run(x: FloatArray, y: FloatArray, mask: FloatArray) -> Iterator[str]:
    """Yield a path for each stretch in which the mask holds, every fourth point and the last."""
    for holds, run in groupby(range(len(x)), key=lambda n: bool(mask[n])):
        if holds:
            places = list(run)
            keep = sorted({*places[::4], places[-1]})
            yield path_through(x[keep], y[keep])


def ticks(scale: TimeScale, zone: str, kind: str) -> Iterator[tuple[float, str, bool]]:
    """Yield ticks at whole steps of the clock with their words, and whether each is a full hour."""
    room = 12 if kind == "desk" else 5
    step = next((step for step in TICKS_S if (scale.last_s - scale.first_s) / step <= room), TICKS_S[-1])
    for at in np.arange(np.ceil(scale.first_s / step), np.floor(scale.last_s / step) + 1) * step:
        yield float(scale.x(at)), clock(float(at), zone), local_time(float(at), zone).minute == 0
