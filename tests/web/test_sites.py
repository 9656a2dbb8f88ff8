"""The site's page, and making, changing, loading, saving and deleting sites."""

import json
import re
from pathlib import Path

import html5lib
import pytest

from app.place.geodesy import inverse
from app.place.sitefile import MAX_BYTES

DEMO = Path(__file__).parents[2] / "demo_sites"
SITE = "/sites/merrowmere-boathouse"
JETTY = "setup-end-of-the-jetty"
NEW = {"name": "Old lighthouse", "place": "54.5702, -3.1312"}


def version_of(client, site="merrowmere-boathouse"):
    return client.app.state.store.site(site).version


def load(client, content, name="site.geojson"):
    return client.post(
        "/sites/import", files={"file": (name, content, "application/geo+json")}, follow_redirects=False
    )


def test_the_page_shows_the_first_setup_today_at_its_best(client):
    page = client.get(SITE)
    shown = page.context["shown"]
    assert page.status_code == 200
    assert (shown.setup.id, shown.day.isoformat()) == (JETTY, "2027-09-18")
    backlit = dict((wanted.name, windows) for wanted, windows in page.context["entries"][0].found)["backlit"][
        0
    ]
    assert abs(shown.at_utc_s - backlit.best_utc_s) <= 300
    assert shown.at_utc_s in [frame.utc_s for frame in shown.frames.frames]


def test_a_frame_or_a_typed_time_picks_the_moment(client):
    page = client.get(SITE, params={"date": "2027-09-18", "time": "18:43"})
    frames = {frame.clock: frame for frame in page.context["shown"].frames.frames}
    assert page.context["shown"].at_utc_s == frames["18:43"].utc_s
    assert len(frames) == 14  # the typed moment stands among the thirteen of every ten minutes
    assert 'aria-current="true"' in page.text and "18:43" in page.text


def test_a_time_after_midnight_belongs_to_the_frames_that_run_past_it(client):
    page = client.get("/sites/ternevag-quay", params={"date": "2027-06-21", "time": "00:10"})
    at = page.context["shown"].at_utc_s
    frames = page.context["shown"].frames.frames
    assert frames[0].utc_s < at < frames[-1].utc_s


def test_a_typed_time_is_the_clocks_own_on_the_day_they_change(client):
    """In London the clocks go back on 31 October 2027: 17:00 that day is 17:00 UTC."""
    at = client.get(SITE, params={"date": "2027-10-31", "time": "17:00"}).context["shown"].at_utc_s
    assert at % 86_400 == 17 * 3600


def test_setups_stand_with_windows_reasons_and_ways_on(client):
    page = client.get(SITE)
    assert [(entry.number, entry.setup.name) for entry in page.context["entries"]] == [
        (1, "End of the jetty"),
        (2, "Boathouse doors"),
        (3, "Sheep meadow"),
    ]
    for words in ("Closes: behind the ridge", "Setups, with today's windows", "never look at it"):
        assert words in page.text
    for address in (
        f"{SITE}/setups/{JETTY}/2027-09-18",
        f"{SITE}/setups/{JETTY}/year/2027",
        f"{SITE}/site.geojson",
    ):
        assert f'href="{address}"' in page.text


def test_a_look_without_a_window_names_the_next_date_that_has_one(client):
    page = client.get("/sites/ternevag-quay")
    coming = page.context["entries"][0].coming["backlit"]
    assert coming is not None and coming.year in (2027, 2028)
    sheet = client.get(f"/sites/ternevag-quay/setups/setup-end-of-the-quay/{coming}")
    assert dict((wanted.name, windows) for wanted, windows in sheet.context["found"])["backlit"]


def test_a_day_without_sun_and_one_without_night_have_their_page(client):
    for day in ("2027-12-21", "2027-06-21", "1950-01-01", "2100-12-31"):
        assert client.get("/sites/ternevag-quay", params={"date": day}).status_code == 200


@pytest.mark.parametrize(
    "query,field,words",
    [
        ({"date": "1949-12-31"}, "date", "1950 to 2100"),
        ({"date": "18.9."}, "date", "2027-09-18"),
        ({"time": "sunset"}, "time", "looks like 18:40"),
    ],
)
def test_what_cannot_be_shown_is_told_by_its_field_and_kept(client, query, field, words):
    page = client.get(SITE, params=query)
    assert page.status_code == 422
    assert words in page.context["form"].errors[field]
    assert f'value="{query[field]}"' in page.text


def test_unknown_setups_and_sites_are_told_in_words(client):
    assert "has no setup “terrace”; it has" in client.get(SITE, params={"setup": "terrace"}).text
    assert client.get(SITE, params={"setup": "terrace"}).status_code == 404
    assert client.get("/sites/nowhere").status_code == 404


def test_the_drawing_alone_follows_pins_that_are_not_kept(client):
    still = client.get(f"{SITE}/plan.svg", params={"setup": JETTY})
    moved = client.get(f"{SITE}/plan.svg", params={"setup": JETTY, "camera": "54.5703,-3.1330"})
    assert still.headers["content-type"] == "image/svg+xml; charset=utf-8"
    assert still.text.startswith("<?xml")
    assert still.context["plan"].selected.camera != moved.context["plan"].selected.camera
    assert still.context["plan"].bounds_deg == moved.context["plan"].bounds_deg
    on_top = client.get(f"{SITE}/plan.svg", params={"setup": JETTY, "camera": "54.5701919, -3.1316867"})
    assert on_top.status_code == 422 and "on top of the couple" in on_top.text


def test_the_drawing_comes_at_any_scale(client):
    plans = [client.get(f"{SITE}/plan.svg", params={"scale": scale}).context["plan"] for scale in ("2", "12")]
    assert [plan.sheet.scale for plan in plans] == [2.0, 12.0]
    assert plans[0].sheet.extent == plans[1].sheet.extent


def test_a_new_site_gets_its_clocks_from_its_place(client):
    answer = client.post(
        "/sites", data=NEW | {"height_m": "120", "hazards": "Wet rocks"}, follow_redirects=False
    )
    assert (answer.status_code, answer.headers["location"]) == (303, "/sites/old-lighthouse")
    site = client.get("/sites/old-lighthouse").context["kept"].site
    assert (site.time_zone, site.centre.height_m, site.notes.hazards) == ("Europe/London", 120.0, "Wet rocks")
    assert "No setup yet" in client.get("/sites/old-lighthouse").text


@pytest.mark.parametrize(
    "place",
    ["geo:54.5702,-3.1312", "N 54° 34.212' W 3° 7.872'", "https://maps.example/#map=17/54.5702/-3.1312"],
)
def test_places_are_understood_in_usual_forms_and_shown_before_anything_is_kept(client, place):
    page = client.post("/sites/new", data=NEW | {"place": place})
    assert page.context["found"] == "54.570200, -3.131200"
    assert page.context["form"].typed["time_zone"] == "Europe/London"
    assert place.replace("'", "&#39;") in page.text
    assert client.get("/sites/old-lighthouse").status_code == 404


@pytest.mark.parametrize(
    "changed,field,words",
    [
        ({"place": "-120.5, 40"}, "place", "looks swapped"),
        ({"place": "somewhere"}, "place", "without guessing"),
        ({"place": ""}, "place", "nothing came"),
        ({"name": " "}, "name", "needs a name"),
        ({"time_zone": "Europe/Atlantis"}, "time_zone", "no time zone"),
        ({"height_m": "high"}, "height_m", "is a number"),
        ({"height_m": "20000"}, "height_m", "between -500 and 9000"),
        ({"bearing": "400"}, "bearing", "between 0 and 360"),
    ],
)
def test_a_new_site_with_a_fault_comes_back_with_all_that_was_typed(client, changed, field, words):
    typed = NEW | {"access": "Gate code on request"} | changed
    page = client.post("/sites", data=typed)
    assert page.status_code == 422
    assert words in page.context["form"].errors[field]
    assert (
        page.context["form"].typed["access"] == "Gate code on request" and "Gate code on request" in page.text
    )
    assert client.get("/sites/old-lighthouse").status_code == 404


@pytest.mark.parametrize("north,bearing_deg", [({}, 268.0), ({"magnetic": "magnetic"}, 267.8)])
def test_the_quick_question_becomes_a_site_with_a_first_setup(client, north, bearing_deg):
    """The needle there points within half a degree of true north in 2027 by WMM2025."""
    typed = {
        "name": "Site of 2027-09-20",
        "place": "54.5702, -3.1312",
        "date": "2027-09-20",
        "bearing": "268",
    } | north
    answer = client.post("/sites", data=typed, follow_redirects=False)
    assert answer.headers["location"] == "/sites/site-of-2027-09-20/setups/setup-first-setup/2027-09-20"
    setup = client.get("/sites/site-of-2027-09-20").context["shown"].setup
    line = inverse(
        setup.camera_pin.lat_deg, setup.camera_pin.lon_deg, setup.couple_pin.lat_deg, setup.couple_pin.lon_deg
    )
    a_pin_is_kept_to_a_centimetre = 0.01
    assert line.distance_m == pytest.approx(8.0, abs=a_pin_is_kept_to_a_centimetre)
    assert line.bearing_deg == pytest.approx(bearing_deg, abs=0.6 if north else 0.1)
    assert client.get(answer.headers["location"]).status_code == 200


def test_a_magnetic_bearing_is_corrected(client):
    """At Sandpiper Bay the needle points some 26° west: 268° by the compass is about 242° true."""
    typed = {
        "name": "Dune",
        "place": "-32.9018, 17.9006",
        "bearing": "268",
        "north": "magnetic",
        "date": "2027-09-18",
    }
    client.post("/sites", data=typed)
    assert client.get("/sites/dune").context["shown"].setup.line_deg == pytest.approx(242.0, abs=1.0)


@pytest.mark.parametrize("file", sorted(DEMO.glob("*.geojson")), ids=lambda file: file.stem)
def test_a_site_file_goes_through_without_loss(client, file):
    answer = load(client, file.read_bytes())
    assert answer.status_code == 303
    saved = client.get(f"{answer.headers['location']}/site.geojson")
    assert saved.headers["content-type"] == "application/geo+json"
    assert saved.headers["content-disposition"].startswith("attachment; filename=")
    assert json.loads(saved.text) == json.loads(file.read_text(encoding="utf-8"))


@pytest.mark.parametrize(
    "content,status,words",
    [
        (b"no json", 422, "This is not JSON"),
        (b'{"type": "Feature"}', 422, "is a GeoJSON FeatureCollection"),
        (b" " * (MAX_BYTES + 1), 413, "at most 5 MB"),
        (b"\xff\xfe", 422, "UTF-8"),
    ],
)
def test_a_broken_site_file_is_told_in_one_line_by_its_field(client, content, status, words):
    page = load(client, content, "venue.geojson")
    assert page.status_code == status
    told = page.context["form"].errors["file"]
    assert words in told and "\n" not in told and "Traceback" not in page.text
    assert "venue.geojson" in page.text


@pytest.mark.parametrize(
    "change,words",
    [
        (lambda ring: ring.__setitem__(slice(1, 3), [ring[2], ring[1]]), "crosses itself"),
        (lambda ring: ring.__setitem__(0, [200.0, 54.0]), "longitude lies between"),
        (lambda ring: ring.pop(), "is open"),
    ],
)
def test_a_bad_outline_in_a_site_file_is_told_with_its_name(client, change, words):
    document = json.loads((DEMO / "merrowmere-boathouse.geojson").read_text(encoding="utf-8"))
    shape = next(f for f in document["features"] if f["properties"]["name"] == "the boathouse")
    change(shape["geometry"]["coordinates"][0])
    told = load(client, json.dumps(document)).context["form"].errors["file"]
    assert "the boathouse" in told and words in told


def test_no_file_at_all(client):
    assert "Choose a site file" in client.post("/sites/import").context["form"].errors["file"]


def test_details_are_kept(client):
    typed = dict(client.get(f"{SITE}/details").context["form"].typed)
    typed |= {
        "name": "Merrowmere",
        "hazards": "Thin ice",
        "time_zone": "Europe/Dublin",
        "version": version_of(client),
    }
    assert client.post(f"{SITE}/details", data=typed, follow_redirects=False).headers["location"] == SITE
    site = client.get(SITE).context["kept"].site
    assert (site.name, site.notes.hazards, site.time_zone) == ("Merrowmere", "Thin ice", "Europe/Dublin")
    assert site.datum == "the lake at its usual level"


def test_details_with_a_fault_come_back_as_typed(client):
    typed = {
        "name": "",
        "time_zone": "nowhere",
        "height_m": "x",
        "access": "By boat",
        "version": version_of(client),
    }
    page = client.post(f"{SITE}/details", data=typed)
    assert page.status_code == 422
    assert set(page.context["form"].errors) == {"name", "time_zone", "height_m"}
    assert "By boat" in page.text


def test_a_stale_form_meets_both_versions_and_both_ways_out(client):
    first = dict(client.get(f"{SITE}/details").context["form"].typed) | {"version": version_of(client)}
    client.post(f"{SITE}/details", data=first | {"hazards": "From the other tab"})
    page = client.post(f"{SITE}/details", data=first | {"hazards": "From this tab"})
    assert page.status_code == 409
    assert {field.name for field in page.context["fields"] if field.differs} == {"hazards"}
    assert "From the other tab" in page.text and "From this tab" in page.text
    assert page.context["look"] == f"{SITE}/details"
    again = {field.name: field.mine for field in page.context["fields"]} | {
        "version": page.context["version"]
    }
    client.post(page.context["again"], data=again)
    assert client.get(SITE).context["kept"].site.notes.hazards == "From this tab"


def test_deleting_needs_the_name_once_more(client):
    page = client.post(f"{SITE}/delete", data={"confirm": "merrow", "version": version_of(client)})
    assert page.status_code == 422 and "Type the site's name" in page.context["form"].errors[
        "confirm"
    ].replace("&#39;", "'")
    assert client.get(SITE).status_code == 200
    gone = client.post(
        f"{SITE}/delete",
        data={"confirm": "Merrowmere boathouse", "version": version_of(client)},
        follow_redirects=False,
    )
    assert gone.headers["location"] == "/"
    assert client.get(SITE).status_code == 404


def test_a_stale_delete_deletes_nothing(client):
    page = client.post(f"{SITE}/delete", data={"confirm": "Merrowmere boathouse", "version": 99})
    assert page.status_code == 409
    assert client.get(SITE).status_code == 200


def test_pages_hold_no_script_or_style_of_their_own(client):
    pages = [
        SITE,
        f"{SITE}/details",
        "/sites/new",
        f"{SITE}/setups/{JETTY}",
        f"{SITE}/new-feature?role=water",
        f"{SITE}/ground",
    ]
    for address in pages:
        text = client.get(address).text
        assert "<style" not in text and " style=" not in text and "onclick" not in text
        assert all("src=" in tag.split(">")[0] for tag in text.split("<script")[1:])


def test_the_page_is_not_heavy(client):
    assert len(client.get(SITE).content) < 150_000


def test_pages_are_well_formed_and_use_each_id_once(client):
    send = {"name": "", "place": "nowhere"}
    texts = [
        client.get(address).text
        for address in (
            SITE,
            "/sites/ternevag-quay",
            f"{SITE}/details",
            "/sites/new",
            f"{SITE}/setups/{JETTY}",
            f"{SITE}/new-setup",
            f"{SITE}/new-feature?role=survey",
            f"{SITE}/features/water-merrowmere",
            f"{SITE}/features/obstacle-the-larches",
            f"{SITE}/ground",
        )
    ]
    texts += [
        client.post("/sites", data=send).text,
        client.post(f"{SITE}/details", data={"version": 99, "name": "x"}).text,
    ]
    for text in texts:
        parser = html5lib.HTMLParser()
        parser.parse(text)
        assert parser.errors == []
        ids = re.findall(r'\sid="([^"]+)"', text)
        assert len(ids) == len(set(ids))


def test_a_new_site_at_a_deleted_ones_address_is_the_new_one(client):
    """The deleted one was shown: what had been read was kept by address and version, and both came again."""
    for latitude in ("54.1", "-33.2"):
        made = client.post("/sites", data={"name": "Twice", "place": f"{latitude}, 18.0"}, follow_redirects=False)
        assert made.status_code == 303
        kept = client.get("/sites/twice").context["kept"]
        assert kept.site.centre.lat_deg == float(latitude)
        client.app.state.store.delete_site("twice", kept.version)
