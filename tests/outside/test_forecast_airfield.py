"""METAR and TAF: the published examples, made-up ones, and texts that are none."""

import random
from datetime import UTC, datetime

import pytest

from app.errors import BadInput, Unavailable
from app.outside.airfield import AirfieldService, fetch_airfield, pieces, read_metar, stamp_utc_s
from app.outside.airfield_taf import read_taf
from app.outside.fetch import open_client
from app.picture.forecast import Hour
from tests.outside.weather_server import hangs_up, says, served, sleeps

FOOT_M, KNOT_M_S, MILE_M = 0.3048, 1852 / 3600, 1609.344
NOW = datetime(2026, 11, 25, 12, tzinfo=UTC).timestamp()
# WMO-No. 306, volume I.1: the examples of FM 15 and FM 51, as reproduced in many decoders.
FM_15 = (
    "METAR YUDO 221630Z 24004MPS 0600 R12/1000U DZ FG SCT010 OVC020 17/16 Q1018 BECMG TL1700 0800 FG BECMG AT1800 9999 NSW"
)
FM_51 = (
    "TAF YUDO 151800Z 1600/1618 13005MPS 9000 BKN020 BECMG 1606/1608 SCT015CB BKN020 TEMPO 1608/1612 17006G12MPS 1000 "
    "TSRA SCT010CB BKN020 FM161230 15004MPS 9999 BKN020"
)
LAT, LON = 54.57, -3.13


def utc_s(*moment):
    return datetime(*moment, tzinfo=UTC).timestamp()


@pytest.fixture(autouse=True)
def no_proxy(monkeypatch):
    """Loopback is asked directly, whatever this machine's environment says."""
    monkeypatch.setenv("NO_PROXY", "127.0.0.1")


def test_the_published_report():
    """WMO-No. 306, volume I.1, FM 15; BKN and OVC by WMO-No. 49, code table D-8."""
    report = read_metar(FM_15, NOW, LAT)
    hour = report.hour
    assert (report.station, hour.utc_s) == ("YUDO", utc_s(2026, 11, 22, 16, 30))
    assert (hour.wind_from_deg, hour.wind_m_s, hour.gust_m_s) == (240.0, 4.0, None)
    assert (hour.visibility_m, hour.temperature_c, hour.sea_pressure_hpa) == (600.0, 17.0, 1018.0)
    assert (hour.cloud, hour.low, hour.middle, hour.high) == (1.0, 1.0, None, None)
    assert report.words == ("Measured 3 days ago.", "Weather: drizzle; fog.")


def test_the_published_forecast():
    """WMO-No. 306, volume I.1, FM 51."""
    taf = read_taf(FM_51, utc_s(2026, 11, 15, 19), LAT, LON)
    at = taf.forecast.at
    assert (taf.forecast.source, taf.forecast.issued_utc_s) == ("YUDO", utc_s(2026, 11, 15, 18))
    first, last = taf.forecast.hours[0], taf.forecast.hours[-1]
    assert (first.utc_s, last.utc_s) == (utc_s(2026, 11, 16, 0), utc_s(2026, 11, 16, 18))
    assert (first.wind_from_deg, first.wind_m_s, first.visibility_m, first.low) == (130.0, 5.0, 9000.0, 6 / 8)
    assert at(utc_s(2026, 11, 16, 12)).wind_from_deg == 130.0
    changed = at(utc_s(2026, 11, 16, 12, 30))
    assert (changed.wind_from_deg, changed.wind_m_s, changed.visibility_m, changed.low) == (150.0, 4.0, 10_000.0, 6 / 8)
    assert at(utc_s(2026, 11, 16, 18, 1)) is None


def test_the_published_spell_is_kept_apart():
    (spell,) = read_taf(FM_51, utc_s(2026, 11, 15, 19), LAT, LON).spells
    assert (spell.begins_utc_s, spell.ends_utc_s) == (utc_s(2026, 11, 16, 8), utc_s(2026, 11, 16, 12))
    assert (spell.hour.wind_from_deg, spell.hour.wind_m_s, spell.hour.gust_m_s) == (170.0, 6.0, 12.0)
    assert (spell.hour.visibility_m, spell.hour.low, spell.percent) == (1000.0, 6 / 8, None)


def test_what_becomes_another_weather_goes_straight_from_its_beginning_to_its_end():
    taf = read_taf("TAF EGLL 251100Z 2512/2618 20010KT 9999 BKN020 BECMG 2514/2518 20020KT", NOW, LAT, LON)
    winds = [taf.forecast.at(utc_s(2026, 11, 25, hour)).wind_m_s / KNOT_M_S for hour in (13, 14, 15, 16, 18, 20)]
    assert winds == pytest.approx([10, 10, 12.5, 15, 20, 20])
    assert taf.forecast.at(utc_s(2026, 11, 25, 20)).low == 6 / 8  # what it does not name stays


def test_perhaps_is_told_with_its_chance():
    (spell,) = read_taf("EGLL 251100Z 2512/2618 23010KT CAVOK PROB30 TEMPO 2514/2516 4000 -RADZ BKN008", NOW, LAT, LON).spells
    assert (spell.percent, spell.hour.visibility_m, spell.hour.wind_m_s) == (30, 4000.0, None)


def test_a_day_that_ends_at_24_and_a_month_that_ends():
    forecast = read_taf("TAF EGLL 301700Z 3018/3124 23010KT 9999 NSC", utc_s(2027, 12, 31, 1), LAT, LON).forecast
    assert (forecast.hours[0].utc_s, forecast.hours[-1].utc_s) == (utc_s(2027, 12, 30, 18), utc_s(2028, 1, 1, 0))


def test_miles_and_obscured_sky():
    taf = read_taf("TAF KDEN 251130Z 2512/2618 VRB03KT P6SM FEW120 SCT200 FM252200 01012G22KT 1 1/2SM -SN VV003", NOW, LAT, LON)
    before, after = (taf.forecast.at(utc_s(2026, 11, 25, hour)) for hour in (20, 23))
    assert (before.wind_from_deg, before.visibility_m) == (None, pytest.approx(6 * MILE_M))
    assert (before.low, before.middle, before.high) == (0.0, 1.5 / 8, 3.5 / 8)
    assert (after.visibility_m, after.gust_m_s) == (pytest.approx(1.5 * MILE_M), pytest.approx(22 * KNOT_M_S))
    assert (after.cloud, after.low, after.middle) == (1.0, 1.0, None)


def test_three_layers_are_sorted_by_height():
    """Made up; BKN060 is 1829 m and so still a low cloud, SCT200 6096 m and a high one."""
    hour = read_metar("METAR ENTC 251020Z 21012G24KT 180V250 9999 FEW018 SCT035CB BKN060 M03/M07 Q0996", NOW, LAT).hour
    assert (hour.wind_from_deg, hour.wind_m_s, hour.gust_m_s) == pytest.approx((210, 12 * KNOT_M_S, 24 * KNOT_M_S))
    assert (hour.low, hour.middle, hour.temperature_c, hour.sea_pressure_hpa) == (6 / 8, None, -3.0, 996.0)
    hour = read_metar("METAR KDEN 251153Z 00000KT 10SM FEW120 SCT200 BKN250 M02/M09 A3021", NOW, LAT).hour
    assert (hour.low, hour.middle, hour.high, hour.cloud) == (0.0, 1.5 / 8, 6 / 8, 6 / 8)
    assert (hour.wind_m_s, hour.wind_from_deg) == (0.0, None)
    assert hour.sea_pressure_hpa == pytest.approx(30.21 * 33.8639, abs=0.1)
    assert hour.visibility_m == pytest.approx(10 * MILE_M)


@pytest.mark.parametrize("word", ["CAVOK", "9999 NSC", "9999 NCD", "10SM CLR"])
def test_no_cloud_that_matters_to_aircraft_is_not_a_blue_sky(word):
    report = read_metar(f"METAR EGLL 251050Z VRB02KT {word} 08/03 Q1031", NOW, LAT)
    assert (report.hour.low, report.hour.middle, report.hour.high, report.hour.cloud) == (0.0, None, None, None)
    assert report.hour.wind_from_deg is None and report.hour.wind_m_s == pytest.approx(2 * KNOT_M_S)
    assert any("need not be blue" in word for word in report.words)


def test_a_clear_sky_and_an_obscured_one():
    assert read_metar("METAR EGLL 251050Z 00000KT 9999 SKC 08/03 Q1031", NOW, LAT).hour.levels == (0.0, 0.0, 0.0)
    obscured = read_metar("METAR NZAA 250900Z 03018KT 3000 +SHRA VV003 14/13 Q1009", NOW, LAT)
    assert (obscured.hour.cloud, obscured.hour.low, obscured.hour.middle) == (1.0, 1.0, None)
    assert "Weather: heavy rain showers." in obscured.words


def test_what_an_instrument_did_not_give_is_not_given():
    report = read_metar("METAR EGLL 251150Z AUTO /////KT //// // ////// ///// Q////", NOW, LAT)
    assert report.hour == Hour(utc_s(2026, 11, 25, 11, 50))


def test_what_is_not_understood_is_told_and_the_rest_used():
    report = read_metar("METAR KDEN 251153Z 00000KT 10SM FEW120 MUDDLE M02/M09 A3021 RMK AO2", NOW, LAT)
    assert "Not understood: MUDDLE." in report.words and report.hour.temperature_c == -2.0


def test_a_report_wins_over_a_forecast_where_it_says_something():
    report = read_metar("METAR EGLL 251050Z VRB02KT CAVOK 08/03 Q1031", NOW, LAT)
    hour = report.hour.over(Hour(NOW, low=0.7, high=0.4, temperature_c=11.0, wind_from_deg=90))
    assert (hour.utc_s, hour.low, hour.high, hour.temperature_c, hour.wind_from_deg) == (NOW, 0.0, 0.4, 8.0, 90)


def test_many_reports_in_one_text_are_told_apart():
    pasted = f"""
      EGLL 251020Z 24004KT 9999 SCT010 09/08 Q1018=
      metar egll 251050z VRB02KT CAVOK
        08/03 Q1031=
      TAF AMD EGLL 251100Z 2512/2618 23010KT CAVOK
          BECMG 2514/2516 4000
      SPECI EGLL 250950Z 24004KT 9999 SCT010 09/08 Q1018
      {FM_51}"""
    assert [(one.station, one.is_taf, one.stamp) for one in pieces(pasted)] == [
        ("EGLL", False, "251020"), ("EGLL", False, "251050"), ("EGLL", True, "251100"), ("EGLL", False, "250950"),
        ("YUDO", True, "151800"),
    ]  # fmt: skip
    assert read_metar(pasted, NOW, LAT).hour.temperature_c == 8.0
    assert read_taf(pasted, NOW, LAT, LON).station == "EGLL"


@pytest.mark.parametrize(
    ("stamp", "now", "moment"),
    [
        ("010015", (2027, 1, 31, 23), (2027, 2, 1, 0, 15)),
        ("312345", (2027, 1, 1, 0, 10), (2026, 12, 31, 23, 45)),
        ("292300", (2028, 3, 1, 1), (2028, 2, 29, 23)),
        ("312300", (2027, 2, 10, 1), (2027, 1, 31, 23)),
    ],
)
def test_the_month_is_the_nearest(stamp, now, moment):
    assert stamp_utc_s(stamp, utc_s(*now)) == utc_s(*moment)


@pytest.mark.parametrize("text", ["", "   ", "nice weather today", "METAR", "METAR EGLL", "TAF EGLL 251100Z 2512/2618 23010KT"])
def test_a_text_without_a_report_is_refused(text):
    with pytest.raises(BadInput, match="No METAR is in"):
        read_metar(text, NOW, LAT)


@pytest.mark.parametrize(("text", "words"), [
    (FM_15, "No TAF is in"),
    ("TAF EGLL 251100Z 2512/2624 CNL", "was cancelled"),
    ("TAF EGLL 251100Z 2518/2512 23010KT 9999 NSC", "cannot be read"),
    ("TAF EGLL 251100Z 2512/2599 23010KT 9999 NSC", "cannot be read"),
    ("TAF EGLL 411100Z 2512/2518 23010KT 9999 NSC", "no day, hour and minute"),
])  # fmt: skip
def test_a_forecast_that_is_none_is_refused(text, words):
    with pytest.raises(BadInput, match=words):
        read_taf(text, NOW, LAT, LON)


@pytest.mark.parametrize("text", ["METAR EGLL 321050Z 24004KT", "METAR EGLL 252561Z 24004KT"])
def test_a_time_that_is_none_is_refused(text):
    with pytest.raises(BadInput, match="no day, hour and minute"):
        read_metar(text, NOW, LAT)


def test_reports_come_from_an_address_of_the_owner():
    with served(says(b"2026/11/25 10:50\nEGLL 251050Z VRB02KT CAVOK 08/03 Q1031\n", media_type="text/plain")) as server:
        text = fetch_airfield(AirfieldService(f"{server.address}/{{station}}.TXT"), " egll ", open_client())
        assert read_metar(text, NOW, LAT).station == "EGLL"
        assert len(server.asked) == 1


@pytest.mark.parametrize(("answer", "words"), [
    (says(b"<!doctype html>", media_type="text/html"), "holds no report"),
    (says(status=404), "nothing there"),
    (says(status=429), "too much to do"),
    (hangs_up, "broke off"),
    (sleeps, "took too long"),
])  # fmt: skip
def test_trouble_with_airfields_is_told(answer, words):
    with served(answer) as server, pytest.raises(Unavailable, match=words):
        fetch_airfield(AirfieldService(f"{server.address}/{{station}}"), "EGLL", open_client(0.2))


@pytest.mark.parametrize("station", ["", "EGL", "EGLLX", "../x", "E LL"])
def test_an_airfield_has_four_letters(station):
    with pytest.raises(BadInput, match="four letters"):
        fetch_airfield(AirfieldService("https://reports.example.org/{station}"), station)


@pytest.mark.parametrize("address", ["", "https://reports.example.org/", "ftp://example.org/{station}", "https:///{station}"])
def test_an_address_of_airfields_holds_the_station(address):
    with pytest.raises(BadInput, match="holds {station}"):
        AirfieldService(address)


def test_fuzzed_reports_are_read_or_refused_but_never_break():
    chance = random.Random(7)
    words = f"{FM_15} {FM_51} CAVOK NSC /////KT //// Q//// VV/// BKN/// P6SM M1/4SM TX08/2521Z RMK A2992 99999KT".split()
    outcomes = set()
    for _ in range(400):
        text = "EGLL 251050Z " + " ".join(chance.choices(words, k=chance.randint(0, 12)))
        for taf in (False, True):
            try:
                found = read_taf(text.replace("Z ", "Z 2512/2618 ", 1), NOW, LAT, LON) if taf else read_metar(text, NOW, LAT)
                outcomes.add(type(found).__name__)
            except BadInput:
                outcomes.add("refused")
    assert {"Report", "AirfieldForecast", "refused"} <= outcomes
