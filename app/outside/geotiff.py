"""GeoTIFF files of heights, in plain latitude and longitude."""

import struct
from collections.abc import Mapping
from io import BytesIO
from typing import Any

import numpy as np
from PIL import Image

from app.errors import BadInput, TooLarge
from app.place.terrain import Grid, Heights

# Tags and keys: OGC GeoTIFF Standard 1.1 (19-008r4), and GDAL's own tag for no data.
PIXEL_SCALE, TIE_POINT, TRANSFORMATION, KEYS, NO_DATA = 33550, 33922, 34264, 34735, 42113
MODEL_TYPE, RASTER_TYPE, GEOGRAPHIC, PROJECTED, VERTICAL_UNITS = 1024, 1025, 2048, 3072, 4099
GEOGRAPHIC_MODEL, POINTS, WGS84, METRES = 2, 2, 4326, 9001

# Pillow's reader of a damaged file raises these, as far as damaging files at random has shown.
UNREADABLE = (OSError, SyntaxError, ValueError, TypeError, LookupError, OverflowError, EOFError, MemoryError, struct.error)
TO_4326 = "Only EPSG:4326, plain latitude and longitude, is read here: save it so in a mapping program."


def read_geotiff(name: str, data: bytes, most_heights: int) -> Grid:
    """Return the heights of a GeoTIFF in EPSG:4326.

    Whole numbers of 16 or 32 bits and floating point of 32 bits are read, with
    every lossless compression Pillow knows; of several pictures the first.

    Raises ``BadInput`` with a sentence for any other file, and ``TooLarge`` for
    one with more heights than ``most_heights``.
    """
    try:
        with Image.open(BytesIO(data), formats=("TIFF",)) as image:
            if image.width * image.height > most_heights:
                raise TooLarge(_too_many(name, most_heights))
            tags = dict(image.tag_v2)
            heights = _heights(name, image)
    # Another room has lowered Pillow's own limit for pictures; it speaks before ours does.
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise TooLarge(_too_many(name, most_heights)) from error
    except UNREADABLE as error:
        raise BadInput(
            f"“{name}” is no GeoTIFF that can be read: it is damaged or cut off, or holds numbers other than "
            "16- or 32-bit heights. Save it as 32-bit floating point with deflate."
        ) from error
    _refuse_other_systems(name, _keys(tags))
    heights[_unknown(heights, tags)] = np.nan
    return _laid(name, heights, tags)


def _heights(name: str, image: Image.Image) -> Heights:
    if image.mode not in ("F", "I") and not image.mode.startswith("I;16"):
        raise BadInput(f"“{name}” is a picture in colours or greys, not a grid of heights.")
    return np.asarray(image).astype(np.float32)


def _unknown(heights: Heights, tags: Mapping[int, Any]) -> np.ndarray:
    """Tell which heights are marks for unknown ground, by GDAL's tag."""
    text = str(tags.get(NO_DATA, "")).strip("\0 ")
    try:
        return heights == np.float32(text)
    except ValueError:
        return np.zeros(heights.shape, dtype=bool)


def _keys(tags: Mapping[int, Any]) -> dict[int, int]:
    """Return the short values of the key directory: four numbers each, key, place, count, value."""
    directory = _numbers(tags, KEYS)[4:]
    entries = zip(directory[0::4], directory[1::4], directory[3::4], strict=False)
    return {key: value for key, place, value in entries if place == 0}


def _numbers(tags: Mapping[int, Any], tag: int) -> tuple[Any, ...]:
    """Return the numbers of a tag, none where it is missing or holds something else."""
    values = tags.get(tag, ())
    values = values if isinstance(values, tuple) else (values,)
    return values if all(isinstance(value, int | float) for value in values) else ()


def _refuse_other_systems(name: str, keys: Mapping[int, int]) -> None:
    if not keys:
        raise BadInput(f"“{name}” does not say in which coordinates it lies. {TO_4326}")
    if keys.get(MODEL_TYPE) != GEOGRAPHIC_MODEL or keys.get(GEOGRAPHIC) != WGS84:
        code = keys.get(GEOGRAPHIC if keys.get(MODEL_TYPE) == GEOGRAPHIC_MODEL else PROJECTED)
        came = f"EPSG:{code}" if code and code != 32767 else "a system of its own"
        raise BadInput(f"“{name}” lies in {came}. {TO_4326}")
    if keys.get(VERTICAL_UNITS, METRES) != METRES:
        raise BadInput(f"“{name}” has heights in a unit other than metres; save it with metres.")


def _laid(name: str, heights: Heights, tags: Mapping[int, Any]) -> Grid:
    scale, tie = _numbers(tags, PIXEL_SCALE), _numbers(tags, TIE_POINT)
    if TRANSFORMATION in tags or len(scale) < 2 or len(tie) != 6 or not (scale[0] > 0 and scale[1] > 0):
        raise BadInput(f"“{name}” is not laid north up by one tie point and a pixel size; save it north up.")
    corner = 0.0 if _keys(tags).get(RASTER_TYPE) == POINTS else 0.5  # else the tie is a pixel's corner, not its middle
    west = tie[3] + (corner - tie[0]) * scale[0]
    north = tie[4] - (corner - tie[1]) * scale[1]
    return Grid(heights, north, west, scale[1], scale[0])


def _too_many(name: str, most_heights: int) -> str:
    return f"“{name}” has more than {most_heights // 10**6} million heights; cut out the 100 km around the site."
