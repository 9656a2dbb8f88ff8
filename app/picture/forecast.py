"""What a forecast says of the weather, hour by hour, and never more than it says."""

import math
from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields, replace
from typing import Any, Self

from app.errors import BadInput
from app.picture.weather import STRONGEST_M_S, Weather

WIDEST_GAP_S = 6.5 * 3600.0  # six-hourly rows are joined, with half an hour to spare; a wider gap is a gap
MOST_HOURS = 1000
HOUR_S, DAY_S = 3600.0, 86400.0


@dataclass(frozen=True)
class Hour:
    """The weather of one moment; None is "not given", which is never the same as 0.

    Attributes
    ----------
    utc_s : float
        [s since 1970 UTC]
    cloud, low, middle, high : float, optional
        Share of the sky that all clouds, and those of each level, cover. [0..1]
    wind_m_s, gust_m_s : float, optional
        Mean at 10 m, and the strongest gust. [m/s]
    wind_from_deg : float, optional
        Where it blows from, from true north; None also when it changes about. [°]
    visibility_m : float, optional
        [m]
    fog : float, optional
        Share of the area in fog, seeing less than 1 km. [0..1]
    rain_mm_h : float, optional
        Mean from this moment to the next row, snow as melted. [mm/h]
    temperature_c, sea_pressure_hpa : float, optional
        Air at 2 m, and its pressure brought down to sea level. [°C, hPa]
    """

    utc_s: float
    cloud: float | None = None
    low: float | None = None
    middle: float | None = None
    high: float | None = None
    wind_m_s: float | None = None
    gust_m_s: float | None = None
    wind_from_deg: float | None = None
    visibility_m: float | None = None
    fog: float | None = None
    rain_mm_h: float | None = None
    temperature_c: float | None = None
    sea_pressure_hpa: float | None = None

    def __post_init__(self) -> None:
        if not math.isfinite(self.utc_s):
            raise BadInput("An hour of a forecast has no time.", "utc_s")
        for name, (low, high, unit) in RANGES.items():
            value = getattr(self, name)
            if value is not None and not low <= value <= high:
                message = f"A forecast's {SPOKEN.get(name, name)} lies between {low:g} and {high:g}{unit}; {value:g} came."
                raise BadInput(message, name)

    @property
    def levels(self) -> tuple[float | None, float | None, float | None]:
        """Cover of low, middle and high cloud. [0..1]"""
        return self.low, self.middle, self.high

    def over(self, under: "Hour | None") -> "Hour":
        """Return another hour with all that this one gives in its place."""
        given = {name: value for name in RANGES if (value := getattr(self, name)) is not None}
        return replace(under or Hour(self.utc_s), **given)

    def weather(self, people_in_water: bool = False) -> Weather:
        """Return what a picture needs of it."""
        return Weather(self.wind_m_s, self.wind_from_deg, people_in_water)


# What can be true anywhere on Earth; a value outside is a mistake of units or of the source.
RANGES = {
    **dict.fromkeys(("cloud", "low", "middle", "high", "fog"), (0.0, 1.0, "")),
    **dict.fromkeys(("wind_m_s", "gust_m_s"), (0.0, STRONGEST_M_S, " m/s")),
    "wind_from_deg": (0.0, 360.0, "°"),
    "visibility_m": (0.0, 500_000.0, " m"),
    "rain_mm_h": (0.0, 500.0, " mm an hour"),
    "temperature_c": (-95.0, 65.0, " °C"),
    "sea_pressure_hpa": (850.0, 1100.0, " hPa"),
}
SPOKEN = {
    "low": "low cloud", "middle": "middle cloud", "high": "high cloud", "wind_m_s": "wind", "gust_m_s": "gust",
    "wind_from_deg": "wind's bearing", "visibility_m": "visibility", "rain_mm_h": "rain", "temperature_c": "temperature",
    "sea_pressure_hpa": "sea pressure",
}  # fmt: skip
_LINEAR = tuple(name for name in RANGES if name not in ("wind_from_deg", "rain_mm_h"))


@dataclass(frozen=True)
class Forecast:
    """Hours in their order, with whose they are, for where, and how old.

    Attributes
    ----------
    source, attribution : str
        Who made it, and the words they ask to be shown with it.
    lat_deg, lon_deg : float
        Where it is for. [°]
    issued_utc_s : float, optional
        When it was made, where the source tells. [s since 1970 UTC]
    fetched_utc_s : float
        When it came, or was last confirmed to be the newest. [s since 1970 UTC]
    hours : tuple of Hour
        At least one; each later than the one before.
    """

    source: str
    attribution: str
    lat_deg: float
    lon_deg: float
    issued_utc_s: float | None
    fetched_utc_s: float
    hours: tuple[Hour, ...]

    def __post_init__(self) -> None:
        if not 0 < len(self.hours) <= MOST_HOURS:
            raise BadInput(f"A forecast has 1 to {MOST_HOURS} hours; {len(self.hours)} came.", "hours")
        if any(after.utc_s <= before.utc_s for before, after in zip(self.hours, self.hours[1:])):
            raise BadInput("The hours of a forecast follow each other; these are out of order.", "hours")

    def at(self, utc_s: float) -> Hour | None:
        """Return the weather of a moment, straight between two rows.

        None before the first row, after the last, and in a gap of more than six
        hours. What one of the two rows does not give is not given. Rain, being a mean,
        is that of the row before; a wind between two opposite ones comes from nowhere.
        """
        after = bisect_right(self.hours, utc_s, key=lambda hour: hour.utc_s)
        if after and self.hours[after - 1].utc_s == utc_s:
            return self.hours[after - 1]
        if not 0 < after < len(self.hours):
            return None
        one, two = self.hours[after - 1], self.hours[after]
        return _between(one, two, utc_s) if two.utc_s - one.utc_s <= WIDEST_GAP_S else None

    def reach_words(self, utc_s: float) -> str:
        """Return why it has nothing for a moment, or an empty text where it has."""
        if self.at(utc_s):
            return ""
        if utc_s > self.hours[-1].utc_s:
            return f"It ends {span_words(utc_s - self.hours[-1].utc_s)} before."
        if utc_s < self.hours[0].utc_s:
            return f"It begins {span_words(self.hours[0].utc_s - utc_s)} after."
        return "It has a gap of more than 6 hours there."

    def age_words(self, now_utc_s: float) -> str:
        """Return how old it is: “made 5 hours ago, fetched 20 minutes ago”."""
        fetched = f"fetched {ago_words(now_utc_s - self.fetched_utc_s)}"
        return fetched if self.issued_utc_s is None else f"made {ago_words(now_utc_s - self.issued_utc_s)}, {fetched}"

    def as_json(self) -> dict[str, Any]:
        """Return it as JSON's types, what is not given left out; ``from_json`` gives it back."""
        hours = [{name: value for name, value in asdict(hour).items() if value is not None} for hour in self.hours]
        return {**{field.name: getattr(self, field.name) for field in fields(self)}, "hours": hours}

    @classmethod
    def from_json(cls, value: Mapping[str, Any]) -> Self:
        """Return the forecast that ``as_json`` wrote; raises ``BadInput`` for anything else."""
        try:
            return cls(**{**value, "hours": tuple(Hour(**hour) for hour in value["hours"])})
        except (TypeError, KeyError, AttributeError):
            raise BadInput("A forecast that was kept cannot be read; fetch a new one.") from None


def span_words(span_s: float) -> str:
    """Return a length of time: “1 minute”, “47 minutes”, “5 hours”, “3 days”."""
    for unit, length_s, until_s in (("minute", 60.0, 5400.0), ("hour", HOUR_S, 2 * DAY_S), ("day", DAY_S, math.inf)):
        if abs(span_s) < until_s:
            count = round(abs(span_s) / length_s)
            return f"{count} {unit}{'' if count == 1 else 's'}"
    raise ValueError(f"A length of time is a number of seconds; {span_s} came.")


def ago_words(age_s: float) -> str:
    """Return an age, which a wrong clock can make negative: “in 58 minutes by this clock”."""
    if age_s < -60.0:
        return f"{span_words(age_s)} in the future by this clock, which must be wrong"
    return "just now" if age_s < 60.0 else f"{span_words(age_s)} ago"


def _between(one: Hour, two: Hour, utc_s: float) -> Hour:
    share = (utc_s - one.utc_s) / (two.utc_s - one.utc_s)
    values = {name: _straight(getattr(one, name), getattr(two, name), share) for name in _LINEAR}
    return Hour(utc_s, **values, wind_from_deg=_turned_deg(one, two, share), rain_mm_h=one.rain_mm_h)


def _straight(one: float | None, two: float | None, share: float) -> float | None:
    return None if one is None or two is None else one + (two - one) * share


def _turned_deg(one: Hour, two: Hour, share: float) -> float | None:
    """Return the bearing between two by their vectors, each as long as 1. [°]"""
    if one.wind_from_deg is None or two.wind_from_deg is None:
        return None
    first, last = math.radians(one.wind_from_deg), math.radians(two.wind_from_deg)
    north = _straight(math.cos(first), math.cos(last), share)
    east = _straight(math.sin(first), math.sin(last), share)
    return None if math.hypot(north, east) < 1e-6 else math.degrees(math.atan2(east, north)) % 360.0
