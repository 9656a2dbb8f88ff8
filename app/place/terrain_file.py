"""Terrain as bytes to keep: eighths of a metre, packed; about one byte for each height."""

import json
import zlib
from typing import Any

import numpy as np

from app.errors import BadInput
from app.place.terrain import KEPT_TO_M, Grid, Heights, Terrain

MARK = b"westering terrain 1\n"
MOST_HEIGHTS = 20_000_000  # what damaged bytes may claim at most
_UNKNOWN = -(2**20)  # in eighths of a metre, far below any ground
_GRID_KEYS = ("north_deg", "west_deg", "step_lat_deg", "step_lon_deg")

# After the mark one zlib stream: a line of JSON that describes the grids, then for each grid its
# heights in eighths of a metre as int32, little-endian; every height less the one before it in
# reading order, and the lowest bytes of all before the next higher ones, since like packs with like.


def terrain_bytes(terrain: Terrain) -> bytes:
    """Return a terrain as bytes; heights are rounded to 1/8 m, as ``Terrain.around`` leaves them."""
    described = [{key: getattr(grid, key) for key in _GRID_KEYS} | {"shape": grid.heights_m.shape} for grid in terrain.grids]
    head = json.dumps({"source": terrain.source, "grids": described}).encode()
    return MARK + zlib.compress(b"\n".join([head, b"".join(_packed(grid.heights_m) for grid in terrain.grids)]))


def terrain_from_bytes(data: bytes) -> Terrain:
    """Return the terrain that was made into these bytes.

    Raises
    ------
    BadInput
        When the bytes are damaged or something else.
    """
    try:
        head, _, body = _unpacked(data).partition(b"\n")
        described = json.loads(head)
        return Terrain(tuple(_grids(described["grids"], body)), str(described["source"]))
    except (zlib.error, ValueError, KeyError, TypeError, AttributeError, OverflowError, BadInput) as error:
        raise BadInput("The terrain kept for this site is damaged. Load its files, or fetch it, again.") from error


def _unpacked(data: bytes) -> bytes:
    if not data.startswith(MARK):
        raise ValueError("no mark")
    stream = zlib.decompressobj()
    unpacked = stream.decompress(data[len(MARK) :], 4 * MOST_HEIGHTS)
    if not stream.eof:
        raise ValueError("cut off, or larger than any terrain")
    return unpacked


def _packed(heights_m: Heights) -> bytes:
    eighths = np.where(np.isnan(heights_m), _UNKNOWN, np.round(np.nan_to_num(heights_m) / KEPT_TO_M)).astype("<i4")
    steps = np.diff(eighths.ravel(), prepend=np.int32(0)).astype("<i4")
    return steps.view(np.uint8).reshape(-1, 4).T.tobytes()


def _grids(described: list[dict[str, Any]], body: bytes) -> list[Grid]:
    shapes = [tuple(int(side) for side in one["shape"]) for one in described]
    ends = np.cumsum([4 * rows * columns for rows, columns in shapes])
    if min(min(shape) for shape in shapes) < 2 or ends[-1] != len(body):
        raise ValueError("the heights do not fill the grids")
    return [
        Grid(_heights(body[end - 4 * shape[0] * shape[1] : end], shape), *(float(one[key]) for key in _GRID_KEYS))
        for one, shape, end in zip(described, shapes, ends, strict=True)
    ]


def _heights(packed: bytes, shape: tuple[int, ...]) -> Heights:
    steps = np.frombuffer(packed, np.uint8).reshape(4, -1).T.copy().view("<i4").ravel()
    eighths = np.cumsum(steps, dtype=np.int32).reshape(shape)
    return np.where(eighths == _UNKNOWN, np.nan, eighths * KEPT_TO_M).astype(np.float32)
