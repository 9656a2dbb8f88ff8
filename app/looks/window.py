"""Windows: the stretches of time in which a look holds, found without stepping over any."""

from dataclasses import dataclass

import numpy as np

from app.looks.margin import Margin, fit
from app.sky.track import Observer, SunTrack
from app.units import FloatArray

COARSE_S = 600.0
SPLIT_INTO = (8, 8, 8)  # the finest piece is 1.2 s
POLISH = 4  # steps on each edge; the halvings alone leave 0.3 s of 1.2 s
TURN_DEG = 0.1  # what azimuth and altitude may swing beyond their ends within ten minutes; it goes with the time squared


@dataclass(frozen=True)
class Window:
    """A stretch in which a look holds. [s since 1970 UTC]

    Attributes
    ----------
    observer : Observer
    opens_utc_s, closes_utc_s : float
    opened_by, closed_by : Margin or None
        The margin that was the last to be met and the one that fails first;
        None where the search's span cut the window.
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
        return self._reason(self.opened_by, self.opens_utc_s, True, "already so when the search starts")

    @property
    def closes_because(self) -> str:
        """Why it closes, in words."""
        return self._reason(self.closed_by, self.closes_utc_s, False, "still so when the search ends")

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
    Steps of ten minutes are dropped or kept whole only where the margins' own
    bounds prove it; all others are cut into pieces of 75 s, 9.4 s and 1.2 s and
    asked again. A window or a break shorter than 1.2 s may go unseen. Edges are
    polished on the margin that makes them, to well under 1 s.
    """
    spans = _open_spans(margins, observer, start_utc_s, end_utc_s)
    if not len(spans):
        return ()
    edges = observer.sun_at(spans)
    blame = np.argmin(np.stack([margin.value(edges) for margin in margins]), axis=0)
    cut = (spans <= start_utc_s) | (spans >= end_utc_s)
    by = [[None if cut[i] else margins[blame[i]] for i in ((row, 0), (row, 1))] for row in range(len(spans))]
    best = zip(*_best(margins, observer, spans), strict=True)
    return tuple(
        Window(observer, *ends, *makers, *top) for ends, makers, top in zip(spans.tolist(), by, best, strict=True)
    )


def open_minutes(windows: tuple[Window, ...]) -> float:
    """Return how long the windows last together. [min]"""
    return sum(window.minutes for window in windows)


def _open_spans(margins: tuple[Margin, ...], observer: Observer, start_utc_s: float, end_utc_s: float) -> FloatArray:
    """Return the windows' ends, shape (windows, 2)."""
    knots = observer.sun_over(start_utc_s, end_utc_s + COARSE_S, COARSE_S)
    if knots.utc_s[-1] > end_utc_s:
        knots = observer.sun_at(np.minimum(knots.utc_s, end_utc_s)) if len(knots) < 3 else _ended(knots, end_utc_s)
    sure, before, after = _judge(margins, knots, np.arange(len(knots) - 1))
    sure_spans = [sure]
    for parts in SPLIT_INTO:
        sure, before, after = _judge(margins, *_cut(observer, before, after, parts))
        sure_spans.append(sure)
    return _join(np.concatenate([*sure_spans, _leaves(margins, observer, before, after)]))


def _ended(knots: SunTrack, end_utc_s: float) -> SunTrack:
    """Return the knots with the last one moved back to the span's end."""
    last = knots.observer.sun_at(np.array([end_utc_s]))
    ends = ((knots.utc_s, last.utc_s), (knots.azimuth_deg, last.azimuth_deg), (knots.airless_deg, last.airless_deg))
    return SunTrack(knots.observer, *(np.append(all_but_one[:-1], end) for all_but_one, end in ends))


def _judge(margins: tuple[Margin, ...], knots: SunTrack, pieces: np.ndarray) -> tuple[FloatArray, SunTrack, SunTrack]:
    """Part the pieces: those that surely hold, as spans, and those that may; those that cannot are dropped.

    ``pieces`` gives the knot each piece starts at; it ends at the next one.
    """
    sure = np.ones(len(pieces), dtype=bool)
    for margin in margins:
        low, high = _bounds(margin, knots, pieces)
        kept = high > 0
        sure, pieces = (sure & (low > 0))[kept], pieces[kept]
        knots, pieces = _thinned(knots, pieces)
    spans = np.stack([knots.utc_s[pieces[sure]], knots.utc_s[pieces[sure] + 1]], axis=-1)
    return spans, knots[pieces[~sure]], knots[pieces[~sure] + 1]


def _thinned(knots: SunTrack, pieces: np.ndarray) -> tuple[SunTrack, np.ndarray]:
    """Return only the knots that some piece still touches, and the pieces renumbered."""
    touched = np.zeros(len(knots), dtype=bool)
    touched[pieces] = touched[pieces + 1] = True
    return knots[touched], (np.cumsum(touched) - 1)[pieces]


def _bounds(margin: Margin, knots: SunTrack, pieces: np.ndarray) -> tuple[FloatArray, FloatArray]:
    if margin.bounds:
        return margin.bounds(knots[pieces], knots[pieces + 1])
    turned = np.abs(np.diff(knots.azimuth_deg))
    moved = np.where(turned > 180.0, 360.0 - turned, turned) + np.abs(np.diff(knots.airless_deg))
    moved += TURN_DEG * (np.diff(knots.utc_s) / COARSE_S) ** 2
    value = margin.value(knots)
    middle = ((value[:-1] + value[1:]) / 2)[pieces]
    reach = margin.steepest_per_deg / 2 * moved[pieces]
    return middle - reach, middle + reach


def _cut(observer: Observer, before: SunTrack, after: SunTrack, parts: int) -> tuple[SunTrack, np.ndarray]:
    """Return the knots of the pieces cut into equal parts, one after the other, and where parts start."""
    share = np.arange(parts + 1) / parts
    instants = before.utc_s[:, np.newaxis] * (1 - share) + after.utc_s[:, np.newaxis] * share
    starts = np.arange(instants.size).reshape(instants.shape)[:, :-1]
    return observer.sun_at(instants.ravel()), starts.ravel()


def _leaves(margins: tuple[Margin, ...], observer: Observer, before: SunTrack, after: SunTrack) -> FloatArray:
    """Return the part of each finest piece in which all margins hold, by its ends."""
    if not len(before):
        return np.empty((0, 2))
    holds = fit(margins, before) > 0, fit(margins, after) > 0
    both, opening, closing = holds[0] & holds[1], ~holds[0] & holds[1], holds[0] & ~holds[1]
    opens = _edge(margins, before[opening], after[opening])
    closes = _edge(margins, before[closing], after[closing])
    return np.concatenate([
        np.stack([before.utc_s[both], after.utc_s[both]], axis=-1),
        np.stack([opens, after.utc_s[opening]], axis=-1),
        np.stack([before.utc_s[closing], closes], axis=-1),
    ])


def _edge(margins: tuple[Margin, ...], before: SunTrack, after: SunTrack) -> FloatArray:
    """Return where the fit passes zero between two instants of opposite sign.

    Secant steps and halvings in turn: the first are exact where the fit is
    smooth, the second safe where a skyline steps.
    """
    observer, low, high = before.observer, before.utc_s, after.utc_s
    low_fit, high_fit = fit(margins, before), fit(margins, after)
    for attempt in range(POLISH if len(low) else 0):
        share = low_fit / (low_fit - high_fit) if attempt % 2 == 0 else 0.5
        found = low + (high - low) * share
        found_fit = fit(margins, observer.sun_at(found))
        same = (found_fit > 0) == (low_fit > 0)
        low, low_fit = np.where(same, found, low), np.where(same, found_fit, low_fit)
        high, high_fit = np.where(same, high, found), np.where(same, high_fit, found_fit)
    return low + (high - low) * low_fit / (low_fit - high_fit)


def _join(spans: FloatArray) -> FloatArray:
    """Return touching spans as one, in time order; a millisecond is touching."""
    if not len(spans):
        return spans
    spans = spans[np.argsort(spans[:, 0])]
    breaks = np.flatnonzero(spans[1:, 0] > spans[:-1, 1] + 1e-3)
    return np.stack([spans[np.append(0, breaks + 1), 0], spans[np.append(breaks, len(spans) - 1), 1]], axis=-1)


def _best(margins: tuple[Margin, ...], observer: Observer, spans: FloatArray) -> tuple[list[float], list[float]]:
    """Return when each window fits best, the middle of a plateau, and how well.

    Three looks at 9 instants each, every one around the best of the look before.
    """
    share = np.linspace(0, 1, 9)
    rows = np.arange(len(spans))
    low, high = spans[:, 0], spans[:, 1]
    for _ in range(3):
        instants = low[:, np.newaxis] * (1 - share) + high[:, np.newaxis] * share
        fits = fit(margins, observer.sun_at(instants))
        on_top = fits >= fits.max(axis=1, keepdims=True) - 1e-9
        first, last = on_top.argmax(axis=1), len(share) - 1 - on_top[:, ::-1].argmax(axis=1)
        low = instants[rows, np.maximum(first - 1, 0)]
        high = instants[rows, np.minimum(last + 1, len(share) - 1)]
    middle = (instants[rows, first] + instants[rows, last]) / 2
    return middle.tolist(), fits.max(axis=1).tolist()

