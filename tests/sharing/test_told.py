from dataclasses import replace
from datetime import UTC, datetime

import pytest

from app.sharing.labels import shut_labels
from app.sharing.languages import LANGUAGES, tongue
from app.sharing.told import told
from tests.sharing.sheets import CREW, DOORS, FIRST, JETTY, MEADOW, at, moved, revised

ENGLISH = tongue("en")


def test_a_sheet_is_told_with_every_time_ready_to_show():
    sheet = told(FIRST, ENGLISH)
    assert (sheet.names, sheet.place, sheet.date) == ("Ines and Tomasz", "Tarnholme", "Saturday, 18 September 2027")
    assert (sheet.ready, sheet.done) == ("17:00", "18:52")
    assert [stop.span for stop in sheet.stops] == ["17:15 to 17:40", "18:00 to 18:20", "18:30 to 18:52"]
    assert sheet.stops[2].walk == "6 minutes on foot. Along the shore."
    assert sheet.decide == "I decide by Saturday, 14:00 and write to you."
    assert sheet.written == "Sheet 1, written 11 September 2027, 10:00."
    assert sheet.zone == "All times are local: British Summer Time, UTC+1."
    assert (sheet.changes, sheet.changed, sheet.stops[0].was) == ((), "", "")


def test_a_new_revision_says_what_changed_and_when():
    after = revised(stops=(moved(MEADOW, 15), DOORS, JETTY))
    sheet = told(after, ENGLISH, before=FIRST)
    assert sheet.changes[0] == "The first stop is 15 minutes later: 17:30."
    assert sheet.changed == "Changed Saturday, 08:10."
    assert [stop.was for stop in sheet.stops] == ["was 17:15", "", ""]


def test_a_couple_is_told_nothing_of_the_crew():
    words = repr(told(CREW.couple, ENGLISH))
    assert all(secret not in words for secret in ("1/4 power", "Camera on the shore", "Jun", "Gusts"))


def test_the_crew_is_told_the_couples_stops_and_its_own_notes():
    sheet = told(CREW, ENGLISH)
    assert sheet.for_crew
    assert sheet.stops[2].notes.lights == ("Key, 1/4 power",)
    assert (sheet.crew, sheet.cautions) == (("Jun, lights",), ("Gusts to 30 km/h",))


def test_a_stop_by_other_clocks_says_whose():
    there = replace(JETTY, zone="Europe/Paris")
    sheet = told(revised(stops=(MEADOW, there)), ENGLISH)
    assert sheet.stops[0].span == "17:15 to 17:40"
    assert sheet.stops[1].span == "19:30 to 19:52 (Central European Summer Time, UTC+2)"


def test_a_sheet_without_stops_still_reads():
    sheet = told(replace(FIRST, stops=(), ready_utc_s=None, decide_utc_s=None), ENGLISH)
    assert (sheet.ready, sheet.done, sheet.decide, sheet.stops) == ("", "", "", ())
    assert sheet.labels.no_stops == "Nothing is settled yet. The stops will stand here."


def test_a_stop_after_midnight_names_its_weekday():
    late = replace(JETTY, starts_utc_s=at(22, 50), ends_utc_s=at(23, 20))
    assert told(revised(stops=(late,)), ENGLISH).stops[0].span == "23:50 to 00:20 (Sunday)"


@pytest.mark.parametrize("language", LANGUAGES)
def test_each_language_tells_a_whole_sheet(language):
    speak = tongue(language)
    sheet = told(revised(stops=(moved(MEADOW, 15), DOORS, JETTY)), speak, before=FIRST)
    words = [*vars(sheet.labels).values(), *vars(shut_labels(speak)).values(), *sheet.changes]
    words += [sheet.date, sheet.ready, sheet.done, sheet.decide, sheet.changed, sheet.zone, sheet.written]
    words += [text for stop in sheet.stops for text in (stop.start, stop.span, stop.frame_alt)]
    assert all(word and "{" not in word for word in words)


def test_the_end_is_told_by_the_clocks_of_the_last_stop():
    *most, last = FIRST.stops
    abroad = replace(FIRST, stops=(*most, replace(last, zone="Europe/Paris")))
    done = told(abroad, tongue("en"))
    assert done.done.startswith(done.stops[-1].span.split(" to ")[1].split(" (")[0])
    assert done.done.endswith("(Central European Summer Time, UTC+2)")
    assert "(" not in told(FIRST, tongue("en")).done


def test_a_sheet_without_stops_is_told_by_the_clocks_of_its_day():
    """In September London keeps summer time, whenever the sheet was written."""
    written_in_winter = replace(FIRST.revision, written_utc_s=datetime(2026, 11, 25, tzinfo=UTC).timestamp())
    assert "British Summer Time" in told(replace(FIRST, stops=(), revision=written_in_winter), tongue("en")).zone
