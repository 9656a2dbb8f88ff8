"""How clear a disc stands between skyline and bands: what is counted, that it is continuous, and its bounds."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.place.bands import Band
from app.place.skyline import SUN_DEG, Skyline, level_skyline


def level_band(low_deg, high_deg, called="the roof"):
    return Band(np.array([0.0]), np.array([low_deg]), np.array([high_deg]), called)


def under(*bands, skyline_deg=0.0):
    return Skyline([0.0], [skyline_deg], ("the horizon",), tuple(level_band(*band) for band in bands))


def shown_by_counting(skyline_deg, bands, top_deg):
    """Lay 4,000 points along the disc and count the longest run that nothing hides."""
    points = np.linspace(top_deg - SUN_DEG, top_deg, 4001)
    free = points > skyline_deg
    for low, high in bands:
        free &= ~((points > low) & (points < high))
    edges = np.flatnonzero(np.diff(np.concatenate([[0], free.astype(int), [0]])))
    return max(((end - start) * SUN_DEG / 4000 for start, end in zip(edges[::2], edges[1::2], strict=True)), default=0.0)


band_lists = st.lists(st.tuples(st.floats(-1, 4), st.floats(0.05, 2)).map(lambda pair: (pair[0], pair[0] + pair[1])), max_size=4)


@given(st.floats(-1, 2), band_lists, st.floats(-2, 6))
def test_the_clearance_is_the_longest_free_piece_of_the_disc(skyline_deg, bands, top_deg):
    found = float(under(*bands, skyline_deg=skyline_deg).clearance_deg(0.0, top_deg))
    counted = shown_by_counting(skyline_deg, bands, top_deg)
    assert min(max(found, 0.0), SUN_DEG) == pytest.approx(counted, abs=0.001)


def test_without_bands_it_is_the_upper_edge_less_the_skyline():
    tops = np.array([-3.0, 0.0, 0.2, 40.0])
    assert level_skyline().clearance_deg(123.0, tops) == pytest.approx(tops)


def test_a_gap_narrower_than_the_disc_counts_by_its_width():
    assert under((0.1, 3.0)).clearance_deg(0.0, 0.3) == pytest.approx(0.1)


@given(st.floats(-1, 2), band_lists, st.floats(-2, 6), st.floats(-0.01, 0.01), st.integers(0, 3))
def test_a_small_step_of_anything_is_a_small_step_of_the_clearance(skyline_deg, bands, top_deg, step, which):
    moved = [(low + step * (i == which), high + step * (i == which)) for i, (low, high) in enumerate(bands)]
    before = under(*bands, skyline_deg=skyline_deg).clearance_deg(0.0, top_deg)
    after = under(*moved, skyline_deg=skyline_deg).clearance_deg(0.0, top_deg + step)
    assert abs(after - before) <= 3 * abs(step) + 1e-12


nodes = st.lists(st.tuples(st.integers(0, 359), st.floats(-2, 8)), min_size=1, max_size=8, unique_by=lambda node: node[0])
band_nodes = st.lists(
    st.tuples(st.integers(0, 359), st.floats(-1, 6), st.floats(0.1, 3), st.booleans()), min_size=1, max_size=8, unique_by=lambda node: node[0]
)


def skyline_of(line, bands):
    made = []
    for band in bands:
        azimuth, low, width, there = np.array(sorted(band)).T
        made.append(Band(azimuth, np.where(there, low, 180.0), np.where(there, low + width, -180.0), "the roof"))
    azimuth, altitude = np.array(sorted(line), dtype=float).T
    return Skyline(azimuth, altitude, ("the ridge",) * len(azimuth), tuple(made))


@given(nodes, st.lists(band_nodes, max_size=3), st.floats(0, 360), st.floats(-100, 100), st.floats(-2, 8), st.floats(0, 2))
def test_the_bounds_hold_everywhere_on_the_way(line, bands, from_deg, turn_deg, low_edge, swing):
    skyline = skyline_of(line, bands)
    least, most = skyline.clearance_bounds_deg([from_deg], [(from_deg + turn_deg) % 360.0], low_edge, low_edge + swing)
    azimuths, edges = np.meshgrid(from_deg + np.linspace(0, turn_deg, 60), low_edge + np.linspace(0, swing, 9))
    found = skyline.clearance_deg(azimuths, edges)
    assert least[0] <= found.min() + 1e-9
    assert most[0] >= found.max() - 1e-9


def test_bounds_of_a_short_way_are_close():
    skyline = skyline_of([(0, 1.0), (180, 3.0)], [[(0, 4.0, 1.0, True), (180, 5.0, 1.0, True)]])
    least, most = skyline.clearance_bounds_deg([90.0], [90.01], 3.0, 3.01)
    assert 0.0 <= most[0] - least[0] < 0.02


def test_a_disc_is_named_by_the_band_it_is_behind():
    skyline = under((2.0, 5.0))
    named = [skyline.called_at(0.0, top) for top in (5.5, 5.0, 3.0, 2.0, 1.0, -1.0)]
    assert named == ["the horizon", "the roof", "the roof", "the roof", "the horizon", "the horizon"]
