"""What the tags of an outline say: whether it stands up, how high, and how much light it lets through."""

import json
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

Tags = Mapping[str, str]

LEVEL_M = 3.0  # per storey; common practice, no source
HIGHEST_M = 900.0  # a taller thing is a slip of the pen
MOST_LEVELS = 250.0
BY_TAG, BY_LEVELS, ASSUMED = "height", "levels", "assumed"

# Heights where nothing is told, and the share of light that comes through: guesses, no source.
_DEFAULT_M = {"house": 6.0, "roof": 3.5, "wall": 1.8, "hedge": 1.8, "fence": 1.5, "trees": 12.0}
_ROOF_BASE_M = 2.5
_LETS_THROUGH = {"hedge": 0.1, "fence": 0.5, "trees": 0.2}
_KINDS = {"house": "building", "roof": "canopy", "wall": "wall", "hedge": "wall", "fence": "wall", "trees": "trees"}
_BARRIERS = {"wall": "wall", "city_wall": "wall", "retaining_wall": "wall", "hedge": "hedge", "fence": "fence"}
_ROOFS = ("roof", "canopy", "carport")
_HEIGHTS = ("height", "building:height", "building:levels", "levels")
_ABOUT_THE_DATA = ("id", "@id", "osm_id", "osm_type", "type", "name", "source", "fid", "ogc_fid", "attribution")

_NUMBER = r"(\d+(?:[.,]\d+)?)"
_METRES = re.compile(rf"~?\s*{_NUMBER}\s*(?:m|metres?|meters?)?\.?", re.IGNORECASE)
_FEET = re.compile(rf"~?\s*{_NUMBER}\s*(?:'|′|ft|feet)\s*(?:{_NUMBER}\s*(?:\"|″|''|in)?)?", re.IGNORECASE)
_FOOT_M, _INCH_M = 0.3048, 0.0254  # exact by definition
_STORE_PAIR = re.compile(r'"((?:[^"\\]|\\.)*)"\s*=>\s*"((?:[^"\\]|\\.)*)"')


@dataclass(frozen=True)
class Stature:
    """How a thing stands over the ground at its foot.

    Attributes
    ----------
    kind : str
        building, wall, trees or canopy.
    base_m, top_m : float
        Above the ground; ``base_m`` is 0 unless there is free air under it. [m]
    lets_through : float
        Share of direct light, 0..1.
    known_by : str
        Where the height is from: ``BY_TAG``, ``BY_LEVELS`` or ``ASSUMED``.
    """

    kind: str
    base_m: float
    top_m: float
    lets_through: float
    known_by: str


def tags_of(properties: Any) -> dict[str, str]:
    """Return the tags in a feature's properties, as texts.

    They lie flat among the properties, in an object “tags”, or in one text
    “other_tags” or “tags” of "key"=>"value" pairs or of JSON, as exporting tools write them.
    """
    flat = dict(properties) if isinstance(properties, Mapping) else {}
    for name in ("tags", "other_tags"):
        flat |= _packed(flat.pop(name, None))
    return {str(key): str(value).strip() for key, value in flat.items() if isinstance(value, str | int | float)}


def stature_of(tags: Tags) -> Stature | None:
    """Return how a tagged thing stands, None where its tags tell of nothing that stands up.

    An outline without any tag that means something is taken as a building: files of
    bare footprints are such.
    """
    what = _what(tags)
    if what is None:
        return None
    top_m, known_by = _top_m(tags, what)
    base_m = _base_m(tags, what, top_m)
    return Stature(_kind(what, base_m), base_m, top_m, _LETS_THROUGH.get(what, 0.0), known_by)


def metres(text: str) -> float | None:
    """Return a height typed as “12”, “12.5 m”, “12,5”, “40'” or “40 ft 6 in” in metres; None for anything else."""
    if match := _METRES.fullmatch(text.strip()):
        return _number(match[1])
    if match := _FEET.fullmatch(text.strip()):
        return _number(match[1]) * _FOOT_M + (_number(match[2]) * _INCH_M if match[2] else 0.0)
    return None


def _what(tags: Tags) -> str | None:
    building = tags.get("building") or tags.get("building:part")
    if building and building != "no":
        return "roof" if building in _ROOFS else "house"
    if tags.get("barrier") in _BARRIERS:
        return _BARRIERS[tags["barrier"]]
    if tags.get("natural") in ("wood", "tree_row") or tags.get("landuse") == "forest":
        return "trees"
    telling = [key for key in tags if key not in _ABOUT_THE_DATA]
    return "house" if not telling or any(key in tags for key in _HEIGHTS) else None


def _kind(what: str, base_m: float) -> str:
    return "canopy" if what == "house" and base_m > 0.0 else _KINDS[what]


def _top_m(tags: Tags, what: str) -> tuple[float, str]:
    for name in ("height", "building:height"):
        height_m = metres(tags.get(name, ""))
        if height_m is not None and 0.0 < height_m <= HIGHEST_M:
            return height_m, BY_TAG
    levels = _levels(tags, "building:levels") or _levels(tags, "levels")
    if levels and what in ("house", "roof"):
        return (levels + _levels(tags, "roof:levels")) * LEVEL_M, BY_LEVELS
    return _DEFAULT_M[what], ASSUMED


def _base_m(tags: Tags, what: str, top_m: float) -> float:
    """Return where free air under it ends: told for a whole building, assumed for a roof on posts.

    A building part over others is taken as solid down to the ground.
    """
    told_m = metres(tags.get("min_height", "")) or _levels(tags, "building:min_level") * LEVEL_M
    whole = bool(tags.get("building")) and tags.get("building") != "no"
    base_m = told_m if whole else 0.0
    base_m = base_m or (min(_ROOF_BASE_M, top_m - 0.3) if what == "roof" else 0.0)
    return base_m if 0.0 < base_m < top_m else 0.0


def _levels(tags: Tags, name: str) -> float:
    text = tags.get(name, "").replace(",", ".")
    count = float(text) if re.fullmatch(r"\d+(\.\d+)?", text) else 0.0
    return count if count <= MOST_LEVELS else 0.0


def _number(digits: str) -> float:
    number = float(digits.replace(",", "."))
    return number if math.isfinite(number) else 0.0


def _packed(value: Any) -> dict[str, Any]:
    if isinstance(value, Mapping):
        return dict(value)
    if not isinstance(value, str):
        return {}
    if value.lstrip().startswith("{"):
        try:
            return _packed(json.loads(value))
        except (ValueError, RecursionError):
            return {}
    return {key: re.sub(r"\\(.)", r"\1", text) for key, text in _STORE_PAIR.findall(value)}
