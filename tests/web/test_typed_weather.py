"""Weather as it is typed: read alike from a page's address and from a question, and carried on in links."""

import pytest

from app.cli import main
from app.errors import BadInput
from app.picture.weather import Weather
from app.web.forms import Form
from app.web.typed_weather import weather_asked, weather_from, weather_query, weather_words

TANK = "/sites/quinta-da-alvorinha/setups/setup-across-the-tank"
SHEET, STRIP, YEAR = f"{TANK}/2027-09-18", f"{TANK}/2027-09-18/strip", f"{TANK}/year/2027"
API = "/api/sites/quinta-da-alvorinha/setups/setup-across-the-tank"


@pytest.mark.parametrize(("typed", "weather"), [
    ({}, Weather()), ({"wind": "3"}, Weather(3.0)), ({"wind": "3,5 m/s"}, Weather(3.5)), ({"wind": "0"}, Weather(0.0)),
    ({"wind": "force 0"}, Weather(0.0)), ({"wind": "Force 2"}, Weather(2.5)), ({"wind": "2 Bft"}, Weather(2.5)),
    ({"wind": "4", "wind_from": "sw"}, Weather(4.0, 225.0)), ({"wind_from": "270°"}, Weather(None, 270.0)),
    ({"people_in_water": "yes"}, Weather(people_in_water=True)), ({"people_in_water": "no"}, Weather()),
])  # fmt: skip
def test_read_alike_from_forms_and_questions(typed, weather):
    form = Form(typed)
    assert weather_from(form) == weather_asked(typed) == weather
    assert form.errors == {}


@pytest.mark.parametrize(("name", "text", "words"), [
    ("wind", "breezy", "“breezy” is none"), ("wind", "-1", "between 0 and 120"), ("wind", "force 13", "between 0 and 12"),
    ("wind", "force 2.5", "whole number"), ("wind_from", "up", "“up” is none"), ("wind_from", "400", "between 0 and 360"),
    ("people_in_water", "many", "yes or no; “many” came"),
])  # fmt: skip
def test_what_cannot_be_used_is_told_by_its_field(name, text, words):
    form = Form({name: text})
    assert weather_from(form) == Weather() and words in form.error(name)
    with pytest.raises(BadInput, match=words) as caught:
        weather_asked({name: text})
    assert caught.value.field == name


def test_links_carry_what_can_be_used():
    form = Form({"wind": "force 3", "wind_from": "nowhere", "people_in_water": "yes", "step": "2"})
    weather_from(form)
    assert weather_query(form, part="morning") == "?part=morning&wind=force+3&people_in_water=yes"
    assert weather_query(Form({}), part="") == ""


def test_weather_in_words():
    assert weather_words(Weather(4.0, 225.0, True)) == "Wind 4 m/s from 225°, force 3; people in the water."
    assert weather_words(Weather()) == ""


def test_wind_breaks_the_mirror_on_the_contact_sheet(client):
    calm, breeze = (client.get(SHEET, params={"wind": wind}) for wind in ("0", "force 3"))
    windows = [dict((wanted.name, found) for wanted, found in page.context["found"]) for page in (calm, breeze)]
    assert windows[0]["mirror"] and windows[0]["double"] and not windows[1]["mirror"] and not windows[1]["double"]
    assert [[one.opens_utc_s for one in some["backlit"]] for some in windows] == 2 * [[windows[0]["backlit"][0].opens_utc_s]]
    assert [page.context["sheet"].waters[0].strength for page in (calm, breeze)] == [1.0, 0.0]
    assert "mirrors nothing" in breeze.text


def test_people_in_the_water_break_it_too(client):
    page = client.get(SHEET, params={"people_in_water": "yes"})
    assert page.context["sheet"].waters[0].strength == 0 and "checked" in page.text


def test_links_of_the_sheet_carry_the_weather_on(client):
    page = client.get(f"{SHEET}?part=morning&wind=0.4")
    for there in (f"{TANK}/2027-09-17?part=morning&amp;wind=0.4", f"{TANK}/2027-09-20?part=morning&amp;wind=0.4", f"{YEAR}?wind=0.4", f"{SHEET}?wind=0.4"):
        assert f'href="{there}"' in page.text
    assert 'href="' + f'{TANK}/2027-09-17"' in client.get(SHEET).text


def test_a_wind_that_is_none_is_told_and_kept(client):
    page = client.get(SHEET, params={"wind": "gusty"})
    assert page.status_code == 200 and "“gusty” is none" in page.text and 'value="gusty"' in page.text


def test_strip_and_year_follow_the_wind(client):
    assert client.get(STRIP, params={"wind": "5"}).context["sheet"].waters[0].strength == 0
    assert client.get(STRIP, params={"wind": "gusty"}).status_code == 422
    calm, windy = (client.get(YEAR, params={"look": "mirror", "wind": wind}) for wind in ("0", "5"))
    assert calm.context["open_count"] > 100 and windy.context["open_count"] == 0
    assert "Wind 5 m/s, force 3." in windy.text and "look=mirror&amp;wind=5" in windy.text
    assert '<input type="hidden" name="wind" value="5">' in windy.text
    assert "“gusty” is none" in client.get(YEAR, params={"look": "mirror", "wind": "gusty"}).text


def test_the_api_and_the_command_line_follow_the_wind(client, capsys):
    asked = {"date": "2027-09-18", "look": "mirror"}
    for more, options, found in (({}, [], 1), ({"wind": "force 3"}, ["--wind", "force 3"], 0), ({"people_in_water": "yes"}, ["--people-in-water"], 0)):
        assert len(client.get(f"{API}/windows", params={**asked, **more}).json()["windows"]) == found
        assert main(["windows", "demo_sites/quinta-da-alvorinha.geojson", "--setup", "Across the tank", "--date", "2027-09-18", "--look", "mirror", *options]) == 0
        assert ("mirror: 18:" in capsys.readouterr().out) == bool(found)
    answer = client.get(f"{API}/windows", params={**asked, "wind": "gusty"})
    assert answer.status_code == 422 and answer.json()["field"] == "wind"
    year = client.get(f"{API}/year/2027", params={"look": "mirror", "wind": "5"}).json()
    assert not any(day["windows"] for day in year["days"])
