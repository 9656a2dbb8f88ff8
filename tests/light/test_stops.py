"""The marks of cameras, and stops in words."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.errors import BadInput
from app.light.stops import APERTURES, SPEEDS, TIMES, power_words, stops, stops_words
from tests.reference_data import worked_examples

SCALES = (APERTURES, TIMES, SPEEDS)


@pytest.mark.parametrize("scale", SCALES, ids=lambda scale: scale.name)
def test_every_mark_lies_near_its_exact_value(scale):
    """Marks are rounded; f/1.2 is the furthest from its third, by 0.14 stop, 1/6 s and 1/15 s by 0.09."""
    exact = scale.value(np.arange(scale.first, scale.last + 1))
    assert np.all(np.abs(scale.stops_per_doubling * np.log2(exact / scale.marks)) < 0.145)
    assert len(scale.words) == len(scale.marks)


@pytest.mark.parametrize("scale", SCALES, ids=lambda scale: scale.name)
def test_there_and_back_again(scale):
    places = np.arange(scale.first, scale.last + 1)
    assert [scale.nearest(mark) for mark in scale.marks] == list(places)
    assert [scale.nearest(exact) for exact in scale.value(places)] == list(places)


@pytest.mark.parametrize(
    ("scale", "word", "exact"),
    [
        (APERTURES, "f/11", 2**3.5),
        (APERTURES, "f/5.6", 2**2.5),
        (APERTURES, "f/22", 2**4.5),
        (TIMES, "1/60 s", 1 / 64),
        (TIMES, "1/125 s", 1 / 128),
        (TIMES, "1/15 s", 1 / 16),
        (TIMES, "30 s", 32.0),
        (SPEEDS, "ISO 400", 400.0),
    ],
)
def test_exact_values_behind_whole_stops(scale, word, exact):
    """The rounded marks and the powers of two behind them, as photographic tables give them."""
    assert scale.value(scale.words.index(word) + scale.first) == pytest.approx(exact)


def test_a_value_between_marks_goes_to_the_side_asked_for():
    assert APERTURES.mark(APERTURES.at_least(1.7)) == "f/1.8"
    assert APERTURES.mark(APERTURES.at_most(1.7)) == "f/1.6"
    assert TIMES.mark(TIMES.at_most(1 / 180)) == "1/160 s"
    assert TIMES.mark(TIMES.at_least(1 / 180)) == "1/200 s"


@pytest.mark.parametrize("value", [0.0, -2.8, 0.3, 200.0, float("nan"), float("inf")])
def test_what_is_no_aperture_is_refused_in_words(value):
    with pytest.raises(BadInput, match="An aperture lies between f/0.7 and f/64"):
        APERTURES.nearest(value)


def test_a_place_off_the_scale_has_no_mark():
    with pytest.raises(ValueError, match="off the scale"):
        SPEEDS.mark(SPEEDS.last + 1)


@pytest.mark.parametrize("row", worked_examples()["inverse_square_stops"], ids=lambda row: str(row["ratio"]))
def test_ratios_of_distance_in_stops(row):
    """Inverse square: 2 log2 of the ratio of distances, three decimals printed."""
    assert 2 * stops(row["ratio"]) == pytest.approx(row["stops"], abs=6e-4)


def test_no_light_is_no_number():
    assert np.isnan(stops(0.0)) and np.isnan(stops(-1.0))
    assert stops(np.array([[1.0, 8.0]])).tolist() == [[0.0, 3.0]]


@pytest.mark.parametrize(
    ("amount", "words"),
    [(0.0, "0 stops"), (1 / 3, "1/3 stop"), (-2 / 3, "2/3 stop"), (1.0, "1 stop"), (4 / 3, "1 1/3 stops"), (-2.9, "3 stops"), (np.nan, "an unknown number of stops")],
)
def test_stops_in_words(amount, words):
    assert stops_words(amount) == words


@pytest.mark.parametrize(
    ("power", "words"),
    [(0.0, "full power"), (-1.0, "1/2 power"), (-1 / 3, "1/2 power plus 2/3 stop"), (-5 / 3, "1/4 power plus 1/3 stop"), (-8.0, "1/256 power"), (0.5, "no power that it has")],
)
def test_powers_in_words(power, words):
    assert power_words(power) == words


@given(st.integers(-24, 0))
def test_the_words_of_a_power_give_the_power_back(thirds):
    words = power_words(thirds / 3).split()
    whole = 0 if words[0] == "full" else -int(words[0].split("/")[1]).bit_length() + 1
    more = int(words[3][0]) if len(words) > 2 else 0
    assert 3 * whole + more == thirds
