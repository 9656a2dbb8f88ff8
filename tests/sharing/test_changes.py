from dataclasses import replace
from datetime import date

import pytest

from app.sharing.changes import changes, was_utc_s
from app.sharing.languages import LANGUAGES, tongue
from app.sharing.sheet import Contact, CoupleSheet, Meeting, Point, Stop
from tests.sharing.sheets import DOORS, FIRST, JETTY, MEADOW, at, moved, revised

ENGLISH = tongue("en")


def news(after: CoupleSheet, before: CoupleSheet = FIRST) -> tuple[str, ...]:
    return changes(before, after, ENGLISH)


def test_a_revision_that_changes_nothing_says_nothing():
    assert news(revised()) == ()


def test_the_first_stop_later_is_told_in_minutes_and_by_its_time():
    after = revised(stops=(moved(MEADOW, 15), DOORS, JETTY), ready_utc_s=at(16, 15))
    assert news(after) == (
        "The first stop is 15 minutes later: 17:30.",
        "Be ready at 17:15, no longer at 17:00.",
        "The rest has not moved.",
    )


@pytest.mark.parametrize(
    "language, words",
    [
        ("es", "La primera parada es 15 minutos más tarde: 17:30."),
        ("fr", "La première étape est 15 minutes plus tard\u00a0: 17:30."),
        ("de", "Die erste Station ist 15 Minuten später: 17:30."),
        ("it", "La prima tappa è 15 minuti più tardi: 17:30."),
        ("pt", "A primeira etapa é 15 minutos mais tarde: 17:30."),
        ("tl", "Mas huli nang 15 minuto ang unang hinto: 5:30\u202fPM."),
    ],
)
def test_changes_are_told_in_the_language_of_the_sheet(language, words):
    assert changes(FIRST, revised(stops=(moved(MEADOW, 15), DOORS, JETTY)), tongue(language))[0] == words


def test_one_minute_is_one_minute():
    assert news(revised(stops=(MEADOW, DOORS, moved(JETTY, -1))))[0] == "“End of the jetty” is 1 minute earlier: 18:29."


def test_less_than_half_a_minute_is_no_change():
    assert news(revised(stops=(moved(MEADOW, 0.4), DOORS, JETTY))) == ()


def test_everything_moved_together_is_said_once():
    after = revised(stops=tuple(moved(stop, -20) for stop in FIRST.stops))
    assert news(after) == ("Everything starts 20 minutes earlier.",)


def test_a_long_shift_is_told_by_both_times():
    after = revised(stops=(moved(MEADOW, -600), DOORS, JETTY))
    assert news(after)[0] == "“Sheep meadow” starts at 07:15, no longer at 17:15."


def test_a_stop_that_lasts_longer_says_until_when():
    after = revised(stops=(MEADOW, DOORS, replace(JETTY, ends_utc_s=at(18))))
    assert news(after) == ("“End of the jetty” lasts until 19:00.",)


def test_added_and_dropped_stops_are_named():
    beach = Stop("beach", at(18, 15), at(18, 37), "Shingle beach")
    assert news(revised(stops=(MEADOW, JETTY, beach), dropped=(DOORS,))) == (
        "Called off: Boathouse doors.",
        "New: “Shingle beach”, 19:15 to 19:37.",
        "The times have not changed.",
    )


def test_stops_that_change_places_are_told():
    swapped = (replace(DOORS, starts_utc_s=at(16, 15), ends_utc_s=at(16, 35)), moved(MEADOW, 45), JETTY)
    assert "The stops come in another order." in news(revised(stops=swapped))


def test_renamed_moved_and_reworded_stops_are_told():
    other = replace(MEADOW, title="Hay meadow", point=Point(54.6, -3.1), bring="Boots", about="Run.")
    assert news(revised(stops=(other, DOORS, JETTY))) == (
        "“Sheep meadow” is now called “Hay meadow”.",
        "“Hay meadow” is in another place.",
        "What to wear or bring for “Hay meadow” has changed.",
        "The words about “Hay meadow” have changed.",
        "The times have not changed.",
    )


def test_another_day_at_the_same_hours_moves_no_stop():
    day_s = 24 * 3600
    stops = tuple(moved(stop, 24 * 60) for stop in FIRST.stops)
    after = revised(day=date(2027, 9, 19), stops=stops, ready_utc_s=FIRST.ready_utc_s + day_s)
    assert news(after) == (
        "The day has changed: Sunday, 19 September 2027, no longer Saturday, 18 September 2027.",
        "The times have not changed.",
    )


def test_another_day_across_a_clock_change_compares_what_clocks_show():
    """London put its clocks back on 31 October 2027: the same 16:00 is 25 hours later."""
    saturday = replace(
        FIRST, day=date(2027, 10, 30), ready_utc_s=None, decide_utc_s=None, stops=(replace(
            MEADOW, starts_utc_s=at(15) + 42 * 86_400, ends_utc_s=at(16) + 42 * 86_400
        ),),
    )  # fmt: skip
    sunday = replace(saturday, day=date(2027, 10, 31), stops=(moved(saturday.stops[0], 25 * 60),))
    assert len(news(sunday, saturday)) == 2
    assert was_utc_s(saturday, sunday, sunday.stops[0]) is None


@pytest.mark.parametrize(
    "fields, words",
    [
        ({"meeting": Meeting("By the church", None)}, "New meeting point: By the church"),
        ({"meeting": Meeting("By the green doors", Point(54.6, -3.1))}, "The meeting point has moved."),
        ({"turns": ()}, "What happens if the weather turns has changed."),
        ({"decide_utc_s": at(12)}, "What happens if the weather turns has changed."),
        ({"contact": Contact("Marlow", phone="07700 900148")}, "How to reach me has changed."),
    ],
)
def test_what_stands_around_the_stops_is_compared_too(fields, words):
    assert news(revised(**fields))[0] == words


def test_a_moved_stop_knows_when_it_was():
    after = revised(stops=(moved(MEADOW, 15), DOORS, JETTY))
    assert was_utc_s(FIRST, after, after.stops[0]) == MEADOW.starts_utc_s
    assert was_utc_s(FIRST, after, DOORS) is None
    assert was_utc_s(FIRST, after, replace(DOORS, id="new")) is None


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_language_tells_every_kind_of_change(language):
    beach = Stop("beach", at(18, 15), at(18, 37), "Shingle beach")
    after = revised(
        day=date(2027, 9, 19), stops=(replace(MEADOW, title="Hay meadow", bring="x", about="y", where="z"), beach),
        meeting=Meeting("By the church"), contact=Contact(), turns=(), ready_utc_s=at(15),
    )  # fmt: skip
    told = changes(FIRST, after, tongue(language))
    assert len(told) >= 10
    assert all(sentence and "{" not in sentence for sentence in told)


def test_points_that_are_shown_no_longer_have_not_moved():
    hidden = revised(meeting=replace(FIRST.meeting, point=None), stops=tuple(replace(stop, point=None) for stop in FIRST.stops))
    assert changes(FIRST, hidden, tongue("en")) == ()
    assert changes(hidden, FIRST, tongue("en")) == ()


def test_a_site_that_was_only_renamed_is_no_other_place():
    here = replace(FIRST.stops[0], where="Far bank", point=Point(54.57, -3.13))
    renamed, moved_on = replace(here, where="Near bank"), replace(here, point=Point(54.58, -3.13))

    def news(stop):
        return " ".join(changes(*(replace(FIRST, stops=(one, *FIRST.stops[1:])) for one in (here, stop)), tongue("en")))

    assert "another place" not in news(renamed) and "another place" in news(moved_on)
    assert "another place" in news(replace(renamed, point=None)) and "another place" not in news(replace(here, where="", point=None))


def test_what_is_called_off_is_a_sentence():
    fewer = replace(FIRST, stops=FIRST.stops[1:])
    assert f"Called off: {FIRST.stops[0].title}." in changes(FIRST, fewer, tongue("en"))
