"""What lies and stands on the plan: water, buildings, walls, trees, and what is only drawn."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from app.place.site import LonLat, Obstacle, Site, Water
from app.units import FloatArray
from app.web.drawing.plan_labels import Box, Label, Lettering, places_around, width_of
from app.web.drawing.plan_sheet import Sheet, drawings_of, path_of

BULGE = 13.0  # units between the dents of a crown's outline
CROWN_M, CROWN_LEAST = 4.5, 11.0  # across one tree's crown, and the least that can be drawn
MOST_CROWNS = 26
HEDGE_M = 1.0  # half the width of trees drawn as a line
LETTERED_SHARE = 0.92  # of a building's length that its name may take
MOST_LETTERED = 40  # things that stand; more names than that cover the plan
TRIES = 13  # places tried across a piece of water, each way


@dataclass(frozen=True)
class Shape:
    """One outline: what it is, which feature, and the path.

    ``crowns`` are the middles and half widths of single trees inside.
    """

    feature_id: str
    kind: str
    path: str
    closed: bool
    crowns: tuple[tuple[float, float, float], ...] = ()


def lying_shapes(site: Site, sheet: Sheet) -> tuple[Shape, ...]:
    """Return water, islands cut out, and what is only drawn: decks and paths; large ones lie under small ones."""
    shapes = [(_area(sheet, water.ring), _water(sheet, water)) for water in site.waters]
    for corners, closed in drawings_of(site):
        path = path_of(sheet.of_corners(corners), closed)
        shapes.append(
            (_area(sheet, corners) if closed else 0.0, Shape("", "deck" if closed else "path", path, closed))
        )
    return tuple(shape for _, shape in sorted(shapes, key=lambda one: -one[0]))


def standing_shapes(site: Site, sheet: Sheet) -> tuple[Shape, ...]:
    """Return what stands up, low things first so that none hides under another."""
    return tuple(_standing(one, sheet) for one in sorted(site.obstacles, key=lambda one: one.top_m))


def letter_things(site: Site, sheet: Sheet, lettering: Lettering) -> None:
    """Name what stands and lies on the plan; of very much that stands, what has a name of its own first."""
    named_first = sorted(_shown(site, sheet), key=lambda one: one.name == one.kind)
    for obstacle in named_first[:MOST_LETTERED]:
        _letter_standing(obstacle, sheet.of_corners(obstacle.outline), lettering)
    for water in site.waters:
        _letter_water(water, sheet, lettering)
    for feature in site.document["features"]:
        _letter_drawn(feature, sheet, lettering)


def keep_things_clear(site: Site, sheet: Sheet, lettering: Lettering) -> None:
    """Have labels avoid what is solid, and cross outlines only where they must."""
    for obstacle in _shown(site, sheet):
        points = sheet.of_corners(obstacle.outline)
        if obstacle.closed:
            solid = 2.0 if obstacle.kind == "building" else 0.3
            lettering.keep_clear(Box(*points.min(axis=0), *points.max(axis=0)), solid)
        lettering.keep_clear_along(_within(points, lettering), 0.7)
    for corners, _ in drawings_of(site):
        lettering.keep_clear_along(_within(sheet.of_corners(corners), lettering), 0.6)
    for water in site.waters:
        lettering.keep_clear_along(_within(sheet.of_corners(water.ring), lettering), 0.25)


def _shown(site: Site, sheet: Sheet) -> Iterator[Obstacle]:
    """Yield what stands at least in part on the sheet: of a whole village little does."""
    for obstacle in site.obstacles:
        points = sheet.of_corners(obstacle.outline)
        low, high = points.min(axis=0), points.max(axis=0)
        if high.min() >= 0.0 and low[0] <= sheet.width and low[1] <= sheet.height:
            yield obstacle


def _within(points: FloatArray, lettering: Lettering) -> FloatArray:
    """Return the points drawn in to the sheet, so that a far shore costs no work."""
    return np.clip(points, -20.0, [lettering.width + 20.0, lettering.height + 20.0])


def _water(sheet: Sheet, water: Water) -> Shape:
    rings = (path_of(sheet.of_corners(ring), True) for ring in (water.ring, *water.holes))
    return Shape(water.id, "water", "".join(rings), True)


def _area(sheet: Sheet, ring: Sequence[LonLat]) -> float:
    x, y = sheet.of_corners(ring).T
    return abs(float(np.sum(x[:-1] * y[1:] - x[1:] * y[:-1]))) / 2


def _standing(obstacle: Obstacle, sheet: Sheet) -> Shape:
    points = sheet.of_corners(obstacle.outline)
    if obstacle.kind not in ("trees", "canopy"):
        return Shape(obstacle.id, obstacle.kind, path_of(points, obstacle.closed), obstacle.closed)
    ring = points if obstacle.closed else _hedge(points, max(HEDGE_M * sheet.scale, 4.0))
    crowns = tuple(_crowns(ring, max(CROWN_M * sheet.scale / 2, CROWN_LEAST / 2)))
    return Shape(obstacle.id, obstacle.kind, _cloud(ring), True, crowns if obstacle.kind == "trees" else ())


def _hedge(points: FloatArray, half: float) -> FloatArray:
    """Return the outline of a line of trees."""
    from shapely import LineString  # 0.1 s, so only when it is wanted

    return np.array(LineString(points).buffer(half, cap_style="round", quad_segs=3).exterior.coords)


def _cloud(ring: FloatArray) -> str:
    """Return a closed outline as bulges, uneven in the same way each time it is drawn."""
    ring = _clockwise(ring)
    sides = np.hypot(*np.diff(ring, axis=0).T)
    length = sides.sum()
    count = max(5, round(length / BULGE))
    uneven = 1 + 0.28 * np.sin(np.arange(count) * 2.4) + 0.14 * np.cos(np.arange(count) * 5.1)
    along = np.concatenate([[0.0], np.cumsum(uneven)]) / uneven.sum() * length
    reached = np.concatenate([[0.0], np.cumsum(sides)])
    x, y = (np.interp(along, reached, ring[:, axis]) for axis in (0, 1))
    arcs = (
        f"A{radius:.1f} {radius:.1f} 0 0 1 {to_x:.1f} {to_y:.1f}"
        for to_x, to_y, radius in zip(x[1:], y[1:], np.hypot(np.diff(x), np.diff(y)) * 0.58, strict=True)
    )
    return f"M{x[0]:.1f} {y[0]:.1f}{''.join(arcs)}Z"


def _clockwise(ring: FloatArray) -> FloatArray:
    """Return a ring turned so that on the page, where y runs down, it goes round clockwise."""
    x, y = ring.T
    return ring if np.sum(x[:-1] * y[1:] - x[1:] * y[:-1]) > 0 else ring[::-1]


def _crowns(ring: FloatArray, radius: float) -> Iterator[tuple[float, float, float]]:
    """Yield single trees spread through a wood, none of them over its edge."""
    from shapely import Point, Polygon, prepare

    inner = Polygon(ring).buffer(0).buffer(-radius * 0.9)
    prepare(inner)
    west, north, east, south = inner.bounds if not inner.is_empty else (0.0, 0.0, -1.0, -1.0)
    apart = max(radius * 2.3, np.sqrt(max(inner.area, 0.0) / MOST_CROWNS))
    for row, y in enumerate(np.arange(north, south + 0.1, apart * 0.87)):
        for column, x in enumerate(np.arange(west + apart / 2 * (row % 2), east + 0.1, apart)):
            wander = (
                np.array([np.sin(row * 3.1 + column * 1.7), np.cos(row * 1.3 + column * 2.9)]) * apart * 0.16
            )
            size = radius * (1 + 0.2 * np.sin(row * 2.2 + column * 4.3))
            if inner.contains(Point(x + wander[0], y + wander[1])):
                yield float(x + wander[0]), float(y + wander[1]), float(size)


def _letter_standing(obstacle: Obstacle, points: FloatArray, lettering: Lettering) -> None:
    name = obstacle.name.removeprefix("the ")
    words = name if obstacle.kind == "canopy" else f"{name}, {_tall(obstacle)}"
    if obstacle.kind == "building" and obstacle.closed and _letter_inside(obstacle, points, lettering):
        return
    middle = _middle(points, obstacle.closed)
    reach = 9.0 if not obstacle.closed else float(np.min(np.ptp(points, axis=0)) / 2 + 8.0)
    places = [(*middle, "middle")] if obstacle.kind in ("trees", "canopy") and obstacle.closed else []
    lettering.put(words, "thing", [*places, *places_around(*middle, reach), *_at_corners(points)])


def _letter_inside(obstacle: Obstacle, points: FloatArray, lettering: Lettering) -> bool:
    """Letter a building in paper colour along its long side, if it is large enough."""
    sides = np.diff(points, axis=0)
    longest = sides[np.argmax(np.hypot(*sides.T))]
    words = obstacle.name.removeprefix("the ").upper()
    if width_of(words, "building") > np.hypot(*longest) * LETTERED_SHARE:
        return False
    turn = np.degrees(np.arctan2(longest[1], longest[0]))
    turn = (turn + 90.0) % 180.0 - 90.0
    x, y = points[:-1].mean(axis=0)
    down = np.array([-np.sin(np.radians(turn)), np.cos(np.radians(turn))])
    for shift, line in ((-2.5, words), (9.0, f"{_tall(obstacle)} high")):
        at = np.array([x, y]) + down * shift
        kind = "building" if shift < 0 else "height"
        lettering.labels.append(Label(float(at[0]), float(at[1]), line, kind, "middle", float(turn)))
    return True


def _letter_water(water: Water, sheet: Sheet, lettering: Lettering) -> None:
    """Name water where there is most room for it, or leave the name away."""
    from shapely import Polygon, box

    polygon = Polygon(sheet.of_corners(water.ring), [sheet.of_corners(hole) for hole in water.holes])
    shown = polygon.buffer(0).intersection(box(0, 0, sheet.width, sheet.height))
    if shown.is_empty:
        return
    west, north, east, south = shown.bounds
    name = water.name.removeprefix("the ")
    half = width_of(name, "water") / 2 + 8
    places = [
        (x, y, "middle")
        for y in np.linspace(north + 24, south - 12, TRIES)
        for x in np.linspace(west + half, east - half, TRIES)
        if shown.contains(box(x - half, y - 20, x + half, y + 8))
    ]
    if places:
        middle = np.array([(west + east) / 2, north + (south - north) * 0.3])
        lettering.put(name, "water", sorted(places, key=lambda place: float(np.hypot(*(place[:2] - middle)))))
    else:
        points = sheet.of_corners(water.ring)
        lettering.put(name, "thing", [*places_around(*_middle(points, True), 6.0), *_at_corners(points)])


def _letter_drawn(feature: dict, sheet: Sheet, lettering: Lettering) -> None:
    properties, geometry = feature.get("properties") or {}, feature.get("geometry") or {}
    name = properties.get("name")
    if (
        properties.get("role") != "drawing"
        or not isinstance(name, str)
        or geometry.get("type") not in ("Polygon", "LineString")
    ):
        return
    closed = geometry["type"] == "Polygon"
    points = sheet.of_corners(geometry["coordinates"][0] if closed else geometry["coordinates"])
    middle = _middle(points, closed)
    reach = float(np.min(np.ptp(points, axis=0)) / 2 + 6.0) if closed else 8.0
    lettering.put(name, "thing", [*places_around(*middle, reach), *_at_corners(points)])


def _tall(obstacle: Obstacle) -> str:
    return f"{obstacle.top_m - obstacle.base_m:.1f}".removesuffix(".0") + " m"


def _at_corners(points: FloatArray) -> list[tuple[float, float, str]]:
    return [place for corner in points[:6] for place in places_around(*corner, 8.0)]


def _middle(points: FloatArray, closed: bool) -> FloatArray:
    """Return the middle of a shape, or the point half way along a line."""
    if closed:
        return points[:-1].mean(axis=0)
    sides = np.hypot(*np.diff(points, axis=0).T)
    reached = np.concatenate([[0.0], np.cumsum(sides)])
    return np.array([np.interp(reached[-1] / 2, reached, points[:, axis]) for axis in (0, 1)])
