"""Windows: the stretches of time in which a look holds, found without stepping over any."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.looks.margin import Margin, fit
from app.looks.way import Way
from app.sky.track import Observer, SunTrack
from app.units import FloatArray

FIRST_S = 3600.0  # the pieces that are judged first
SPLIT_INTO = (8, 8, 7, 7)  # into parts of 450 s, 56 s, 8 s and 1.15 s
NEAR_S, KINKED_PARTS = 0.1, 5  # an edge is enclosed within 0.2 s, or else within a fifth of 1.15 s
OUTSIDE_S = 0.5  # so far outside an edge the margin that makes it has surely failed
BEST_EVERY_S, BEST_AT_LEAST = 300.0, 8  # how closely a window is looked through for its best moment
ZOOMS = 3  # each to a quarter: to five seconds
SAME_FIT = 1e-9


@dataclass(frozen=True)
class Window:
    """A stretch in which a look holds. [s since 1970 UTC]

    Attributes
    ----------
    observer : Observer
    opens_utc_s, closes_utc_s : float
    opened_by, closed_by : Margin or None
        The margin that was the last to be met and the one that fails first;
        None where the search's span or the day's end cut the window.
    best_utc_s, best_fit : float
        When the look fits best, the middle of the time that lasts, and how well, 0..1.
    """

    observer: Observer
    opens_utc_s: float
    closes_utc_s: float
    opened_by: Margin | None
    closed_by: Margin | None
    best_utc_s: float
    best_fit: float

    @property
    def opens_because(self) -> str:
        """Why it opens, in words."""
        return self._reason(self.opened_by, self.opens_utc_s, True, "open since before")

    @property
    def closes_because(self) -> str:
        """Why it closes, in words."""
        return self._reason(self.closed_by, self.closes_utc_s, False, "goes on after")

    def _reason(self, margin: Margin | None, utc_s: float, opening: bool, cut: str) -> str:
        return margin.because(self.observer.sun_at(utc_s), opening) if margin else cut

    @property
    def minutes(self) -> float:
        """How long it lasts. [min]"""
        return (self.closes_utc_s - self.opens_utc_s) / 60.0


def find_windows(margins: tuple[Margin, ...], observer: Observer, start_utc_s: float, end_utc_s: float) -> tuple[Window, ...]:
    """Return every window of a set of margins in a span, in time order.

    Parameters
    ----------
    margins : tuple of Margin
        Cheap and often failing ones first: later ones are asked only where the
        earlier ones may hold.
    observer : Observer
    start_utc_s, end_utc_s : float
        An evening or years, seconds since 1970 UTC. [s]

    Notes
    -----
    Hours are dropped or kept whole only where the margins' own bounds prove it;
    all others are cut into parts of 450 s, 56 s, 8 s and 1.15 s and asked again. A
    window or a break shorter than 1.15 s may go unseen. Edges are exact to 0.25 s.
    """
    spans = open_spans(margins, observer, start_utc_s, end_utc_s)
    return windows_of(margins, observer, spans, (start_utc_s, end_utc_s))


def open_spans(margins: tuple[Margin, ...], observer: Observer, start_utc_s: float, end_utc_s: float) -> FloatArray:
    """Return when the windows of a span open and close, shape (windows, 2). [s]"""
    pieces = _Pieces(observer.sun_over(start_utc_s, end_utc_s + FIRST_S, FIRST_S)[np.newaxis], np.ones((len(margins), 1), bool))
    found = []
    for parts in SPLIT_INTO:
        sure, unsure = _judged(margins, pieces)
        found.append(sure)
        pieces = _cut(observer, *unsure, parts)
    spans = np.clip(np.concatenate([*found, _leaves(margins, pieces)]), start_utc_s, end_utc_s)
    return _join(spans[spans[:, 1] > spans[:, 0]])


def windows_of(margins: tuple[Margin, ...], observer: Observer, spans: FloatArray, cuts_utc_s: Sequence[float]) -> tuple[Window, ...]:
    """Return windows with their reasons and best moments; an edge at one of the cuts has no reason. [s]"""
    if not len(spans):
        return ()
    outside = observer.sun_at(spans + [-OUTSIDE_S, OUTSIDE_S])
    blame = np.argmin([margin.value(outside) for margin in margins], axis=0)
    blame[np.isin(spans, cuts_utc_s)] = -1
    makers = (*margins, None)  # -1 is the last
    return tuple(
        Window(observer, opens, closes, makers[opener], makers[closer], best, best_fit)
        for (opens, closes), (opener, closer), best, best_fit in zip(
            spans.tolist(), blame.tolist(), *_best(margins, observer, spans), strict=True
        )
    )


def open_minutes(windows: tuple[Window, ...]) -> float:
    """Return how long the windows last together. [min]"""
    return sum(window.minutes for window in windows)


@dataclass(frozen=True)
class _Pieces:
    """Stretches cut into equal parts, and which margins are still in doubt in each stretch.

    ``knots`` are the ends of the parts, shape (stretches, parts + 1); ``doubts``
    has shape (margins, stretches).
    """

    knots: SunTrack
    doubts: np.ndarray

    def parts(self) -> tuple[Way, np.ndarray]:
        """Return every part, and its margins in doubt: those of its stretch."""
        rows, columns = self.knots.utc_s.shape
        starts = np.arange(rows * columns).reshape(rows, columns)[:, :-1].ravel()
        return Way(self.knots.take(np.stack([starts, starts + 1]))), np.repeat(self.doubts, columns - 1, axis=1)


def _judged(margins: tuple[Margin, ...], pieces: _Pieces) -> tuple[FloatArray, tuple[FloatArray, np.ndarray]]:
    """Return the parts that surely hold, and those that may with their doubts; those that cannot are dropped.

    Parts are told by their ends, shape (parts, 2). [s]
    """
    way, doubts = pieces.parts()
    fails = np.zeros(doubts.shape[1], bool)
    for margin, doubt in zip(margins, doubts, strict=True):
        asked = np.flatnonzero(doubt & ~fails)
        if len(asked):
            low, high = margin.between(way.take(asked))
            doubt[asked], fails[asked] = low <= 0, high <= 0
    unsure = doubts.any(axis=0) & ~fails
    ends_s = way.ends.utc_s.T
    return ends_s[~(unsure | fails)], (ends_s[unsure], doubts[:, unsure])


def _cut(observer: Observer, ends_s: FloatArray, doubts: np.ndarray, parts: int) -> _Pieces:
    start_s, end_s = ends_s[:, :1], ends_s[:, 1:]
    return _Pieces(observer.sun_at(start_s + (end_s - start_s) * np.linspace(0, 1, parts + 1)), doubts)


def _fit_in_doubt(margins: tuple[Margin, ...], doubts: np.ndarray, sun: SunTrack) -> FloatArray:
    """Return the smallest of the margins in doubt, capped at 1; all others hold.

    ``doubts`` has shape (margins, n), ``sun`` n rows.
    """
    fits = np.ones_like(sun.utc_s)
    for margin, doubt in zip(margins, doubts, strict=True):
        asked = np.flatnonzero(doubt)
        if len(asked):
            fits[asked] = np.minimum(fits[asked], margin.value(sun.take(asked, axis=0)))
    return fits


def _leaves(margins: tuple[Margin, ...], pieces: _Pieces) -> FloatArray:
    """Return of the finest parts what holds at both ends, up to the edge where it does so at one."""
    fits, utc_s = _fit_in_doubt(margins, pieces.doubts, pieces.knots), pieces.knots.utc_s
    start_s, end_s, first, last = utc_s[:, :-1], utc_s[:, 1:], fits[:, :-1], fits[:, 1:]
    lasts, passes = (first > 0) & (last > 0), (first > 0) != (last > 0)
    opening, ends_s = last[passes] > 0, np.stack([start_s[passes], end_s[passes]], axis=-1)
    doubts = pieces.doubts[:, np.nonzero(passes)[0]]
    edge_s = _edges(margins, doubts, pieces.knots.observer, ends_s, np.stack([first[passes], last[passes]], axis=-1))
    return np.concatenate([
        np.stack([start_s[lasts], end_s[lasts]], axis=-1),
        np.stack([np.where(opening, edge_s, ends_s[:, 0]), np.where(opening, ends_s[:, 1], edge_s)], axis=-1),
    ])


def _edges(margins: tuple[Margin, ...], doubts: np.ndarray, observer: Observer, ends_s: FloatArray, fits: FloatArray) -> FloatArray:
    """Return where the fit passes zero between two instants of opposite sign; both of shape (edges, 2). [s]

    Asked just before and after the secant's foot it mostly changes sign; where it
    has a kink, the whole is looked through.
    """
    near_s = np.clip(_secant(ends_s, fits)[:, np.newaxis] + [-NEAR_S, NEAR_S], ends_s[:, :1], ends_s[:, 1:])
    near = _fit_in_doubt(margins, doubts, observer.sun_at(near_s))
    kinked = np.flatnonzero(np.any((near > 0) != (fits > 0), axis=1))
    through_s = np.linspace(*ends_s[kinked].T, KINKED_PARTS + 1, axis=-1)
    through = _fit_in_doubt(margins, doubts[:, kinked], observer.sun_at(through_s))
    passes = np.argmax((through[:, 1:] > 0) != (through[:, :-1] > 0), axis=1)[:, np.newaxis] + [0, 1]
    near_s[kinked], near[kinked] = np.take_along_axis(through_s, passes, 1), np.take_along_axis(through, passes, 1)
    return _secant(near_s, near)


def _secant(ends_s: FloatArray, fits: FloatArray) -> FloatArray:
    return ends_s[:, 0] + (ends_s[:, 1] - ends_s[:, 0]) * fits[:, 0] / (fits[:, 0] - fits[:, 1])


def _join(spans: FloatArray) -> FloatArray:
    """Return touching spans as one, in time order; a millisecond is touching.

    They do not overlap, so that starts and ends may be sorted each for themselves.
    """
    starts, ends = np.sort(spans, axis=0).T
    breaks = starts[1:] > ends[:-1] + 1e-3
    return np.stack([starts[np.append(True, breaks)[: len(starts)]], ends[np.append(breaks, True)[: len(ends)]]], axis=-1)


def _best(margins: tuple[Margin, ...], observer: Observer, spans: FloatArray) -> tuple[list[float], list[float]]:
    """Return when each window fits best, the middle of its longest plateau, and how well.

    A window is looked through every five minutes, or at nine instants, and then
    ever closer about both ends of the best of them.
    """
    around_s, fits = _around_top(margins, observer, spans)
    rows = np.arange(len(spans))[:, np.newaxis]
    for _ in range(ZOOMS):
        start_s, end_s = around_s[:, ::2, np.newaxis], around_s[:, 1::2, np.newaxis]
        inner_s = start_s + (end_s - start_s) * (0.25, 0.5, 0.75)
        inner = fit(margins, observer.sun_at(inner_s))
        instants = np.concatenate([start_s, inner_s, end_s], axis=2).reshape(-1, 10)
        all_fits = np.concatenate([fits[:, ::2, np.newaxis], inner, fits[:, 1::2, np.newaxis]], axis=2).reshape(-1, 10)
        which = _top_of_ten(all_fits)
        around_s, fits = instants[rows, which], all_fits[rows, which]
    middle_s, top = (around_s[:, 1] + around_s[:, 2]) / 2, fits[:, 1]
    flat = fit(margins, observer.sun_at(middle_s)) >= top - SAME_FIT  # else it dips between two tops
    return np.where(flat, middle_s, around_s[:, 1]).tolist(), top.tolist()


def _top_of_ten(fits: FloatArray) -> np.ndarray:
    """Return which of ten samples come before the top, are its first and its last, and come after: shape (rows, 4).

    The old top went from number 4 to number 5 with the same fit between; it is
    made longer as far as that fit lasts, or given up for a sample that is better.
    """
    on_top = fits >= fits.max(axis=1, keepdims=True) - SAME_FIT
    before, after = (np.logical_and.accumulate(on_top[:, way], axis=1).sum(axis=1) for way in (slice(4, None, -1), slice(5, None)))
    stays, better = on_top[:, 4], fits.argmax(axis=1)
    first, last = np.where(stays, 5 - before, better), np.where(stays, 4 + after, better)
    return np.stack([np.maximum(first - 1, 0), first, last, np.minimum(last + 1, 9)], axis=1)


def _around_top(margins: tuple[Margin, ...], observer: Observer, spans: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return four samples of each window: before its longest top, the top's first and last, and after; and their fits."""
    instants, row = _samples(spans)
    starts = np.searchsorted(row, np.arange(len(spans)))
    fits = fit(margins, observer.sun_at(instants))
    on_top = fits >= np.maximum.reduceat(fits, starts)[row] - SAME_FIT
    follows = np.append(False, on_top[:-1] & on_top[1:] & (row[1:] == row[:-1]))
    firsts, lasts = np.flatnonzero(on_top & ~follows), np.flatnonzero(on_top & ~np.append(follows[1:], False))
    by_length = np.lexsort((firsts - lasts, row[firsts]))
    longest = by_length[np.searchsorted(row[firsts], np.arange(len(spans)))]
    first, last = firsts[longest], lasts[longest]
    ends = np.append(starts[1:], len(row)) - 1
    which = np.stack([np.maximum(first - 1, starts), first, last, np.minimum(last + 1, ends)], axis=1)
    return instants[which], fits[which]


def _samples(spans: FloatArray) -> tuple[FloatArray, np.ndarray]:
    """Return instants through every window, ends included, one window after the other, and whose they are."""
    steps = np.maximum(np.ceil((spans[:, 1] - spans[:, 0]) / BEST_EVERY_S), BEST_AT_LEAST).astype(int)
    row = np.repeat(np.arange(len(spans)), steps + 1)
    number = np.arange(len(row)) - np.repeat(np.cumsum(steps + 1) - steps - 1, steps + 1)
    share = number / steps[row]
    return spans[row, 0] * (1 - share) + spans[row, 1] * share, row
