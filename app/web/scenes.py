"""Setups of a site file, and the scene each one is: shared by pages and the command line."""

from app.errors import NotFound
from app.looks.catalogue import LOOKS
from app.looks.look import WantedLook, wanted_look
from app.looks.margin import Scene
from app.picture.setup import Setup, setup_from
from app.place.site import Site
from app.place.skyline import ground_skyline, skyline_for
from app.sky.track import Observer

FACE_M = 1.6  # where light on the couple counts: their faces


def find_setup(site: Site, wanted: str) -> Setup:
    """Return the setup with this id or name."""
    for feature in site.setups:
        if wanted in (feature.id, feature.name):
            return setup_from(feature)
    known = ", ".join(f"“{feature.name}” ({feature.id})" for feature in site.setups) or "none yet"
    raise NotFound(f"The site “{site.name}” has no setup “{wanted[:60]}”; it has: {known}.")


def scene_of(site: Site, setup: Setup) -> Scene:
    """Return all that a look may ask about a setup."""
    observer = Observer(setup.camera_pin.lat_deg, setup.camera_pin.lon_deg, site.centre.height_m)
    return Scene(
        observer,
        setup,
        skyline_for(site, setup.camera_pin, setup.lens_height_m),
        skyline_for(site, setup.couple_pin, FACE_M),
        site=site,
        ground=ground_skyline(site, setup.camera_pin, setup.lens_height_m),
    )


def looks_of(setup: Setup) -> tuple[WantedLook, ...]:
    """Return the looks a setup asks for."""
    return tuple(wanted_look(LOOKS, typed) for typed in setup.looks)
