"""Paths, greys and figures for drawings, as short as the eye allows."""

from collections.abc import Iterable
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from app.units import FloatArray

PAPER_TONE = 255.0


def path_through(x: FloatArray, y: FloatArray) -> str:
    """Return a path through points: absolute at the start, then short relative steps."""
    if len(x) < 2:
        return ""
    across, down = _hundredths(x), _hundredths(y)
    steps = " ".join(map("{},{}".format, map(_decimal, np.diff(across).tolist()), map(_decimal, np.diff(down).tolist())))
    return f"M{_decimal(int(across[0]))},{_decimal(int(down[0]))}l{steps}"


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


def _hundredths(values: FloatArray) -> NDArray[np.int64]:
    return np.rint(np.asarray(values, dtype=float) * 100).astype(np.int64)


@lru_cache(maxsize=1 << 15)
def _decimal(hundredths: int) -> str:
    """Return a number of hundredths; a page holds thousands of figures, and most of them often."""
    return figure(hundredths / 100)
