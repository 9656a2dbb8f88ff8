"""The page of the sky towards the low sun: what of a day's section is told, in words and as a drawing."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from app.picture.cloud_levels import LEVEL_NAMES
from app.picture.sunset_colour import (
    ColourChance,
    LitDeck,
    colour_chance,
    lit_decks,
    lit_times_utc_s,
    sun_gaps,
)
from app.picture.west_section import WestSection, level_words
from app.shoot.morning_margins import eighths
from app.shoot.morning_sun import MORNING
from app.sky.track import Observer
from app.units import percent
from app.web.drawing.section import DESK, HAND, LastRay, SectionDrawing, Sight, draw_section
from app.web.mornings_weather import SiteDay
from app.web.render import clock, lasting

SIGHTS_DEG = (12.0, 6.0, 2.0)
MOST_RAYS = 2
POINTS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")


@dataclass(frozen=True)
class LitWords:
    """One cloud that is lit from below: which, where, from when to when, and how much reaches it."""

    cloud: str
    where: str
    time: str
    share: str


@dataclass(frozen=True)
class SkyTold:
    """All that is told of a section; ``gaps`` and ``lit`` in words, ``table`` cover by level and distance."""

    drawings: tuple[SectionDrawing, ...]
    chance: ColourChance
    gaps: str
    lit: tuple[LitWords, ...]
    distances_km: tuple[str, ...]
    table: tuple[tuple[str, tuple[str, ...]], ...]


def sky_told(day: SiteDay) -> SkyTold | None:
    """Return what a day's section tells; None where there is no low sun or no forecast along its bearing."""
    section, sun = day.section, day.sun
    if section is None or sun is None:
        return None
    decks = lit_decks(section)
    times = [(deck, lit_times_utc_s(day.observer, deck, sun.utc_s)) for deck in decks]
    sights, rays = _sights(day), _rays(day, times)
    return SkyTold(
        drawings=tuple(draw_section(section, sights, rays, sheet) for sheet in (DESK, HAND)),
        chance=colour_chance(section, day.weather.at(sun.utc_s)),
        gaps=_gaps_words(section),
        lit=tuple(_lit(section, deck, span, day.kept.site.time_zone) for deck, span in times if span),
        distances_km=tuple(f"{distance / 1000:.0f}" for distance in section.distance_m),
        table=tuple(_rows(section)),
    )


def bearing_words(azimuth_deg: float) -> str:
    """Return “west, 268°”."""
    return f"{POINTS[round(azimuth_deg / 45) % 8]}, {azimuth_deg:.0f}°"


def _sights(day: SiteDay) -> tuple[Sight, ...]:
    zone, found = day.kept.site.time_zone, []
    for wanted in SIGHTS_DEG:
        at = _when(day.observer, day.sun.utc_s, wanted, day.part)
        if at is not None:
            found.append(Sight(clock(at, zone), wanted))
    return tuple(found)


def _when(observer: Observer, sun_utc_s: float, seen_deg: float, part: str) -> float | None:
    """Return when the sun is seen so high, within six hours of its rise or set; to half a minute, enough for a label."""
    moments = sun_utc_s + np.arange(0.0, 6 * 3600.0, 30.0) * (1 if part == MORNING else -1)
    above = observer.sun_at(moments).refracted_deg >= seen_deg
    return float(moments[np.argmax(above)]) if above.any() else None


def _rays(day: SiteDay, times: list[tuple[LitDeck, tuple[float, float] | None]]) -> tuple[LastRay, ...]:
    """Return the last rays to the lit cloud overhead, or nearest to it, one for each level; in the morning the first ones."""
    chosen: dict[int, LastRay] = {}
    for deck, span in times:
        if span and deck.level not in chosen:
            chosen[deck.level] = LastRay(clock(span[0] if day.part == MORNING else span[1], day.kept.site.time_zone), deck)
    return tuple(chosen.values())[:MOST_RAYS]


def _lit(section: WestSection, deck: LitDeck, span: tuple[float, float], zone: str) -> LitWords:
    where = "overhead" if deck.towards_sun_m == 0 else f"{deck.towards_sun_m / 1000:.0f} km"
    length = lasting((span[1] - span[0]) / 60)
    return LitWords(
        f"{level_words(section, deck.level)}, {eighths(deck.cover)}", where,
        f"{clock(span[0], zone)}–{clock(span[1], zone)}, {length}", percent(deck.share),
    )  # fmt: skip


def _gaps_words(section: WestSection) -> str:
    gaps = sun_gaps(section)
    if not gaps:
        return "Below 6° there is no gap for the sun: cloud stops more than half of it all the way down."
    told = " and ".join(f"from {gap.from_deg:.1f}° to {gap.to_deg:.1f}°" for gap in reversed(gaps))
    return f"At least half of the sun comes through while it is seen {told} above the level horizon (looked at up to 6°)."


def _rows(section: WestSection) -> Iterator[tuple[str, tuple[str, ...]]]:
    for level in reversed(range(3)):
        cover = tuple("not told" if np.isnan(one) else eighths(float(one)) for one in section.cover[level])
        yield f"{LEVEL_NAMES[level]}, about {section.height_m[level] / 1000:.1f} km up", cover
