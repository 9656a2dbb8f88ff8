"""What routes fetch from: the store's site files, read into the core's types."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime
from functools import lru_cache
from typing import Annotated

from fastapi import Depends, Request

from app.errors import BadInput
from app.light.kit import DEMO_KIT, Kit
from app.looks.margin import Scene
from app.picture.setup import Setup, setup_from
from app.picture.weather import Weather
from app.place.outline_match import credits_of
from app.place.site import Site
from app.place.sitefile import parse_site
from app.place.standing_notes import StandingNote, standing_notes
from app.place.terrain import Terrain
from app.place.timezone import civil_day
from app.storage.store import Store
from app.web.kits import usable_kit
from app.web.scenes import find_setup, scene_of
from app.web.terrains import kept_terrain


@dataclass(frozen=True)
class KeptSite:
    """A site with the address and version it is kept under, and the terrain around it if any.

    ``terrain_trouble`` says why kept terrain cannot be used; then there is none. ``kit`` is what
    settings and flash are reckoned with.
    """

    slug: str
    version: int
    site: Site
    terrain: Terrain | None = None
    terrain_trouble: str = ""
    kit: Kit = DEMO_KIT

    def setups(self) -> tuple[Setup, ...]:
        """Return its setups, in the order of the site file."""
        return tuple(setup_from(feature) for feature in self.site.setups)

    def setup(self, setup_id: str) -> Setup:
        """Return one setup; ``NotFound`` lists those there are."""
        return find_setup(self.site, setup_id)

    def scene(self, setup: Setup, weather: Weather = Weather()) -> Scene:
        """Return all that a look may ask about a setup of this site, terrain included."""
        return scene_of(self.site, setup, self.terrain, weather, self.kit)

    def standing_notes(self, setup: Setup) -> tuple[StandingNote, ...]:
        """Return what to know about where a setup's camera and couple stand: in a building, in water, at a wet edge."""
        return standing_notes(self.site, setup.camera_pin, setup.couple_pin, setup.lens_height_m)

    @property
    def credits(self) -> tuple[str, ...]:
        """Whose outlines stand on its plan, as their owners ask to be named."""
        return credits_of(self.site)

    def civil_day(self, day: date) -> tuple[float, float]:
        """Return a date's start and end at the site, seconds since 1970 UTC."""
        return civil_day(self.site.time_zone, day)


class Shelf:
    """The sites as the routes want them."""

    def __init__(self, store: Store) -> None:
        self.store = store

    def site(self, slug: str) -> KeptSite:
        """Return one site, read; a site file is parsed once for each time it was kept."""
        stored = self.store.site(slug)
        site = _parsed(self.store, slug, stored.version, stored.updated_utc)
        try:
            kept = KeptSite(slug, stored.version, site, kept_terrain(self.store, slug))
        except BadInput as damage:
            kept = KeptSite(slug, stored.version, site, terrain_trouble=str(damage))
        return replace(kept, kit=usable_kit(self.store))

    def chosen(self, slug: str, setup_id: str) -> frozenset[int]:
        """Return the ringed instants of a setup, whole seconds since 1970 UTC."""
        return frozenset(round(at.timestamp()) for at in self.store.chosen_frames(slug, setup_id))

    def sites(self) -> Iterator[KeptSite]:
        """Yield every site in the order of names."""
        return (self.site(summary.slug) for summary in self.store.sites())


@lru_cache(maxsize=64)
def _parsed(store: Store, slug: str, version: int, updated_utc: datetime) -> Site:
    """Versions start again when a deleted site's address is taken by a new one; times do not."""
    return parse_site(store.site(slug).document)


def _shelf(request: Request) -> Shelf:
    return Shelf(request.app.state.store)


Sites = Annotated[Shelf, Depends(_shelf)]
