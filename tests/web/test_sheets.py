"""The sheets that are made of a shoot, and what a revision keeps of them."""

import json
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from xml.etree import ElementTree

import pytest

from app.errors import BadInput
from app.light.kit import DEMO_KIT
from app.place.site import Pin
from app.sharing.languages import tongue
from app.sharing.sheet import Revision
from app.sharing.told import told
from app.shoot.shoot import Meeting, Walk, Wish, free_between
from app.web.crew_notes import crew_notes
from app.web.drawing.frame_alone import frame_document, inks
from app.web.kept_sheets import couple_document, crew_document, read_couple, read_crew
from app.web.sheets import Said, for_couple, sheets_of
from tests.sharing.sheets import CREW, DOORS, FIRST, moved
from tests.web.conftest import NOW
from tests.web.shared_shoots import SITE, TELLING, ZONE, keep, opened, shoot_with

REVISION = Revision(1, NOW)
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def store(client):
    return client.app.state.store


def sheets(store, shoot=None, telling=TELLING, said=Said(), before=None):
    return sheets_of(opened(store, keep(store, shoot, telling)), said, DEMO_KIT, REVISION, before)


def test_a_stop_is_the_slot_of_the_running_order(store):
    made = opened(store, keep(store))
    sheet = sheets_of(made, Said({"jetty": "The lake doubles it."}), DEMO_KIT, REVISION).couple
    slots = {slot.wish_id: slot for slot in made.order.plan.slots}
    assert [stop.id for stop in sheet.stops] == list(made.order.plan.order)
    for stop in sheet.stops:
        assert (stop.starts_utc_s, stop.ends_utc_s) == (slots[stop.id].starts_utc_s, slots[stop.id].ends_utc_s)
    jetty = next(stop for stop in sheet.stops if stop.id == "jetty")
    assert (jetty.title, jetty.about, jetty.chosen, jetty.zone) == ("End of the jetty", "The lake doubles it.", True, "")
    assert sheet.contact.phone == "07700 900147" and sheet.turns[0].instead == "We wait under the roof."


def test_what_is_for_the_whole_evening_stands_with_the_first_stop(store):
    first, *later = sheets(store).couple.stops
    assert first.bring.split("\n")[0] == "Flat soles"
    assert all("Flat soles" not in stop.bring for stop in later)


def test_people_are_asked_early_enough_for_the_way_and_their_clothes(store):
    only_doors = shoot_with(wishes=(Wish("doors", SITE, "setup-boathouse-doors", change_before_min=15),))
    made = opened(store, keep(store, only_doors))
    sheet = sheets_of(made, Said(), DEMO_KIT, REVISION).couple
    (stop,), (leg,) = sheet.stops, made.order.legs
    spare_min = (stop.starts_utc_s - sheet.ready_utc_s) / 60 - leg.minutes - 15
    assert 0 <= spare_min < 5 and sheet.ready_utc_s % 300 == 0
    assert stop.change_min == 15
    assert told(sheet, tongue("en")).stops[0].walk.endswith("15 minutes to change clothes.")


def test_without_the_tick_a_couple_gets_no_coordinates_and_the_crew_still_does(store):
    sheet = sheets(store)
    bare = for_couple(sheet, exact=False)
    assert bare.meeting.point is None and all(stop.point is None for stop in bare.stops)
    assert bare.meeting.words == "By the green doors"
    assert sheet.couple.meeting.point and all(stop.point for stop in sheet.couple.stops)
    assert for_couple(sheet, exact=True) == sheet.couple


def test_nothing_of_the_owners_notes_is_on_either_sheet(store):
    kept = json.dumps(crew_document(sheets(store)))
    assert "Deposit" not in kept and "mother" not in kept and "Sheep meadow" in kept  # the last as a standby


def test_a_stop_that_is_gone_goes_on_being_named_as_dropped(store):
    before = sheets(store)
    fewer = sheets(store, shoot_with(wishes=shoot_with().wishes[:1]), before=before)
    third = sheets(store, shoot_with(wishes=shoot_with().wishes[:1]), before=replace(before, couple=fewer.couple, notes=()))
    back = sheets(store, before=replace(before, couple=third.couple, notes=()))
    assert [stop.id for stop in fewer.couple.dropped] == [stop.id for stop in third.couple.dropped] == ["doors"]
    assert back.couple.dropped == ()


def test_musts_that_clash_leave_nothing_to_share(store):
    noon = datetime(2027, 9, 18, 11, tzinfo=UTC).timestamp()
    with pytest.raises(BadInput, match="no running order to share"):
        sheets(store, shoot_with(wishes=(replace(shoot_with().wishes[0], fixed_start_utc_s=noon),)))


def test_without_a_wish_the_day_is_told_and_nothing_more(store):
    sheet = sheets(store, shoot_with(wishes=())).couple
    assert (sheet.stops, sheet.ready_utc_s) == ((), None)
    assert told(sheet, tongue("en")).date == "Saturday, 18 September 2027"


def test_two_sites_in_two_zones_are_each_told_by_their_own_clocks(store):
    """In September the quay's clocks, Oslo's, are an hour ahead of London's; the ferry between takes twelve hours."""
    quay = Wish("quay", "ternevag-quay", "setup-end-of-the-quay", looks=("open shade",), must=True)
    lake = Wish("lake", SITE, "setup-end-of-the-jetty", must=True, after=("quay",))
    free = tuple(free_between(ZONE, date(2027, 9, day), time(16), time(20)) for day in (18, 19))
    ferry = Walk(quay.spot, lake.spot, 720, "ferry")
    sheet = sheets(store, shoot_with(wishes=(quay, lake), free=free, meeting=Meeting(), walks=(ferry,))).couple
    first, second = told(sheet, tongue("en")).stops
    at_the_quay = datetime.fromtimestamp(first.stop.starts_utc_s, UTC) + timedelta(hours=2)
    assert first.start == f"{at_the_quay:%H:%M}" and first.span.endswith("(Central European Summer Time, UTC+2)")
    at_the_lake = datetime.fromtimestamp(second.stop.starts_utc_s, UTC) + timedelta(hours=1)
    assert second.start == f"{at_the_lake:%H:%M} (Sunday)" and "UTC" not in second.span
    assert (second.stop.way_min, second.stop.walk_min, second.walk) == (720, None, "720 minutes on the way.")
    assert first.stop.where and second.stop.where and sheet.place == f"{first.stop.where}, {second.stop.where}"


def jetty_notes_with_light(store, lon_deg):
    """Return the crew's notes on the jetty with a light west or east of the couple; the camera is east of them."""
    light = {"flash": DEMO_KIT.flashes[0].name, "pin": [lon_deg, 54.57021], "height_m": 2.0, "aim": "couple"}
    site = store.site(SITE)
    document = json.loads(json.dumps(site.document))
    feature = next(one for one in document["features"] if one["properties"].get("name") == "End of the jetty")
    feature["properties"]["lights"] = [light]
    store.save_site(SITE, document, site.version)
    return next(one for one in sheets(store).notes if one.stop_id == "jetty")


def test_crews_read_settings_lights_and_places(store):
    notes = jetty_notes_with_light(store, -3.13165)
    assert all("ISO" in line for line in notes.settings)
    assert notes.lights[0].startswith("Light 1: ") and any(line.startswith("Power ") for line in notes.lights)
    assert notes.positions[0].startswith("Camera: 54.5") and "m from the couple" in notes.positions[-1]
    assert ElementTree.fromstring(notes.sketch).findall(f"{SVG}circle") and notes.sketch_alt.startswith("Seen from above")
    assert any("m of water" in line for line in notes.cautions) and any("go to" in line for line in notes.cautions)


def test_a_light_that_reaches_nobody_says_so_beside_the_settings(store):
    made = opened(store, keep(store))
    one, slot = made.order.prospect("jetty"), made.order.plan.slot("jetty")
    behind = {"flash": DEMO_KIT.flashes[0].name, "pin": [-3.13172, 54.57021], "height_m": 2.0, "aim": "couple"}
    unlit = replace(one, scene=replace(one.scene, setup=replace(one.scene.setup, lights=(behind,))))
    notes = crew_notes(made.sites[SITE], unlit, slot, DEMO_KIT)
    assert "ISO" in notes.settings[0] and any("No light reaches" in line for line in notes.lights)
    assert notes.positions and notes.cautions


def test_hazards_of_the_place_are_told_to_the_crew_once(store):
    cautions = sheets(store).cautions
    assert len(cautions) == len(set(cautions)) and any("slippery when wet" in line for line in cautions)


def test_a_revision_reads_back_as_it_was_kept():
    whole = replace(FIRST, dropped=(moved(replace(DOORS, id="gone", frame="<svg/>"), 5),))
    assert read_couple(json.loads(json.dumps(couple_document(whole))), whole.revision) == whole
    assert read_crew(json.loads(json.dumps(crew_document(CREW))), FIRST.revision) == CREW


def test_a_revision_of_another_release_opens():
    kept = json.loads(json.dumps(couple_document(FIRST))) | {"weather": "fine"}
    del kept["dropped"], kept["stops"][0]["walk_min"]
    kept["stops"][0]["smell"] = "hay"
    assert read_couple(kept, FIRST.revision) == FIRST


def test_a_frame_alone_holds_no_word_no_class_and_no_address(store):
    scene = opened(store, keep(store)).scenes["jetty"]
    root = ElementTree.fromstring(frame_document(scene, NOW + 6.3 * 3600, ZONE))
    assert root.tag == f"{SVG}svg" and root.get("viewBox") == "0 0 216 144"
    elements = list(root.iter())
    assert {name for one in elements for name in one.attrib} & {"class", "style", "aria-label", "onload"} == set()
    assert {one.tag for one in elements} <= {f"{SVG}{name}" for name in ("svg", "rect", "defs", "radialGradient", "linearGradient", "stop", "pattern", "path", "clipPath", "g", "use", "circle")}
    assert all(one.get("href").startswith("#") for one in elements if one.get("href"))
    assert not any((one.text or "").strip() for one in elements)


def test_a_frame_alone_is_painted_by_the_pages_own_style_sheet():
    assert inks()["frame__horizon"] == {"fill": "none", "stroke": "#000", "stroke-opacity": "0.4", "stroke-width": "0.1"}
    assert "frame__words" not in inks()


def test_a_meeting_point_far_away_is_no_walk(store):
    far = shoot_with(meeting=Meeting("At the station", Pin(54.66, -3.00)))
    first = sheets(store, far).couple.stops[0]
    assert first.walk_min is None and first.way_min > 10


def test_a_couple_is_told_no_looks_in_the_names_of_its_stops(store):
    sheet = sheets(store, shoot_with(wishes=(Wish("jetty", SITE, "setup-end-of-the-jetty", looks=("backlit",)),))).couple
    assert [stop.title for stop in sheet.stops] == ["End of the jetty"]


def test_nobody_is_asked_to_be_ready_before_they_are_free(store):
    free = free_between(ZONE, date(2027, 9, 18), time(18, 32), time(18, 50))
    made = opened(store, keep(store, shoot_with(wishes=(Wish("jetty", SITE, "setup-end-of-the-jetty"),), free=(free,), meeting=Meeting())))
    sheet = sheets_of(made, Said(), DEMO_KIT, REVISION).couple
    assert free.starts_utc_s <= sheet.ready_utc_s <= sheet.stops[0].starts_utc_s < free.starts_utc_s + 180


def test_a_sheet_is_headed_by_the_sites_it_goes_to(store):
    """The harbour is wished for at an hour when it has no light, so nobody goes there."""
    quay = Wish("quay", "ternevag-quay", "setup-red-boathouse-wall")
    sheet = sheets(store, shoot_with(wishes=(quay, Wish("jetty", SITE, "setup-end-of-the-jetty", must=True)))).couple
    assert [stop.id for stop in sheet.stops] == ["jetty"]
    assert sheet.place == "Merrowmere boathouse" and sheet.stops[0].where == ""
