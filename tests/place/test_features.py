"""What each role of a feature means, and what is said when it cannot."""

from datetime import date

import pytest

from app.errors import BadInput
from app.place.declination import declination
from app.place.site import Obstacle, Pin, SetupFeature, Sighting, Water
from app.place.sitefile import parse_site

HERE, THERE = [-3.13, 54.57], [-3.131, 54.571]
SQUARE = [[-3.131, 54.57], [-3.130, 54.57], [-3.130, 54.571], [-3.131, 54.571], [-3.131, 54.57]]
INNER = [[-3.1307, 54.5703], [-3.1307, 54.5706], [-3.1303, 54.5706], [-3.1307, 54.5703]]
BOW_TIE = [[-3.131, 54.57], [-3.130, 54.571], [-3.130, 54.57], [-3.131, 54.571], [-3.131, 54.57]]


def site_of(role, shape, coordinates, /, **properties):
    """Read a site with one feature; a property set to None is left out."""
    given = {"role": role, "name": "it", **properties}
    given = {name: value for name, value in given.items() if value is not None}
    feature = {
        "type": "Feature",
        "id": "a",
        "geometry": {"type": shape, "coordinates": coordinates},
        "properties": given,
    }
    return parse_site({"type": "FeatureCollection", "centre": HERE, "features": [feature]})


def refused(match, *feature, **properties):
    with pytest.raises(BadInput, match=match) as caught:
        site_of(*feature, **properties)
    assert "\n" not in str(caught.value)


def ring(corners):
    return tuple(map(tuple, corners))


def test_water_has_an_edge_islands_and_a_surface():
    (water,) = site_of("water", "Polygon", [SQUARE, INNER], surface_m=-0.3, sheltered=True).waters
    assert water == Water("a", "it", ring(SQUARE), (ring(INNER),), -0.3, True)


def test_water_is_at_the_datum_and_open_to_the_wind_unless_told():
    (water,) = site_of("water", "Polygon", [SQUARE], name=None).waters
    assert (water.name, water.surface_m, water.sheltered) == ("water", 0.0, False)


def test_a_building_goes_round_its_outline_and_a_wall_along_it():
    (building,) = site_of("obstacle", "Polygon", [SQUARE], kind="building", top_m=6).obstacles
    assert building == Obstacle("a", "it", "building", ring(SQUARE), (), True, 0.0, 6.0, 0.0)
    (wall,) = site_of(
        "obstacle", "LineString", [HERE, THERE], kind="wall", base_m=1, top_m=2.5, lets_through=0.2
    ).obstacles
    assert wall == Obstacle("a", "it", "wall", ring([HERE, THERE]), (), False, 1.0, 2.5, 0.2)


def test_a_setup_is_a_camera_and_a_couple_with_its_properties_untouched():
    (setup,) = site_of("setup", "LineString", [[*HERE, 0.6], THERE], people=[{"name": "Maren"}], x=1).setups
    assert setup == SetupFeature(
        "a", "it", Pin(54.57, -3.13, 0.6), Pin(54.571, -3.131, 0.0), setup.properties
    )
    assert setup.properties == {"role": "setup", "name": "it", "people": [{"name": "Maren"}], "x": 1}


def test_true_sightings_stay_as_they_are():
    (survey,) = site_of(
        "survey", "Point", [*HERE, 2], sightings=[[0, -1], [360.0, 5], [90, 3, "the ridge"]][1:]
    ).surveys
    assert survey.sightings == (Sighting(0.0, 5.0), Sighting(90.0, 3.0, "the ridge"))
    assert (survey.pin, survey.eye_height_m, survey.correction_deg) == (Pin(54.57, -3.13, 2.0), 1.6, 0.0)


def test_magnetic_sightings_are_made_true_for_their_place_and_day():
    day = date(2026, 5, 16)
    (survey,) = site_of(
        "survey",
        "Point",
        HERE,
        sightings=[[250, 4.0], [0.1, 1.0]],
        bearings="magnetic",
        sighted_on="2026-05-16",
    ).surveys
    expected = declination(54.57, -3.13, day)
    assert survey.sightings[0].bearing_deg == pytest.approx(250 + expected.east_deg)
    assert survey.sightings[1].bearing_deg == pytest.approx((0.1 + expected.east_deg) % 360)
    assert (survey.sighted_on, survey.correction_deg, survey.note) == (day, expected.east_deg, None)


def test_sightings_from_before_the_magnetic_model_carry_its_note():
    (survey,) = site_of(
        "survey", "Point", HERE, sightings=[[250, 4.0]], bearings="magnetic", sighted_on="2019-05-16"
    ).surveys
    assert "for 2019 it is stretched" in survey.note


WATER_FAULTS = [
    ("is drawn as a Polygon; “Point” came", "Point", HERE),
    ("crosses itself near 54.570500, -3.130500", "Polygon", [BOW_TIE]),
    (
        "touches itself near 54.5705",
        "Polygon",
        [[*SQUARE[:3], [-3.1305, 54.5705], SQUARE[3], [-3.1305, 54.5705], SQUARE[0]]],
    ),
    ("has a hole outside it", "Polygon", [SQUARE, [[lon + 1e-2, lat] for lon, lat in INNER]]),
    ("ring is open; repeat the first position", "Polygon", [SQUARE[:4]]),
    ("needs four positions.*; 3 came", "Polygon", [SQUARE[:3]]),
    ("fewer than three different corners", "Polygon", [[HERE] * 4]),
    ("has no corners", "Polygon", []),
    ("coordinates is a list", "Polygon", [5]),
    (
        "across the 180° meridian; cut it in two",
        "Polygon",
        [[[179.9, 0], [-179.9, 0], [-179.9, 1], [179.9, 0]]],
    ),
]


@pytest.mark.parametrize(
    ("words", "kind", "coordinates"), WATER_FAULTS, ids=[fault[0] for fault in WATER_FAULTS]
)
def test_water_that_cannot_be_is_named_and_told(words, kind, coordinates):
    refused(f"^water “it”: .*{words}", "water", kind, coordinates)


@pytest.mark.parametrize(
    ("words", "properties"),
    [
        ("kind is building, wall, trees or canopy; “shed” came", {"kind": "shed"}),
        ("kind is building, wall, trees or canopy; nothing came", {"kind": None}),
        ("top_m is a number; nothing came", {"top_m": None}),
        ("top_m is a number; “6” came. Write it without quotes", {"top_m": "6"}),
        ("top_m is a number; true came", {"top_m": True}),
        ("top_m lies above base_m; 6 and 6 came", {"base_m": 6}),
        ("top_m lies between -500 and 9000; inf came", {"top_m": 10**400}),
        ("lets_through lies between 0 and 1; 30 came", {"lets_through": 30}),
    ],
)
def test_an_obstacle_that_cannot_be_is_named_and_told(words, properties):
    refused(
        f"^obstacle “it”: {words}",
        "obstacle",
        "Polygon",
        [SQUARE],
        **{"kind": "wall", "top_m": 6, **properties},
    )


@pytest.mark.parametrize("sheltered", ["yes", 1])
def test_a_flag_is_true_or_false(sheltered):
    refused("sheltered is true or false, without quotes", "water", "Polygon", [SQUARE], sheltered=sheltered)


@pytest.mark.parametrize(
    ("words", "coordinates"),
    [
        ("two positions, camera then couple; 3 came", [HERE, THERE, HERE]),
        ("two different positions", [HERE, HERE]),
        ("two different positions", [HERE]),
        ("less than 0.3 m apart; move one of the two pins", [HERE, [-3.130004, 54.57]]),
        ("swapped: longitude comes first", [[54.57, 103.1], THERE]),
        ("longitude lies between -180 and 180 degrees; 190 came", [[190, 54], THERE]),
        ("a height lies between -500 and 9000 m; 12000 came", [[*HERE, 12000], THERE]),
        ("a coordinate is a number; “0.6” came", [[*HERE, "0.6"], THERE]),
        ("a coordinate is a number; nothing came", [[-3.13, None], THERE]),
        ("a position is .longitude, latitude.", [[-3.13], THERE]),
        ("coordinates is a list in square brackets; nothing came", None),
    ],
)
def test_a_setup_that_cannot_be_is_named_and_told(words, coordinates):
    refused(f"^setup “it”: .*{words}", "setup", "LineString", coordinates)


def test_a_camera_just_far_enough_from_the_couple_is_taken():
    (setup,) = site_of("setup", "LineString", [HERE, [-3.130005, 54.57]]).setups  # 0.32 m
    assert setup.couple.lon_deg == -3.130005


def test_a_setup_without_a_name_is_told_by_its_place_in_the_list():
    refused(r"^setup \(feature 1\): a setup needs a name", "setup", "LineString", [HERE, THERE], name=None)


@pytest.mark.parametrize(
    ("words", "properties"),
    [
        ("sightings are a list of .*; nothing came", {"sightings": None}),
        ("sightings are a list of .*; a list of 0 came", {"sightings": []}),
        ("a sighting is .bearing, altitude.*; 5 came", {"sightings": [5]}),
        ("a sighting is .bearing, altitude.*; a list of 4 came", {"sightings": [[1, 2, "a", 4]]}),
        ("bearing lies between 0 and 360; 361 came", {"sightings": [[361, 2]]}),
        ("altitude lies between -10 and 90; 91 came", {"sightings": [[1, 91]]}),
        ("altitude lies between -10 and 90; -11 came", {"sightings": [[1, -11]]}),
        ("bearing is a number; “W” came", {"sightings": [["W", 2]]}),
        ("name is a text; 5 came", {"sightings": [[1, 2, 5]]}),
        ("two sightings have the true bearing 0; for a step", {"sightings": [[0, 2], [360, 3]]}),
        ("bearings is true or magnetic; “grid” came", {"bearings": "grid"}),
        ("magnetic bearings need sighted_on", {"bearings": "magnetic"}),
        ("sighted_on: A date looks like", {"sighted_on": "yesterday"}),
        ("sighted_on: Dates from 1950 to 2100", {"sighted_on": "1066-10-14"}),
        ("eye_height_m lies between 0 and 500; -1 came", {"eye_height_m": -1}),
    ],
)
def test_a_survey_that_cannot_be_is_named_and_told(words, properties):
    refused(f"^survey “it”: {words}", "survey", "Point", HERE, **{"sightings": [[250, 4]], **properties})


def test_a_drawing_off_the_earth_or_of_no_known_type_is_told_too():
    refused("^drawing “it”: .*latitude lies between", "drawing", "Point", [0, 91])
    refused(
        "^drawing “it”: its geometry is of no type that GeoJSON knows; “Circle” came",
        "drawing",
        "Circle",
        HERE,
    )


def test_a_long_name_of_many_lines_is_told_in_one_short_line():
    with pytest.raises(BadInput) as caught:
        site_of("setup", "LineString", [HERE], name="very\nlong " * 50)
    assert "\n" not in str(caught.value) and len(str(caught.value)) < 200
