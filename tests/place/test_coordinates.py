"""What people type and paste, and what must be refused rather than guessed."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.errors import BadInput
from app.place.coordinates import format_coordinates, parse_coordinates
from app.place.positions import Coordinates

LAST_DIGIT_DEG = 0.05 / 3600  # the seconds are written to 0.1″

WAYS = [  # of writing 51.4545, -2.5879, which is 51° 27′ 16.2″ N, 2° 35′ 16.4″ W
    "51.4545, -2.5879",
    "51.4545,-2.5879",
    "51.4545 -2.5879",
    "51.4545; -2.5879",
    "51.4545 , −2.5879",
    "(51.4545, -2.5879)",
    "  51.4545\t-2.5879\n",
    "\u200e51.4545,\u00a0-2.5879",
    "51,4545; -2,5879",
    "51,4545 -2,5879",
    "51,4545, -2,5879",
    "N51.4545 W2.5879",
    "W 2.5879, N 51.4545",
    "51.4545N 2.5879W",
    "51.4545° N, 2.5879° W",
    "51.4545°, -2.5879°",
    "51.4545 n; 2.5879 w",
    "51.4545° North, 2.5879° West",
    "51°27'16.2\"N 2°35'16.4\"W",
    "51° 27′ 16.2″ N, 2° 35′ 16.4″ W",
    "51°27’16.2”N 2°35’16.4”W",
    "51°27'16.2'' N 002°35'16.4'' W",
    "51º 27' 16,2\" N; 2º 35' 16,4\" W",
    "51°27'16.2\" -2°35'16.4\"",
    "51°27'16.2\",-2°35'16.4\"",
    "51d27m16.2s N 2d35m16.4s W",
    "51d 27' 16.2\" N 2d 35' 16.4\" W",
    "51 27 16.2 N 2 35 16.4 W",
    "51 27 16.2, -2 35 16.4",
    "51:27:16.2, -2:35:16.4",
    "N 51° 27.270' W 002° 35.274'",
    "51° 27,270' N; 2° 35,274' W",
    "51 27.270 N, 2 35.274 W",
]


@pytest.mark.parametrize("typed", WAYS)
def test_every_way_of_writing_one_point_gives_that_point(typed):
    found = parse_coordinates(typed)
    assert found.lat_deg == pytest.approx(51.4545, abs=LAST_DIGIT_DEG)
    assert found.lon_deg == pytest.approx(-2.5879, abs=LAST_DIGIT_DEG)
    assert (found.height_m, found.uncertainty_m) == (None, None)


def test_degrees_minutes_and_seconds_are_not_taken_for_two_numbers():
    """Another parser was seen to give 35.0, -16.4 for this."""
    found = parse_coordinates("51 27 16.2 N 2 35 16.4 W")
    assert found.lat_deg == pytest.approx(51.4545, abs=1e-9)
    assert found.lon_deg == pytest.approx(-2.5878889, abs=1e-7)


def test_decimal_commas_are_not_taken_for_separators():
    """Another parser was seen to give -2, 119 for this."""
    assert parse_coordinates("51,4545; -2,5879") == Coordinates(51.4545, -2.5879)


def test_half_a_degree_south_keeps_its_sign():
    assert parse_coordinates("-0° 30', -0° 0' 36\"") == Coordinates(-0.5, -0.01)


def test_a_capital_s_is_south_and_a_small_one_after_d_and_m_is_seconds():
    assert parse_coordinates("33d54m36sS 18d24mE") == Coordinates(-33.91, 18.4)
    assert parse_coordinates("33.9s 18.4e") == Coordinates(-33.9, 18.4)


@pytest.mark.parametrize("typed", ["90, 180", "-90, -180", "0, 0", "N90 W180"])
def test_the_ends_of_the_earth_belong_to_it(typed):
    assert abs(parse_coordinates(typed).lat_deg) in (0.0, 90.0)


@pytest.mark.parametrize(
    "typed",
    [
        "51,4545,-2,5879",
        "51,45 -2.58",
        "51 27 16.2 -2 35 16.4",
        "10 20 30",
        "51.4545, -2.5879, 120",
        "[-2.5879, 51.4545]",
        "51.45 N 2.58",
        "51.45 N, 2.58 O",
        "N 51.45",
        "51'",
        '51° 27", 2° 35"',
        "5e1, 2",
        "51.4545.1, 2",
        "somewhere nice",
        "30U VC 12345 67890",
        "51",
        "nan, nan",
        "51;-2;3",
    ],
)
def test_what_can_be_read_in_no_way_or_two_is_refused(typed):
    with pytest.raises(BadInput, match="without guessing; write latitude and longitude like"):
        parse_coordinates(typed)


@pytest.mark.parametrize("typed", ["51,45", "-51,45"])
def test_two_whole_numbers_or_one_decimal_comma_is_asked_back(typed):
    with pytest.raises(BadInput, match="two whole numbers or one with a decimal comma; write -?51; 45"):
        parse_coordinates(typed)


def test_a_number_with_a_sign_after_the_comma_is_the_second_one():
    assert parse_coordinates("51,-2") == Coordinates(51.0, -2.0)


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        (
            "103.8667, 1.3521",
            "latitude lies between -90 and 90 degrees; 103.867 came.*swapped: latitude comes first",
        ),
        ("95, 95", r"95 came\.$"),
        ("N 95 E 10", r"95 came\.$"),
        ("10, 357.4", "longitude lies between -180 and 180 degrees; 357.4 came"),
        ("-51.45 S, 2.5 E", "a sign and a letter"),
        ("51.45 N, 2.5 S", "two letters of one kind"),
        ("51° 60' N 2° W", "60 or more minutes"),
        ("51° 27' 60\" N 2° W", "60 or more minutes or seconds"),
        ("51.5° 27' N 2° E", "only the last may have one"),
        ("9C3VFC3V+RX", "is a plus code"),
        ("FC3V+RX Anytown", "is a plus code"),
        ("", "nothing came"),
        (" \u200b ", "nothing came"),
        ("5" * 2001, "less than 2000 characters; 2001 came"),
    ],
)
def test_a_refusal_says_what_came_and_what_to_do(typed, words):
    with pytest.raises(BadInput, match=words):
        parse_coordinates(typed)


def test_what_is_written_can_be_read_again():
    assert format_coordinates(51.4545, -2.5879) == "51.454500, -2.587900"
    assert format_coordinates(-1e-9, -0.0) == "0.000000, 0.000000"


@given(st.floats(-90, 90), st.floats(-180, 180))
def test_format_and_parse_lead_there_and_back(lat_deg, lon_deg):
    found = parse_coordinates(format_coordinates(lat_deg, lon_deg))
    assert found.lat_deg == pytest.approx(lat_deg, abs=5.1e-7)  # six places
    assert found.lon_deg == pytest.approx(lon_deg, abs=5.1e-7)


@settings(max_examples=1000)
@given(st.text(alphabet="0123456789.,;:-+ °'\"NSEWOnsedm()[]/@=&#?!geo", max_size=40) | st.text())
def test_any_text_is_a_point_of_the_earth_or_is_refused(typed):
    try:
        found = parse_coordinates(typed)
    except BadInput as error:
        assert "\n" not in str(error)
    else:
        assert abs(found.lat_deg) <= 90.0 and abs(found.lon_deg) <= 180.0
