"""Ground one can stand on: not in water, but for what is drawn over it to carry people."""

from collections.abc import Sequence

import numpy as np

from app.place.shade import Rays
from app.place.sides import BoolArray, Sides
from app.place.site import Site
from app.place.standing_notes import PLANK_M, sides_of_rings
from app.units import FloatArray


def dry(site: Site, east_m: FloatArray, north_m: FloatArray) -> BoolArray:
    """Tell which points of the site's frame lie on dry ground, or on a jetty or deck that is drawn over water.

    Drawn lines carry who stands within 1 m of them, as in ``standing_notes``.
    """
    frame, wet = site.local_frame, np.zeros(np.shape(east_m), dtype=bool)
    for water in site.waters:
        wet |= _inside(sides_of_rings(frame, (water.ring, *water.holes)), east_m, north_m)
    for feature in site.document.get("features", ()):
        geometry = feature.get("geometry") or {}
        if (feature.get("properties") or {}).get("role") == "drawing":
            wet &= ~_carries(site, geometry.get("type"), geometry.get("coordinates") or [], east_m, north_m)
    return ~wet


def _carries(site: Site, kind: str | None, coordinates: Sequence, east_m: FloatArray, north_m: FloatArray) -> BoolArray:
    if kind == "Polygon":
        return _inside(sides_of_rings(site.local_frame, coordinates), east_m, north_m)
    if kind == "LineString":
        return _near(sides_of_rings(site.local_frame, [coordinates]), east_m, north_m)
    return np.zeros(np.shape(east_m), dtype=bool)


def _inside(sides: Sides, east_m: FloatArray, north_m: FloatArray) -> BoolArray:
    """Tell which points lie inside rings, by the even-odd rule."""
    order = np.argsort(east_m)
    plan = Sides(sides.start_m[:2], sides.end_m[:2], sides.owner)
    _, point, _ = Rays(east_m[order], north_m[order], order, np.array([0.0, 1.0])).met(plan)
    return np.bincount(point, minlength=len(order)) % 2 == 1


def _near(sides: Sides, east_m: FloatArray, north_m: FloatArray) -> BoolArray:
    near = np.zeros(np.shape(east_m), dtype=bool)
    for start, end in zip(sides.start_m[:2].T, sides.end_m[:2].T, strict=True):
        along = end - start
        length = max(float(along @ along), 1e-12)
        share = np.clip(((east_m - start[0]) * along[0] + (north_m - start[1]) * along[1]) / length, 0.0, 1.0)
        near |= np.hypot(east_m - start[0] - share * along[0], north_m - start[1] - share * along[1]) <= PLANK_M
    return near
