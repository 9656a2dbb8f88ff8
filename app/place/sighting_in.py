"""One sighted point put into a site's survey, seen from a pin."""

from dataclasses import replace
from typing import Any

from app.errors import BadInput
from app.place.edit import Document, survey_feature, with_feature
from app.place.features import HIGHEST_SIGHTING_DEG, LOWEST_SIGHTING_DEG
from app.place.geodesy import inverse
from app.place.naming import feature_ids
from app.place.site import Pin, Sighting, Site, Survey
from app.place.skyline import NEAR_M
from app.units import compass_deg, signed_deg

SAME_PLACE_M = 30.0  # a survey nearer than that was sighted from here; common practice, no source
SAME_POINT_DEG = 0.5  # a point nearer than that is sighted anew; steadier no hand holds a phone, no source


def with_sighting(site: Site, viewpoint: Pin, eye_height_m: float, bearing_deg: float, altitude_deg: float) -> Document:
    """Return the site's document with one more sighted point of the skyline.

    Parameters
    ----------
    viewpoint : Pin
        Where somebody stood.
    eye_height_m : float
        [m]
    bearing_deg, altitude_deg : float
        True bearing, and altitude above level. [°]

    Notes
    -----
    It goes into the survey from this place. Where there is none a new one begins with all
    points of the survey that has counted here so far, so that one point more takes none
    away. A point within half a degree of bearing is replaced and keeps its name.

    Raises
    ------
    BadInput
        For an altitude that no survey may hold.
    """
    if not LOWEST_SIGHTING_DEG <= altitude_deg <= HIGHEST_SIGHTING_DEG:
        raise BadInput(f"A skyline stands between {LOWEST_SIGHTING_DEG:g}° and {HIGHEST_SIGHTING_DEG:g}°; {altitude_deg:g}° came.", "altitude")
    nearest = min(site.surveys, key=lambda one: _apart_m(one, viewpoint), default=None)
    apart_m = _apart_m(nearest, viewpoint) if nearest else float("inf")
    point = Sighting(round(float(compass_deg(bearing_deg)), 2), round(altitude_deg, 2))
    before = nearest.sightings if nearest and apart_m <= NEAR_M else ()
    points = _put_in(before, point)
    if nearest and apart_m <= SAME_PLACE_M:
        return _into(site, nearest, points)
    feature = survey_feature("sighted on the day", viewpoint, [_written(one, 0.0) for one in points], eye_height_m=eye_height_m)
    return with_feature(site.document, feature)


def _apart_m(survey: Survey, pin: Pin) -> float:
    return float(inverse(survey.pin.lat_deg, survey.pin.lon_deg, pin.lat_deg, pin.lon_deg).distance_m)


def _put_in(before: tuple[Sighting, ...], point: Sighting) -> list[Sighting]:
    """Return the points with one more, in the order of bearings; a name holds clockwise, so it stays with its bearing."""
    again = [one for one in before if abs(float(signed_deg(one.bearing_deg - point.bearing_deg))) < SAME_POINT_DEG]
    name = next((one.called for one in again if one.called), None)
    return sorted([*(one for one in before if one not in again), replace(point, called=name)], key=lambda one: one.bearing_deg)


def _into(site: Site, survey: Survey, points: list[Sighting]) -> Document:
    """Return the document with a survey's points replaced; its bearings stay true or magnetic as they were."""
    features = site.document["features"]
    feature = next(one for one, known in zip(features, feature_ids(features), strict=True) if known == survey.id)
    properties = {**feature["properties"], "sightings": [_written(one, survey.correction_deg) for one in points]}
    return with_feature(site.document, {**feature, "id": survey.id, "properties": properties})


def _written(point: Sighting, correction_deg: float) -> list[Any]:
    bearing = round(float(compass_deg(point.bearing_deg - correction_deg)), 4)
    return [bearing, point.altitude_deg, *([point.called] if point.called else [])]
