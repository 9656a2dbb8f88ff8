"""The low-sun map: how long the light stays, crosshatched over the plan."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from app.light.low_sun import LowSunMap
from app.web.drawing.plan import DESK, HAND, Plan, PlanOf, part_plan
from app.web.drawing.plan_labels import Box, Label, Lettering, box_of
from app.web.drawing.plan_sheet import Extent, Sheet
from app.web.drawing.shade import Tone, area_path

if TYPE_CHECKING:
    from shapely import Geometry

TONES = 5
STEPS_MIN = (1.0, 2.0, 3.0, 5.0, 10.0, 15.0, 20.0, 30.0, 40.0, 60.0, 90.0, 120.0, 180.0, 240.0)
SMOOTHED = 0.75  # of a square's side, so that stairs along a slanting edge become that edge
LEAST_RING, NEXT_LABEL = 70.0, 34.0  # units: edges shorter than this get no figure; from one place tried to the next
MOST_LABELLED = 2  # rings of each edge


@dataclass(frozen=True)
class KeyStep:
    """One tone of the key: how many hatchings lie over each other, and the minutes it stands for, in words."""

    layers: tuple[str, ...]
    words: str


@dataclass(frozen=True)
class LowSunDrawing:
    """The map for a desk and for a hand, and its key from the least light to the most."""

    desk: Plan
    hand: Plan
    key: tuple[KeyStep, ...]


def low_sun_drawing(of: PlanOf, low: LowSunMap) -> LowSunDrawing:
    """Return the map drawn as the plan is, with a hatching for every step of light that a place goes without."""
    edges, side_m = edges_min(low.open_minutes), low.cell_m * low.minutes.shape[0]
    extent = Extent(low.west_m, low.south_m, low.west_m + side_m, low.south_m + side_m)
    areas = [_area(low, low.minutes < edge) for edge in edges]
    toned = PlanOf(of.site, of.setups, of.framed, of.scene, of.moment, None, partial(_tones, low.cell_m, edges, areas), of.point)
    desk, hand = part_plan(toned, extent, DESK, "minutes-desk"), part_plan(toned, extent, HAND, "minutes-hand")
    return LowSunDrawing(desk, hand, tuple(_key(edges, low.open_minutes)))


def edges_min(most_min: float) -> tuple[float, ...]:
    """Return the minutes at which the tone steps: up to four, on figures one reads off easily. [min]"""
    step = next((step for step in STEPS_MIN if step * TONES >= most_min), STEPS_MIN[-1])
    return tuple(step * n for n in range(1, TONES) if step * n < most_min)


def _key(edges: Sequence[float], most_min: float) -> Iterator[KeyStep]:
    layers = _layers(len(edges))
    bounds = (0.0, *edges)
    for n, edge in enumerate(edges):
        words = f"under {edge:g} min" if n == 0 else f"{bounds[n]:g} to {edge:g} min"
        yield KeyStep(layers[n:], words)
    yield KeyStep((), f"{bounds[-1]:g} to {most_min:g} min" if edges else f"{most_min:g} min")


def _layers(count: int) -> tuple[str, ...]:
    """Return the hatchings of the edges, from the fewest minutes to the most: the last is the lightest."""
    return tuple(f"minutes-{n}" for n in range(count, 0, -1))


def _tones(
    cell_m: float, edges: Sequence[float], areas: Sequence["Geometry"], sheet: Sheet, lettering: Lettering
) -> tuple[Tone, ...]:
    """Return a hatching over all that gets less than each edge, the widest first, and letter the edges."""
    finest = SMOOTHED * cell_m * sheet.scale
    for edge, area in zip(edges, areas, strict=True):
        _letter(f"{edge:g} min", area, sheet, lettering)
    drawn = ((kind, area_path(area, sheet, finest)) for kind, area in zip(_layers(len(edges)), areas, strict=True))
    return tuple(Tone(kind, path) for kind, path in reversed(list(drawn)) if path)


def _area(low: LowSunMap, where: np.ndarray) -> "Geometry":
    """Return the squares of a mask as one area, in metres of the local frame."""
    import shapely

    padded = np.pad(where.astype(np.int8), ((0, 0), (1, 1)))
    steps = np.diff(padded, axis=1)
    (rows, first), (_, last) = np.nonzero(steps == 1), np.nonzero(steps == -1)
    west, east = (low.west_m + at * low.cell_m for at in (first, last))
    south = low.south_m + rows * low.cell_m
    return shapely.union_all(shapely.box(west, south, east, low.south_m + (rows + 1) * low.cell_m))


def _letter(words: str, area: "Geometry", sheet: Sheet, lettering: Lettering) -> None:
    """Set an edge's minutes on its longest rings, where there is room."""
    import shapely

    rings = [part.exterior for part in shapely.get_parts(area) if part.geom_type == "Polygon" and not part.is_empty]
    for ring in sorted(rings, key=lambda ring: -ring.length)[:MOST_LABELLED]:
        length = ring.length * sheet.scale
        if length < LEAST_RING:
            continue
        along = np.arange(NEXT_LABEL / 2, length, NEXT_LABEL) / sheet.scale
        points = sheet.of_metres(*shapely.get_coordinates(shapely.line_interpolate_point(ring, along)).T)
        places = [(x, y + 3.0, "middle") for x, y in points if _well_inside(sheet, x, y)]
        free = [place for place in places if lettering.has_room(_box(words, place))]
        if free:
            lettering.put(words, "small", free)


def _well_inside(sheet: Sheet, x: float, y: float) -> bool:
    return bool(22.0 < x < sheet.width - 22.0 and 14.0 < y < sheet.height - 14.0)


def _box(words: str, place: tuple[float, float, str]) -> Box:
    return box_of(Label(place[0], place[1], words, "small", place[2]))
