"""GeoJSON geometries (RFC 7946, section 3.1), checked corner by corner."""

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from app.errors import BadInput
from app.place.coordinates import format_coordinates
from app.place.positions import check_position
from app.place.site import LonLat
from app.place.values import as_number, shown
from app.units import listed

Position = tuple[float, float, float]  # longitude, latitude, height; 0 where none is given [°, °, m]
Ring = tuple[LonLat, ...]

LOWEST_M, HIGHEST_M = -500.0, 9000.0  # the ground of the Earth, rounded outwards
_LEVELS = {
    "Point": 0,
    "MultiPoint": 1,
    "LineString": 1,
    "MultiLineString": 2,
    "Polygon": 2,
    "MultiPolygon": 3,
}
_FAULTS = {
    "Self-intersection": "crosses itself",
    "Ring Self-intersection": "touches itself",
    "Hole lies outside shell": "has a hole outside it",
    "Holes are nested": "has a hole inside a hole",
    "Interior is disconnected": "is cut in two by its holes",
    "Too few points in geometry component": "has fewer than three different corners",
}


def positions_of(geometry: Any) -> Iterator[Position]:
    """Yield every position of a geometry of any type; none where it is null.

    Raises ``BadInput`` for what is no geometry, and for positions off the Earth.
    """
    if geometry is None:
        return
    kind = geometry.get("type") if isinstance(geometry, Mapping) else None
    if kind == "GeometryCollection":
        for member in _list(geometry.get("geometries"), "geometries"):
            yield from positions_of(member)
    elif isinstance(kind, str) and kind in _LEVELS:
        yield from _positions(geometry.get("coordinates"), _LEVELS[kind])
    else:
        raise BadInput(f"its geometry is of no type that GeoJSON knows; {shown(kind)} came.")


def type_of(geometry: Any, *wanted: str) -> str:
    """Return the type of a geometry, one of those wanted; ``BadInput`` otherwise."""
    kind = geometry.get("type") if isinstance(geometry, Mapping) else None
    if kind not in wanted:
        raise BadInput(f"it is drawn as a {listed(wanted)}; {shown(kind)} came.")
    return kind


def point(geometry: Any) -> Position:
    """Return the position of a Point."""
    type_of(geometry, "Point")
    return _position(geometry.get("coordinates"))


def line(geometry: Any) -> tuple[Position, ...]:
    """Return the positions of a LineString, two or more."""
    type_of(geometry, "LineString")
    corners = tuple(_positions(geometry.get("coordinates"), 1))
    if len(corners) < 2 or len({corner[:2] for corner in corners}) < 2:
        raise BadInput("its line needs two different positions or more; draw it again.")
    return corners


def polygon(geometry: Any) -> tuple[Ring, tuple[Ring, ...]]:
    """Return the edge of a Polygon and its holes, closed and simple.

    Either turning sense is taken, as RFC 7946 section 3.1.6 asks of readers.
    """
    type_of(geometry, "Polygon")
    rings = [_ring(ring) for ring in _list(geometry.get("coordinates"), "coordinates")]
    if not rings:
        raise BadInput("its polygon has no corners; draw it again.")
    _check_simple(rings)
    return rings[0], tuple(rings[1:])


def check_not_across_180(positions: Sequence[Position]) -> None:
    """Raise ``BadInput`` for a shape that leaps from one edge of the map to the other."""
    lons = [lon for lon, _, _ in positions]
    if lons and max(lons) - min(lons) > 180.0:
        raise BadInput("it reaches across the 180° meridian; cut it in two there (RFC 7946, section 3.1.9).")


def _ring(ring: Any) -> Ring:
    corners = tuple(_positions(ring, 1))
    if len(corners) < 4:
        raise BadInput(f"a ring needs four positions, the last one like the first; {len(corners)} came.")
    if corners[0] != corners[-1]:
        raise BadInput("its ring is open; repeat the first position at the end.")
    return tuple((lon, lat) for lon, lat, _ in corners)


def _check_simple(rings: list[Ring]) -> None:
    from shapely import Polygon, is_valid_reason  # 0.1 s, so only when there is a polygon

    reason = is_valid_reason(Polygon(rings[0], rings[1:]))
    if reason == "Valid Geometry":
        return
    fault = next((words for start, words in _FAULTS.items() if reason.startswith(start)), "is not simple")
    found = re.search(r"\[(\S+) (\S+)\]", reason)
    where = f" near {format_coordinates(float(found[2]), float(found[1]))}" if found else ""
    raise BadInput(f"its edge {fault}{where}; move the corners so that no two sides meet.")


def _positions(value: Any, level: int) -> Iterator[Position]:
    if level == 0:
        yield _position(value)
    else:
        for member in _list(value, "coordinates"):
            yield from _positions(member, level - 1)


def _position(value: Any) -> Position:
    if not isinstance(value, list) or len(value) < 2:
        raise BadInput(f"a position is [longitude, latitude] or with a height; {shown(value)} came.")
    lon_deg, lat_deg, height_m = [*(as_number(number, "a coordinate") for number in value[:3]), 0.0][:3]
    check_position(lat_deg, lon_deg, first="longitude")
    if not LOWEST_M <= height_m <= HIGHEST_M:
        raise BadInput(f"a height lies between {LOWEST_M:g} and {HIGHEST_M:g} m; {height_m:g} came.")
    return lon_deg, lat_deg, height_m


def _list(value: Any, name: str) -> list[Any]:
    if not isinstance(value, list):
        raise BadInput(f"{name} is a list in square brackets; {shown(value)} came.")
    return value
