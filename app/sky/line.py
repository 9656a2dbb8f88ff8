"""When the sun stands over a bearing: before and after a place on the line, or square above it."""

import numpy as np

from app.sky.track import Observer, SunTrack
from app.units import FloatArray

STEP_S = 60.0
HALVINGS = 16  # of a step: 1 ms
LOWEST_DEG = -6.0  # the end of civil twilight: below it nobody takes a picture by the sun


def line_crossings(
    observer: Observer,
    start_utc_s: float,
    end_utc_s: float,
    bearing_deg: float,
    above_deg: float = LOWEST_DEG,
) -> SunTrack:
    """Return the sun at every instant of a span at which its azimuth is this bearing.

    Parameters
    ----------
    observer : Observer
    start_utc_s, end_utc_s : float
        From after start to end, seconds since 1970 UTC. [s]
    bearing_deg : float
        From true north, 0..360. [°]
    above_deg : float
        Only where the airless centre stands higher than this. [°]

    Returns
    -------
    SunTrack
        In time order: none, one or, where the sun turns back, several; to 1 ms.

    Notes
    -----
    Sought is where the sun passes through the upright plane of the bearing, which
    has no jump at north nor at the zenith, and then whether it faces the bearing
    or its opposite. A sun that crosses twice within a minute, and so comes less
    than 0.0002° past the line, may go unseen; the track knows no more.
    """
    knots = observer.sun_over(start_utc_s, end_utc_s + STEP_S, STEP_S)
    right = _off_plane(knots, bearing_deg) > 0
    steps = np.flatnonzero(right[1:] != right[:-1])
    found = observer.sun_at(_passages_utc_s(knots[steps], right[steps], bearing_deg))
    faces = np.cos(np.radians(found.azimuth_deg - bearing_deg)) > 0
    return found[faces & (found.airless_deg > above_deg) & (found.utc_s <= end_utc_s)]


def _passages_utc_s(before: SunTrack, right: np.ndarray, bearing_deg: float) -> FloatArray:
    """Return the instants, each within a step after ``before``, halving the step again and again."""
    low, high = before.utc_s, before.utc_s + STEP_S
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        same = (_off_plane(before.observer.sun_at(middle), bearing_deg) > 0) == right
        low, high = np.where(same, middle, low), np.where(same, high, middle)
    return (low + high) / 2


def _off_plane(sun: SunTrack, bearing_deg: float) -> FloatArray:
    """Return how far the sun's direction lies to the right of the bearing's upright plane, -1..1."""
    altitude, turn = np.radians(sun.airless_deg), np.radians(sun.azimuth_deg - bearing_deg)
    return np.cos(altitude) * np.sin(turn)
