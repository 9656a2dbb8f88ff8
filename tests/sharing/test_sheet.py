from dataclasses import replace

import pytest

from app.errors import BadInput
from app.sharing.sheet import MOST_STOPS, CrewNotes, CrewSheet, Point, Revision, Stop
from tests.sharing.sheets import CREW, DOORS, FIRST, JETTY, MEADOW, at, moved


def test_it_is_over_when_the_last_stop_ends_unless_said_otherwise():
    longest_first = replace(FIRST, stops=(replace(MEADOW, ends_utc_s=at(19)), DOORS))
    assert longest_first.done == at(19)
    assert replace(FIRST, done_utc_s=at(20)).done == at(20)
    assert replace(FIRST, stops=()).done is None


def test_a_geo_link_has_latitude_first():
    """RFC 5870: latitude, then longitude; RFC 7946 has it the other way round."""
    assert Point(54.571, -3.134).geo == "geo:54.57100,-3.13400"


def test_a_stop_of_another_zone_is_told_by_its_own_clocks():
    assert FIRST.zone_of(replace(MEADOW, zone="Europe/Paris")) == "Europe/Paris"
    assert FIRST.zone_of(MEADOW) == "Europe/London"


def test_notes_are_found_by_stop_and_empty_where_there_are_none():
    assert CREW.notes_of(JETTY).lights == ("Key, 1/4 power",)
    assert CREW.notes_of(DOORS) == CrewNotes("doors")


@pytest.mark.parametrize(
    "make, message",
    [
        (lambda: Stop("", at(16), at(17), "Meadow"), "id of its own"),
        (lambda: Stop("a", at(17), at(16), "Meadow"), "“Meadow” ends after it begins"),
        (lambda: Stop("a", at(16), float("nan"), "Meadow"), "at an instant"),
        (lambda: Stop("a", at(16), at(17), "Meadow", walk_min=-1), "0 to 1440 min; -1 came"),
        (lambda: Stop("a", at(16), at(17), "Meadow", zone="Nowhere/Land"), "is no time zone"),
        (lambda: Point(91.0, 0.0), "latitude"),
        (lambda: Revision(0, at(9)), "count from 1"),
        (lambda: replace(FIRST, zone="Nowhere/Land"), "is no time zone"),
        (lambda: replace(FIRST, stops=(JETTY, MEADOW)), "in time order"),
        (lambda: replace(FIRST, stops=(MEADOW, JETTY), dropped=(MEADOW,)), "one came twice"),
        (lambda: replace(FIRST, stops=(MEADOW, moved(DOORS, 3 * 24 * 60))), "up to 48 hours"),
        (lambda: replace(FIRST, stops=(MEADOW,) * (MOST_STOPS + 1)), "Split the day"),
        (lambda: CrewSheet(FIRST, (CrewNotes("roof"),)), "“roof”, which is no stop"),
    ],
)
def test_what_contradicts_itself_is_refused_in_words(make, message):
    with pytest.raises(BadInput, match=message):
        make()
