"""How far a slot is from failing in the weather of the day: margins as the looks have them, with the hour that decides."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

from app.looks.look import WantedLook
from app.looks.margin import Scene
from app.picture.by_eye import ByEye
from app.picture.forecast import Hour
from app.shoot.morning_weather import SiteWeather, in_weather
from app.shoot.standby import CLOUD, NEEDS_BRIGHT_SKY, NEEDS_SUN, WIND
from app.units import percent

# Where each of these fails: common practice, no source.
VEILED_SHARE = 0.75  # of the sky over the sun's way
RAIN_MM_H = 0.5
FOG_SHARE, FOG_M = 0.5, 1000.0  # under 1000 m it is called fog: WMO, International Cloud Atlas
STANDS_M_S, CLOTH_M_S = 8.0, 10.8  # where Beaufort 5 and 6 begin: WMO-No. 306, code table 1100
TIGHT = 0.4  # under this a slot stands, with a change
WATER = ("water still", "water ruffled", "the water sparkles")  # what the looks call what wind does to them
SUN_WEIGHT, SKY_WEIGHT = (1.0, 1.0, 0.5), (1.0, 0.5, 0.0)  # low, middle and high cloud before the sun, and in a bright sky
RAIN, STANDS, CLOTH, FOG = "rain", "stands", "cloth", "fog"


@dataclass(frozen=True)
class DayMargin:
    """One condition of a slot on this day.

    Attributes
    ----------
    name : str
        What holds: “the sun through the cloud”.
    value : float
        At its least in the slot: 1 met as well as can be, 0 on the edge, -1 far from it.
    utc_s : float
        From when it fails, else when it is least. [s since 1970 UTC]
    told : str
        The weather that makes it so, with its units: “gusts 7.0 m/s”.
    trouble : str
        What breaks it, as the standbys call it, or ``RAIN``, ``STANDS``, ``CLOTH``, ``FOG``.
    soft : bool
        Whether it asks for a change only, never for a standby.
    """

    name: str
    value: float
    utc_s: float
    told: str
    trouble: str
    soft: bool = False

    @property
    def fails(self) -> bool:
        """Whether it fails at some time in the slot."""
        return self.value < 0.0


Reading = tuple[float, str]
NEEDS_WIND = ("double", "glitter", "mirror")


def day_margins(
    look: WantedLook | None, scene: Scene, weather: SiteWeather, starts_utc_s: float, ends_utc_s: float
) -> tuple[DayMargin, ...]:
    """Return every margin that the day's weather makes for a slot, the least first; none where nothing is known."""
    hours = weather.through(starts_utc_s, ends_utc_s)
    found = [
        *(_least(hours, *rule) for rule in _rules(look.name if look else "", bool(scene.setup.lights))),
        *(_on_water(look, scene, weather, hours) if look else ()),
    ]
    return tuple(sorted((one for one in found if one), key=lambda one: (one.value, one.soft)))


def missing_for(look: WantedLook | None, margins: Iterable[DayMargin]) -> tuple[str, ...]:
    """Return what a look stands or falls with and nobody tells: “cloud”, “wind”."""
    told, name = {one.trouble for one in margins}, look.name if look else ""
    needs = (("cloud", CLOUD, (*NEEDS_SUN, *NEEDS_BRIGHT_SKY)), ("wind", WIND, NEEDS_WIND))
    return tuple(words for words, trouble, looks in needs if name in looks and trouble not in told)


def share_left(look: str, hour: Hour) -> float:
    """Return what the weather of an hour leaves of a look's worth: all where nothing is tight, none where something fails. [0..1]"""
    readings = (read(hour) for _, _, soft, read in _rules(look, False) if not soft)
    return max(0.0, min([1.0, *(reading[0] / TIGHT for reading in readings if reading)]))


def _rules(look: str, lights: bool) -> Iterator[tuple[str, str, bool, Callable[[Hour], Reading | None]]]:
    """Yield name, trouble, whether it is soft, and what reads it from an hour, None where the hour does not tell."""
    if look in NEEDS_SUN:
        yield "the sun through the cloud", CLOUD, False, lambda hour: _veil(hour, SUN_WEIGHT)
        yield "air clear enough for the sun", FOG, False, _clear_air
    if look in NEEDS_BRIGHT_SKY:
        yield "a bright sky behind them", CLOUD, False, lambda hour: _veil(hour, SKY_WEIGHT)
    yield "dry", RAIN, False, _dry
    yield "hair and cloth quiet", CLOTH, True, lambda hour: _wind(hour, CLOTH_M_S)
    if lights:
        yield "light stands safe", STANDS, True, lambda hour: _wind(hour, STANDS_M_S)


def _least(hours: Iterable[Hour], name: str, trouble: str, soft: bool, read: Callable[[Hour], Reading | None]) -> DayMargin | None:
    """Return a margin at the hour where it is least, or at the first at which it fails."""
    known = [(*reading, hour.utc_s) for hour in hours if (reading := read(hour))]
    return _made(name, trouble, soft, known) if known else None


def _made(name: str, trouble: str, soft: bool, known: Sequence[tuple[float, str, float]]) -> DayMargin:
    """Return the margin of readings with their hours: the least value, and the first hour at which it fails."""
    value, worst, utc_s = min(known, key=lambda one: one[0])
    _, told, first_utc_s = next((one for one in known if one[0] < 0.0), (value, worst, utc_s))
    words = told if told == worst else f"{told}; at worst {worst}"
    return DayMargin(name, max(-1.0, min(1.0, value)), first_utc_s, words, trouble, soft)


def _veil(hour: Hour, weights: tuple[float, float, float]) -> Reading | None:
    """Read cloud: by its levels where they are told, what lies under another not counted twice; else by the whole."""
    if None in hour.levels:
        return None if hour.cloud is None else (1.0 - hour.cloud / VEILED_SHARE, f"cloud {eighths(hour.cloud)}")
    open_share = 1.0
    for cover, weight in zip(hour.levels, weights, strict=True):
        open_share *= 1.0 - weight * cover
    low, middle, high = (eighths(cover) for cover in hour.levels)
    return 1.0 - (1.0 - open_share) / VEILED_SHARE, f"low cloud {low}, middle {middle}, high {high}"


def _clear_air(hour: Hour) -> Reading | None:
    if hour.visibility_m is not None:
        return hour.visibility_m / FOG_M - 1.0, f"visibility {hour.visibility_m / 1000:.1f} km"
    return None if hour.fog is None else (1.0 - hour.fog / FOG_SHARE, f"fog over {percent(hour.fog)} of the area")


def _dry(hour: Hour) -> Reading | None:
    return None if hour.rain_mm_h is None else (1.0 - hour.rain_mm_h / RAIN_MM_H, f"rain {hour.rain_mm_h:.1f} mm an hour")


def _wind(hour: Hour, limit_m_s: float) -> Reading | None:
    strongest = max((wind for wind in (hour.wind_m_s, hour.gust_m_s) if wind is not None), default=None)
    return None if strongest is None else (1.0 - strongest / limit_m_s, wind_words(hour))


def _on_water(look: WantedLook, scene: Scene, weather: SiteWeather, hours: Iterable[Hour]) -> Iterator[DayMargin]:
    """Yield the look's own margins that wind moves, each at its least."""
    read: dict[str, list[tuple[float, str, float]]] = {}
    for hour in hours:
        wet = in_weather(scene, weather, hour)
        if wet.weather.wind_m_s is None:
            continue
        sun = wet.observer.sun_at(hour.utc_s)
        for margin in look.margins(wet):
            if margin.name in WATER:
                read.setdefault(margin.name, []).append((float(margin.value(sun)), _water_words(weather, hour), hour.utc_s))
    for name, known in read.items():
        yield _made(name, WIND, False, known)


def _water_words(weather: SiteWeather, hour: Hour) -> str:
    seen = weather.seen.water if weather.seen else None
    return f"the water was seen {seen}" if seen else wind_words(hour)


def wind_words(hour: Hour) -> str:
    """Return “wind 4.0 m/s, gusts 7.0 m/s”, what is given of it."""
    parts = (("wind", hour.wind_m_s), ("gusts", hour.gust_m_s))
    return ", ".join(f"{name} {value:.1f} m/s" for name, value in parts if value is not None)


def hour_words(hour: Hour | None, seen: ByEye | None = None) -> str:
    """Return the weather of a moment: what is given of it, and nothing else."""
    if hour is None:
        return "not known"
    low, middle, high = (None if cover is None else eighths(cover) for cover in hour.levels)
    levels = ", ".join(f"{name} {cover}" for name, cover in (("low", low), ("middle", middle), ("high", high)) if cover)
    parts = [
        None if hour.cloud is None else f"cloud {eighths(hour.cloud)}{f' ({levels})' if levels else ''}",
        wind_words(hour) + ("" if hour.wind_from_deg is None else f" from {hour.wind_from_deg:.0f}°"),
        None if hour.rain_mm_h is None else f"rain {hour.rain_mm_h:.1f} mm an hour",
        None if hour.visibility_m is None else f"visibility {hour.visibility_m / 1000:.0f} km",
        None if hour.temperature_c is None else f"{hour.temperature_c:.0f} °C",
        f"the water seen {seen.water}" if seen and seen.water else None,
    ]
    return ", ".join(part for part in parts if part) or "not known"


def eighths(share: float) -> str:
    """Return a cover as people tell it by eye: “6 of 8”."""
    return f"{round(share * 8)} of 8"
