"""Who is asked for a forecast, in which order, and what is said when nobody has one."""

import pytest

from app.outside.fetch import open_client
from app.outside.forecast_met import MetNorway
from app.outside.forecast_openmeteo import OpenMeteo
from app.outside.forecasts import NOTHING, ask_forecasts
from app.outside.kept_answer import Spot, Wait, off_the_hour_utc_s
from tests.outside.weather_server import HOUR, NOW, met_says, open_answer, says, served, sleeps, then

SPOT = Spot(54.57, -3.13, 75)


@pytest.fixture(autouse=True)
def no_proxy(monkeypatch):
    """Loopback is asked directly, whatever this machine's environment says."""
    monkeypatch.setenv("NO_PROXY", "127.0.0.1")


OTHER = says(open_answer())


def ask(first, second=OTHER, spots=(SPOT,), kept=(), waits=(), now=NOW, pause_s=5.0):
    with served(first) as one, served(second) as two:
        sources = (MetNorway("studio@example.org", one.address), OpenMeteo(address=two.address))
        outcome = ask_forecasts(sources, spots, kept, waits, now, 0.0, open_client(pause_s))
    return outcome, len(one.asked), len(two.asked)


def test_the_first_source_is_enough():
    outcome, first, second = ask(met_says())
    assert (outcome.forecasts[0].source, outcome.fresh, first, second) == ("MET Norway", True, 1, 0)
    assert outcome.words == ("Forecast from MET Norway, CC BY 4.0: made 2 hours ago, fetched just now.",)
    assert [(one.source, one.spot) for one in outcome.to_keep] == [("met", SPOT.key)]


def test_then_the_other_one_with_the_reason():
    outcome, *_ = ask(says(status=500))
    assert outcome.forecasts[0].source == "Open-Meteo" and outcome.fresh
    assert outcome.words == (
        "Weather data by Open-Meteo.com, CC BY 4.0: fetched just now.",
        "127.0.0.1 answered with an error (status 500).",
    )


def test_then_the_last_one_kept_with_its_age():
    kept = ask(met_says())[0].to_keep
    outcome, *_ = ask(says(status=500), sleeps, kept=kept, now=NOW + 5 * HOUR, pause_s=0.2)
    assert outcome.forecasts[0].source == "MET Norway" and not outcome.fresh and outcome.to_keep == ()
    assert outcome.words == (
        "Forecast from MET Norway, CC BY 4.0: made 7 hours ago, fetched 5 hours ago.",
        "127.0.0.1 answered with an error (status 500).",
        "127.0.0.1 took too long to answer.",
        "The last forecast that was kept is used.",
    )


def test_the_newest_kept_one_is_used():
    old = ask(met_says())[0].to_keep
    newer = ask(says(status=500), now=NOW + HOUR)[0].to_keep
    outcome, *_ = ask(says(status=500), says(status=500), kept=(*old, *newer), now=NOW + 9 * HOUR)
    assert outcome.forecasts[0].source == "Open-Meteo" and "fetched 8 hours ago" in outcome.words[0]


def test_then_none_and_what_can_be_done():
    outcome, *_ = ask(says(status=500), says(status=429))
    assert (outcome.forecasts, outcome.fresh) == ((None,), False)
    assert outcome.words[-1] == NOTHING and len(outcome.words) == 3


def test_with_no_source_set_nothing_is_asked():
    assert ask_forecasts((), (SPOT,), (), (), NOW).words == (NOTHING,)


def test_an_answer_that_cannot_be_read_replaces_no_good_one():
    kept = ask(met_says())[0].to_keep
    outcome, *_ = ask(says(b"<html>"), says(b"<html>"), kept=kept, now=NOW + HOUR)
    assert outcome.to_keep == () and outcome.forecasts[0] is not None


def test_a_kept_answer_that_cannot_be_read_is_passed_over():
    (good,) = ask(met_says())[0].to_keep
    broken = type(good)("openmeteo", SPOT.key, "{", NOW + 60, NOW + 60)
    outcome, *_ = ask(says(status=500), says(status=500), kept=(broken, good), now=NOW + HOUR)
    assert outcome.forecasts[0].source == "MET Norway"


def test_who_asked_for_peace_is_left_alone_and_said():
    limited, *_ = ask(says(status=429))
    assert limited.waits == (Wait("met", NOW + 600, 1),)
    outcome, first, second = ask(met_says(), waits=limited.waits, now=NOW + 300)
    assert (first, second, outcome.waits) == (0, 1, limited.waits)
    assert "MET Norway asked to be left alone; it is asked again in 5 minutes." in outcome.words


def test_peace_grows_with_the_second_refusal_and_ends_with_an_answer():
    again, *_ = ask(says(status=429), waits=(Wait("met", NOW - 1, 1),))
    assert again.waits == (Wait("met", NOW + 1200, 2),)
    assert ask(met_says(), waits=(Wait("met", NOW - 1, 2),))[0].waits == ()


def test_a_section_comes_from_one_source():
    spots = tuple(Spot(54.57, -3.13 - step) for step in range(3))
    outcome, first, second = ask(then(met_says(), says(status=500)), spots=spots)
    assert [one and one.source for one in outcome.forecasts] == ["MET Norway", None, None]
    assert (first, second) == (2, 0)
    assert outcome.words[1:] == ("127.0.0.1 answered with an error (status 500).", "For 2 of 3 places it gives nothing.")


def test_older_answers_fill_the_rest_of_a_section_and_are_told():
    spots = tuple(Spot(54.57, -3.13 - step) for step in range(2))
    kept = ask(met_says(), spots=spots)[0].to_keep
    later = NOW + 5 * HOUR
    outcome, *_ = ask(then(met_says(clock=later), says(status=500)), spots=spots, kept=kept, now=later)
    assert [one.fetched_utc_s for one in outcome.forecasts] == [later, NOW]
    assert "For 1 of 2 places an older one that was kept is used." in outcome.words


def test_a_wrong_clock_is_told():
    outcome, *_ = ask(met_says(clock=NOW + HOUR))
    assert outcome.clock_ahead_s == pytest.approx(-HOUR)
    assert "This machine's clock is 60 minutes behind that of MET Norway." in outcome.words[1]


@pytest.mark.parametrize("count", [0, 21])
def test_one_to_twenty_spots_are_asked_for(count):
    with pytest.raises(ValueError, match=f"1 to 20 spots at once; {count} came"):
        ask_forecasts((), (SPOT,) * count, (), (), NOW)


@pytest.mark.parametrize(("chance", "minutes"), [(0.0, 3), (1.0, 20)])
def test_a_timer_never_asks_on_the_hour(chance, minutes):
    assert off_the_hour_utc_s(NOW, chance) == NOW + minutes * 60
