"""What links open, to whom, and what the owner sees of it."""

import io
import logging
import re
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

import icalendar
import pytest
import vobject
from pypdf import PdfReader

from app.shoot.shoot import Wish, free_between
from app.storage.shoot_book import Revision
from app.web.shared import FREE_GUESSES, known_before
from app.web.shoots import ShootShelf
from tests.web.conftest import NOW
from tests.web.shared_shoots import (
    DAY_S,
    OWN,
    SITE,
    TELLING,
    WISHES,
    ZONE,
    change,
    clock,
    keep,
    later,
    link,
    share_again,
    shared_by,
    shoot_with,
    slug,
    store,
    tags,
)

__all__ = ["clock", "slug", "store"]

ADDRESS = re.compile(r"http://testserver(/with/[\w-]{32})")


# What a link opens


def test_sharing_gives_one_link_to_each_sheet_and_shows_it_once(client, store):
    slug = keep(store)
    found = ADDRESS.findall(shared_by(client, slug))
    assert len(set(found)) == 2
    assert [kept.kind for kept in store.shoots.links(slug)] == ["couple", "crew"]
    couple, crew = (client.get(address).text for address in dict.fromkeys(found))
    assert "Mira and Tomas" in couple and "Settings" not in couple
    assert "Crew sheet" in crew and "Settings" in crew and "Jun, lights" in crew
    assert ADDRESS.search(client.get(f"/shoots/{slug}/sharing").text) is None


def test_a_couple_is_told_all_that_they_need_and_nothing_else(client, store, slug):
    page = client.get(f"/with/{link(store, slug)}")
    for words in ("Mira and Tomas", "Saturday, 18 September 2027", "By the green doors", "End of the jetty", "Flat soles", "Coats for after", "A shower", "07700 900147", "British Summer Time", "The picture of the evening"):
        assert words in page.text, words
    for words in ("Deposit", "paid half", "54.5", "geo:", "ISO", "° true", "Jun, lights", "/shoots", "/sites", 'href="/"'):
        assert words not in page.text, words


def test_coordinates_are_given_once_they_are_ticked(client, store, slug):
    change(store, slug, telling=replace(TELLING, exact=True))
    shared_by(client, slug, **{"new-couple": "yes"})
    page = client.get(f"/with/{link(store, slug)}").text
    assert 'href="geo:54.57000,-3.13100"' in page and "54.57000, -3.13100" in page


def test_a_page_stands_alone_without_scripts_or_other_hosts(client, store, slug):
    answer = client.get(f"/with/{link(store, slug)}")
    assert not tags(answer.text, "script", "style", "form", "iframe") and "style=" not in answer.text
    sources = [one.get("src") or one.get("href") for one in tags(answer.text, "img", "link")]
    assert sources and all(source.startswith(("data:image/svg+xml;base64,", "/static/")) for source in sources)
    images = tags(answer.text, "img")
    assert len(images) == 2 and all(image["alt"].startswith("Drawing of the picture planned here") for image in images)
    assert answer.headers["referrer-policy"] == "same-origin" and "noindex" in answer.headers["x-robots-tag"]
    assert {"name": "robots", "content": "noindex, nofollow"} in tags(answer.text, "meta")
    assert "private" in answer.headers["cache-control"]


@pytest.mark.parametrize("language, words", [("es", "Punto de encuentro"), ("de", "Treffpunkt"), ("fr", "samedi 18 septembre 2027"), ("it", "sabato 18 settembre 2027"), ("pt", "sábado"), ("tl", "Sabado")])
def test_a_sheet_speaks_the_language_of_its_link(client, store, slug, language, words):
    page = client.get(f"/with/{link(store, slug, language=language)}").text
    assert words in page and f'lang="{language}"' in page


def test_names_are_text_in_any_script(client, store):
    slug = keep(store, shoot_with(people=("<script>alert(1)</script>", "שרה"), name="x"), replace(TELLING, wear="<b>Boots</b> & *coat*"))
    shared_by(client, slug)
    address = f"/with/{link(store, slug)}"
    page = client.get(address).text
    assert "<script" not in page and "&lt;script&gt;" in page
    assert "\u2068שרה\u2069" in page  # isolated, so that what stands beside it is not turned around
    assert "<b>Boots" not in page and "&lt;b&gt;Boots&lt;/b&gt; &amp; *coat*" in page
    paper = PdfReader(io.BytesIO(client.get(f"{address}/sheet.pdf").content))
    assert "<script>alert(1)</script>" in " ".join(one.extract_text() for one in paper.pages)


# What it does not open


def closed_links(store, slug):
    withdrawn, expired = link(store, slug), link(store, slug, made=NOW - 9 * DAY_S, ends=NOW)
    store.shoots.withdraw(slug, store.shoots.links(slug)[-2].id, NOW)
    return {"wrong": "A" * 32, "misshapen": "x", "expired": expired, "withdrawn": withdrawn}


@pytest.mark.parametrize("ending", ["", "/calendar.ics", "/sheet.pdf", "/sheet.pdf?paper=letter", "/calendar.ics?follow=yes"])
def test_wrong_expired_and_withdrawn_links_answer_alike(client, store, slug, ending):
    answers = {why: client.get(f"/with/{token}{ending}") for why, token in closed_links(store, slug).items()}
    (status,), (text,) = ({answer.status_code for answer in answers.values()}, {answer.text for answer in answers.values()})
    assert status == 404 and "Ask your photographer for a new one." in text
    assert len({tuple(sorted((name, value) for name, value in answer.headers.items() if name != "date")) for answer in answers.values()}) == 1
    assert "Mira" not in text and 'href="/"' not in text


def test_a_link_opens_up_to_its_last_second(client, store, slug, clock):
    token = link(store, slug, ends=NOW + 60)
    clock["now"] = NOW + 59.9
    assert client.get(f"/with/{token}").status_code == 200
    clock["now"] = NOW + 60
    assert client.get(f"/with/{token}").status_code == 404


def test_a_deleted_shoot_closes_its_links(client, store, slug):
    token = link(store, slug)
    store.shoots.delete(slug)
    assert client.get(f"/with/{token}").status_code == 404


@pytest.mark.parametrize("method, path", [("GET", "/with"), ("GET", "/with/"), ("GET", "/with/x/y/z"), ("POST", "/with/x"), ("DELETE", "/with/x/sheet.pdf")])
def test_all_else_under_these_addresses_is_the_same_page(client, method, path):
    answer = client.request(method, path, headers=OWN, follow_redirects=False)
    assert answer.status_code == 404 and "Ask your photographer" in answer.text and 'href="/"' not in answer.text


def test_the_closed_page_speaks_the_readers_language(client):
    assert "Ask your photographer" in client.get("/with/x").text
    page = client.get("/with/x", headers={"accept-language": "xx, es-MX;q=0.9, en;q=0.5"})
    assert 'lang="es"' in page.text and "Ask your photographer" not in page.text


def test_guessing_is_slowed_down_and_a_typo_is_not(client, store, slug, clock):
    token = link(store, slug)
    answers = [client.get(f"/with/{'B' * 31}{number % 10}") for number in range(FREE_GUESSES)]
    assert {answer.status_code for answer in answers} == {404}
    busy = client.get(f"/with/{token}")
    assert busy.status_code == 429 and int(busy.headers["retry-after"]) == 2 and "Please wait a minute" in busy.text
    assert client.get("/with/nothing").status_code == 429
    clock["now"] = NOW + 2
    assert client.get(f"/with/{token}").status_code == 200
    assert client.get("/with/nothing").status_code == 404
    clock["now"] = NOW + 5
    assert client.get(f"/with/{token}").status_code == 429  # twice as long the next time
    clock["now"] = NOW + 6
    assert client.get(f"/with/{token}").status_code == 200


def test_guests_who_guess_do_not_slow_the_owners_door(client, store):
    client.get("/with/nothing")
    assert store.door.wrong_tries("testclient", datetime.fromtimestamp(NOW, UTC)).count == 0


def test_a_token_is_neither_kept_nor_logged(client, store, slug, caplog, tmp_path):
    caplog.set_level(logging.DEBUG)
    token = link(store, slug)
    client.get(f"/with/{token}")
    client.get(f"/with/{token}x")
    ours = [record for record in caplog.records if not record.name.startswith("httpx")]  # the test's own browser tells its addresses
    assert all(token not in record.getMessage() for record in ours)
    store.close()
    assert all(token.encode() not in file.read_bytes() for file in tmp_path.glob("westering.sqlite*"))


# What has changed


def test_a_new_sheet_says_what_changed_and_when(client, store, slug, clock):
    token = link(store, slug)
    opened = ShootShelf(store).shoot(slug)
    clock["now"] = NOW + DAY_S / 24
    change(store, slug, wishes=later(WISHES, 5, opened))
    share_again(client, slug)
    page = client.get(f"/with/{token}").text
    assert "Everything starts 5 minutes later." in page and "Changed Saturday, 13:00." in page
    assert "was " in page and "Sheet 2, written Saturday, 13:00." in page
    assert "Everything starts" not in client.get(f"/with/{link(store, slug, made=clock['now'])}").text


def test_sharing_what_has_not_changed_writes_no_new_sheet(client, store, slug, clock):
    clock["now"] = NOW + 600
    share_again(client, slug)
    assert [kept.number for kept in store.shoots.revisions(slug)] == [1]


def test_what_the_reader_knew_is_the_sheet_they_opened_last():
    kept = [Revision(number, NOW + 100 * number, {}, {}) for number in (1, 2, 3)]
    made = NOW + 150
    assert known_before(kept, made, None).number == 2
    assert known_before(kept, made, NOW + 160).number == 1
    assert known_before(kept, made, NOW + 250).number == 2
    assert known_before(kept, made, NOW + 350).number == 2
    assert known_before(kept, NOW + 300, None) is None and known_before(kept[:1], NOW, None) is None


def test_a_shift_across_the_change_of_clocks_is_told_by_what_clocks_show(client, store, clock):
    """On 31 October 2027 clocks in London go back at 02:00; a stop a day later by the same clock time has not moved."""
    wish = Wish("jetty", SITE, "setup-end-of-the-jetty", looks=("double",), must=True)
    frees = {day: free_between(ZONE, day, time(15), time(16, 30)) for day in (date(2027, 10, 30), date(2027, 10, 31))}
    first, second = frees
    slug = keep(store, shoot_with(day=first, wishes=(replace(wish, looks=("open shade",), fixed_start_utc_s=frees[first].starts_utc_s + 600),), free=(frees[first],)))
    shared_by(client, slug)
    token = link(store, slug)
    clock["now"] = NOW + 60
    moved = replace(wish, looks=("open shade",), fixed_start_utc_s=frees[second].starts_utc_s + 600)
    change(store, slug, day=second, wishes=(moved,), free=(frees[second],))
    share_again(client, slug)
    page = client.get(f"/with/{token}").text
    assert "The day has changed: Sunday, 31 October 2027, no longer Saturday, 30 October 2027." in page
    assert "15:10" in page and "later" not in page and "Greenwich Mean Time, UTC" in page


# Calendar and paper


def events(data):
    return {str(event["UID"]): event for event in icalendar.Calendar.from_ical(data).walk("VEVENT")}


def test_a_changed_plan_updates_the_entries_and_doubles_none(client, store, slug, clock):
    address = f"/with/{link(store, slug)}/calendar.ics"
    before = events(client.get(address).content)
    opened = ShootShelf(store).shoot(slug)
    clock["now"] = NOW + 3600
    change(store, slug, wishes=(later(WISHES, 5, opened)[0],))
    share_again(client, slug)
    answer = client.get(address)
    after = events(answer.content)
    assert set(before) == set(after) and len(after) == 2
    assert {int(event["SEQUENCE"]) for event in after.values()} == {2} and {int(event["SEQUENCE"]) for event in before.values()} == {1}
    assert sorted(str(event["STATUS"]) for event in after.values()) == ["CANCELLED", "CONFIRMED"]
    kept = next(event for event in after.values() if event["STATUS"] == "CONFIRMED")
    assert kept["DTSTART"].dt - before[str(kept["UID"])]["DTSTART"].dt == timedelta(minutes=5)
    assert kept["DTSTAMP"].dt == datetime.fromtimestamp(clock["now"], UTC)
    assert answer.headers["content-type"].startswith("text/calendar") and "attachment" in answer.headers["content-disposition"]


def test_a_second_reader_reads_the_same_instants(client, store, slug):
    """Read by vobject, which shares no code with what writes it."""
    data = client.get(f"/with/{link(store, slug)}/calendar.ics").content
    assert all(len(line) <= 75 for line in data.split(b"\r\n"))
    found = {str(one.uid.value): one.dtstart.value for one in vobject.readOne(data.decode()).vevent_list}
    assert found == {uid: event["DTSTART"].dt for uid, event in events(data).items()}
    slots = ShootShelf(store).shoot(slug).order.plan.slots
    assert sorted(one.timestamp() for one in found.values()) == [slot.starts_utc_s for slot in slots]


def test_a_followed_calendar_wishes_to_be_asked_and_is_no_reader(client, store, slug):
    token = link(store, slug)
    page = client.get(f"/with/{token}").text
    follow = next(one["href"] for one in tags(page, "a") if one["href"].startswith("webcal:"))
    assert follow == f"webcal://testserver/with/{token}/calendar.ics?follow=yes"
    store.shoots.renew(slug, store.shoots.links(slug)[-1].id, "0" * 64, NOW + DAY_S)  # a fresh link that nobody has opened
    token = link(store, slug)
    assert b"REFRESH-INTERVAL" in client.get(f"/with/{token}/calendar.ics?follow=yes").content
    assert store.shoots.links(slug)[-1].opened_utc_s is None


@pytest.mark.parametrize("paper, wide_mm", [("a4", 210), ("letter", 215.9), ("papyrus", 210)])
def test_the_printed_sheet_reads_back(client, store, slug, paper, wide_mm):
    """A4 is 210 mm wide (ISO 216), Letter 215.9 mm (ANSI Y14.1); half a point is what no printer shows."""
    answer = client.get(f"/with/{link(store, slug)}/sheet.pdf?paper={paper}")
    pdf = PdfReader(io.BytesIO(answer.content))
    text = " ".join(" ".join(page.extract_text() for page in pdf.pages).split())
    assert answer.headers["content-type"] == "application/pdf"
    assert float(pdf.pages[0].mediabox.width) == pytest.approx(wide_mm * 72 / 25.4, abs=0.5)
    for words in ("Mira and Tomas", "End of the jetty", "By the green doors", "Flat soles", "Instead, if need be"):
        assert words in text, words
