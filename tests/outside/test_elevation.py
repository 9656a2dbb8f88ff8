"""Elevation files: read as they were written, or refused in words."""

import gzip
import struct
import zipfile
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_array_equal
from PIL import Image, TiffImagePlugin

from app.errors import BadInput, TooLarge
from app.outside import elevation
from app.outside.elevation import read_elevation, tile_name
from app.storage import pictures  # lowers Pillow's limit for the whole process, as in the running program

FILES = Path(__file__).parent / "files"
VOID = -32768
ROUNDING_DEG = 1e-12
assert pictures.LARGEST_PIXELS < 2 * elevation.MOST_HEIGHTS + 1


def hgt(side=1201, heights=None):
    """The bytes of an .hgt file, a slope from north to south unless heights are given."""
    if heights is None:
        heights = np.arange(side)[:, None] + np.zeros(side)
    return np.asarray(heights).astype(">i2").tobytes()


def zipped(**files):
    file = BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, data in files.items():
            packed.writestr(name.replace("__", "."), data)
    return file.getvalue()


# SRTM


def test_an_hgt_file_begins_in_the_north_west_and_is_named_by_its_south_west():
    grid = read_elevation("N54W004.hgt", hgt())
    assert grid.heights_m.shape == (1201, 1201)
    assert (grid.north_deg, grid.south_deg, grid.west_deg, grid.east_deg) == pytest.approx((55, 54, -4, -3))
    assert grid.height_at([55.0, 54.5, 54.0], -3.5) == pytest.approx([0, 600, 1200])


@pytest.mark.parametrize("name,corner", [
    ("S33E018.hgt", (-33, 18)), ("n00e000.HGT", (0, 0)), ("N54W004.SRTMGL1.hgt", (54, -4)), ("S01W180.hgt", (-1, -180)),
    (r"C:\maps\N54W004.hgt", (54, -4)), ("dem_N54W004_v3.hgt", (54, -4)),
])
def test_names_of_every_quarter_of_the_globe(name, corner):
    grid = read_elevation(name, hgt(11))
    assert (round(grid.south_deg, 9), round(grid.west_deg, 9)) == corner


def test_a_degree_at_one_second_has_3601_rows():
    assert read_elevation("N54W004.hgt", hgt(3601)).step_lat_deg == pytest.approx(1 / 3600)


def test_voids_are_unknown():
    heights = np.full((11, 11), 300)
    heights[3, 4] = VOID
    assert_array_equal(np.argwhere(np.isnan(read_elevation("N54W004.hgt", hgt(heights=heights)).heights_m)), [[3, 4]])


@pytest.mark.parametrize("name,data", [
    ("N54W004.hgt.zip", zipped(N54W004__hgt=hgt(11))),
    ("N54W004.zip", zipped(heights__hgt=hgt(11), readme__txt=b"notes")),
    ("download.zip", zipped(N54W004__hgt=hgt(11))),
    ("N54W004.hgt.gz", gzip.compress(hgt(11))),
])
def test_packed_files_are_as_good_as_plain_ones(name, data):
    assert_array_equal(read_elevation(name, data).heights_m, read_elevation("N54W004.hgt", hgt(11)).heights_m)
    assert read_elevation(name, data).west_deg == -4.0


@pytest.mark.parametrize("name,data,words", [
    ("N54W004.hgt", b"", "is empty"),
    ("N54W004.hgt", hgt()[:-2], r"2,884,800 bytes, which fill no square.*may be cut off"),
    ("N54W004.hgt", hgt(heights=np.zeros((3601, 1801)))[: 2 * 3601 * 1801], "fill no square of heights"),
    ("N54W004.hgt", b"x", "fill no square"),
    ("N54W004.hgt", hgt(heights=np.full((11, 11), VOID)), "no height at all"),
    ("hills.hgt", hgt(11), "does not say which degree.*like N54W004.hgt"),
    ("N94W004.hgt", hgt(11), "not on the Earth: N94W004"),
    ("N54E180.hgt", hgt(11), "not on the Earth"),
    ("hills.txt", b"100 200 300", "no elevation file known here; expected is SRTM"),
    ("plan.jpg", b"\xff\xd8\xff\xe0", "no elevation file known here"),
    ("N54W004.zip", zipped(readme__txt=b"nothing"), "holds 0 elevation files; one"),
    ("two.zip", zipped(N54W004__hgt=hgt(11), N54W003__hgt=hgt(11)), "holds 2 elevation files; one"),
    ("N54W004.zip", zipped(N54W004__hgt=hgt(11))[:60], "cannot be unpacked.*Load it down again"),
    ("N54W004.hgt.gz", gzip.compress(hgt(11))[:40], "cannot be unpacked"),
])
def test_what_cannot_be_used_is_refused_in_words(name, data, words):
    with pytest.raises(BadInput, match=words):
        read_elevation(name, data)


@pytest.mark.parametrize("pack", [lambda data: zipped(N54W004__hgt=data), gzip.compress])
def test_a_small_packet_that_unpacks_without_end_is_stopped(monkeypatch, pack):
    monkeypatch.setattr(elevation, "MOST_HEIGHTS", 1_000)
    bomb = pack(bytes(1_000_000))
    assert len(bomb) < 2_000
    with pytest.raises(TooLarge, match="holds more than"):
        read_elevation("N54W004.hgt.zip", bomb)


def test_a_packet_that_lies_about_its_size_is_stopped(monkeypatch):
    monkeypatch.setattr(elevation, "MOST_HEIGHTS", 1_000)
    honest = zipped(N54W004__hgt=bytes(100_000))
    lying = honest.replace(struct.pack("<I", 100_000), struct.pack("<I", 242))
    assert lying != honest
    with pytest.raises(BadInput, match="cannot be unpacked|holds more than"):
        read_elevation("N54W004.zip", lying)


def test_a_locked_packet_is_refused_in_words():
    locked = bytearray(zipped(N54W004__hgt=hgt(11)))
    for mark, flag in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        locked[locked.index(mark) + flag] |= 1
    with pytest.raises(BadInput, match="damaged, cut off or locked"):
        read_elevation("N54W004.zip", bytes(locked))


@pytest.mark.parametrize("lat_deg,lon_deg,name", [
    (54.57, -3.13, "N54W004"), (-32.9, 17.9, "S33E017"), (0.5, -0.5, "N00W001"), (54.0, -3.0, "N54W003"),
])
def test_the_name_of_the_file_one_needs(lat_deg, lon_deg, name):
    assert tile_name(lat_deg, lon_deg) == name
    grid = read_elevation(f"{name}.hgt", hgt(11))
    assert grid.south_deg <= lat_deg <= grid.north_deg and grid.west_deg <= lon_deg <= grid.east_deg


# GeoTIFF


def formula():
    row, column = np.mgrid[0:40, 0:50]
    return 300 + 3 * column - 5 * row + (7 * column + 13 * row) % 11


@pytest.mark.parametrize("name", [
    "float32_lzw_predictor3.tif", "float32_zstd_nan.tif", "int16_deflate_predictor2_tiled.tif", "uint16_packbits.tif",
])
def test_files_of_a_reference_library_are_read_as_they_were_written(name):
    """Written by rasterio, see files/README.md; the middle of the first cell is half a cell from its corner."""
    grid = read_elevation(name, (FILES / name).read_bytes())
    expected = formula().astype(float)
    expected[5, 7] = np.nan
    assert_array_equal(grid.heights_m, expected)
    assert (grid.north_deg, grid.west_deg) == pytest.approx((54.75 - 0.0025, -3.25 + 0.005), abs=ROUNDING_DEG)
    assert (grid.step_lat_deg, grid.step_lon_deg) == (0.005, 0.01)


def test_a_file_tied_by_points_lies_where_one_tied_by_corners_lies():
    points = read_elevation("points.tif", (FILES / "point_int16.tif").read_bytes())
    corners = read_elevation("corners.tif", (FILES / "int16_deflate_predictor2_tiled.tif").read_bytes())
    assert (points.north_deg, points.west_deg) == pytest.approx((corners.north_deg, corners.west_deg), abs=ROUNDING_DEG)
    assert_array_equal(points.heights_m, formula())


LAID = {33550: (0.01, 0.005, 0.0), 33922: (0.0, 0.0, 0.0, -3.25, 54.75, 0.0)}
KEYS = (1, 1, 0, 3, 1024, 0, 1, 2, 1025, 0, 1, 1, 2048, 0, 1, 4326)


def tiff(pixels=None, keys=KEYS, no_data=None, **tags):
    """A GeoTIFF by Pillow, with tags replaced, or left out where None."""
    pixels = formula().astype(np.float32) if pixels is None else pixels
    directory = TiffImagePlugin.ImageFileDirectory_v2()
    for tag, values in (LAID | {int(tag.removeprefix("tag")): values for tag, values in tags.items()}).items():
        if values is not None:
            directory.tagtype[tag] = 12
            directory[tag] = values
    if keys:
        directory.tagtype[34735] = 3
        directory[34735] = keys
    if no_data:
        directory.tagtype[42113] = 2
        directory[42113] = no_data
    file = BytesIO()
    Image.fromarray(pixels).save(file, "TIFF", tiffinfo=directory)
    return file.getvalue()


def test_a_tie_point_may_lie_anywhere_in_the_file():
    grid = read_elevation("a.tif", tiff(tag33922=(10.0, 20.0, 0.0, -3.15, 54.65, 0.0)))
    assert (grid.north_deg, grid.west_deg) == pytest.approx((54.75 - 0.0025, -3.25 + 0.005), abs=ROUNDING_DEG)


def test_a_tiff_without_an_ending_is_known_by_its_first_bytes():
    assert read_elevation("N54W004 heights", tiff()).heights_m.shape == (40, 50)


@pytest.mark.parametrize("data,words", [
    (tiff(keys=(1, 1, 0, 2, 1024, 0, 1, 1, 3072, 0, 1, 27700)), "lies in EPSG:27700. Only EPSG:4326"),
    (tiff(keys=(1, 1, 0, 2, 1024, 0, 1, 2, 2048, 0, 1, 4277)), "lies in EPSG:4277"),
    (tiff(keys=(1, 1, 0, 2, 1024, 0, 1, 1, 3072, 0, 1, 32767)), "a system of its own"),
    (tiff(keys=None), "does not say in which coordinates"),
    (tiff(keys=(*KEYS, 4099, 0, 1, 9002)), "unit other than metres"),
    (tiff(tag33550=None), "not laid north up"),
    (tiff(tag33550=(0.01, -0.005, 0.0)), "not laid north up"),
    (tiff(tag33922=(0.0,) * 12), "not laid north up"),
    (tiff(tag34264=(1.0,) * 16), "not laid north up"),
    (tiff(np.zeros((4, 5, 3), np.uint8)), "picture in colours or greys"),
    (tiff(np.zeros((4, 5), np.uint8)), "picture in colours or greys"),
    (tiff(np.full((4, 5), -9999, np.float32), no_data="-9999"), "no height at all"),
    (tiff(np.zeros((1, 5), np.float32)), "two rows and columns"),
    (tiff(tag33922=(0.0, 0.0, 0.0, -3.25, 154.75, 0.0)), "off the Earth"),
    ((FILES / "float64_deflate.tif").read_bytes(), "numbers other than 16- or 32-bit"),
    ((FILES / "utm_int16.tif").read_bytes(), "lies in EPSG:32630"),
    (tiff()[:2000], "damaged or cut off"),
    (b"II*\0", "damaged or cut off"),
])
def test_geotiffs_that_cannot_be_used_are_refused_in_words(data, words):
    with pytest.raises(BadInput, match=words):
        read_elevation("heights.tif", data)


@pytest.mark.parametrize("sides", [(7_000, 7_000), (10_000, 9_000), (60_000, 60_000)])
def test_a_file_that_claims_too_many_heights_is_refused_before_it_is_read(sides):
    """Also those between this limit and the ones of Pillow, which warns first and fails later."""
    directory = struct.pack("<H", 5) + b"".join(
        struct.pack("<HHII", tag, 4, 1, value) for tag, value in ((256, sides[0]), (257, sides[1]), (258, 16), (262, 1), (273, 8))
    )
    with pytest.raises(TooLarge, match="more than 40 million heights; cut out"):
        read_elevation("huge.tif", b"II*\0\x08\0\0\0" + directory + bytes(4))


@pytest.mark.filterwarnings("ignore::UserWarning", "ignore::PIL.Image.DecompressionBombWarning")
@settings(max_examples=150)
@given(place=st.integers(0, 1300), byte=st.integers(0, 255), name=st.sampled_from([
    "float32_lzw_predictor3.tif", "int16_deflate_predictor2_tiled.tif", "point_int16.tif",
]))  # fmt: skip
def test_damaged_geotiffs_give_a_grid_or_words_but_no_other_error(place, byte, name):
    data = bytearray((FILES / name).read_bytes())
    data[place % len(data)] = byte
    try:
        assert read_elevation(name, bytes(data)).heights_m.size
    except BadInput as error:
        assert str(error).endswith((".", "deflate."))
