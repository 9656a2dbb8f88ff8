"""What routes fetch from: the store's site files, read into the core's types."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import Annotated

from fastapi import Depends, Request

from app.errors import NotFound
from app.looks.catalogue import LOOKS
from app.looks.look import WantedLook, wanted_look
from app.looks.margin import Scene
from app.picture.setup import Setup, setup_from
from app.place.site import Site
from app.place.sitefile import parse_site
from app.place.skyline import ground_skyline, skyline_for
from app.place.timezone import civil_day
from app.sky.track import Observer
from app.storage.store import Store

FACE_M = 1.6  # where light on the couple counts: their faces


@dataclass(frozen=True)
class KeptSite:
    """A site with the address and version it is kept under."""

    slug: str
    version: int
    site: Site

    def setups(self) -> tuple[Setup, ...]:
        """Return its setups, in the order of the site file."""
        return tuple(setup_from(feature) for feature in self.site.setups)

    def setup(self, setup_id: str) -> Setup:
        """Return one setup; ``NotFound`` lists those there are."""
        return find_setup(self.site, setup_id)

    def civil_day(self, day: date) -> tuple[float, float]:
        """Return a date's start and end at the site, seconds since 1970 UTC."""
        return civil_day(self.site.time_zone, day)


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


class Shelf:
    """The sites as the routes want them."""

    def __init__(self, store: Store) -> None:
        self.store = store

    def site(self, slug: str) -> KeptSite:
        """Return one site, read; a site file is parsed once for each version."""
        stored = self.store.site(slug)
        return KeptSite(slug, stored.version, _parsed(self.store, slug, stored.version))

    def chosen(self, slug: str, setup_id: str) -> frozenset[int]:
        """Return the ringed instants of a setup, whole seconds since 1970 UTC."""
        return frozenset(round(at.timestamp()) for at in self.store.chosen_frames(slug, setup_id))

    def sites(self) -> Iterator[KeptSite]:
        """Yield every site in the order of names."""
        return (self.site(summary.slug) for summary in self.store.sites())


@lru_cache(maxsize=64)
def _parsed(store: Store, slug: str, version: int) -> Site:
    return parse_site(store.site(slug).document)


def _shelf(request: Request) -> Shelf:
    return Shelf(request.app.state.store)


Sites = Annotated[Shelf, Depends(_shelf)]
