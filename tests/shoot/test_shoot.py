"""What a shoot refuses, its free time on odd days, and its file there and back."""

import json
from dataclasses import replace
from datetime import UTC, date, datetime, time

import pytest

from app.errors import BadInput
from app.shoot.shoot import Free, Meeting, Shoot, Walk, Wish, free_between
from app.shoot.shootfile import read_shoot, shoot_document, write_shoot
from tests.shoot.evenings import DAY, ZONE, pin, shoot, wish

FULL = replace(
    shoot(
        wish("gate", must=True, weight=2.5, looks=("backlit", "side light"), change_before_min=20, notes="Boots"),
        wish("jetty", after=("gate",), lights_min=10, standby="gate", fixed_start_utc_s=1_821_291_000.0),
    ),
    people=("Zoë", "عمر"),
    meeting=Meeting("By the “old” gate <3", pin(40)),
    walks=(Walk("meadow/gate", "meadow/jetty", 12, "stairs"),),
    pace_m_s=1.0,
    drive_km_h=30.0,
    blocked=(date(2027, 9, 25),),
    notes="Bring the dog.",
)


def test_a_shoot_goes_to_its_file_and_back_without_loss():
    assert read_shoot(write_shoot(FULL)) == FULL
    assert read_shoot(shoot_document(FULL)) == FULL
    assert shoot_document(read_shoot(json.loads(write_shoot(FULL)))) == shoot_document(FULL)


def test_what_is_left_out_of_a_file_takes_its_default():
    bare = read_shoot({"id": "linnet", "day": "2027-09-18", "zone": ZONE, "wishes": [{"id": "a", "site": "s", "setup": "t"}]})
    assert bare == Shoot("linnet", "", DAY, ZONE, (Wish("a", "s", "t"),))


@pytest.mark.parametrize(
    ("change", "field", "match"),
    [
        ({"id": ""}, "id", "short text"),
        ({"day": "18.9.2027"}, "day", "looks like 2027-09-18"),
        ({"day": 5}, "day", "looks like"),
        ({"zone": "Europe/Nowhere"}, None, "is no time zone"),
        ({"wishes": {}}, "wishes", "is a list"),
        ({"wishes": [{"id": "a", "site": "s", "setup": "t", "shortest_min": 30}]}, "shortest_min", "30 and 20 min came"),
        ({"wishes": [{"id": "a", "site": "s", "setup": "t", "ideal_min": 20.5}]}, "ideal_min", "whole minutes"),
        ({"wishes": [{"id": "a", "site": "s", "setup": "t", "weight": 11}]}, "weight", "between 0.1 and 10"),
        ({"wishes": [{"id": "a", "site": "s", "setup": "t", "must": "yes"}]}, "must", "true or false"),
        ({"wishes": [{"id": "a", "site": "s", "setup": "t", "size": 1}]}, "size", "A wish has no “size”"),
        ({"wishes": [{"id": "a", "site": "s", "setup": "t", "after": ["b"]}]}, "after", "no wish of this shoot"),
        ({"wishes": [{"id": "a", "site": "s", "setup": "t", "fixed_start": "18:40"}]}, "fixed_start", "has no offset|looks like"),
        ({"wishes": [{"id": "a", "site": "s", "setup": "t", "fixed_start": "2027-09-28T18:40Z"}]}, "fixed_start", "more than a day"),
        ({"free": [{"from": "2027-09-18T18:00Z", "to": "2027-09-18T17:00Z"}]}, "free", "ends after it begins"),
        ({"free": [{"from": "2027-08-18T16:00Z", "to": "2027-08-18T17:00Z"}]}, "free", "within a day"),
        ({"walks": [{"between": ["a/b"], "minutes": 3}]}, "walks", "between two spots"),
        ({"walks": [{"between": ["a/b", "a/b"], "minutes": 3}]}, "walks", "two different"),
        ({"meeting": {"pin": {"lat_deg": 95, "lon_deg": 0}}}, "lat_deg", "between -90 and 90"),
        ({"colour": 1}, "colour", "no “colour”"),
        ({"westering_shoot": 2}, "westering_shoot", "newer program"),
    ],
)
def test_bad_files_are_refused_in_words_that_name_the_field(change, field, match):
    with pytest.raises(BadInput, match=match) as refused:
        read_shoot({"id": "linnet", "day": "2027-09-18", "zone": ZONE} | change)
    assert refused.value.field == field


def test_wishes_that_follow_each_other_in_a_circle_are_named():
    with pytest.raises(BadInput, match="in a circle: “A”, “B”, “C”"):
        shoot(wish("a", after=("c",)), wish("b", after=("a",)), wish("c", after=("b",)), wish("d", after=("a",)))
    with pytest.raises(BadInput, match="cannot come after itself"):
        wish("a", after=("a",))


def test_two_wishes_of_one_id_overlapping_times_and_a_walk_twice_are_refused():
    with pytest.raises(BadInput, match="Two wishes have the id “a”"):
        shoot(wish("a"), wish("a"))
    with pytest.raises(BadInput, match="do not overlap"):
        shoot(free=((time(17), time(19)), (time(18), time(20))))
    with pytest.raises(BadInput, match="typed twice"):
        replace(FULL, walks=(Walk("a/b", "a/c", 1), Walk("a/c", "a/b", 2)))


def at(text):
    return datetime.fromisoformat(text).replace(tzinfo=UTC).timestamp()


def test_free_time_across_midnight_ends_the_day_after():
    assert free_between(ZONE, DAY, time(22, 30), time(1, 15)) == Free(at("2027-09-18T21:30"), at("2027-09-19T00:15"))


@pytest.mark.parametrize(
    ("day", "start", "end", "hours"),
    [
        (date(2027, 3, 28), time(0, 30), time(2, 30), 1),  # clocks skip 1:00 to 2:00
        (date(2027, 10, 31), time(0, 30), time(2, 30), 3),  # clocks strike 1:00 to 2:00 twice
        (date(2027, 10, 31), time(0, 30), time(1, 30), 2),  # ends at the second 1:30
        (date(2027, 10, 31), time(1, 30), time(2, 30), 2),  # begins at the first
    ],
)
def test_free_time_on_the_days_the_clocks_change(day, start, end, hours):
    """The United Kingdom's clocks change on the last Sundays of March and October, at 01:00 UTC."""
    free = free_between(ZONE, day, start, end)
    assert free.ends_utc_s - free.starts_utc_s == hours * 3600


def test_without_free_time_the_whole_civil_day_counts():
    assert shoot(free=()).open_time == (Free(at("2027-09-17T23:00"), at("2027-09-18T23:00")),)
