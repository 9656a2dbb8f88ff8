"""What a script sends when something has been dragged on the plan, made into a changed document."""

from collections.abc import Mapping
from copy import deepcopy
from typing import Any

from app.errors import BadInput, Conflict, NotFound
from app.place.edit import PLACES, Document, with_feature
from app.place.naming import feature_ids
from app.place.site import Site
from app.web.typed_setup import ON_TOP

PINS = ("camera", "couple")


def moved_pins(site: Site, setup_id: str, sent: Mapping[str, Any]) -> Document:
    """Return the document with a setup's pins at [longitude, latitude]; grounds stay, and a pin not sent."""
    feature = deepcopy(feature_with(site, setup_id))
    ends = feature["geometry"]["coordinates"]
    for which, pin in enumerate(PINS):
        if sent.get(pin) is not None:
            ends[which] = [*_corner(sent[pin], pin), *ends[which][2:]]
    if ends[0][:2] == ends[1][:2]:
        raise BadInput(ON_TOP, "couple")
    return with_feature(site.document, feature)


def moved_shape(site: Site, feature_id: str, sent: Mapping[str, Any]) -> Document:
    """Return the document with a feature's coordinates: a corner, or corners without the last that repeats the first.

    Islands and courtyards stay.
    """
    feature = deepcopy(feature_with(site, feature_id))
    geometry, corners = feature["geometry"], sent.get("coordinates")
    if geometry["type"] == "Point":
        geometry["coordinates"] = [*_corner(corners, "coordinates"), *geometry["coordinates"][2:]]
    else:
        line = [_corner(corner, "coordinates") for corner in _list(corners)]
        closed = geometry["type"] == "Polygon"
        geometry["coordinates"] = [[*line, *line[:1]], *geometry["coordinates"][1:]] if closed else line
    return with_feature(site.document, feature)


def feature_with(site: Site, feature_id: str) -> dict[str, Any]:
    """Return the feature of the site's document that has this id; ``NotFound`` when there is none."""
    features = site.document["features"]
    for feature, known in zip(features, feature_ids(features), strict=True):
        if known == feature_id:
            return {**feature, "id": known}
    raise NotFound(f"Nothing on “{site.name}” has the id “{feature_id[:60]}”; it may have been deleted.")


def check_version(sent: Mapping[str, Any], version: int, name: str) -> None:
    """Raise ``Conflict`` when a script's page was opened before the last change."""
    if sent.get("version") != version:
        raise Conflict(
            f"“{name}” was changed in another tab or by somebody else since this page was opened, so the move was not kept."
        )


def _list(value: Any) -> list[Any]:
    if not isinstance(value, list):
        raise BadInput("coordinates are a list of [longitude, latitude].", "coordinates")
    return value


def _corner(value: Any, name: str) -> list[float]:
    if not isinstance(value, list) or len(value) != 2 or not all(_is_number(one) for one in value):
        raise BadInput(f"{name} is [longitude, latitude] in degrees.", name)
    return [round(float(one), PLACES) for one in value]


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
