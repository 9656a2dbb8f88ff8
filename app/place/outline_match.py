"""Outlines that come from other people's maps, held against what stands on a site already."""

from collections.abc import Iterator, Mapping, MutableSet, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from app.place.edit import Document, Feature, with_features
from app.place.features import read_feature
from app.place.geodesy import LocalFrame
from app.place.naming import feature_ids
from app.place.site import Obstacle, Site
from app.units import percent

NEW, SAME, DIFFERS, OVERLAPS = "new", "same", "differs", "overlaps"
SAME_SHARE = 0.9  # of the ground of two together, and they are one; ours, no source
OVERLAP_SHARE = 0.1  # of the smaller one's ground; ours, no source
SAME_EDGE_M, SAME_HEIGHT_M = 0.05, 0.05
LINE_HALF_M = 0.5  # half the ground that a wall is given
_SORTS = {"building": "building", "canopy": "building", "wall": "wall", "trees": "trees"}


@dataclass(frozen=True, eq=False)
class Match:
    """One outline, and the obstacle of the site that it is or meets.

    Attributes
    ----------
    feature : Feature
        As it would be put into the site's document: with the id of what it replaces.
    obstacle : Obstacle
        The same as facts.
    state : str
        ``NEW``; ``SAME`` as what is there; ``DIFFERS`` from what is there; or
        ``OVERLAPS`` at least a tenth of another.
    there : Obstacle, optional
        What is there.
    differences : tuple of str
        What differs from that, in words; heights above the site's zero.
    shape : shapely geometry
        Its ground around the site's centre, a wall 1 m wide. [m]
    """

    feature: Feature
    obstacle: Obstacle
    state: str
    there: Obstacle | None
    differences: tuple[str, ...]
    shape: Any

    @cached_property
    def away_m(self) -> float:
        """How far it is from the site's centre, 0 inside. [m]"""
        from shapely import Point

        return float(self.shape.distance(Point(0.0, 0.0)))


def matched(features: Sequence[Feature], site: Site) -> tuple[Match, ...]:
    """Return each outline with what it is to the site: new, the same, different or overlapping.

    An outline is one of the site's when they have the same id and share ground, or
    share nine tenths of the ground of both. An id of another file that happens to be
    on the site already, elsewhere, is exchanged for one by its place.
    """
    obstacles = [read_feature("obstacle", str(one["id"]), one["geometry"], one["properties"]) for one in features]
    ours, theirs = (_Grounds([ground_shape(site.local_frame, one) for one in some]) for some in (obstacles, site.obstacles))
    shared = ours.shared_with(theirs)
    is_one = _by_id(obstacles, site.obstacles, shared)
    is_one |= _by_outline(obstacles, site.obstacles, shared, ours, theirs, is_one)
    taken = set(feature_ids(site.document["features"]))
    found = []
    for place, (feature, obstacle, shape) in enumerate(zip(features, obstacles, ours.shapes, strict=True)):
        if place in is_one:
            there = site.obstacles[is_one[place]]
            differences = tuple(_differences(obstacle, there, shape, theirs.shapes[is_one[place]]))
            state, feature_id = DIFFERS if differences else SAME, there.id
        else:
            there = _overlapped(place, obstacle, site.obstacles, shared, ours, theirs)
            state, differences, feature_id = OVERLAPS if there else NEW, (), _free_id(obstacle, taken)
        found.append(Match({**feature, "id": feature_id}, obstacle, state, there, differences, shape))
    return tuple(found)


def with_outlines(site: Site, chosen: Sequence[Match]) -> Document:
    """Return the site's document with some outlines; what a replaced one has besides, its name too, is kept."""
    features = site.document["features"]
    there = dict(zip(feature_ids(features), features, strict=True))
    return with_features(site.document, [_merged(there.get(one.feature["id"]), one.feature) for one in chosen])


def credits_of(site: Site) -> tuple[str, ...]:
    """Return whose data stand on a site, as their owners ask to be named."""
    named = ((feature.get("properties") or {}).get("attribution") for feature in site.document.get("features", ()))
    return tuple(dict.fromkeys(one.strip() for one in named if isinstance(one, str) and one.strip()))


class _Grounds:
    """The ground of several obstacles, with a tree to find who meets whom."""

    def __init__(self, shapes: Sequence[Any]) -> None:
        from shapely import area, make_valid  # 0.1 s, so only when there are outlines

        self.shapes = make_valid(np.array(shapes, dtype=object))  # in metres a needle's sides may come to meet
        self.area_m2 = area(self.shapes) if len(shapes) else np.zeros(0)

    def shared_with(self, others: "_Grounds") -> list[dict[int, float]]:
        """Return for each obstacle the others it meets, and how much ground they share. [m²]"""
        from shapely import STRtree, area, intersection

        found: list[dict[int, float]] = [{} for _ in self.shapes]
        if len(self.shapes) and len(others.shapes):
            mine, its = STRtree(others.shapes).query(self.shapes, predicate="intersects")
            for one, other, ground_m2 in zip(mine, its, area(intersection(self.shapes[mine], others.shapes[its])), strict=True):
                found[one][int(other)] = float(ground_m2)
        return found


def _by_id(obstacles: Sequence[Obstacle], there: Sequence[Obstacle], shared: Sequence[Mapping[int, float]]) -> dict[int, int]:
    """Return which outlines are which obstacles by an id of both, where they share ground."""
    known = {one.id: place for place, one in enumerate(there)}
    return {place: known[one.id] for place, one in enumerate(obstacles) if known.get(one.id) in shared[place]}


def _by_outline(
    obstacles: Sequence[Obstacle],
    there: Sequence[Obstacle],
    shared: Sequence[Mapping[int, float]],
    ours: _Grounds,
    theirs: _Grounds,
    known: Mapping[int, int],
) -> dict[int, int]:
    """Return which outlines are which obstacles by the ground they share; each obstacle is one outline only."""
    found, taken = {}, set(known.values())
    for place, meets in enumerate(shared):
        for other, ground_m2 in sorted(meets.items(), key=lambda pair: -pair[1]):
            both_m2 = ours.area_m2[place] + theirs.area_m2[other] - ground_m2
            alike = _SORTS[obstacles[place].kind] == _SORTS[there[other].kind] and ground_m2 >= SAME_SHARE * both_m2
            if place not in known and place not in found and other not in taken and alike:
                found[place] = other
                taken.add(other)
    return found


def _overlapped(
    place: int,
    obstacle: Obstacle,
    there: Sequence[Obstacle],
    shared: Sequence[Mapping[int, float]],
    ours: _Grounds,
    theirs: _Grounds,
) -> Obstacle | None:
    """Return the obstacle of its sort that an outline shares most ground with, if that is enough to tell."""
    enough = {
        other: ground_m2
        for other, ground_m2 in shared[place].items()
        if _SORTS[there[other].kind] == _SORTS[obstacle.kind]
        and ground_m2 >= OVERLAP_SHARE * min(ours.area_m2[place], theirs.area_m2[other])
    }
    return there[max(enough, key=lambda other: enough[other])] if enough else None


def _differences(obstacle: Obstacle, there: Obstacle, shape: Any, shape_there: Any) -> Iterator[str]:
    for name, words in (("top_m", "top"), ("base_m", "base")):
        before_m, now_m = getattr(there, name), getattr(obstacle, name)
        if abs(now_m - before_m) > SAME_HEIGHT_M:
            yield f"{words} at {before_m:.1f} m there, {now_m:.1f} m here"
    if obstacle.kind != there.kind:
        yield f"{there.kind} there, {obstacle.kind} here"
    if abs(obstacle.lets_through - there.lets_through) > 0.005:
        yield f"lets {percent(there.lets_through)} of light through there, {percent(obstacle.lets_through)} here"
    if shape.hausdorff_distance(shape_there) > SAME_EDGE_M:
        yield "another outline"


def _free_id(obstacle: Obstacle, taken: MutableSet[str]) -> str:
    """Return its id, or one by its place where something else has that, and take it."""
    lon_deg, lat_deg = obstacle.outline[0]
    wanted = (obstacle.id, *(f"outline-at-{lat_deg:.6f},{lon_deg:.6f}{'-more' * more}" for more in range(len(taken) + 1)))
    found = next(name for name in wanted if name not in taken)
    taken.add(found)
    return found


def _merged(before: Mapping[str, Any] | None, feature: Feature) -> Feature:
    if before is None:
        return feature
    properties = {**(before.get("properties") or {}), **feature["properties"]}
    properties["name"] = feature["properties"].get("name") or (before.get("properties") or {}).get("name", "")
    return {**feature, "properties": properties}


def ground_shape(frame: LocalFrame, obstacle: Obstacle) -> Any:
    """Return an obstacle's ground in metres around the site's centre."""
    from shapely import LineString, Polygon

    rings = [np.stack(frame.to_metres(*np.array(ring).T[::-1])[:2], axis=1) for ring in (obstacle.outline, *obstacle.holes)]
    return Polygon(rings[0], rings[1:]) if obstacle.closed else LineString(rings[0]).buffer(LINE_HALF_M)
