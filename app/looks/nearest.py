"""Why a look does not hold: the moment at which it comes nearest, and what fails then."""

from dataclasses import dataclass

import numpy as np

from app.looks.margin import Margin
from app.sky.track import Observer

EVERY_S = 120.0


@dataclass(frozen=True)
class Nearest:
    """When a look comes nearest, seconds since 1970 UTC, and the names of what fails then."""

    utc_s: float
    fails: tuple[str, ...]


def nearest(margins: tuple[Margin, ...], observer: Observer, start_utc_s: float, end_utc_s: float) -> Nearest:
    """Return the moment of a span at which the fewest margins fail, and of those the one that fits best, to two minutes."""
    sun = observer.sun_over(start_utc_s, end_utc_s, EVERY_S)
    values = np.stack([np.broadcast_to(margin.value(sun), sun.utc_s.shape) for margin in margins])
    failing = (values <= 0).sum(axis=0)
    best = int(np.lexsort((-values.min(axis=0), failing))[0])
    return Nearest(float(sun.utc_s[best]), tuple(margin.name for margin, value in zip(margins, values[:, best], strict=True) if value <= 0))
