"""Changes to a site's document: each takes one and returns another, and alters neither."""

from collections.abc import Mapping, Sequence
from copy import deepcopy
from datetime import date
from typing import Any

from app.errors import NotFound
from app.place.naming import feature_ids, given_id
from app.place.positions import check_position
from app.place.site import LonLat, Notes, Pin
from app.place.timezone import zone_name
from app.place.values import shown

Document = dict[str, Any]
Feature = dict[str, Any]

PLACES = 7  # decimals of a degree kept, about 1 cm


def new_document(
    name: str, lat_deg: float, lon_deg: float, time_zone: str | None = None, height_m: float = 0.0
) -> Document:
    """Return the document of a site without features.

    The time zone is looked up where none is given; ``BadInput`` for a place off
    the Earth.
    """
    check_position(lat_deg, lon_deg)
    return {
        "type": "FeatureCollection",
        "name": name,
        "centre": [round(lon_deg, PLACES), round(lat_deg, PLACES)],
        "height_m": height_m,
        "datum": "",
        "time_zone": time_zone or zone_name(lat_deg, lon_deg),
        "notes": {"access": "", "permission": "", "hazards": ""},
        "features": [],
    }


def with_feature(document: Mapping[str, Any], feature: Mapping[str, Any]) -> Document:
    """Return the document with a feature put in the place of the one of its id, or at the end.

    A feature without an id gets a new one. From the first change on every feature
    has its id written down, so that no later change gives it another.
    """
    return with_features(document, [feature])


def with_features(document: Mapping[str, Any], added: Sequence[Mapping[str, Any]]) -> Document:
    """Return the document with several features, each put in as ``with_feature`` does."""
    features = _with_ids(document)
    places = {given_id(feature): place for place, feature in enumerate(features)}
    for feature in added:
        new = deepcopy(dict(feature))
        if given_id(new) is None:
            new["id"] = feature_ids([*features, new])[-1]
        place = places.setdefault(given_id(new), len(features))
        features[place : place + 1] = [new]
    return _with_features(document, features)


def without_feature(document: Mapping[str, Any], feature_id: str) -> Document:
    """Return the document without the feature of this id; ``NotFound`` when there is none."""
    features = _with_ids(document)
    kept = [feature for feature in features if given_id(feature) != feature_id]
    if len(kept) == len(features):
        raise NotFound(f"Nothing on this site has the id {shown(feature_id)}; it may be gone already.")
    return _with_features(document, kept)


def with_details(
    document: Mapping[str, Any],
    *,
    name: str | None = None,
    notes: Mapping[str, str] | Notes | None = None,
    datum: str | None = None,
    time_zone: str | None = None,
    height_m: float | None = None,
) -> Document:
    """Return the document with what is given changed; of the notes, the members given."""
    given = {"name": name, "datum": datum, "time_zone": time_zone, "height_m": height_m}
    changed = {
        **deepcopy(dict(document)),
        **{key: value for key, value in given.items() if value is not None},
    }
    if notes is not None:
        new = vars(notes) if isinstance(notes, Notes) else notes
        changed["notes"] = {**(changed.get("notes") or {}), **new}
    return changed


def setup_feature(
    name: str,
    camera: Pin,
    couple: Pin,
    properties: Mapping[str, Any] | None = None,
    *,
    feature_id: str | None = None,
) -> Feature:
    """Return a setup: a line from the camera to the couple, with the ground heights."""
    geometry = {"type": "LineString", "coordinates": [_position(camera), _position(couple)]}
    return _feature("setup", name, geometry, properties or {}, feature_id)


def water_feature(
    name: str,
    ring: Sequence[LonLat],
    surface_m: float = 0.0,
    sheltered: bool = False,
    holes: Sequence[Sequence[LonLat]] = (),
    *,
    feature_id: str | None = None,
) -> Feature:
    """Return a sheet of water with its islands; corners are (longitude, latitude). [°, m]"""
    properties = {"surface_m": surface_m, "sheltered": sheltered}
    return _feature("water", name, _polygon(ring, holes), properties, feature_id)


def obstacle_feature(
    name: str,
    kind: str,
    outline: Sequence[LonLat],
    top_m: float,
    base_m: float = 0.0,
    lets_through: float = 0.0,
    closed: bool = True,
    *,
    feature_id: str | None = None,
) -> Feature:
    """Return a thing that stands up: round its outline, or along it where it is not closed.

    ``kind`` is building, wall, trees or canopy; corners are (longitude, latitude);
    heights are above the site's datum. [°, m]
    """
    along = {"type": "LineString", "coordinates": [_rounded(corner) for corner in outline]}
    properties = {"kind": kind, "base_m": base_m, "top_m": top_m, "lets_through": lets_through}
    return _feature("obstacle", name, _polygon(outline) if closed else along, properties, feature_id)


def survey_feature(
    name: str,
    pin: Pin,
    sightings: Sequence[Sequence[Any]],
    bearings: str = "true",
    sighted_on: date | None = None,
    eye_height_m: float = 1.6,
    *,
    feature_id: str | None = None,
) -> Feature:
    """Return a viewpoint with its sighted [bearing, altitude] or [bearing, altitude, name]. [°, m]

    ``bearings`` is true or magnetic; magnetic ones need the day.
    """
    properties = {
        "sightings": [list(sighting) for sighting in sightings],
        "bearings": bearings,
        "eye_height_m": eye_height_m,
        **({"sighted_on": sighted_on.isoformat()} if sighted_on else {}),
    }
    return _feature("survey", name, {"type": "Point", "coordinates": _position(pin)}, properties, feature_id)


def _feature(
    role: str, name: str, geometry: Feature, properties: Mapping[str, Any], feature_id: str | None
) -> Feature:
    return {
        "type": "Feature",
        **({"id": feature_id} if feature_id is not None else {}),
        "geometry": geometry,
        "properties": {"role": role, "name": name} | _others(properties),
    }


def _others(properties: Mapping[str, Any]) -> Feature:
    return {key: deepcopy(value) for key, value in properties.items() if key not in ("role", "name")}


def _polygon(ring: Sequence[LonLat], holes: Sequence[Sequence[LonLat]] = ()) -> Feature:
    """Close the rings and turn them as RFC 7946 section 3.1.6 wants: edge left, holes right."""
    rings = [_turned(ring, 1.0), *(_turned(hole, -1.0) for hole in holes)]
    return {"type": "Polygon", "coordinates": rings}


def _turned(ring: Sequence[LonLat], sense: float) -> list[list[float]]:
    corners = [_rounded(corner) for corner in ring]
    closed = corners if corners[:1] == corners[-1:] else [*corners, corners[0]]
    return closed if _doubled_area(closed) * sense >= 0.0 else closed[::-1]


def _doubled_area(closed: Sequence[Sequence[float]]) -> float:
    x0, y0 = closed[0] if closed else (0.0, 0.0)  # near by, or the digits are lost
    sides = zip(closed, closed[1:], strict=False)
    return sum((x1 - x0) * (y2 - y0) - (x2 - x0) * (y1 - y0) for (x1, y1), (x2, y2) in sides)


def _position(pin: Pin) -> list[float]:
    return [*_rounded((pin.lon_deg, pin.lat_deg)), pin.ground_m]


def _rounded(corner: LonLat) -> list[float]:
    return [round(float(angle), PLACES) for angle in corner]


def _with_ids(document: Mapping[str, Any]) -> list[Feature]:
    features = deepcopy(document["features"])
    return [
        {**feature, "id": feature_id} if given_id(feature) is None else feature
        for feature, feature_id in zip(features, feature_ids(features), strict=True)
    ]


def _with_features(document: Mapping[str, Any], features: list[Feature]) -> Document:
    """A bounding box is dropped, as it may hold no longer."""
    rest = {key: value for key, value in document.items() if key != "bbox"}
    return {**deepcopy(rest), "features": features}
