"""When the sun passes a given altitude: every passage in a span, none made up.

Between two neighbouring turns of its altitude (upper and lower transit, or
nearly so) the sun only rises or only sinks, so each such arc holds one passage
or none, and which is told by its two ends.
"""

from dataclasses import dataclass

import numpy as np

from app.sky.ephemeris import DAY_S
from app.sky.track import Observer, SunTrack
from app.units import FloatArray

DAY_TURN_RAD = 2 * np.pi / DAY_S
NEAR_POLE_DEG = 88.0  # beyond it declination, not rotation, decides when the sun turns
ENOUGH_S = 0.005


@dataclass(frozen=True)
class Crossings:
    """Passages through one altitude, in time order.

    ``utc_s`` in seconds since 1970 UTC, ``rising`` whether the sun went up.
    """

    utc_s: FloatArray
    rising: np.ndarray

    def within(self, start_utc_s: float, end_utc_s: float) -> "Crossings":
        """Return those from start to before end."""
        inside = (self.utc_s >= start_utc_s) & (self.utc_s < end_utc_s)
        return Crossings(self.utc_s[inside], self.rising[inside])


def turns(observer: Observer, start_utc_s: float, end_utc_s: float) -> SunTrack:
    """Return the sun where its altitude turns, from at or before start to at or after end.

    Near the poles the instants are half an hour apart instead, as fine as the
    sun's height can turn there.
    """
    if abs(observer.lat_deg) > NEAR_POLE_DEG:
        return observer.sun_at(np.arange(start_utc_s, end_utc_s + 1800.0, 1800.0))
    before, after = start_utc_s - DAY_S, end_utc_s + DAY_S
    halves = transits_utc_s(observer, before, after)
    sun = observer.days(before, after)
    dawn, dusk = sun.direction(halves - 0.25 * DAY_S)[2], sun.direction(halves + 0.25 * DAY_S)[2]
    latitude, declination = np.radians(observer.lat_deg), np.arcsin((dawn + dusk) / 2)
    drift = (dusk - dawn) / np.cos(declination) / (np.pi)  # declination's change per radian of turn
    upper = np.resize([1.0, -1.0], len(halves)) * (1.0 if _first_is_upper(observer, halves[0]) else -1.0)
    shift = drift * (np.tan(latitude) * upper - np.tan(declination))
    turned = observer.sun_at(halves + shift / DAY_TURN_RAD)
    first = max(np.searchsorted(turned.utc_s, start_utc_s, "right") - 1, 0)
    return turned[first : np.searchsorted(turned.utc_s, end_utc_s) + 1]


def transits_utc_s(observer: Observer, start_utc_s: float, end_utc_s: float, every: float = 0.5) -> FloatArray:
    """Return the instants of upper and lower transit in a span, to 0.01 s.

    ``every`` is 0.5 for both kinds and 1 for the upper ones alone. Upper transit
    is the local hour angle 0. Away from the poles only.
    """
    noon_s = (0.5 - observer.lon_deg / 360.0) * DAY_S  # by a mean sun
    first = np.ceil((start_utc_s - noon_s) / (every * DAY_S) - 0.2)
    last = np.floor((end_utc_s - noon_s) / (every * DAY_S) + 0.2)
    mean = noon_s + np.arange(first, last + 1) * every * DAY_S
    found = mean
    for _ in range(3):
        x, y, _, _ = observer.days(mean[0] - DAY_S, mean[-1] + DAY_S).direction(found)
        found = mean - np.arctan2(y, x) / DAY_TURN_RAD
    return found[(found >= start_utc_s) & (found < end_utc_s)]


def crossings(
    observer: Observer, start_utc_s: float, end_utc_s: float, altitude_deg: float, knots: SunTrack | None = None
) -> Crossings:
    """Return every passage of the disc's centre through an airless altitude in a span.

    Parameters
    ----------
    observer : Observer
    start_utc_s, end_utc_s : float
        From start to before end, seconds since 1970 UTC; a day or a century. [s]
    altitude_deg : float
        Airless altitude of the centre. [°]
    knots : SunTrack, optional
        ``turns`` of the same span, where several altitudes are asked for.

    Returns
    -------
    Crossings
        Empty where the sun stays on one side; 0.01 s on the track's own terms.
    """
    knots = turns(observer, start_utc_s, end_utc_s) if knots is None else knots
    above = knots.airless_deg > altitude_deg
    arcs = np.flatnonzero(above[1:] != above[:-1])
    low, high = knots[arcs], knots[arcs + 1]
    found = _passages(observer, low, high, altitude_deg)
    return Crossings(found, above[arcs + 1]).within(start_utc_s, end_utc_s)


def _passages(observer: Observer, before: SunTrack, after: SunTrack, altitude_deg: float) -> FloatArray:
    """Solve each arc: Newton's steps from the even-turning arc, kept inside the bracket."""
    start, end = before.utc_s.copy(), after.utc_s.copy()
    found = start + (end - start) * _arc_fraction(before.airless_deg, after.airless_deg, altitude_deg)
    open_arcs = np.arange(len(found))
    rising = after.airless_deg > before.airless_deg
    for attempt in range(60):
        sun = observer.sun_at(found[open_arcs])
        excess = sun.airless_deg - altitude_deg
        early = (excess < 0) == rising[open_arcs]
        start[open_arcs] = np.where(early, found[open_arcs], start[open_arcs])
        end[open_arcs] = np.where(early, end[open_arcs], found[open_arcs])
        step = -excess / _rate_deg_per_s(sun) if attempt < 8 else np.full(len(excess), np.nan)
        stepped = found[open_arcs] + step
        inside = (stepped > start[open_arcs]) & (stepped < end[open_arcs])
        found[open_arcs] = np.where(inside, stepped, (start[open_arcs] + end[open_arcs]) / 2)
        open_arcs = open_arcs[~(inside & (np.abs(step) < ENOUGH_S)) & (end - start > ENOUGH_S)[open_arcs]]
        if not len(open_arcs):
            break
    return found


def _arc_fraction(first_deg: FloatArray, last_deg: FloatArray, altitude_deg: float) -> FloatArray:
    """Return how far along an evenly turning arc the altitude is met: its sine runs like a cosine."""
    first, last, wanted = (np.sin(np.radians(a)) for a in (first_deg, last_deg, altitude_deg))
    return np.arccos(np.clip((first + last - 2 * wanted) / (last - first), -1, 1)) / np.pi


def _rate_deg_per_s(sun: SunTrack) -> FloatArray:
    """Return the speed of the altitude from the sky's turning alone, sign included. [°/s]"""
    rate = np.cos(np.radians(sun.observer.lat_deg)) * np.sin(np.radians(sun.azimuth_deg)) * (360.0 / DAY_S)
    return np.where(np.abs(rate) < 1e-7, np.copysign(1e-7, rate), rate)


def _first_is_upper(observer: Observer, transit_utc_s: float) -> bool:
    """Tell whether a transit is nearer to mean noon than to mean midnight."""
    return abs((transit_utc_s / DAY_S + observer.lon_deg / 360.0) % 1.0 - 0.5) < 0.25
