"""Windows by plain sampling every five seconds, and where they and the search's disagree."""

from dataclasses import dataclass

import numpy as np

from app.looks.margin import Margin, fit
from app.sky.track import Observer
from app.units import FloatArray

STEP_S = 5.0  # what is as long as this is seen
HALVINGS = 10  # of a step: 5 ms


@dataclass(frozen=True)
class Disagreement:
    """Where sampled and searched windows differ.

    ``missed`` and ``made_up`` count windows or breaks as long as the samples' step
    that only the samples or only the search show; ``worst_edge_s`` is the
    greatest distance between two edges of one window. [s]
    """

    windows: int
    missed: int
    made_up: int
    worst_edge_s: float


def sampled_spans(margins: tuple[Margin, ...], observer: Observer, start_utc_s: float, end_utc_s: float, step_s: float = STEP_S) -> FloatArray:
    """Return when windows open and close by even samples, edges halved to a thousandth of a step. [s]"""
    sun = observer.sun_over(start_utc_s, end_utc_s + step_s, step_s)
    holds = fit(margins, sun) > 0
    steps = np.flatnonzero(holds[1:] != holds[:-1])
    edges = _halved(margins, observer, sun.utc_s[steps], step_s, holds[steps])
    edges = np.concatenate([np.repeat(start_utc_s, holds[0]), edges, np.repeat(end_utc_s, holds[-1])])
    return np.clip(edges, start_utc_s, end_utc_s).reshape(-1, 2)


def compare(
    margins: tuple[Margin, ...], observer: Observer, sampled: FloatArray, searched: FloatArray, step_s: float = STEP_S
) -> Disagreement:
    """Return how sampled and searched windows disagree.

    A stretch on which they differ is a whole window or break of one of them, which
    the other lacks, or lies between an edge of one and the same edge of the other.
    """
    edges = np.concatenate([sampled.ravel(), searched.ravel()])
    owner = np.repeat([0, 1], [sampled.size, searched.size])
    order = np.argsort(edges)
    edges, owner = edges[order], owner[order]
    middle = (edges[1:] + edges[:-1]) / 2
    differ = np.flatnonzero(_inside(sampled, middle) != _inside(searched, middle))
    length, first, last = np.diff(edges)[differ], owner[differ], owner[differ + 1]
    whole, long = first == last, length >= step_s
    edge_s = [d for d, i in zip(length[~whole], differ[~whole], strict=True) if d < 1 or _one_edge(margins, observer, *edges[i : i + 2])]
    return Disagreement(
        windows=len(sampled),
        missed=int(np.sum(whole & long & (first == 0))),
        made_up=int(np.sum(whole & long & (first == 1))),
        worst_edge_s=max(edge_s, default=0.0),
    )


def _inside(spans: FloatArray, utc_s: FloatArray) -> np.ndarray:
    return np.searchsorted(spans.ravel(), utc_s) % 2 == 1


def _one_edge(margins: tuple[Margin, ...], observer: Observer, start_utc_s: float, end_utc_s: float) -> bool:
    """Tell whether the fit passes zero but once there; of several edges so close any may be found."""
    holds = fit(margins, observer.sun_at(np.linspace(start_utc_s - 0.1, end_utc_s + 0.1, 200))) > 0
    return np.count_nonzero(holds[1:] != holds[:-1]) == 1


def _halved(margins: tuple[Margin, ...], observer: Observer, start_utc_s: FloatArray, step_s: float, holds: np.ndarray) -> FloatArray:
    low, high = start_utc_s, start_utc_s + step_s
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        same = (fit(margins, observer.sun_at(middle)) > 0) == holds
        low, high = np.where(same, middle, low), np.where(same, high, middle)
    return (low + high) / 2
