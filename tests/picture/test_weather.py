"""Wind as the scale prints it, and what it does to a mirror."""

import numpy as np
import pytest

from app.errors import BadInput
from app.picture.weather import Weather, beaufort, mirror_strength, stillness, wind_of_force_m_s
from tests.picture.pools import box, pool

OPEN, SHELTERED = pool(box(5, 50, -5, 5)), pool(box(5, 50, -5, 5), sheltered=True)
# WMO-No. 306, code table 1100: the least and the greatest printed wind of forces 0 to 11. [m/s]
PRINTED = [
    (0, 0.2), (0.3, 1.5), (1.6, 3.3), (3.4, 5.4), (5.5, 7.9), (8.0, 10.7), (10.8, 13.8), (13.9, 17.1),
    (17.2, 20.7), (20.8, 24.4), (24.5, 28.4), (28.5, 32.6),
]  # fmt: skip


@pytest.mark.parametrize(("force", "bounds"), list(enumerate(PRINTED)))
def test_every_printed_bound_has_its_force(force, bounds):
    assert beaufort(np.array(bounds)).tolist() == [force, force]


def test_a_hurricane_begins_at_32_7():
    assert beaufort(32.7) == 12 and beaufort(60.0) == 12


def test_winds_between_two_printed_bounds_are_rounded_first():
    assert beaufort(np.array([0.24, 0.26, 1.54, 1.56])).tolist() == [0, 1, 1, 2]


@pytest.mark.parametrize("shape", [(), (3,), (2, 3)])
def test_keeps_the_shape_of_its_input(shape):
    assert np.shape(beaufort(np.full(shape, 3.0))) == shape


def test_open_water_mirrors_in_force_nought_only():
    assert [stillness(Weather(wind), OPEN) > 0 for wind in (0.0, 0.2, 0.25, 0.3)] == [True, True, False, False]


def test_sheltered_water_mirrors_to_a_metre_per_second():
    """Common practice, no standard."""
    assert stillness(Weather(0.5), SHELTERED) == pytest.approx(0.5)
    assert [stillness(Weather(wind), SHELTERED) > 0 for wind in (0.9, 1.0, 1.1)] == [True, False, False]


def test_stillness_is_continuous_and_never_under_minus_one():
    winds = np.linspace(0, 3, 3001)
    for water, steepest in ((OPEN, 4.0), (SHELTERED, 1.0)):
        margin = np.array([stillness(Weather(wind), water) for wind in winds])
        assert margin[0] == 1 and margin[-1] == -1
        assert np.abs(np.diff(margin)).max() <= steepest * 0.001 + 1e-12


def test_unknown_wind_counts_as_calm_and_people_break_it():
    assert stillness(Weather(), OPEN) == 1
    assert stillness(Weather(0.0, people_in_water=True), SHELTERED) == -1
    assert mirror_strength(Weather(people_in_water=True), OPEN) == 0


def test_an_image_fades_and_is_gone_at_twice_the_breaking_wind():
    assert [mirror_strength(Weather(wind), SHELTERED) for wind in (0.0, 1.0, 2.0, 9.0)] == [1.0, 0.5, 0.0, 0.0]


@pytest.mark.parametrize(("values", "words"), [
    ({"wind_m_s": -1}, "Wind is between 0 and 120 m/s; -1 came"),
    ({"wind_m_s": float("nan")}, "Wind is between"),
    ({"wind_from_deg": 400}, "bearing of 0 to 360°; 400 came"),
])  # fmt: skip
def test_impossible_weather_is_refused_in_words(values, words):
    with pytest.raises(BadInput, match=words):
        Weather(**values)


@pytest.mark.parametrize("force", range(13))
def test_a_force_by_eye_is_a_wind_of_that_force(force):
    assert beaufort(wind_of_force_m_s(force)) == force


def test_force_three_is_about_four_and_a_half():
    """The middle of 3.4 to 5.5 m/s, WMO-No. 306, code table 1100."""
    assert wind_of_force_m_s(3) == pytest.approx(4.45, abs=0.06)  # it is rounded to a tenth, as winds are told


@pytest.mark.parametrize("force", [-1, 2.5, 13])
def test_only_whole_forces_of_the_scale_are_known(force):
    with pytest.raises(ValueError, match=f"whole number from 0 to 12; {force:g} came"):
        wind_of_force_m_s(force)
