"""Read back by icalendar and by vobject, which share no code."""

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from uuid import UUID

import icalendar
import pytest
import vobject

from app.sharing.calendar import calendar_feed, calendar_file, uid
from app.sharing.languages import LANGUAGES, tongue
from app.sharing.sheet import CoupleSheet, Point
from tests.sharing.sheets import DOORS, FIRST, JETTY, MEADOW, at, moved, revised

ENGLISH = tongue("en")
LINK = "https://photographs.example/with/abc"


def events(text: bytes) -> dict[str, icalendar.Event]:
    calendar = icalendar.Calendar.from_ical(text)
    assert all(event.errors == [] for event in calendar.walk())
    return {str(event["UID"]): event for event in calendar.walk("VEVENT")}


def event_of(sheet: CoupleSheet, stop_id: str, **options: str) -> icalendar.Event:
    return events(calendar_file(sheet, ENGLISH, **options))[uid(sheet, stop_id)]


def by_vobject(text: bytes) -> Iterator[vobject.base.Component]:
    return iter(vobject.readOne(text.decode("utf-8")).vevent_list)


def test_two_readers_find_the_same_instants():
    text = calendar_file(FIRST, ENGLISH, LINK)
    ours = [(stop.starts_utc_s, stop.ends_utc_s) for stop in FIRST.stops]
    one = [(event.start.timestamp(), event.end.timestamp()) for event in events(text).values()]
    other = [(e.dtstart.value.timestamp(), e.dtend.value.timestamp()) for e in by_vobject(text)]
    assert one == other == ours


def test_two_readers_find_the_same_words():
    text = calendar_file(FIRST, ENGLISH, LINK)
    one = [(str(e["SUMMARY"]), str(e["DESCRIPTION"]), str(e["LOCATION"])) for e in events(text).values()]
    assert one == [(e.summary.value, e.description.value, e.location.value) for e in by_vobject(text)]
    assert one[0] == (
        "Photographs: Sheep meadow",
        "17:15 to 17:40 (British Summer Time, UTC+1)\nBe ready at 17:00.\nWhere to meet: By the green doors\n"
        "You walk, I follow.\nWear or bring: Flat soles\n"
        f"A calendar can be a day late. On the day, the sheet counts: {LINK}",
        "Behind the barn, Tarnholme",
    )


def test_instants_are_written_in_utc_and_no_zone_is_named():
    text = calendar_file(FIRST, ENGLISH).decode()
    assert "DTSTART:20270918T161500Z" in text
    assert "TZID" not in text and "VTIMEZONE" not in text


def test_the_head_says_what_a_calendar_has_to():
    """RFC 5545, 3.6 and 3.7: VERSION and PRODID once each, METHOD once at most."""
    text = calendar_file(FIRST, ENGLISH).decode()
    for line in ("VERSION:2.0", "METHOD:PUBLISH", "NAME:Photographs at Tarnholme", "X-WR-CALNAME:Photographs at Tarnholme"):
        assert text.count(f"\r\n{line}\r\n") == 1
    assert text.count("PRODID:") == 1


def test_only_the_feed_asks_to_be_fetched_again():
    """RFC 7986, 5.7: REFRESH-INTERVAL is a positive duration, its value type written out."""
    assert "REFRESH-INTERVAL;VALUE=DURATION:PT1H\r\n" in calendar_feed(FIRST, ENGLISH).decode()
    assert "REFRESH-INTERVAL" not in calendar_file(FIRST, ENGLISH).decode()
    assert list(events(calendar_feed(FIRST, ENGLISH))) == list(events(calendar_file(FIRST, ENGLISH)))


def test_an_entry_has_all_that_other_programs_need():
    event = event_of(FIRST, "meadow", link=LINK)
    written = datetime(2027, 9, 11, 9, tzinfo=UTC)
    assert event["DTSTAMP"].dt == event["LAST-MODIFIED"].dt == written
    assert (event["SEQUENCE"], event["STATUS"], event["TRANSP"], event["URL"]) == (1, "CONFIRMED", "OPAQUE", LINK)
    assert (event["GEO"].latitude, event["GEO"].longitude) == (54.5731, -3.1382)
    assert "GEO" not in event_of(FIRST, "doors")


def test_a_changed_plan_updates_the_entry_and_never_doubles_it():
    after = revised(stops=(moved(MEADOW, 15), DOORS, JETTY))
    old, new = events(calendar_file(FIRST, ENGLISH)), events(calendar_file(after, ENGLISH))
    assert list(old) == list(new)
    for key, event in new.items():
        assert event["SEQUENCE"] > old[key]["SEQUENCE"]
        assert event["DTSTAMP"].dt > old[key]["DTSTAMP"].dt
        assert event["LAST-MODIFIED"].dt > old[key]["LAST-MODIFIED"].dt
    assert new[uid(after, "meadow")].start - old[uid(FIRST, "meadow")].start == timedelta(minutes=15)


def test_an_entry_keeps_its_name_when_everything_else_changes():
    renamed = revised(stops=(replace(moved(MEADOW, 15), title="Hay meadow"),), place="Elsewhere")
    assert uid(renamed, "meadow") == uid(FIRST, "meadow")
    assert uid(replace(FIRST, id="other"), "meadow") != uid(FIRST, "meadow")


def test_a_uid_is_a_uuid_and_tells_nothing():
    """RFC 7986, 5.3: a UUID, and nothing that identifies a host or a person."""
    found = uid(FIRST, "meadow")
    assert UUID(found).version == 5
    assert "tarn" not in found and "meadow" not in found


def test_a_dropped_stop_stays_as_cancelled():
    after = revised(stops=(MEADOW, JETTY), dropped=(DOORS,))
    event = event_of(after, "doors")
    assert (event["STATUS"], event["TRANSP"]) == ("CANCELLED", "TRANSPARENT")
    assert (event["SUMMARY"], event["SEQUENCE"]) == ("Called off: Boathouse doors", 2)
    assert event.start.timestamp() == DOORS.starts_utc_s


def test_a_sheet_without_stops_keeps_the_day_free():
    """RFC 5545, 3.6: a calendar has one component at least."""
    (event,) = events(calendar_feed(replace(FIRST, stops=()), ENGLISH, LINK)).values()
    assert (event.start, event.end) == (date(2027, 9, 18), date(2027, 9, 19))


def test_lines_fold_at_75_octets_inside_no_letter():
    """RFC 5545, 3.1: at most 75 octets without the break, CRLF, a fold never inside a character by us."""
    long = replace(MEADOW, title="Łąka pod lasem " * 9, bring="花束と傘、" * 40, about="👰🏽‍♀️" * 30)
    text = calendar_file(revised(stops=(long,)), ENGLISH, LINK)
    lines = text.split(b"\r\n")
    assert lines[-1] == b"" and b"\n" not in text.replace(b"\r\n", b"")
    assert max(map(len, lines)) <= 75
    assert sum(len(line) > 70 for line in lines) > 5  # it was folded, not merely short
    assert all(line.decode("utf-8") for line in lines[:-1])
    event = events(text)[uid(FIRST, "meadow")]
    assert event["SUMMARY"] == f"Photographs: {long.title}"
    assert f"Wear or bring: {long.bring}" in event["DESCRIPTION"]
    assert long.about in next(by_vobject(text)).description.value


def test_words_that_look_like_calendar_lines_stay_words():
    odd = "Hat; gloves, \\n\r\nBEGIN:VALARM\r\nTRIGGER:-PT1H\r\nEND:VALARM: x"
    text = calendar_file(revised(stops=(replace(MEADOW, bring=odd, title=odd, where=odd),)), ENGLISH)
    calendar = icalendar.Calendar.from_ical(text)
    assert calendar.walk("VALARM") == []
    assert len(list(by_vobject(text))) == 1
    assert not re.search(rb"^(BEGIN:VALARM|TRIGGER)", text, re.MULTILINE)
    assert "Hat; gloves, \\n" in str(calendar.walk("VEVENT")[0]["SUMMARY"])


@pytest.mark.parametrize(
    "instant, written",
    [
        (datetime(2027, 3, 28, 0, 59, tzinfo=UTC), "20270328T005900Z"),  # 00:59, before the skip
        (datetime(2027, 3, 28, 1, 0, tzinfo=UTC), "20270328T010000Z"),  # 02:00, after it
        (datetime(2027, 10, 31, 0, 30, tzinfo=UTC), "20271031T003000Z"),  # 01:30, the first
        (datetime(2027, 10, 31, 1, 30, tzinfo=UTC), "20271031T013000Z"),  # 01:30, the second
    ],
)
def test_instants_are_right_on_the_days_the_clocks_change(instant, written):
    """London's clocks went on 28 March 2027 and back on 31 October 2027, at 01:00 UTC: the tz database."""
    stop = replace(MEADOW, starts_utc_s=instant.timestamp(), ends_utc_s=instant.timestamp() + 600)
    text = calendar_file(replace(FIRST, day=instant.date(), stops=(stop,)), ENGLISH)
    assert f"DTSTART:{written}\r\n" in text.decode()
    (event,) = events(text).values()
    assert event.start == next(by_vobject(text)).dtstart.value == instant


def test_the_local_time_is_told_in_words_on_the_day_the_clocks_go_back():
    starts_utc_s = datetime(2027, 10, 31, 0, 30, tzinfo=UTC).timestamp()
    stop = replace(MEADOW, starts_utc_s=starts_utc_s, ends_utc_s=starts_utc_s + 3600)
    event = event_of(replace(FIRST, day=date(2027, 10, 31), stops=(stop,), ready_utc_s=None), "meadow")
    assert event["DESCRIPTION"].startswith("01:30 (UTC+1) to 01:30 (UTC) (British Summer Time, UTC+1)")


def test_a_place_beyond_six_decimals_is_rounded():
    stop = replace(MEADOW, point=Point(54.571234567, -3.1))
    assert event_of(revised(stops=(stop,)), "meadow")["GEO"].to_ical() == "54.571235;-3.1"


@pytest.mark.parametrize("language", LANGUAGES)
def test_each_language_makes_a_calendar_that_both_read(language):
    text = calendar_feed(revised(stops=(MEADOW, JETTY), dropped=(DOORS,)), tongue(language), LINK)
    assert len(events(text)) == len(list(by_vobject(text))) == 3
    assert max(map(len, text.split(b"\r\n"))) <= 75


def test_the_first_stop_tells_when_to_be_ready_and_the_others_do_not():
    assert "Be ready" in event_of(FIRST, "meadow")["DESCRIPTION"]
    assert "Be ready" not in event_of(FIRST, "jetty")["DESCRIPTION"]
    assert FIRST.ready_utc_s == at(16)


def test_a_stop_at_one_of_two_sites_names_that_site_alone():
    barn = replace(FIRST.stops[0], where="Tarnholme")
    text = calendar_file(replace(FIRST, place="Merrowmere, Tarnholme", stops=(barn, *FIRST.stops[1:])), tongue("en"))
    assert next(iter(icalendar.Calendar.from_ical(text).events))["location"] == f"{barn.title}, Tarnholme"
