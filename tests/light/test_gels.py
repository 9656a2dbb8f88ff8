"""Colour by mireds, and the gel nearest to a wanted shift."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.errors import BadInput
from app.light.gels import (
    FLASH_K,
    GELS,
    NO_GEL,
    Gel,
    gel_words,
    mired,
    nearest_gel,
    shift_mired,
    through_gel_k,
)

KELVIN = st.floats(1000.0, 40_000.0)
NAMED = {gel.name: gel for gel in GELS}


@pytest.mark.parametrize(("kelvin", "mireds"), [(5500, 181.8), (3200, 312.5), (6500, 153.8), (10_000, 100.0), (2000, 500.0)])
def test_mireds_are_a_million_over_the_kelvins(kelvin, mireds):
    assert mired(kelvin) == pytest.approx(mireds, abs=0.05)


def test_full_orange_brings_daylight_to_tungsten_and_full_blue_back():
    """What the two are made for: 5500 K to 3200 K is 130.7 mired, 6500 to 3200 K 158.7; blue 3200 K to 5700 K, 137.1 back."""
    assert through_gel_k(6500.0, NAMED["full CTO"]) == pytest.approx(3200.0, rel=0.01)
    assert through_gel_k(3200.0, NAMED["full CTB"]) == pytest.approx(5700.0, rel=0.01)


@given(KELVIN, KELVIN)
def test_there_and_back_again(one, other):
    assert shift_mired(one, other) == pytest.approx(-shift_mired(other, one))
    assert through_gel_k(one, Gel("made to measure", np.clip(shift_mired(one, other), -500, 500), 0.0)) == pytest.approx(other, rel=1e-6) or abs(shift_mired(one, other)) > 500


def test_the_steps_run_in_order_and_take_more_the_stronger_they_are():
    for colour, sign in (("CTO", 1), ("CTB", -1)):
        steps = [NAMED[f"{size} {colour}"] for size in ("full", "half", "quarter", "eighth")]
        shifts, losses = ([getattr(gel, name) for gel in steps] for name in ("shift_mired", "loss_stops"))
        assert np.all(np.diff(np.multiply(sign, shifts)) < 0) and min(np.multiply(sign, shifts)) > 0
        assert np.all(np.diff(losses) < 0) and min(losses) > 0


@pytest.mark.parametrize(
    ("to_k", "name"),
    [(5500, "no gel"), (2990, "full CTO"), (3450, "half CTO"), (4000, "quarter CTO"), (4900, "eighth CTO"), (11_000, "half CTB"), (6800, "quarter CTB"), (6100, "eighth CTB"), (20_000, "full CTB")],
)
def test_the_nearest_gel_from_a_flash_of_5500_k(to_k, name):
    """By hand: 1e6/to - 181.8 mired, against 159, 109, 64, 26, 0, -18, -35, -78, -137."""
    assert nearest_gel(float(shift_mired(FLASH_K, to_k))).name == name


def test_between_two_alike_the_weaker_is_taken():
    assert nearest_gel(13.0).name == NO_GEL.name


def test_words():
    assert gel_words(3450.0) == "half CTO: matches for 3450 K, takes 1/3 stop"
    assert gel_words(2200.0) == "full CTO: stays 114 mired too cool for 2200 K, takes 1 stop"
    assert gel_words(5500.0) == "no gel: matches for 5500 K"
    assert gel_words(4700.0) == "eighth CTO: matches for 4700 K, takes 1/3 stop"


@pytest.mark.parametrize("nothing", [0.0, -5.0, np.nan, 1e9])
def test_no_colour_is_no_number(nothing):
    assert np.isnan(mired(nothing))
    with pytest.raises(BadInput, match="no gel for a light of unknown colour"):
        gel_words(nothing)


def test_a_gel_past_all_colour_gives_no_number():
    assert np.isnan(through_gel_k(20_000.0, NAMED["full CTB"]))


def test_gels_that_cannot_be():
    with pytest.raises(BadInput, match="-500 to 500 mired; 900 came"):
        Gel("soup", 900.0, 0.0)
    with pytest.raises(BadInput, match="0 to 10 stops; -1 came"):
        Gel("lamp", 0.0, -1.0)


@pytest.mark.parametrize("shape", [(), (3,), (2, 3), (0,)])
def test_keeps_the_shape_of_its_input(shape):
    assert np.shape(mired(np.full(shape, 5500.0))) == shape
    assert np.shape(through_gel_k(np.full(shape, 5500.0), NO_GEL)) == shape
