"""The sky in a vertical section towards the low sun: ground, cloud as hatching by cover, lines of sight and last rays.

Distances run across and heights up, heights drawn larger. Heights stand over the straight line from
the site to the far end, so that the ground is an arch and every ray of light a straight line.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from app.picture.cloud_levels import LEVEL_NAMES
from app.picture.sunset_colour import LitDeck
from app.picture.west_section import EARTH_M, WestSection, ray_height_m, touch_m
from app.units import FloatArray

TOP_M, THICK_M = 14_000.0, (900.0, 1100.0, 1300.0)
FROM_EIGHTHS = ((7.5, "solid"), (4.5, "broken"), (2.5, "some"), (0.5, "few"))
TONES = tuple(name for _, name in FROM_EIGHTHS)
EVERY_M, UP_EVERY_M = 50_000.0, 3000.0
STEPS = 61
LABEL_GAP, LABEL_AT = 14.0, 0.36
GRAZES_M = 300.0  # a ray that stays higher above the ground grazes nothing


@dataclass(frozen=True)
class Sheet:
    """The room of a drawing, in its own units: a wide one for the desk, a narrow one for the hand."""

    name: str
    width: float
    height: float
    left: float
    top: float
    right: float
    bottom: float


DESK, HAND = Sheet("desk", 1000.0, 400.0, 58.0, 44.0, 24.0, 62.0), Sheet("hand", 400.0, 420.0, 52.0, 64.0, 12.0, 62.0)


@dataclass(frozen=True)
class Sight:
    """A line of sight to the sun at a moment: its clock time, and how high the sun is seen. [°]"""

    clock: str
    seen_deg: float


@dataclass(frozen=True)
class LastRay:
    """The last ray that lights a cloud from below, and when."""

    clock: str
    deck: LitDeck


@dataclass(frozen=True)
class Band:
    """A stretch of cloud of one level and one tone."""

    path: str
    tone: str


@dataclass(frozen=True)
class Ray:
    """A straight ray with its words at one end."""

    path: str
    x: float
    y: float
    anchor: str
    words: str
    more: str


@dataclass(frozen=True)
class Mark:
    """A tick on an axis, and its words. ``path`` is empty where only words stand."""

    path: str
    x: float
    y: float
    words: str


@dataclass(frozen=True)
class SectionDrawing:
    """All that is drawn; ``touches`` are where last rays graze the ground."""

    sheet: Sheet
    ground: str
    earth: str
    bands: tuple[Band, ...]
    sights: tuple[Ray, ...]
    last_rays: tuple[Ray, ...]
    touches: tuple[tuple[float, float], ...]
    distances: tuple[Mark, ...]
    heights: tuple[Mark, ...]
    site: tuple[float, float]
    labels: tuple[Mark, ...]


def draw_section(section: WestSection, sights: Sequence[Sight], last_rays: Sequence[LastRay], sheet: Sheet = DESK) -> SectionDrawing:
    """Return the drawing of a section with some lines of sight and last rays."""
    lay = _Lay(sheet, float(section.distance_m[-1]))
    return SectionDrawing(
        sheet=sheet,
        ground=lay.curve(0.0),
        earth=f"{lay.curve(0.0)}{lay.curve(-500.0, back=True)}z",
        bands=tuple(_bands(lay, section)),
        sights=tuple(_sight(lay, one) for one in sights),
        last_rays=tuple(_last(lay, section, one) for one in last_rays),
        touches=tuple(lay.at(far, 0.0) for one in last_rays if (far := _grazes_m(section, one)) <= lay.end_m),
        distances=tuple(_distances(lay)),
        heights=tuple(_heights(lay)),
        site=lay.at(0.0, 0.0),
        labels=tuple(_labels(lay, section)),
    )


@dataclass(frozen=True)
class _Lay:
    """How distances and heights lie on a sheet."""

    sheet: Sheet
    end_m: float

    def at(self, distance_m: float, height_m: float) -> tuple[float, float]:
        arch_m = distance_m * (self.end_m - distance_m) / (2.0 * EARTH_M)
        across = (self.sheet.width - self.sheet.left - self.sheet.right) / self.end_m
        up = (self.sheet.height - self.sheet.top - self.sheet.bottom) / TOP_M
        return self.sheet.left + distance_m * across, self.sheet.height - self.sheet.bottom - (height_m + arch_m) * up

    def curve(self, height_m: float, first_m: float = 0.0, last_m: float | None = None, back: bool = False) -> str:
        """Return the path along one height over the ground; ``back`` goes the other way and continues another."""
        distances = np.linspace(first_m, self.end_m if last_m is None else last_m, STEPS)
        places = [self.at(float(one), height_m) for one in (distances[::-1] if back else distances)]
        points = "L".join(f"{x:.1f} {y:.1f}" for x, y in places)
        return f"{'L' if back else 'M'}{points}"


def _bands(lay: _Lay, section: WestSection) -> Iterator[Band]:
    """Yield each level's cloud, every place standing for the ground half way to its neighbours."""
    edges = _edges_m(section)
    for level in range(3):
        tones = [tone_of(cover) for cover in section.cover[level]]
        for first, last in _runs(tones):
            low = section.height_m[level] - THICK_M[level] / 2
            span = float(edges[first]), float(edges[last + 1])
            yield Band(f"{lay.curve(low, *span)}{lay.curve(low + THICK_M[level], *span, back=True)}z", tones[first])


def tone_of(cover: float) -> str:
    """Return the hatching of a cover: solid, broken, some, few, or none where there is none or none is told."""
    return next((name for least, name in FROM_EIGHTHS if cover * 8 >= least), "")


def _runs(tones: Sequence[str]) -> Iterator[tuple[int, int]]:
    """Yield the first and last place of each stretch of one tone, clear ones left out."""
    first = 0
    for place in range(1, len(tones) + 1):
        if place == len(tones) or tones[place] != tones[first]:
            if tones[first]:
                yield first, place - 1
            first = place


def _sight(lay: _Lay, sight: Sight) -> Ray:
    slope = np.tan(np.radians(sight.seen_deg))
    reach_m = min(lay.end_m, float(TOP_M / (slope + lay.end_m / (2.0 * EARTH_M))))  # where it leaves the sheet at the top
    (x1, y1), (x2, y2) = lay.at(0.0, 0.0), lay.at(reach_m, reach_m * slope + reach_m**2 / (2.0 * EARTH_M))
    anchor = "end" if x2 > lay.sheet.width - 60 else "middle"
    return Ray(f"M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}", x2, y2 - LABEL_GAP - 6, anchor, sight.clock, f"{sight.seen_deg:.0f}° up")


def _last(lay: _Lay, section: WestSection, ray: LastRay) -> Ray:
    """Return the ray from where it leaves the sheet, past the ground it grazes, to the cloud that it lights last."""
    touch, lowest = float(touch_m(ray.deck.ends_deg)), _lowest_m(section, ray)
    (x1, y1) = lay.at(ray.deck.towards_sun_m, float(section.height_m[ray.deck.level]))
    (x2, y2) = lay.at(lay.end_m, float(ray_height_m(lay.end_m, touch, lowest)))
    x, y = x1 + (x2 - x1) * LABEL_AT, y1 + (y2 - y1) * LABEL_AT - 8
    return Ray(f"M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}", x, y, "middle", ray.clock, f"last light under {LEVEL_NAMES[ray.deck.level]} cloud")


def _lowest_m(section: WestSection, ray: LastRay) -> float:
    """Return how high over the ground a ray runs at its lowest. [m]"""
    return max(0.0, float(section.height_m[ray.deck.level] - ray_height_m(ray.deck.towards_sun_m, touch_m(ray.deck.ends_deg))))


def _grazes_m(section: WestSection, ray: LastRay) -> float:
    """Return where a ray grazes the ground, infinity for one that is stopped before it gets so low. [m]"""
    return float(touch_m(ray.deck.ends_deg)) if _lowest_m(section, ray) < GRAZES_M else float("inf")


def _distances(lay: _Lay) -> Iterator[Mark]:
    for distance_m in np.arange(EVERY_M, lay.end_m + 1.0, EVERY_M if lay.sheet.name == "desk" else 2 * EVERY_M):
        x, y = lay.at(float(distance_m), 0.0)
        yield Mark(f"M{x:.1f} {y:.1f}v6", x, y + 22, f"{distance_m / 1000:.0f} km")


def _heights(lay: _Lay) -> Iterator[Mark]:
    for height_m in np.arange(0.0, TOP_M, UP_EVERY_M):
        x, y = lay.at(0.0, float(height_m))
        yield Mark(lay.curve(float(height_m)) if height_m else "", x - 8, y + 4, f"{height_m / 1000:.0f} km")


def _labels(lay: _Lay, section: WestSection) -> Iterator[Mark]:
    """Yield each stretch's cover, written into its middle."""
    edges = _edges_m(section)
    for level in range(3):
        tones = [tone_of(cover) for cover in section.cover[level]]
        for first, last in _runs(tones):
            middle_m = float(edges[first] + edges[last + 1]) / 2
            x, y = lay.at(middle_m, float(section.height_m[level]))
            yield Mark("", max(x, lay.sheet.left + 26), y + 4, _cover_words(section.cover[level][first : last + 1]))


def _cover_words(covers: FloatArray) -> str:
    least, most = (round(float(cover) * 8) for cover in (covers.min(), covers.max()))
    return f"{most} of 8" if least == most else f"{least} to {most} of 8"


def _edges_m(section: WestSection) -> FloatArray:
    """Return where places end that stand for the ground half way to their neighbours, (n + 1,). [m]"""
    halves = (section.distance_m[1:] + section.distance_m[:-1]) / 2
    return np.concatenate([[0.0], halves, [section.distance_m[-1]]])
