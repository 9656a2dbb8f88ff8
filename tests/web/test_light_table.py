"""The light table: rows that follow the evening, lights put up and taken away, faults in words."""

import html5lib
import numpy as np
import pytest

from app.light.kit import Kit
from app.web.kits import keep_kit

SETUP = "/sites/quinta-da-alvorinha/setups/setup-cork-oak-track"
PAGE = f"{SETUP}/settings/2027-05-15"
TIDELINE = "/sites/sandpiper-bay/setups/setup-tideline"
TANK = "/sites/quinta-da-alvorinha/setups/setup-across-the-tank"


def posted(client, base, what, **typed):
    page = client.get(f"{base}/settings/2027-05-15")
    return client.post(f"{base}/{what}", data={"version": page.context["kept"].version, "day": "2027-05-15", **typed})


def test_sky_and_faces_fall_through_the_evening_and_settings_follow(client):
    page = client.get(PAGE)
    html5lib.HTMLParser(strict=True).parse(page.text)
    rows = page.context["table"].rows
    assert page.status_code == 200 and len(rows) >= 12
    assert float(rows[0].face_ev) > float(rows[-1].face_ev) + 4 and "ISO" in rows[0].settings
    assert "No light on a stand yet" in page.text


def test_a_light_is_put_where_it_is_typed_and_taken_away_again(client):
    page = posted(client, SETUP, "lights", flash="Battery head, 400 Ws", modifier="Softbox 60 cm", away_m="3", turn_deg="40", height_m="2.2", aim="couple")
    assert page.status_code == 200
    (light,) = page.context["table"].lights
    assert "3.0 m from the couple, 40° to the right of the camera, 2.2 m up" in light.where and len(light.people) == len(page.context["setup"].people)
    assert any(row.flash for row in page.context["table"].rows)
    html5lib.HTMLParser(strict=True).parse(page.text)
    page = posted(client, SETUP, "lights/removal", light="1")
    assert page.context["table"].lights == () and "No light on a stand yet" in page.text


def test_right_is_the_cameras_right(client):
    """From the camera, a light 90° to the right of it round the couple stands to the right of the line."""
    page = posted(client, SETUP, "lights", flash="Clip-on flash", away_m="4", turn_deg="90", height_m="2")
    found, setup = page.context["table"].found, page.context["setup"]
    east, north, _ = found.plan.lights[0].position_m
    line = np.radians(setup.line_deg)
    assert east * np.cos(line) - north * np.sin(line) == pytest.approx(4.0, abs=0.01)


def test_both_ways_past_the_sync_time_stand_side_by_side(client):
    posted(client, TIDELINE, "exposure", intent="sky-down-1", f_number="2.8")
    page = posted(client, TIDELINE, "lights", flash="Battery head, 400 Ws", away_m="3", turn_deg="30", height_m="2")
    ways = page.context["table"].two_ways
    assert len(ways) >= 4 and "ND 6 stops" in ways[0].at_sync and "ND" not in ways[0].high_speed
    assert any("in high-speed sync" in one.high_speed or "short" in one.high_speed for one in ways)
    assert {one.better for one in ways} <= {"the filter does it", "high-speed sync does it", "either does it", "neither does it"}


def test_an_uneven_light_tells_how_to_even_it(client):
    page = posted(client, SETUP, "lights", flash="Battery head, 400 Ws", away_m="1.2", turn_deg="80", height_m="1.8")
    (light,) = page.context["table"].lights
    assert "between the people" in light.where
    assert light.evened[0].startswith("To even it by turning: ") and "moved" in light.evened[1]
    even = posted(client, SETUP, "lights/removal", light="1")
    even = posted(client, SETUP, "lights", flash="Battery head, 400 Ws", away_m="6", turn_deg="0", height_m="1.8")
    assert even.context["table"].lights[0].evened == ()


def test_a_rim_light_gives_the_face_nothing_and_says_so(client):
    page = posted(client, SETUP, "lights", flash="Clip-on flash", away_m="3", turn_deg="30", height_m="2")
    page = posted(client, SETUP, "lights", flash="Clip-on flash", away_m="3", turn_deg="-160", height_m="2")
    told = page.context["table"].lights[1].people
    assert all("nothing on the face, rim," in words for words in told)


def test_the_row_at_which_the_flash_begins_to_hold_is_marked(client):
    posted(client, TIDELINE, "exposure", intent="sky-down-1", f_number="2.8", ground="grass")
    page = posted(client, TIDELINE, "lights", flash="Clip-on flash", modifier="Softbox 60 cm", away_m="4", turn_deg="30", height_m="2")
    rows = page.context["table"].rows
    marked = [row for row in rows if row.marked]
    assert len(marked) >= 1 and "the flash is enough" in marked[0].marked and "▸" in page.text
    assert "short at full power" in rows[0].flash and page.context["table"].ways
    assert page.context["table"].found.plan.intent.words == "sky down 1 stop"


@pytest.mark.parametrize("what,typed,words", [
    ("lights", {"away_m": "far", "turn_deg": "0"}, "is a number"),
    ("lights", {"away_m": "0.1", "turn_deg": "0"}, "between 0.3 and 60"),
    ("lights", {"flash": "Torch", "away_m": "3", "turn_deg": "0"}, "no flash “Torch”"),
    ("lights", {"flash": "Clip-on flash", "away_m": "3", "turn_deg": "0", "aim": "the dog"}, "“the dog” came"),
    ("exposure", {"intent": "dark"}, "An intent is one of"),
    ("exposure", {"ground": "lava"}, "The ground is"),
    ("exposure", {"f_number": "wide"}, "The aperture is a number"),
])
def test_what_cannot_be_used_is_told_and_nothing_kept(client, what, typed, words):
    page = posted(client, SETUP, what, **typed)
    assert page.status_code == 422 and words in page.text
    assert client.get(PAGE).context["setup"].lights == () and client.get(PAGE).context["setup"].exposure == {}


@pytest.mark.parametrize("query,words", [("oktas=9", "between 0 and 8"), ("correction=bright", "is a number"), ("step=0", "between 1 and 60")])
def test_a_sky_that_is_none_is_told_beside_the_table(client, query, words):
    page = client.get(f"{PAGE}?{query}")
    assert page.status_code == 422 and words in page.text and page.context["table"] is not None


def test_cloud_and_a_meter_reading_change_the_table(client):
    plain, grey, corrected = (client.get(f"{PAGE}{query}").context["table"].found for query in ("", "?oktas=8", "?correction=-1"))
    assert grey.day.horizontal_lux[0] == pytest.approx(0.25 * plain.day.horizontal_lux[0])
    assert corrected.face_ev100 == pytest.approx(plain.face_ev100 - 1)


def test_a_kit_that_lost_what_a_setup_asks_for_says_so_and_the_page_stands(client):
    posted(client, SETUP, "lights", flash="Clip-on flash", away_m="3", turn_deg="30", height_m="2")
    keep_kit(client.app.state.store, Kit())
    page = client.get(PAGE)
    assert page.status_code == 200 and "No table: There is no flash in the kit" in page.text


def test_a_light_by_the_water_brings_its_caution(client):
    assert "Flash by the water" not in client.get(f"{TANK}/settings/2027-05-15").text
    page = posted(client, TANK, "lights", flash="Battery head, 400 Ws", away_m="2", turn_deg="0", height_m="2")
    assert "Flash by the water" in page.text


def test_a_page_opened_before_another_change_is_refused(client):
    version = client.get(PAGE).context["kept"].version
    posted(client, SETUP, "exposure", intent="sky")
    late = client.post(f"{SETUP}/exposure", data={"version": version, "day": "2027-05-15", "intent": "silhouette"})
    assert late.status_code == 409 and client.get(PAGE).context["setup"].exposure["intent"] == "sky"


def test_the_form_of_a_setup_keeps_its_lights_and_facings(client):
    posted(client, SETUP, "lights", flash="Clip-on flash", away_m="3", turn_deg="30", height_m="2")
    form = client.get(SETUP).context["form"]
    kept = client.get(PAGE).context["kept"]
    answer = client.post(SETUP, data={**form.typed, "version": str(kept.version)})
    assert answer.status_code == 200 and len(client.get(PAGE).context["setup"].lights) == 1


def test_the_contact_sheet_leads_here(client):
    assert f'href="{PAGE}"' in client.get(f"{SETUP}/2027-05-15").text


def test_colours_of_sun_sky_and_faces_stand_in_every_row(client):
    """A low sun is warmer than the sky, and faces turned from it lie between."""
    found = client.get(PAGE).context["table"].found
    up = np.isfinite(found.colours.sun_k)
    assert up.any() and np.all(found.colours.sun_k[up] < found.colours.sky_k[up])
    assert np.all(found.colours.faces_k[up] > found.colours.sun_k[up])
    rows = client.get(PAGE).context["table"].rows
    assert rows[0].colours.startswith("sun ") and "\N{NO-BREAK SPACE}K, sky 11000\N{NO-BREAK SPACE}K, faces " in rows[0].colours
    assert not rows[-1].colours.startswith("sun")


def test_where_somebody_looks_is_kept_and_the_sun_on_the_face_follows(client):
    page = client.get(PAGE)
    assert page.context["turns"][0] == ""
    page = posted(client, SETUP, "exposure", intent="faces", turn_1_deg="180", turn_2_deg="")
    assert page.context["turns"] == ("180", "")
    first, second = page.context["setup"].people
    assert first.facing_deg == pytest.approx(page.context["setup"].line_deg, abs=0.1) and second.facing_deg is None
    away, into = page.context["table"].faces
    assert any("turned away from the camera" in words for words in away.words)
    assert any("rims the head" in words for words in into.words)
    page = posted(client, SETUP, "exposure", intent="faces", turn_1_deg="200")
    assert page.status_code == 422 and "between -180 and 180" in page.text


def test_a_reading_of_the_meter_is_kept_for_the_site_and_counts_in_every_setup(client):
    before = client.get(PAGE).context["table"].found.face_ev100
    page = posted(client, SETUP, "observed", correction="-0.7")
    assert page.context["table"].found.face_ev100 == pytest.approx(before - 0.7)
    assert client.get(f"{TANK}/settings/2027-05-15").context["kept"].site.observed_stops == -0.7
    assert "A meter found this site 2/3 stop darker" in page.text
    typed = client.get(f"{PAGE}?correction=-0.3").context["table"].found.face_ev100
    assert typed == pytest.approx(before - 1.0)  # what is typed comes on top
    assert posted(client, SETUP, "observed", correction="-0.3").context["kept"].site.observed_stops == -1.0
    assert posted(client, SETUP, "observed", correction="9").status_code == 422


def test_a_light_is_moved_to_where_it_is_even_and_drawn_there(client):
    page = posted(client, SETUP, "lights", flash="Battery head, 400 Ws", away_m="1.2", turn_deg="80", height_m="1.8")
    table = page.context["table"]
    assert table.lights[0].moved is not None and [one.moved for one in table.sketch.lights] == [False, True]
    assert "catchlight" in table.lights[0].people[0] and "To the sun's colour:" in table.lights[0].gels[0]
    page = posted(client, SETUP, "lights/evened", light="1")
    assert page.context["table"].lights[0].evened == () and "between the people" not in page.context["table"].lights[0].where
    assert posted(client, SETUP, "lights/evened", light="7").status_code == 422


def test_what_is_behind_them_is_told_where_it_is_no_sky(client):
    """A long lens on a track among trees has no sky in it: all goes by what stands there. Over the slipway it is water."""
    trees = client.get(PAGE).context["table"]
    assert trees.found.behind.kind == "what stands there" and not trees.found.behind.sky_shows
    assert trees.found.sky_ev100 == pytest.approx(trees.found.behind_ev100) and trees.rows[0].behind_ev
    page = client.get("/sites/ternevag-quay/setups/setup-slipway/settings/2027-05-19")
    water = page.context["table"]
    assert water.found.behind.kind == "water" and "Water, EV" in page.text and "Sky, EV" in page.text
    assert "water" in water.rows[0].difference and np.all(water.found.behind_ev100 < water.found.sky_ev100)


def test_lights_that_reach_nobody_leave_every_page_standing(client):
    """A rim light alone, then everybody turned away: words on the table, and the sheet, the site and the first page stand."""
    page = posted(client, SETUP, "lights", flash="Battery head, 400 Ws", away_m="2", turn_deg="180", height_m="2")
    assert page.status_code == 200 and "No light reaches" in page.context["table"].rows[0].flash
    for address in ("/", "/sites/quinta-da-alvorinha", f"{SETUP}/2027-05-15", f"{SETUP}/year/2027", f"/api{SETUP}/light/2027-05-15"):
        assert client.get(address).status_code == 200, address
    page = posted(client, SETUP, "lights/removal", light="1")
    assert page.context["table"].lights == ()


def test_a_light_of_an_unknown_flash_can_still_be_taken_away(client):
    posted(client, SETUP, "lights", flash="Clip-on flash", away_m="2", turn_deg="30", height_m="2")
    kit = client.app.state.store.setting("kit")
    keep_kit(client.app.state.store, Kit())
    page = client.get(PAGE)
    assert page.context["table"] is None and "Take light 1 away" in page.text and kit is None
    posted(client, SETUP, "lights/removal", light="1")
    assert client.get(PAGE).context["table"] is not None


def test_the_time_from_which_the_flash_is_enough_is_the_same_however_far_apart_the_rows(client):
    posted(client, TIDELINE, "exposure", intent="sky-down-1", f_number="2.8", ground="sand")
    posted(client, TIDELINE, "lights", flash="Clip-on flash", modifier="Softbox 60 cm", away_m="4", turn_deg="30", height_m="2")
    marked = [next(row.marked for row in client.get(f"{TIDELINE}/settings/2027-05-15?step={step}").context["table"].rows if row.marked) for step in (5, 20)]
    assert marked[0] == marked[1] and "the flash is enough" in marked[0]
