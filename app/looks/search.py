"""Windows of a look on a day, through a year, and the next one to come."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from app.looks.look import WantedLook
from app.looks.margin import Margin, Scene
from app.looks.window import Window, find_windows, open_spans, windows_of
from app.sky.ephemeris import DAY_S
from app.sky.track import Observer
from app.units import FloatArray

HALF_DAY_S = DAY_S / 2
GOOD_MINUTES, GOOD_FIT = 5.0, 0.25
CivilDay = Callable[[date], tuple[float, float]]  # a date's start and end, seconds since 1970 UTC


@dataclass(frozen=True)
class DayWindows:
    """The windows of one civil day."""

    day: date
    windows: tuple[Window, ...]


def windows_on(wanted: WantedLook, scene: Scene, day: date, civil_day: CivilDay) -> tuple[Window, ...]:
    """Return the windows of a civil day, as ``windows_through`` tells them."""
    return windows_through(wanted, scene, day, day, civil_day)[0].windows


def windows_through(wanted: WantedLook, scene: Scene, first: date, last: date, civil_day: CivilDay) -> tuple[DayWindows, ...]:
    """Return every day from first to last, both included, with its windows.

    A window belongs to the day on which it opens, and keeps its true end after
    midnight. One that is still open at the noon after that, as in a polar day, is
    parted at every midnight, so that each day has its own share of it.
    """
    days = [first + timedelta(n) for n in range((last - first).days + 1)]
    midnights = np.array([*(civil_day(day)[0] for day in days), civil_day(last)[1]])
    found = [[] for _ in days]
    for number, window in _numbered(wanted.margins(scene), scene.observer, midnights):
        found[number].append(window)
    return tuple(DayWindows(day, tuple(windows)) for day, windows in zip(days, found, strict=True))


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
    poorer ones are found too, but nobody travels for them. One that has been
    open for half a day is told as open since then.
    """
    for ahead in _growing(days):
        found = find_windows(wanted.margins(scene), scene.observer, now_utc_s - HALF_DAY_S, now_utc_s + ahead * 86_400.0)
        coming = next((window for window in found if window.closes_utc_s > now_utc_s and _is_good(window)), None)
        if coming and (coming.closed_by or ahead == days):  # else it goes on: look farther for its end
            return coming
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


def _numbered(margins: tuple[Margin, ...], observer: Observer, midnights: FloatArray) -> Iterator[tuple[int, Window]]:
    """Yield the windows between the first midnight and the last, each with the number of its day."""
    starts = np.append(midnights[0] - DAY_S, midnights)  # a day more, for what may go on from it
    start, end = starts[0], starts[-1] + HALF_DAY_S
    parts = _parted(open_spans(margins, observer, start, end), starts)
    numbers = np.searchsorted(midnights, parts[:, 0], "right") - 1
    asked = (numbers >= 0) & (numbers < len(midnights) - 1)
    windows = windows_of(margins, observer, parts[asked], [*starts, end])
    return zip(numbers[asked].tolist(), windows, strict=True)


def _parted(spans: FloatArray, starts: FloatArray) -> FloatArray:
    """Return the spans, those parted at every midnight that go on to the noon after the day they open on."""
    ends = np.append(starts[1:], np.inf)[np.searchsorted(starts, spans[:, 0], "right") - 1]
    long = spans[:, 1] >= ends + HALF_DAY_S
    shares = [spans[~long]]
    for opens, closes in spans[long]:
        edges = np.concatenate([[opens], starts[(starts > opens) & (starts < closes)], [closes]])
        shares.append(np.stack([edges[:-1], edges[1:]], axis=-1))
    parts = np.concatenate(shares)
    return parts[np.argsort(parts[:, 0])]
