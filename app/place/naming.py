"""What the features of a site file are called: their ids, and their names in sentences."""

import re
import unicodedata
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from app.errors import BadInput
from app.place.values import short, shown


def feature_ids(features: Sequence[Mapping[str, Any]]) -> list[str]:
    """Return the id of every feature, in order and all different.

    A feature without one is called by its role and name, “setup-end-of-the-jetty”,
    or where it has no name, or not the first of that name, by role and place in
    the list, counted from 1: “drawing-4”. Raises ``BadInput`` for an id given twice.
    """
    given = [given_id(feature) for feature in features]
    taken = {name for name in given if name is not None}
    _check_different([name for name in given if name is not None])
    return [
        _derived_id(feature, position, taken) if name is None else name
        for position, (feature, name) in enumerate(zip(features, given, strict=True), 1)
    ]


def given_id(feature: Mapping[str, Any]) -> str | None:
    """Return the id written in a feature, a number as text; None when it has none."""
    value = feature.get("id")
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, str | int | float) or value == "":
        raise BadInput(f"id is a text or a number; {shown(value)} came.", "id")
    return str(value)


def role_of(feature: Mapping[str, Any]) -> str:
    """Return the role of a feature, “feature” where it has none."""
    properties = feature.get("properties")
    role = properties.get("role") if isinstance(properties, Mapping) else None
    return role if isinstance(role, str) and role else "feature"


def label(feature: Any, position: int) -> str:
    """Return how a sentence calls a feature: setup “End of the jetty”, or feature 3."""
    if not isinstance(feature, Mapping):
        return f"feature {position}"
    name, role = _name(feature), short(role_of(feature))
    return f"{role} “{short(name)}”" if name else f"{role} (feature {position})"


def slug(name: str) -> str:
    """Return a name in small plain letters, digits and hyphens; perhaps nothing is left."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub("[^a-z0-9]+", "-", plain).strip("-")


def _derived_id(feature: Mapping[str, Any], position: int, taken: set[str]) -> str:
    role, name = slug(role_of(feature)) or "feature", slug(_name(feature))
    found = f"{role}-{name}" if name else f"{role}-{position}"
    if found in taken:
        found = f"{found}-{position}"
    while found in taken:
        found = f"{found}-more"
    taken.add(found)
    return found


def _name(feature: Mapping[str, Any]) -> str:
    properties = feature.get("properties")
    name = properties.get("name") if isinstance(properties, Mapping) else None
    return name.strip() if isinstance(name, str) else ""


def _check_different(names: Sequence[str]) -> None:
    if len(set(names)) < len(names):
        twice = Counter(names).most_common(1)[0][0]
        raise BadInput(f"Two features have the id {shown(twice)}; give one of them another.", "id")
