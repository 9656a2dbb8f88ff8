"""Open-Meteo's forecast from a stand-in that answers as documented, or falls ill."""

import pytest

from app.errors import BadInput, Unavailable
from app.outside.fetch import open_client
from app.outside.forecast_openmeteo import OpenMeteo
from app.outside.kept_answer import Spot
from tests.outside.weather_server import HOUR, NOW, OPEN_UNITS, hangs_up, open_answer, says, served, sleeps

SPOTS = (Spot(54.570049, -3.130051, 74.6), Spot(54.565, -3.9, 12.2), Spot(54.56, -4.7, 0.0))


@pytest.fixture(autouse=True)
def no_proxy(monkeypatch):
    """Loopback is asked directly, whatever this machine's environment says."""
    monkeypatch.setenv("NO_PROXY", "127.0.0.1")


def ask(answer, spots=SPOTS[:1], before=None, now=NOW, pause_s=5.0, api_key=""):
    with served(answer) as server:
        service = OpenMeteo(api_key, server.address)
        with open_client(pause_s) as client:
            batch = service.ask(spots, before or {}, now, 0.0, client)
    return service, batch, server.asked


def hours_of(answer):
    service, batch, _ = ask(answer)
    assert batch.fault == ""
    return service.read(batch.kept[SPOTS[0].key]).hours


def test_one_question_for_all_spots_names_every_unit():
    _, _, ((query, _),) = ask(says([open_answer()] * 3), SPOTS, api_key="studio-key")
    assert query["latitude"] == ["54.5700,54.5650,54.5600"] and query["longitude"] == ["-3.1301,-3.9000,-4.7000"]
    assert query["elevation"] == ["75,12,0"]
    named = {name: query[name] for name in ("wind_speed_unit", "temperature_unit", "precipitation_unit", "timeformat", "timezone")}
    assert named == {
        "wind_speed_unit": ["ms"], "temperature_unit": ["celsius"], "precipitation_unit": ["mm"],
        "timeformat": ["unixtime"], "timezone": ["UTC"],
    }  # fmt: skip
    assert query["apikey"] == ["studio-key"] and "cloud_cover_mid" in query["hourly"][0]


def test_without_a_key_none_is_sent():
    assert "apikey" not in ask(says(open_answer()))[2][0][0]


def test_the_documented_answer_becomes_hours():
    first, second, *_ = hours_of(says(open_answer()))
    assert (first.utc_s, second.utc_s) == (NOW, NOW + HOUR)
    assert (first.cloud, first.low, first.middle, first.high) == (1.0, 0.1, 0.0, 0.9)
    assert (first.wind_m_s, first.gust_m_s, first.wind_from_deg, first.visibility_m) == (2.0, 5.1, 350, 24140.0)
    assert (first.temperature_c, first.sea_pressure_hpa, first.fog) == (14.0, 1012.0, None)


def test_its_rain_of_the_hour_before_becomes_that_of_the_hour_after():
    assert [hour.rain_mm_h for hour in hours_of(says(open_answer()))] == [0.5, 0.0, 1.5, None]


def test_nulls_and_what_is_left_out_are_not_given():
    answer = open_answer()
    del answer["hourly"]["visibility"], answer["hourly_units"]["visibility"]
    hours = hours_of(says(answer))
    assert hours[3].cloud is None and [hour.visibility_m for hour in hours] == [None] * 4


def test_other_units_than_asked_for_are_converted_by_its_own_words():
    answer = open_answer(wind_speed_10m=[36, 18, 0, 0], temperature_2m=[50, 32, 32, 32])
    answer["hourly_units"] = {**OPEN_UNITS, "wind_speed_10m": "km/h", "wind_gusts_10m": "kn", "temperature_2m": "°F"}
    first = hours_of(says(answer))[0]
    assert (first.wind_m_s, first.temperature_c) == (pytest.approx(10.0), pytest.approx(10.0))
    assert first.gust_m_s == pytest.approx(5.1 * 1852 / 3600)


def test_each_spot_gets_its_own_answer():
    answers = [open_answer(cloud_cover_low=[share] * 4) for share in (10, 20, 30)]
    service, batch, _ = ask(says(answers), SPOTS)
    assert [service.read(batch.kept[spot.key]).hours[0].low for spot in SPOTS] == [0.1, 0.2, 0.3]


def test_only_what_is_old_is_asked_for():
    _, first, _ = ask(says(open_answer()))
    _, second, ((query, _),) = ask(says([open_answer()] * 2), SPOTS, first.kept, NOW + 60)
    assert query["latitude"] == ["54.5650,54.5600"]
    assert set(second.kept) == {spot.key for spot in SPOTS}
    assert ask(says(), SPOTS, second.kept, NOW + 120)[2] == []


@pytest.mark.parametrize(
    ("answer", "words"),
    [
        (says({"error": True, "reason": "Value of type 'String' required for key 'hourly'."}, 400), r"status 400\): “Value of type"),
        (says(b"<html>", 400), r"did not take the question \(status 400\)\."),
        (says({"error": True, "reason": "Minutely API request limit exceeded."}, 429), r"too much to do \(status 429\). It is left alone for 10 m"),
        (says(b"", 401), r"refuses to answer us \(status 401\). Its address may lack a key"),
        (says(b"", 502), r"answered with an error \(status 502\)"),
        (says(b"<!doctype html>"), "sent a web page"),
        (says([]), "asked for 1 places and answered for 0"),
        (says({"latitude": 3}), "JSON that is no forecast"),
        (says(open_answer(cloud_cover=[1, 2])), "Some of its hours are missing"),
        (says({**open_answer(), "hourly_units": {**OPEN_UNITS, "time": "iso8601"}}), "times are not counted from 1970"),
        (says({**open_answer(), "hourly_units": {**OPEN_UNITS, "wind_speed_10m": "undefined"}}), "no unit of speed"),
        (says(open_answer(time=[1, 1, 1, 1])), "out of order"),
        (says(open_answer(time=["2027-09-18T18:00"] * 4)), "no forecast of theirs"),
        (hangs_up, "broke off"),
    ],
)  # fmt: skip
def test_trouble_is_told_in_words(answer, words):
    _, batch, _ = ask(answer)
    assert batch.kept == {}
    with pytest.raises(Unavailable, match=words):
        raise Unavailable(batch.fault)


def test_a_slow_service_is_given_up():
    assert "took too long" in ask(sleeps, pause_s=0.1)[1].fault


@pytest.mark.parametrize(
    ("api_key", "address"),
    [
        ("", "https://customer-api.open-meteo.com/v1/forecast"),
        ("", "https://api.open-meteo.com/v1/forecast"),
        ("studio-key", "https://api.open-meteo.com/v1/forecast"),
    ],
)
def test_the_free_door_is_not_used(api_key, address):
    with pytest.raises(BadInput, match="free door is not for paid work"):
        OpenMeteo(api_key, address)


def test_an_own_server_needs_no_key_and_a_plan_has_one():
    assert OpenMeteo(address="http://weather.example.org/v1/forecast").api_key == ""
    assert OpenMeteo("studio-key").address.startswith("https://customer-")
