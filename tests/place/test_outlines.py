"""Outlines from other maps: which stand up, how high they are taken to be, and what is said about the rest."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.errors import BadInput, TooLarge
from app.place import outlines
from app.place.edit import new_document, with_feature
from app.place.outline_tags import metres, stature_of, tags_of
from app.place.outlines import obstacles_from_outlines
from app.place.overpass import ATTRIBUTION, geojson_from_overpass
from app.place.sitefile import parse_site
from tests.place.venue import FRAME, HERE, box, closed, corners

WHERE = (HERE.lat_deg, HERE.lon_deg)


def polygon(metres_, *holes):
    return {"type": "Polygon", "coordinates": [[list(corner) for corner in corners(closed(ring))] for ring in (metres_, *holes)]}


def way(number, geometry, **tags):
    return {"type": "Feature", "id": f"way/{number}", "geometry": geometry, "properties": tags}


def collection(*features, **members):
    return {"type": "FeatureCollection", **members, "features": list(features)}


BARN = way(7, polygon(box(10, 20, 10, 20)), building="barn", name="The Old Barn", height="7.5")


def found(*features, within_m=300.0, **options):
    return obstacles_from_outlines(collection(*features), *WHERE, within_m, **options)


def properties(*features, **options):
    return [feature["properties"] for feature in found(*features, **options).features]


@pytest.mark.parametrize(
    ("text", "height_m"),
    [
        ("12", 12.0), ("12 m", 12.0), ("12.5m", 12.5), ("12,5", 12.5), ("~9", 9.0), ("7 metres", 7.0), ("40'", 12.192),
        ("40 ft", 12.192), ("5'6\"", 1.6764), ("5 ft 6 in", 1.6764), ("tall", None), ("", None), ("-3", None), ("3-4", None),
    ],
)  # fmt: skip
def test_heights_are_read_in_metres_and_in_feet(text, height_m):
    """One foot is 0.3048 m and one inch 0.0254 m by definition."""
    assert metres(text) == (None if height_m is None else pytest.approx(height_m))


@pytest.mark.parametrize(
    ("tags", "kind", "base_m", "top_m", "known_by"),
    [
        ({"building": "yes", "height": "9"}, "building", 0.0, 9.0, "height"),
        ({"building": "yes", "height": "9", "building:levels": "2"}, "building", 0.0, 9.0, "height"),
        ({"building": "yes", "building:levels": "2"}, "building", 0.0, 6.0, "levels"),
        ({"building": "yes", "building:levels": "2", "roof:levels": "1"}, "building", 0.0, 9.0, "levels"),
        ({"building": "yes"}, "building", 0.0, 6.0, "assumed"),
        ({"building": "yes", "height": "high"}, "building", 0.0, 6.0, "assumed"),
        ({"building": "yes", "height": "0"}, "building", 0.0, 6.0, "assumed"),
        ({"building": "yes", "height": "99999"}, "building", 0.0, 6.0, "assumed"),
        ({"building": "yes", "height": "12", "min_height": "4"}, "canopy", 4.0, 12.0, "height"),
        ({"building": "yes", "height": "12", "building:min_level": "1"}, "canopy", 3.0, 12.0, "height"),
        ({"building:part": "yes", "height": "12", "min_height": "4"}, "building", 0.0, 12.0, "height"),
        ({"building": "roof"}, "canopy", 2.5, 3.5, "assumed"),
        ({"building": "carport", "height": "2"}, "canopy", 1.7, 2.0, "height"),
        ({"barrier": "wall"}, "wall", 0.0, 1.8, "assumed"),
        ({"barrier": "fence", "height": "2 m"}, "wall", 0.0, 2.0, "height"),
        ({"natural": "wood"}, "trees", 0.0, 12.0, "assumed"),
        ({"landuse": "forest", "height": "20"}, "trees", 0.0, 20.0, "height"),
        ({"height": "8"}, "building", 0.0, 8.0, "height"),
        ({}, "building", 0.0, 6.0, "assumed"),
        ({"name": "shed", "id": "5"}, "building", 0.0, 6.0, "assumed"),
    ],
)
def test_tags_tell_kind_and_height(tags, kind, base_m, top_m, known_by):
    stature = stature_of(tags)
    assert (stature.kind, stature.known_by) == (kind, known_by)
    assert (stature.base_m, stature.top_m) == pytest.approx((base_m, top_m))


@pytest.mark.parametrize("tags", [{"building": "no"}, {"landuse": "meadow"}, {"highway": "path"}, {"role": "water"}, {"barrier": "gate"}])
def test_what_does_not_stand_up_is_no_obstacle(tags):
    assert stature_of(tags) is None


def test_hedges_fences_and_woods_let_some_light_through():
    shares = [stature_of(tags).lets_through for tags in ({"barrier": "hedge"}, {"barrier": "fence"}, {"natural": "wood"}, {"building": "yes"})]
    assert shares == [0.1, 0.5, 0.2, 0.0]


@pytest.mark.parametrize(
    "written",
    [
        {"building": "yes", "height": "9"},
        {"tags": {"building": "yes", "height": 9}},
        {"tags": '{"building": "yes", "height": "9"}'},
        {"building": "yes", "other_tags": '"height"=>"9","note"=>"a \\"fine\\" one"'},
    ],
)
def test_tags_are_found_however_a_tool_packs_them(written):
    assert {key: tags_of(written)[key] for key in ("building", "height")} == {"building": "yes", "height": "9"}


def test_a_tagged_building_becomes_an_obstacle_of_the_site():
    (feature,) = found(BARN, ground_m_at=lambda lat, lon: 3.0).features
    site = parse_site(with_feature(new_document("Trial", *WHERE), feature))
    (barn,) = site.obstacles
    assert (barn.id, barn.name, barn.kind, barn.base_m, barn.top_m) == ("osm-way-7", "The Old Barn", "building", 3.0, 10.5)
    assert barn.outline[0] == pytest.approx(BARN["geometry"]["coordinates"][0][0], abs=1e-7)
    kept = feature["properties"]
    assert (kept["attribution"], kept["source"], kept["height_from"]) == (ATTRIBUTION, "way/7", "height")


def test_loading_again_replaces_instead_of_doubling():
    nameless = {"type": "Feature", "properties": {"height": 5}, "geometry": polygon(box(-9, -5, 0, 3))}
    document = new_document("Trial", *WHERE)
    for _ in range(2):
        for feature in found(BARN, nameless).features:
            document = with_feature(document, feature)
    assert len(document["features"]) == 2


def test_courtyards_and_the_parts_of_a_multipolygon_are_kept():
    yard = way(1, polygon(box(0, 40, 0, 40), box(10, 30, 10, 30)), building="yes")
    pieces = [polygon(box(-50, -40, 0, 9))["coordinates"], polygon(box(-30, -20, 0, 9))["coordinates"]]
    parts = way(2, {"type": "MultiPolygon", "coordinates": pieces}, building="yes")
    features = found(yard, parts).features
    assert {feature["id"] for feature in features} == {"osm-way-1", "osm-way-2", "osm-way-2-2"}
    document = new_document("Trial", *WHERE)
    for feature in features:
        document = with_feature(document, feature)
    assert sorted(len(one.holes) for one in parse_site(document).obstacles) == [0, 0, 1]


def test_a_name_comes_from_the_name_or_the_address():
    street = {"addr:housenumber": "12", "addr:street": "Mill Lane"}
    given = [way(i, polygon(box(i, i + 1, 0, 1)), building="yes", **tags) for i, tags in enumerate(({"name": "Byre"}, street, {"addr:housenumber": "3"}))]
    assert [one["name"] for one in properties(*given)] == ["Byre", "12 Mill Lane", ""]


def test_only_what_comes_within_the_distance_is_kept_and_the_rest_is_counted():
    far = way(8, polygon(box(400, 410, 0, 9)), building="yes")
    around = way(9, polygon(box(-5000, 5000, -5000, 5000)), landuse="forest")
    grazing = way(10, polygon([(295, -900), (500, -900), (500, 900), (295, 900)]), landuse="forest")
    result = found(BARN, far, around, grazing)
    assert [feature["id"] for feature in result.features] == ["osm-way-9", "osm-way-7", "osm-way-10"]
    assert "Left out for lying farther away: 1 outline." in result.notes


BAD = {
    "crosses itself": polygon([(0, 0), (10, 10), (10, 0), (0, 10)]),
    "ring is open": {"type": "Polygon", "coordinates": [[[-3.13, 54.57], [-3.12, 54.57], [-3.12, 54.58], [-3.11, 54.58]]]},
    "four positions": {"type": "Polygon", "coordinates": [[[-3.13, 54.57]]]},
    "latitude lies between": {"type": "Polygon", "coordinates": [[[0, 95], [1, 95], [1, 96], [0, 95]]]},
    "is a point": {"type": "Point", "coordinates": [-3.13, 54.57]},
    "only walls": {"type": "LineString", "coordinates": [[-3.13, 54.57], [-3.12, 54.57]]},
    "of a type that has no outline": None,
    "a list in square brackets": {"type": "Polygon", "coordinates": 5},
}


@pytest.mark.parametrize(("reason", "geometry"), BAD.items())
def test_a_bad_outline_is_left_out_and_counted_with_its_reason(reason, geometry):
    result = found(BARN, way(1, geometry, building="yes"))
    assert [feature["id"] for feature in result.features] == ["osm-way-7"]
    (note,) = [note for note in result.notes if "could not be used" in note]
    assert note.startswith("1 outline could not be used: 1 ×")
    assert reason in note


def test_walls_and_rows_of_trees_may_be_lines():
    lane = {"type": "LineString", "coordinates": [list(corner) for corner in corners([(0, 5), (20, 5)])]}
    kinds = [one["kind"] for one in properties(way(1, lane, barrier="hedge"), way(2, lane, natural="tree_row"))]
    assert kinds == ["wall", "trees"]


def test_the_notes_say_how_the_heights_are_known():
    rest = [way(i, polygon(box(i, i + 1, 0, 1)), building="yes", **tags) for i, tags in enumerate(({"building:levels": "2"}, {}))]
    assert found(BARN, *rest).notes[0] == (
        "3 outlines within 300 m: 1 with a height, 1 by storeys of 3 m, 1 with a height assumed for want of any. "
        "Check those near the sun."
    )
    assert found().notes == ("Nothing that stands up was found within 300 m.",)


def test_no_more_than_a_site_can_take_and_the_nearest_first(monkeypatch):
    monkeypatch.setattr(outlines, "MOST_KEPT", 3)
    row = [way(i, polygon(box(10 * i, 10 * i + 5, 0, 5)), building="yes") for i in range(9, -1, -1)]
    result = found(*row)
    assert [feature["id"] for feature in result.features] == ["osm-way-0", "osm-way-1", "osm-way-2"]
    assert "Left out for being too many: 7 outlines farther off than the nearest 3." in result.notes
    monkeypatch.setattr(outlines, "MOST_CORNERS", 11)
    assert len(found(*row).features) == 2


def test_whose_data_they_are_is_said_only_as_far_as_it_is_known():
    shape = polygon(box(0, 9, 0, 9))
    plain = {"type": "Feature", "properties": {"height": 5}, "geometry": shape}
    town = obstacles_from_outlines(collection(plain, attribution="© Town of Sample, open licence"), *WHERE, 300.0)
    assert town.features[0]["properties"]["attribution"] == "© Town of Sample, open licence"
    assert "attribution" not in properties(plain)[0]
    assert properties({**plain, "properties": {"osm_id": "12", "building": "yes"}})[0]["attribution"] == ATTRIBUTION
    assert properties({**plain, "properties": {"osm_id": "12", "building": "yes"}})[0]["source"] == "way/12"


@pytest.mark.parametrize(
    ("document", "words"),
    [
        ("<?xml version='1.0'?><osm/>", "This is XML, which is not read here. Export OpenStreetMap data as GeoJSON"),
        (b"\xff\xfe", "UTF-8"),
        ("{", "not JSON"),
        ("[]", "FeatureCollection or as an answer of Overpass"),
        ('{"type": "FeatureCollection"}', "FeatureCollection or as an answer of Overpass"),
        ('{"features": 5}', "FeatureCollection or as an answer of Overpass"),
    ],
)
def test_a_file_that_is_none_is_refused_in_words(document, words):
    with pytest.raises(BadInput, match=words):
        obstacles_from_outlines(document, *WHERE, 300.0)


def test_a_file_too_big_is_refused(monkeypatch):
    monkeypatch.setattr(outlines, "MAX_BYTES", 100)
    with pytest.raises(TooLarge, match="export only what is near the site"):
        obstacles_from_outlines(" " * 101, *WHERE, 300.0)


@pytest.mark.parametrize("within_m", [0.0, -5.0, 2001.0, float("nan")])
def test_the_distance_has_bounds(within_m):
    with pytest.raises(BadInput, match="up to 2000 m away"):
        found(BARN, within_m=within_m)


def test_text_bytes_and_values_give_the_same():
    text = json.dumps(collection(BARN))
    given = [obstacles_from_outlines(document, *WHERE, 300.0) for document in (text, text.encode(), "\ufeff" + text, collection(BARN))]
    assert all(one == given[0] for one in given)


def test_unknown_ground_counts_as_the_datum():
    assert properties(BARN, ground_m_at=lambda lat, lon: float("nan"))[0]["top_m"] == 7.5


json_values = st.recursive(
    st.none() | st.booleans() | st.floats(-200, 200) | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.sampled_from(["type", "coordinates", "properties", "geometry", "building", "id", "tags"]), inner, max_size=4),
    max_leaves=12,
)


@given(st.lists(json_values, max_size=4))
def test_whatever_the_features_are_the_good_one_survives(rubbish):
    result = found(*rubbish, BARN)
    assert "osm-way-7" in [feature["id"] for feature in result.features]


# Answers of Overpass


def places(*metres_):
    lat, lon, _ = FRAME.to_degrees(*zip(*metres_, strict=True))
    return [{"lat": float(a), "lon": float(b)} for a, b in zip(lat, lon, strict=True)]


def element(kind, number, tags, **rest):
    return {"type": kind, "id": number, "tags": tags, **rest}


def test_ways_and_multipolygons_of_an_answer_are_read():
    ring = [(0.0, 0.0), (30.0, 0.0), (30.0, 30.0), (0.0, 30.0)]
    halves = [places(*ring[:3]), places(ring[0], ring[3], ring[2])]
    hole = places(*closed([(10.0, 10.0), (20.0, 10.0), (20.0, 20.0), (10.0, 20.0)]))
    members = [
        *({"type": "way", "ref": i, "role": "outer", "geometry": half} for i, half in enumerate(halves)),
        {"type": "way", "ref": 5, "role": "inner", "geometry": hole},
    ]
    answer = {"version": 0.6, "elements": [
        element("way", 1, {"building": "yes", "height": "5"}, geometry=places(*closed(box(50, 60, 0, 9)))),
        element("way", 2, {"barrier": "wall"}, geometry=places((0, -5), (20, -5))),
        element("way", 3, {"barrier": "wall"}, geometry=places(*closed(box(70, 90, 0, 20)))),
        element("relation", 4, {"type": "multipolygon", "building": "yes"}, members=members),
        element("node", 5, {"building": "yes"}, lat=54.57, lon=-3.13),
        element("way", 6, {"building": "yes"}, geometry=[None, None]),
        "rubbish",
    ]}  # fmt: skip
    result = obstacles_from_outlines(answer, *WHERE, 300.0)
    shapes = {feature["id"]: feature["geometry"] for feature in result.features}
    assert {name: shape["type"] for name, shape in shapes.items()} == {
        "osm-way-1": "Polygon", "osm-way-2": "LineString", "osm-way-3": "LineString", "osm-relation-4": "Polygon"
    }  # fmt: skip
    assert len(shapes["osm-relation-4"]["coordinates"]) == 2
    assert all(feature["properties"]["attribution"] == ATTRIBUTION for feature in result.features)
    assert f"Outlines: {ATTRIBUTION}." in result.notes


def test_holes_go_to_the_ring_around_them():
    rings = [places(*closed(box(0, 30, 0, 30))), places(*closed(box(50, 90, 0, 40)))]
    hole = places(*closed(box(60, 70, 10, 20)))
    members = [*({"type": "way", "role": "outer", "geometry": ring} for ring in rings), {"type": "way", "role": "inner", "geometry": hole}]
    (feature,) = geojson_from_overpass({"elements": [element("relation", 1, {"type": "multipolygon", "building": "yes"}, members=members)]})["features"]
    lon_deg = {len(rings_) - 1: rings_[0][0][0] for rings_ in feature["geometry"]["coordinates"]}
    assert lon_deg[1] > lon_deg[0]  # the eastern one has the hole


def test_an_outer_ring_that_does_not_close_is_counted_as_bad():
    members = [{"type": "way", "role": "outer", "geometry": places((0, 0), (30, 0), (30, 30), (0, 30))}]
    answer = {"elements": [element("relation", 1, {"type": "multipolygon", "building": "yes"}, members=members)]}
    result = obstacles_from_outlines(answer, *WHERE, 300.0)
    assert result.features == ()
    assert "its ring is open" in result.notes[1]


def test_something_else_than_an_answer_is_refused():
    with pytest.raises(BadInput, match="list of elements"):
        geojson_from_overpass({"elements": 5})
