"""The skyline that the ground itself makes, seen from one viewpoint."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.place.geodesy import ECCENTRICITY_SQUARED, EQUATOR_M, LocalFrame
from app.place.skyline import LEVEL, Skyline, level_skyline
from app.place.terrain import RANGE_M, Terrain
from app.units import FloatArray, FloatOrArray

STEP_DEG = 0.25  # between azimuths
REFRACTION = 0.13  # Gauss's coefficient for light near the ground by day; it varies with the air (textbook value)
POSTS_AWAY = 3.0  # the first look, in posts of the grid; nearer, errors of 3 m look like slopes of 5 degrees
NEAREST_M = 30.0
NEAR_GROWTH, GROWTH = 0.01, 0.004  # of the distance: the longest step, and the shortest unless half a post is longer still
NEAR_M = 2_000.0  # up to here what stands up is "the terrain", beyond it a ridge
FAR, NEAR = "the ridge", "the terrain"

_BLOCK = 48  # distances looked at together; the work of one block fits a processor's cache
_COVER_STEP_M, _COVER_STEP_DEG = 500.0, 1.0


@dataclass(frozen=True, eq=False)
class TerrainView:
    """A terrain skyline, and what has to be known about it.

    Parameters
    ----------
    skyline : Skyline
        Nodes every 0.25°.
    distance_m : array_like
        How far away the skyline's ground lies, at each node; NaN where it is taken as
        level because too little is known. [m]
    reach_m : array_like
        How far the ground is known, at each node; 0 where it is not known at all. [m]
    from_m : float
        Ground nearer than this was left out. [m]
    notes : tuple of str
        What is unknown, and what was bridged, each a sentence for the reader.
    """

    skyline: Skyline
    distance_m: FloatArray
    reach_m: FloatArray
    from_m: float
    notes: tuple[str, ...]


def terrain_skyline(
    terrain: Terrain, lat_deg: float, lon_deg: float, eye_m_above_sea: float, far: str = FAR, near: str = NEAR
) -> Skyline:
    """Return the skyline of ``terrain_view``, without its notes."""
    return terrain_view(terrain, lat_deg, lon_deg, eye_m_above_sea, far, near).skyline


def terrain_view(
    terrain: Terrain,
    lat_deg: float,
    lon_deg: float,
    eye_m_above_sea: float,
    far: str = FAR,
    near: str = NEAR,
    range_m: float = RANGE_M,
    step_deg: float = STEP_DEG,
) -> TerrainView:
    """Return the highest ground at every azimuth round an eye.

    Parameters
    ----------
    lat_deg, lon_deg : float
        The viewpoint. [°]
    eye_m_above_sea : float
        The eye above the zero of the terrain's heights. [m]
    far, near : str
        What ground beyond, and up to, 2 km is called. Where it lies lower than
        the eye's own level it is “the horizon”.
    range_m : float
        Ground farther away is left out. [m]
    step_deg : float
        From azimuth to azimuth, a whole part of 360. [°]

    Notes
    -----
    The line of sight sinks against level by (1 - k) d²/2R, with k = 0.13 and R the
    mean radius of curvature at the viewpoint. Heights are interpolated along each
    azimuth from three posts of the grid away, 30 m at least, in steps of half a post
    but no more than 1 % and no less than 0.4 % of the distance: on rough hills a crest
    seems 0.01 degree too low on average, a near one up to 0.15.
    Trees and buildings count only as far as the files' heights hold them. Unknown
    ground is passed over: the sight from one edge of the gap to the other stands for
    it. Where known ground ends early the skyline is level or higher.
    """
    azimuth = np.arange(0.0, 360.0, step_deg)
    ways = _Ways(lat_deg, lon_deg, azimuth, range_m)
    reach_m, gappy = _cover(terrain, ways)
    if not reach_m.any():
        nothing = np.full(azimuth.shape, np.nan)
        return TerrainView(level_skyline(), nothing[:1], reach_m[:1], 0.0, ("The terrain kept here does not cover this viewpoint.",))
    from_m, half_post_m = _nearest_m(terrain, lat_deg, lon_deg)
    slope, distance_m = _steepest(terrain, ways, eye_m_above_sea, from_m, half_post_m)
    altitude = np.degrees(np.arctan(slope))
    known = (reach_m >= range_m - _COVER_STEP_M) & np.isfinite(slope)
    level = ~known & (altitude <= 0)
    altitude[level], distance_m[level] = 0.0, np.nan
    called = np.where(altitude <= 0, LEVEL, np.where(distance_m > NEAR_M, far, near))
    skyline = Skyline(azimuth, altitude, tuple(called.tolist()))
    return TerrainView(skyline, distance_m, reach_m, from_m, tuple(_notes(azimuth, reach_m, gappy, range_m)))


def drop_m(distance_m: FloatOrArray, lat_deg: float) -> FloatOrArray:
    """Return how far level ground sinks below an eye's level, as the bent light shows it. [m]

    Notes
    -----
    (1 - k) d²/2R, the usual formula of trigonometric levelling, with R = √(MN), the
    mean radius of curvature of the ellipsoid. From memory of geodesy textbooks.
    """
    return (1.0 - REFRACTION) * distance_m**2 / (2.0 * _mean_radius_m(lat_deg))


def _mean_radius_m(lat_deg: float) -> float:
    across = 1.0 - ECCENTRICITY_SQUARED * float(np.sin(np.radians(lat_deg))) ** 2
    return EQUATOR_M * float(np.sqrt(1.0 - ECCENTRICITY_SQUARED)) / across


class _Ways:
    """Latitudes and longitudes along straight ways from a viewpoint, as cubics of the distance.

    The cubics go through points that :class:`LocalFrame` gives at a third, two thirds
    and the whole of the range; between them they are true to 0.1 m up to 85° of latitude.
    """

    def __init__(self, lat_deg: float, lon_deg: float, azimuth_deg: FloatArray, range_m: float) -> None:
        self.lat_deg, self.lon_deg, self.range_m = lat_deg, lon_deg, range_m
        self.azimuth_deg = azimuth_deg
        knots_m = range_m * np.array([1.0, 2.0, 3.0])[:, None] / 3.0
        bearing, radius = np.radians(azimuth_deg), _mean_radius_m(lat_deg)
        # Down from the plane that touches the Earth to its surface, and as far in as the arc is longer than its chord.
        angle = knots_m / radius
        along, up = radius * np.sin(angle), radius * (np.cos(angle) - 1.0)
        frame = LocalFrame(lat_deg, lon_deg)
        lat, lon, _ = frame.to_degrees(along * np.sin(bearing), along * np.cos(bearing), up + 0.0 * bearing)
        turn = (lon - lon_deg + 180.0) % 360.0 - 180.0
        powers = (knots_m / range_m) ** np.array([1.0, 2.0, 3.0])
        self._lat, self._turn = np.linalg.solve(powers, lat - lat_deg), np.linalg.solve(powers, turn)

    def at(self, distance_m: FloatArray, which: NDArray[np.intp] | slice = slice(None)) -> tuple[FloatArray, FloatArray]:
        """Return latitudes and longitudes, a row for each distance and a column for each azimuth. [°]"""
        powers = (distance_m[:, None] / self.range_m) ** np.array([1.0, 2.0, 3.0])
        return self.lat_deg + powers @ self._lat[:, which], self.lon_deg + powers @ self._turn[:, which]


def _nearest_m(terrain: Terrain, lat_deg: float, lon_deg: float) -> tuple[float, float]:
    """Return where looking starts, and half a post of the ground there. [m, m]"""
    grid = terrain.grid_at(lat_deg, lon_deg) or terrain.grids[0]
    return max(POSTS_AWAY * grid.post_m, NEAREST_M), grid.post_m / 2.0


def _steepest(
    terrain: Terrain, ways: _Ways, eye_m: float, from_m: float, half_post_m: float
) -> tuple[FloatArray, FloatArray]:
    """Return the steepest sight up at each azimuth, as rise over distance, and where its ground lies. [1, m]

    An azimuth is done with as soon as the highest ground of all could not rise above
    what it has.
    """
    best = np.full(ways.azimuth_deg.shape, -np.inf)
    found_m = np.full(ways.azimuth_deg.shape, np.nan)
    for distance_m in _blocks(from_m, ways.range_m, half_post_m):
        left = np.flatnonzero(best < _steepest_beyond(terrain.highest_m - eye_m, distance_m[0], ways.lat_deg))
        if not left.size:
            break
        rise = terrain.height_at(*ways.at(distance_m, left))
        rise -= (eye_m + drop_m(distance_m, ways.lat_deg))[:, None]
        rise /= distance_m[:, None]
        top = np.fmax.reduce(rise, axis=0)
        better = np.flatnonzero(top > best[left])
        best[left[better]] = top[better]
        found_m[left[better]] = distance_m[np.argmax(rise[:, better] == top[better], axis=0)]
    return best, found_m


def _steepest_beyond(rise_m: float, distance_m: float, lat_deg: float) -> float:
    """Return the steepest sight up to ground of some rise above the eye, anywhere from a distance on. [1]

    Ground that lies lower than the eye shows highest where the line to it just
    grazes the round Earth, which may be farther out.
    """
    grazing_m = np.sqrt(max(-rise_m, 0.0) / drop_m(1.0, lat_deg))
    at_m = max(distance_m, grazing_m)
    return (rise_m - drop_m(at_m, lat_deg)) / at_m


def _blocks(from_m: float, to_m: float, half_post_m: float) -> Iterator[FloatArray]:
    """Yield the distances of looking, some at a time: 1 %, then half a post, then 0.4 % from each to the next. [m]"""
    first, second = (float(np.clip(half_post_m / share, from_m, to_m)) for share in (NEAR_GROWTH, GROWTH))
    distances = np.concatenate([
        _growing(from_m, first, NEAR_GROWTH), np.arange(first, second, half_post_m), _growing(second, to_m, GROWTH), [to_m]
    ])  # fmt: skip
    return (distances[start : start + _BLOCK] for start in range(0, len(distances), _BLOCK))


def _growing(from_m: float, to_m: float, share: float) -> FloatArray:
    return from_m * np.exp(np.arange(0.0, np.log(to_m / from_m), np.log1p(share)))


def _cover(terrain: Terrain, ways: _Ways) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Return how far ground is known at each azimuth, and whether there are gaps before. [m]

    Looked up every 0.5 km on every whole degree; a gap that falls between is not told.
    """
    distance_m = np.arange(_COVER_STEP_M, ways.range_m + 1.0, _COVER_STEP_M)
    count = len(ways.azimuth_deg)
    whole = np.arange(0, count, max(1, round(_COVER_STEP_DEG * count / 360.0)))
    known = ~np.isnan(terrain.height_at(*ways.at(distance_m, whole)))
    reach_m = np.where(known, distance_m[:, None], 0.0).max(axis=0)
    gappy = (~known & (distance_m[:, None] < reach_m)).any(axis=0)
    nearest = np.round(np.arange(count) * len(whole) / count).astype(int) % len(whole)
    return reach_m[nearest], gappy[nearest]


def _notes(azimuth: FloatArray, reach_m: FloatArray, gappy: NDArray[np.bool_], range_m: float) -> Iterator[str]:
    unknown, short = reach_m == 0, (reach_m > 0) & (reach_m < range_m - _COVER_STEP_M)
    if unknown.any():
        yield f"No ground is known towards {bearings_words(azimuth, unknown)}: the skyline is level there."
    if short.any():
        yield (
            f"Towards {bearings_words(azimuth, short)} the ground is known for less than {range_m / 1000:g} km, "
            f"for {reach_m[short].min() / 1000:g} km at worst: a ridge beyond would be missed."
        )
    if gappy.any():
        yield f"Towards {bearings_words(azimuth, gappy)} there are gaps in the heights; they were bridged straight."


def bearings_words(azimuth_deg: FloatArray, chosen: NDArray[np.bool_]) -> str:
    """Return “all bearings” or “200 to 309°, 350 to 10°” for a choice of evenly spaced azimuths."""
    if chosen.all():
        return "all bearings"
    starts = np.flatnonzero(chosen & ~np.roll(chosen, 1))
    ends = np.flatnonzero(chosen & ~np.roll(chosen, -1))
    ends = np.roll(ends, -1) if ends[0] < starts[0] else ends
    spans = [f"{azimuth_deg[start]:.0f} to {azimuth_deg[end]:.0f}°" for start, end in zip(starts, ends, strict=True)]
    return ", ".join(spans) if len(spans) <= 4 else f"{len(spans)} stretches of bearings, the first {spans[0]}"
