"""Site files: one GeoJSON FeatureCollection (RFC 7946), read strictly and written back whole."""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, TypeVar

import numpy as np

from app.errors import BadInput, TooLarge
from app.place.features import Thing, read_feature
from app.place.geodesy import LocalFrame
from app.place.naming import feature_ids, given_id, label, role_of
from app.place.shapes import HIGHEST_M, LOWEST_M, Position, check_not_across_180, point, positions_of
from app.place.site import Centre, Notes, Obstacle, SetupFeature, Site, Survey, Water
from app.place.strict_json import read_json, write_json
from app.place.timezone import rules, zone_name
from app.place.values import number_in, object_in, shown, text_in
from app.units import FloatArray, FloatOrArray, signed_deg

MAX_BYTES = 5_000_000
MAX_POSITIONS = 20_000
RADIUS_M = 50_000.0  # a site is smaller; what lies farther off was placed wrongly
MOST_STOPS = 6.0  # that a meter may find a place brighter or darker
UNNAMED = "Unnamed site"

T = TypeVar("T")


@dataclass(frozen=True)
class _Read:
    label: str
    positions: tuple[Position, ...]
    thing: Thing | None


def parse_site(source: str | bytes | Mapping[str, Any]) -> Site:
    """Return the site that a GeoJSON document describes.

    Parameters
    ----------
    source : str, bytes or mapping
        The text of a site file, or its value. Heights in it are metres above the
        site's own datum, positions [longitude, latitude, ground height].

    Returns
    -------
    Site
        With the whole document in ``document``: members, features and roles that
        are unknown here are kept there as they came.

    Raises
    ------
    TooLarge
        For more than ``MAX_BYTES``.
    BadInput
        For any other fault: one line that names the feature and how to mend it.
    """
    document = read_json(source, MAX_BYTES)
    features = _features(document)
    read = _read_all(features)
    centre = _centre(document, read)
    _check_near(document, read)
    return Site(
        name=text_in(document, "name", UNNAMED),
        time_zone=_time_zone(document, centre),
        datum=text_in(document, "datum"),
        notes=_notes(document),
        centre=centre,
        waters=_of(read, Water),
        obstacles=_of(read, Obstacle),
        surveys=_of(read, Survey),
        setups=_of(read, SetupFeature),
        document=document,
        horizon_m=_horizon_m(document),
        observed_stops=number_in(document, "observed_stops", -MOST_STOPS, MOST_STOPS, 0.0),
    )


def write_site(site: Site) -> str:
    """Return the text of the site's document, a line for each member and feature."""
    members = [f"{write_json(name)}: {_lines(value)}" for name, value in site.document.items()]
    return "{\n" + ",\n".join(members) + "\n}\n"


def _lines(value: Any) -> str:
    if isinstance(value, list) and value and all(isinstance(item, dict) for item in value):
        return "[\n" + ",\n".join(map(write_json, value)) + "\n]"
    return write_json(value)


def _features(document: Any) -> list[Any]:
    kind = document.get("type") if isinstance(document, dict) else None
    if kind != "FeatureCollection":
        raise BadInput(f"A site file is a GeoJSON FeatureCollection; its type is {shown(kind)}.")
    features = document.get("features")
    if not isinstance(features, list):
        raise BadInput(f"The features of a FeatureCollection are a list; {shown(features)} came.")
    _check_crs(document.get("crs"))
    return features


def _check_crs(crs: Any) -> None:
    written = write_json(crs).upper()
    if crs is not None and "CRS84" not in written and "4326" not in written:
        raise BadInput("GeoJSON counts in WGS84 only (RFC 7946, section 4); export the file again in WGS84.")


def _read_all(features: Sequence[Any]) -> list[_Read]:
    for position, feature in enumerate(features, 1):
        with _about(label(feature, position)):
            _check_feature(feature)
    ids = feature_ids(features)
    read = [_read(label(features[i], i + 1), features[i], ids[i]) for i in range(len(features))]
    _check_count(sum(len(one.positions) for one in read))
    _check_setup_names(read)
    return read


@contextmanager
def _about(feature_label: str) -> Iterator[None]:
    """Put the feature's name before whatever is said about it."""
    try:
        yield
    except BadInput as error:
        raise BadInput(f"{feature_label}: {error}", error.field) from None


def _check_feature(feature: Any) -> None:
    kind = feature.get("type") if isinstance(feature, dict) else None
    if kind != "Feature":
        raise BadInput(f"everything in features has the type Feature; {shown(kind)} came.")
    text_in(object_in(feature, "properties"), "role")
    text_in(object_in(feature, "properties"), "name")
    given_id(feature)


def _read(feature_label: str, feature: Mapping[str, Any], feature_id: str) -> _Read:
    with _about(feature_label):
        geometry = feature.get("geometry")
        positions = tuple(positions_of(geometry))
        thing = read_feature(role_of(feature), feature_id, geometry, object_in(feature, "properties"))
        if thing:
            check_not_across_180(positions)
        return _Read(feature_label, positions, thing)


def _check_count(count: int) -> None:
    if count > MAX_POSITIONS:
        raise TooLarge(f"A site has at most {MAX_POSITIONS} corners; {count} came. Simplify its outlines.")


def _check_setup_names(read: Sequence[_Read]) -> None:
    names = Counter(" ".join(setup.name.casefold().split()) for setup in _of(read, SetupFeature))
    for one in read:
        if isinstance(one.thing, SetupFeature) and names[" ".join(one.thing.name.casefold().split())] > 1:
            raise BadInput(f"{one.label}: two setups have this name; give one of them another.", "name")


def _of(read: Sequence[_Read], kind: type[T]) -> tuple[T, ...]:
    return tuple(one.thing for one in read if isinstance(one.thing, kind))


def _centre(document: Mapping[str, Any], read: Sequence[_Read]) -> Centre:
    """Return the place given, or the mean of the setups' pins, or that of everything drawn."""
    height_m = number_in(document, "height_m", LOWEST_M, HIGHEST_M, default=0.0)
    given = _given_centre(document)
    if given:
        return Centre(*given, height_m)
    of_setups = [
        position for one in read if isinstance(one.thing, SetupFeature) for position in one.positions
    ]
    positions = of_setups or [position for one in read for position in one.positions]
    if not positions:
        raise BadInput("The site has no place yet; give “centre” as [longitude, latitude].", "centre")
    return Centre(*_middle(positions, np.mean), height_m)


def _given_centre(document: Mapping[str, Any]) -> tuple[float, float] | None:
    if document.get("centre") is None:
        return None
    with _about("centre"):
        lon_deg, lat_deg, _ = point({"type": "Point", "coordinates": document["centre"]})
    return lat_deg, lon_deg


def _middle(positions: Sequence[Position], middle: Callable[..., FloatOrArray]) -> tuple[float, float]:
    lon_deg, lat_deg, _ = np.array(positions).T
    turned_deg = signed_deg(lon_deg - lon_deg[0])  # so that the 180° meridian is no edge
    return float(middle(lat_deg)), float(signed_deg(lon_deg[0] + middle(turned_deg)))


def _check_near(document: Mapping[str, Any], read: Sequence[_Read]) -> None:
    """Refuse what lies far from the rest: mostly latitude and longitude in the wrong order."""
    known = [one for one in read if one.thing]
    if not known:
        return
    positions = [position for one in known for position in one.positions]
    middle = LocalFrame(*(_given_centre(document) or _middle(positions, np.median)))
    for one in known:
        lon_deg, lat_deg, _ = np.array(one.positions).T
        far_m, swapped_m = _away_m(middle, lat_deg, lon_deg), _away_m(middle, lon_deg, lat_deg)
        if np.any(far_m > RADIUS_M):
            swapped = np.all(np.minimum(far_m, swapped_m) <= RADIUS_M)
            hint = ", which looks swapped: longitude comes first in GeoJSON" if swapped else ""
            raise BadInput(
                f"{one.label}: it lies {max(far_m) / 1e3:.0f} km from the middle of the site{hint}."
            )


def _away_m(middle: LocalFrame, lat_deg: FloatArray, lon_deg: FloatArray) -> FloatArray:
    return np.linalg.norm(middle.to_metres(lat_deg, lon_deg), axis=0)


def _time_zone(document: Mapping[str, Any], centre: Centre) -> str:
    name = text_in(document, "time_zone")
    return rules(name).key if name else zone_name(centre.lat_deg, centre.lon_deg)


def _horizon_m(document: Mapping[str, Any]) -> float | None:
    given = document.get("horizon_m") is not None
    return number_in(document, "horizon_m", 0.0, HIGHEST_M) if given else None


def _notes(document: Mapping[str, Any]) -> Notes:
    with _about("notes"):
        notes = object_in(document, "notes")
        return Notes(*(text_in(notes, name) for name in ("access", "permission", "hazards")))
