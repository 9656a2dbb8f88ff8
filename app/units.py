"""Numbers, dates and angles as people type them, and as they like to read them."""

import math
import re
from collections.abc import Iterable
from datetime import date, datetime, time

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]
FloatOrArray = float | FloatArray

FIRST_YEAR, LAST_YEAR = 1950, 2100  # what the sun track is built and checked for


def signed_deg(angle_deg: ArrayLike) -> FloatOrArray:
    """Return the same direction as an angle in [-180, 180). [°]

    Any shape; a right turn is positive when the argument is a compass bearing
    less another.
    """
    return (np.asarray(angle_deg, dtype=float) + 180.0) % 360.0 - 180.0


def turned_deg(bearing_deg: FloatOrArray, from_deg: float) -> FloatArray:
    """Return the turn from one bearing to another, right positive, -180..180. [°]

    Both in [0, 360]; many times faster on long arrays than ``signed_deg``.
    """
    turn = np.asarray(bearing_deg) - from_deg
    return turn - 360.0 * (turn > 180.0) + 360.0 * (turn < -180.0)


def compass_deg(angle_deg: ArrayLike) -> FloatOrArray:
    """Return the same direction as a bearing in [0, 360), from any shape. [°]"""
    bearing = np.asarray(angle_deg, dtype=float) % 360.0
    return np.where(bearing >= 360.0, 0.0, bearing)


def number(text: str, name: str, low: float = -math.inf, high: float = math.inf) -> float:
    """Return the number that was typed; a decimal comma is as good as a point.

    Raises ``ValueError`` with a sentence when it is no number, or not in
    [low, high].
    """
    typed = str(text).strip().replace("\N{MINUS SIGN}", "-")
    if re.fullmatch(r"[+-]?\d+,\d+", typed):
        typed = typed.replace(",", ".")
    try:
        value = float(typed)
    except ValueError:
        raise ValueError(f"{name} is a number; “{_short(text)}” is none.") from None
    if not math.isfinite(value):
        raise ValueError(f"{name} is a finite number; “{_short(text)}” is none.")
    if not low <= value <= high:
        raise ValueError(f"{name} is {_range_words(low, high)}; {value:g} came.")
    return value


def calendar_date(text: str) -> date:
    """Return the date typed as year-month-day, between 1950 and 2100.

    Raises ``ValueError`` with a sentence otherwise.
    """
    try:
        day = date.fromisoformat(str(text).strip())
    except ValueError:
        raise ValueError(f"A date looks like 2027-09-18; “{_short(text)}” does not.") from None
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise ValueError(f"Dates from {FIRST_YEAR} to {LAST_YEAR} are known here; {day} is outside.")
    return day


def calendar_year(text: str) -> int:
    """Return a year from 1950 to 2100; ``ValueError`` with a sentence otherwise."""
    return int(number(text, "The year", FIRST_YEAR, LAST_YEAR))


def clock_time(text: str) -> time:
    """Return the time of day typed as 18:40 or 18:40:30; ``ValueError`` with a sentence otherwise."""
    typed = str(text).strip()
    if not re.fullmatch(r"\d{1,2}:\d{2}(:\d{2})?", typed):
        raise ValueError(f"A time looks like 18:40; “{_short(text)}” does not.")
    try:
        return time.fromisoformat(typed.zfill(5) if typed.count(":") == 1 else typed.zfill(8))
    except ValueError:
        raise ValueError(f"A time runs from 00:00 to 23:59; “{_short(text)}” does not.") from None


def instant(text: str) -> datetime:
    """Return the instant typed in ISO 8601 with its offset or Z.

    Raises ``ValueError`` with a sentence when the offset is missing, since a time
    of day alone names no instant, or when the year is outside 1950..2100.
    """
    typed = str(text).strip()
    try:
        moment = datetime.fromisoformat(typed)
    except ValueError:
        raise ValueError(
            f"An instant looks like 2027-09-18T18:40+01:00; “{_short(text)}” does not."
        ) from None
    if moment.tzinfo is None:
        raise ValueError(f"“{_short(text)}” has no offset; add Z for UTC, or +01:00 and the like.")
    if not FIRST_YEAR <= moment.year <= LAST_YEAR:
        raise ValueError(f"Years from {FIRST_YEAR} to {LAST_YEAR} are known here; {moment.year} is outside.")
    return moment


def listed(words: Iterable[str]) -> str:
    """Return “a, b or c”."""
    *most, last = list(words)
    return f"{', '.join(most)} or {last}" if most else last


def percent(share: float) -> str:
    """Return a share as “38 %”, which no line breaks apart."""
    return f"{share * 100:.0f}\N{NO-BREAK SPACE}%"


def _range_words(low: float, high: float) -> str:
    if math.isinf(low):
        return f"at most {high:g}"
    if math.isinf(high):
        return f"at least {low:g}"
    return f"between {low:g} and {high:g}"


def _short(text: object) -> str:
    typed = str(text)
    return typed if len(typed) <= 40 else f"{typed[:40]}…"
