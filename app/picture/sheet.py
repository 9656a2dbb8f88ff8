"""Which moments a contact sheet shows."""

from dataclasses import dataclass

import numpy as np

from app.errors import BadInput
from app.sky.crossings import crossings, transits_utc_s
from app.sky.events import RISE_SET_DEG
from app.sky.track import Observer
from app.units import FloatArray

PARTS = ("evening", "morning")
LEAD_S, TAIL_S = 6000.0, 1200.0  # the sun's side of rise or set, and the twilight's: 100 and 20 minutes
MOST_FRAMES = 121
STEP_S = 600.0
HALF_DAY_S = 43_200.0


@dataclass(frozen=True)
class SheetSpan:
    """From when to when the frames run, and what the span was laid around. [s since 1970 UTC]"""

    first_utc_s: float
    last_utc_s: float
    around: str
    around_utc_s: float


def sheet_span(observer: Observer, start_utc_s: float, end_utc_s: float, part: str = "evening") -> SheetSpan:
    """Return the stretch of a civil day that a photographer of low sun looks at first.

    Evening: from 100 minutes before sunset to 20 minutes after; morning the
    other way round about sunrise. Where the sun does not set, two hours about
    its lowest stand in the night that begins on that day (morning: that ends on
    it); where it does not rise, two hours about its highest.
    """
    half = half_day(observer, start_utc_s, end_utc_s, part)
    noon = half[0] if part == "evening" else half[1]
    passages = crossings(observer, *half, RISE_SET_DEG)
    found = passages.utc_s[passages.rising == (part == "morning")]
    if len(found):
        edge = float(found[0])
        return SheetSpan(edge - LEAD_S, edge + TAIL_S, "sunset", edge) if part == "evening" else SheetSpan(edge - TAIL_S, edge + LEAD_S, "sunrise", edge)
    up = observer.sun_at(noon + (HALF_DAY_S if part == "evening" else -HALF_DAY_S)).airless_deg > RISE_SET_DEG
    middle = half[1 if part == "evening" else 0] if up else noon
    return SheetSpan(middle - HALF_DAY_S / 12, middle + HALF_DAY_S / 12, "the sun's lowest" if up else "the sun's highest", middle)


def half_day(observer: Observer, start_utc_s: float, end_utc_s: float, part: str) -> tuple[float, float]:
    """Return the evening of a civil day, from the sun's highest to its lowest, or its morning before that.

    An evening so counted runs past midnight where the sun sets late.
    """
    if part not in PARTS:
        raise BadInput(f"A sheet shows the evening or the morning; “{part[:40]}” came.", "part")
    noon = _noon(observer, start_utc_s, end_utc_s)
    return (noon, noon + HALF_DAY_S) if part == "evening" else (noon - HALF_DAY_S, noon)


def sheet_instants(first_utc_s: float, last_utc_s: float, step_s: float) -> FloatArray:
    """Return the frames' instants, on whole steps of the clock, first and last within the span's rounding.

    Raises ``BadInput`` for more than 121 frames or a step under ten seconds.
    """
    if not 10.0 <= step_s <= 3600.0:
        raise BadInput(f"Frames are between 10 seconds and 60 minutes apart; {step_s / 60:g} min came.", "step")
    if not last_utc_s > first_utc_s:
        raise BadInput("The last frame comes after the first.", "until")
    first, last = np.round(first_utc_s / step_s), np.round(last_utc_s / step_s)
    if last - first + 1 > MOST_FRAMES:
        raise BadInput(f"That is {last - first + 1:.0f} frames; a sheet holds {MOST_FRAMES}. Take a longer step or a shorter stretch.", "step")
    return np.arange(first, last + 1) * step_s


def _noon(observer: Observer, start_utc_s: float, end_utc_s: float) -> float:
    """Return the upper transit nearest to the day's middle; at a pole simply its middle."""
    middle = (start_utc_s + end_utc_s) / 2
    if abs(observer.lat_deg) > 89.9:
        return middle
    transits = transits_utc_s(observer, middle - 64_800.0, middle + 64_800.0, every=1.0)
    return float(transits[np.argmin(np.abs(transits - middle))])
