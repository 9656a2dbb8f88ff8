"""The features of a site file that mean something, each role read into its facts."""

from collections.abc import Mapping
from datetime import date
from typing import Any

import numpy as np

from app.errors import BadInput
from app.place.declination import Declination, declination, true_bearing_deg
from app.place.geodesy import LocalFrame
from app.place.shapes import HIGHEST_M, LOWEST_M, Position, line, point, polygon, type_of
from app.place.site import KINDS, Obstacle, Pin, SetupFeature, Sighting, Survey, Water
from app.place.values import choice_in, flag_in, number_in, shown, text_in
from app.units import calendar_date

Properties = Mapping[str, Any]
Thing = Water | Obstacle | Survey | SetupFeature

NEAREST_M = 0.3  # a lens cannot stand closer to a face than this, nor pins be told apart on a plan
EYE_HEIGHT_M, HIGHEST_EYE_M = 1.6, 500.0
LOWEST_SIGHTING_DEG, HIGHEST_SIGHTING_DEG = -10.0, 90.0


def read_feature(role: str, feature_id: str, geometry: Any, properties: Properties) -> Thing | None:
    """Return the facts of a feature, None for a role without meaning here.

    Raises ``BadInput`` for a geometry or a property that the role cannot use.
    """
    read = _READERS.get(role)
    return read(feature_id, geometry, properties) if read else None


def _read_water(feature_id: str, geometry: Any, properties: Properties) -> Water:
    ring, holes = polygon(geometry)
    surface_m = number_in(properties, "surface_m", LOWEST_M, HIGHEST_M, default=0.0)
    name = text_in(properties, "name", "water")
    return Water(feature_id, name, ring, holes, surface_m, flag_in(properties, "sheltered"))


def _read_obstacle(feature_id: str, geometry: Any, properties: Properties) -> Obstacle:
    kind = choice_in(properties, "kind", KINDS)
    closed = type_of(geometry, "Polygon", "LineString") == "Polygon"
    outline, holes = polygon(geometry) if closed else (tuple(corner[:2] for corner in line(geometry)), ())
    base_m = number_in(properties, "base_m", LOWEST_M, HIGHEST_M, default=0.0)
    top_m = number_in(properties, "top_m", LOWEST_M, HIGHEST_M)
    if not base_m < top_m:
        raise BadInput(f"top_m lies above base_m; {top_m:g} and {base_m:g} came.", "top_m")
    lets_through = number_in(properties, "lets_through", 0.0, 1.0, default=0.0)
    name = text_in(properties, "name", kind)
    return Obstacle(feature_id, name, kind, outline, holes, closed, base_m, top_m, lets_through)


def _read_setup(feature_id: str, geometry: Any, properties: Properties) -> SetupFeature:
    name = text_in(properties, "name")
    if not name:
        raise BadInput("a setup needs a name, since a running order calls it by name; add one.", "name")
    ends = line(geometry)
    if len(ends) != 2:
        raise BadInput(f"a setup is a line of two positions, camera then couple; {len(ends)} came.")
    camera, couple = map(_pin, ends)
    _check_apart(camera, couple)
    return SetupFeature(feature_id, name, camera, couple, properties)


def _read_survey(feature_id: str, geometry: Any, properties: Properties) -> Survey:
    pin = _pin(point(geometry))
    eye_height_m = number_in(properties, "eye_height_m", 0.0, HIGHEST_EYE_M, default=EYE_HEIGHT_M)
    sighted_on = _sighted_on(properties)
    correction = _correction(pin, sighted_on, properties)
    sightings = tuple(_sighting(value, correction) for value in _sighted(properties))
    _check_different(sightings)
    name = text_in(properties, "name", "survey")
    return Survey(
        feature_id, name, pin, eye_height_m, sightings, sighted_on, correction.east_deg, correction.note
    )


_READERS = {"water": _read_water, "obstacle": _read_obstacle, "survey": _read_survey, "setup": _read_setup}


def _pin(position: Position) -> Pin:
    lon_deg, lat_deg, ground_m = position
    return Pin(lat_deg, lon_deg, ground_m)


def _check_apart(camera: Pin, couple: Pin) -> None:
    east_m, north_m, _ = LocalFrame(camera.lat_deg, camera.lon_deg).to_metres(couple.lat_deg, couple.lon_deg)
    if np.hypot(east_m, north_m) < NEAREST_M:
        raise BadInput(f"camera and couple stand less than {NEAREST_M:g} m apart; move one of the two pins.")


def _sighted(properties: Properties) -> list[Any]:
    value = properties.get("sightings")
    if not isinstance(value, list) or not value:
        raise BadInput(
            f"sightings are a list of [bearing, altitude] in degrees, one or more; {shown(value)} came.",
            "sightings",
        )
    return value


def _sighting(value: Any, correction: Declination) -> Sighting:
    if not isinstance(value, list) or not 2 <= len(value) <= 3:
        raise BadInput(f"a sighting is [bearing, altitude] or with a name; {shown(value)} came.", "sightings")
    named = dict(zip(("bearing", "altitude", "name"), value, strict=False))
    bearing_deg = number_in(named, "bearing", 0.0, 360.0)
    altitude_deg = number_in(named, "altitude", LOWEST_SIGHTING_DEG, HIGHEST_SIGHTING_DEG)
    true_deg = float(true_bearing_deg(bearing_deg, correction))
    return Sighting(true_deg, altitude_deg, text_in(named, "name") or None)


def _check_different(sightings: tuple[Sighting, ...]) -> None:
    bearings = sorted(sighting.bearing_deg for sighting in sightings)
    twice = next((one for one, other in zip(bearings, bearings[1:], strict=False) if one == other), None)
    if twice is not None:
        raise BadInput(
            f"two sightings have the true bearing {twice:g}; for a step, set them 0.01 degrees apart.",
            "sightings",
        )


def _sighted_on(properties: Properties) -> date | None:
    written = text_in(properties, "sighted_on")
    try:
        return calendar_date(written) if written else None
    except ValueError as error:
        raise BadInput(f"sighted_on: {error}", "sighted_on") from None


def _correction(pin: Pin, sighted_on: date | None, properties: Properties) -> Declination:
    """Return what makes the bearings true: nothing where they are."""
    if choice_in(properties, "bearings", ("true", "magnetic"), default="true") == "true":
        return Declination(0.0, 0.0)
    if sighted_on is None:
        raise BadInput(
            "magnetic bearings need sighted_on, the day, since north wanders; add it.", "sighted_on"
        )
    return declination(pin.lat_deg, pin.lon_deg, sighted_on)
