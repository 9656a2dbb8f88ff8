"""Shade on the plan, as tones that lie under its ink."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from app.place.shade import LOWEST_DEG, shade_polygons
from app.place.sides import drawn
from app.place.site import Obstacle, Site
from app.web.drawing.plan_labels import Lettering
from app.web.drawing.plan_sheet import Sheet, path_of

if TYPE_CHECKING:
    from shapely import Geometry

SOLID_BELOW = 0.02  # what lets through less of the light casts a full shade; a leaf's thickness of tone, no source
FINEST = 0.3  # units; a bend of the edge smaller than this cannot be seen


@dataclass(frozen=True)
class Tone:
    """A printed tone of one kind: its name in the plan's sheet of styles, and where it lies, by the even-odd rule."""

    kind: str
    path: str


Toned = Callable[[Sheet, Lettering], tuple[Tone, ...]]
"""Lays tones on a sheet, and letters them where there is room."""


def shade_tones(
    site: Site, sun_azimuth_deg: float, sun_altitude_deg: float, sheet: Sheet, _: Lettering
) -> tuple[Tone, ...]:
    """Return the shade that falls on a sheet: a full one, and a lighter one under leaves where it is not full anyway.

    Each thing shades ground that is level with its own base. [°]
    """
    near = replace(site, obstacles=_reaching(site, sun_azimuth_deg, sun_altitude_deg, sheet))
    shades = shade_polygons(near, sun_azimuth_deg, sun_altitude_deg, ground_m=None)
    if not shades:
        return ()
    import shapely  # 0.1 s, so only when there is shade to draw

    extent = sheet.extent
    paper = shapely.box(extent.west_m, extent.south_m, extent.east_m, extent.north_m)
    full = shapely.union_all([one.area for one in shades if one.lets_through < SOLID_BELOW])
    leafy = shapely.union_all([one.area for one in shades if one.lets_through >= SOLID_BELOW])
    full = shapely.intersection(full, paper)
    leafy = shapely.difference(shapely.intersection(leafy, paper), full)
    tones = (Tone(kind, area_path(area, sheet)) for kind, area in (("shade", full), ("leaf-shade", leafy)))
    return tuple(tone for tone in tones if tone.path)


def area_path(area: "Geometry", sheet: Sheet, finest: float = FINEST) -> str:
    """Return the outline of an area in metres of the local frame, holes included; empty for no area.

    ``finest`` is the smallest bend that is kept, in units of the drawing.
    """
    import shapely

    parts = shapely.get_parts(shapely.simplify(area, finest / sheet.scale))
    rings = [ring for part in parts if part.geom_type == "Polygon" and not part.is_empty for ring in (part.exterior, *part.interiors)]
    return "".join(path_of(sheet.of_metres(*np.array(ring.coords)[:-1].T), True) for ring in rings)


def cells_area(east_m: np.ndarray, north_m: np.ndarray, side_m: float) -> "Geometry":
    """Return squares round some middles of an even grid as one area; those of a row that touch are one box. [m]"""
    import shapely

    row = np.rint(north_m / side_m).astype(int)
    order = np.lexsort((east_m, row))
    east, row, north = east_m[order], row[order], north_m[order]
    starts = np.append(True, (np.diff(row) != 0) | (np.diff(east) > 1.5 * side_m))
    first, last = np.flatnonzero(starts), np.append(np.flatnonzero(starts)[1:], len(east)) - 1
    half = side_m / 2
    return shapely.union_all(shapely.box(east[first] - half, north[first] - half, east[last] + half, north[first] + half), grid_size=1e-4)


def _reaching(site: Site, sun_azimuth_deg: float, sun_altitude_deg: float, sheet: Sheet) -> tuple[Obstacle, ...]:
    """Return what may shade the sheet, so that a whole village costs no work: by the box round each thing and its shadow."""
    if not site.obstacles or not sun_altitude_deg > 0.0:
        return ()
    things = drawn(site.obstacles)
    sides, count = things.sides_in(site.local_frame), len(site.obstacles)
    length_m = np.maximum(things.top_m, 0.0) + np.maximum(-things.base_m, 0.0)
    length_m = length_m / np.tan(np.radians(max(sun_altitude_deg, LOWEST_DEG)))
    away = -np.array([np.sin(np.radians(sun_azimuth_deg)), np.cos(np.radians(sun_azimuth_deg))])
    low, high = np.full((2, count), np.inf), np.full((2, count), -np.inf)
    for axis in (0, 1):
        for ends_m in (sides.start_m[axis], sides.end_m[axis]):
            np.minimum.at(low[axis], sides.owner, ends_m)
            np.maximum.at(high[axis], sides.owner, ends_m)
    low, high = (edge + beyond(away[:, np.newaxis] * length_m, 0.0) for edge, beyond in ((low, np.minimum), (high, np.maximum)))
    extent = sheet.extent
    meets = (low[0] < extent.east_m) & (high[0] > extent.west_m) & (low[1] < extent.north_m) & (high[1] > extent.south_m)
    return tuple(site.obstacles[which] for which in np.flatnonzero(meets))
