"""The year sheet: dates down, time across, windows as ink."""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from app.looks.search import DayWindows
from app.place.timezone import civil_day
from app.sky.crossings import crossings
from app.sky.events import RISE_SET_DEG
from app.sky.track import Observer
from app.web.drawing.frames import path_through

ROW, TIME_WIDTH = 2.4, 780.0  # one date's height and all hours' width in the drawing's units
LEFT, TOP = 48.0, 24.0


@dataclass(frozen=True)
class Bar:
    """One window's ink: where it starts, how long, on which row, and how well the look fits at best."""

    x: float
    y: float
    width: float
    thickness: float


@dataclass(frozen=True)
class YearSheet:
    """The drawing of one year, left to right by the site's clocks."""

    width: float
    height: float
    hours: tuple[tuple[float, str], ...]
    months: tuple[tuple[float, str], ...]
    bars: tuple[Bar, ...]
    sun_lines: tuple[str, ...]
    today_y: float | None


def draw_year(days: tuple[DayWindows, ...], observer: Observer, zone: str, today: date) -> YearSheet:
    """Return the drawing of every day's windows with rise and set as thin lines."""
    starts = np.array([civil_day(zone, one.day)[0] for one in days])
    rows = [(n, window) for n, one in enumerate(days) for window in one.windows]
    opens = np.array([(window.opens_utc_s - starts[n]) / 3600 for n, window in rows])
    closes = np.array([(window.closes_utc_s - starts[n]) / 3600 for n, window in rows])
    first, last = _hours_shown(opens, closes)
    hour_width = TIME_WIDTH / (last - first)
    bars = tuple(
        Bar(LEFT + (a - first) * hour_width, TOP + n * ROW, max(0.6, (b - a) * hour_width), ROW * (0.35 + 0.6 * window.best_fit))
        for (n, window), a, b in zip(rows, opens, closes, strict=True)
    )
    return YearSheet(
        width=LEFT + TIME_WIDTH + 24,
        height=TOP + len(days) * ROW + 8,
        hours=tuple((LEFT + (hour - first) * hour_width, f"{hour % 24:02d}:00") for hour in range(first, last + 1)),
        months=tuple((TOP + n * ROW, f"{one.day:%b}") for n, one in enumerate(days) if one.day.day == 1),
        bars=bars,
        sun_lines=_sun_lines(observer, starts, zone, days[-1].day, first, last),
        today_y=TOP + (today - days[0].day).days * ROW if days[0].day <= today <= days[-1].day else None,
    )


def _hours_shown(opens: np.ndarray, closes: np.ndarray) -> tuple[int, int]:
    if not len(opens):
        return 12, 24
    first, last = int(np.floor(opens.min() - 0.5)), int(np.ceil(min(closes.max(), 36) + 0.5))
    return max(0, first), max(last, first + 3)


def _sun_lines(observer: Observer, starts: np.ndarray, zone: str, last_day: date, first: int, last: int) -> tuple[str, ...]:
    """Return the paths of sunrise and sunset, broken where there is none or it leaves the sheet."""
    end = civil_day(zone, last_day)[1]
    found = crossings(observer, float(starts[0]), end, RISE_SET_DEG)
    rows = np.searchsorted(starts, found.utc_s, side="right") - 1
    hours = (found.utc_s - starts[rows]) / 3600
    x, y = LEFT + (hours - first) * TIME_WIDTH / (last - first), TOP + (rows + 0.5) * ROW
    shown = (hours >= first) & (hours <= last)
    return tuple(
        path
        for rising in (True, False)
        for run in _runs(np.flatnonzero((found.rising == rising) & shown), rows, hours)
        if (path := path_through(x[run], y[run]))
    )


def _runs(which: np.ndarray, rows: np.ndarray, hours: np.ndarray) -> list[np.ndarray]:
    """Return the indices in stretches without a missing date or a leap over midnight."""
    if not len(which):
        return []
    leaps = (np.diff(rows[which]) > 1) | (np.abs(np.diff(hours[which])) > 0.8)
    return np.split(which, np.flatnonzero(leaps) + 1)


def days_of(year: int) -> tuple[date, date]:
    """Return the first and last day of a year."""
    return date(year, 1, 1), date(year + 1, 1, 1) - timedelta(1)
