"""Skylines: straight between sighted points, level where nobody looked."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.place.edit import new_document, survey_feature, with_feature
from app.place.geodesy import direct
from app.place.site import Pin, Sighting, Survey
from app.place.sitefile import parse_site
from app.place.skyline import Skyline, level_skyline, skyline_for, surveyed_skyline

PIN = Pin(54.57, -3.13)
ROUNDING_DEG = 1e-9


def survey(*sightings):
    return Survey("s", "s", PIN, 1.6, tuple(Sighting(*sighting) for sighting in sightings))


ALL_ROUND = [(azimuth, 3.0 + azimuth / 360.0) for azimuth in range(0, 360, 30)]
RIDGE = surveyed_skyline(survey((250.0, 4.0, "the ridge"), (270.0, 5.0), (290.0, 3.0, "the fell")))


def test_between_neighbours_the_line_is_straight():
    assert RIDGE.altitude_at(260.0) == pytest.approx(4.5, abs=ROUNDING_DEG)
    assert RIDGE.altitude_at([250.0, 265.0, 280.0, 290.0]) == pytest.approx(
        [4.0, 4.75, 4.0, 3.0], abs=ROUNDING_DEG
    )


def test_a_gap_wider_than_thirty_degrees_is_level_up_to_a_step_at_the_sighted_points():
    assert RIDGE.altitude_at([249.99, 290.01, 300.0, 0.0, 120.0]) == pytest.approx(0.0, abs=ROUNDING_DEG)
    assert RIDGE.altitude_at(249.995) == pytest.approx(2.0, abs=1e-6)
    assert RIDGE.altitude_at(290.005) == pytest.approx(1.5, abs=1e-6)


def test_a_gap_of_thirty_degrees_is_still_straight():
    narrow = surveyed_skyline(survey((100.0, 2.0), (130.0, 4.0)))
    wide = surveyed_skyline(survey((100.0, 2.0), (130.5, 4.0)))
    assert narrow.altitude_at(115.0) == pytest.approx(3.0)
    assert wide.altitude_at(115.0) == 0.0


def test_the_line_goes_on_over_north():
    across = surveyed_skyline(survey((350.0, 2.0), (10.0, 4.0)))
    assert across.altitude_at([355.0, 0.0, 360.0, -5.0, 725.0]) == pytest.approx([2.5, 3.0, 3.0, 2.5, 3.5])


def test_one_sighted_point_is_a_needle():
    needle = surveyed_skyline(survey((0.0, 7.0, "the mast")))
    assert needle.altitude_at([359.98, 0.0, 0.02]) == pytest.approx([0.0, 7.0, 0.0])


def test_a_survey_all_round_has_only_its_own_bends():
    assert list(surveyed_skyline(survey(*ALL_ROUND)).azimuth_deg) == [azimuth for azimuth, _ in ALL_ROUND]


def test_the_order_of_sighting_does_not_matter():
    forwards, backwards = surveyed_skyline(survey(*ALL_ROUND)), surveyed_skyline(survey(*ALL_ROUND[::-1]))
    azimuths = np.linspace(0.0, 360.0, 1000)
    np.testing.assert_array_equal(forwards.altitude_at(azimuths), backwards.altitude_at(azimuths))


@pytest.mark.parametrize(
    ("azimuth_deg", "name"),
    [
        (250.0, "the ridge"),
        (249.995, "the ridge"),
        (280.0, "the ridge"),
        (290.0, "the fell"),
        (290.005, "the fell"),
        (300.0, "the horizon"),
        (0.0, "the horizon"),
        (249.9, "the horizon"),
        (-110.0, "the ridge"),
        (610.0, "the ridge"),
    ],
)
def test_a_name_holds_clockwise_to_the_next_and_level_parts_are_the_horizon(azimuth_deg, name):
    assert RIDGE.called_at(azimuth_deg) == name


def test_a_name_holds_past_north():
    named = surveyed_skyline(survey(*ALL_ROUND[:-1], (*ALL_ROUND[-1], "the wood")))
    assert [named.called_at(azimuth) for azimuth in (335.0, 355.0, 10.0, 320.0)] == ["the wood"] * 4


def test_without_names_it_is_the_skyline_and_where_level_the_horizon():
    plain = surveyed_skyline(survey((100.0, 2.0), (120.0, 0.0), (140.0, 0.0), (160.0, 1.0)))
    called = [plain.called_at(azimuth) for azimuth in (110.0, 130.0, 150.0, 200.0)]
    assert called == ["the skyline", "the horizon", "the skyline", "the horizon"]


def test_flat_land_is_level_all_round():
    assert level_skyline().altitude_at([0.0, 123.4, 360.0]) == pytest.approx(0.0)
    assert level_skyline().called_at(123.4) == "the horizon"


@pytest.mark.parametrize("shape", [(), (3,), (2, 3), (0,)])
def test_keeps_the_shape_of_its_input(shape):
    assert np.shape(RIDGE.altitude_at(np.full(shape, 260.0))) == shape


sighted = st.lists(
    st.tuples(st.integers(0, 35999).map(lambda hundredths: hundredths / 100 + 0.003), st.floats(-10, 90)),
    min_size=1,
    max_size=30,
    unique_by=lambda sighting: round(sighting[0] / 0.05),
)


@given(sighted)
def test_every_sighted_point_is_on_the_line(sightings):
    skyline = surveyed_skyline(survey(*sightings))
    azimuths, altitudes = np.array(sightings).T
    assert skyline.altitude_at(azimuths) == pytest.approx(altitudes, abs=ROUNDING_DEG)
    assert skyline.altitude_at(azimuths + 360.0) == pytest.approx(altitudes, abs=1e-6)


@given(sighted, st.floats(0, 360))
def test_between_two_bends_the_line_is_straight_wherever_one_looks(sightings, azimuth_deg):
    skyline = surveyed_skyline(survey(*sightings))
    after = np.searchsorted(skyline.azimuth_deg, azimuth_deg) % len(skyline.azimuth_deg)
    start, end = skyline.azimuth_deg[after - 1], skyline.azimuth_deg[after]
    span = (end - start) % 360.0 or 360.0
    middle = skyline.altitude_at(start + span / 2)
    ends = skyline.altitude_at([start, end])
    assert middle == pytest.approx(np.mean(ends), abs=1e-6)


def site_with(*surveys):
    document = new_document("Trial", 54.57, -3.13)
    for metres, altitude_deg in surveys:
        pin = Pin(*direct(54.57, -3.13, 90.0, metres))
        document = with_feature(
            document, survey_feature(f"{metres}", pin, [[250, altitude_deg], [270, altitude_deg]])
        )
    return parse_site(document)


def test_a_pin_takes_the_skyline_of_the_nearest_survey():
    assert skyline_for(site_with((900.0, 2.0), (100.0, 5.0), (400.0, 3.0)), PIN).altitude_at(260.0) == 5.0


def test_a_survey_beyond_two_kilometres_tells_nothing():
    assert skyline_for(site_with((1999.0, 2.0)), PIN).altitude_at(260.0) == 2.0
    assert skyline_for(site_with((2001.0, 2.0)), PIN).altitude_at(260.0) == 0.0
    assert skyline_for(site_with(), PIN).called_at(260.0) == "the horizon"


@pytest.mark.parametrize(
    ("azimuths", "altitudes", "names", "words"),
    [
        ([0.0, 10.0], [1.0], ("a", "b"), "as many altitudes and names as azimuths"),
        ([0.0, 10.0], [1.0, 2.0], ("a",), "as many altitudes and names as azimuths"),
        ([], [], (), "one node or more"),
        ([10.0, 10.0], [1.0, 2.0], ("a", "b"), "ascending azimuths"),
        ([0.0, 10.0], [1.0, np.nan], ("a", "b"), "finite"),
        ([0.0, np.nan], [1.0, 1.0], ("a", "b"), "ascending azimuths"),
        ([0.0, 360.0], [1.0, 2.0], ("a", "b"), "from 0 to below 360"),
        ([-1.0, 10.0], [1.0, 2.0], ("a", "b"), "from 0 to below 360"),
    ],
)
def test_nodes_that_make_no_line_are_misuse(azimuths, altitudes, names, words):
    with pytest.raises(ValueError, match=words):
        Skyline(azimuths, altitudes, names)


def test_a_skyline_cannot_be_bent_afterwards():
    with pytest.raises(ValueError, match="read-only"):
        RIDGE.altitude_deg[0] = 9.0


@given(sighted, st.floats(0, 360), st.floats(-179, 179))
def test_the_range_between_two_azimuths_is_that_of_all_the_altitudes_there(sightings, from_deg, turn_deg):
    skyline = surveyed_skyline(survey(*sightings))
    low, high = sorted([from_deg, from_deg + turn_deg])
    turned = np.concatenate([skyline.azimuth_deg + turn for turn in (-360.0, 0.0, 360.0)])
    inside = turned[(turned > low - 0.05) & (turned < high + 0.05)]
    there = skyline.altitude_at(np.concatenate([[low - 0.05, high + 0.05], inside]))
    lowest, highest = skyline.range_between(np.array([from_deg]), np.array([(from_deg + turn_deg) % 360.0]))
    assert (lowest[0], highest[0]) == pytest.approx((there.min(), there.max()), abs=1e-6)
