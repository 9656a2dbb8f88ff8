"""Changes to a document give another document and leave the first alone."""

import copy
from datetime import date

import pytest

from app.errors import BadInput, NotFound
from app.place.edit import (
    new_document,
    obstacle_feature,
    setup_feature,
    survey_feature,
    water_feature,
    with_details,
    with_feature,
    without_feature,
)
from app.place.site import Centre, Notes, Pin
from app.place.sitefile import parse_site

CAMERA, COUPLE = Pin(54.57, -3.13, 0.6), Pin(54.57, -3.1302, 0.6)
EMPTY = new_document("Trial", 54.57, -3.13)
CLOCKWISE = [(-3.131, 54.57), (-3.131, 54.571), (-3.130, 54.571), (-3.130, 54.57)]
HOLE = [(-3.1307, 54.5703), (-3.1303, 54.5703), (-3.1303, 54.5706)]


def ids(document):
    return [feature.get("id") for feature in document["features"]]


def unchanged(document, change):
    """Make the change and see that the document is as it was."""
    before = copy.deepcopy(document)
    changed = change(document)
    assert document == before
    return changed


def test_a_new_document_is_a_site_with_the_zone_of_its_place():
    site = parse_site(new_document("Trial", 54.57, -3.13, height_m=75.0))
    assert (site.name, site.time_zone, site.centre) == ("Trial", "Europe/London", Centre(54.57, -3.13, 75.0))
    assert parse_site(new_document("Trial", 54.57, -3.13, "UTC")).time_zone == "UTC"


def test_a_new_document_off_the_earth_is_refused():
    with pytest.raises(BadInput, match="swapped: latitude comes first"):
        new_document("Trial", 103.8, 1.3)


def test_a_feature_without_an_id_is_put_at_the_end_with_a_new_one():
    one = unchanged(EMPTY, lambda document: with_feature(document, setup_feature("Jetty", CAMERA, COUPLE)))
    two = unchanged(one, lambda document: with_feature(document, setup_feature("Jetty", CAMERA, COUPLE)))
    assert ids(two) == ["setup-jetty", "setup-jetty-2"]


def test_a_feature_takes_the_place_of_the_one_of_its_id():
    document = with_feature(EMPTY, setup_feature("Jetty", CAMERA, COUPLE))
    document = with_feature(document, setup_feature("Doors", CAMERA, COUPLE))
    renamed = setup_feature("End of the jetty", CAMERA, COUPLE, feature_id="setup-jetty")
    changed = unchanged(document, lambda document: with_feature(document, renamed))
    assert ids(changed) == ["setup-jetty", "setup-doors"]
    assert [setup.name for setup in parse_site(changed).setups] == ["End of the jetty", "Doors"]


def test_a_feature_of_an_unknown_id_is_put_at_the_end_under_it():
    assert ids(with_feature(EMPTY, setup_feature("Jetty", CAMERA, COUPLE, feature_id="own"))) == ["own"]


def test_the_first_change_writes_down_every_id_so_that_none_moves():
    unnamed = [{"type": "Feature", "geometry": None, "properties": {"role": "drawing"}} for _ in range(3)]
    document = {**EMPTY, "features": unnamed}
    fewer = unchanged(document, lambda document: without_feature(document, "drawing-1"))
    assert ids(fewer) == ["drawing-2", "drawing-3"]


def test_a_number_as_id_is_found_by_its_text():
    document = {**EMPTY, "features": [{"type": "Feature", "id": 7, "geometry": None, "properties": None}]}
    assert without_feature(document, "7")["features"] == []


def test_what_is_not_there_cannot_be_taken_away():
    with pytest.raises(NotFound, match="Nothing on this site has the id “x”"):
        without_feature(EMPTY, "x")


def test_a_bounding_box_goes_when_the_features_change_and_the_rest_stays():
    document = {**EMPTY, "bbox": [-4, 54, -3, 55], "x-own": [1]}
    changed = with_feature(document, setup_feature("Jetty", CAMERA, COUPLE))
    assert "bbox" not in changed and changed["x-own"] == [1]


def test_the_changed_document_shares_nothing_with_what_was_given():
    feature = setup_feature("Jetty", CAMERA, COUPLE, {"looks": ["backlit"]})
    changed = with_feature(EMPTY, feature)
    feature["properties"]["looks"].append("afterglow")
    assert changed["features"][0]["properties"]["looks"] == ["backlit"]


def test_details_are_changed_one_by_one():
    document = with_details(EMPTY, notes={"access": "by boat", "parking": "none"})
    changed = unchanged(
        document, lambda document: with_details(document, name="Other", notes={"hazards": "deep"})
    )
    assert parse_site(changed).notes == Notes("by boat", "", "deep")
    assert (changed["name"], changed["notes"]["parking"], changed["time_zone"]) == (
        "Other",
        "none",
        "Europe/London",
    )
    site = parse_site(
        with_details(document, notes=Notes("on foot"), datum="yard", time_zone="UTC", height_m=0.0)
    )
    assert (site.notes, site.datum, site.time_zone) == (Notes("on foot"), "yard", "UTC")


def test_every_builder_gives_what_is_read_back():
    document = EMPTY
    for feature in [
        setup_feature("Jetty", CAMERA, COUPLE, {"focal_length_mm": 70, "role": "ignored"}),
        water_feature("the lake", CLOCKWISE, -0.3, True, [HOLE]),
        obstacle_feature("the shed", "building", CLOCKWISE, 6.0, 1.0),
        obstacle_feature("the hedge", "trees", CLOCKWISE, 3.0, lets_through=0.3, closed=False),
        survey_feature(
            "sights", CAMERA, [(250, 4.0), [270, 5.0, "the ridge"]], "magnetic", date(2026, 5, 16), 1.4
        ),
    ]:
        document = with_feature(document, feature)
    site = parse_site(document)
    assert (site.setups[0].camera, site.setups[0].couple) == (CAMERA, COUPLE)
    assert site.setups[0].properties["focal_length_mm"] == 70
    assert (site.waters[0].surface_m, site.waters[0].sheltered, len(site.waters[0].holes)) == (-0.3, True, 1)
    shed, hedge = site.obstacles
    assert (shed.kind, shed.base_m, shed.top_m, shed.closed) == ("building", 1.0, 6.0, True)
    assert (hedge.outline, hedge.lets_through, hedge.closed) == (tuple(CLOCKWISE), 0.3, False)
    survey = site.surveys[0]
    assert (survey.eye_height_m, survey.sighted_on, survey.sightings[1].called) == (
        1.4,
        date(2026, 5, 16),
        "the ridge",
    )


def test_rings_are_closed_and_turned_as_the_standard_wants():
    """RFC 7946, section 3.1.6: the outer ring counter-clockwise, holes clockwise."""
    outer, hole = water_feature("the lake", CLOCKWISE, holes=[HOLE])["geometry"]["coordinates"]
    assert outer == [list(corner) for corner in [CLOCKWISE[0], *reversed(CLOCKWISE)]]
    assert hole == [list(corner) for corner in [HOLE[0], *reversed(HOLE)]]
    already_closed = [*reversed(CLOCKWISE), CLOCKWISE[-1]]
    again = water_feature("the lake", already_closed)["geometry"]["coordinates"][0]
    assert again == [list(corner) for corner in already_closed]


def test_the_name_and_role_of_a_builder_come_before_its_properties():
    properties = setup_feature("Jetty", CAMERA, COUPLE, {"role": "x", "name": "y", "z": 1})["properties"]
    assert properties == {"role": "setup", "name": "Jetty", "z": 1}
