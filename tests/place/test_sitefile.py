"""Site files: read whole, written back whole, and every fault told in one line."""

import copy
import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.errors import BadInput, TooLarge
from app.place.site import Centre, Notes, Site
from app.place.sitefile import MAX_BYTES, MAX_POSITIONS, parse_site, write_site

HERE = [-3.13, 54.57]
SQUARE = [[-3.131, 54.57], [-3.130, 54.57], [-3.130, 54.571], [-3.131, 54.571], [-3.131, 54.57]]


def feature(role, name, shape, coordinates, /, **properties):
    return {
        "type": "Feature",
        "geometry": {"type": shape, "coordinates": coordinates},
        "properties": {"role": role, "name": name, **properties},
    }


def setup(name="End of the jetty", couple=(-3.1301, 54.57, 0.6), **properties):
    return feature("setup", name, "LineString", [[*HERE, 0.6], list(couple)], **properties)


def document(*features, **members):
    return {"type": "FeatureCollection", "name": "Trial", **members, "features": list(features)}


WHOLE = document(
    setup(lens_height_m=1.5, people=[{"name": "Maren", "height_m": 1.7}]),
    feature("water", "the lake", "Polygon", [SQUARE], surface_m=0.0, sheltered=True),
    feature("obstacle", "the shed", "Polygon", [SQUARE], kind="building", base_m=1, top_m=6),
    feature(
        "obstacle",
        "the hedge",
        "LineString",
        [HERE, [-3.131, 54.571]],
        kind="trees",
        top_m=3,
        lets_through=0.3,
    ),
    feature("survey", "from the jetty", "Point", HERE, sightings=[[250, 4.0], [270, 5.0, "the ridge"]]),
    feature("drawing", "the jetty", "LineString", [HERE, [-3.1305, 54.57]]),
    {"type": "Feature", "id": 7, "geometry": None, "properties": None, "colour": "red"},
    height_m=75,
    datum="lake level",
    time_zone="Europe/London",
    notes={"access": "by boat", "permission": "ask", "hazards": "deep", "parking": "none"},
    bbox=[-3.2, 54.5, -3.1, 54.6],
)

RFC_EXAMPLE = """
{"type": "FeatureCollection", "features": [
  {"type": "Feature", "geometry": {"type": "Point", "coordinates": [102.0, 0.5]},
   "properties": {"prop0": "value0"}},
  {"type": "Feature", "geometry": {"type": "LineString",
     "coordinates": [[102.0, 0.0], [103.0, 1.0], [104.0, 0.0], [105.0, 1.0]]},
   "properties": {"prop0": "value0", "prop1": 0.0}},
  {"type": "Feature", "geometry": {"type": "Polygon",
     "coordinates": [[[100.0, 0.0], [101.0, 0.0], [101.0, 1.0], [100.0, 1.0], [100.0, 0.0]]]},
   "properties": {"prop0": "value0", "prop1": {"this": "that"}}}]}
"""  # RFC 7946, section 1.5 (from memory)


def test_a_whole_site_is_read():
    site = parse_site(WHOLE)
    assert (site.name, site.datum, site.time_zone) == ("Trial", "lake level", "Europe/London")
    assert site.notes == Notes("by boat", "ask", "deep")
    assert site.centre == Centre(54.57, pytest.approx(-3.13005), 75.0)
    assert [len(part) for part in (site.waters, site.obstacles, site.surveys, site.setups)] == [1, 2, 1, 1]
    assert [obstacle.id for obstacle in site.obstacles] == ["obstacle-the-shed", "obstacle-the-hedge"]


def test_text_bytes_and_value_are_read_alike():
    text = json.dumps(WHOLE)
    sites = [parse_site(source) for source in (WHOLE, text, text.encode(), f"\ufeff{text}".encode())]
    assert all(site == sites[0] for site in sites)


def test_what_was_given_is_not_altered_nor_shared():
    given_document = copy.deepcopy(WHOLE)
    site = parse_site(given_document)
    given_document["features"][0]["properties"]["name"] = "changed"
    assert site.document == WHOLE


def test_a_written_site_is_read_as_the_same_site():
    site = parse_site(WHOLE)
    again = parse_site(write_site(site))
    assert again == site
    assert again.document == WHOLE
    assert list(again.document) == list(WHOLE)  # the order of the members too


def test_letters_of_all_languages_are_written_as_themselves():
    assert "Ternevåg" in write_site(parse_site({**WHOLE, "name": "Ternevåg"}))


def test_the_example_of_the_standard_is_a_site_without_meaning():
    site = parse_site(RFC_EXAMPLE)
    assert (site.waters, site.obstacles, site.surveys, site.setups) == ((), (), (), ())
    # the mean of the ten corners: the point, the line's four and the square's five
    assert (site.centre.lon_deg, site.centre.lat_deg) == pytest.approx((101.8, 0.45))
    assert site.document == json.loads(RFC_EXAMPLE)


@pytest.mark.parametrize(
    "geometry",
    [  # RFC 7946, appendix A (from memory)
        {"type": "Point", "coordinates": [100.0, 0.0]},
        {"type": "LineString", "coordinates": [[100.0, 0.0], [101.0, 1.0]]},
        {"type": "MultiPoint", "coordinates": [[100.0, 0.0], [101.0, 1.0]]},
        {
            "type": "MultiLineString",
            "coordinates": [[[100.0, 0.0], [101.0, 1.0]], [[102.0, 2.0], [103.0, 3.0]]],
        },
        {
            "type": "MultiPolygon",
            "coordinates": [
                [[[102.0, 2.0], [103.0, 2.0], [103.0, 3.0], [102.0, 3.0], [102.0, 2.0]]],
                [
                    [[100.0, 0.0], [101.0, 0.0], [101.0, 1.0], [100.0, 1.0], [100.0, 0.0]],
                    [[100.2, 0.2], [100.2, 0.8], [100.8, 0.8], [100.8, 0.2], [100.2, 0.2]],
                ],
            ],
        },
        {
            "type": "GeometryCollection",
            "geometries": [
                {"type": "Point", "coordinates": [100.0, 0.0]},
                {"type": "LineString", "coordinates": [[101.0, 0.0], [102.0, 1.0]]},
            ],
        },
    ],
    ids=lambda geometry: geometry["type"],
)
def test_every_geometry_of_the_standard_is_kept(geometry):
    drawn = {"type": "Feature", "geometry": geometry, "properties": {"role": "drawing"}}
    site = parse_site(document(drawn))
    assert site.document["features"] == [drawn]
    assert 100.0 <= site.centre.lon_deg <= 103.0


def test_the_centre_given_comes_before_the_setups_and_they_before_the_rest():
    far_drawing = feature("drawing", "", "Point", [-3.2, 54.6])
    assert parse_site(document(setup(), far_drawing, centre=[-3.14, 54.56])).centre == Centre(54.56, -3.14)
    assert parse_site(document(setup(), far_drawing)).centre.lon_deg == pytest.approx(-3.13005)
    assert parse_site(document(far_drawing)).centre == Centre(54.6, pytest.approx(-3.2))


def test_a_site_on_the_date_line_has_its_centre_there():
    across = [feature("drawing", "", "Point", [lon, -16.5]) for lon in (179.999, -179.997)]
    assert parse_site(document(*across)).centre.lon_deg == pytest.approx(-179.999)


def test_a_site_without_a_name_zone_or_notes_gets_plain_ones():
    site = parse_site({"type": "FeatureCollection", "features": [setup()]})
    assert (site.name, site.datum, site.notes) == ("Unnamed site", "", Notes())
    assert site.time_zone == "Europe/London"
    assert "time_zone" not in site.document


def test_metres_around_the_centre_begin_there():
    site = parse_site(document(centre=HERE))
    assert site.local_frame.to_metres(54.57, -3.13) == pytest.approx((0.0, 0.0, 0.0), abs=1e-6)


def test_the_limit_of_size_is_told():
    with pytest.raises(TooLarge, match=r"at most 5 MB; 5\.0 MB came"):
        parse_site(b" " * (MAX_BYTES + 1))
    with pytest.raises(TooLarge, match="at most 5 MB"):
        parse_site(document(setup(notes="x" * MAX_BYTES)))


def test_the_limit_of_corners_is_told():
    many = feature("drawing", "contours", "MultiPoint", [HERE] * (MAX_POSITIONS + 1))
    with pytest.raises(TooLarge, match="at most 20000 corners; 20001 came"):
        parse_site(document(many))


BAD_DOCUMENTS = [
    (None, "its type is nothing"),
    ([], "is a GeoJSON FeatureCollection"),
    ({"type": "Feature"}, "FeatureCollection; its type is “Feature”"),
    ({"type": "FeatureCollection"}, "are a list; nothing came"),
    ({"type": "FeatureCollection", "features": {}}, "are a list; an object came"),
    (document(), "no place yet; give “centre”"),
    (document(centre=[54.57]), "centre: a position is"),
    (document(centre=[54.57, 103.8]), "centre: .* swapped: longitude comes first"),
    (document(centre=HERE, name=5), "name is a text; 5 came"),
    (document(centre=HERE, time_zone="Europe/Lundon"), "“Europe/Lundon” is no time zone"),
    (document(centre=HERE, height_m="75"), "height_m is a number; “75” came. Write it without quotes"),
    (document(centre=HERE, height_m=99999), "height_m lies between -500 and 9000; 99999 came"),
    (document(centre=HERE, notes="none"), "notes is an object"),
    (document(centre=HERE, notes={"access": 1}), "notes: access is a text; 1 came"),
    (document(centre=HERE, crs={"properties": {"name": "EPSG:27700"}}), "WGS84 only"),
    (document(5, centre=HERE), "feature 1: everything in features has the type Feature"),
    (document({"type": "Feature", "properties": []}, centre=HERE), "feature .*: properties is an object"),
    (document({"type": "Feature", "properties": {"role": 5}}, centre=HERE), "role is a text; 5 came"),
    (document({"type": "Feature", "id": True}, centre=HERE), "id is a text or a number; true came"),
    (document({"type": "Feature", "id": ""}, centre=HERE), "id is a text or a number"),
    (document({"type": "Feature", "id": 7}, {"type": "Feature", "id": "7"}, centre=HERE), "have the id “7”"),
    (document(setup("Jetty"), setup(" jetty ")), "setup “Jetty”: two setups have this name"),
    (
        document(setup(), setup("Swapped", (54.5701, -3.13)), centre=HERE),
        "setup “Swapped”: .* swapped: longitude",
    ),
    (
        document(setup(), setup("Far", (-4.2, 54.57)), centre=HERE),
        r"setup “Far”: it lies 69 km from the middle of the site\.",
    ),
]


@pytest.mark.parametrize(("value", "words"), BAD_DOCUMENTS, ids=range(len(BAD_DOCUMENTS)))
def test_a_faulty_document_is_told_in_one_line(value, words):
    with pytest.raises(BadInput, match=words) as caught:
        parse_site(value)
    assert "\n" not in str(caught.value)


def test_a_coordinate_system_that_is_wgs84_anyway_is_taken():
    """Many programs write this member of the older GeoJSON of 2008."""
    crs = {"type": "name", "properties": {"name": "urn:ogc:def:crs:OGC:1.3:CRS84"}}
    assert parse_site(document(centre=HERE, crs=crs)).document["crs"] == crs


def test_one_swapped_setup_is_blamed_and_not_the_two_others():
    swapped = setup("Swapped")
    swapped["geometry"]["coordinates"] = [position[1::-1] for position in swapped["geometry"]["coordinates"]]
    with pytest.raises(BadInput, match="setup “Swapped”: .*looks swapped"):
        parse_site(document(setup("One"), setup("Two"), swapped))


numbers = st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.integers(-400, 400)
words = st.sampled_from(
    [
        "type",
        "features",
        "Feature",
        "FeatureCollection",
        "geometry",
        "properties",
        "role",
        "name",
        "id",
        "Polygon",
    ]
)
texts = words | st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
json_values = st.recursive(
    st.none() | st.booleans() | numbers | texts,
    lambda inner: st.lists(inner, max_size=5) | st.dictionaries(texts, inner, max_size=5),
    max_leaves=20,
)


def told_or_read(source):
    """Return the site, or None when it was refused in one line."""
    try:
        site = parse_site(source)
    except BadInput as error:
        assert "\n" not in str(error)
        return None
    assert isinstance(site, Site)
    return site


@settings(max_examples=300)
@given(json_values)
def test_any_json_value_is_read_or_told(value):
    told_or_read(json.dumps(value))
    told_or_read(value)


@settings(max_examples=300)
@given(st.binary() | st.text())
def test_any_text_or_bytes_are_read_or_told(source):
    assert told_or_read(source) is None


def places_in(value, path=()):
    """Yield the way to every value inside a document."""
    yield path
    inside = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, member in inside:
        yield from places_in(member, (*path, key))


def replaced(value, path, new):
    if not path:
        return new
    changed = copy.copy(value)
    changed[path[0]] = replaced(value[path[0]], path[1:], new)
    return changed


@settings(max_examples=1500)
@given(st.sampled_from([*places_in(WHOLE)]), json_values)
def test_a_site_with_anything_in_one_place_is_read_or_told_and_loses_nothing(path, new):
    value = replaced(WHOLE, path, new)
    site = told_or_read(value)
    if site:
        assert site.document == value
        assert parse_site(write_site(site)) == site


unknown_members = st.dictionaries(
    st.text("xyz-äø", min_size=1, max_size=6).map("x-{}".format), json_values, max_size=3
)
drawings = st.builds(
    lambda members, properties, geometry, role, own: {
        **members,
        "type": "Feature",
        "geometry": geometry,
        "properties": {**properties, "role": role},
        **own,
    },
    unknown_members,
    unknown_members,
    st.none()
    | st.builds(
        lambda lon, lat, more: {"type": "Point", "coordinates": [lon, lat, *more]},
        st.floats(-180, 180),
        st.floats(-90, 90),
        st.lists(st.floats(-400, 8000), max_size=1),
    ),
    st.sampled_from(["drawing", "parking", "x"]),
    st.just({}) | st.integers().map(lambda number: {"id": f"own-{number}"}),
)


@settings(max_examples=200)
@given(
    unknown_members, st.lists(drawings, max_size=4, unique_by=lambda drawing: drawing.get("id", id(drawing)))
)
def test_unknown_members_roles_and_features_survive_writing(members, features):
    whole = {**WHOLE, **members, "features": [*features, *WHOLE["features"]]}
    site = parse_site(whole)
    again = parse_site(write_site(site))
    assert again == site
    assert json.dumps(again.document) == json.dumps(whole)  # the order as well
