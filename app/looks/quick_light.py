"""A scene's light for searches: at many instants, and its bounds on the sun's way."""

from dataclasses import dataclass, field
from functools import cached_property, lru_cache

import numpy as np

from app.light.air import aerosol_depth
from app.light.cloud import beam_left
from app.light.day import Daylight, daylight_over
from app.light.faces import Face
from app.light.sky_table import SkyTable, faces_table, patch_table, quick_beam_lux
from app.light.spot import Spot, disc_share
from app.looks.lighting import STANDS_ALBEDO, behind_cd_m2, upright
from app.looks.margin import Scene
from app.looks.scene_light import SceneLight
from app.looks.way import Bounds, Way
from app.picture.backdrop import Backdrop, backdrop
from app.place.skyline import Skyline
from app.sky.track import SEMIDIAMETER_AT_1_AU_DEG, SunTrack
from app.units import FloatArray, FloatOrArray

# No brightness of sky, or of what it lights, changes faster while the sun climbs or turns by a degree:
# in clear twilight it is 1.65 stop at 7° down. [stop per °]
STEEPEST_STOPS = 2.0
FAR_SUN_S = 1_814_832_000.0  # 6 July 2027, the Earth farthest from the sun
NO_BEAM_DEG = -1.6  # under this no part of the sun's beam is left


@dataclass(frozen=True, eq=False)
class QuickLight:
    """The frame's sky and the faces of a scene, from tables: faces within 0.03 stop of ``lighting``, a
    narrow frame of sky about the sun within 0.1, one piece of sky alone within 0.15."""

    scene: Scene
    light: SceneLight

    def at(self, sun: SunTrack) -> tuple[FloatArray, FloatArray]:
        """Return the frame's sky, or what is behind them where it has none, the track's shape, and each face, shape (faces, ...). [cd/m², lx]"""
        day = self._day(sun)
        lit = np.asarray(sun.refracted_deg > NO_BEAM_DEG)
        share = np.zeros(lit.shape)
        if lit.any():
            share[lit] = disc_share(self._spot.skyline, sun[np.nonzero(lit)] if lit.ndim else sun)
        faces = self._sky_on_faces(day)[:-1] + self._beam_on_faces(day)[:-1] * share
        return self._backdrop_sky(day) + self._backdrop_beam(day) * share, faces

    def between(self, way: Way) -> tuple[Bounds, Bounds]:
        """Return the least and the most of the frame's sky, shape (ways), and of the faces, shape (faces, ways).

        What the sky gives is bounded by how steep it can be, what the sun gives by none and all of it.
        """
        day, moved_deg = self._day(way.ends), way.turned_deg + way.climbed_deg
        least, most = _spread(self._sky_on_faces(day)[:-1].swapaxes(0, 1), moved_deg)
        dark, bright = _spread(self._backdrop_sky(day), moved_deg)
        beam = self._most_beam(day, way, moved_deg)
        return (dark, bright + self._most_of_sun * beam[-1]), (least, most + beam[:-1])

    def least_at(self, airless_deg: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the least that frame's sky and faces can be by skylight alone with the sun so high, at any azimuth and in any month's haze.

        Airless altitudes of shape (n) give shapes (n) and (faces, n). [°, cd/m², lx]
        """
        sun = SunTrack(self.scene.observer, np.full(len(airless_deg), FAR_SUN_S), np.zeros(len(airless_deg)), airless_deg)
        days = [daylight_over(sun, one, self.light.cover, self.light.correction_stops, quick_beam_lux) for one in (self.light.monthly_linke.min(), self.light.monthly_linke.max())]
        lux, seen_deg = np.minimum(*(day.sky_lux for day in days)), sun.refracted_deg
        faces = self._table.least(seen_deg) + self._thrown_back(days[0]) * self._spot.sky_view
        return self._backdrop(self._patch.least(seen_deg)[0] * lux, faces[-1] * lux, self._spot.sky_view * lux), faces[:-1] * lux

    @cached_property
    def _spot(self) -> Spot:
        return Spot(self.scene.couple_skyline, self.light.plan.ground)

    @cached_property
    def behind(self) -> Backdrop:
        return backdrop(self.scene.setup, self.scene.skyline, self.scene.site)

    @cached_property
    def _faces(self) -> tuple[Face, ...]:
        """The faces, and what stands behind them as one more."""
        return (*self.light.plan.faces, upright(self.behind))

    @cached_property
    def _normals(self) -> FloatArray:
        return np.stack([face.normal for face in self._faces])

    @cached_property
    def _table(self) -> SkyTable:
        return _faces_table(_Over(_nodes(self.scene.couple_skyline), self._faces, self.light.cover, self._spot))

    @cached_property
    def _patch(self) -> SkyTable:
        behind = self.behind
        where = (behind.sky_azimuth_deg, behind.sky_altitude_deg) if behind.goes_by_sky else (np.array([behind.azimuth_deg]), np.array([behind.altitude_deg]))
        return _patch_table(where[0].tobytes(), where[1].tobytes(), self.light.cover)

    def _day(self, sun: SunTrack) -> Daylight:
        return daylight_over(sun, self.light.linke(sun.utc_s), self.light.cover, self.light.correction_stops, quick_beam_lux)

    def _thrown_back(self, day: Daylight) -> FloatArray:
        """Return the share of level ground's light that each face gets back from it; faces first."""
        return (self._spot.albedo * (1.0 - self._normals[:, 2]) / 2.0).reshape(-1, *[1] * np.ndim(day.sky_lux))

    def _sky_on_faces(self, day: Daylight) -> FloatArray:
        return (self._table.at(day.sun) + self._thrown_back(day) * self._spot.sky_view) * day.sky_lux

    def _beam_on_faces(self, day: Daylight) -> FloatArray:
        """Return what the sun and the ground it lights give while nothing hides it."""
        caught = np.maximum(np.tensordot(self._normals, day.toward_sun, 1), 0.0)
        return day.beam_lux * (caught + self._thrown_back(day) * _rise(day))

    def _backdrop(self, sky_cd_m2: FloatOrArray, upright_lux: FloatArray, level_lux: FloatArray) -> FloatArray:
        """Return the frame's sky, or what is behind them where exposures cannot go by that. [cd/m²]"""
        if self.behind.goes_by_sky:
            return sky_cd_m2 + np.zeros(np.shape(level_lux))
        return behind_cd_m2(self.behind, self._spot.albedo, sky_cd_m2, upright_lux, level_lux)

    def _backdrop_sky(self, day: Daylight) -> FloatArray:
        """Return the backdrop by the light of the sky."""
        return self._backdrop(self._patch.at(day.sun)[0] * day.sky_lux, self._sky_on_faces(day)[-1], self._spot.sky_view * day.sky_lux)

    def _backdrop_beam(self, day: Daylight) -> FloatArray:
        """Return what the sun adds to the backdrop while nothing hides it."""
        return self._backdrop(0.0, self._beam_on_faces(day)[-1], day.beam_lux * _rise(day))

    @property
    def _most_of_sun(self) -> float:
        """The most of the sun's light on it that the backdrop can send back. [cd/m² per lx]"""
        return 0.0 if self.behind.goes_by_sky else max(STANDS_ALBEDO, self._spot.albedo) / np.pi

    def _most_beam(self, day: Daylight, way: Way, moved_deg: FloatArray) -> FloatArray:
        """Return the most that the sun and the ground it lights can give to each face, what stands behind and level ground; the last is the last."""
        highest_deg, air_hpa = way.refracted_deg[1], way.ends.observer.air_hpa
        haze = aerosol_depth(self.light.linke(way.ends.utc_s).min(axis=0), air_hpa)
        nearness = (way.ends.semidiameter_deg.max(axis=0) / SEMIDIAMETER_AT_1_AU_DEG) ** 2
        beam = quick_beam_lux(highest_deg, haze, air_hpa) * beam_left(self.light.cover) * nearness * 2.0**self.light.correction_stops
        caught = np.clip(np.tensordot(self._normals, day.toward_sun, 1).max(axis=1) + np.radians(moved_deg), 0.0, 1.0)
        caught[-1] = np.maximum(caught[-1], np.sin(np.radians(np.maximum(highest_deg, 0.0))))  # or level ground, whichever gets more
        return beam * (caught + self._spot.albedo)


def _rise(day: Daylight) -> FloatArray:
    return np.sin(np.radians(np.maximum(day.sun.refracted_deg, 0.0)))


def quick_light(scene: Scene, light: SceneLight) -> QuickLight:
    """Return the quick light of a scene, the same again for the same skylines: looks share its tables."""
    key = ("quick light", id(scene.skyline), id(scene.couple_skyline))  # it holds them, so no other takes their place
    return light.known.setdefault(key, QuickLight(scene, light))


@dataclass(frozen=True)
class _Over:
    """What a table is made from; skylines are built anew for each page, so their nodes tell them apart."""

    nodes: tuple[bytes, ...]
    faces: tuple[Face, ...]
    cover: float
    spot: Spot = field(compare=False)


@lru_cache(maxsize=128)
def _faces_table(over: _Over) -> SkyTable:
    return faces_table(over.spot, over.faces, over.cover)


@lru_cache(maxsize=128)
def _patch_table(azimuth_deg: bytes, altitude_deg: bytes, cover: float) -> SkyTable:
    return patch_table(np.frombuffer(azimuth_deg), np.frombuffer(altitude_deg), cover)


def _nodes(skyline: Skyline) -> tuple[bytes, ...]:
    lines = (skyline, *(edge for band in skyline.bands for edge in (band.low, band.high)))
    return tuple(part.tobytes() for line in lines for part in (line.azimuth_deg, line.altitude_deg))


def _spread(at_ends: FloatArray, moved_deg: FloatArray) -> Bounds:
    """Return what a light can be between two ends, the first axis, going to and fro as much as it can."""
    first, last = np.log2(np.maximum(at_ends, 1e-12))
    reach_stops = STEEPEST_STOPS * moved_deg
    return 2.0 ** ((first + last - reach_stops) / 2), 2.0 ** ((first + last + reach_stops) / 2)
