"""The pages of the day: the check without and with a forecast, services that are down, slow or wrong, and what wins."""

import re
import threading
import time
from dataclasses import replace

import pytest

from app.web.shoots import ShootShelf
from app.web.weather_services import WeatherServices, check_hours, services_of
from tests.outside.weather_server import (
    HOUR,
    hangs_up,
    met_answer,
    met_says,
    open_answer,
    says,
    served,
    then,
)
from tests.web.conftest import NOW
from tests.web.test_shoots import JETTY, MERROW, kept

MORNING = "/shoots/ilse-and-bram/morning"
SKY = f"/sites/{MERROW}/sky/2027-09-18"


def overcast(**more):
    """A healthy answer with low cloud all over, wind and gusts."""
    answer = met_answer(first=NOW)
    for row in answer["properties"]["timeseries"]:
        row["data"]["instant"]["details"] |= {"cloud_area_fraction": 100.0, "cloud_area_fraction_low": 100.0, **more}
    return says(answer, clock=NOW, Expires="Sat, 18 Sep 2027 11:30:00 GMT")


FAIR = met_says(clock=NOW, first=NOW)


@pytest.fixture
def shoot(client):
    kept(client)
    return client


def asking(client, server, **more):
    client.app.state.weather_services = WeatherServices("orla@example.com", server.address, **more)


def asked(client, address=MORNING, forecast=None):
    """Press the button and return the page once the answer is in."""
    assert client.post(forecast or f"{address}/forecast", follow_redirects=False).status_code == 303
    for _ in range(400):
        page = client.get(address)
        if page.context["errand"].ended:
            return page
        time.sleep(0.05)
    raise AssertionError("the errand never ended")


def verdicts(page):
    return {slot.wish_id: slot.verdict for slot in page.context["morning"].check.slots}


def test_without_any_service_the_page_says_how_to_set_one_and_checks_by_the_sun(shoot):
    page = shoot.get(MORNING)
    assert page.status_code == 200 and set(verdicts(page).values()) == {"weather not known"}
    assert "WESTERING_MET_CONTACT" in page.text and "Ask for the forecast now" not in page.text
    assert "Sunset at <time>19:22</time>" in page.text and "standard air" in page.text


def test_asking_brings_verdicts_with_reasons_source_and_age(shoot):
    with served(FAIR) as server:
        asking(shoot, server)
        page = asked(shoot)
    assert not page.context["errand"].failed and len(server.asked) == 9
    assert server.asked[0][1]["User-Agent"] == "Westering/1 orla@example.com"
    assert set(verdicts(page).values()) <= {"stands", "stands with a change"}
    assert "Forecast from MET Norway, CC BY 4.0: made 2 hours ago, fetched just now." in page.text
    assert "the sun through the cloud" in page.text and "high 4 of 8" in page.text


def test_it_is_not_asked_again_before_its_answer_has_run_out(shoot):
    with served(FAIR) as server:
        asking(shoot, server)
        asked(shoot)
        asked(shoot)
    assert len(server.asked) == 9


def test_what_changed_since_the_last_check_is_shown(shoot):
    with served(overcast()) as server:
        asking(shoot, server)
        page = asked(shoot)
    assert verdicts(page)[JETTY] == "use the standby"
    assert any("has become “use the standby”" in words for words in page.context["since"].changes)
    assert "Changed since the check of" in page.text


def test_by_eye_wins_and_can_be_taken_away(shoot):
    with served(overcast()) as server:
        asking(shoot, server)
        asked(shoot)
    page = shoot.post(f"{MORNING}/{MERROW}/seen", data={"cloud_oktas": "1", "low_oktas": "0", "middle_oktas": "0", "force": "1"})
    assert set(verdicts(page).values()) == {"stands"} and "it wins over all others" in page.text
    page = shoot.post(f"{MORNING}/{MERROW}/seen", data={"remove": "yes"})
    assert verdicts(page)[JETTY] == "use the standby" and "it wins over all others" not in page.text


@pytest.mark.parametrize(
    ("typed", "field"),
    [({"cloud_oktas": "9"}, "cloud_oktas"), ({"force": "2.5"}, "force"), ({"wind_from": "up"}, "wind_from"), ({"temperature": "hot"}, "temperature"), ({"water": "frozen"}, "water"), ({}, "cloud_oktas")],
)
def test_what_cannot_be_seen_is_told_by_its_field_and_nothing_typed_is_lost(shoot, typed, field):
    page = shoot.post(f"{MORNING}/{MERROW}/seen", data={"middle_oktas": "3", **typed} if typed else {})
    assert page.status_code == 422 and field in page.context["form"].errors
    if typed:
        assert page.context["page"].typed(MERROW) == {"middle_oktas": "3", **typed}
    assert shoot.app.state.store.weather.day(MERROW, page.context["morning"].opened.shoot.day).seen is None


def test_a_pasted_report_and_forecast_of_an_airfield_count(shoot):
    """METAR of 10:50 UTC, TAF from 9 UTC on; the slots lie about 17:30 UTC."""
    text = "METAR EGXX 181050Z 24005KT 9999 FEW030 15/09 Q1020\nTAF EGXX 180800Z 1809/1909 24025G40KT 9999 OVC010"
    page = shoot.post(f"{MORNING}/{MERROW}/reports", data={"reports": text})
    assert verdicts(page)[JETTY] == "use the standby"
    day = page.context["morning"].days[MERROW]
    assert day.weather.report.sea_pressure_hpa == pytest.approx(1020) and "Airfield EGXX" in page.text
    assert "OVC010" in page.text  # what was pasted stays in its field
    page = shoot.post(f"{MORNING}/{MERROW}/reports", data={"reports": ""})
    assert set(verdicts(page).values()) == {"weather not known"}


def test_a_spell_that_an_airfield_expects_is_told_and_not_counted(shoot):
    text = "TAF EGXX 180800Z 1809/1909 24003KT 9999 SCT030 PROB30 TEMPO 1816/1819 24020G38KT"
    page = shoot.post(f"{MORNING}/{MERROW}/reports", data={"reports": text})
    told = " ".join(page.context["morning"].days[MERROW].sources)
    assert "between 17:00 and 20:00, with 30 % chance: wind 10.3 m/s, gusts 19.5 m/s from 240°" in told
    assert all(margin.value > 0 for slot in page.context["morning"].check.slots for margin in slot.margins if "cloth" in margin.name)


def test_a_text_that_is_no_report_is_refused_and_stays(shoot):
    page = shoot.post(f"{MORNING}/{MERROW}/reports", data={"reports": "lovely day"})
    assert page.status_code == 422 and "no METAR and no TAF" in page.text and "lovely day" in page.text


def test_an_airfield_is_fetched_where_a_service_is_set(shoot):
    with served(says(b"EGXX 181050Z 24005KT 9999 SCT010 15/09 Q1020", media_type="text/plain")) as server:
        asking(shoot, server, airfield_address=server.address + "?station={station}")
        assert shoot.post(f"{MORNING}/{MERROW}/reports", data={"station": "egxx"}).status_code == 200
        assert server.asked[0][0] == {"station": ["EGXX"]}
    page = shoot.post(f"{MORNING}/{MERROW}/reports", data={"station": "egxx"})
    assert page.status_code == 503 and "cannot be reached" in page.text and "Nothing was kept" in page.text


@pytest.mark.parametrize(
    ("answer", "words"),
    [
        (says(b"", 500), "status 500"),
        (says(b"<html>", media_type="text/html"), "a web page in place of a forecast"),
        (says(b'{"type": "Feature"}'), "no forecast of theirs"),
        (hangs_up, "broke off"),
        (says(b"", 429), "too much to do"),
        (says(b"", 403), "the contact may be wrong"),
    ],
)
def test_a_service_in_trouble_is_told_and_the_page_still_works(shoot, answer, words):
    with served(answer) as server:
        asking(shoot, server)
        page = asked(shoot)
    assert page.status_code == 200 and page.context["errand"].failed and words in page.text
    assert "No forecast is known" in page.text and len(verdicts(page)) == 2


def test_a_slow_service_keeps_no_page_waiting(shoot):
    goes_on = threading.Event()

    def waits(handler):
        goes_on.wait(20.0)
        FAIR(handler)

    with served(waits) as server:
        asking(shoot, server)
        shoot.post(f"{MORNING}/forecast", follow_redirects=False)
        page = shoot.get(MORNING)
        assert not goes_on.is_set() and not page.context["errand"].ended and 'data-errand="running"' in page.text
        goes_on.set()
        assert "weather not known" not in verdicts(asked(shoot)).values()


def test_a_service_that_is_down_leaves_the_last_forecast_with_its_age(shoot):
    with served(FAIR) as server:
        asking(shoot, server)
        asked(shoot)
    from app.web.now import now_utc_s

    shoot.app.dependency_overrides[now_utc_s] = lambda: NOW + 2 * HOUR
    page = asked(shoot)
    assert "cannot be reached" in page.text and "The last forecast that was kept is used" in page.text
    assert "fetched 2 hours ago" in page.text and "stands" in verdicts(page)[JETTY]


def test_the_second_service_is_asked_where_the_first_is_in_trouble(shoot):
    def answer(handler):
        if "latitude" not in handler.path:
            return says(b"", 500)(handler)
        places = handler.path.split("latitude=")[1].split("&")[0].count(",") + 1
        return says([open_answer(first=NOW + 5 * HOUR) for _ in range(places)])(handler)

    with served(answer) as server:
        asking(shoot, server, openmeteo_key="key", openmeteo_address=server.address)
        page = asked(shoot)
    assert "Open-Meteo" in page.text and "weather not known" not in verdicts(page).values()


def test_a_wrong_clock_is_told(shoot):
    with served(met_says(clock=NOW - HOUR, first=NOW)) as server:
        asking(shoot, server)
        assert "clock is 60 minutes ahead of that of MET Norway" in asked(shoot).text


def test_solving_again_shows_old_against_new_and_one_button_takes_it(shoot):
    with served(overcast()) as server:
        asking(shoot, server)
        asked(shoot)
    page = shoot.get(f"{MORNING}?again=yes")
    new = page.context["again"]
    assert not new.same and "As planned" in page.text and "Take the new order" in page.text
    fields = dict(re.findall(r'<input type="hidden" name="(version|shown)" value="([^"]*)"', page.text))
    assert shoot.post(f"{MORNING}/order", data=fields, follow_redirects=False).status_code == 303
    opened = ShootShelf(shoot.app.state.store).shoot("ilse-and-bram")
    starts = {slot.wish_id: slot.starts_utc_s for slot in opened.order.plan.slots}
    assert starts == {slot.wish_id: slot.starts_utc_s for slot in new.changed.plan.slots}
    assert {one: opened.whole.wish(one).setup for one in new.swapped} == {one: new.shoot.wish(one).setup for one in new.swapped}


def test_a_new_order_can_be_shared_with_the_same_button(shoot):
    book = shoot.app.state.store.shoots
    assert "Take it and share it" not in shoot.get(f"{MORNING}?again=yes").text
    shoot.post("/shoots/ilse-and-bram/share")
    with served(overcast()) as server:
        asking(shoot, server)
        asked(shoot)
    page = shoot.get(f"{MORNING}?again=yes")
    fields = dict(re.findall(r'<input type="hidden" name="(version|shown)" value="([^"]*)"', page.text))
    answer = shoot.post(f"{MORNING}/order", data={**fields, "share": "yes"}, follow_redirects=False)
    assert answer.status_code == 303 and answer.headers["location"] == "/shoots/ilse-and-bram/sharing"
    first, second = book.revisions("ilse-and-bram")
    assert first.couple != second.couple and "Sheep meadow" in str(second.couple)


def test_an_order_that_is_not_the_one_shown_is_not_taken(shoot):
    page = shoot.post(f"{MORNING}/order", data={"version": "1", "shown": "something else"})
    assert page.status_code == 409 and "Nothing was saved" in page.text


def test_an_old_version_takes_no_new_order(shoot):
    with served(overcast()) as server:
        asking(shoot, server)
        asked(shoot)
    page = shoot.get(f"{MORNING}?again=yes")
    shelf = ShootShelf(shoot.app.state.store)
    opened = shelf.shoot("ilse-and-bram")
    shelf.save(opened, opened.version, whole=replace(opened.whole, notes="changed meanwhile"))
    stale = shoot.post(f"{MORNING}/order", data={"version": str(opened.version), "shown": page.context["shown"]})
    assert stale.status_code == 409 and "was changed since you opened it" in stale.text


def test_the_sky_shows_the_section_with_chance_reasons_and_the_rule(shoot):
    with served(FAIR) as server:
        asking(shoot, server)
        page = asked(shoot, SKY, f"{SKY}/forecast")
    told = page.context["told"]
    assert told.chance.word in page.text and "rule of thumb" in page.text and len(told.drawings) == 2
    assert all(drawing.bands and drawing.sights for drawing in told.drawings)
    assert "Cover by distance" in page.text and "west, 274°" in page.text


def test_what_is_seen_overhead_goes_first_in_the_section(shoot):
    with served(FAIR) as server:
        asking(shoot, server)
        asked(shoot)
    shoot.post(f"{MORNING}/{MERROW}/seen", data={"high_oktas": "7"})
    cover = shoot.get(SKY).context["day"].section.cover
    assert cover[2, 0] == 7 / 8 and cover[2, 1] == 0.5


def test_a_date_beyond_the_forecast_is_not_called_good_and_says_why(shoot):
    with served(met_says(clock=NOW, first=NOW - 72 * HOUR)) as server:
        asking(shoot, server)
        page = asked(shoot)
    assert set(verdicts(page).values()) == {"weather not known"} and "It ends " in page.text and " before." in page.text


def test_the_sky_without_a_forecast_says_so_and_still_knows_the_sunset(shoot):
    page = shoot.get(SKY)
    assert page.status_code == 200 and page.context["told"] is None
    assert "nothing to draw" in page.text and "19:22" in page.text


def test_the_sky_takes_what_is_seen_and_its_shoots_are_checked_by_it(shoot):
    page = shoot.get(SKY)
    assert f'action="{SKY}/seen"' in page.text and f'href="{MORNING}"' in page.text
    kept = shoot.post(f"{SKY}/seen?part=morning", data={"cloud_oktas": "7"}, follow_redirects=False)
    assert kept.status_code == 303 and kept.headers["location"].endswith(f"{SKY}?part=morning#weather")
    assert shoot.get(SKY).context["page"].held["cloud_oktas"] == "7"
    check = shoot.get(MORNING)
    assert check.context["since"].changes and "use the standby" in verdicts(check).values()
    assert shoot.post(f"{SKY}/seen", data={"remove": "yes"}, follow_redirects=False).status_code == 303
    assert shoot.get(SKY).context["day"].weather.seen is None


def test_the_sky_keeps_nothing_of_what_it_cannot_read(shoot):
    page = shoot.post(f"{SKY}/seen", data={"cloud_oktas": "9"})
    assert page.status_code == 422 and "Nothing was kept." in page.text and 'value="9"' in page.text
    assert shoot.get(SKY).context["day"].weather.seen is None


def test_the_sky_of_a_day_without_a_shoot_takes_what_is_seen_too(shoot):
    other = SKY.replace("-18", "-19")
    assert shoot.post(f"{other}/seen", data={"cloud_oktas": "2"}, follow_redirects=False).status_code == 303
    page = shoot.get(other)
    assert page.context["shoots"] == () and page.context["day"].weather.seen.cloud_oktas == 2


def test_the_sunrise_looks_east(shoot):
    page = shoot.get(f"{SKY}?part=morning")
    assert page.context["day"].sun.name == "sunrise" and page.context["bearing"].startswith("east")


def test_the_api_gives_the_same_as_the_page(shoot):
    with served(overcast()) as server:
        asking(shoot, server)
        page = asked(shoot)
    answer = shoot.get(f"/api{MORNING}").json()
    assert answer["headline"] == page.context["morning"].check.headline
    assert {one["wish"]: one["verdict"] for one in answer["slots"]} == verdicts(page)
    assert all(one["margins"] and one["reason"] for one in answer["slots"]) and answer["changes"]


@pytest.mark.parametrize("address", ["/shoots/none/morning", "/api/shoots/none/morning", "/sites/none/sky/2027-09-18"])
def test_what_is_not_there_is_told(shoot, address):
    page = shoot.get(address)
    assert page.status_code == 404 and "There is no s" in page.text


def test_a_site_that_the_shoot_has_not_is_told(shoot):
    assert shoot.post(f"{MORNING}/ternevag-quay/seen", data={"force": "1"}).status_code == 404


def test_markup_is_well_formed_with_ids_of_its_own(shoot):
    with served(overcast()) as server:
        asking(shoot, server)
        asked(shoot)
        asked(shoot, SKY, f"{SKY}/forecast")
    for address in (MORNING, f"{MORNING}?again=yes", SKY):
        text = shoot.get(address).text
        ids = re.findall(r'\sid="([^"]+)"', text)
        assert len(ids) == len(set(ids)), address
        assert "style=" not in text and "<script>" not in text


def test_settings_that_cannot_be_used_are_told_and_others_still_serve():
    sources, faults = WeatherServices(met_contact="nobody", openmeteo_key="key").sources()
    assert [one.key for one in sources] == ["openmeteo"] and "asks for a contact" in faults[0]
    with pytest.raises(Exception, match="whole hours from 0 to 23"):
        check_hours("5, 25")
    assert services_of({"check_hours": "11, 5"}).check_hours == (5, 11)


def test_a_service_that_asked_for_peace_gets_it(shoot):
    with served(then(says(b"", 429), FAIR)) as server:
        asking(shoot, server)
        asked(shoot)
        page = asked(shoot)
    assert len(server.asked) == 1 and "asked to be left alone" in page.text


def test_the_contact_sheet_takes_the_wind_that_is_kept_unless_one_is_typed(shoot):
    sheet = f"/sites/{MERROW}/setups/{JETTY}/2027-09-18"
    assert shoot.get(sheet).context["expected"] == ""
    with served(FAIR) as server:
        asking(shoot, server)
        asked(shoot)
    told = shoot.get(sheet).context["expected"]
    assert told.startswith("Wind 3.2 m/s from 240.5°, force 2. Forecast from MET Norway") and "fetched just now" in told
    assert shoot.get(f"{sheet}?wind=0").context["expected"] == ""
    shoot.post(f"{MORNING}/{MERROW}/seen", data={"water": "still", "force": "0"})
    assert shoot.get(sheet).context["expected"].startswith("Wind 0 m/s")


def test_an_answer_that_came_is_told_once_on_the_page(shoot):
    with served(FAIR) as server:
        asking(shoot, server)
        page = asked(shoot, SKY)
    assert page.text.count("Forecast from MET Norway, CC BY 4.0") == 1 and "The forecast has come." in page.text
