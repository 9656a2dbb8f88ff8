"""What a site's plan is drawn on: a metric grid, a picture of one's own, or map tiles."""

from dataclasses import dataclass
from typing import Annotated, ClassVar

from fastapi import APIRouter, Depends, Request, Response
from fastapi.responses import RedirectResponse

from app.storage.pictures import LARGEST_BYTES, clean_picture
from app.storage.records import Ground
from app.web.conflicts import Posted, checked, conflict, is_stale
from app.web.drawing.plan_picture import LaidPicture
from app.web.forms import Form
from app.web.render import render
from app.web.routes.sites import picture_of
from app.web.shelf import KeptSite, Shelf, Sites
from app.web.typed_ground import ground_typed, read_ground, tile_source

router = APIRouter()


@dataclass(frozen=True)
class GroundPage:
    """All that ground.html may use; ``laid`` is the picture once it is laid to scale."""

    template: ClassVar[str] = "ground.html"
    kept: KeptSite
    ground: Ground
    laid: LaidPicture | None
    form: Form


async def sent_picture(request: Request) -> bytes:
    """Return the picture sent as “picture”, no longer than is needed to see that it is too long."""
    async with request.form() as form:
        sent = form.get("picture")
        return await sent.read(LARGEST_BYTES + 1) if sent and not isinstance(sent, str) else b""


@router.get("/sites/{site}/ground", name="ground")
def show_ground(request: Request, site: str, sites: Sites) -> Response:
    """The three grounds, and the picture with its two points."""
    kept, ground = sites.site(site), sites.store.ground(site)
    return render(
        request, GroundPage(kept, ground, picture_of(request, sites, kept), Form(ground_typed(ground)))
    )


@router.post("/sites/{site}/ground")
def save_ground(
    request: Request, site: str, form: Posted, sent: Annotated[bytes, Depends(sent_picture)], sites: Sites
) -> Response:
    """Keep a ground; a new picture comes back to be laid by two points."""
    kept, before = sites.site(site), sites.store.ground(site)
    if is_stale(form, before.version):
        return conflict(request, kept, form, ground_typed(before), "ground", "ground", version=before.version)
    picture = checked(form, "picture", lambda: clean_picture(sent)) if sent else None
    ground = checked(
        form,
        "point_2" if form.text("kind") == "picture" else "kind",
        lambda: read_ground(form, before, picture),
    )
    if ground is None:
        page = GroundPage(kept, before, picture_of(request, sites, kept), form)
        return render(request, page, 413 if len(sent) > LARGEST_BYTES else 422)
    sites.store.save_ground(site, ground, before.version, picture)
    sites.store.save_setting("image_sources", _sources(sites))
    unlaid = ground.kind == "picture" and not ground.laying
    return RedirectResponse(request.url_for("ground" if unlaid else "site", site=site).path, 303)


@router.get("/sites/{site}/ground/picture", name="ground_picture")
def ground_picture(site: str, sites: Sites) -> Response:
    """The picture as it is kept: drawn anew, without its camera data."""
    data, media_type = sites.store.ground_picture(site)
    return Response(data, media_type=media_type, headers={"cache-control": "private, max-age=86400"})


def _sources(sites: Shelf) -> list[str]:
    """Return the hosts whose tiles any site shows, which the content policy then lets in."""
    grounds = (sites.store.ground(summary.slug) for summary in sites.store.sites())
    return sorted(
        {tile_source(ground.tiles_url) for ground in grounds if ground.kind == "tiles" and ground.tiles_url}
    )
