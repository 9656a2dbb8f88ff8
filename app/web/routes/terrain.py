"""The terrain of a site: elevation files loaded, tiles fetched, and what each camera sees of it."""

from dataclasses import dataclass
from typing import Annotated, ClassVar

from fastapi import APIRouter, Depends, Request, Response
from fastapi.responses import RedirectResponse
from starlette.concurrency import run_in_threadpool

from app.errors import BadInput
from app.outside.elevation import terrain_of_file, tile_name
from app.outside.elevation_tiles import TileService, fetch_elevation
from app.place.site import Centre
from app.place.terrain import Terrain, extent_words, joined
from app.place.terrain_file import terrain_bytes
from app.storage.records import StoredTerrain
from app.storage.store import Store
from app.web.drawing.terrain import Profile, draw_profile
from app.web.errands import Errand, Report, RunningErrands
from app.web.forms import Form, counted, read_form
from app.web.render import render
from app.web.shelf import KeptSite, Shelf, Sites
from app.web.terrains import TerrainSeen, seen_from_camera
from app.web.troubles import status_of

router = APIRouter()
SETTING = "elevation_tiles"
MOST_FILES = 16


@dataclass(frozen=True)
class SeenSetup:
    """A setup with the terrain's skyline from its lens."""

    seen: TerrainSeen
    profile: Profile


@dataclass(frozen=True)
class TerrainPage:
    """All that terrain.html may use; ``damage`` says why what is kept cannot be read."""

    template: ClassVar[str] = "terrain.html"
    kept: KeptSite
    stored: StoredTerrain | None
    terrain: Terrain | None
    damage: str
    setups: tuple[SeenSetup, ...]
    service: TileService | None
    errand: Errand | None
    form: Form

    @property
    def extent(self) -> str:
        """The box that is known, in words."""
        return extent_words(self.terrain.grids) if self.terrain else ""

    @property
    def steps_m(self) -> tuple[float, ...]:
        """The distances between heights, the smallest first. [m]"""
        return tuple(sorted({round(grid.post_m) for grid in self.terrain.grids})) if self.terrain else ()

    @property
    def file_needed(self) -> str:
        """How the .hgt file of this site is called."""
        return tile_name(self.kept.site.centre.lat_deg, self.kept.site.centre.lon_deg)


async def sent_terrain(request: Request, site: str, sites: Sites) -> Terrain | BadInput:
    """Return the terrain made of the files sent as “files”, or what is wrong with them."""
    centre = (await run_in_threadpool(sites.site, site)).site.centre
    async with request.form() as form:
        sent = [one for one in form.getlist("files") if not isinstance(one, str) and one.filename]
        if not 0 < len(sent) <= MOST_FILES:
            return BadInput(f"Choose one to {MOST_FILES} elevation files; {len(sent)} came.")
        try:
            parts = [
                await run_in_threadpool(terrain_of_file, one.filename or "", await one.read(), centre.lat_deg, centre.lon_deg)
                for one in sent
            ]  # each is cut to what the site needs before the next is read
        except BadInput as error:
            return error
    return joined(parts)


@router.get("/sites/{site}/terrain", name="terrain")
def show_terrain(request: Request, site: str, sites: Sites, errands: RunningErrands) -> Response:
    """What is kept, what each camera sees of it, and the ways to get it."""
    return render(request, _page(sites, site, errands.of(site), Form({})))


@router.post("/sites/{site}/terrain")
def load_terrain(
    request: Request,
    site: str,
    form: Annotated[Form, Depends(read_form)],
    sent: Annotated[Terrain | BadInput, Depends(sent_terrain)],
    sites: Sites,
    errands: RunningErrands,
) -> Response:
    """Keep the files' terrain in place of what was kept."""
    if isinstance(sent, BadInput):
        form.errors["files"] = f"{sent} Nothing was changed."
        return render(request, _page(sites, site, errands.of(site), form), status_of(sent))
    stored = sites.store.terrain(site)
    sites.store.save_terrain(site, terrain_bytes(sent), sent.source, form.text("owner"), stored.version if stored else 0)
    errands.forget(site)
    return _back(request, site)


@router.post("/sites/{site}/terrain/removal", name="remove_terrain")
def remove_terrain(
    request: Request, site: str, form: Annotated[Form, Depends(read_form)], sites: Sites, errands: RunningErrands
) -> Response:
    """Forget the terrain that the page showed."""
    shown = form.text("version")
    sites.store.delete_terrain(site, counted(shown) or 0)
    errands.forget(site)
    return _back(request, site)


@router.post("/sites/{site}/terrain/service", name="set_terrain_service")
def set_terrain_service(
    request: Request, site: str, form: Annotated[Form, Depends(read_form)], sites: Sites, errands: RunningErrands
) -> Response:
    """Keep the address of the tiles for all sites; an empty one switches the service off."""
    try:
        wanted = TileService(form.text("address"), form.text("attribution")) if form.text("address") else None
    except BadInput as error:
        form.blame(error, "address")
        return render(request, _page(sites, site, errands.of(site), form), 422)
    sites.store.save_setting(SETTING, {"address": wanted.address, "attribution": wanted.attribution} if wanted else None)
    return _back(request, site, "fetching")


@router.post("/sites/{site}/terrain/fetch", name="fetch_terrain")
def fetch_terrain(request: Request, site: str, sites: Sites, errands: RunningErrands) -> Response:
    """Begin to fetch the tiles around the site; the work goes on when the page is left."""
    service, centre, stored = _service(sites.store), sites.site(site).site.centre, sites.store.terrain(site)
    if service is None:
        form = Form({}, {"address": "Set the address of a service first; none is built in."})
        return render(request, _page(sites, site, errands.of(site), form), 422)
    version = stored.version if stored else 0
    errands.start(site, lambda report: _fetch_and_keep(sites.store, site, service, centre, version, report))
    return _back(request, site, "fetching")


def _fetch_and_keep(
    store: Store, site: str, service: TileService, centre: Centre, version: int, report: Report
) -> str:
    came = fetch_elevation(service, centre.lat_deg, centre.lon_deg, report)
    store.save_terrain(site, terrain_bytes(came.terrain), came.terrain.source, service.attribution, version)
    return came.words


def _page(sites: Shelf, slug: str, errand: Errand | None, form: Form) -> TerrainPage:
    kept, stored = sites.site(slug), sites.store.terrain(slug)
    seen = [seen_from_camera(kept.terrain, kept.site, setup) for setup in kept.setups()] if kept.terrain else []
    setups = tuple(SeenSetup(one, draw_profile(one)) for one in seen)
    return TerrainPage(kept, stored, kept.terrain, kept.terrain_trouble, setups, _service(sites.store), errand, form)


def _service(store: Store) -> TileService | None:
    kept = store.setting(SETTING)
    return TileService(kept["address"], kept["attribution"]) if kept else None


def _back(request: Request, site: str, part: str = "kept") -> Response:
    return RedirectResponse(f"{request.url_for('terrain', site=site).path}#{part}", 303)
