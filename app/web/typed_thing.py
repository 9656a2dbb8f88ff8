"""Water, things that stand up and sighted skylines as the texts of their forms, and back."""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from app.errors import BadInput
from app.place.coordinates import parse_coordinates
from app.place.edit import Feature, obstacle_feature, survey_feature, water_feature
from app.place.features import EYE_HEIGHT_M, HIGHEST_EYE_M
from app.place.positions import Coordinates
from app.place.shapes import HIGHEST_M, LOWEST_M
from app.place.site import KINDS, LonLat, Obstacle, Pin, Survey, Water
from app.units import calendar_date, number
from app.web.drawing.plan_rows import pin_words
from app.web.forms import Form, texts

Thing = Water | Obstacle | Survey


@dataclass(frozen=True)
class Role:
    """A kind of thing on the plan.

    ``read`` makes its feature from a form and its old properties, ``typed`` the
    form from what is there, ``empty`` is the form of a new one, ``otherwise`` the
    field that takes the blame for what no other field explains.
    """

    name: str
    called: str
    read: Callable[[Form, Mapping[str, Any]], Feature]
    typed: Callable[[Any, Mapping[str, Any]], dict[str, Any]]
    empty: Mapping[str, str]
    otherwise: str


def read_thing(form: Form, role: Role, before: Mapping[str, Any] | None) -> Feature | None:
    """Return the feature a form describes, with what the form has no field for as it was; None with errors filled."""
    if not form.text("name"):
        form.errors["name"] = "A name is needed: reasons call it by name, as in “behind the ridge”."
    kept = before or {}
    feature = role.read(form, kept)
    if form.errors:
        return None
    others = {
        key: value
        for key, value in (kept.get("properties") or {}).items()
        if key not in feature["properties"]
    }
    dropped = {"sighted_on"} if role.name == "survey" else set()
    feature["properties"] |= {key: value for key, value in others.items() if key not in dropped}
    return feature | ({"id": kept["id"]} if kept.get("id") is not None else {})


def thing_typed(role: Role, thing: Thing, feature: Mapping[str, Any]) -> dict[str, str]:
    """Return what the form of a thing holds."""
    return texts({"name": thing.name, **role.typed(thing, feature["properties"])})


def role_of_thing(thing: Thing) -> Role:
    """Return which kind of thing this is."""
    return ROLES[{Water: "water", Obstacle: "obstacle", Survey: "survey"}[type(thing)]]


def corners_typed(corners: Sequence[LonLat], closed: bool) -> str:
    """Return an outline, one corner a line, without the last that repeats the first."""
    return "\n".join(pin_words(Pin(lat, lon)) for lon, lat in (corners[:-1] if closed else corners))


def read_corners(text: str, least: int, what: str) -> list[LonLat]:
    """Return the corners typed one a line, as (longitude, latitude); ``BadInput`` names the line."""
    corners = [_on_line(n, line, _corner) for n, line in enumerate(text.splitlines(), 1) if line.strip()]
    if len(corners) < least:
        raise BadInput(f"{what} needs {least} corners or more, one a line; {len(corners)} came.")
    return corners


def read_sightings(text: str) -> list[list[Any]]:
    """Return the sightings typed one a line: bearing, altitude and perhaps a name; ``BadInput`` names the line."""
    sightings = [_on_line(n, line, _sighting) for n, line in enumerate(text.splitlines(), 1) if line.strip()]
    if not sightings:
        raise BadInput("A skyline needs one sighted point or more, like: 268 4.3 the ridge")
    return sightings


def _on_line(number_of_line: int, line: str, read: Callable[[str], Any]) -> Any:
    try:
        return read(line)
    except (BadInput, ValueError) as error:
        raise BadInput(f"Line {number_of_line}: {error}") from None


def _corner(line: str) -> LonLat:
    place = parse_coordinates(line)
    return place.lon_deg, place.lat_deg


def _sighting(line: str) -> list[Any]:
    bearing, altitude, name = (
        re.split(r"[\s;]+", line.strip().replace("°", " ").strip(), maxsplit=2) + ["", ""]
    )[:3]
    pair = [number(bearing, "The bearing", 0, 360), number(altitude, "The altitude", -10, 90)]
    return [*pair, name.strip()] if name.strip() else pair


def _read_water(form: Form, before: Mapping[str, Any]) -> Feature:
    ring = form.read("corners", lambda text: read_corners(text, 3, "Water")) or []
    islands = form.read("islands", _read_rings, default=[]) or []
    surface_m = form.read("surface_m", _level, default=0.0)
    return water_feature(form.text("name"), ring, surface_m or 0.0, bool(form.text("sheltered")), islands)


def _water_typed(water: Water, _: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "corners": corners_typed(water.ring, True),
        "islands": "\n\n".join(corners_typed(hole, True) for hole in water.holes),
        "surface_m": water.surface_m,
        "sheltered": "yes" if water.sheltered else "",
    }


def _read_rings(text: str) -> list[list[LonLat]]:
    return [
        read_corners(ring, 3, "An island") for ring in re.split(r"\n\s*\n", text.strip().replace("\r", ""))
    ]


def _read_obstacle(form: Form, before: Mapping[str, Any]) -> Feature:
    closed = form.text("drawn") != "line"
    least, what = (3, "An outline") if closed else (2, "A line")
    outline = form.read("corners", lambda text: read_corners(text, least, what)) or []
    base_m, top_m = form.read("base_m", _level, default=0.0), form.read("top_m", _level)
    through = form.read(
        "lets_through", lambda text: number(text, "The share of light in per cent", 0, 100), default=0.0
    )
    feature = obstacle_feature(
        form.text("name"),
        form.text("kind"),
        outline,
        top_m or 0.0,
        base_m or 0.0,
        (through or 0.0) / 100,
        closed,
    )
    return _with_courtyards(feature, before)


def _with_courtyards(feature: Feature, before: Mapping[str, Any]) -> Feature:
    """Keep the holes an outline had, which its form does not show."""
    old, new = before.get("geometry") or {}, feature["geometry"]
    if old.get("type") == new["type"] == "Polygon":
        new["coordinates"] += old["coordinates"][1:]
    return feature


def _obstacle_typed(obstacle: Obstacle, _: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "kind": obstacle.kind,
        "drawn": "round" if obstacle.closed else "line",
        "corners": corners_typed(obstacle.outline, obstacle.closed),
        "base_m": obstacle.base_m,
        "top_m": obstacle.top_m,
        "lets_through": obstacle.lets_through * 100,
    }


def _read_survey(form: Form, before: Mapping[str, Any]) -> Feature:
    place = form.read("viewpoint", parse_coordinates) or Coordinates(0.0, 0.0)
    ground_m = form.read("ground_m", _level, default=0.0) or 0.0
    eye_m = form.read("eye_height_m", lambda text: number(text, "The eye height in metres", 0, HIGHEST_EYE_M))
    sightings = form.read("sightings", read_sightings) or []
    sighted_on = form.read("sighted_on", calendar_date) if form.text("sighted_on") else None
    if form.text("bearings") == "magnetic" and not form.text("sighted_on"):
        form.errors["sighted_on"] = "Magnetic bearings need the day they were sighted, since north wanders."
    pin = Pin(place.lat_deg, place.lon_deg, ground_m)
    return survey_feature(form.text("name"), pin, sightings, form.text("bearings"), sighted_on, eye_m or 0.0)


def _survey_typed(survey: Survey, properties: Mapping[str, Any]) -> dict[str, Any]:
    """Give back the bearings as they were sighted, magnetic ones uncorrected."""
    return {
        "viewpoint": pin_words(survey.pin),
        "ground_m": survey.pin.ground_m,
        "eye_height_m": survey.eye_height_m,
        "bearings": properties.get("bearings") or "true",
        "sighted_on": properties.get("sighted_on") or "",
        "sightings": "\n".join(" ".join(map(_plain, sighting)) for sighting in properties["sightings"]),
    }


def _plain(value: Any) -> str:
    return value or "" if isinstance(value, str | None) else f"{value:.10g}"


def _level(text: str) -> float:
    return number(text, "The height in metres", LOWEST_M, HIGHEST_M)


ROLES = {
    role.name: role
    for role in (
        Role(
            "water",
            "water",
            _read_water,
            _water_typed,
            {"name": "", "corners": "", "surface_m": "0"},
            "corners",
        ),
        Role(
            "obstacle",
            "thing that stands up",
            _read_obstacle,
            _obstacle_typed,
            {
                "name": "",
                "corners": "",
                "kind": KINDS[0],
                "drawn": "round",
                "base_m": "0",
                "lets_through": "0",
            },
            "corners",
        ),
        Role(
            "survey",
            "sighted skyline",
            _read_survey,
            _survey_typed,
            {
                "name": "",
                "viewpoint": "",
                "ground_m": "0",
                "eye_height_m": f"{EYE_HEIGHT_M:g}",
                "bearings": "true",
            },
            "sightings",
        ),
    )
}
