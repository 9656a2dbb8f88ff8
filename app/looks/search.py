"""Windows of a look on a day, through a year, and the next one to come."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from app.looks.look import WantedLook
from app.looks.margin import Scene
from app.looks.window import Window, find_windows

HALF_DAY_S = 43_200.0
GOOD_MINUTES, GOOD_FIT = 5.0, 0.25
CivilDay = Callable[[date], tuple[float, float]]  # a date's start and end, seconds since 1970 UTC


@dataclass(frozen=True)
class DayWindows:
    """The windows that open on one civil day."""

    day: date
    windows: tuple[Window, ...]


def windows_on(wanted: WantedLook, scene: Scene, day: date, civil_day: CivilDay) -> tuple[Window, ...]:
    """Return the windows that open on a civil day, each whole.

    One that goes on after midnight keeps its true end, up to noon; one that was
    open already when the day began is listed where it opened, the day before.
    """
    start, end = civil_day(day)
    return _opening_in(find_windows(wanted.margins(scene), scene.observer, start - HALF_DAY_S, end + HALF_DAY_S), start, end)


def windows_through(wanted: WantedLook, scene: Scene, first: date, last: date, civil_day: CivilDay) -> tuple[DayWindows, ...]:
    """Return every day from first to last, both included, with the windows that open on it."""
    starts = _starts(first, last, civil_day)
    found = find_windows(wanted.margins(scene), scene.observer, starts[0] - HALF_DAY_S, starts[-1] + HALF_DAY_S)
    days = (first + timedelta(n) for n in range(len(starts) - 1))
    return tuple(
        DayWindows(day, _opening_in(found, start, end))
        for day, start, end in zip(days, starts, starts[1:], strict=False)
    )


def windows_in_each(wanted: WantedLook, scene: Scene, spans: Sequence[tuple[float, float]]) -> tuple[tuple[Window, ...], ...]:
    """Return, for each of some spans in time order, the windows that lie in it or reach into it, whole.

    Seconds since 1970 UTC; a window is followed up to half a day beyond the spans.
    """
    if not spans:
        return ()
    margins, last = wanted.margins(scene), spans[-1][1]
    found = find_windows(margins, scene.observer, spans[0][0] - HALF_DAY_S, last + HALF_DAY_S)
    return tuple(
        tuple(window for window in found if window.opens_utc_s < end and window.closes_utc_s > start)
        for start, end in spans
    )


def next_window(wanted: WantedLook, scene: Scene, now_utc_s: float, days: int = 366) -> Window | None:
    """Return the first good window that has not closed by now, at most so many days ahead.

    Good is at least five minutes long and at best a fit of 0.25: shorter or
    poorer ones are found too, but nobody travels for them.
    """
    for ahead in _growing(days):
        found = find_windows(wanted.margins(scene), scene.observer, now_utc_s - HALF_DAY_S, now_utc_s + ahead * 86_400.0)
        coming = [window for window in found if window.closes_utc_s > now_utc_s and _is_good(window)]
        if coming:
            return coming[0]
    return None


def _is_good(window: Window) -> bool:
    return window.minutes >= GOOD_MINUTES and window.best_fit >= GOOD_FIT


def _growing(days: int) -> Iterator[int]:
    """Yield ever longer searches: most setups have a window within days."""
    ahead = 4
    while ahead < days:
        yield ahead
        ahead *= 6
    yield days


def _starts(first: date, last: date, civil_day: CivilDay) -> list[float]:
    days = [first + timedelta(n) for n in range((last - first).days + 1)]
    return [*(civil_day(day)[0] for day in days), civil_day(days[-1])[1]]


def _opening_in(windows: tuple[Window, ...], start: float, end: float) -> tuple[Window, ...]:
    return tuple(window for window in windows if start <= window.opens_utc_s < end)
