"""Time zones of places, and days that are not 24 hours long."""

from datetime import UTC, date, datetime, timedelta

import pytest

from app.errors import BadInput
from app.place.timezone import civil_day, local_time, rules, zone_name
from tests.reference_data import rows, utc_s

HOUR_S = 3600.0
WINDOWS = {
    (row["tz"], row["local_date"]): (row["window_start_utc"], row["window_end_utc"])
    for row in rows("sun-events")
}


@pytest.mark.parametrize(
    ("zone", "day", "hours"),
    [
        ("Europe/London", date(2026, 3, 29), 23.0),
        ("Europe/London", date(2026, 10, 25), 25.0),
        ("Europe/London", date(2026, 7, 1), 24.0),
        ("Australia/Lord_Howe", date(2026, 10, 4), 23.5),
        ("Australia/Lord_Howe", date(2026, 4, 5), 24.5),
        ("Africa/Cairo", date(2026, 4, 24), 23.0),  # the clocks skip midnight itself
        ("Pacific/Apia", date(2011, 12, 30), 0.0),  # left out to cross the date line
    ],
)
def test_a_civil_day_is_as_long_as_its_clocks_say(zone, day, hours):
    start_utc_s, end_utc_s = civil_day(zone, day)
    assert end_utc_s - start_utc_s == hours * HOUR_S


@pytest.mark.parametrize(("case", "window"), WINDOWS.items(), ids=str)
def test_civil_days_of_the_reference_table(case, window):
    zone, day = case
    assert civil_day(zone, date.fromisoformat(day)) == pytest.approx(tuple(map(utc_s, window)))


@pytest.mark.parametrize("zone", ["Europe/London", "Australia/Lord_Howe", "Africa/Cairo", "America/Santiago"])
def test_each_day_begins_when_the_last_one_ends_and_with_its_own_date(zone):
    days = [date(2026, 1, 1) + timedelta(days=number) for number in range(366)]
    ends = [civil_day(zone, day) for day in days]
    assert all(today[1] == tomorrow[0] for today, tomorrow in zip(ends, ends[1:], strict=False))
    assert [local_time(start_utc_s, zone).date() for start_utc_s, _ in ends] == days


def test_local_time_knows_its_offset():
    moment = local_time(datetime(2026, 9, 18, 17, 40, tzinfo=UTC).timestamp(), "Europe/London")
    assert moment.isoformat() == "2026-09-18T18:40:00+01:00"


@pytest.mark.parametrize(
    "name", ["Europe/Lundon", "", "Europe", "../secret", "/secret", "localtime", "\0", " UTC"]
)
def test_a_name_of_no_zone_is_refused_with_an_example(name):
    with pytest.raises(BadInput, match="is no time zone; names look like Europe/London"):
        rules(name)


def test_the_callers_refuse_such_names_too():
    with pytest.raises(BadInput, match="“Mars/Base” is no time zone"):
        civil_day("Mars/Base", date(2026, 1, 1))
    with pytest.raises(BadInput, match="“Mars/Base” is no time zone"):
        local_time(0.0, "Mars/Base")


@pytest.mark.parametrize("year", [1949, 2101, 9999])
def test_days_outside_the_known_years_are_refused(year):
    with pytest.raises(BadInput, match="Dates from 1950 to 2100"):
        civil_day("UTC", date(year, 12, 31))


@pytest.mark.parametrize(
    ("lat_deg", "lon_deg", "name"),
    [
        (54.57, -3.13, "Europe/London"),
        (37.9, -7.7, "Europe/Lisbon"),
        (-32.9, 17.9, "Africa/Johannesburg"),
        (68.2, 14.3, "Europe/Oslo"),
        (-31.55, 159.08, "Australia/Lord_Howe"),
        (0.0, -30.0, "Etc/GMT+2"),  # out at sea; the sign is turned round in these names
    ],
)
def test_a_place_keeps_the_clock_of_its_country(lat_deg, lon_deg, name):
    assert zone_name(lat_deg, lon_deg) == name
    assert rules(name).key == name


@pytest.mark.parametrize("lat_deg", [-90.0, 0.0, 90.0])
@pytest.mark.parametrize("lon_deg", [-180.0, 0.0, 180.0])
def test_the_edges_of_the_map_have_a_zone_with_rules(lat_deg, lon_deg):
    assert rules(zone_name(lat_deg, lon_deg)).key


def test_a_place_off_the_earth_has_no_zone():
    with pytest.raises(BadInput, match="swapped: latitude comes first"):
        zone_name(103.8, 1.3)
