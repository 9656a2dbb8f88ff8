"""Frames as drawings: millimetres on the sensor turned into paths, tones and words."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from app.light.day import sky_cd_m2
from app.light.tone import tone
from app.looks.lighting import Lighting, scene_lighting
from app.looks.margin import Scene
from app.picture.frame import Sight, sight
from app.picture.sensor import direction_of
from app.picture.setup import Setup
from app.picture.water import SunImage, mirrors_of, sun_image
from app.picture.words import cover_words, where_words
from app.place.timezone import local_time
from app.web.drawing.frames_notes import water_notes
from app.web.drawing.frames_paths import grey, path_through
from app.web.drawing.frames_shapes import FrameShapes, shapes_of
from app.web.drawing.frames_water import WaterTone, glitter_levels, water_tones

__all__ = ["DrawnFrame", "FrameSheet", "path_through", "sheet_for"]

# Things that stand are told apart by how near they are: as shares of light, the farthest land being this one.
FARTHEST, SHORE = 0.26, 0.34
SHARE_POWER = 2.2  # shares are of drawn tone, which rises as this root of the light; to look right
GLOW_RADII = 8
DOWN = (0.0, 0.35, 0.7, 1.0)  # of the frame's height, where the sky's tone is told
RISE_NOTE = "They stand higher than the lens: the rise under them is sketched level to the sides, and hides no sun in the windows."

Disc = tuple[float, float, float]  # x, y down and radius [mm]


@dataclass(frozen=True)
class DrawnFrame:
    """One frame: its edge, its tones, its sun and its two lines of words.

    Tones come from predicted luminances by one fixed curve; ``stands_cd_m2`` is what
    stands towards the camera, in the farthest land; ``sky_stops`` grade the sky from the
    frame's top to its foot, as shares of the way with their grey. ``images`` is the sun in each
    sheet of water, ``glitter`` paths for each, the widest first. ``water`` says what
    water adds.
    """

    number: int
    utc_s: float
    at: datetime
    stands_cd_m2: float
    sky: str
    sky_stops: tuple[tuple[float, str], ...]
    land: str
    ground: str
    shore: str
    people: str
    sun: Disc | None
    images: tuple[Disc | None, ...]
    glitter: tuple[tuple[str, ...], ...]
    where: str
    cover: str
    water: str
    chosen: bool

    @property
    def clock(self) -> str:
        """Hours and minutes on the site's clocks, with seconds where they are not whole minutes."""
        return self.at.strftime("%H:%M" if self.at.second == 0 else "%H:%M:%S")

    def toned(self, share: float) -> str:
        """Return the grey of something that stands, by its share: ``FARTHEST`` for the farthest, more for what is nearer."""
        return _stands_grey(self.stands_cd_m2, share)

    @property
    def told(self) -> str:
        """The whole frame in words, for those who cannot see it."""
        return ", ".join(filter(None, (self.where, self.cover, self.water)))


@dataclass(frozen=True)
class FrameSheet:
    """A strip or sheet of frames of one setup. ``sheet_id`` keeps shared shapes apart on a page.

    ``waters`` tone the shapes' sheets of water; ``notes`` are sentences about what is drawn.
    """

    sheet_id: str
    shapes: FrameShapes
    waters: tuple[WaterTone, ...]
    frames: tuple[DrawnFrame, ...]
    notes: tuple[str, ...] = ()


def sheet_for(
    scene: Scene, instants_utc_s: np.ndarray, zone: str, chosen: Collection[float] = (), sheet_id: str = "sheet"
) -> FrameSheet:
    """Return the predicted frames of a setup at given instants, in time order.

    ``chosen`` are the instants ringed, seconds since 1970 UTC; ``zone`` names
    the clocks the frames show.
    """
    seen = sight(scene.setup, scene.skyline, scene.observer.sun_at(instants_utc_s))
    shapes, waters = shapes_of(scene, seen), water_tones(scene)
    images = tuple(sun_image(mirror, seen.sun) for mirror in mirrors_of(scene.setup, scene.site, scene.skyline))
    glitter = glitter_levels(scene, seen)
    light = scene_lighting(scene, seen.sun)
    inks = _Inks(scene, seen, light, _graded_cd_m2(scene, light), waters, images, glitter, zone, chosen)
    notes = (*water_notes(scene), RISE_NOTE) if shapes.rise else water_notes(scene)
    return FrameSheet(sheet_id, shapes, waters, tuple(map(inks.frame, range(len(instants_utc_s)))), notes)


@dataclass(frozen=True)
class _Inks:
    """All that one frame is drawn from."""

    scene: Scene
    seen: Sight
    light: Lighting
    graded: np.ndarray
    waters: tuple[WaterTone, ...]
    images: tuple[SunImage, ...]
    glitter: tuple[tuple[tuple[str, ...], ...], ...]
    zone: str
    chosen: Collection[float]

    def frame(self, which: int) -> DrawnFrame:
        seen, utc_s = self.seen, float(self.seen.sun.utc_s[which])
        stands = float(self.light.stands_cd_m2[which])
        return DrawnFrame(
            number=which + 1,
            utc_s=utc_s,
            at=local_time(utc_s, self.zone),
            stands_cd_m2=stands,
            sky=grey(float(tone(self.light.sky_cd_m2[which]))),
            sky_stops=tuple(zip(DOWN, map(grey, tone(self.graded[:, which]).tolist()), strict=True)),
            land=_stands_grey(stands, FARTHEST),
            ground=grey(float(tone(self.light.ground_cd_m2[which]))),
            shore=_stands_grey(stands, SHORE),
            people=grey(float(tone(self.light.person_cd_m2[which]))),
            sun=_disc(self.scene.setup, seen, which, float(seen.x_mm[which]), float(seen.y_mm[which])),
            images=tuple(self._image(image, which) for image in self.images),
            glitter=self.glitter[which],
            where=where_words(seen, self.scene.skyline, which),
            cover=cover_words(seen, which),
            water=self._water_words(which),
            chosen=round(utc_s) in self.chosen,
        )

    def _image(self, image: SunImage, which: int) -> Disc | None:
        return _disc(self.scene.setup, self.seen, which, float(image.x_mm[which]), float(image.y_mm[which]))

    def _water_words(self, which: int) -> str:
        """Return whether the water shows the sun or glitters."""
        lit = self.seen.clear_deg[which] > 0
        mirrored = any(
            lit and image.shows[which] and water.strength > 0
            for image, water in zip(self.images, self.waters, strict=True)
        )
        return "the sun's image on the water" if mirrored else "the water glitters" if any(self.glitter[which]) else ""


def _graded_cd_m2(scene: Scene, light: Lighting) -> np.ndarray:
    """Return the sky's luminance down the frame's middle, shape (stops, moments); the horizon's under it. [cd/m²]"""
    view = scene.setup.view
    azimuth, altitude = direction_of(view, np.zeros(len(DOWN)), (0.5 - np.array(DOWN)) * view.camera.height_mm)
    return sky_cd_m2(light.day, azimuth[:, np.newaxis], np.maximum(altitude, 0.0)[:, np.newaxis])


def _stands_grey(stands_cd_m2: float, share: float) -> str:
    return grey(float(tone(stands_cd_m2 * (share / FARTHEST) ** SHARE_POWER)))


def _disc(setup: Setup, seen: Sight, which: int, x_mm: float, y_mm: float) -> Disc | None:
    """Return a disc's place and true radius, if any of its glow can fall in the frame; y comes up and goes down. [mm]"""
    radius = setup.camera.focal_mm * float(np.tan(np.radians(seen.sun.semidiameter_deg[which])))
    inside = setup.view.inside_mm(x_mm, y_mm)
    if np.isnan(inside) or inside < -GLOW_RADII * radius or seen.sun.upper_edge_deg[which] < 0:
        return None
    return x_mm, -y_mm, radius
