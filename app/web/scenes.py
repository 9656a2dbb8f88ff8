"""Setups of a site file, and the scene each one is: shared by pages and the command line."""

from functools import lru_cache

from app.errors import BadInput, NotFound
from app.light.kit import DEMO_KIT, Kit
from app.looks.catalogue import LOOKS
from app.looks.light_plan import light_plan
from app.looks.look import WantedLook, wanted_look
from app.looks.margin import Scene
from app.looks.scene_light import SceneLight
from app.outside.turbidity import monthly_turbidity
from app.picture.setup import Setup, setup_from
from app.picture.weather import Weather
from app.place.site import Pin, Site
from app.place.skyline import Skyline, ground_skyline, skyline_for
from app.place.terrain import Terrain
from app.place.terrain_eye import standing_at
from app.place.terrain_skyline import TerrainView, terrain_view
from app.sky.track import Observer

FACE_M = 1.6  # where light on the couple counts: their faces


def find_setup(site: Site, wanted: str) -> Setup:
    """Return the setup with this id or name."""
    for feature in site.setups:
        if wanted in (feature.id, feature.name):
            return setup_from(feature)
    known = ", ".join(f"“{feature.name}” ({feature.id})" for feature in site.setups) or "none yet"
    raise NotFound(f"The site “{site.name}” has no setup “{wanted[:60]}”; it has: {known}.")


def scene_of(
    site: Site, setup: Setup, terrain: Terrain | None = None, weather: Weather = Weather(), kit: Kit = DEMO_KIT
) -> Scene:
    """Return all that a look may ask about a setup."""
    observer = Observer(setup.camera_pin.lat_deg, setup.camera_pin.lon_deg, site.centre.height_m)
    ridges = ridges_from(terrain, site, setup.camera_pin, setup.lens_height_m)
    return Scene(
        observer,
        setup,
        skyline_for(site, setup.camera_pin, setup.lens_height_m, ridges),
        skyline_for(site, setup.couple_pin, FACE_M, ridges_from(terrain, site, setup.couple_pin, FACE_M)),
        site=site,
        weather=weather,
        ground=ground_skyline(site, setup.camera_pin, setup.lens_height_m, ridges),
        light=light_over(setup, kit, site.observed_stops),
    )


def light_over(setup: Setup, kit: Kit, observed_stops: float = 0.0) -> SceneLight | None:
    """Return the light of a setup under a clear sky, by what a meter found there; None where what it says cannot be used, which its own page tells."""
    try:
        haze = monthly_turbidity(setup.camera_pin.lat_deg, setup.camera_pin.lon_deg)
        return SceneLight(light_plan(setup, kit), haze, correction_stops=observed_stops)
    except BadInput:
        return None


def ridges_from(terrain: Terrain | None, site: Site, pin: Pin, eye_height_m: float) -> Skyline | None:
    """Return the skyline that terrain makes for an eye over a pin, None where no terrain is known.

    Where the terrain does not reach the pin it is no better than none.
    """
    if terrain is None:
        return None
    view = ridges_seen(terrain, pin.lat_deg, pin.lon_deg, standing_at(terrain, site, pin).used_m + eye_height_m)
    return view.skyline if view.reach_m.any() else None


@lru_cache(maxsize=256)
def ridges_seen(terrain: Terrain, lat_deg: float, lon_deg: float, eye_m_above_sea: float) -> TerrainView:
    """Return ``terrain_view``; the same question again costs nothing."""
    return terrain_view(terrain, lat_deg, lon_deg, eye_m_above_sea)


def looks_of(setup: Setup) -> tuple[WantedLook, ...]:
    """Return the looks a setup asks for."""
    return tuple(wanted_look(LOOKS, typed) for typed in setup.looks)
