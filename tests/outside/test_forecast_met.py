"""MET Norway's forecast from a stand-in that answers as documented, or falls ill."""

import pytest

from app.errors import BadInput, Unavailable
from app.outside.fetch import open_client
from app.outside.forecast_met import MetNorway
from app.outside.kept_answer import Kept, Spot
from tests.outside import weather_server
from tests.outside.weather_server import (
    HOUR,
    LAST_MODIFIED,
    NOW,
    hangs_up,
    http_date,
    met_answer,
    met_says,
    says,
    served,
    sleeps,
    then,
)  # fmt: skip

SPOT = Spot(54.570049, -3.130051, 74.6)
CONTACT = "studio@example.org"


@pytest.fixture(autouse=True)
def no_proxy(monkeypatch):
    """Loopback is asked directly, whatever this machine's environment says."""
    monkeypatch.setenv("NO_PROXY", "127.0.0.1")


def ask(answer, before=None, now=NOW, spots=(SPOT,), pause_s=5.0, waited=0):
    with served(answer) as server:
        met = MetNorway(CONTACT, server.address)
        with open_client(pause_s) as client:
            batch = met.ask(spots, before or {}, now, 0.0, client, waited)
    return met, batch, server.asked


def test_the_question_says_who_asks_and_sends_no_more_than_four_decimals():
    _, _, ((query, headers),) = ask(met_says())
    assert query == {"lat": ["54.5700"], "lon": ["-3.1301"], "altitude": ["75"]}
    assert headers["User-Agent"] == "Westering/1 studio@example.org"
    assert "If-Modified-Since" not in headers


def test_an_unknown_height_is_not_sent():
    _, _, ((query, _),) = ask(met_says(), spots=(Spot(54.57, -3.13),))
    assert set(query) == {"lat", "lon"}


def test_the_documented_answer_becomes_hours():
    met, batch, _ = ask(met_says())
    forecast = met.read(batch.kept[SPOT.key])
    first = forecast.hours[0]
    assert batch.fault == "" and batch.notes == []
    assert (first.utc_s, first.cloud, first.low, first.middle, first.high) == (NOW, 0.625, 0.125, 0.0, 0.5)
    assert (first.wind_m_s, first.gust_m_s, first.wind_from_deg, first.fog) == (3.2, 6.4, 240.5, 0.0)
    assert (first.temperature_c, first.sea_pressure_hpa, first.rain_mm_h) == pytest.approx((14.5, 1013.2, 0.2))
    assert (forecast.source, forecast.issued_utc_s, forecast.fetched_utc_s) == ("MET Norway", NOW - 2 * HOUR, NOW)
    assert "CC BY 4.0" in forecast.attribution


def test_later_rows_tell_rain_over_six_hours_and_the_last_not_at_all():
    met, batch, _ = ask(met_says())
    hours = met.read(batch.kept[SPOT.key]).hours
    assert [hour.rain_mm_h for hour in hours[-2:]] == [0.5, None]
    assert met.read(batch.kept[SPOT.key]).at(NOW + 20 * HOUR) is not None


def test_what_is_left_out_is_not_given():
    met, batch, _ = ask(met_says(gust=False))
    hour = met.read(batch.kept[SPOT.key]).hours[0]
    assert (hour.gust_m_s, hour.visibility_m) == (None, None)


def test_nulls_are_not_given_and_other_units_are_converted():
    answer = met_answer()
    details = answer["properties"]["timeseries"][0]["data"]["instant"]["details"]
    details |= {"wind_speed": 36.0, "air_temperature": 50.0, "cloud_area_fraction": None}
    answer["properties"]["meta"]["units"] = {"wind_speed": "km/h", "air_temperature": "fahrenheit"}
    met, batch, _ = ask(says(answer))
    hour = met.read(batch.kept[SPOT.key]).hours[0]
    assert (hour.wind_m_s, hour.temperature_c, hour.cloud) == (pytest.approx(10.0), pytest.approx(10.0), None)


def test_it_is_not_asked_again_before_it_expires():
    _, first, _ = ask(met_says(life_s=1800))
    assert first.kept[SPOT.key].ask_again_utc_s == NOW + 1800
    _, early, asked = ask(met_says(), first.kept, NOW + 1799)
    assert asked == [] and early.kept == first.kept
    assert len(ask(met_says(), first.kept, NOW + 1801)[2]) == 1


def test_afterwards_it_is_asked_whether_anything_is_new():
    _, first, _ = ask(met_says())
    later = NOW + 2 * HOUR
    met, second, ((_, headers),) = ask(
        says(status=304, clock=later, Expires=http_date(later + 600)), first.kept, later
    )
    assert headers["If-Modified-Since"] == LAST_MODIFIED
    kept = second.kept[SPOT.key]
    assert kept.body == first.kept[SPOT.key].body
    assert (kept.fetched_utc_s, kept.ask_again_utc_s) == (later, later + 600)
    assert met.read(kept).issued_utc_s == NOW - 2 * HOUR  # however often it is confirmed, it is as old as it is


def test_a_clock_that_is_an_hour_ahead_is_told_and_spoils_no_expiry():
    _, batch, _ = ask(met_says(clock=NOW - HOUR, life_s=1800))
    assert batch.clock_ahead_s == pytest.approx(HOUR)
    assert batch.notes == [
        "This machine's clock is 60 minutes ahead of that of MET Norway. Set it right: every time and age shown here is off by as much."
    ]
    assert batch.kept[SPOT.key].ask_again_utc_s == NOW + 1800


def test_a_version_near_its_end_is_told_and_used():
    _, batch, _ = ask(met_says(status=203))
    assert SPOT.key in batch.kept and "look for a newer Westering" in batch.notes[0]


@pytest.mark.parametrize(
    ("answer", "words", "wait_s"),
    [
        (says(status=403), r"refuses us \(status 403\): the contact may be wrong", 600),
        (says(status=422), r"no forecast for this place \(status 422\)", None),
        (says(status=429), r"too much to do \(status 429\). It is left alone for 10 minutes", 600),
        (says(status=429, Retry_After="1800"), "left alone for 30 minutes", 1800),
        (says(status=503, Retry_After=http_date(NOW + 7200)), "left alone for 2 hours", 7200),
        (says(status=500), r"answered with an error \(status 500\)", None),
        (says(status=404), r"nothing there \(status 404\)", None),
        (says(status=304), "nothing is new, but nothing is kept", None),
        (says(b"<!doctype html><title>Please sign in</title>", media_type="text/html"), "sent a web page in place", None),
        (says(b'{"type": "Feature", "prop'), "is not whole JSON", None),
        (says(b"\xff\xfe\x00"), "is not whole JSON", None),
        (says([1, 2]), "JSON that is no forecast", None),
        (says({"type": "Feature"}), "JSON that is no forecast", None),
        (hangs_up, "broke off in the middle", None),
    ],
)  # fmt: skip
def test_trouble_is_told_in_words(answer, words, wait_s):
    _, batch, _ = ask(answer)
    with pytest.raises(Unavailable, match=words):
        raise Unavailable(batch.fault)
    assert batch.kept == {}
    assert (batch.wait and batch.wait.until_utc_s - NOW) == wait_s


def test_peace_grows_each_time_it_is_asked_for():
    waits = [ask(says(status=429), waited=times)[1].wait for times in (0, 1, 2, 9)]
    assert [wait.until_utc_s - NOW for wait in waits] == [600, 1200, 2400, 6 * HOUR]
    assert [wait.times for wait in waits] == [1, 2, 3, 10]


@pytest.mark.parametrize(
    ("details", "words"),
    [
        ({"wind_speed": "calm"}, "“calm” stands where a number belongs"),
        ({"air_temperature": True}, "“True” stands where a number belongs"),
        ({"cloud_area_fraction": 625.0}, "cloud lies between 0 and 1; 6.25 came"),
    ],
)
def test_a_value_that_cannot_be_is_told(details, words):
    answer = met_answer()
    answer["properties"]["timeseries"][1]["data"]["instant"]["details"] |= details
    _, batch, _ = ask(says(answer))
    assert words in batch.fault and batch.fault.startswith("MET Norway sent a forecast that cannot be read.")


def test_an_unknown_unit_is_told():
    answer = met_answer()
    answer["properties"]["meta"]["units"] = {"wind_speed": "furlongs"}
    assert "“furlongs” is no unit of speed" in ask(says(answer))[1].fault


@pytest.mark.parametrize("when", ["18:00", "2027-09-18T18:00:00", None])
def test_a_time_without_its_offset_is_told(when):
    answer = met_answer()
    answer["properties"]["timeseries"][0]["time"] = when
    assert "time" in ask(says(answer))[1].fault


def test_a_slow_service_is_given_up():
    assert "took too long" in ask(sleeps, pause_s=0.1)[1].fault


def test_too_much_is_given_up(monkeypatch):
    monkeypatch.setattr("app.outside.forecast_met.MOST_BYTES", 1000)
    assert "sent more than 0.001 MB" in ask(met_says())[1].fault


def test_a_service_that_is_down_is_told():
    with served(met_says()) as server:
        met = MetNorway(CONTACT, server.address)
    with open_client() as client:
        assert "cannot be reached" in met.ask((SPOT,), {}, NOW, 0.0, client).fault


def test_several_spots_are_asked_one_by_one_until_one_fails():
    spots = tuple(Spot(54.57, -3.13 - step / 10) for step in range(4))
    _, batch, asked = ask(then(met_says(), met_says(), says(status=429)), spots=spots)
    assert [spot.key in batch.kept for spot in spots] == [True, True, False, False]
    assert len(asked) == 3 and batch.wait


def test_what_was_kept_by_a_clock_that_ran_ahead_is_asked_for_again():
    ahead = Kept("met", SPOT.key, "{}", NOW + HOUR, NOW + 2 * HOUR)
    assert len(ask(met_says(), {SPOT.key: ahead})[2]) == 1


@pytest.mark.parametrize("contact", ["", "me", "a b@c", "x@y\r\nEvil: 1", "(x)@y.z"])
def test_a_contact_is_needed(contact):
    with pytest.raises(BadInput, match="asks for a contact"):
        MetNorway(contact)


@pytest.mark.parametrize("address", ["", "ftp://example.org/x", "https://example.org/?key=1", "https:///x", "http://[::1"])
def test_an_address_that_cannot_be_one_is_refused(address):
    with pytest.raises(BadInput, match="address begins https://"):
        MetNorway(CONTACT, address)


def test_the_stand_in_speaks_of_the_evening_it_says():
    assert weather_server.iso(NOW) == "2027-09-18T18:00:00Z" and http_date(NOW) == "Sat, 18 Sep 2027 18:00:00 GMT"
