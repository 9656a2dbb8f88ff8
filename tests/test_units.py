"""What people type: numbers, dates, times, instants."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.units import (
    calendar_date,
    calendar_year,
    clock_time,
    compass_deg,
    instant,
    listed,
    number,
    signed_deg,
)


@pytest.mark.parametrize("text,value", [("12", 12), ("-0.5", -0.5), ("0,5", 0.5), ("\N{MINUS SIGN}3", -3), (" 7 ", 7), ("1e3", 1000)])
def test_numbers_as_people_type_them(text, value):
    assert number(text, "It") == value


@pytest.mark.parametrize("text", ["", "abc", "1 2", "nan", "inf", "1,234,567", "0x10", None])
def test_what_is_no_number_is_refused_in_words(text):
    with pytest.raises(ValueError, match="The height is a (finite )?number"):
        number(text, "The height")


def test_a_number_out_of_range_names_the_range():
    with pytest.raises(ValueError, match="Focal length is between 1 and 2000; 0 came"):
        number("0", "Focal length", 1, 2000)
    with pytest.raises(ValueError, match="at least 1"):
        number("0", "It", low=1)


@pytest.mark.parametrize("text", ["1949-12-31", "2101-01-01", "18/9/2027", "2027-02-30", "", "today"])
def test_dates_outside_the_known_years_or_forms_are_refused(text):
    with pytest.raises(ValueError, match="[Dd]ate"):
        calendar_date(text)


def test_good_dates_years_and_times():
    assert calendar_date(" 2027-09-18 ").isoformat() == "2027-09-18"
    assert calendar_year("2027") == 2027
    assert clock_time("6:05").isoformat() == "06:05:00"
    assert clock_time("18:40:30").isoformat() == "18:40:30"


@pytest.mark.parametrize("text", ["24:00", "18.40", "1840", "18:60", ""])
def test_bad_times_are_refused(text):
    with pytest.raises(ValueError, match="time"):
        clock_time(text)


def test_an_instant_needs_its_offset():
    assert instant("2027-09-18T18:40+01:00").utcoffset().total_seconds() == 3600
    assert instant("2027-09-18T18:40Z").timestamp() == instant("2027-09-18T19:40+01:00").timestamp()
    with pytest.raises(ValueError, match="no offset"):
        instant("2027-09-18T18:40")
    with pytest.raises(ValueError, match="1950 to 2100"):
        instant("1900-01-01T00:00Z")


@given(st.floats(-1e6, 1e6))
def test_angles_keep_their_direction(angle):
    for wrapped, low, high in ((signed_deg(angle), -180, 180), (compass_deg(angle), 0, 360)):
        assert low <= wrapped < high
        assert np.cos(np.radians(wrapped - angle)) > 1 - 1e-9


def test_listed():
    assert listed(["a", "b", "c"]) == "a, b or c"
    assert listed(["a"]) == "a"
