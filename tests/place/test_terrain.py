"""Terrain: heights between the crossings, cropped for one site, and kept as bytes."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_array_equal

from app.errors import BadInput
from app.place.geodesy import inverse
from app.place.terrain import Grid, Terrain
from app.place.terrain_file import MARK, terrain_bytes, terrain_from_bytes
from tests.place.landscapes import HERE, ONE_SECOND_DEG, fine, hills, wide

ROUNDING_M = 1e-3  # of a 32-bit height
VOID = np.nan
SMALL = Grid([[10, 20, 30], [40, 50, 60], [70, 80, VOID]], 54.0, -4.0, 0.5, 0.25)
HILLS = Terrain((Grid(hills(), 55.0, -4.0, ONE_SECOND_DEG, ONE_SECOND_DEG),), "hills")
AMID_HILLS = (55.0 - 600 * ONE_SECOND_DEG, -4.0 + 600 * ONE_SECOND_DEG)


# Heights


def test_crossings_have_their_own_heights():
    assert SMALL.height_at([54.0, 53.5, 53.0], [-4.0, -4.0, -4.0]) == pytest.approx([10, 40, 70], abs=ROUNDING_M)
    assert SMALL.height_at(54.0, [-3.75, -3.5]) == pytest.approx([20, 30], abs=ROUNDING_M)


def test_between_crossings_heights_are_bilinear():
    """By hand: a quarter down and half across of 10 20 / 40 50 is 0.75 × 15 + 0.25 × 45 = 22.5."""
    assert SMALL.height_at(53.875, -3.875) == pytest.approx(22.5, abs=ROUNDING_M)


@given(down=st.floats(0, 1), across=st.floats(0, 2))
def test_a_plane_is_met_exactly(down, across):
    plane = Grid([[10, 20, 30], [40, 50, 60]], 54.0, -4.0, 0.5, 0.25)
    assert plane.height_at(54.0 - down * 0.5, -4.0 + across * 0.25) == pytest.approx(10 + 30 * down + 10 * across, abs=ROUNDING_M)


def test_unknown_corners_make_unknown_heights_and_so_does_the_outside():
    heights = SMALL.height_at([53.1, 53.6, 54.3, 53.5, 52.7], [-3.6, -3.9, -4.0, -4.2, -4.0])
    assert_array_equal(np.isnan(heights), [True, False, True, True, True])


def test_the_outermost_heights_go_on_for_half_a_step():
    assert SMALL.height_at([54.24, 53.5], [-4.0, -4.12]) == pytest.approx([10, 40], abs=ROUNDING_M)


def test_files_without_a_shared_row_leave_no_seam():
    """GeoTIFF cells meet at their edges, so the crossings of two files lie a whole step apart."""
    north = Grid([[1, 1], [1, 1]], 54.95, -4.0, 0.1, 0.1)
    south = Grid([[2, 2], [2, 2]], 54.75, -4.0, 0.1, 0.1)
    heights = Terrain((north, south)).height_at(np.linspace(54.7, 54.95, 1001), -3.95)
    assert set(np.unique(heights)) == {1.0, 2.0}


@pytest.mark.parametrize("shape", [(), (3,), (2, 3), (0,)])
@pytest.mark.parametrize("terrain", [SMALL, Terrain((SMALL, Grid([[5, 5], [5, 5]], 53.2, -4, 0.1, 0.1)))])
def test_keeps_the_shape_of_its_input(terrain, shape):
    assert np.shape(terrain.height_at(np.full(shape, 53.6), -3.9)) == shape


@pytest.mark.parametrize("lon_deg", [179.875, -180.125, 539.875])
def test_longitudes_of_any_turn_find_the_same_place(lon_deg):
    assert Grid([[1, 2], [1, 2]], 10, 179.75, 0.25, 0.25).height_at(9.9, lon_deg) == pytest.approx(1.5)
    assert Grid([[1, 2], [1, 2]], 10, -180.25, 0.25, 0.25).height_at(9.9, lon_deg) == pytest.approx(1.5)


def test_the_finer_grid_counts_and_the_coarser_fills_what_it_does_not_know():
    fine_grid = Grid([[1, 1, VOID], [1, 1, VOID]], 54, -4, 0.1, 0.1)
    coarse = Grid([[2, 2], [2, 2]], 54, -4, 0.2, 0.2)
    assert Terrain((coarse, fine_grid)).height_at(53.95, [-3.95, -3.85]) == pytest.approx([1, 2])


def test_heights_no_ground_has_are_unknown():
    grid = Grid([[-32768, 9999], [-430, 8849]], 54, -4, 0.1, 0.1)
    assert_array_equal(np.isnan(grid.heights_m), [[True, True], [False, False]])


@pytest.mark.parametrize("wrong,words", [
    ({"heights_m": [[1, 2]]}, "two rows and columns"),
    ({"heights_m": [1, 2]}, "two rows and columns"),
    ({"step_lat_deg": 0.0}, "north to south"),
    ({"step_lon_deg": -1.0}, "west to east"),
    ({"north_deg": float("nan")}, "north to south"),
    ({"north_deg": 120.0}, "off the Earth: 119.00° N to 120.00° N"),
    ({"step_lon_deg": 400.0}, "off the Earth"),
])
def test_a_grid_that_cannot_be_is_refused_in_words(wrong, words):
    usual = {"heights_m": [[1, 2], [3, 4]], "north_deg": 54.0, "west_deg": -4.0, "step_lat_deg": 1.0, "step_lon_deg": 1.0}
    with pytest.raises(BadInput, match=words):
        Grid(**usual | wrong)


@pytest.mark.parametrize("grids", [(), (Grid([[VOID, VOID], [VOID, VOID]], 54, -4, 1, 1),)])
def test_terrain_without_a_height_is_refused(grids):
    with pytest.raises(BadInput, match="not one height"):
        Terrain(grids)


# What one site needs


def test_near_ground_keeps_the_file_s_own_heights():
    kept = HILLS.around(*AMID_HILLS)
    for metres in (0, 2000, 5900):
        lat = AMID_HILLS[0] + metres / 111_300 * np.array([1, -1])
        assert kept.height_at(lat, AMID_HILLS[1]) == pytest.approx(HILLS.height_at(lat, AMID_HILLS[1]), abs=ROUNDING_M)


def test_far_cells_hold_the_highest_of_their_crossings():
    tower = np.zeros((1201, 1201))
    tower[77, 600] = 500.0
    source = Terrain((Grid(tower, 55.0, -4.0, ONE_SECOND_DEG, ONE_SECOND_DEG),))
    kept = source.around(*AMID_HILLS)
    assert kept.highest_m == 500.0
    north_m = inverse(*AMID_HILLS, 55.0 - 77 * ONE_SECOND_DEG, AMID_HILLS[1]).distance_m
    assert north_m == pytest.approx(16_200, abs=100)
    heights = kept.height_at(55.0 - np.arange(70, 84) * ONE_SECOND_DEG, AMID_HILLS[1])
    assert np.max(heights) > 250  # a cell of 4 x 7 crossings, at worst met half-way between two


@pytest.mark.parametrize("by_rows,by_columns", [(1, 1), (4, 7), (5, 3), (50, 80)])
def test_coarser_cells_cover_the_same_ground_and_are_never_lower_in_their_middle(by_rows, by_columns):
    grid = Grid(hills(side=61), 55.0, -4.0, ONE_SECOND_DEG, ONE_SECOND_DEG)
    coarse = grid.coarser(by_rows, by_columns)
    assert coarse.highest_m == grid.highest_m
    rows, columns = np.arange(61), np.arange(61)
    heights = coarse.height_at((55 - rows * ONE_SECOND_DEG)[:, None], -4 + columns * ONE_SECOND_DEG)
    assert not np.isnan(heights).any()
    assert np.mean(heights) >= np.mean(grid.heights_m) - ROUNDING_M


def test_a_whole_degree_is_kept_in_less_than_two_megabytes():
    degree = Terrain((Grid(hills(side=3601), 55.0, -4.0, ONE_SECOND_DEG, ONE_SECOND_DEG),), "a whole degree")
    assert len(terrain_bytes(degree.around(54.5, -3.5))) < 1_000_000


def test_a_fine_survey_of_a_garden_keeps_its_five_metres_near_by():
    garden = Terrain((Grid(hills(side=801), 54.502, -3.503, 1 / 111_300, 1 / 64_700),))
    steps = {round(grid.post_m) for grid in garden.around(54.4985, -3.4965).grids}
    assert min(steps) == 5


def test_terrain_of_another_place_is_refused_in_words():
    with pytest.raises(BadInput, match=r"None of the heights of “hills” lie within 50 km of 51\.00° N, 3\.50° W; they cover 54\.67° N to 55\.00° N, 4\.00° W"):
        HILLS.around(51.0, -3.5)


def test_a_grid_round_the_globe_is_cut_on_both_sides_of_its_seam():
    globe = Grid(np.tile(np.arange(361.0), (181, 1)), 90.0, -180.0, 1.0, 1.0)
    parts = list(globe.cut(0.0, 179.5, 2.0, 3.0))
    assert sorted((part.west_deg, part.east_deg) for part in parts) == [(-180.0, -178.0), (177.0, 180.0)]


def test_cropping_twice_is_cropping_once():
    once = HILLS.around(*AMID_HILLS)
    assert once.around(*AMID_HILLS).height_at(*AMID_HILLS) == once.height_at(*AMID_HILLS)
    assert len(terrain_bytes(once.around(*AMID_HILLS))) < 1.2 * len(terrain_bytes(once))


# Kept as bytes


@pytest.mark.parametrize("terrain", [
    HILLS.around(*AMID_HILLS),
    wide(lambda distance, bearing: np.where(distance > 30_000, VOID, distance / 100)).around(*HERE),
    fine(lambda distance, bearing: np.where(bearing < 90, -430.0, 8848.0)).around(*HERE),
])
def test_kept_terrain_comes_back_as_it_was(terrain):
    back = terrain_from_bytes(terrain_bytes(terrain))
    assert back.source == terrain.source
    for came, went in zip(back.grids, terrain.grids, strict=True):
        assert_array_equal(came.heights_m, went.heights_m)
        assert (came.north_deg, came.west_deg, came.step_lat_deg) == (went.north_deg, went.west_deg, went.step_lat_deg)


KEPT = terrain_bytes(Terrain((SMALL,), "a small file"))


@given(place=st.integers(0, len(KEPT) - 1), byte=st.integers(1, 255), cut=st.booleans())
def test_damaged_bytes_are_told_in_words(place, byte, cut):
    damaged = KEPT[:place] if cut else KEPT[:place] + bytes([KEPT[place] ^ byte]) + KEPT[place + 1 :]
    try:
        came = terrain_from_bytes(damaged)
    except BadInput as error:
        assert "damaged" in str(error) and "again" in str(error)
    else:  # a flag of the packing that means nothing here
        assert_array_equal(came.grids[0].heights_m, SMALL.heights_m)


@pytest.mark.parametrize("head", [
    b"[]", b"{}", b'{"grids": [], "source": ""}', b'{"grids": [{"shape": [2, 2]}], "source": ""}', b"\xff",
    b'{"grids": [{"shape": [-2, -2], "north_deg": 1, "west_deg": 1, "step_lat_deg": 1, "step_lon_deg": 1}], "source": ""}',
    b'{"grids": [{"shape": [2, 2], "north_deg": 1e999, "west_deg": 1, "step_lat_deg": 1, "step_lon_deg": 1}], "source": ""}',
])
def test_whole_packets_with_nonsense_inside_are_told_in_words(head):
    import zlib

    with pytest.raises(BadInput, match="damaged"):
        terrain_from_bytes(MARK + zlib.compress(head + b"\n" + bytes(16)))
