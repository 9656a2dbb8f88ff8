"""The moon, through astral: good enough to plan by, not to aim at."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np
from astral import Observer as AstralObserver
from astral import moon

from app.sky.track import Observer

HORIZONTAL_PARALLAX_DEG = 57 / 60  # mean; 54′ to 61.5′
RISE_SET_DEG = -34 / 60 - 15.5 / 60  # standard refraction and mean semidiameter
SYNODIC_PHASE = 28.0  # astral counts a lunation in 28 parts
STEP_S = 600.0


@dataclass(frozen=True)
class MoonDay:
    """The moon on one civil day.

    Attributes
    ----------
    rises_utc_s, sets_utc_s : tuple of float
        None, one or, rarely, two of each; seconds since 1970 UTC. [s]
    phase : float
        Part of the lunation gone by at midday, 0 new, 0.5 full.
    phase_words : str
    """

    rises_utc_s: tuple[float, ...]
    sets_utc_s: tuple[float, ...]
    phase: float
    phase_words: str


def moon_at(observer: Observer, utc_s: float) -> tuple[float, float]:
    """Return azimuth and airless altitude of the moon as seen from the place. [°]

    astral 3.2 (Van Flandern & Pulkkinen's short series) less the mean parallax:
    within 0.15° of DE421 in either direction, as the tests find.
    """
    instant, place = datetime.fromtimestamp(utc_s, UTC), AstralObserver(observer.lat_deg, observer.lon_deg, 0)
    geocentric_deg = moon.elevation(place, instant)
    parallax_deg = HORIZONTAL_PARALLAX_DEG * np.cos(np.radians(geocentric_deg))
    return float(moon.azimuth(place, instant)), float(geocentric_deg - parallax_deg)


def moon_day(observer: Observer, start_utc_s: float, end_utc_s: float) -> MoonDay:
    """Return the moon's rises, sets and phase on one civil day.

    Times are good to a minute where the moon does not rise at a slant, by the
    tests; the phase to about half a day. astral's own rise and
    set functions go by UTC dates, so its altitude is searched here instead.
    """
    crossings = list(_crossings(observer, start_utc_s, end_utc_s))
    middle = datetime.fromtimestamp((start_utc_s + end_utc_s) / 2, UTC)
    phase = _phase(middle)
    return MoonDay(
        tuple(utc_s for utc_s, rising in crossings if rising),
        tuple(utc_s for utc_s, rising in crossings if not rising),
        phase,
        phase_words(phase),
    )


def phase_words(phase: float) -> str:
    """Return the common name of a phase, 0..1 from new to new."""
    names = ("new", "waxing crescent", "first quarter", "waxing gibbous", "full", "waning gibbous", "last quarter", "waning crescent")
    return f"{names[round(phase * 8) % 8]} moon" if round(phase * 8) % 4 == 0 else names[round(phase * 8) % 8]


def _phase(instant: datetime) -> float:
    """Return astral's phase between its daily values, which count from 00:00 UTC."""
    today, tomorrow = (moon.phase((instant + timedelta(days=n)).date()) for n in (0, 1))
    gone = (instant - instant.replace(hour=0, minute=0, second=0, microsecond=0)).total_seconds() / 86_400
    return (today + ((tomorrow - today) % SYNODIC_PHASE) * gone) % SYNODIC_PHASE / SYNODIC_PHASE


def _crossings(observer: Observer, start_utc_s: float, end_utc_s: float) -> Iterator[tuple[float, bool]]:
    knots = np.append(np.arange(start_utc_s, end_utc_s, STEP_S), end_utc_s)
    above = np.array([moon_at(observer, t)[1] > RISE_SET_DEG for t in knots])
    for i in np.flatnonzero(above[1:] != above[:-1]):
        low, high = knots[i], knots[i + 1]
        while high - low > 1.0:
            middle = (low + high) / 2
            low, high = (middle, high) if (moon_at(observer, middle)[1] > RISE_SET_DEG) == above[i] else (low, middle)
        yield float((low + high) / 2), bool(above[i + 1])
