"""The field page, what a phone keeps of it, and the log that it fills."""

import json
import re
from datetime import date, time

import html5lib
import pytest

from app.cli_server import load_demo_sites
from app.light.stops import stops_words
from app.shoot.shoot import Shoot, Wish, free_between
from app.web.field_sky import offsets
from app.web.field_stands import LEAST_STOPS, THIRDS, moments_of
from app.web.kept_files import KEPT, version
from app.web.lights import settings_under
from app.web.shelf import Shelf
from app.web.shoots import ShootShelf, new_document
from tests.web.conftest import NOW

FIELD, LOG = "/shoots/ilse-and-bram/field", "/shoots/ilse-and-bram/log"
MERROW = "merrowmere-boathouse"
JETTY = "setup-end-of-the-jetty"


@pytest.fixture
def shoot(client):
    """A client with the demo's shoot."""
    load_demo_sites(client.app.state.store)
    return client


def data_of(client, address=FIELD):
    return json.loads(re.search(r'id="field-data">(.*?)</script>', client.get(address).text, re.DOTALL).group(1))


def told(uid, kind="start", slot="meadow", device="a", at=NOW, **more):
    return {"uid": uid, "slot": slot, "kind": kind, "at_utc_s": at, "told": more, "device": device}


def send(client, *entries):
    answer = client.post(LOG, json=list(entries))
    assert answer.status_code == 200, answer.text
    return answer.json()


def test_every_slot_is_there_without_scripts(shoot):
    answer = shoot.get(FIELD)
    page = answer.context["page"]
    assert [one.slot.wish_id for one in page.slots] == list(page.opened.order.plan.order) and len(page.slots) == 5
    html = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(answer.text)
    articles = html.findall(".//article")
    words = ["".join(one.itertext()) for one in articles]
    assert len(articles) == 5 and all("Walk:" in one and "Leave by" in one and "ISO" in one for one in words)


def test_the_page_travels_small_and_arrives_whole(shoot):
    packed, plain = shoot.get(FIELD), shoot.get(FIELD, headers={"accept-encoding": "identity"})
    assert packed.text == plain.text and "content-encoding" not in plain.headers
    assert packed.headers["content-encoding"] == "gzip" and int(packed.headers["content-length"]) < len(plain.content) / 8


def test_the_times_tell_when_to_leave(shoot):
    jetty = next(one for one in shoot.get(FIELD).context["page"].slots if one.slot.wish_id == "jetty-backlit")
    assert "4 min as typed" in jetty.way and re.search(r"\d+ m straight towards the [a-z-]+ \(\d+°\)", jetty.way)
    assert (jetty.span, jetty.leave) == ("18:31–18:49", "18:22")  # 4 min of walking and 5 for the lights before 18:31


def test_the_first_walk_begins_at_the_meeting_point(shoot):
    assert shoot.get(FIELD).context["page"].slots[0].way.startswith("from the meeting point: ")


def test_frames_stand_every_three_minutes_through_the_slot():
    moments = moments_of(0.0, 1080.0)
    inside = moments[(moments >= 0) & (moments <= 1080)]
    assert list(inside) == [180.0 * n for n in range(7)] and moments[0] < -900 and moments[-1] > 1080 + 3600
    assert all(0 < step <= 600 for step in moments[1:] - moments[:-1])


def test_settings_without_a_reading_are_those_of_the_contact_sheet(shoot):
    stand = shoot.get(FIELD).context["page"].slots[0].stands[0]
    unread = stand.data["set"][-round(LEAST_STOPS * 3)]
    moments = [one.utc_s for one in stand.sheet.frames]
    shown = [stand.data["sets"][place][0] for place in unread]
    assert [one.split("; flash")[0] for one in settings_under(stand.scene, stand.kept.kit, moments)] == shown


def test_a_reading_moves_the_settings_by_its_stops(shoot):
    """A stop darker asks for twice the time, while the time alone can give it."""
    stand = data_of(shoot)["slots"][0]["stands"][0]
    at = 5

    def seconds(thirds):
        text = stand["sets"][stand["set"][thirds - data_of(shoot)["least_third"]][at]][0]
        aperture, shutter, iso = text.split(", ")[:3]
        return aperture, 1 / int(shutter.removeprefix("1/").removesuffix(" s")), iso

    (wide, short, iso), (wide_2, long, iso_2) = seconds(3), seconds(0)
    assert (wide, iso) == (wide_2, iso_2) and long / short == pytest.approx(2.0, rel=0.05)  # marks on a dial are rounded
    assert len(stand["set"]) == len(THIRDS) == 25 and stops_words(LEAST_STOPS) == "5 stops"


def test_the_sun_table_and_the_frames_say_the_same(shoot):
    page = shoot.get(FIELD).context["page"]
    data, stand = page.data, page.slots[2].stands[0]
    table, at = data["suns"][MERROW], stand.sheet.frames[8].utc_s
    row = (at - table["first"]) / table["step_s"]
    between = [table[name][int(row)] + (table[name][int(row) + 1] - table[name][int(row)]) * (row % 1) for name in ("azimuth_deg", "altitude_deg")]
    sun = stand.scene.observer.sun_at([at])
    assert between[0] % 360 == pytest.approx(float(sun.azimuth_deg[0]), abs=0.02)
    assert between[1] == pytest.approx(float(sun.refracted_deg[0]), abs=0.02)


def test_the_clock_of_the_shoot_is_shipped(shoot):
    assert data_of(shoot)["offsets"] == [[pytest.approx(data_of(shoot)["offsets"][0][0]), 3600.0]]


def test_the_sun_in_the_frame_is_warned_of(shoot):
    slots = {one.slot.wish_id: one for one in shoot.get(FIELD).context["page"].slots}
    assert any("optical finder" in words for words in slots["jetty-backlit"].stands[0].cautions)
    assert "optical finder" in shoot.get(FIELD).text


def test_a_standby_comes_with_its_frames_and_settings(shoot):
    for slot in data_of(shoot)["slots"]:
        for spare in slot["standbys"]:
            stand = slot["stands"][spare["stand"]]
            assert stand["name"] == spare["name"] and len(stand["set"][0]) == len(stand["moments"])


def test_a_shoot_without_an_order_says_so(client):
    slug = client.app.state.store.shoots.add("Empty", new_document(Shoot("x", "Empty", date(2027, 9, 18), "Europe/London")))
    page = client.get(f"/shoots/{slug}/field")
    assert page.status_code == 200 and "no running order yet" in page.text and page.context["page"].slots == ()


def test_a_slot_in_the_night_before_a_clock_change_keeps_both_offsets(client):
    """On 31 October 2027 Britain's clocks go back at 01:00 UTC."""
    free = (free_between("Europe/London", date(2027, 10, 30), time(16, 30), time(18, 30)),)
    wish = Wish("late", MERROW, JETTY, looks=("afterglow",))
    slug = client.app.state.store.shoots.add("Late", new_document(Shoot("x", "Late", date(2027, 10, 30), "Europe/London", (wish,), free)))
    assert [one[1] for one in data_of(client, f"/shoots/{slug}/field")["offsets"]] == [3600.0, 0.0]


def test_all_that_the_page_names_is_kept_by_the_worker(shoot):
    page, worker = shoot.get(FIELD).text, shoot.get("/sw.js")
    named = set(re.findall(r"/kept/[0-9a-f]+/[\w./-]+", page))
    kept = set(json.loads(re.search(r"const FILES = (\[.*?\])\n", worker.text).group(1)))
    assert named == kept and len(kept) == len(KEPT)
    assert worker.headers["content-type"].startswith("text/javascript") and worker.headers["cache-control"] == "no-cache"
    for address in kept:
        answer = shoot.get(address)
        assert answer.status_code == 200 and "immutable" in answer.headers["cache-control"]


def test_every_module_that_a_script_imports_is_kept(shoot):
    for name in KEPT:
        if name.startswith("js/"):
            imported = re.findall(r'from "\./([\w-]+\.js)"', shoot.get(f"/kept/{version()}/{name}").text)
            assert all(f"js/{one}" in KEPT for one in imported)


@pytest.mark.parametrize("address", ["/kept/0123456789abcdef/js/field.js", f"/kept/{version()}/js/plan-map.js", f"/kept/{version()}/../../app/main.py"])
def test_no_other_file_is_kept(client, address):
    assert client.get(address).status_code == 404


def test_the_manifest_opens_the_field_page(shoot):
    manifest = shoot.get("/shoots/ilse-and-bram/field.webmanifest")
    assert manifest.headers["content-type"] == "application/manifest+json"
    assert manifest.json()["start_url"] == FIELD and manifest.json()["display"] == "standalone"
    assert shoot.get(manifest.json()["icons"][0]["src"]).status_code == 200


def test_what_is_sent_twice_is_kept_once(shoot):
    first = send(shoot, told("1"), told("2", "done", at=NOW + 600))
    again = send(shoot, told("1", at=NOW + 99), told("3", "note", text="Gnats"))
    assert first["kept"] == ["1", "2"] and again["kept"] == ["1", "3"]
    assert [(one["uid"], one["at_utc_s"]) for one in again["log"]] == [("1", NOW), ("3", NOW), ("2", NOW + 600)]


def test_the_answer_carries_the_clock_and_the_plan(shoot):
    answer = send(shoot)
    assert answer["now_utc_s"] == NOW and answer["plan"] == data_of(shoot)["plan"]


def test_another_plan_has_another_sign(shoot):
    shelf = ShootShelf(shoot.app.state.store)
    opened = shelf.shoot("ilse-and-bram")
    before = send(shoot)["plan"]
    shelf.save(opened, opened.version, aside=("meadow",))
    assert send(shoot)["plan"] != before


@pytest.mark.parametrize(
    ("wrong", "why"),
    [
        ({"kind": "dance"}, "The log knows"),
        ({"uid": ""}, "uid is a text"),
        ({"uid": 7}, "uid is a text"),
        ({"slot": "x" * 81}, "slot is a text"),
        ({"at_utc_s": "now"}, "at_utc_s is the time"),
        ({"at_utc_s": True}, "at_utc_s is the time"),
        ({"told": {"text": "x" * 2001}}, "told.text"),
        ({"told": {"deep": {}}}, "told.deep"),
        ({"told": [1]}, "told is an object"),
        ({"at_utc_s": 10**400}, "at_utc_s is the time"),
        ({"told": {"stops": 10**400}}, "told.stops"),
    ],
)
def test_one_bad_entry_is_refused_and_the_rest_is_kept(shoot, wrong, why):
    answer = send(shoot, told("1") | wrong, told("2"))
    assert [one["why"] for one in answer["refused"]][0].startswith(why) and answer["kept"] == ["2"]


@pytest.mark.parametrize("base", ["x", None, 1e11])
def test_a_reading_whose_correction_is_no_number_of_stops_breaks_no_page(shoot, base):
    send(shoot, told("1", "meter", stops=1.0, base_stops=base, site=MERROW))
    assert shoot.get(FIELD).status_code == 200 and shoot.get(LOG).context["page"].brighter == ()


@pytest.mark.parametrize("body", ["", "{}", "[1", "[NaN]", json.dumps([{}] * 501)])
def test_what_is_no_list_is_refused_whole(shoot, body):
    answer = shoot.post(LOG, content=body, headers={"content-type": "application/json"})
    assert answer.status_code == 422 and shoot.app.state.store.shoots.log("ilse-and-bram") == ()


def test_an_entry_that_is_no_object_is_refused(shoot):
    assert send(shoot, 7)["refused"] == [{"uid": "", "why": "An entry of the log is an object with uid, slot, kind, at_utc_s, told and device."}]


def test_a_clock_that_is_none_loses_nothing(shoot):
    answer = send(shoot, told("1", at=12.0))
    assert answer["log"][0]["at_utc_s"] == NOW and answer["log"][0]["told"]["clock_utc_s"] == 12.0


def test_a_foreign_page_writes_no_log(shoot):
    answer = shoot.post(LOG, json=[told("1")], headers={"sec-fetch-site": "cross-site"})
    assert answer.status_code == 403 and shoot.app.state.store.shoots.log("ilse-and-bram") == ()


def test_a_shoot_that_is_gone_takes_no_log(shoot):
    assert shoot.post("/shoots/nobody/log", json=[]).status_code == 404


def sighted(uid, bearing=123.4, altitude=4.5, **more):
    return told(uid, "sighted", **{"site": MERROW, "setup": JETTY, "bearing_deg": bearing, "altitude_deg": altitude, **more})


def test_a_sighted_point_goes_into_the_site_once(shoot):
    store = shoot.app.state.store
    before = Shelf(store).site(MERROW)
    send(shoot, sighted("1"))
    after = Shelf(store).site(MERROW)
    send(shoot, sighted("1"))
    added = {(one.bearing_deg, one.altitude_deg) for survey in after.site.surveys for one in survey.sightings}
    assert (123.4, 4.5) in added and after.version == before.version + 1 == Shelf(store).site(MERROW).version
    scene = after.scene(after.setup(JETTY))
    assert scene.ground.altitude_at(123.4) == pytest.approx(4.5, abs=0.01)


@pytest.mark.parametrize("wrong", [{"altitude_deg": 91.0}, {"bearing_deg": "west"}, {"site": "atlantis"}, {"setup": "nowhere"}])
def test_a_point_no_site_can_take_is_refused_and_told(shoot, wrong):
    answer = send(shoot, sighted("1") | {"told": sighted("1")["told"] | wrong}, told("2"))
    assert len(answer["refused"]) == 1 and answer["kept"] == ["2"]


def test_the_log_shows_what_happened_against_the_plan(shoot):
    start = data_of(shoot)["slots"][0]["starts"]
    send(shoot, told("1", at=start + 420), told("2", "done", at=start + 1200), told("3", "note", text="<b>Gnats</b>"), told("4", "skip", slot="boathouse-doors", at=start + 1300))
    answer = shoot.get(LOG)
    rows = {row.wish_id: row for row in answer.context["page"].rows}
    assert rows["meadow"].late == "7 min late" and rows["meadow"].happened == "17:08–17:21"
    assert rows["boathouse-doors"].happened.startswith("skipped at ") and rows["jetty-backlit"].happened == "nothing told"
    assert "&lt;b&gt;Gnats" in answer.text


def test_two_devices_that_disagree_are_shown_on_both_pages(shoot):
    send(shoot, told("1", device="a"), told("2", device="b"))
    assert "Two devices started it" in shoot.get(LOG).text
    assert [one["uid"] for one in data_of(shoot)["log"]] == ["1", "2"]


def test_what_was_told_of_a_wish_without_a_slot_is_still_there(shoot):
    send(shoot, told("1", slot="gone-wish"))
    assert "no slot in the order as it is now" in shoot.get(LOG).text


def test_the_brightness_is_taken_into_the_site_and_stays_when_taken_again(shoot):
    send(shoot, told("1", "meter", site=MERROW, stops=-1.0, base_stops=0.0), told("2", "meter", site=MERROW, stops=-4 / 3, base_stops=0.0), told("3", "meter", site=MERROW, stops=-4 / 3, base_stops=0.0))
    offered = shoot.get(LOG).context["page"].brighter[0]
    assert (offered.found_stops, offered.kept_stops, offered.readings) == (pytest.approx(-4 / 3), 0.0, 3)
    for _ in range(2):
        version = Shelf(shoot.app.state.store).site(MERROW).version
        assert shoot.post(f"{LOG}/{MERROW}/brighter", data={"version": version}).status_code == 200
        assert Shelf(shoot.app.state.store).site(MERROW).site.observed_stops == pytest.approx(offered.found_stops, abs=0.001)


def test_a_site_changed_meanwhile_is_not_overwritten(shoot):
    send(shoot, told("1", "meter", site=MERROW, stops=-1.0))
    assert shoot.post(f"{LOG}/{MERROW}/brighter", data={"version": "99"}).status_code == 409


def test_without_readings_there_is_no_brightness_to_take(shoot):
    version = Shelf(shoot.app.state.store).site(MERROW).version
    assert shoot.post(f"{LOG}/{MERROW}/brighter", data={"version": version}).status_code == 422


def test_the_pace_is_taken_into_the_shoot(shoot):
    slots = data_of(shoot)["slots"]
    start = slots[0]["starts"]
    send(shoot, told("1", at=start), told("2", "done", at=start + 900), told("3", slot=slots[1]["id"], at=start + 900 + 90))
    page = shoot.get(LOG).context["page"]
    assert page.pace.ways == 1 and page.pace.m_s == pytest.approx(72 / 90, abs=0.02)  # 72 m in a minute and a half
    assert shoot.post(f"{LOG}/pace", data={"version": page.opened.version}).status_code == 200
    assert ShootShelf(shoot.app.state.store).shoot("ilse-and-bram").whole.pace_m_s == page.pace.m_s


def test_no_walk_no_pace(shoot):
    version = ShootShelf(shoot.app.state.store).shoot("ilse-and-bram").version
    assert shoot.post(f"{LOG}/pace", data={"version": version}).status_code == 422
    assert shoot.post(f"{LOG}/pace", data={"version": "99"}).status_code == 409


def test_solving_again_knows_what_is_done(shoot):
    send(shoot, told("1", "done"), told("2", "skip", slot="boathouse-doors"))
    again = dict(shoot.get(FIELD).context["page"].again)
    assert again == {"at": "17:00", "state-meadow": "done", "state-boathouse-doors": "skipped"}  # at noon their time is yet to come


def test_the_clock_is_right_in_the_winter_before_a_summer_shoot():
    """Looked at in November, London's clocks are UTC, though the shoot's own day is an hour ahead."""
    november, september = 1_795_600_000.0, 1_821_285_000.0
    found = offsets("Europe/London", september, september + 7200.0, november)
    assert found[0] == [november - 86_400.0, 0.0] and found[1][1] == 3600.0
