"""The outlines page: files loaded, a service asked, everything looked through, and every fault in words."""

import json
import threading
import time
from contextlib import contextmanager

import html5lib
import numpy as np
import pytest

from app.outside import outlines as outside_outlines
from app.outside.fetch import open_client
from app.place import outlines as place_outlines
from app.place.geodesy import LocalFrame
from app.place.outline_match import credits_of
from app.place.overpass import ATTRIBUTION
from app.place.sitefile import parse_site
from app.web.drawing.plan_things import MOST_LETTERED
from app.web.outlines import SERVICE_SETTING, numbers_in, numbers_words
from app.web.shelf import Shelf
from tests.outside.test_outlines import says, served

SITE = "merrowmere-boathouse"
HOME, PAGE = f"/sites/{SITE}", f"/sites/{SITE}/outlines"
MIDDLE = LocalFrame(54.5702, -3.1312)


@pytest.fixture(autouse=True)
def hurried(monkeypatch):
    """Loopback is asked directly, and waits are short."""
    monkeypatch.setenv("NO_PROXY", "127.0.0.1")
    monkeypatch.setattr(outside_outlines, "open_client", lambda pause_s: open_client(0.3))


def ring(west_m, south_m, side_m=8.0):
    east, north = np.array([0, side_m, side_m, 0, 0]) + west_m, np.array([0, 0, side_m, side_m, 0]) + south_m
    lat, lon, _ = MIDDLE.to_degrees(east, north)
    return [list(pair) for pair in zip(lon.tolist(), lat.tolist(), strict=True)]


def outline(number, west_m, south_m, side_m=8.0, **tags):
    geometry = {"type": "Polygon", "coordinates": [ring(west_m, south_m, side_m)]}
    properties = {"building": "yes", **{name.replace("__", ":"): value for name, value in tags.items()}}
    return {"type": "Feature", "id": f"way/{number}", "geometry": geometry, "properties": properties}


BARN, BYRE, SHED = (
    outline(1, 150, 60, name="Old barn", height="7.5"), outline(2, 180, 60, building__levels="2"), outline(3, 210, 60),
)  # fmt: skip


def collection(*features, **members):
    return json.dumps({"type": "FeatureCollection", **members, "features": list(features)}).encode()


def load(client, data, within_m="400", name="around.geojson", page=PAGE):
    return client.post(page, files={"file": (name, data)}, data={"within_m": within_m})


def listed(page):
    return {row.name: row for row in page.context["preview"].rows}


def states(page):
    return [row.match.state for row in page.context["preview"].rows]


def site_of(client, slug=SITE):
    return Shelf(client.app.state.store).site(slug).site


def standing(client, slug=SITE):
    return {one.id: one for one in site_of(client, slug).obstacles}


def add(client, page, *numbers, **typed):
    preview = page.context["preview"]
    chosen = numbers or [row.number for row in preview.rows if row.ticked]
    form = {"version": str(page.context["kept"].version), "list": preview.draft.mark, "outlines": [str(one) for one in chosen]}
    return client.post(f"{PAGE}/additions", data={**form, **typed})


# Looking through


def test_at_first_nothing_waits_and_no_service_is_built_in(client):
    page = client.get(PAGE)
    assert (page.status_code, page.context["preview"], page.context["service"]) == (200, None, None)
    assert "Nothing waits" in page.text and "No service is built in" in page.text
    assert f'href="{PAGE}"' in client.get(HOME).text


def test_a_file_is_looked_through_before_anything_stands_on_the_plan(client):
    before = standing(client)
    page = load(client, collection(BARN, BYRE, SHED))
    assert page.status_code == 200 and page.url.path == PAGE
    rows = page.context["preview"].rows
    assert [row.height_from for row in rows] == ["as its map says", "by storeys of 3 m", "assumed, as its map says nothing"]
    assert [row.top_m for row in rows] == pytest.approx([7.5, 6.0, 6.0])
    assert "1 with a height, 1 by storeys of 3 m, 1 with a height assumed" in page.text
    assert "common practice, no source" in page.text and page.text.count(" checked") == 3
    assert standing(client) == before


def test_what_waits_is_still_there_when_the_page_was_left(client):
    load(client, collection(BARN))
    assert "Old barn" in client.get(PAGE).text


def test_the_ticked_ones_are_added_and_the_others_left_out(client):
    page = load(client, collection(BARN, BYRE, SHED))
    answer = add(client, page, 1, 3)
    assert answer.status_code == 200 and answer.url.path == HOME
    assert {"osm-way-1", "osm-way-3"} <= set(standing(client)) and "osm-way-2" not in standing(client)
    assert client.get(PAGE).context["preview"] is None


def test_two_thousand_outlines_can_be_ticked_at_once(client):
    """A form takes a thousand fields where nothing else is said."""
    many = [outline(n, -300 + 12 * (n % 50), -300 + 12 * (n // 50), 4.0) for n in range(1, 1501)]
    page = load(client, collection(*many), "600")
    assert add(client, page).status_code == 200
    assert sum(one.startswith("osm-way") for one in standing(client)) == sum(state == "new" for state in states(page)) > 1400


def test_a_village_on_the_plan_is_lettered_sparingly(client):
    """A thousand nameless houses took a minute and a half to letter, and their names hid the plan."""
    many = [outline(n, -90 + 12 * (n % 15), -90 + 12 * (n // 15), 4.0) for n in range(1, 200)]
    add(client, load(client, collection(*many, outline(900, 95, 95, name="Old barn"))))
    labels = [label.words for label in client.get(HOME).context["shown"].desk.labels]
    assert sum(words.startswith("building") for words in labels) <= MOST_LETTERED
    assert any("Old barn" in words or "OLD BARN" in words for words in labels)


def test_a_list_can_be_dropped(client):
    load(client, collection(BARN))
    assert client.post(f"{PAGE}/removal").context["preview"] is None


def test_outlines_of_a_deleted_site_do_not_wait_for_the_next_of_its_name(client):
    load(client, collection(BARN))
    store = client.app.state.store
    stored = store.site(SITE)
    store.delete_site(SITE, stored.version)
    store.add_site({**stored.document, "centre": [-3.2, 54.6]}, SITE)
    assert client.get(PAGE).context["preview"] is None


# The ground under them


def test_without_terrain_the_ground_is_that_of_the_nearest_pin(client):
    page = load(client, collection(BARN))
    assert "nearest pin" in page.context["preview"].draft.ground and "no terrain is kept" in page.text
    add(client, page)
    barn = standing(client)["osm-way-1"]
    assert barn.top_m == pytest.approx(barn.base_m + 7.5)
    assert barn.base_m in {pin.ground_m for one in site_of(client).setups for pin in (one.camera, one.couple)}


def load_terrain(client, heights, name="N54W004.hgt"):
    return client.post(f"{HOME}/terrain", files=[("files", (name, np.asarray(heights).astype(">i2").tobytes()))])


def test_kept_terrain_is_the_ground_above_the_site_s_height(client):
    assert load_terrain(client, np.full((1201, 1201), 90)).status_code == 200
    page = load(client, collection(BARN))
    assert "terrain kept with this site (N54W004.hgt)" in page.text
    assert listed(page)["Old barn"].top_m == pytest.approx(7.5)
    add(client, page)
    assert standing(client)["osm-way-1"].top_m == pytest.approx(90 - 75 + 7.5)


def test_terrain_far_from_the_site_s_height_counts_from_the_middle_of_the_site(client):
    load_terrain(client, np.full((1201, 1201), 400))
    page = load(client, collection(BARN))
    assert "the site file says 75 m, and both cannot be right" in page.text
    add(client, page)
    assert standing(client)["osm-way-1"].top_m == pytest.approx(7.5)


# Again


def test_loading_twice_does_not_double_and_says_so(client):
    add(client, load(client, collection(BARN, SHED)))
    page = load(client, collection(BARN, SHED, BYRE))
    assert sorted(states(page)) == ["new", "same", "same"]
    assert "Skipped: 2 stand on the plan already, just so." in page.text
    add(client, page)
    assert sum(one.startswith("osm-way") for one in standing(client)) == 3


def test_the_same_outline_under_another_id_is_not_doubled(client):
    add(client, load(client, collection(BARN)))
    other = {**outline(77, 150, 60, height="7.5"), "id": "footprint-9"}
    assert states(load(client, collection(other))) == ["same"]


def test_a_newer_height_is_offered_and_replaces_only_when_ticked(client):
    add(client, load(client, collection(BARN)))
    higher = outline(1, 150, 60, height="9")
    page = load(client, collection(higher))
    (row,) = page.context["preview"].rows
    assert (row.match.state, row.ticked) == ("differs", False)
    before_m = standing(client)["osm-way-1"].top_m
    assert row.match.differences == (f"top at {before_m:.1f} m there, {before_m + 1.5:.1f} m here",)
    add(client, page, 1)
    barn = standing(client)["osm-way-1"]
    assert (barn.top_m, barn.name) == (pytest.approx(before_m + 1.5), "Old barn")


def test_an_overlap_with_something_drawn_by_hand_is_said_and_left_unticked(client):
    boathouse = next(one for one in site_of(client).obstacles if one.name == "the boathouse")
    east_m, north_m, _ = MIDDLE.to_metres(boathouse.outline[0][1], boathouse.outline[0][0])
    page = load(client, collection(outline(5, float(east_m) - 4, float(north_m) - 4)))
    (row,) = page.context["preview"].rows
    assert (row.match.state, row.ticked, row.there) == ("overlaps", False, "the boathouse")
    assert "Overlaps the boathouse" in page.text


def test_an_id_of_another_file_that_is_taken_elsewhere_does_not_replace_a_stranger(client):
    first = {**BARN, "id": "1"}
    second = {**outline(1, 300, 60, name="Mill"), "id": "1"}
    add(client, load(client, collection(first)))
    page = load(client, collection(second))
    assert states(page) == ["new"]
    add(client, page)
    assert {"Old barn", "Mill"} <= {one.name for one in standing(client).values()}


def test_a_name_and_a_note_of_one_s_own_outlast_a_replacement(client):
    add(client, load(client, collection(SHED)))
    store = client.app.state.store
    document = store.site(SITE).document
    shed = next(one for one in document["features"] if one.get("id") == "osm-way-3")
    shed["properties"] |= {"name": "the potting shed", "remark": "ask first"}
    store.save_site(SITE, document, store.site(SITE).version)
    add(client, load(client, collection(outline(3, 210, 60, height="4"))), 1)
    found = next(one for one in store.site(SITE).document["features"] if one.get("id") == "osm-way-3")["properties"]
    assert (found["name"], found["remark"], found["height_from"]) == ("the potting shed", "ask first", "height")


# Versions


def test_a_list_opened_before_the_last_change_of_the_site_asks_first(client):
    page = load(client, collection(BARN, BYRE, SHED))
    store = client.app.state.store
    store.save_site(SITE, store.site(SITE).document, page.context["kept"].version)
    answer = add(client, page, 1, 2)
    assert answer.status_code == 409 and "Changed in between" in answer.text
    assert "osm-way-1" not in standing(client)
    hidden = html5lib.parse(answer.text, namespaceHTMLElements=False).findall(".//form[@action='%s/additions']//input" % PAGE)
    again = client.post(f"{PAGE}/additions", data={one.get("name"): one.get("value") for one in hidden})
    assert again.status_code == 200
    assert {"osm-way-1", "osm-way-2"} <= set(standing(client)) and "osm-way-3" not in standing(client)


def test_numbers_of_an_older_list_are_not_taken_for_those_of_a_newer(client):
    page = load(client, collection(BARN, BYRE))
    load(client, collection(SHED))
    answer = add(client, page, 1)
    assert answer.status_code == 409 and "Other outlines were loaded since" in answer.text
    assert not any(one.startswith("osm-way") for one in standing(client))


def test_a_list_that_is_gone_is_told(client):
    page = load(client, collection(BARN))
    add(client, page)
    assert "No outlines wait" in add(client, page).text


@pytest.mark.parametrize("typed", ["", "99", "many", "5-3", "1" * 30])
def test_nothing_ticked_is_told_and_the_list_stays(client, typed):
    page = load(client, collection(BARN))
    answer = add(client, page, outlines=typed)
    assert answer.status_code == 422 and "Tick at least one outline" in answer.text
    assert answer.context["preview"] is not None


def test_numbers_as_ranges_there_and_back():
    assert numbers_words(frozenset({1, 2, 3, 7, 9, 10})) == "1-3 7 9-10"
    assert numbers_in([numbers_words(frozenset({1, 2, 3, 7}))]) == {1, 2, 3, 7}


# Whose they are


def test_whose_outlines_they_are_is_named_on_plan_and_drawing_and_outlasts_export_and_import(client):
    assert ATTRIBUTION not in client.get(HOME).text
    add(client, load(client, collection(BARN)))
    assert f"<dd>{ATTRIBUTION}</dd>" in client.get(HOME).text
    assert ATTRIBUTION in client.get(f"{HOME}/plan.svg").text
    exported = client.get(f"{HOME}/site.geojson").content
    assert credits_of(parse_site(exported)) == (ATTRIBUTION,)
    again = client.post("/sites/import", files={"file": ("site.geojson", exported)})
    assert ATTRIBUTION in again.text


def test_an_owner_is_typed_where_the_file_names_none_and_never_put_over_one_that_it_names(client):
    bare = {"type": "Feature", "geometry": BYRE["geometry"], "properties": {"height": 5}}
    for feature, whose in ((bare, "the county"), (BARN, ATTRIBUTION)):
        page = client.post(PAGE, files={"file": ("a.json", collection(feature))}, data={"within_m": "400", "owner": "the county"})
        (row,) = page.context["preview"].rows
        assert row.match.feature["properties"]["attribution"] == whose
        assert f"Outlines: {whose}." in page.text


def test_changing_a_loaded_building_by_hand_keeps_whose_it_is(client):
    add(client, load(client, collection(BARN)))
    form = client.get(f"{HOME}/features/osm-way-1").context["form"].typed
    client.post(f"{HOME}/features/osm-way-1", data={**form, "version": str(client.app.state.store.site(SITE).version), "top_m": "12"})
    assert standing(client)["osm-way-1"].top_m == 12.0 and credits_of(site_of(client)) == (ATTRIBUTION,)


# Files that cannot be used, or only in part


def osm_xml(tags="<tag k='building' v='yes'/><tag k='height' v='5'/>", head=""):
    nodes = "".join(f"<node id='{n}' lat='{lat}' lon='{lon}'/>" for n, (lon, lat) in enumerate(ring(150, 60)[:4]))
    refs = "".join(f"<nd ref='{n}'/>" for n in (0, 1, 2, 3, 0))
    return f"<?xml version='1.0' encoding='UTF-8'?>{head}<osm version='0.6'>{nodes}<way id='8'>{refs}{tags}</way></osm>".encode()


def test_an_openstreetmap_export_is_read(client):
    page = load(client, osm_xml(), name="map.osm")
    (row,) = page.context["preview"].rows
    assert (row.match.feature["id"], round(row.top_m, 2)) == ("osm-way-8", 5.0)
    assert row.match.feature["properties"]["attribution"] == ATTRIBUTION


SWELLING = "<!DOCTYPE osm [<!ENTITY a 'aaaaaaaaaa'><!ENTITY b '&a;&a;&a;'>]>"


@pytest.mark.parametrize(
    ("data", "status", "words"),
    [
        (b"", 422, "is not JSON"),
        (b"{", 422, "is not JSON"),
        (b'{"type": "FeatureCollection"}', 422, "GeoJSON FeatureCollection or as an answer of Overpass"),
        (collection(BARN)[:-30], 422, "is not JSON"),
        (osm_xml()[:-30], 422, "breaks off or is damaged"),
        (osm_xml(head=SWELLING), 422, "declares a document type"),
        (b"<kml></kml>", 422, "XML of another kind (kml)"),
        (b"\xff\xfe\x00\x01", 422, "written in UTF-8"),
        (b" " * 20_000_001, 413, "at most 20 MB"),
        (b"<osm>" + b" " * 20_000_001, 413, "at most 20 MB"),
    ],
)  # fmt: skip
def test_files_that_cannot_be_used_are_told_and_what_waits_stays(client, data, status, words):
    load(client, collection(BARN))
    page = load(client, data, within_m="250")
    assert page.status_code == status
    assert words in page.context["form"].errors["file"] and "Nothing was changed." in page.text
    assert 'value="250"' in page.text and "Old barn" in page.text


def test_no_file_and_a_wrong_distance_are_told_by_their_fields(client):
    page = client.post(PAGE, data={"within_m": "5000"})
    assert page.status_code == 422 and set(page.context["form"].errors) == {"file", "within_m"}
    assert 'value="5000"' in page.text


def test_self_crossing_outlines_are_left_out_by_name_and_the_others_wait(client):
    crossing = outline(9, 150, 90, name="Bow tie")
    corners = crossing["geometry"]["coordinates"][0]
    corners[1], corners[2] = corners[2], corners[1]
    page = load(client, collection(crossing, BARN))
    assert list(listed(page)) == ["Old barn"]
    ((name, reason),) = page.context["preview"].draft.left_out
    assert name == "Bow tie" and reason.startswith("its edge crosses itself near 54.57")
    assert "Left out, and why: 1" in page.text


def test_a_file_with_every_outline_unusable_says_why(client):
    page = load(client, collection({"type": "Feature", "id": "way/4", "properties": {"building": "yes"}, "geometry": None}, 7))
    assert page.status_code == 200 and page.context["preview"].rows == ()
    assert [name for name, _ in page.context["preview"].draft.left_out] == ["way/4", "outline 2 of the file"]
    assert "Nothing that stands up was found" in page.text and "Add these" not in page.text


def test_overlapping_footprints_of_one_file_may_both_stand(client):
    page = load(client, collection(BARN, outline(6, 154, 60, height="11")))
    assert states(page) == ["new", "new"]
    assert add(client, page).status_code == 200
    assert {"osm-way-1", "osm-way-6"} <= set(standing(client))


def test_one_id_twice_in_a_file_counts_once_and_says_so(client):
    """Two features of one id are refused in a site file."""
    page = load(client, collection(BARN, outline(1, 200, 200, name="Twin")))
    assert list(listed(page)) == ["Old barn"]
    assert page.context["preview"].draft.left_out == (("Twin", "its id stands in the file twice, and the first counts."),)


def test_more_than_is_taken_is_said(client, monkeypatch):
    monkeypatch.setattr(place_outlines, "MOST_KEPT", 2)
    page = load(client, collection(BARN, BYRE, SHED))
    assert len(page.context["preview"].rows) == 2 and "Left out for being too many: 1 outline" in page.text


def test_a_site_that_would_have_too_many_corners_is_told_and_the_list_stays(client, monkeypatch):
    monkeypatch.setattr("app.place.sitefile.MAX_POSITIONS", 100)
    many = load(client, collection(*(outline(n, 10 * n, 100) for n in range(1, 30))))
    answer = add(client, many)
    assert answer.status_code == 422 and "at most 100 corners" in answer.text
    assert answer.context["preview"].draft.mark == many.context["preview"].draft.mark


def test_names_from_outside_stay_text(client):
    page = load(client, collection(outline(1, 150, 60, name="<script>alert(1)</script>"), attribution="<b>me</b>"))
    assert "<script>alert" not in page.text and "&lt;script&gt;alert" in page.text and "<b>me" not in page.text


@pytest.mark.parametrize("way", ["", "/additions", "/removal", "/fetch"])
def test_a_site_that_is_not_there_is_said_to_be_missing(client, way):
    assert client.post(f"/sites/nowhere/outlines{way}", data={"within_m": "300", "fetch_within_m": "300"}).status_code == 404


# The service


OVERPASS = {
    "elements": [
        {"type": "way", "id": 7, "tags": {"building": "barn", "building:levels": "2", "name": "Far barn"},
         "geometry": [{"lat": lat, "lon": lon} for lon, lat in ring(150, 60)]},
    ]
}  # fmt: skip


@contextmanager
def service(client, answer):
    with served(answer) as server:
        assert client.post(f"{PAGE}/service", data={"address": server.service.address}).status_code == 200
        yield server


def ended(client, within_s=20.0):
    until = time.monotonic() + within_s
    while time.monotonic() < until:
        page = client.get(PAGE)
        if page.context["errand"].ended:
            return page
        time.sleep(0.05)
    raise AssertionError("the errand never ended")


def test_outlines_are_fetched_while_the_page_is_left_and_then_wait(client):
    with service(client, says(OVERPASS)) as server:
        client.post(f"{PAGE}/fetch", data={"fetch_within_m": "350"})
        page = ended(client)
        assert "around:350,54.570200,-3.131200" in server.asked[0][0]["data"][0]
    assert not page.context["errand"].failed and list(listed(page)) == ["Far barn"]
    assert page.context["preview"].draft.origin == "127.0.0.1" and ATTRIBUTION in page.text
    assert "osm-way-7" not in standing(client)
    add(client, page)
    assert ATTRIBUTION in client.get(HOME).text


def test_while_it_runs_the_page_says_so_and_a_second_press_asks_nothing(client):
    go_on = threading.Event()

    def held(handler):
        go_on.wait(0.25)
        says(OVERPASS)(handler)

    with service(client, held) as server:
        client.post(f"{PAGE}/fetch", data={"fetch_within_m": "350"})
        page = client.post(f"{PAGE}/fetch", data={"fetch_within_m": "350"})
        assert 'data-errand="running"' in page.text and "You may leave this page" in page.text
        go_on.set()
        ended(client)
        assert len(server.asked) == 1


def sleeps(handler):
    time.sleep(0.6)
    handler.close_connection = True


@pytest.mark.parametrize(
    ("answer", "words"),
    [
        (sleeps, "took too long"),
        (says(b"<html>busy</html>", media_type="text/html"), "a web page in place of outlines"),
        (says(b"", 504), "answered with an error (status 504)"),
        (says(b"", 429), "too much to do"),
        (says({"elements": [], "remark": "runtime error: out of memory"}), "Ask for a shorter distance"),
        (says(b" " * 30_000), "sent more than 0.02 MB"),
    ],
)
def test_a_service_in_trouble_is_told_and_what_waits_stays(client, monkeypatch, answer, words):
    monkeypatch.setattr(outside_outlines, "MOST_BYTES", 20_000)
    load(client, collection(BARN))
    with service(client, answer):
        client.post(f"{PAGE}/fetch", data={"fetch_within_m": "300"})
        page = ended(client)
    assert page.status_code == 200 and page.context["errand"].failed
    assert words in page.text and "nothing was changed" in page.text and "Old barn" in page.text


def test_a_service_that_is_down_leaves_the_page_standing(client):
    client.post(f"{PAGE}/service", data={"address": "http://127.0.0.1:9/api/interpreter"})
    client.post(f"{PAGE}/fetch", data={"fetch_within_m": "300"})
    page = ended(client)
    assert page.status_code == 200 and "127.0.0.1 cannot be reached" in page.text


def test_the_address_is_kept_for_all_sites_and_can_be_emptied(client):
    client.post(f"{PAGE}/service", data={"address": "https://outlines.example/api"})
    assert client.app.state.store.setting(SERVICE_SETTING) == "https://outlines.example/api"
    assert "outlines.example" in client.get("/sites/sandpiper-bay/outlines").text
    assert client.post(f"{PAGE}/service", data={"address": ""}).context["service"] is None


def test_a_wrong_address_is_told_by_its_field(client):
    page = client.post(f"{PAGE}/service", data={"address": "outlines.example"})
    assert page.status_code == 422 and list(page.context["form"].errors) == ["address"]
    assert 'value="outlines.example"' in page.text


def test_without_an_address_nothing_is_fetched(client):
    page = client.post(f"{PAGE}/fetch", data={"fetch_within_m": "300"})
    assert page.status_code == 422 and "Set the address of a service first" in page.text


def test_a_wrong_distance_is_told_by_its_field_and_nothing_is_fetched(client):
    with service(client, says(OVERPASS)) as server:
        page = client.post(f"{PAGE}/fetch", data={"fetch_within_m": "9 km"})
        assert page.status_code == 422 and list(page.context["form"].errors) == ["fetch_within_m"]
        assert server.asked == []


# Elevation that cannot be used, or only in part


def with_voids():
    heights = np.full((1201, 1201), 300)
    heights[:, 600:] = -32768
    return heights


def test_voids_in_the_elevation_leave_the_ground_to_the_nearest_pin(client):
    """The east of the file is unknown, and so is the site: it lies 0.13 degrees from the western edge of its last half."""
    assert load_terrain(client, with_voids()).status_code == 200
    assert client.get(HOME).status_code == client.get(f"{HOME}/terrain").status_code == 200
    add(client, load(client, collection(BARN)))
    assert standing(client)["osm-way-1"].top_m < 20.0


@pytest.mark.filterwarnings("ignore::UserWarning")  # what Pillow mutters over a damaged file
@pytest.mark.parametrize(
    ("name", "data", "words"),
    [
        ("N54W004.hgt", b"\x00\x01" * 1000, "fill no square of heights"),
        ("N54W004.hgt", np.full((1201, 1201), 70).astype(">i2").tobytes()[:-400], "fill no square of heights"),
        ("N50E010.hgt", np.full((1201, 1201), 70).astype(">i2").tobytes(), "lie within 50 km"),
        ("N54W004.hgt", np.full((1201, 1201), -32768).astype(">i2").tobytes(), "no height at all"),
        ("hill.tif", b"II*\x00\x08\x00\x00\x00", "hill.tif"),
    ],
)
def test_elevation_that_cannot_be_used_is_told_and_pages_go_on(client, name, data, words):
    page = client.post(f"{HOME}/terrain", files=[("files", (name, data))])
    assert page.status_code == 422 and words in page.text and "Nothing was changed." in page.text
    assert client.get(HOME).status_code == 200


# Where they stand


def test_a_camera_in_a_loaded_building_is_told_on_site_setup_and_contact_sheet(client):
    camera = site_of(client).setups[2].camera
    east_m, north_m, _ = MIDDLE.to_metres(camera.lat_deg, camera.lon_deg)
    page = load(client, collection(outline(4, float(east_m) - 4, float(north_m) - 4, name="Hay store", height="9")))
    add(client, page, 1)
    sheet = f"{HOME}/setups/setup-sheep-meadow"
    for address in (HOME, sheet, f"{sheet}/2027-09-18"):
        assert "The camera stands inside Hay store: it is left out of the view." in client.get(address).text


# Markup


@pytest.mark.parametrize("paper", ["proof", "safelight"])
def test_the_page_is_well_formed_with_ids_of_their_own(client, paper):
    add(client, load(client, collection(SHED)))
    page = load(client, collection(BARN, BYRE, outline(3, 210, 60, height="4"), outline(9, 212, 62)))
    client.cookies.set("paper", paper)
    page = client.get(PAGE)
    parser = html5lib.HTMLParser(strict=False)
    parser.parse(page.text)
    assert [error for error in parser.errors if error[1] != "unexpected-end-tag-treated-as"] == []
    ids = [one.get("id") for one in html5lib.parse(page.text, namespaceHTMLElements=False).iter() if one.get("id")]
    assert len(ids) == len(set(ids))
    assert sorted(kind for kind, _ in page.context["sketch"].shapes) == ["new", "new", "other", "other", *["there"] * 4]
