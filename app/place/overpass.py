"""Answers of an Overpass service (JSON, “out geom”) as GeoJSON."""

from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import Any

from app.errors import BadInput

ATTRIBUTION = "© OpenStreetMap contributors, ODbL"  # asked for by the licence, on every feature
MOST_MEMBERS = 500  # a building of more ways is none
_AREAS = ("building", "building:part", "landuse")

Place = tuple[float, float]
Line = list[Place]


def is_overpass(document: Any) -> bool:
    """Return whether a JSON value looks like an answer of Overpass."""
    return isinstance(document, Mapping) and isinstance(document.get("elements"), list)


def geojson_from_overpass(document: Mapping[str, Any]) -> dict[str, Any]:
    """Return a FeatureCollection of the ways and multipolygons of an answer.

    The tags become properties, the id is “way/123”. Elements without a geometry and
    single nodes are left out; rings that do not close are kept as they are, for the
    reader of the GeoJSON to refuse. ``BadInput`` when it is no such answer.
    """
    if not is_overpass(document):
        raise BadInput("An answer of Overpass has a list of elements; this has none.")
    features = [feature for element in document["elements"] for feature in _features(element)]
    return {"type": "FeatureCollection", "attribution": ATTRIBUTION, "features": features}


def _features(element: Any) -> Iterator[dict[str, Any]]:
    if not isinstance(element, Mapping):
        return
    tags = element["tags"] if isinstance(element.get("tags"), Mapping) else {}
    geometry = _of_way(element, tags) if element.get("type") == "way" else _of_relation(element, tags)
    if geometry:
        feature_id = f"{element.get('type')}/{element.get('id')}"
        yield {"type": "Feature", "id": feature_id, "geometry": geometry, "properties": dict(tags)}


def _of_way(way: Mapping[str, Any], tags: Mapping[str, Any]) -> dict[str, Any] | None:
    line = _line(way.get("geometry"))
    if len(line) < 2:
        return None
    area = tags.get("area") == "yes" or tags.get("natural") == "wood" or any(key in tags for key in _AREAS)
    if area and line[0] == line[-1]:
        return {"type": "Polygon", "coordinates": [[list(place) for place in line]]}
    return {"type": "LineString", "coordinates": [list(place) for place in line]}


def _of_relation(relation: Mapping[str, Any], tags: Mapping[str, Any]) -> dict[str, Any] | None:
    members = relation.get("members")
    if relation.get("type") != "relation" or tags.get("type") != "multipolygon" or not isinstance(members, list):
        return None
    outer, inner = (_rings([_line(member.get("geometry")) for member in _in_role(members, role)]) for role in ("outer", "inner"))
    if not outer or len(members) > MOST_MEMBERS:
        return None
    return {"type": "MultiPolygon", "coordinates": _with_holes(outer, inner)}


def _in_role(members: list[Any], role: str) -> list[Mapping[str, Any]]:
    ways = [member for member in members[:MOST_MEMBERS] if isinstance(member, Mapping) and member.get("type") == "way"]
    return [way for way in ways if (way.get("role") or "outer") == role]


def _line(geometry: Any) -> Line:
    """Return the places of a way; those cut off by a bounding box come as null and are left out."""
    places = geometry if isinstance(geometry, list) else []
    pairs = [(place.get("lon"), place.get("lat")) for place in places if isinstance(place, Mapping)]
    return [pair for pair in pairs if all(isinstance(angle, int | float) for angle in pair)]


def _rings(lines: list[Line]) -> list[Line]:
    """Return rings joined from lines that end where others begin; what does not close stays open."""
    left, rings = [line for line in lines if len(line) > 1], []
    while left:
        ring = left.pop()
        while ring[0] != ring[-1] and (after := _taken(left, ring[-1])):
            ring = ring + after[1:]
        rings.append(ring)
    return rings


def _taken(left: list[Line], end: Place) -> Line | None:
    """Take the line that goes on from an end out of those left, turned if need be."""
    for index, line in enumerate(left):
        if end in (line[0], line[-1]):
            found = left.pop(index)
            return found if found[0] == end else found[::-1]
    return None


def _with_holes(outer: list[Line], inner: list[Line]) -> list[list[list[list[float]]]]:
    """Return each outer ring with the inner ones that begin in it."""
    polygons = [[[list(place) for place in ring]] for ring in outer]
    for hole in inner:
        around = next((i for i, ring in enumerate(outer) if len(outer) == 1 or _holds(ring, hole[0])), None)
        if around is not None:
            polygons[around].append([list(place) for place in hole])
    return polygons


def _holds(ring: Line, place: Place) -> bool:
    """Return whether a place lies in a ring, by the even-odd rule."""
    x, y = place
    crossed = [
        (y0 > y) != (y1 > y) and x < x0 + (y - y0) * (x1 - x0) / (y1 - y0) for (x0, y0), (x1, y1) in pairwise(ring)
    ]
    return sum(crossed) % 2 == 1
