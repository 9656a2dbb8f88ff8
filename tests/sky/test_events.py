"""Passages and events of a day against skyfield, the US Naval Observatory and NREL."""

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from app.sky.crossings import crossings, transits_utc_s
from app.sky.events import PASSAGES, RISE_SET_DEG, day_events, day_stretches
from app.sky.refraction import refraction_deg
from app.sky.track import Observer
from tests.reference_data import rows, utc_s

ROUNDED_S = 1.0  # the tables give whole seconds


def civil_day(zone: str, year: int, month: int, day: int) -> tuple[float, float]:
    start = datetime(year, month, day, tzinfo=ZoneInfo(zone))
    return start.timestamp(), (start.replace(tzinfo=None) + timedelta(days=1)).replace(tzinfo=ZoneInfo(zone)).timestamp()


def airless_of_apparent(apparent_deg: float) -> float:
    airless = np.linspace(apparent_deg - 1, apparent_deg, 10_001)
    return float(np.interp(apparent_deg, airless + refraction_deg(airless), airless))


def day_of(row):
    return Observer(float(row["lat_deg"]), float(row["lon_deg"])), utc_s(row["window_start_utc"]), utc_s(row["window_end_utc"])


def found_for(row):
    """Return the instants Westering finds for one row of the table."""
    place, start, end = day_of(row)
    if row["event"].startswith("transit"):
        upper = transits_utc_s(place, start, end, every=1.0)
        every = transits_utc_s(place, start, end)
        return upper if row["event"] == "transit_upper" else np.setdiff1d(every.round(3), upper.round(3))
    threshold = float(row["threshold_deg"])
    passages = crossings(place, start, end, airless_of_apparent(threshold) if "refracted" in row["event"] else threshold)
    return passages.utc_s[passages.rising == (row["direction"] == "rising")] if row["direction"] else passages.utc_s


@pytest.mark.parametrize("row", rows("sun-events"), ids=lambda row: row["case_id"])
def test_every_row_of_the_event_table(row):
    """skyfield with DE421; tolerance is the table's own column, 0.004° of altitude or 2 s."""
    found = found_for(row)
    if row["status"] != "ok":
        assert len(found) == 0
        place, start, _ = day_of(row)
        assert (place.sun_at(start).airless_deg > float(row["threshold_deg"])) == (row["status"] == "always_above")
        return
    tolerance_s = float(row["suggested_tolerance_s"] or 2)
    assert np.abs(found - utc_s(row["utc"])).min() <= tolerance_s
    azimuth = day_of(row)[0].sun_at(utc_s(row["utc"])).azimuth_deg
    if abs(float(row["alt_airless_deg"])) < 80:  # nearer zenith or nadir an azimuth says little
        assert abs((azimuth - float(row["azimuth_deg"]) + 180) % 360 - 180) < 0.02


def test_as_many_passages_as_the_table_has():
    """Nothing made up: per day, kind and direction the counts agree too."""
    counted = {}
    for row in rows("sun-events"):
        if row["status"] == "ok":
            key = row["site"], row["local_date"], row["event"], row["direction"]
            counted.setdefault(key, []).append(row)
    assert len(counted) > 700
    for same in counted.values():
        assert len(found_for(same[0])) == len(same)


@pytest.mark.parametrize("row", rows("usno-rise-set-extract"), ids=lambda row: f"{row['kind']} {row['site']} {row['utc_date']}")
def test_us_naval_observatory_minutes(row):
    """USNO annual tables, UT minutes; 45 s = half a minute of rounding and 1′ of their site's."""
    place = Observer(float(row["lat_deg"]), float(row["lon_deg"]))
    start = utc_s(f"{row['utc_date']}T00:00:00Z")
    altitude = RISE_SET_DEG if row["kind"] == "rise_set" else -6.0
    found = crossings(place, start - 45, start + 86_400 + 45, altitude)
    for text, rising in ((row["published_rise_or_dawn_utc_hhmm"], True), (row["published_set_or_dusk_utc_hhmm"], False)):
        some = found.utc_s[found.rising == rising]
        if ":" in text:
            assert np.abs(some - utc_s(f"{row['utc_date']}T{text}:00Z")).min() <= 45
        else:
            assert len(some) == 0 or row["type"] == "NORMAL"


def test_the_sunset_of_nrels_example_ends_the_local_day():
    """NREL/TP-560-34302 prints 00:20:19 UT, the evening before; local 17 October 2003 ends 00:18:51 UT."""
    place = Observer(39.742476, -105.1786, 1830.14)
    events = day_events(place, *civil_day("America/Denver", 2003, 10, 17))
    times = {event.name: event.utc_s for event in events}
    assert times["sunset"] == pytest.approx(utc_s("2003-10-18T00:18:51Z"), abs=2)
    assert times["sunrise"] == pytest.approx(utc_s("2003-10-17T13:12:43.46Z"), abs=1)
    assert times["transit"] == pytest.approx(utc_s("2003-10-17T18:46:04.97Z"), abs=0.7)  # UT1 - UTC was -0.36 s


@pytest.mark.parametrize("row", rows("horizon-dip-events"), ids=lambda row: f"{row['site']} {row['local_date']} {row['eye_height_m']}")
def test_rise_and_set_over_a_lower_horizon(row):
    """Explanatory Supplement (1992) p. 484: 2.12′ √h below the usual 50′; skyfield's times."""
    place = Observer(float(row["lat_deg"]), float(row["lon_deg"]))
    expected = utc_s(row["rise_dip212_utc"]), utc_s(row["set_dip212_utc"])
    events = day_events(place, expected[0] - 7200, expected[1] + 7200, float(row["eye_height_m"]))
    times = {event.name: event.utc_s for event in events}
    assert times["sunrise"] == pytest.approx(expected[0], abs=4)
    assert times["sunset"] == pytest.approx(expected[1], abs=4)


def test_names_and_statuses_of_a_day_without_a_set():
    """68° N at midsummer: everything at or under the horizon is always above."""
    events = day_events(Observer(69.65, 18.96), *civil_day("Europe/Oslo", 2026, 6, 21))
    status = {event.name: event.status for event in events}
    assert status["sunset"] == status["civil_dusk"] == status["minus4_setting"] == "always_above"
    assert status["plus6_setting"] == "ok"
    assert set(status) == {"transit"} | {name for passage in PASSAGES for name in passage[:2]}


def test_the_sun_that_sets_after_local_midnight():
    """Tromsø's last sunset before midnight sun falls after midnight, 18 May 2026 by skyfield's table of that spring."""
    place, times = Observer(69.6492, 18.9553), []
    for day in range(10, 22):
        start, end = civil_day("Europe/Oslo", 2026, 5, day)
        times += [event.utc_s - start for event in day_events(place, start, end) if event.name == "sunset" and event.utc_s]
    assert any(after_midnight < 3600 for after_midnight in times)
    assert len(times) < 12


def test_two_sunsets_or_none_in_one_civil_day():
    """Where sunsets come 24 h 4 min or 23 h 56 min apart near midnight, a civil day holds none or two."""
    place, counts = Observer(65.9, -18.0), set()
    for n in range(365):
        day = date(2026, 1, 1) + timedelta(n)
        events = day_events(place, *civil_day("Atlantic/Reykjavik", day.year, day.month, day.day))
        counts.add(sum(event.name == "sunset" and event.status == "ok" for event in events))
    assert counts == {0, 1, 2}


@pytest.mark.parametrize("zone,year,month,day,hours", [
    ("Europe/London", 2026, 3, 29, 23), ("Europe/London", 2026, 10, 25, 25), ("Australia/Lord_Howe", 2026, 4, 5, 24.5),
])
def test_days_of_odd_length_are_searched_whole(zone, year, month, day, hours):
    start, end = civil_day(zone, year, month, day)
    assert (end - start) / 3600 == hours
    names = [event.name for event in day_events(Observer(51.5, 0), start, end)]
    assert names.count("sunrise") == 1 and names.count("sunset") == 1


@pytest.mark.parametrize("lat", [-90, -89.99, -88.5, 88.2, 89, 89.9999, 90])
def test_at_the_poles_the_year_has_few_passages(lat):
    place, start = Observer(lat, 15), utc_s("2026-01-01T00:00:00Z")
    found = crossings(place, start, start + 365 * 86_400, RISE_SET_DEG)
    assert np.all(found.rising[1:] != found.rising[:-1])
    np.testing.assert_allclose(place.sun_at(found.utc_s).airless_deg, RISE_SET_DEG, atol=1e-4)
    fine = place.sun_over(start, start + 365 * 86_400, 300).airless_deg > RISE_SET_DEG
    assert len(found.utc_s) == np.count_nonzero(fine[1:] != fine[:-1])


@pytest.mark.parametrize("lat", [-66.4, -35, 0, 23.4, 45, 60, 65.8, 66.7, 75, 87.9])
@pytest.mark.parametrize("altitude", [-18, RISE_SET_DEG, 6])
def test_as_many_passages_as_five_minute_samples_show(lat, altitude):
    place, start = Observer(lat, -120), utc_s("2027-01-01T00:00:00Z")
    found = crossings(place, start, start + 365 * 86_400, altitude)
    sun = place.sun_over(start, start + 365 * 86_400, 60).airless_deg > altitude
    assert len(found.utc_s) >= np.count_nonzero(sun[1:] != sun[:-1])
    assert np.all(found.rising[1:] != found.rising[:-1])
    np.testing.assert_allclose(place.sun_at(found.utc_s).airless_deg, altitude, atol=1e-4)


def test_golden_and_blue_stretches_follow_each_other():
    place = Observer(51.4769, -0.0005)
    stretches = {(s.name, s.part): s for s in day_stretches(place, *civil_day("Europe/London", 2026, 3, 29))}
    assert set(stretches) == {(name, part) for name in ("golden hour", "blue hour") for part in ("morning", "evening")}
    assert stretches["golden hour", "evening"].closes_utc_s == stretches["blue hour", "evening"].opens_utc_s
    assert stretches["golden hour", "evening"].opens_utc_s == pytest.approx(utc_s("2026-03-29T17:44:07Z"), abs=2)  # sun-events.csv


def test_a_stretch_in_which_the_sun_turns_says_so():
    midwinter = day_stretches(Observer(68.2, 14.3), *civil_day("Europe/Oslo", 2026, 12, 21))
    assert ("golden hour", "around noon") in {(s.name, s.part) for s in midwinter}
    spring = day_stretches(Observer(68.2, 14.3), *civil_day("Europe/Oslo", 2026, 5, 20))
    assert ("golden hour", "around midnight") in {(s.name, s.part) for s in spring}
