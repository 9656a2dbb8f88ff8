"""Whether cloud will glow at sunset or sunrise: when it is lit from below, and a rule of thumb for the chance."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from app.picture.cloud_levels import HIGH, LEVEL_NAMES, LOW, MIDDLE
from app.picture.forecast import Hour
from app.picture.west_section import (
    WestSection,
    first_from_below_deg,
    last_light_deg,
    level_words,
    passes_to_cloud,
    passes_to_site,
    ray_height_m,
    seen_cloud_deg,
    touch_m,
)
from app.sky.crossings import crossings
from app.sky.track import Observer
from app.units import FloatArray, listed, percent

# All thresholds of this file are a rule of thumb: common practice, no source.
RULE = "A rule of thumb from cloud cover alone, common practice without a source; nobody can promise colour."
LEAST_COVER = 1 / 8  # less is no cloud worth a picture
SEEN_FROM_DEG = 3.0  # lower clouds are lost behind land and haze
LIT_FROM = 0.25  # share of the light from which a cloud is called lit
GAP_FROM = 0.5  # share of the sun from which there is a gap for it
GAP_TO_DEG, GAP_STEP_DEG = 6.0, 0.1
STEPS = 61
# Low rays are the red ones, for haze lies low: light counts by exp(-height / 2 km) of where it ran lowest. Our choice.
HAZE_HEIGHT_M = 2000.0
# How good a canvas a cover is: none under a clear sky, best broken, less as one grey sheet.
CANVAS_COVER, CANVAS = (0.0, 0.3, 0.7, 1.0), (0.0, 1.0, 1.0, 0.4)
WEIGHT = (0.5, 1.0, 1.0)  # low cloud is thick, and dull beside the others
WORTH_A_WORD = 0.2
SPOILT = 0.5  # what haze or rain leaves
HAZE_BELOW_M, RAIN_FROM_MM_H, FOG_FROM = 5000.0, 0.2, 0.5
STEPS_OF_CHANCE = ((0.1, "hardly any"), (0.3, "a little"), (0.6, "fair"), (1.01, "good"))


@dataclass(frozen=True)
class LitDeck:
    """One level of cloud at one distance, and its light from below.

    Attributes
    ----------
    level : int
        0 for low, 1 for middle, 2 for high.
    towards_sun_m : float
        [m]
    cover : float
        [0..1]
    begins_deg, ends_deg : float
        Airless altitude of the sun's centre between which it is lit; both those of open sky
        where it never is. [°]
    share : float
        Light that reaches it, of all that could; low and so red rays count more. [0..1]
    stopped : (float, float, float)
        What low, middle and high cloud stop of it on the way. [0..1]
    known : float
        Share of that light which comes by where the forecast was asked. [0..1]
    lit : bool
        Whether it is lit at all.
    """

    level: int
    towards_sun_m: float
    cover: float
    begins_deg: float
    ends_deg: float
    share: float
    stopped: tuple[float, ...]
    known: float
    lit: bool


@dataclass(frozen=True)
class Gap:
    """Altitudes as seen between which at least half of the sun comes through. [°]"""

    from_deg: float
    to_deg: float


@dataclass(frozen=True)
class ColourChance:
    """The chance of colour, 0..1 or None where nobody knows, its word, and why."""

    chance: float | None
    word: str
    reasons: tuple[str, ...]
    rule: str = RULE


def sun_gaps(section: WestSection) -> tuple[Gap, ...]:
    """Return where between the level horizon and 6° the sun comes through, the lowest gap first.

    The bearing is that of the horizon; higher up the sun stands elsewhere.
    """
    altitudes = np.arange(0.0, GAP_TO_DEG + GAP_STEP_DEG / 2, GAP_STEP_DEG)
    return tuple(
        Gap(float(altitudes[first]), float(altitudes[last]))
        for first, last in _runs(passes_to_site(section, altitudes).share >= GAP_FROM)
    )


def lit_decks(section: WestSection) -> tuple[LitDeck, ...]:
    """Return every cloud of the section that is seen at 3° or more, with its light from below; edges to 0.05°."""
    return tuple(
        _lit_deck(section, level, float(distance), float(section.cover[level, place]))
        for level in (HIGH, MIDDLE, LOW)
        for place, distance in enumerate(section.distance_m)
        if section.cover[level, place] >= LEAST_COVER
        and seen_cloud_deg(section.height_m[level], distance) >= SEEN_FROM_DEG
    )


def lit_times_utc_s(observer: Observer, deck: LitDeck, near_utc_s: float) -> tuple[float, float] | None:
    """Return from when to when a deck is lit, in time order; None where it never is.

    ``near_utc_s`` is the sunset or the sunrise; the passages nearest to it count. Where
    the sun does not sink so far, None too. [s since 1970 UTC]
    """
    if not deck.lit:
        return None
    found = [_nearest(observer, near_utc_s, altitude_deg) for altitude_deg in (deck.begins_deg, deck.ends_deg)]
    return None if None in found else tuple(sorted(found))


def colour_chance(section: WestSection, here: Hour | None = None) -> ColourChance:
    """Return the chance of colour by a rule of thumb, with its reasons.

    For each cloud that is seen: how good a canvas its cover is (best at 3/10 to 7/10),
    times the light that reaches it from below, times what lower cloud overhead leaves of
    the view, half for low cloud; the best of them counts. Haze, fog or rain on site
    halves it. ``here`` is the weather on site.
    """
    if np.isnan(section.cover[[MIDDLE, HIGH], 0]).all():
        return ColourChance(None, "not known", ("The forecast does not tell middle and high cloud apart.",))
    decks = lit_decks(section)
    if not decks:
        return ColourChance(0.0, STEPS_OF_CHANCE[0][1], ("There is no cloud to be coloured, 1/8 at most.",))
    values = [_value(section, deck) for deck in decks]
    best = decks[int(np.argmax(values))]
    spoilt = tuple(_spoilt(here))
    chance = max(values) * (SPOILT if spoilt else 1.0)
    word = next(word for under, word in STEPS_OF_CHANCE if chance < under)
    return ColourChance(chance, word, (*_reasons(section, best), *spoilt))


def _lit_deck(section: WestSection, level: int, distance_m: float, cover: float) -> LitDeck:
    first = float(first_from_below_deg(distance_m))
    last = float(last_light_deg(section.height_m[level], distance_m))
    altitudes = np.linspace(first, last, STEPS)
    passed = passes_to_cloud(section, level, distance_m, altitudes)
    lowest = section.height_m[level] - ray_height_m(distance_m, touch_m(altitudes))
    weight = np.exp(-lowest / HAZE_HEIGHT_M)
    share, known, *through = (
        float(np.average(part, weights=weight)) for part in (np.nan_to_num(passed.share), passed.known, *passed.by_level)
    )
    lit = np.flatnonzero(np.nan_to_num(passed.share) >= LIT_FROM)
    begins, ends = (float(altitudes[lit[at]]) for at in (0, -1)) if len(lit) else (first, last)
    stopped = tuple(1.0 - part for part in through)
    return LitDeck(level, distance_m, cover, begins, ends, share, stopped, known, bool(len(lit)))


def _runs(holds: np.ndarray) -> Iterator[tuple[int, int]]:
    """Yield the first and the last place of each run of true values."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], holds, [False]))))
    return ((int(first), int(after) - 1) for first, after in edges.reshape(-1, 2))


def _nearest(observer: Observer, near_utc_s: float, altitude_deg: float) -> float | None:
    passages = crossings(observer, near_utc_s - 6 * 3600.0, near_utc_s + 6 * 3600.0, altitude_deg).utc_s
    return float(passages[np.argmin(np.abs(passages - near_utc_s))]) if len(passages) else None


def _value(section: WestSection, deck: LitDeck) -> float:
    canvas = float(np.interp(deck.cover, CANVAS_COVER, CANVAS))
    return WEIGHT[deck.level] * canvas * deck.share * float(np.prod(1.0 - _under(section, deck.level)))


def _under(section: WestSection, level: int) -> FloatArray:
    """Return the cover overhead of the levels under one, unknown ones as none."""
    return np.nan_to_num(section.cover[:level, 0])


def _reasons(section: WestSection, deck: LitDeck) -> Iterator[str]:
    where = "overhead" if deck.towards_sun_m == 0 else f"{deck.towards_sun_m / 1000:.0f} km towards the sun"
    reached = f"{percent(deck.share)} of the light reaches it from below"
    yield f"Best placed: {level_words(section, deck.level)}, {_eighths(deck.cover)}, {where}; {reached}."
    if deck.cover > CANVAS_COVER[2]:
        yield f"It covers {_eighths(deck.cover)}: a sheet, which colours duller than broken cloud."
    for level, stopped in enumerate(deck.stopped):
        if stopped >= WORTH_A_WORD:
            who = "the same sheet, farther out," if level == deck.level else level_words(section, level)
            yield f"On its way there {who} stops {percent(stopped)} of the light."
    hidden = 1.0 - float(np.prod(1.0 - _under(section, deck.level)))
    if hidden >= WORTH_A_WORD:
        yield f"Lower cloud overhead hides {percent(hidden)} of it."
    unknown = [LEVEL_NAMES[level] for level in range(3) if np.isnan(section.cover[level]).all()]
    if unknown:
        yield f"Nothing is told of {listed(unknown)} cloud, which is counted as none."
    elif deck.known < 1.0 - WORTH_A_WORD:
        end_km = section.distance_m[-1] / 1000
        yield f"{percent(1 - deck.known)} of that light comes from beyond {end_km:.0f} km, where cloud is taken to go on as there."


def _eighths(cover: float) -> str:
    return f"{round(cover * 8)} of 8"


def _spoilt(here: Hour | None) -> Iterator[str]:
    if here is None:
        return
    if here.visibility_m is not None and here.visibility_m < HAZE_BELOW_M:
        yield f"Haze: one sees {here.visibility_m / 1000:.1f} km only, which halves the chance."
    elif here.fog is not None and here.fog >= FOG_FROM:
        yield f"Fog over {percent(here.fog)} of the area halves the chance."
    elif here.rain_mm_h is not None and here.rain_mm_h >= RAIN_FROM_MM_H:
        yield f"Rain of {here.rain_mm_h:.1f} mm an hour halves the chance."
