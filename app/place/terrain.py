"""Terrain: heights of the ground on grids of latitude and longitude, fine near and coarse far."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from app.errors import BadInput
from app.place.geodesy import EQUATOR_M
from app.units import FloatArray, FloatOrArray

Heights = NDArray[np.float32]

LOWEST_M, HIGHEST_M = -12_000.0, 9_000.0  # no ground on Earth lies outside; what does is a mark for "unknown"
RANGE_M = 50_000.0
KEPT_TO_M = 1 / 8  # a binary fraction, so that kept heights are exact numbers and pack well

# How far each cell size reaches when terrain is cropped to what one site needs. [m, m]
ZONES = ((1_000.0, 5.0), (6_000.0, 25.0), (20_000.0, 120.0), (RANGE_M, 240.0))


@dataclass(frozen=True, eq=False)
class Grid:
    """Heights at the crossings of equally spaced parallels and meridians.

    Parameters
    ----------
    heights_m : array_like of shape (rows, columns), two or more each
        Row 0 is the northernmost, column 0 the westernmost. NaN where unknown;
        so is a height that no ground has. [m]
    north_deg, west_deg : float
        Where row 0 and column 0 lie: the points themselves, no cell edges. [°]
    step_lat_deg, step_lon_deg : float
        From row to row southward and column to column eastward, positive. [°]

    Raises
    ------
    BadInput
        When the grid has no place on the Earth, or is no grid.
    """

    heights_m: Heights
    north_deg: float
    west_deg: float
    step_lat_deg: float
    step_lon_deg: float

    def __post_init__(self) -> None:
        heights = np.array(self.heights_m, dtype=np.float32)
        with np.errstate(invalid="ignore"):
            heights[~((heights >= LOWEST_M) & (heights <= HIGHEST_M))] = np.nan
        heights.flags.writeable = False
        object.__setattr__(self, "heights_m", heights)
        self._check()

    @property
    def south_deg(self) -> float:
        """Latitude of the last row. [°]"""
        return self.north_deg - (self.heights_m.shape[0] - 1) * self.step_lat_deg

    @property
    def east_deg(self) -> float:
        """Longitude of the last column, not less than ``west_deg``. [°]"""
        return self.west_deg + (self.heights_m.shape[1] - 1) * self.step_lon_deg

    @property
    def post_m(self) -> float:
        """Distance from row to row on the ground. [m]"""
        return float(np.radians(self.step_lat_deg) * EQUATOR_M)

    @cached_property
    def highest_m(self) -> float:
        """Its highest height; minus infinity when all are unknown. [m]"""
        return float(np.fmax.reduce(self.heights_m, axis=None, initial=-np.inf))

    def height_at(self, lat_deg: ArrayLike, lon_deg: ArrayLike) -> FloatOrArray:
        """Return heights between the crossings by bilinear interpolation, from shapes that fit together. [m]

        Half a step outside the outermost crossings the outermost heights go on, so that
        neighbouring files without a shared row leave no gap. Farther out it is NaN, and
        so it is wherever one of the four heights around is unknown.
        """
        lat, lon = np.broadcast_arrays(np.asarray(lat_deg, dtype=float), np.asarray(lon_deg, dtype=float))
        row = (self.north_deg - lat) / self.step_lat_deg
        column = self._eastward_deg(lon) / self.step_lon_deg
        inside = self._inside(row, column)
        if inside.all():
            return self._between(row, column)
        height = np.full(lat.shape, np.nan)
        if inside.any():
            height[inside] = self._between(row[inside], column[inside])
        return height[()]

    def cut(self, lat_deg: float, lon_deg: float, half_lat_deg: float, half_lon_deg: float) -> "Iterator[Grid]":
        """Yield its parts within a box round a point, none where nothing is known there.

        Two, where a grid round the whole globe begins inside the box.
        """
        rows, columns = self.heights_m.shape
        top, foot = _range(self.north_deg - lat_deg, half_lat_deg, self.step_lat_deg, rows)
        for turn_deg in (-360.0, 0.0, 360.0):
            left, right = _range(lon_deg + turn_deg - self.west_deg, half_lon_deg, self.step_lon_deg, columns)
            part = self.heights_m[top:foot, left:right]
            if min(part.shape) >= 2 and not np.isnan(part).all():
                north, west = self.north_deg - top * self.step_lat_deg, self.west_deg + left * self.step_lon_deg
                yield Grid(part, north, west, self.step_lat_deg, self.step_lon_deg)

    def coarser(self, by_rows: int, by_columns: int) -> "Grid":
        """Return it with the highest of so many rows and columns in one, rounded to 1/8 m.

        Each new crossing lies in the middle of those it stands for; it is unknown only
        where all of them are. Two rows and columns are left at least.
        """
        by_rows, by_columns = (min(by, size // 2) for by, size in zip((by_rows, by_columns), self.heights_m.shape, strict=True))
        rows, columns = (-(-size // by) * by for by, size in zip((by_rows, by_columns), self.heights_m.shape, strict=True))
        whole = np.full((rows, columns), np.nan, dtype=np.float32)
        whole[: self.heights_m.shape[0], : self.heights_m.shape[1]] = self.heights_m
        blocks = whole.reshape(rows // by_rows, by_rows, columns // by_columns, by_columns)
        highest = np.fmax.reduce(np.fmax.reduce(blocks, axis=3), axis=1)
        return Grid(
            np.round(highest / KEPT_TO_M) * KEPT_TO_M,
            self.north_deg - (by_rows - 1) / 2 * self.step_lat_deg,
            self.west_deg + (by_columns - 1) / 2 * self.step_lon_deg,
            self.step_lat_deg * by_rows,
            self.step_lon_deg * by_columns,
        )

    def _eastward_deg(self, lon_deg: FloatArray) -> FloatArray:
        """Return longitudes from column 0 on, those of another turn of the globe brought to ours."""
        eastward = lon_deg - self.west_deg
        middle = (self.east_deg - self.west_deg) / 2
        away = eastward - middle
        if away.size and (away.min() < -180.0 or away.max() > 180.0):
            return away - 360.0 * np.round(away / 360.0) + middle
        return eastward

    def _inside(self, row: FloatArray, column: FloatArray) -> NDArray[np.bool_]:
        rows, columns = self.heights_m.shape
        half = 0.5 + 1e-6  # the little more closes the seam between two files against rounding
        return (row >= -half) & (row <= rows - 1 + half) & (column >= -half) & (column <= columns - 1 + half)

    def _between(self, row: FloatArray, column: FloatArray) -> FloatOrArray:
        rows, columns = self.heights_m.shape
        row, column = np.clip(row, 0, rows - 1), np.clip(column, 0, columns - 1)
        upper = np.minimum(row.astype(np.int64), rows - 2)
        left = np.minimum(column.astype(np.int64), columns - 2)
        down, right = row - upper, column - left
        flat, here = self.heights_m.ravel(), upper * columns + left
        north = flat[here] * (1.0 - right) + flat[here + 1] * right
        here += columns
        south = flat[here] * (1.0 - right) + flat[here + 1] * right
        return north * (1.0 - down) + south * down

    def _check(self) -> None:
        if self.heights_m.ndim != 2 or min(self.heights_m.shape) < 2:
            raise BadInput(f"A grid of heights has two rows and columns or more; {self.heights_m.shape} came.")
        numbers = (self.north_deg, self.west_deg, self.step_lat_deg, self.step_lon_deg)
        steps_up = self.step_lat_deg > 0 and self.step_lon_deg > 0
        if not (np.all(np.isfinite(numbers)) and steps_up):
            raise BadInput("A grid of heights needs steps from north to south and from west to east.")
        slack = self.step_lat_deg
        on_earth = self.north_deg <= 90 + slack and self.south_deg >= -90 - slack and abs(self.west_deg) <= 360
        if not (on_earth and self.east_deg - self.west_deg <= 360):
            raise BadInput(f"This grid of heights lies off the Earth: {extent_words((self,))}.")


def joined(parts: Sequence["Terrain"]) -> "Terrain":
    """Return several terrains as one, with all their sources."""
    return Terrain(tuple(grid for part in parts for grid in part.grids), ", ".join(part.source for part in parts))


@dataclass(frozen=True, eq=False)
class Terrain:
    """The ground around a site, and whose heights they are.

    Parameters
    ----------
    grids : sequence of Grid
        Where two overlap the one with the finer step counts.
    source : str
        Where the heights come from, in words.

    Raises
    ------
    BadInput
        When there is no grid, or none with a single height.
    """

    grids: tuple[Grid, ...]
    source: str = ""

    def __post_init__(self) -> None:
        finest_first = tuple(sorted(self.grids, key=lambda grid: grid.step_lat_deg))
        object.__setattr__(self, "grids", finest_first)
        if self.highest_m == -np.inf:
            raise BadInput("There is not one height in this terrain, only unknown ground. Load another file.")

    @cached_property
    def highest_m(self) -> float:
        """The highest height of all. [m]"""
        return max((grid.highest_m for grid in self.grids), default=-np.inf)

    def height_at(self, lat_deg: ArrayLike, lon_deg: ArrayLike) -> FloatOrArray:
        """Return heights above the files' zero, from shapes that fit together; NaN where unknown. [m]"""
        lat, lon = np.broadcast_arrays(np.asarray(lat_deg, dtype=float), np.asarray(lon_deg, dtype=float))
        height = np.asarray(self.grids[0].height_at(lat, lon))
        for grid in self.grids[1:]:
            unknown = np.isnan(height)
            if not unknown.any():
                break
            height[unknown] = grid.height_at(lat[unknown], lon[unknown])
        return height[()]

    def grid_at(self, lat_deg: float, lon_deg: float) -> Grid | None:
        """Return the grid that gives the height of a point, None where it is unknown."""
        return next((grid for grid in self.grids if not np.isnan(grid.height_at(lat_deg, lon_deg))), None)

    def around(self, lat_deg: float, lon_deg: float, radius_m: float = RANGE_M) -> "Terrain":
        """Return what one site needs of this terrain, small enough to keep with it.

        Cells keep their size near, but none under 5 m; from 1 km on they have about 25 m
        or the file's own size if that is larger, from 6 km 120 m and from 20 km 240 m. Of
        the heights that fall into one cell the highest counts, so that no ridge sinks;
        it may seem to begin up to one cell nearer than it does. Heights are rounded to
        1/8 m.

        Raises
        ------
        BadInput
            When no height within the radius is known.
        """
        parts = tuple(part for grid in self.grids for part in _zones(grid, lat_deg, lon_deg, radius_m))
        if not parts:
            whose = f"of “{self.source}” " if self.source else ""
            raise BadInput(
                f"None of the heights {whose}lie within {radius_m / 1000:g} km of {place_words(lat_deg, lon_deg)}; "
                f"they cover {extent_words(self.grids)}. Load the file for the site itself."
            )
        return Terrain(parts, self.source)


def _zones(grid: Grid, lat_deg: float, lon_deg: float, radius_m: float) -> Iterator[Grid]:
    """Yield a grid's part in each zone, coarser from zone to zone; nothing where it has none.

    A zone whose cells would be no smaller than the next one's is left out.
    """
    across = max(float(np.cos(np.radians(lat_deg))), 0.01)
    east_m = grid.post_m * grid.step_lon_deg / grid.step_lat_deg * across
    zones = [(min(reach_m, radius_m), _times(cell_m, grid.post_m), _times(cell_m, east_m)) for reach_m, cell_m in ZONES]
    for (reach_m, rows, columns), after in zip(zones, [*zones[1:], None], strict=True):
        if after is None or (rows, columns) != after[1:] and reach_m < after[0]:
            half_deg = float(np.degrees(reach_m / EQUATOR_M)) * 1.01  # a degree of latitude is up to 0.7 % shorter
            for cut in grid.cut(lat_deg, lon_deg, half_deg, half_deg / across):
                yield cut.coarser(rows, columns)


def _times(cell_m: float, step_m: float) -> int:
    return max(1, round(cell_m / step_m))


def _range(offset_deg: float, half_deg: float, step_deg: float, count: int) -> tuple[int, int]:
    """Return which crossings, first and one past the last, lie within half a box of an offset from crossing 0."""
    first, last = np.ceil((offset_deg - half_deg) / step_deg), np.floor((offset_deg + half_deg) / step_deg)
    return int(np.clip(first, 0, count)), int(np.clip(last + 1, 0, count))


def extent_words(grids: tuple[Grid, ...]) -> str:
    """Return “54.00° N to 55.00° N, 4.00° W to 3.00° W” for the box around grids."""
    south, north = min(grid.south_deg for grid in grids), max(grid.north_deg for grid in grids)
    west, east = min(grid.west_deg for grid in grids), max(grid.east_deg for grid in grids)
    return f"{_span_words(south, north, 'NS')}, {_span_words(west, east, 'EW')}"


def place_words(lat_deg: float, lon_deg: float) -> str:
    """Return “54.57° N, 3.13° W”."""
    return f"{_angle_words(lat_deg, 'NS')}, {_angle_words(lon_deg, 'EW')}"


def _span_words(low_deg: float, high_deg: float, sides: str) -> str:
    return f"{_angle_words(low_deg, sides)} to {_angle_words(high_deg, sides)}"


def _angle_words(angle_deg: float, sides: str) -> str:
    return f"{abs(angle_deg):.2f}° {sides[0] if angle_deg >= 0 else sides[1]}"
