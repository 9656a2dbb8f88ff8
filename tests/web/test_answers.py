"""The answers against the reference tables, and what they say of odd days."""

from datetime import date, datetime

import numpy as np
import pytest

from app.errors import BadInput, NotFound
from app.looks.catalogue import LOOKS
from app.looks.look import wanted_look
from app.place.sitefile import parse_site
from app.sky.track import Observer
from app.web.answers.day import day_answer, day_asked
from app.web.answers.line import backlight_answer, sighted_line
from app.web.answers.lines import day_lines, sun_lines, windows_lines, year_lines
from app.web.answers.question import Question
from app.web.answers.sun import sun_answer, sun_asked
from app.web.answers.times import iso_asked, iso_local, iso_utc
from app.web.answers.windows import looks_asked, windows_answer, year_answer
from app.web.scenes import find_setup, scene_of
from tests.reference_data import rows, utc_s
from tests.web.conftest import DEMO

UT1_DEG = 0.003  # 0.7 s of UT1 - UTC, the most in 2020-2040, while UT1 is taken as UTC
ROUNDED_S = 1.0  # both sides give whole seconds
TROMSO = Observer(69.6492, 18.9553)
LAKES = {"lat": "54.57", "lon": "-3.13"}

NAMES = {
    ("sunrise_sunset", "rising"): "sunrise",
    ("sunrise_sunset", "setting"): "sunset",
    ("civil", "rising"): "civil_dawn",
    ("civil", "setting"): "civil_dusk",
    ("nautical", "rising"): "nautical_dawn",
    ("nautical", "setting"): "nautical_dusk",
    ("astronomical", "rising"): "astronomical_dawn",
    ("astronomical", "setting"): "astronomical_dusk",
    ("alt_plus6_airless", "rising"): "plus6_rising",
    ("alt_plus6_airless", "setting"): "plus6_setting",
    ("alt_minus4_airless", "rising"): "minus4_rising",
    ("alt_minus4_airless", "setting"): "minus4_setting",
    ("transit_upper", ""): "transit",
}
DAYS = sorted({(row["site"], row["lat_deg"], row["lon_deg"], row["tz"], row["local_date"]) for row in rows("sun-events")})


@pytest.fixture(scope="module")
def jetty():
    """A site with a ridge in the west, and its setup that looks at it."""
    site = parse_site((DEMO / "merrowmere-boathouse.geojson").read_bytes())
    return site, scene_of(site, find_setup(site, "End of the jetty"))


def notes_at(place: Observer, day: str, zone: str = "Europe/Oslo") -> list[str]:
    return day_answer(place, date.fromisoformat(day), zone)["notes"]


@pytest.mark.parametrize(("site", "lat", "lon", "zone", "day"), DAYS, ids=lambda value: value)
def test_every_event_of_the_reference_days(site, lat, lon, zone, day):
    """skyfield with DE421; tolerance is the table's own column, or 2 s, and both sides' rounding."""
    told = day_answer(Observer(float(lat), float(lon)), date.fromisoformat(day), zone)["events"]
    expected = [row for row in rows("sun-events") if (row["site"], row["local_date"]) == (site, day)]
    assert len(expected) >= 13
    for row in expected:
        for name in [name for (event, way), name in NAMES.items() if event == row["event"] and row["direction"] in ("", way)]:
            same = [event for event in told if event["event"] == name]
            if row["status"] == "ok":
                tolerance_s = float(row["suggested_tolerance_s"] or 2) + ROUNDED_S
                assert min(abs(utc_s(event["time_utc"]) - utc_s(row["utc"])) for event in same) <= tolerance_s
            else:
                assert [event["status"] for event in same] == [row["status"]]
                assert same[0]["time_utc"] is same[0]["time_local"] is same[0]["azimuth_deg"] is None


def test_a_day_has_every_event_by_its_name_and_two_true_clocks():
    told = day_asked(Question({**LAKES, "date": "2027-09-18"}))
    assert [event["event"] for event in told["events"]] == [
        "astronomical_dawn", "nautical_dawn", "civil_dawn", "minus6_rising", "minus4_rising", "sunrise", "plus6_rising", "transit",
        "plus6_setting", "sunset", "minus4_setting", "civil_dusk", "minus6_setting", "nautical_dusk", "astronomical_dusk",
    ]  # fmt: skip
    assert told["time_zone"] == "Europe/London"
    for event in told["events"]:
        assert event["time_utc"].endswith("Z") and event["time_local"].endswith("+01:00")
        assert utc_s(event["time_utc"]) == utc_s(event["time_local"])


def test_stretches_come_in_the_order_of_time_and_meet():
    told = day_asked(Question({**LAKES, "date": "2027-09-18"}))["stretches"]
    names = [(stretch["stretch"], stretch["part"]) for stretch in told]
    assert names == [("blue hour", "morning"), ("golden hour", "morning"), ("golden hour", "evening"), ("blue hour", "evening")]
    assert told[0]["closes"] == told[1]["opens"] and told[2]["closes"] == told[3]["opens"]


@pytest.mark.parametrize(("day", "sentences"), [
    ("2026-05-10", []),
    ("2026-05-16", ["No sunset on this date: the sun that is up at its end sets at 00:03 on 17 May."]),
    ("2026-05-17", [
        "The sun that sets at 00:03 rose at 01:32 on 16 May.",
        "No later sunset on this date: the sun that is up at its end sets at 00:28 on 18 May.",
    ]),
    ("2026-06-21", ["The sun does not set on this date: it is up all day and next sets at 00:37 on 26 July."]),
    ("2026-07-27", [
        "Two sunsets on this date: at 00:13 and at 23:59.",
        "The sun that sets at 00:13 rose at 01:05 on 26 July.",
    ]),
    ("2026-12-21", ["The sun does not rise on this date: it next rises at 11:35 on 15 January 2027."]),
    ("2026-03-29", ["The clocks change on this date: it has 23 hours."]),
    ("2026-10-25", ["The clocks change on this date: it has 25 hours."]),
])  # fmt: skip
def test_odd_days_say_so_in_words(day, sentences):
    """Tromsø; the days of midnight sun and polar night by the reference table's statuses and passages."""
    assert notes_at(TROMSO, day) == sentences


def test_a_date_that_holds_the_set_alone_says_when_the_sun_rose():
    """Where the lowest sun stands at 23:00, rises move past midnight after the midnight sun, and one date has none."""
    days = [f"2026-{month}" for month in ("07-27", "07-28", "07-29", "07-30", "07-31", "08-01", "08-02", "08-03", "08-04")]
    found = {day: notes_at(Observer(69.65, 15.0), day, "UTC") for day in days}
    alone = {day: note for day, notes in found.items() for note in notes if note.startswith("No sunrise")}
    ((day, note),) = alone.items()
    before = days[days.index(day) - 1]
    assert note.startswith("No sunrise on this date: the sun that is up at its start rose at 23:")
    assert note.endswith(f" on {date.fromisoformat(before).day} {date.fromisoformat(before):%B}.")


def test_a_higher_eye_sees_the_sun_longer_and_its_twilight_the_same():
    level, high = (day_asked(Question({**LAKES, "date": "2027-09-18", "eye_height": eye})) for eye in ("", "100"))
    times = [{event["event"]: utc_s(event["time_utc"]) for event in told["events"]} for told in (level, high)]
    assert times[1]["sunset"] - times[0]["sunset"] > 60 and times[0]["sunrise"] - times[1]["sunrise"] > 60
    assert times[1]["civil_dusk"] == times[0]["civil_dusk"]


@pytest.mark.parametrize("row", rows("horizon-dip-events"), ids=lambda row: "-".join([row["site"], row["local_date"], row["eye_height_m"]]))
def test_sunset_over_a_lower_horizon(row):
    """Explanatory Supplement (1992) p. 484, as in tests/sky/test_events.py, where the 4 s are explained."""
    place = Observer(float(row["lat_deg"]), float(row["lon_deg"]))
    sunset = datetime.fromisoformat(row["set_dip212_utc"])
    told = day_answer(place, sunset.date(), "UTC", float(row["eye_height_m"]))
    sets = [utc_s(event["time_utc"]) for event in told["events"] if event["event"] == "sunset"]
    assert min(abs(utc - sunset.timestamp()) for utc in sets) <= 4 + ROUNDED_S


@pytest.mark.parametrize("day", ["1950-01-01", "2100-12-31"])
@pytest.mark.parametrize("lon", [-179.9, 0.0, 179.9])
def test_the_first_and_the_last_known_day_have_answers(day, lon):
    told = day_asked(Question({"lat": "40", "lon": str(lon), "date": day, "bearing": "240"}))
    assert [event["event"] for event in told["events"]].count("sunset") == 1
    assert len(told["crosses_line"]) == 1


def test_a_date_that_a_calendar_skipped_is_refused():
    """Samoa went from 29 to 31 December 2011 (tz database)."""
    with pytest.raises(BadInput, match="2011-12-30 did not come in Pacific/Apia"):
        day_answer(Observer(-13.83, -171.77), date(2011, 12, 30), "Pacific/Apia")


@pytest.mark.parametrize("lat", [-90.0, 90.0])
def test_the_poles_have_a_day_too(lat):
    told = day_answer(Observer(lat, 0.0), date(2027, 6, 21), "UTC")
    assert {event["status"] for event in told["events"]} == {"always_above" if lat > 0 else "always_below"}
    assert len(told["notes"]) == 1 and list(day_lines(told))


def test_moon_of_the_day():
    """Full moon 15 September 2027 23:03 UT, from memory of almanac tables; three days later it wanes."""
    told = day_asked(Question({**LAKES, "date": "2027-09-18"}))["moon"]
    assert told["phase"] == "waning gibbous"
    assert len(told["rises"]) == len(told["sets"]) == 1 and told["rises"][0].startswith("2027-09-18T19:")


@pytest.mark.parametrize("row", rows("sun-positions"), ids=lambda row: row["case_id"])
def test_the_sun_of_the_reference_positions(row):
    place = Observer(float(row["lat_deg"]), float(row["lon_deg"]), float(row["elev_m"]), 1010)
    told = sun_answer(place, datetime.fromisoformat(row["utc"]))
    assert told["altitude_deg"] == pytest.approx(float(row["alt_airless_deg"]), abs=UT1_DEG)
    turn_deg = (told["azimuth_deg"] - float(row["azimuth_deg"]) + 180) % 360 - 180
    assert abs(turn_deg) * np.cos(np.radians(told["altitude_deg"])) < UT1_DEG
    assert told["time_utc"] == row["utc"]


def test_the_air_is_that_of_the_height_unless_given():
    asked = {**LAKES, "at": "2027-09-18T17:40Z"}
    low, high, thin = (sun_asked(Question({**asked, **more})) for more in ({}, {"height": "2000"}, {"pressure": "500"}))
    assert low["pressure_hpa"] == 1013.25 and 790 < high["pressure_hpa"] < 800 and thin["pressure_hpa"] == 500
    lifts = [told["refracted_altitude_deg"] - told["altitude_deg"] for told in (low, high, thin)]
    assert lifts[0] > lifts[1] > lifts[2] > 0


@pytest.mark.parametrize(("azimuth", "turn", "side"), [
    (265.0, 0.0, "on the line"), (265.4, 0.4, "on the line"), (264.0, -1.0, "left"), (266.0, 1.0, "right"),
    (84.0, 179.0, "right"), (86.0, -179.0, "left"), (5.0, 100.0, "right"),
])  # fmt: skip
def test_right_of_the_line_is_positive(azimuth, turn, side):
    told = backlight_answer(sighted_line(TROMSO, 265.0, False, date(2027, 9, 18)), azimuth)
    assert told == {"backlight_deg": pytest.approx(turn), "backlight_side": side}


def test_at_a_crossing_the_sun_is_on_the_line():
    told = sun_asked(Question({**LAKES, "at": "2027-09-18T12:00Z", "bearing": "265"}))
    (crossing,) = told["crosses_line"]
    there = sun_asked(Question({**LAKES, "at": crossing["time_utc"], "bearing": "265"}))
    assert abs(there["backlight_deg"]) < 0.003  # half a second of the sun's way
    assert there["altitude_deg"] == pytest.approx(crossing["altitude_deg"], abs=0.002)
    assert told["time_local"] == "2027-09-18T13:00:00+01:00" and told["backlight_side"] == "left"


@pytest.mark.parametrize("row", [row for row in rows("wmm2025-sites") if row["decimal_year"] == "2025.0"], ids=lambda row: row["site"])
def test_a_compass_bearing_is_made_true(row):
    """Declination by the World Magnetic Model's own calculator; 0.01° is the call's promise."""
    place = Observer(float(row["lat_deg"]), float(row["lon_deg"]), 1000 * float(row["height_km"]))
    line = sighted_line(place, 200.0, True, date(2025, 1, 1))
    turn_deg = (line.bearing_deg - 200.0 - float(row["declination_wmmcalculator_deg"]) + 180) % 360 - 180
    assert abs(turn_deg) < 0.01


def test_a_day_with_a_magnetic_bearing_tells_the_correction_and_its_doubts():
    told = day_asked(Question({**LAKES, "date": "1999-09-18", "bearing": "265", "magnetic": "yes"}))
    assert told["bearing_deg"] == pytest.approx(265 + told["declination_deg"], abs=1e-4)
    assert any("WMM2025 holds from 2025 to 2030" in note for note in told["notes"])
    assert all("backlight_deg" in event for event in told["events"])


def test_a_bearing_that_the_sun_never_reaches_says_so():
    told = day_asked(Question({**LAKES, "date": "2027-09-18", "bearing": "10"}))
    assert told["crosses_line"] == []
    assert told["notes"] == ["The sun does not cross this bearing on this date while it is higher than -6°."]


@pytest.mark.parametrize(("texts", "field", "words"), [
    ({}, "lat", "The latitude is missing"),
    ({"lat": "54"}, "lon", "The longitude is missing"),
    ({"lat": "north", "lon": "3"}, "lat", "The latitude is a number; “north” is none."),
    ({"lat": "nan", "lon": "3"}, "lat", "The latitude is a finite number"),
    ({"lat": "-120", "lon": "50"}, "lat", "looks swapped"),
    ({"lat": "54", "lon": "200"}, "lon", "A longitude lies between"),
    ({**LAKES}, "at", "The instant is missing"),
    ({**LAKES, "at": "tomorrow"}, "at", "An instant looks like"),
    ({**LAKES, "at": "2027-09-18T18:40"}, "at", "has no offset"),
    ({**LAKES, "at": "1949-09-18T18:40Z"}, "at", "1950 to 2100"),
    ({**LAKES, "at": "2027-09-18T18:40Z", "height": "9001"}, "height", "between -500 and 9000"),
    ({**LAKES, "at": "2027-09-18T18:40Z", "pressure": "1e9"}, "pressure", "The pressure in hPa is between"),
    ({**LAKES, "at": "2027-09-18T18:40Z", "bearing": "361"}, "bearing", "The bearing in degrees is between 0 and 360"),
    ({**LAKES, "at": "2027-09-18T18:40Z", "magnetic": "yes"}, "bearing", "give the bearing too"),
    ({**LAKES, "at": "2027-09-18T18:40Z", "bearing": "3", "magnetic": "perhaps"}, "magnetic", "Magnetic is yes or no"),
    ({**LAKES, "at": "2027-09-18T18:40Z", "bearing": "3", "tz": "Mars/Base"}, "tz", "no time zone"),
])  # fmt: skip
def test_what_cannot_be_used_is_told_with_its_field(texts, field, words):
    with pytest.raises(BadInput, match=words) as told:
        sun_asked(Question(texts))
    assert told.value.field == field and "\n" not in str(told.value)


@pytest.mark.parametrize("day", ["1949-12-31", "2101-01-01", "2027-02-30", "soon"])
def test_a_date_that_is_none_is_refused(day):
    with pytest.raises(BadInput, match="A date looks like|Dates from 1950 to 2100") as told:
        day_asked(Question({**LAKES, "date": day}))
    assert told.value.field == "date"


def test_instants_are_written_to_the_nearest_second():
    assert iso_utc(1_800_000_000.5001) == iso_utc(1_800_000_001) == "2027-01-15T08:00:01Z"
    assert iso_local(1_800_000_000, "Asia/Kathmandu") == "2027-01-15T13:45:00+05:45"
    assert iso_asked(datetime.fromisoformat("2027-01-15T09:00:00.25+01:00")) == "2027-01-15T08:00:00.250000Z"


def test_windows_of_all_looks_or_of_one(jetty):
    told = windows_answer(*jetty, date(2027, 9, 18))
    assert (told["site"], told["setup"], told["date"], told["time_zone"]) == (
        "Merrowmere boathouse", "End of the jetty", "2027-09-18", "Europe/London",
    )  # fmt: skip
    assert told["looks"] == [wanted["look"] if isinstance(wanted, dict) else wanted for wanted in jetty[1].setup.looks]
    assert [window["opens"] for window in told["windows"]] == sorted(window["opens"] for window in told["windows"])
    backlit = windows_answer(*jetty, date(2027, 9, 18), "backlit")["windows"]
    assert backlit == [window for window in told["windows"] if window["look"] == "backlit"]
    assert [list(window) for window in backlit] == [
        ["look", "opens", "closes", "opens_because", "closes_because", "best", "best_fit"],
    ]  # fmt: skip
    (window,) = backlit
    assert window["opens"] < window["best"] < window["closes"] and 0 < window["best_fit"] <= 1
    assert window["opens"].endswith("+01:00") and window["closes_because"] == "behind the ridge"


def test_the_year_agrees_with_each_of_its_days(jetty):
    year = year_answer(*jetty, 2027, "backlit")
    assert len(year["days"]) == 365 and year["days"][0]["date"] == "2027-01-01"
    with_windows = [day for day in year["days"] if day["windows"]]
    assert with_windows
    for day in (with_windows[0], with_windows[-1], year["days"][260]):
        told = windows_answer(*jetty, date.fromisoformat(day["date"]), "backlit")["windows"]
        assert [window["closes_because"] for window in told] == [window["closes_because"] for window in day["windows"]]
        for one, other in zip(told, day["windows"], strict=True):
            assert abs(utc_s(one["opens"]) - utc_s(other["opens"])) <= ROUNDED_S  # edges are found to well under 1 s
            assert abs(utc_s(one["closes"]) - utc_s(other["closes"])) <= ROUNDED_S


def test_a_look_is_searched_with_the_setups_own_bounds():
    site = parse_site((DEMO / "quinta-da-alvorinha.geojson").read_bytes())
    setup = find_setup(site, "Cork oak track")
    (own,) = looks_asked(setup, "custom")
    assert own.bounds == {"offset_deg": (-20, 20), "altitude_deg": (-2, 8)}
    assert looks_asked(setup, "Backlit") == (wanted_look(LOOKS, "backlit"),)
    with pytest.raises(BadInput, match="There is no look “sparkle”; there are: .*backlit") as told:
        looks_asked(setup, "sparkle")
    assert told.value.field == "look"
    with pytest.raises(NotFound, match="no setup “Cellar”; it has: .*Cork oak track"):
        find_setup(site, "Cellar")


def test_lines_to_read_carry_units_and_reasons(jetty):
    sun = list(sun_lines(sun_asked(Question({**LAKES, "at": "2027-09-18T18:40+01:00", "bearing": "250", "height": "200"}))))
    assert sun[0] == "The sun at 54.570000°, -3.130000°, 200 m above the sea, 2027-09-18T17:40:00Z"
    assert sun[-2].endswith("° right of straight behind a subject.") and sun[-1].startswith("It crosses that line at ")
    windows = list(windows_lines(windows_answer(*jetty, date(2027, 9, 18), "backlit")))
    assert windows[1].startswith("backlit: 17:5") and windows[1].endswith("Closes: behind the ridge.")
    empty = list(windows_lines(windows_answer(*jetty, date(2027, 12, 21), "backlit")))
    assert empty[1] == "No window opens on this date for: backlit."
    year = list(year_lines(year_answer(*jetty, 2027, "backlit")))
    assert year[0].startswith("End of the jetty, Merrowmere boathouse, backlit in 2027")
    assert any(line.startswith("Sat 18 Sep  backlit: ") for line in year)


def test_a_day_to_read_tells_absences_and_other_dates():
    lines = list(day_lines(day_answer(TROMSO, date(2026, 5, 20), "Europe/Oslo", line=sighted_line(TROMSO, 0.0, False, date(2026, 5, 20)))))
    assert lines[0] == "Wed 20 May 2026 at 69.649200°, 18.955300°, by the clocks of Europe/Oslo"
    assert "--:--:--  sunset: none, the sun stays higher all day" in lines
    assert any(line.startswith("Golden hour, around midnight: ") and line.endswith(" on 21 May") for line in lines)
    assert any(line.startswith("It crosses that line at ") and line.endswith("° up as seen.") for line in lines)
