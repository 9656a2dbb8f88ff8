"""The timer asks at its hours, once, on the day before and the day, and survives what fails."""

from datetime import date, datetime

import pytest

from app.errors import Unavailable
from app.web.mornings import MorningDesk
from app.web.mornings_timer import Timer, last_hour_utc_s, start_timer
from app.web.weather_services import WeatherServices
from tests.web.test_shoots import kept

DAY, ZONE = date(2027, 9, 18), "Europe/London"


def at(text):
    return datetime.fromisoformat(f"{text}+01:00").timestamp()


@pytest.mark.parametrize(
    ("now", "hour"),
    [
        ("2027-09-17T05:02", None), ("2027-09-17T05:04", "2027-09-17T05:03"), ("2027-09-18T05:04", "2027-09-18T05:03"),
        ("2027-09-18T07:00", "2027-09-18T05:03"), ("2027-09-18T09:00", None), ("2027-09-18T11:30", "2027-09-18T11:03"),
        ("2027-09-16T05:04", None), ("2027-09-19T05:04", None),
    ],
)  # fmt: skip
def test_its_hours_are_on_the_shoots_clocks_and_off_the_full_hour(now, hour):
    found = last_hour_utc_s(DAY, ZONE, (5, 11), at(now), 0.0)
    assert found == (at(hour) if hour else None)


def test_it_asks_once_for_each_hour(client):
    slug, asked = kept(client), []
    timer = Timer(MorningDesk(client.app.state.store, WeatherServices()), (5, 11), 0.0, lambda shoot, now: asked.append(shoot))
    for now in ("2027-09-18T05:00", "2027-09-18T05:04", "2027-09-18T05:05", "2027-09-18T06:59", "2027-09-18T11:04", "2027-09-18T11:05"):
        timer.look(at(now))
    assert asked == [slug, slug]


def test_a_failure_is_not_its_end(client, caplog):
    slug = kept(client)

    def fail(shoot, now):
        raise Unavailable("The service is down.") if now < at("2027-09-18T06:00") else RuntimeError("broken")

    timer = Timer(MorningDesk(client.app.state.store, WeatherServices()), (5, 11), 0.0, fail)
    assert timer.look(at("2027-09-18T05:04")) == (slug,) and timer.look(at("2027-09-18T11:04")) == (slug,)
    assert "The service is down." in caplog.text and "broke" in caplog.text


def test_it_is_off_unless_hours_are_set(client):
    assert start_timer(client.app.state.store, WeatherServices()) is None
    ended = start_timer(client.app.state.store, WeatherServices(check_hours=(5,)))
    ended.set()
