"""Paths, greys and figures for drawings, as short as the eye allows."""

from collections.abc import Iterable

import numpy as np

from app.units import FloatArray

PAPER_TONE = 255.0


def path_through(x: FloatArray, y: FloatArray) -> str:
    """Return a path through points: absolute at the start, then short relative steps."""
    if len(x) < 2:
        return ""
    across, down = np.round(x, 2), np.round(y, 2)
    steps = " ".join(f"{figure(dx)},{figure(dy)}" for dx, dy in zip(np.diff(across).tolist(), np.diff(down).tolist(), strict=True))
    return f"M{figure(across[0])},{figure(down[0])}l{steps}"


def outline_path(shapes_mm: Iterable[FloatArray]) -> str:
    """Return one path round shapes on the sensor, shape (n, 2) with y up. [mm]"""
    return "".join(f"{path_through(shape[:, 0], -shape[:, 1])}Z" for shape in shapes_mm if len(shape) > 2)


def figure(value: float) -> str:
    """Return a number with at most two decimals, never “-0”."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def grey(tone: float) -> str:
    """Return a grey, 0 black to 1 paper white."""
    level = round(min(1.0, max(0.0, tone)) * PAPER_TONE)
    return f"#{level:02x}{level:02x}{level:02x}"
