"""Outlines of buildings, walls and woods from other people's maps, as obstacles of a site."""

import math
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from app.errors import BadInput, TooLarge
from app.place.edit import Feature, obstacle_feature
from app.place.geodesy import LocalFrame
from app.place.outline_tags import ASSUMED, BY_LEVELS, BY_TAG, LEVEL_M, Stature, Tags, stature_of, tags_of
from app.place.overpass import ATTRIBUTION, geojson_from_overpass, is_overpass
from app.place.shapes import Ring, line, polygon
from app.place.strict_json import read_json
from app.place.values import short

MAX_BYTES = 20_000_000
MOST_KEPT = 2_000
MOST_CORNERS = 15_000  # a site takes 20,000
FARTHEST_M = 2_000.0

GroundAt = Callable[[float, float], float]
_OSM_KINDS = ("node", "way", "relation")


@dataclass(frozen=True)
class Outlines:
    """Obstacles found, as features to be put into a site's document, and what to know about them.

    ``left_out`` names those that could not be used, each with the reason.
    """

    features: tuple[Feature, ...]
    notes: tuple[str, ...]
    left_out: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class _Found:
    """One outline that stands up: a ring and its holes, or a line."""

    id: str
    name: str
    source: str
    stature: Stature
    rings: tuple[Ring, ...]
    closed: bool
    away_m: float

    @property
    def corners(self) -> int:
        return sum(map(len, self.rings))


def obstacles_from_outlines(
    document: str | bytes | Mapping[str, Any],
    lat_deg: float,
    lon_deg: float,
    within_m: float,
    ground_m_at: GroundAt = lambda lat_deg, lon_deg: 0.0,
) -> Outlines:
    """Return what stands up near a point, out of a GeoJSON file or an answer of Overpass.

    Parameters
    ----------
    document : str, bytes or mapping
        GeoJSON as tools write it from OpenStreetMap, bare footprints in GeoJSON, or
        Overpass JSON with geometry.
    lat_deg, lon_deg, within_m : float
        What comes within this distance of the point is taken, up to 2 km. [°, °, m]
    ground_m_at : function of latitude and longitude
        The ground there above the site's datum, NaN where unknown; left out, the
        datum. Outlines tell heights above the ground only. [m]

    Returns
    -------
    Outlines
        The nearest 2,000 outlines and 15,000 corners at most. Ids stay the same from one
        load to the next, so that loading again replaces. Each feature says where it is
        from, how its height is known (``height_from``: height, levels or assumed), and
        keeps the attribution.

    Raises
    ------
    TooLarge
        For more than ``MAX_BYTES``.
    BadInput
        For a document that is no such file. Single outlines that cannot be used are left
        out and counted in the notes.
    """
    if not 0.0 < within_m <= FARTHEST_M:
        raise BadInput(f"Outlines are taken from up to {FARTHEST_M:g} m away; {within_m:g} m came.", "within_m")
    collection = _collection(document)
    found, left_out, bad = _found(collection, LocalFrame(lat_deg, lon_deg), within_m)
    kept = _nearest(found)
    attribution = _attribution(collection)
    features = [_feature(one, attribution, ground_m_at) for one in kept]
    return Outlines(tuple(features), tuple(_notes(kept, len(found), left_out, within_m, attribution)), bad)


def _collection(document: str | bytes | Mapping[str, Any]) -> Mapping[str, Any]:
    value = document if isinstance(document, Mapping) else read_json(_text(document), MAX_BYTES)
    if is_overpass(value):
        return geojson_from_overpass(value)
    if not isinstance(value, Mapping) or not isinstance(value.get("features"), list):
        raise BadInput("Outlines come as a GeoJSON FeatureCollection or as an answer of Overpass in JSON.")
    return value


def _text(document: str | bytes) -> str:
    if len(document) > MAX_BYTES:
        raise TooLarge(f"A file of outlines has at most {MAX_BYTES / 1e6:g} MB; export only what is near the site.")
    try:
        text = document.decode("utf-8-sig") if isinstance(document, bytes) else document
    except UnicodeDecodeError:
        raise BadInput("A file of outlines is written in UTF-8, which this is not.") from None
    if text.lstrip().startswith("<"):
        raise BadInput("This is XML, which is not read here. Export OpenStreetMap data as GeoJSON and load that.")
    return text


def _found(
    collection: Mapping[str, Any], middle: LocalFrame, within_m: float
) -> tuple[list[_Found], Counter[str], tuple[tuple[str, str], ...]]:
    """Return the outlines near by, how many were left out for which reason, and which could not be used."""
    found: dict[str, _Found] = {}
    left_out, bad = Counter(), []
    for position, feature in enumerate(collection["features"], 1):
        try:
            for one in _near(feature, middle, within_m, left_out):
                if found.setdefault(one.id, one) is not one:
                    raise BadInput("its id stands in the file twice, and the first counts.")
        except BadInput as error:
            left_out[str(error)] += 1
            bad.append((_label(feature, position), str(error)))
    return list(found.values()), left_out, tuple(bad)


def _label(feature: Any, position: int) -> str:
    """Return how an outline that cannot be used is called: by its name, its source or its place in the file."""
    if not isinstance(feature, Mapping):
        return f"outline {position} of the file"
    tags = tags_of(feature.get("properties"))
    return _name(tags) or _source(feature, tags) or f"outline {position} of the file"


def _near(feature: Any, middle: LocalFrame, within_m: float, left_out: Counter[str]) -> Iterator[_Found]:
    if not isinstance(feature, Mapping):
        raise BadInput("it is no feature.")
    properties = feature.get("properties")
    tags = tags_of(properties)
    stature = stature_of(tags)
    if stature is None:
        return
    source = _source(feature, tags)
    for number, (rings, closed) in enumerate(_parts(feature.get("geometry")), 1):
        if not closed and stature.kind not in ("wall", "trees"):
            raise BadInput("it is a line, and only walls, hedges and rows of trees are.")
        away_m = _away_m(middle, rings, closed)
        if away_m <= within_m:
            outline_id = _id(source, rings) + (f"-{number}" if number > 1 else "")
            yield _Found(outline_id, _name(tags), source, stature, rings, closed, away_m)
        else:
            left_out["far"] += 1


def _parts(geometry: Any) -> Iterator[tuple[tuple[Ring, ...], bool]]:
    """Yield the polygons and lines of a geometry, each checked; ``BadInput`` for a bad one or for points."""
    kind = geometry.get("type") if isinstance(geometry, Mapping) else None
    coordinates = geometry.get("coordinates") if isinstance(geometry, Mapping) else None
    for part in coordinates if kind in ("MultiPolygon", "MultiLineString") and isinstance(coordinates, list) else [coordinates]:
        if kind in ("Polygon", "MultiPolygon"):
            ring, holes = polygon({"type": "Polygon", "coordinates": part})
            yield (ring, *holes), True
        elif kind in ("LineString", "MultiLineString"):
            yield (tuple(corner[:2] for corner in line({"type": "LineString", "coordinates": part})),), False
        else:
            raise BadInput("it is a point, or of a type that has no outline.")


def _away_m(middle: LocalFrame, rings: Sequence[Ring], closed: bool) -> float:
    """Return how far an outline is from the middle; 0 inside it. [m]"""
    from shapely import LineString, Point, Polygon  # 0.1 s, so only when there are outlines

    corners = [np.stack(middle.to_metres(*np.array(ring).T[::-1])[:2], axis=1) for ring in rings]
    return (Polygon(corners[0], corners[1:]) if closed else LineString(corners[0])).distance(Point(0.0, 0.0))


def _source(feature: Mapping[str, Any], tags: Tags) -> str:
    """Return “way/123” and the like, or the id that a file gives, or nothing."""
    given = feature.get("id") or tags.get("@id") or tags.get("osm_id") or tags.get("id") or ""
    kind = tags.get("osm_type", "way" if tags.get("osm_id") and not feature.get("id") and "@id" not in tags else "")
    text = str(given) if isinstance(given, str | int | float) else ""
    return short(f"{kind}/{text}" if kind in _OSM_KINDS and text.isdigit() else text, 60)


def _id(source: str, rings: Sequence[Ring]) -> str:
    if source:
        kind, _, number = source.partition("/")
        return f"osm-{kind}-{number}" if kind in _OSM_KINDS else f"outline-{source}"
    lon_deg, lat_deg = np.mean(rings[0][:-1], axis=0)
    return f"outline-at-{lat_deg:.6f},{lon_deg:.6f}"


def _name(tags: Tags) -> str:
    house = " ".join(filter(None, (tags.get("addr:housenumber"), tags.get("addr:street"))))
    return short(tags.get("name") or tags.get("addr:housename") or (house if tags.get("addr:street") else ""), 60)


def _nearest(found: Sequence[_Found]) -> list[_Found]:
    nearest = sorted(found, key=lambda one: one.away_m)[:MOST_KEPT]
    corners = np.cumsum([one.corners for one in nearest])
    return nearest[: int(np.searchsorted(corners, MOST_CORNERS, side="right"))]


def _feature(one: _Found, attribution: str, ground_m_at: GroundAt) -> Feature:
    (lon_deg, lat_deg), stature = np.mean(one.rings[0], axis=0), one.stature
    ground_m = ground_m_at(float(lat_deg), float(lon_deg))
    ground_m = ground_m if math.isfinite(ground_m) else 0.0
    top_m, base_m = round(ground_m + stature.top_m, 2), round(ground_m + stature.base_m, 2)
    feature = obstacle_feature(
        one.name, stature.kind, one.rings[0], top_m, base_m, stature.lets_through, one.closed, feature_id=one.id
    )
    holes = [obstacle_feature("", "building", hole[::-1], 1.0)["geometry"]["coordinates"][0][::-1] for hole in one.rings[1:]]
    feature["geometry"]["coordinates"] += holes
    about = {"height_from": stature.known_by, "source": one.source, "attribution": attribution}
    feature["properties"] |= {key: value for key, value in about.items() if value}
    return feature


def _attribution(collection: Mapping[str, Any]) -> str:
    """Return whose data these are: as the file says, or OpenStreetMap's where its ids show."""
    said = collection.get("attribution") or collection.get("copyright")
    if isinstance(said, str) and said.strip() and "openstreetmap" not in said.lower():
        return short(said, 200)
    known = isinstance(said, str) and said.strip() or any(map(_is_osm, collection["features"]))
    return ATTRIBUTION if known else ""


def _is_osm(feature: Any) -> bool:
    if not isinstance(feature, Mapping):
        return False
    properties = feature.get("properties")
    named = isinstance(properties, Mapping) and any(key in properties for key in ("osm_id", "other_tags", "@id"))
    return named or str(feature.get("id")).partition("/")[0] in _OSM_KINDS


def _notes(
    kept: Sequence[_Found], found: int, left_out: Counter[str], within_m: float, attribution: str
) -> Iterator[str]:
    known = Counter(one.stature.known_by for one in kept)
    if not kept:
        yield f"Nothing that stands up was found within {within_m:g} m."
    else:
        yield (
            f"{_count(len(kept), 'outline')} within {within_m:g} m: {known[BY_TAG]} with a height, {known[BY_LEVELS]} by "
            f"storeys of {LEVEL_M:g} m, {known[ASSUMED]} with a height assumed for want of any. Check those near the sun."
        )
    if found > len(kept):
        yield f"Left out for being too many: {_count(found - len(kept), 'outline')} farther off than the nearest {len(kept)}."
    if left_out["far"]:
        yield f"Left out for lying farther away: {_count(left_out['far'], 'outline')}."
    bad = {reason: count for reason, count in left_out.items() if reason != "far"}
    if bad:
        reasons = "; ".join(f"{count} × {short(reason.rstrip('.'), 120)}" for reason, count in Counter(bad).most_common(3))
        yield f"{_count(sum(bad.values()), 'outline')} could not be used: {reasons}."
    if attribution:
        yield f"Outlines: {attribution}."


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
