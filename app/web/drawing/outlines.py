"""A small sketch of outlines that wait: what is on the plan already, and what would come, numbered."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from app.place.outline_match import NEW, SAME, Match, ground_shape
from app.place.site import Pin, Site
from app.units import FloatArray
from app.web.outlines import Row

WIDE = 640.0  # units across
TALLEST, SQUATTEST = 1.0, 0.5  # height over width
ROOM_M = 12.0  # round the outermost
MOST_NUMBERS = 60  # more would cover the sketch


@dataclass(frozen=True)
class OutlineSketch:
    """Paths and numbers in units; y goes down, north is up.

    ``shapes`` are (kind of line, path): there, new or other; ``numbers`` x, y and the
    row's number; ``bar_m`` the length of the scale bar of ``bar`` units. [m]
    """

    width: float
    height: float
    shapes: tuple[tuple[str, str], ...]
    numbers: tuple[tuple[float, float, int], ...]
    lines: tuple[str, ...]
    bar_m: float
    bar: float
    words: str


def sketch_of(site: Site, rows: Sequence[Row]) -> OutlineSketch:
    """Return the sketch of some outlines round the pins of a site."""
    box = _box(site, [row.match for row in rows])
    scale = WIDE / (box[2] - box[0])
    numbered = [row for row in rows if row.match.state != SAME][:MOST_NUMBERS]
    bar_m = next(length for length in (500.0, 200.0, 100.0, 50.0, 20.0, 10.0) if length * scale <= WIDE / 3 or length == 10.0)
    return OutlineSketch(
        width=WIDE,
        height=(box[3] - box[1]) * scale,
        shapes=(*_there(site, box, scale), *((_line_of(row.match), _path(row.match.shape, box, scale)) for row in rows if row.match.state != SAME)),
        numbers=tuple((*_middle(row.match.shape, box, scale), row.number) for row in numbered),
        lines=tuple(_line(site, one.camera, one.couple, box, scale) for one in site.setups),
        bar_m=bar_m,
        bar=bar_m * scale,
        words=f"Sketch, north up: {len(rows)} outlines around the setups. The same stand in the list.",
    )


def _there(site: Site, box: FloatArray, scale: float) -> Iterator[tuple[str, str]]:
    """Yield what stands on the plan already, as far as the sketch reaches."""
    for obstacle in site.obstacles:
        shape = ground_shape(site.local_frame, obstacle)
        west, south, east, north = shape.bounds
        if east > box[0] and west < box[2] and north > box[1] and south < box[3]:
            yield "there", _path(shape, box, scale)


def _line_of(match: Match) -> str:
    return "new" if match.state == NEW else "other"


def _box(site: Site, matches: Sequence[Match]) -> FloatArray:
    """Return west, south, east and north of the sketch in metres, no flatter and no taller than fits a page."""
    bounds = np.array([match.shape.bounds for match in matches])
    pins = np.array([_metres(site, pin) for one in site.setups for pin in (one.camera, one.couple)]).reshape(-1, 2)
    low = np.vstack([bounds[:, :2], pins]).min(axis=0) - ROOM_M
    high = np.vstack([bounds[:, 2:], pins]).max(axis=0) + ROOM_M
    middle, size = (low + high) / 2, high - low
    size = np.maximum(size, [size[1] / TALLEST, size[0] * SQUATTEST])
    return np.concatenate([middle - size / 2, middle + size / 2])


def _metres(site: Site, pin: Pin) -> tuple[float, float]:
    east_m, north_m, _ = site.local_frame.to_metres(pin.lat_deg, pin.lon_deg)
    return float(east_m), float(north_m)


def _path(shape: Any, box: FloatArray, scale: float) -> str:
    parts = getattr(shape, "geoms", (shape,))
    rings = [ring for part in parts if part.geom_type == "Polygon" for ring in (part.exterior, *part.interiors)]
    return "".join(f"M{_points(np.array(ring.coords)[:-1, :2], box, scale)}Z" for ring in rings)


def _line(site: Site, camera: Pin, couple: Pin, box: FloatArray, scale: float) -> str:
    return f"M{_points(np.array([_metres(site, camera), _metres(site, couple)]), box, scale)}"


def _points(metres: FloatArray, box: FloatArray, scale: float) -> str:
    return "L".join(f"{(x - box[0]) * scale:.1f} {(box[3] - y) * scale:.1f}" for x, y in metres)


def _middle(shape: Any, box: FloatArray, scale: float) -> tuple[float, float]:
    inside = shape.representative_point()
    return (inside.x - box[0]) * scale, (box[3] - inside.y) * scale
