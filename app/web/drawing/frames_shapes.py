"""What all frames of a sheet share: land, water, things and people as paths in millimetres with y down."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from itertools import groupby

import numpy as np

from app.looks.margin import Scene
from app.picture.frame import Sight
from app.picture.outlines import Shapes, bank_outline, in_view, people_outlines, pool_outline, thing_outline
from app.picture.sensor import framed
from app.picture.setup import Setup
from app.picture.stage import Stage, Thing, hides_couple, stage_of
from app.picture.water import Mirror, mirrors_of
from app.place.skyline import Skyline
from app.units import FloatArray
from app.web.drawing.frames_lines import horizon, rise, water_lines
from app.web.drawing.frames_paths import figure, outline_path, path_through

# Things as shares of the sky's tone, by how far away they begin: lighter than the land behind them
# and darker than the ground they stand on, so that all three part; foliage is darker. To look right. [m]
TONES = ((250.0, 0.28), (80.0, 0.31), (25.0, 0.345), (0.0, 0.38))
GRAINS = ((250.0, 0.0), (80.0, 0.8), (25.0, 1.3), (0.0, 1.9))  # how large leaves are drawn, by the same distances
LEAVES, SLATS = "leaves", "slats"
FOLIAGE = 0.85
FOLIAGE_GLOW = 0.7  # how much of what foliage lets through is drawn
BEYOND_MM = 1.0  # how far shapes are drawn past the frame's edge


@dataclass(frozen=True)
class Band:
    """Things of one tone, drawn one after the other: paths with their opacity.

    ``tone`` is a share of the sky's; ``texture`` names what is drawn over it, empty for none.
    """

    tone: float
    texture: str
    things: tuple[tuple[str, float], ...]


@dataclass(frozen=True)
class PoolShapes:
    """A sheet of water and what still water mirrors, each clipped to the water.

    ``lines`` say that it is level water; ``land`` is the skyline upside down. ``behind`` is mirrored farther off than the
    people, ``before`` nearer; ``bank`` is the image of the bank they stand on.
    """

    outline: str
    lines: str
    land: str
    behind: tuple[Band, ...]
    people: str
    bank: str
    before: tuple[Band, ...]


@dataclass(frozen=True)
class FrameShapes:
    """What all frames of a sheet share.

    ``land`` is the skyline's path down to the frame's foot, empty where it is level;
    ``ground`` what lies below the level horizon, empty when that is under the frame.
    ``shore`` is the faces of banks across the water, ``edge`` the ground that hides
    water behind its edge, and decks. ``path`` is the sun's way. ``horizon`` is the line in
    which water meets the sky, ``rise`` the ground under people who stand above the lens,
    ``textures`` the name, kind and scale of what is drawn over foliage.
    """

    width_mm: float
    height_mm: float
    land: str
    ground: str
    pools: tuple[PoolShapes, ...]
    shore: str
    edge: str
    behind: tuple[Band, ...]
    figures: tuple[str, ...]
    before: tuple[Band, ...]
    horizon: str
    rise: str
    textures: tuple[tuple[str, str, float], ...]
    path: str = ""


def shapes_of(scene: Scene, seen: Sight) -> FrameShapes:
    """Return the shapes of a scene; all but the sun's way are kept from one page to the next."""
    setup, skyline = replace(scene.setup, looks=(), notes=""), scene.ground or scene.skyline
    nodes = skyline.azimuth_deg.tobytes() + skyline.altitude_deg.tobytes()
    drawn = _Drawn(setup, stage_of(setup, scene.site), mirrors_of(setup, scene.site, scene.skyline), nodes, skyline)
    return replace(_shapes(drawn), path=path_through(*_in_sight(seen, setup.camera.width_mm, setup.camera.height_mm)))


@dataclass(frozen=True)
class _Drawn:
    """What the shapes are drawn from; skylines are built anew for each page, so their nodes tell them apart."""

    setup: Setup
    stage: Stage
    mirrors: tuple[Mirror, ...]
    nodes: bytes
    skyline: Skyline = field(compare=False)


@lru_cache(maxsize=32)
def _shapes(drawn: _Drawn) -> FrameShapes:
    setup, stage, mirrors, skyline = drawn.setup, drawn.stage, drawn.mirrors, drawn.skyline
    behind, before = _parted(stage, in_view(setup.view, stage.things))
    far_bands, near_bands = _bands(setup, stage, behind), _bands(setup, stage, before)
    return FrameShapes(
        width_mm=setup.camera.width_mm,
        height_mm=setup.camera.height_mm,
        land=_land(setup, skyline),
        ground=_ground(setup, skyline),
        pools=tuple(_pool(setup, mirror, skyline, behind, before) for mirror in mirrors),
        shore="".join(_bank(setup, mirror, faces=True) for mirror in mirrors),
        edge="".join(_bank(setup, mirror, faces=False) + _decks(setup, mirror) for mirror in mirrors),
        behind=far_bands,
        figures=tuple(outline_path([shape]) for shape in people_outlines(setup.view, stage, setup.figures)),
        before=near_bands,
        horizon=horizon(setup, skyline, _bends(setup, skyline)) if mirrors else "",
        rise=rise(setup, stage),
        textures=_textures(far_bands, near_bands),
    )


def _parted(stage: Stage, things: Sequence[Thing]) -> tuple[tuple[Thing, ...], tuple[Thing, ...]]:
    """Part the things into those behind the couple and those before it, the nearest last."""
    before = [hides_couple(stage, thing) for thing in things]
    return tuple(tuple(thing for thing, nearer in zip(things, before, strict=True) if nearer is side) for side in (False, True))


def _bands(setup: Setup, stage: Stage, things: Sequence[Thing], mirror_m: float | None = None) -> tuple[Band, ...]:
    drawn = ((thing, _cut(setup, thing_outline(setup.view, stage, thing, mirror_m, soft=True))) for thing in things)
    told = [
        ((_tone(thing), _texture(thing)), outline_path(shapes), round(1 - FOLIAGE_GLOW * thing.lets_through, 2))
        for thing, shapes in drawn
        if shapes
    ]
    return tuple(Band(*looks, tuple(one[1:] for one in some)) for looks, some in groupby(told, key=lambda one: one[0]))


def _texture(thing: Thing) -> str:
    """Return the name of what is drawn over a thing: leaves, or the slats of a canopy that light comes through."""
    grain = next(grain for far_m, grain in GRAINS if thing.far_m >= far_m)
    kind = LEAVES if thing.kind == "trees" else SLATS if thing.kind == "canopy" and thing.lets_through else ""
    return f"{kind}-{grain * 10:.0f}" if kind and grain else ""


def _textures(*bands: Sequence[Band]) -> tuple[tuple[str, str, float], ...]:
    """Return name, kind and scale of every texture that some bands use."""
    names = sorted({band.texture for some in bands for band in some if band.texture})
    return tuple((name, name.partition("-")[0], int(name.partition("-")[2]) / 10) for name in names)


def _tone(thing: Thing) -> float:
    tone = next(tone for far_m, tone in TONES if thing.far_m >= far_m)
    return round(tone * FOLIAGE, 3) if thing.kind in ("trees", "canopy") else tone


def _pool(
    setup: Setup, mirror: Mirror, skyline: Skyline, behind: Sequence[Thing], before: Sequence[Thing]
) -> PoolShapes:
    stage, level_m = mirror.stage, mirror.water.surface_m
    return PoolShapes(
        outline=outline_path(_cut(setup, pool_outline(setup.view, stage, mirror.pool))),
        lines=water_lines(setup),
        land=_mirrored_land(setup, skyline),
        behind=_bands(setup, stage, behind, level_m),
        people=outline_path(_cut(setup, people_outlines(setup.view, stage, setup.figures, level_m))),
        bank=_bank(setup, mirror, faces=True, mirrored=True),
        before=_bands(setup, stage, before, level_m),
    )


def _bank(setup: Setup, mirror: Mirror, faces: bool, mirrored: bool = False) -> str:
    return outline_path(_cut(setup, bank_outline(setup.view, mirror.stage, mirror.pool, mirrored, faces)))


def _decks(setup: Setup, mirror: Mirror) -> str:
    decks = (thing_outline(setup.view, mirror.stage, deck) for deck in mirror.pool.decks)
    return "".join(outline_path(_cut(setup, shapes)) for shapes in decks)


def _cut(setup: Setup, shapes: Shapes) -> Shapes:
    """Return shapes without what lies well outside the frame."""
    camera = setup.camera
    cut = (framed(shape, camera.width_mm + 2 * BEYOND_MM, camera.height_mm + 2 * BEYOND_MM) for shape in shapes)
    return tuple(shape for shape in cut if len(shape) > 2)


def _land(setup: Setup, skyline: Skyline) -> str:
    azimuth = _bends(setup, skyline)
    altitude = skyline.altitude_at(azimuth)
    return "" if np.all(altitude <= 0) else _down_to(setup, azimuth, altitude, _foot(setup))


def _ground(setup: Setup, skyline: Skyline) -> str:
    """Return what lies below the level horizon, or below a skyline that is lower."""
    azimuth, level = _bends(setup, skyline), -setup.view.horizon_y_mm
    if level >= _foot(setup):
        return ""
    return _down_to(setup, azimuth, np.minimum(skyline.altitude_at(azimuth), 0.0), _foot(setup))


def _mirrored_land(setup: Setup, skyline: Skyline) -> str:
    azimuth = _bends(setup, skyline)
    altitude = np.maximum(skyline.altitude_at(azimuth), 0.0)
    return "" if np.all(altitude <= 0) else _down_to(setup, azimuth, -altitude, -setup.view.horizon_y_mm)


def _down_to(setup: Setup, azimuth_deg: FloatArray, altitude_deg: FloatArray, y_mm: float) -> str:
    """Return the shape between a line in the sky and a level line on the sensor, y down."""
    x, y = setup.view.of_direction(azimuth_deg, altitude_deg)
    shown = ~np.isnan(x)
    return f"{path_through(x[shown], -y[shown])}V{figure(y_mm)}H{figure(x[shown][0])}Z"


def _foot(setup: Setup) -> float:
    return setup.camera.height_mm / 2 + BEYOND_MM


def _bends(setup: Setup, skyline: Skyline) -> FloatArray:
    """Return azimuths across the view, every degree and at each of the skyline's nodes."""
    middle_deg, reach_deg = setup.view.bearing_deg, min(80.0, setup.camera.diagonal_deg / 2 + 6)
    nodes = (skyline.azimuth_deg - middle_deg + 180.0) % 360.0 - 180.0
    steps = np.arange(-reach_deg, reach_deg + 1.0)
    return middle_deg + np.unique(np.concatenate([steps, nodes[np.abs(nodes) < reach_deg]]))


def _in_sight(seen: Sight, width_mm: float, height_mm: float) -> tuple[FloatArray, FloatArray]:
    """Return the sun's way across the frame, a little beyond its edges."""
    near = (np.abs(seen.x_mm) < width_mm) & (np.abs(seen.y_mm) < height_mm)
    return seen.x_mm[near], -seen.y_mm[near]
