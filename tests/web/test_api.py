"""The API: the same answers as the command line, and its own words for what cannot be used."""

import json
from collections.abc import Iterator

import pytest
from fastapi.testclient import TestClient

from app.cli import main
from app.cli_server import load_demo_sites
from app.main import create_app
from app.settings import Settings
from tests.web.conftest import DEMO

JETTY = "/api/sites/merrowmere-boathouse/setups/setup-end-of-the-jetty"
FILE = str(DEMO / "merrowmere-boathouse.geojson")
PLACE = {"lat": "54.57", "lon": "-3.13"}


@pytest.fixture(scope="module")
def api(tmp_path_factory) -> Iterator[TestClient]:
    """A client on a database with the demo sites, which no test here changes."""
    folder = tmp_path_factory.mktemp("api")
    app = create_app(Settings(folder, folder / "westering.sqlite"))
    load_demo_sites(app.state.store)
    with TestClient(app) as client:
        yield client
    app.state.store.close()


def options(asked: dict[str, str]) -> list[str]:
    return [part for name, value in asked.items() for part in (f"--{name.replace('_', '-')}", value)]


@pytest.mark.parametrize(("address", "asked", "command"), [
    ("/api/sun", {**PLACE, "at": "2027-09-18T18:40+01:00", "height": "200"}, ["sun"]),
    ("/api/sun", {**PLACE, "at": "2027-09-18T18:40+01:00", "bearing": "250", "temperature": "-3,5", "tz": "Asia/Tokyo"}, ["sun"]),
    ("/api/day", {**PLACE, "date": "2027-09-18"}, ["day"]),
    ("/api/day", {"lat": "69.65", "lon": "18.96", "date": "2026-06-21", "eye_height": "30", "bearing": "0", "tz": "UTC"}, ["day"]),
    (f"{JETTY}/windows", {"date": "2027-09-18"}, ["windows", FILE, "--setup", "End of the jetty"]),
    (f"{JETTY}/windows", {"date": "2027-09-18", "look": "backlit"}, ["windows", FILE, "--setup", "setup-end-of-the-jetty"]),
    (f"{JETTY}/year/2027", {"look": "backlit"}, ["year", FILE, "--setup", "End of the jetty", "--year", "2027"]),
    (f"{JETTY}/light/2027-09-18", {}, ["light", FILE, "--setup", "End of the jetty", "--date", "2027-09-18"]),
    (f"{JETTY}/light/2027-09-18", {"part": "morning"}, ["light", FILE, "--setup", "End of the jetty", "--date", "2027-09-18"]),
])  # fmt: skip
def test_the_command_line_prints_the_same(api, capsys, address, asked, command):
    answer = api.get(address, params=asked)
    assert answer.status_code == 200
    assert main([*command, *options(asked), "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == answer.json()


def test_a_compass_bearing_is_told_by_one_word(api, capsys):
    asked = {**PLACE, "date": "2027-09-18", "bearing": "250"}
    answer = api.get("/api/day", params={**asked, "magnetic": "yes"}).json()
    assert main(["day", *options(asked), "--magnetic", "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == answer
    assert answer["bearing_deg"] != 250.0
    assert api.get("/api/day", params={**asked, "magnetic": "no"}).json()["bearing_deg"] == 250.0


def test_the_sites_and_what_they_hold(api):
    sites = api.get("/api/sites").json()["sites"]
    assert {site["site"] for site in sites} == {"merrowmere-boathouse", "quinta-da-alvorinha", "sandpiper-bay", "ternevag-quay"}
    quay = api.get("/api/sites/ternevag-quay").json()
    assert (quay["name"], quay["time_zone"], quay["lat_deg"], quay["lon_deg"]) == ("Ternevåg quay", "Europe/Oslo", 68.2004, 14.3012)
    slipway = quay["setups"][-1]
    assert (slipway["id"], slipway["name"], slipway["looks"]) == ("setup-slipway", "Slipway", ["custom"])
    assert 0 <= slipway["line_deg"] < 360 and slipway["distance_m"] > 1


def test_every_setup_of_every_demo_site_answers(api):
    for site in api.get("/api/sites").json()["sites"]:
        for setup in api.get(f"/api/sites/{site['site']}").json()["setups"]:
            answer = api.get(f"/api/sites/{site['site']}/setups/{setup['id']}/windows", params={"date": "2027-06-21"})
            assert answer.json()["setup"] == setup["name"] and answer.json()["looks"] == setup["looks"]


def test_a_plus_sign_may_arrive_as_a_space(api):
    whole = api.get("/api/sun?lat=54.57&lon=-3.13&at=2027-09-18T18:40%2B01:00").json()
    assert api.get("/api/sun?lat=54.57&lon=-3.13&at=2027-09-18T18:40+01:00").json() == whole
    assert whole["time_utc"] == "2027-09-18T17:40:00Z"


@pytest.mark.parametrize(("address", "status", "field", "words"), [
    ("/api/sun", 422, "lat", "The latitude is missing"),
    ("/api/sun?lat=north&lon=3&at=2027-09-18T18:40Z", 422, "lat", "“north” is none"),
    ("/api/sun?lat=-120&lon=50&at=2027-09-18T18:40Z", 422, "lat", "looks swapped"),
    ("/api/sun?lat=5&lon=500&at=2027-09-18T18:40Z", 422, "lon", "between -180 and 180"),
    ("/api/sun?lat=5&lon=50&at=2027-09-18T18:40", 422, "at", "has no offset"),
    ("/api/sun?lat=5&lon=50&at=2027-09-18T18:40Z&bearing=west", 422, "bearing", "“west” is none"),
    ("/api/day?lat=5&lon=50&date=1949-12-31", 422, "date", "1950 to 2100"),
    ("/api/day?lat=5&lon=50&date=2027-09-18&tz=Moon", 422, "tz", "no time zone"),
    ("/api/day?lat=5&lon=50&date=2027-09-18&eye_height=-1", 422, "eye_height", "between 0 and 9000"),
    ("/api/sites/nowhere", 404, None, "There is no site “nowhere”"),
    ("/api/sites/merrowmere-boathouse/setups/cellar/windows?date=2027-09-18", 404, None, "no setup “cellar”; it has: "),
    (f"{JETTY}/windows", 422, "date", "The date is missing"),
    (f"{JETTY}/windows?date=soon", 422, "date", "A date looks like"),
    (f"{JETTY}/windows?date=2027-09-18&look=sparkle", 422, "look", "there are: "),
    (f"{JETTY}/year/soon?look=backlit", 422, "year", "The year is a number"),
    (f"{JETTY}/year/1949?look=backlit", 422, "year", "between 1950 and 2100"),
    (f"{JETTY}/year/2027", 422, "look", "The look is missing"),
    (f"{JETTY}/light/2027-09-18?part=noon", 422, "part", "evening or morning"),
    ("/api/nothing", 404, None, "no such page"),
])  # fmt: skip
def test_what_cannot_be_answered_is_told_as_json(api, address, status, field, words):
    answer = api.get(address)
    assert answer.status_code == status
    assert set(answer.json()) == {"error", "field"}
    assert answer.json()["field"] == field and words in answer.json()["error"]
    assert "\n" not in answer.json()["error"]


def test_the_api_describes_itself(api):
    described = api.get("/api/openapi.json").json()["paths"]
    ours = {address: described[address]["get"] for address in described if address.startswith("/api/")}
    assert set(ours) == {
        "/api/sun", "/api/day", "/api/sites", "/api/sites/{site}", "/api/sites/{site}/setups/{setup}/windows",
        "/api/sites/{site}/setups/{setup}/year/{year}", "/api/sites/{site}/setups/{setup}/light/{date}",
        "/api/shoots/{shoot}", "/api/shoots/{shoot}/morning",
    }  # fmt: skip
    for told in ours.values():
        assert told["description"] and told["responses"]["422"]["content"]["application/json"]["schema"]["required"] == ["error", "field"]
    for parameter in ours["/api/sun"]["parameters"]:
        assert parameter["description"] and not parameter["required"]
