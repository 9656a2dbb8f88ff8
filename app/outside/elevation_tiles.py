"""Elevation in square tiles encoded as PNG, from an address the photographer sets."""

import math
import time
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from io import BytesIO
from itertools import groupby
from urllib.parse import urlsplit

import httpx
import numpy as np
from PIL import Image

from app.errors import BadInput, Unavailable
from app.outside.fetch import Hopeless, NotThere, fetched, open_client
from app.place.geodesy import EQUATOR_M
from app.place.terrain import RANGE_M, Grid, Heights, Terrain, place_words

# How far each pixel size reaches: fetched near to far, so that what comes first matters most. [m, m]
ZONES = ((6_000.0, 40.0), (20_000.0, 130.0), (RANGE_M, 260.0))
SIDE_PX = 256
DEEPEST_ZOOM = 14
EDGE_DEG = 85.0  # the map projection of tiles ends at 85.05 degrees
MOST_TILE_BYTES = 1_000_000
LONGEST_S = 120.0
FAULTS_IN_A_ROW = 3  # after so many the service is left alone
PLACEHOLDERS = ("{z}", "{x}", "{y}")

_UNREADABLE = (OSError, SyntaxError, ValueError, TypeError, LookupError, OverflowError, EOFError)
Report = Callable[[int, int], None]


@dataclass(frozen=True)
class TileService:
    """Where tiles come from, and whose they are.

    ``address`` holds {z}, {x} and {y}; ``attribution`` is shown wherever the
    heights are used. Raises ``BadInput`` for either field when it cannot be used.
    """

    address: str
    attribution: str

    def __post_init__(self) -> None:
        if not (_has_host(self.address) and all(part in self.address for part in PLACEHOLDERS)):
            message = f"The tiles' address begins https:// and holds {{z}}, {{x}} and {{y}}; “{self.address[:80]}” came."
            raise BadInput(message, "address")
        if not self.attribution.strip():
            raise BadInput("Say whose heights these are, as their owner asks; it is shown with them.", "attribution")

    def address_of(self, tile: "Tile") -> str:
        """Return the address of one tile."""
        return _filled(self.address, tile.zoom, tile.x % 2**tile.zoom, tile.y)


@dataclass(frozen=True, order=True)
class Tile:
    """One tile; ``x`` counts on over the date line, without wrapping."""

    zoom: int
    x: int
    y: int


@dataclass(frozen=True)
class Fetched:
    """The terrain that came, and in words what did not."""

    terrain: Terrain
    words: str


def tiles_around(lat_deg: float, lon_deg: float) -> tuple[Tile, ...]:
    """Return the tiles for 50 km round a point, fine ones near and coarse ones far; 57 at most.

    Raises ``BadInput`` beyond 85° of latitude, where there are none.
    """
    if abs(lat_deg) > EDGE_DEG:
        raise BadInput(f"Tiles end at {EDGE_DEG:g}° of latitude; the site lies at {place_words(lat_deg, lon_deg)}.")
    return tuple(dict.fromkeys(tile for zone in ZONES for tile in _tiles(lat_deg, lon_deg, *zone)))


def fetch_elevation(
    service: TileService, lat_deg: float, lon_deg: float, report: Report = lambda done, of: None, client: httpx.Client | None = None
) -> Fetched:
    """Return the terrain around a point, cropped for keeping, from a service of tiles.

    Parameters
    ----------
    report : function of two numbers
        Told after every tile how many are done, of how many.
    client : httpx.Client, optional
        One with other time limits, for tests.

    Raises
    ------
    Unavailable
        When not one tile came, with the reason. With some of them missing the
        others are used, and ``words`` say so.
    """
    wanted = tiles_around(lat_deg, lon_deg)
    with client or open_client() as asking:
        came, faults = _fetch(service, wanted, report, asking)
    if not came:
        reason = next(iter(faults), "Nothing was asked.")
        raise Unavailable(f"No elevation came. {reason} What was kept before is still kept.")
    grids = [_grid(zoom, {tile: came[tile] for tile in tiles}) for zoom, tiles in groupby(sorted(came), lambda tile: tile.zoom)]
    source = f"elevation tiles from {urlsplit(service.address).hostname}"
    return Fetched(Terrain(tuple(grids), source).around(lat_deg, lon_deg), _words(len(came), len(wanted), faults))


def _fetch(
    service: TileService, wanted: tuple[Tile, ...], report: Report, client: httpx.Client
) -> tuple[dict[Tile, Heights], Counter[str]]:
    """Return the tiles that came, and how often each fault was met; stops when it looks hopeless."""
    came: dict[Tile, Heights] = {}
    faults: Counter[str] = Counter()
    until_s, in_a_row = time.monotonic() + LONGEST_S, 0
    for done, tile in enumerate(wanted, start=1):
        try:
            came[tile] = decoded(fetched(client, service.address_of(tile), MOST_TILE_BYTES))
            in_a_row = 0
        except Unavailable as error:
            faults[str(error)] += 1
            in_a_row += 0 if isinstance(error, NotThere) else 1
            if isinstance(error, Hopeless) or in_a_row == FAULTS_IN_A_ROW:
                break
        report(done, len(wanted))
        if time.monotonic() > until_s and done < len(wanted):
            faults[f"After {LONGEST_S:g} seconds the rest was given up."] += 1
            break
    return came, faults


def decoded(data: bytes) -> Heights:
    """Return the heights of one tile: 256 R + G + B/256 - 32768. [m]

    Where the picture is transparent they are unknown. The encoding is that of the
    open terrain tiles of the Registry of Open Data (from memory).

    Raises ``Unavailable`` in words for anything but a PNG of 256 × 256 pixels.
    """
    if data.lstrip()[:1] == b"<":
        raise Unavailable("A web page came in place of a tile; open the address in a browser to see what it says.")
    try:
        with Image.open(BytesIO(data), formats=("PNG",)) as image:
            if image.size != (SIDE_PX, SIDE_PX):
                size = f"{image.width} × {image.height}"
                raise Unavailable(f"A tile has {SIDE_PX} × {SIDE_PX} pixels; one of {size} came.")
            red, green, blue, alpha = np.moveaxis(np.asarray(image.convert("RGBA"), dtype=np.float32), 2, 0)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning, *_UNREADABLE) as error:
        raise Unavailable("What came in place of a tile is no whole PNG picture.") from error
    return np.where(alpha > 0, red * 256 + green + blue / 256 - 32768, np.nan).astype(np.float32)


def _tiles(lat_deg: float, lon_deg: float, reach_m: float, pixel_m: float) -> Iterator[Tile]:
    """Yield the tiles of one zoom that hold a box round a point, row by row."""
    across = math.cos(math.radians(lat_deg))
    zoom = min(DEEPEST_ZOOM, math.ceil(math.log2(2 * math.pi * EQUATOR_M * across / (SIDE_PX * pixel_m))))
    half_lat = math.degrees(reach_m / EQUATOR_M) * 1.01
    half_lon, edge = half_lat / across, EDGE_DEG
    left, right = (math.floor((lon_deg + side * half_lon + 180) / 360 * 2**zoom) for side in (-1, 1))
    top, foot = (int(_row(max(-edge, min(edge, lat_deg + side * half_lat)), zoom)) for side in (1, -1))
    return (Tile(zoom, x, y) for y in range(top, foot + 1) for x in range(left, right + 1))


def _row(lat_deg: float, zoom: int) -> float:
    """Return how many tiles down from the top of the map a latitude lies; Mercator on a sphere (EPSG:3857)."""
    return (1 - math.asinh(math.tan(math.radians(lat_deg))) / math.pi) / 2 * 2**zoom


def _grid(zoom: int, tiles: dict[Tile, Heights]) -> Grid:
    """Return tiles of one zoom as one grid; its rows, which lie evenly on the map, evenly in latitude."""
    left, top = min(tile.x for tile in tiles), min(tile.y for tile in tiles)
    columns, rows = max(tile.x for tile in tiles) - left + 1, max(tile.y for tile in tiles) - top + 1
    heights = np.full((rows * SIDE_PX, columns * SIDE_PX), np.nan, dtype=np.float32)
    for tile, part in tiles.items():
        y, x = (tile.y - top) * SIDE_PX, (tile.x - left) * SIDE_PX
        heights[y : y + SIDE_PX, x : x + SIDE_PX] = part
    pixels = 2**zoom * SIDE_PX
    row = (top * SIDE_PX + np.arange(len(heights)) + 0.5) / pixels
    lat = np.degrees(np.arctan(np.sinh(np.pi * (1 - 2 * row))))
    west = (left * SIDE_PX + 0.5) / pixels * 360.0 - 180.0
    return Grid(_evenly(heights, lat), lat[0], west, (lat[0] - lat[-1]) / (len(lat) - 1), 360.0 / pixels)


def _evenly(heights: Heights, lat_deg: np.ndarray) -> Heights:
    """Return rows at even steps of latitude, each straight between its two neighbours."""
    even = np.linspace(lat_deg[0], lat_deg[-1], len(lat_deg))
    place = np.interp(-even, -lat_deg, np.arange(len(lat_deg)))
    upper = np.minimum(place.astype(int), len(lat_deg) - 2)
    down = (place - upper)[:, None].astype(np.float32)
    return heights[upper] * (1 - down) + heights[upper + 1] * down


def _words(came: int, wanted: int, faults: Counter[str]) -> str:
    if came == wanted:
        return f"All {wanted} tiles came."
    reasons = " ".join(f"{reason} ({count} ×)" if count > 1 else reason for reason, count in faults.items())
    return f"{came} of {wanted} tiles came, and they are used. {reasons}"


def _filled(address: str, *zoom_x_y: int) -> str:
    for part, value in zip(PLACEHOLDERS, zoom_x_y, strict=True):
        address = address.replace(part, str(value))
    return address


def _has_host(address: str) -> bool:
    try:
        url = httpx.URL(_filled(address, 0, 0, 0))
    except httpx.InvalidURL:
        return False
    return url.scheme in ("https", "http") and bool(url.host)
