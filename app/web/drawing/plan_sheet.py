"""The sheet a plan is drawn on: metres of ground to units of the drawing, x right and y down."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from app.picture.setup import Setup
from app.place.geodesy import LocalFrame
from app.place.site import LonLat, Pin, Site
from app.units import FloatArray

DRAWING = "drawing"  # the role of what is only drawn: a jetty, a path
LEAST_M, MOST_M = 40.0, 4000.0  # a sheet's side
SQUATTEST, TALLEST = 1.25, 0.8  # width over height
ROOM = 0.07  # paper left round what is drawn, as a share of the larger side
NEAR_M = 400.0  # what stands farther from every pin does not stretch the sheet
CROSSES_M = (10.0, 50.0, 100.0, 500.0, 1000.0)
CLOSEST_CROSSES = 26.0  # units
BARS_M = (4.0, 8.0, 20.0, 40.0, 80.0, 200.0, 400.0, 800.0, 2000.0)
LONGEST_BAR = 170.0  # units


@dataclass(frozen=True)
class Extent:
    """A piece of ground, by metres east and north of the site's centre."""

    west_m: float
    south_m: float
    east_m: float
    north_m: float

    @property
    def width_m(self) -> float:
        return self.east_m - self.west_m

    @property
    def height_m(self) -> float:
        return self.north_m - self.south_m


@dataclass(frozen=True)
class Sheet:
    """A piece of ground at a scale.

    Attributes
    ----------
    local : LocalFrame
        Metres around the site's centre.
    extent : Extent
    scale : float
        Units of the drawing for a metre.
    """

    local: LocalFrame
    extent: Extent
    scale: float

    @property
    def width(self) -> float:
        return self.extent.width_m * self.scale

    @property
    def height(self) -> float:
        return self.extent.height_m * self.scale

    @property
    def cross_m(self) -> float:
        """How far apart the crosses stand. [m]"""
        fitting = (step for step in CROSSES_M if step * self.scale >= CLOSEST_CROSSES)
        return next(fitting, CROSSES_M[-1])

    @property
    def bar_m(self) -> float:
        """How long the scale bar is. [m]"""
        fitting = [length for length in BARS_M if length * self.scale <= LONGEST_BAR]
        return fitting[-1] if fitting else BARS_M[0]

    def of_metres(self, east_m: FloatArray, north_m: FloatArray) -> FloatArray:
        """Return points of the drawing, a row each."""
        x = (np.asarray(east_m) - self.extent.west_m) * self.scale
        y = (self.extent.north_m - np.asarray(north_m)) * self.scale
        return np.stack([x, y], axis=-1)

    def of_corners(self, corners: Sequence[LonLat]) -> FloatArray:
        """Return points of the drawing for (longitude, latitude) corners, a row each. [°]"""
        lon_deg, lat_deg = np.array([corner[:2] for corner in corners], dtype=float).T
        east_m, north_m, _ = self.local.to_metres(lat_deg, lon_deg)
        return self.of_metres(east_m, north_m)

    def of_pin(self, pin: Pin) -> FloatArray:
        """Return the point of the drawing where a pin stands."""
        return self.of_corners([(pin.lon_deg, pin.lat_deg)])[0]

    def bounds_deg(self, left: float, top: float) -> tuple[float, float, float, float]:
        """Return south, west, north and east of the sheet with a margin in units around it. [°]"""
        across, down = left / self.scale, top / self.scale
        extent = self.extent
        south, west, _ = self.local.to_degrees(extent.west_m - across, extent.south_m - down)
        north, east, _ = self.local.to_degrees(extent.east_m + across, extent.north_m + down)
        return float(south), float(west), float(north), float(east)


def extent_of(site: Site, setups: Sequence[Setup]) -> Extent:
    """Return the ground that a whole plan shows: every pin with room before it, and what stands near.

    Water is often larger than the site and alone does not stretch the sheet.
    """
    local = site.local_frame
    wanted = [
        *_pins(local, setups),
        *(_metres(local, [(one.pin.lon_deg, one.pin.lat_deg)]) for one in site.surveys),
    ]
    standing = [_metres(local, one.outline) for one in site.obstacles]
    standing += [_metres(local, corners) for corners, _ in drawings_of(site)]
    kept = wanted or [np.zeros((1, 2))]
    points = np.concatenate([*kept, *(one for one in standing if _near(one, np.concatenate(kept)))])
    if len(points) == 1 and site.waters:
        points = np.concatenate([points, *(_metres(local, water.ring) for water in site.waters)])
    return _shaped(*points.min(axis=0), *points.max(axis=0))


def extent_around(site: Site, setup: Setup, width_over_height: float = 1.3) -> Extent:
    """Return the ground near one setup, for a small screen."""
    points = np.concatenate(_pins(site.local_frame, [setup]))
    middle, reach = points.mean(axis=0), 2.9 * max(setup.distance_m, 4.0)
    across, up = reach / 2 * np.sqrt(width_over_height), reach / 2 / np.sqrt(width_over_height)
    return Extent(middle[0] - across, middle[1] - up, middle[0] + across, middle[1] + up)


def drawings_of(site: Site) -> Iterable[tuple[Sequence[LonLat], bool]]:
    """Yield the corners of what is only drawn, and whether they go round something."""
    for feature in site.document["features"]:
        geometry = feature.get("geometry") or {}
        if (feature.get("properties") or {}).get("role") == DRAWING:
            if geometry.get("type") == "Polygon":
                yield geometry["coordinates"][0], True
            elif geometry.get("type") == "LineString":
                yield geometry["coordinates"], False


def path_of(points: FloatArray, closed: bool = False) -> str:
    """Return the path through points, to a tenth of a unit."""
    whole = np.round(points, 1)
    steps = " ".join(f"{_short(dx)},{_short(dy)}" for dx, dy in np.round(np.diff(whole, axis=0), 1))
    return f"M{_short(whole[0, 0])},{_short(whole[0, 1])}l{steps}{'Z' if closed else ''}"


def _short(value: float) -> str:
    text = f"{value:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text


def _pins(local: LocalFrame, setups: Sequence[Setup]) -> list[FloatArray]:
    """Return for each setup its two pins and a point as far beyond the couple, where the picture looks."""
    found = []
    for setup in setups:
        camera, couple = _metres(
            local, [(pin.lon_deg, pin.lat_deg) for pin in (setup.camera_pin, setup.couple_pin)]
        )
        found.append(np.stack([camera, couple, couple + (couple - camera) * 1.2]))
    return found


def _metres(local: LocalFrame, corners: Sequence[LonLat]) -> FloatArray:
    lon_deg, lat_deg = np.array([corner[:2] for corner in corners], dtype=float).T
    east_m, north_m, _ = local.to_metres(lat_deg, lon_deg)
    return np.stack([east_m, north_m], axis=-1)


def _near(points: FloatArray, pins: FloatArray) -> bool:
    apart = np.linalg.norm(points[:, np.newaxis] - pins[np.newaxis], axis=-1)
    return bool(apart.min() <= NEAR_M)


def _shaped(west: float, south: float, east: float, north: float) -> Extent:
    """Return the extent with room round it, neither too long nor too tall for a sheet."""
    room = max(ROOM * max(east - west, north - south), 5.0)
    width = min(max(east - west + 2 * room, LEAST_M), MOST_M)
    height = min(max(north - south + 2 * room, LEAST_M), MOST_M)
    width, height = max(width, height * TALLEST), max(height, width / SQUATTEST)
    across, up = (west + east) / 2, (south + north) / 2
    return Extent(across - width / 2, up - height / 2, across + width / 2, up + height / 2)
