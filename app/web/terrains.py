"""The terrain kept for a site, unpacked once, and what a setup sees of it."""

from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache

from app.picture.setup import Setup
from app.place.site import Site
from app.place.terrain import Terrain
from app.place.terrain_eye import Standing, standing_at
from app.place.terrain_file import terrain_from_bytes
from app.place.terrain_skyline import TerrainView
from app.storage.store import Store
from app.web.scenes import ridges_seen


@dataclass(frozen=True, eq=False)
class TerrainSeen:
    """The terrain's skyline from a setup's lens, and the ground it was counted from."""

    setup: Setup
    standing: Standing
    view: TerrainView


def kept_terrain(store: Store, slug: str) -> Terrain | None:
    """Return a site's terrain, None while it has none; ``BadInput`` when what is kept is damaged."""
    stored = store.terrain(slug)
    return _unpacked(store, slug, stored.loaded_utc) if stored else None


def seen_from_camera(terrain: Terrain, site: Site, setup: Setup) -> TerrainSeen:
    """Return what a setup's lens sees of the terrain; the same question again costs nothing."""
    standing = standing_at(terrain, site, setup.camera_pin)
    pin, eye_m = setup.camera_pin, standing.used_m + setup.lens_height_m
    return TerrainSeen(setup, standing, ridges_seen(terrain, pin.lat_deg, pin.lon_deg, eye_m))


@lru_cache(maxsize=8)
def _unpacked(store: Store, slug: str, _loaded_utc: datetime) -> Terrain | None:
    data = store.terrain_data(slug)
    return terrain_from_bytes(data) if data else None
