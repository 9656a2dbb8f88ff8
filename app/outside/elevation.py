"""Elevation files as photographers load them: SRTM .hgt, also packed, and GeoTIFF."""

import gzip
import re
import zipfile
import zlib
from io import BytesIO
from math import isqrt
from pathlib import PurePosixPath

import numpy as np

from app.errors import BadInput, TooLarge
from app.outside.geotiff import read_geotiff
from app.place.terrain import Grid, Terrain

MOST_HEIGHTS = 40_000_000  # in one file; 160 MB while it is read. A whole degree has 13 million.
SRTM_VOID = -32768
TIFF_MARKS = (b"II", b"MM")  # as .hgt heights they would be 18 km and more
READABLE = "SRTM .hgt, .hgt.zip, .hgt.gz or GeoTIFF .tif"

_CORNER = re.compile(r"(?<![A-Z0-9])([NS])(\d{1,2})([EW])(\d{1,3})(?!\d)", re.IGNORECASE)
_PACKED_BADLY = (zipfile.BadZipFile, zlib.error, EOFError, OSError, RuntimeError, NotImplementedError, ValueError)


def read_elevation(name: str, data: bytes) -> Grid:
    """Return the heights of an elevation file.

    Parameters
    ----------
    name : str
        The file's name; of .hgt files it tells which degree they hold, by its
        south-western corner: N54W004.
    data : bytes
        The whole file.

    Raises
    ------
    BadInput
        In words, when it is no elevation file, is cut off, has another size than
        its kind must have, or holds no height; ``TooLarge`` when it has more
        heights than can be worked with.
    """
    name = PurePosixPath(name.replace("\\", "/")).name[:100] or "the file"
    if not data:
        raise BadInput(f"“{name}” is empty; choose an elevation file: {READABLE}.")
    name, data = _unpacked(name, data)
    grid = read_geotiff(name, data, MOST_HEIGHTS) if data[:2] in TIFF_MARKS else _read_hgt(name, data)
    if np.isnan(grid.heights_m).all():
        raise BadInput(f"“{name}” holds no height at all, only marks for unknown ground; choose another file.")
    return grid


def terrain_of_file(name: str, data: bytes, lat_deg: float, lon_deg: float) -> Terrain:
    """Return what a site needs of one elevation file, see ``Terrain.around``; raises as both do."""
    return Terrain((read_elevation(name, data),), name).around(lat_deg, lon_deg)


def tile_name(lat_deg: float, lon_deg: float) -> str:
    """Return how the .hgt file of a place is called, N54W004 for 54.57° N, 3.13° W."""
    south, west = int(np.floor(lat_deg)), int(np.floor(lon_deg))
    return f"{'N' if south >= 0 else 'S'}{abs(south):02d}{'E' if west >= 0 else 'W'}{abs(west):03d}"


def _read_hgt(name: str, data: bytes) -> Grid:
    """Big-endian 16-bit metres, row by row from the north, edges shared with the neighbours.

    As the SRTM Topography document of the US Geological Survey describes it (from memory).
    """
    if not (name.lower().endswith(".hgt") or _CORNER.search(name)):
        raise BadInput(f"“{name}” is no elevation file known here; expected is {READABLE}.")
    side = _side(name, data)
    south, west = _corner_deg(name)
    heights = np.frombuffer(data, ">i2").reshape(side, side).astype(np.float32)
    heights[heights == SRTM_VOID] = np.nan
    return Grid(heights, south + 1.0, west, 1 / (side - 1), 1 / (side - 1))


def _side(name: str, data: bytes) -> int:
    """Return how many rows and columns fill the bytes; they are the same number."""
    side = isqrt(len(data) // 2)
    if side >= 2 and side * side * 2 == len(data):
        return side
    raise BadInput(
        f"“{name}” has {len(data):,} bytes, which fill no square of heights: 3601 × 3601 take 25,934,402 bytes, "
        "1201 × 1201 take 2,884,802. It may be cut off; load it down again."
    )


def _corner_deg(name: str) -> tuple[float, float]:
    found = _CORNER.search(name)
    if not found:
        raise BadInput(
            f"“{name}” does not say which degree it holds; name it by its south-western corner, like N54W004.hgt."
        )
    lat = float(found[2]) * (1 if found[1] in "Nn" else -1)
    lon = float(found[4]) * (1 if found[3] in "Ee" else -1)
    if not (-90 <= lat <= 89 and -180 <= lon <= 179):
        raise BadInput(f"“{name}” names a corner that is not on the Earth: {found[0]}.")
    return lat, lon


def _unpacked(name: str, data: bytes) -> tuple[str, bytes]:
    """Return name and bytes of what a zip or gzip file holds; those of any other file as they are."""
    most = 4 * MOST_HEIGHTS
    try:
        if data.startswith(b"PK\x03\x04"):
            return _out_of_zip(name, data, most)
        if data.startswith(b"\x1f\x8b"):
            with gzip.GzipFile(fileobj=BytesIO(data)) as stream:
                return re.sub(r"\.gz$", "", name, flags=re.IGNORECASE), _limited(name, stream.read(most + 1), most)
    except _PACKED_BADLY as error:
        raise BadInput(f"“{name}” cannot be unpacked: it is damaged, cut off or locked. Load it down again.") from error
    if len(data) > most:
        raise TooLarge(_too_large(name))
    return name, data


def _out_of_zip(name: str, data: bytes, most: int) -> tuple[str, bytes]:
    with zipfile.ZipFile(BytesIO(data)) as packed:
        inside = [one for one in packed.infolist() if one.filename.lower().endswith((".hgt", ".tif", ".tiff"))]
        if len(inside) != 1:
            raise BadInput(f"“{name}” holds {len(inside)} elevation files; one .hgt or .tif is expected in each zip.")
        inner = PurePosixPath(inside[0].filename).name
        # The zip may lie about its size, so what comes out is counted, too.
        with packed.open(inside[0]) as stream:
            content = _limited(name, stream.read(most + 1), most)
    return (inner if _CORNER.search(inner) or not _CORNER.search(name) else f"{name[:-4]}.hgt"), content


def _limited(name: str, content: bytes, most: int) -> bytes:
    if len(content) > most:
        raise TooLarge(_too_large(name))
    return content


def _too_large(name: str) -> str:
    return f"“{name}” holds more than {MOST_HEIGHTS // 10**6} million heights; cut out the 100 km around the site."
