"""When direct sun reaches a point, over everything that hides the sky from there."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from app.place.sides import spread
from app.place.skyline import Skyline
from app.sky.track import Observer, SunTrack
from app.units import FloatArray

COARSE_S = 600.0
SPLIT_INTO = (8, 16, 8)  # the finest piece is 0.6 s
SWING_DEG = 0.02  # how far the altitude swings past its ends within ten minutes at a culmination, 0.014 at most
AZIMUTH_SWINGS = 4  # times as far as the altitude, for a sun under 80 degrees
ZENITH_DEG = 80.0  # over this the azimuth runs too fast for bounds; the pieces are looked at one by one
HIGHEST_DEG = 88.0
A_MOMENT_S = 1.0
AT_ONCE_S = 10 * 86_400.0  # looked at together, so that a year's search stays small

# The disc is looked at in 33 upright strips, closest together at its sides, and in one more at
# each bend of the skyline behind it: so no slit is missed, and where a straight skyline touches
# the disc between two strips, less than 0.001° is.
_ACROSS = np.sin(np.linspace(-np.pi / 2, np.pi / 2, 33))


@dataclass(frozen=True)
class LitSpan:
    """A stretch in which some of the sun's disc reaches a point.

    Attributes
    ----------
    opens_utc_s, closes_utc_s : float
        Seconds since 1970 UTC. [s]
    over, behind : str or None
        What the sun comes out over and what it goes behind, by the skyline's name:
        “the boathouse”, “the horizon”. None where the search's span cut the stretch.
    """

    opens_utc_s: float
    closes_utc_s: float
    over: str | None
    behind: str | None

    @property
    def minutes(self) -> float:
        """How long it lasts. [min]"""
        return (self.closes_utc_s - self.opens_utc_s) / 60.0


@dataclass(frozen=True)
class DayLight:
    """The direct sun at a point over one span, mostly a civil day.

    Attributes
    ----------
    spans : tuple of LitSpan
        In time order; none when the sun never reaches the point.
    first, last : LitSpan or None
        The one that opens with first light, the one that closes with last light; None
        where the sun is there from the span's start on, or still there at its end.
    """

    spans: tuple[LitSpan, ...]

    @property
    def first(self) -> LitSpan | None:
        return next((span for span in self.spans if span.over is not None), None)

    @property
    def last(self) -> LitSpan | None:
        return next((span for span in reversed(self.spans) if span.behind is not None), None)

    @property
    def always(self) -> bool:
        """Whether the sun reaches the point all the time."""
        return len(self.spans) == 1 and self.spans[0].over is None and self.spans[0].behind is None


def first_and_last_light(observer: Observer, skyline: Skyline, start_utc_s: float, end_utc_s: float) -> DayLight:
    """Return first and last light at a point, and every stretch of direct sun between; see ``lit_spans``."""
    return DayLight(lit_spans(observer, skyline, start_utc_s, end_utc_s))


def lit_spans(observer: Observer, skyline: Skyline, start_utc_s: float, end_utc_s: float) -> tuple[LitSpan, ...]:
    """Return every stretch in which some of the sun's disc reaches a point.

    Parameters
    ----------
    observer : Observer
    skyline : Skyline
        From the point itself, bands included.
    start_utc_s, end_utc_s : float
        A day or a year, seconds since 1970 UTC. [s]

    Notes
    -----
    Exact to 1 s on the skyline's own terms. The whole round disc counts, flattened by
    the air: past a roof's upright edge the sun's side shows about a minute longer than
    its middle. Steps of ten minutes are dropped or kept whole only where the skyline's
    range proves it; all others are cut down to 0.6 s. A gleam or a break shorter than
    that may go unseen.
    """
    parts = np.append(np.arange(start_utc_s, end_utc_s, AT_ONCE_S), end_utc_s)
    pieces = [_lit(observer, skyline, start, end) for start, end in pairwise(parts)]
    spans = _joined(np.concatenate([np.empty((0, 2)), *pieces]))
    return tuple(
        LitSpan(
            opens,
            closes,
            None if opens <= start_utc_s else _hider(observer, skyline, opens, -A_MOMENT_S),
            None if closes >= end_utc_s else _hider(observer, skyline, closes, A_MOMENT_S),
        )
        for opens, closes in spans.tolist()
    )


def _lit(observer: Observer, skyline: Skyline, start_utc_s: float, end_utc_s: float) -> FloatArray:
    """Return lit pieces of the span, shape (pieces, 2), in no order."""
    knots = np.append(np.arange(start_utc_s, end_utc_s, COARSE_S), end_utc_s)
    pieces, found = np.stack([knots[:-1], knots[1:]], axis=-1), []
    for parts in (1, *SPLIT_INTO):
        pieces = _cut(pieces, parts)
        least, most = _bounds_deg(skyline, observer.sun_at(pieces[:, 0]), observer.sun_at(pieces[:, 1]))
        found.append(pieces[least > 0])
        pieces = pieces[(least <= 0) & (most > 0)]
    return np.concatenate([*found, _ends(observer, skyline, pieces)])


def _cut(pieces: FloatArray, parts: int) -> FloatArray:
    share = np.arange(parts + 1) / parts
    instants = pieces[:, :1] * (1 - share) + pieces[:, 1:] * share
    return np.stack([instants[:, :-1].ravel(), instants[:, 1:].ravel()], axis=-1)


def _bounds_deg(skyline: Skyline, before: SunTrack, after: SunTrack) -> tuple[FloatArray, FloatArray]:
    """Return the least and the most the clearance can be between two instants.

    The disc's middle strip is the least there is of it; its whole width against the
    lowest of the skyline is the most. Where the sun stands too high to tell, no bound.
    """
    swing = SWING_DEG * ((after.utc_s - before.utc_s) / COARSE_S) ** 2
    lowest = np.minimum(before.upper_edge_deg, after.upper_edge_deg) - swing
    highest = np.maximum(before.upper_edge_deg, after.upper_edge_deg) + swing
    discs = [2 * (sun.upper_edge_deg - sun.refracted_deg) for sun in (before, after)]
    turn = (after.azimuth_deg - before.azimuth_deg + 180.0) % 360.0 - 180.0
    beyond = np.copysign(AZIMUTH_SWINGS * swing, turn)
    wider = beyond + np.copysign(np.maximum(_half_width_deg(before), _half_width_deg(after)), turn)
    narrow, wide = ((before.azimuth_deg - more, after.azimuth_deg + more) for more in (beyond, wider))
    least, _ = skyline.clearance_bounds_deg(*narrow, lowest, highest, np.minimum(*discs) - swing)
    _, most = skyline.clearance_bounds_deg(*wide, lowest, highest, np.maximum(*discs) + swing)
    unsure = highest > ZENITH_DEG
    return np.where(unsure, -np.inf, least), np.where(unsure, np.inf, most)


def _ends(observer: Observer, skyline: Skyline, pieces: FloatArray) -> FloatArray:
    """Return the lit part of each finest piece: from end to end, or up to where the clearance passes zero."""
    clear = _clearance_deg(skyline, observer.sun_at(pieces.ravel())).reshape(pieces.shape)
    some = (clear > 0).any(axis=1)
    pieces, clear = pieces[some], clear[some]
    rise = np.where(clear[:, 0] == clear[:, 1], 1.0, clear[:, 1] - clear[:, 0])
    crossing = pieces[:, 0] - clear[:, 0] / rise * (pieces[:, 1] - pieces[:, 0])
    return np.where(clear > 0, pieces, crossing[:, np.newaxis])


def _clearance_deg(skyline: Skyline, sun: SunTrack) -> FloatArray:
    """Return how far the disc is clear of the skyline where most of it shows, at each instant. [°]"""
    which, across = _strips(skyline, sun)
    best = np.full(sun.utc_s.shape, -np.inf)
    np.maximum.at(best, which, skyline.clearance_deg(*_strip_deg(sun[which], across)))
    return best


def _strips(skyline: Skyline, sun: SunTrack) -> tuple[np.ndarray, FloatArray]:
    """Return the strips to look at: of which instant each is, and how far across the disc, -1 left to 1 right."""
    width, turns = _half_width_deg(sun), np.array([-360.0, 0.0, 360.0])
    bends = np.add.outer(turns, skyline.bends_deg).ravel()
    first, last = (np.searchsorted(bends, sun.azimuth_deg + side * width) for side in (-1.0, 1.0))
    which, bend = spread(first, last - first)
    across = (bends[bend] - sun.azimuth_deg[which]) / width[which]
    every = np.repeat(np.arange(len(sun)), len(_ACROSS))
    return np.append(every, which), np.append(np.tile(_ACROSS, len(sun)), np.clip(across, -1.0, 1.0))


def _strip_deg(sun: SunTrack, across: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return azimuth, top and length of a strip of each disc; above and below its middle the air squeezes it alike. [°]"""
    half = (sun.upper_edge_deg - sun.refracted_deg) * np.sqrt(1.0 - across**2)
    return sun.azimuth_deg + across * _half_width_deg(sun), sun.refracted_deg + half, 2 * half


def _half_width_deg(sun: SunTrack) -> FloatArray:
    """Return how many degrees of azimuth half the disc takes; held near the zenith, where it takes them all."""
    return sun.semidiameter_deg / np.cos(np.radians(np.minimum(sun.refracted_deg, HIGHEST_DEG)))


def _hider(observer: Observer, skyline: Skyline, edge_utc_s: float, step_s: float) -> str:
    """Return what hides the sun just past an edge of a span, at the strip that shows last before it."""
    shown, hidden = (observer.sun_at(np.array([edge_utc_s + step])) for step in (-step_s / 10, step_s))
    which, across = _strips(skyline, shown)
    last = across[np.argmax(skyline.clearance_deg(*_strip_deg(shown[which], across)))]
    azimuth, top, _ = _strip_deg(hidden, last)
    return skyline.called_at(float(azimuth[0]), float(top[0]))


def _joined(pieces: FloatArray) -> FloatArray:
    """Return touching pieces as one, in time order; a millisecond is touching."""
    if not len(pieces):
        return pieces
    pieces = pieces[np.argsort(pieces[:, 0])]
    breaks = np.flatnonzero(pieces[1:, 0] > pieces[:-1, 1] + 1e-3)
    return np.stack([pieces[np.append(0, breaks + 1), 0], pieces[np.append(breaks, len(pieces) - 1), 1]], axis=-1)
