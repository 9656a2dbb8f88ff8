"""What the sun does on one civil day: rise, set, transit, twilights, golden and blue stretches."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from app.sky.crossings import NEAR_POLE_DEG, crossings, transits_utc_s, turns
from app.sky.ephemeris import DAY_S
from app.sky.refraction import rise_set_lowering_deg
from app.sky.track import Observer, SunTrack

RISE_SET_DEG = -50 / 60  # 34′ of standard refraction and 16′ of semidiameter: Meeus ch. 15, USNO, HMNAO

# Names of passages upwards and downwards, and the airless altitude of the centre.
# Civil, nautical and astronomical twilight: AMS Glossary of Meteorology.
PASSAGES = (
    ("sunrise", "sunset", RISE_SET_DEG),
    ("civil_dawn", "civil_dusk", -6.0),
    ("nautical_dawn", "nautical_dusk", -12.0),
    ("astronomical_dawn", "astronomical_dusk", -18.0),
    ("plus6_rising", "plus6_setting", 6.0),
    ("minus4_rising", "minus4_setting", -4.0),
    ("minus6_rising", "minus6_setting", -6.0),
)

# Common practice, no standard: the altitudes between which light is called golden or blue.
STRETCHES = (("golden hour", -4.0, 6.0), ("blue hour", -6.0, -4.0))

ALWAYS_ABOVE, ALWAYS_BELOW, OK = "always_above", "always_below", "ok"


@dataclass(frozen=True)
class Event:
    """One thing the sun does, or the reason why it does not.

    ``status`` is ok, always_above or always_below; time and azimuth are None
    unless it is ok. [s since 1970 UTC, ° from true north]
    """

    name: str
    status: str
    utc_s: float | None = None
    azimuth_deg: float | None = None


@dataclass(frozen=True)
class Stretch:
    """A stretch of light between two altitudes of the sun.

    ``part`` is morning or evening, around noon or around midnight where the sun
    turns inside it, or all day. [s since 1970 UTC]
    """

    name: str
    part: str
    opens_utc_s: float
    closes_utc_s: float


def day_events(observer: Observer, start_utc_s: float, end_utc_s: float, eye_height_m: float = 0.0) -> tuple[Event, ...]:
    """Return every event of one civil day, in time order, absences last.

    Parameters
    ----------
    observer : Observer
    start_utc_s, end_utc_s : float
        The civil day, 23, 24 or 25 hours long, seconds since 1970 UTC. [s]
    eye_height_m : float
        Height of the eye above a sea or plain that makes the horizon; it lowers
        sunrise and sunset only. [m]

    Returns
    -------
    tuple of Event
        A kind may come twice. A kind that does not come is told as always above
        or always below only where the sun stays on that side all day; on a day
        with a rise and no set there is no set to tell.
    """
    knots = turns(observer, start_utc_s, end_utc_s)
    found = [Event("transit", OK, *instant) for instant in _transits(observer, start_utc_s, end_utc_s)]
    for upward, downward, altitude_deg in PASSAGES:
        if upward == "sunrise":
            altitude_deg -= float(rise_set_lowering_deg(eye_height_m))
        found += _passages(observer, knots, (start_utc_s, end_utc_s), (upward, downward), altitude_deg)
    return tuple(sorted(found, key=lambda event: (event.utc_s is None, event.utc_s or 0.0)))


def day_stretches(observer: Observer, start_utc_s: float, end_utc_s: float) -> tuple[Stretch, ...]:
    """Return the golden and blue stretches that open on this civil day, whole.

    One that goes on past midnight keeps its true end; one already open when the
    day starts belongs to the day before, unless it never opened. At most a day
    is looked back and ahead.
    """
    before, after = start_utc_s - DAY_S, end_utc_s + DAY_S
    knots = turns(observer, before, after)
    return tuple(
        stretch
        for name, low_deg, high_deg in STRETCHES
        for stretch in _between(observer, knots, (before, after), name, (low_deg, high_deg))
        if start_utc_s <= stretch.opens_utc_s < end_utc_s or stretch.part == "all day"
    )


def _passages(
    observer: Observer, knots: SunTrack, day: tuple[float, float], names: tuple[str, str], altitude_deg: float
) -> Iterator[Event]:
    found = crossings(observer, *day, altitude_deg, knots)
    azimuths_deg = observer.sun_at(found.utc_s).azimuth_deg
    for utc_s, rising, azimuth_deg in zip(found.utc_s, found.rising, azimuths_deg, strict=True):
        yield Event(names[0 if rising else 1], OK, float(utc_s), float(azimuth_deg))
    if not len(found.utc_s):
        above = observer.sun_at(day[0]).airless_deg > altitude_deg
        yield from (Event(name, ALWAYS_ABOVE if above else ALWAYS_BELOW) for name in names)


def _transits(observer: Observer, start_utc_s: float, end_utc_s: float) -> list[tuple[float, float]]:
    if abs(observer.lat_deg) > NEAR_POLE_DEG + 1.99:  # at a pole no meridian is the own one
        return []
    found = transits_utc_s(observer, start_utc_s, end_utc_s, every=1.0)
    return list(zip(found.tolist(), observer.sun_at(found).azimuth_deg.tolist(), strict=True))


def _between(
    observer: Observer, knots: SunTrack, span: tuple[float, float], name: str, bounds_deg: tuple[float, float]
) -> Iterator[Stretch]:
    """Yield the stretches in which the sun stands between two altitudes."""
    edges = np.sort(np.concatenate([crossings(observer, *span, bound, knots).utc_s for bound in bounds_deg]))
    edges = np.concatenate([[span[0]], edges, [span[1]]])
    middle_deg = observer.sun_at((edges[1:] + edges[:-1]) / 2).airless_deg
    for i in np.flatnonzero((middle_deg > bounds_deg[0]) & (middle_deg < bounds_deg[1])):
        yield Stretch(name, _part(observer, edges[i], edges[i + 1], span), float(edges[i]), float(edges[i + 1]))


def _part(observer: Observer, opens_utc_s: float, closes_utc_s: float, span: tuple[float, float]) -> str:
    if (opens_utc_s, closes_utc_s) == span:
        return "all day"
    near = min(30.0, (closes_utc_s - opens_utc_s) / 4)
    instants = np.array([opens_utc_s, opens_utc_s + near, closes_utc_s - near, closes_utc_s])
    first, second, third, last = observer.sun_at(instants).airless_deg
    rises_in, rises_out = second > first, last > third
    if rises_in == rises_out:
        return "morning" if rises_in else "evening"
    return "around noon" if rises_in else "around midnight"
