"""Hours of a forecast: straight between rows, never beyond them, and nothing made of nothing."""

import json

import numpy as np
import pytest

from app.errors import BadInput
from app.picture.by_eye import ByEye
from app.picture.forecast import Forecast, Hour, ago_words, span_words
from app.picture.weather import beaufort, stillness
from tests.picture.pools import box, pool

T = 1_821_290_400.0  # an invented evening
H = 3600.0


def forecast(*hours, **values):
    given = {"source": "Made-up Office", "attribution": "© Made-up Office", "lat_deg": 54.57, "lon_deg": -3.13}
    return Forecast(**{**given, "issued_utc_s": T - 5 * H, "fetched_utc_s": T - 1200, "hours": hours, **values})


def test_between_two_rows_everything_goes_straight():
    two = forecast(Hour(T, cloud=0.2, wind_m_s=2, temperature_c=10), Hour(T + H, cloud=0.6, wind_m_s=4, temperature_c=8))
    hour = two.at(T + H / 4)
    assert (hour.utc_s, hour.cloud, hour.wind_m_s, hour.temperature_c) == pytest.approx((T + H / 4, 0.3, 2.5, 9.5))


def test_on_a_row_it_is_the_row_itself():
    rows = Hour(T, cloud=0.2), Hour(T + H)
    assert [forecast(*rows).at(row.utc_s) for row in rows] == list(rows)


@pytest.mark.parametrize("utc_s", [T - 1, T + H + 1])
def test_it_says_nothing_beyond_its_ends(utc_s):
    assert forecast(Hour(T), Hour(T + H)).at(utc_s) is None


@pytest.mark.parametrize(("gap_h", "known"), [(1, True), (6, True), (7, False)])
def test_a_gap_of_more_than_six_hours_is_a_gap(gap_h, known):
    joined = forecast(Hour(T, cloud=0.5), Hour(T + gap_h * H, cloud=0.5))
    assert (joined.at(T + H / 2) is not None) is known
    assert ("gap" in joined.reach_words(T + H / 2)) is not known


def test_what_one_row_does_not_give_is_not_given_and_never_nought():
    hour = forecast(Hour(T, cloud=0.5, high=0.4), Hour(T + H, cloud=0.7)).at(T + H / 2)
    assert hour.cloud == pytest.approx(0.6)
    assert (hour.high, hour.gust_m_s, hour.fog) == (None, None, None)


def test_wind_turns_the_short_way_over_north():
    turned = forecast(Hour(T, wind_from_deg=350), Hour(T + H, wind_from_deg=20))
    assert turned.at(T + H / 2).wind_from_deg == pytest.approx(5.0)
    opposite = forecast(Hour(T, wind_from_deg=90), Hour(T + H, wind_from_deg=270))
    assert opposite.at(T + H / 2).wind_from_deg is None


def test_rain_is_a_mean_over_its_row():
    assert forecast(Hour(T, rain_mm_h=1.2), Hour(T + H, rain_mm_h=0.0)).at(T + 0.9 * H).rain_mm_h == 1.2


def test_age_is_told_in_words_also_when_the_clock_is_wrong():
    words = forecast(Hour(T)).age_words
    assert words(T) == "made 5 hours ago, fetched 20 minutes ago"
    assert words(T - 4800) == "made 4 hours ago, fetched 60 minutes in the future by this clock, which must be wrong"
    assert forecast(Hour(T), issued_utc_s=None).age_words(T - 1190) == "fetched just now"


@pytest.mark.parametrize(
    ("span_s", "words"), [(0, "0 minutes"), (60, "1 minute"), (5300, "88 minutes"), (5400, "2 hours"), (180_000, "2 days")]
)
def test_spans_in_words(span_s, words):
    assert span_words(span_s) == words
    assert ago_words(span_s) == ("just now" if span_s < 60 else f"{words} ago")


def test_a_forecast_says_how_far_a_moment_lies_outside():
    two = forecast(Hour(T), Hour(T + H))
    assert two.reach_words(T + 4 * H) == "It ends 3 hours before."
    assert two.reach_words(T - 2 * H) == "It begins 2 hours after."
    assert two.reach_words(T + 60) == ""


def test_it_comes_back_from_json_as_it_was():
    kept = forecast(Hour(T, cloud=0.25, wind_m_s=0.0), Hour(T + H, fog=0.0))
    assert Forecast.from_json(json.loads(json.dumps(kept.as_json()))) == kept
    with pytest.raises(BadInput, match="cannot be read"):
        Forecast.from_json({"hours": [{"utc": 3}]})


@pytest.mark.parametrize(("values", "words"), [
    ({"cloud": 12.0}, "cloud lies between 0 and 1; 12 came"),
    ({"wind_m_s": -1}, "wind lies between 0 and 120 m/s; -1 came"),
    ({"temperature_c": 284}, "temperature lies between -95 and 65 °C; 284 came"),
    ({"sea_pressure_hpa": 30.2}, "sea pressure lies between 850 and 1100 hPa; 30.2 came"),
    ({"fog": float("nan")}, "fog lies between 0 and 1; nan came"),
    ({"utc_s": float("nan")}, "has no time"),
])  # fmt: skip
def test_an_hour_that_cannot_be_is_refused(values, words):
    with pytest.raises(BadInput, match=words):
        Hour(**{"utc_s": T, **values})


@pytest.mark.parametrize("hours", [(), (Hour(T), Hour(T)), (Hour(T + 1), Hour(T))])
def test_hours_are_some_and_in_order(hours):
    with pytest.raises(BadInput, match="hours"):
        forecast(*hours)


FORECAST = Hour(T, cloud=0.9, low=0.5, middle=0.2, high=0.8, wind_m_s=6.0, gust_m_s=9.0, wind_from_deg=240, temperature_c=12)


def test_what_is_seen_wins_field_by_field():
    hour = ByEye(T, low_oktas=0, force=1).over(FORECAST)
    assert (hour.low, hour.wind_m_s) == (0.0, pytest.approx(0.95, abs=0.06))
    assert (hour.cloud, hour.middle, hour.high, hour.wind_from_deg) == (0.9, 0.2, 0.8, 240)


def test_gusts_of_the_forecast_do_not_outlast_the_calm_that_is_seen():
    """Nine in a wind of six are half as much again, and stay so in the wind of force 2, 2.4 m/s."""
    assert ByEye(T, force=2).over(FORECAST).gust_m_s == pytest.approx(3.6, abs=0.2)
    assert ByEye(T, force=0).over(FORECAST).gust_m_s == pytest.approx(0.0, abs=0.3)


def test_gusts_stay_where_the_forecast_has_no_wind_to_measure_them_by():
    assert ByEye(T, force=1).over(Hour(T, gust_m_s=5.0)).gust_m_s == 5.0


def test_a_clear_sky_has_no_level_left():
    assert ByEye(T, cloud_oktas=0).over(FORECAST).levels == (0.0, 0.0, 0.0)


def test_a_level_seen_is_part_of_the_whole():
    assert ByEye(T, low_oktas=8).over(FORECAST).cloud == 1.0
    assert ByEye(T, low_oktas=4).over(Hour(T)).cloud == 0.5


def test_seen_levels_outlast_a_smaller_whole():
    hour = ByEye(T, cloud_oktas=2, high_oktas=4).over(FORECAST)
    assert (hour.cloud, hour.low, hour.high) == (0.5, 0.25, 0.5)


def test_a_gust_is_never_less_than_the_wind_that_is_seen():
    assert ByEye(T, force=8).over(FORECAST).gust_m_s == pytest.approx(19.0, abs=0.1)


def test_without_a_forecast_only_what_was_seen_is_known():
    hour = ByEye(T, cloud_oktas=4, temperature_c=7).over(None)
    assert (hour.utc_s, hour.cloud, hour.temperature_c, hour.low, hour.wind_m_s) == (T, 0.5, 7, None, None)


def test_water_that_is_seen_counts_more_than_the_wind():
    sheltered = pool(box(5, 50, -5, 5), sheltered=True)
    winds = [ByEye(T, force=force, water=water).wind_on_water_m_s(ByEye(T, force=force).over(None))
             for force, water in ((4, "still"), (0, "ruffled"), (6, "ruffled"), (3, None), (None, None))]  # fmt: skip
    assert winds[0] == 0.0 and winds[4] is None
    assert beaufort(np.array(winds[1:4])).tolist() == [2, 6, 3]
    assert stillness(Hour(T, wind_m_s=winds[1]).weather(), sheltered) < 0


@pytest.mark.parametrize(("values", "words"), [
    ({"cloud_oktas": 9}, "0 to 8 eighths of the sky, a whole number; 9 came"),
    ({"high_oktas": 2.5}, "whole number; 2.5 came"),
    ({"force": 13}, "0 to 12 Beaufort"),
    ({"water": "wet"}, "“still” or “ruffled”; “wet” came"),
    ({"wind_from_deg": 361}, "between 0 and 360°"),
])  # fmt: skip
def test_what_cannot_be_seen_is_refused(values, words):
    with pytest.raises(BadInput, match=words):
        ByEye(T, **values)
