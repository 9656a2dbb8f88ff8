"""The field page, what a phone keeps of it, and the log of the day."""

import gzip
from dataclasses import replace
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request, Response
from fastapi.responses import FileResponse, JSONResponse, RedirectResponse

from app.errors import BadInput, NotFound
from app.place.sitefile import parse_site
from app.place.strict_json import read_json
from app.shoot.log import observed_pace
from app.web.conflicts import Posted, is_stale
from app.web.field_log import answer_of, found_stops, keep_entries, log_page, read_entries
from app.web.fields import as_happened, field_page, plan_sign
from app.web.forms import counted
from app.web.kept_files import KEPT, kept_path, version
from app.web.mornings import Mornings
from app.web.moves import check_version
from app.web.now import Now
from app.web.render import TEMPLATES, render
from app.web.routes.shoots import CHANGED
from app.web.shelf import Sites
from app.web.shoots import Shoots

router = APIRouter()
MOST_BYTES = 2_000_000
FOREVER = {"cache-control": "public, max-age=31536000, immutable"}
ALWAYS_ASK = {"cache-control": "no-cache"}


async def read_sent(request: Request) -> Any:
    """Return the JSON that a script sent; ``BadInput`` for none."""
    return read_json(await request.body(), MOST_BYTES)


@router.get("/shoots/{shoot}/field", name="field")
def show_field(request: Request, shoot: str, shelf: Shoots, desk: Mornings, now: Now) -> Response:
    """What now, and what next: made for a phone in the sun, kept by it for places without signal."""
    return _packed(request, render(request, field_page(shelf.shoot(shoot), desk, shelf.store.shoots.log(shoot), now, version())))


@router.get("/shoots/{shoot}/field.webmanifest", name="field_manifest")
def show_manifest(request: Request, shoot: str, shelf: Shoots) -> Response:
    """What a phone asks before it puts the field page among its apps."""
    kept, start = shelf.store.shoots.read(shoot), request.url_for("field", shoot=shoot).path
    icon = {"src": request.url_for("kept_file", edition=version(), name="mark.svg").path, "sizes": "any", "type": "image/svg+xml", "purpose": "any"}
    told = {
        "id": start, "name": f"Field page, {kept.name}", "short_name": kept.name[:24], "start_url": start, "scope": start,
        "display": "standalone", "background_color": "#f7f5f0", "theme_color": "#f7f5f0", "icons": [icon],
    }  # fmt: skip
    return JSONResponse(told, media_type="application/manifest+json", headers=ALWAYS_ASK)


@router.get("/sw.js", name="service_worker")
def show_worker(request: Request) -> Response:
    """The service worker; another one as soon as any file it keeps changes."""
    files = [request.url_for("kept_file", edition=version(), name=name).path for name in KEPT]
    body = TEMPLATES.get_template("sw.js").render(version=version(), files=files)
    return Response(body, media_type="text/javascript", headers=ALWAYS_ASK)


@router.get("/kept/{edition}/{name:path}", name="kept_file")
def show_kept(edition: str, name: str) -> Response:
    """A file of the field page, of this version and no other."""
    if edition != version():
        raise NotFound("The field page has other files by now. Open it again while there is signal.")
    return FileResponse(kept_path(name), headers=FOREVER)


@router.post("/shoots/{shoot}/log", name="add_log")
def add_log(shoot: str, sent: Annotated[Any, Depends(read_sent)], shelf: Shoots, now: Now) -> dict[str, Any]:
    """Keep what a device tells of the day, once, and answer with the whole log and the clock."""
    shelf.store.shoots.read(shoot)
    entries, bad = read_entries(sent, now)
    refused = (*bad, *keep_entries(shelf, shoot, entries))
    return answer_of(shelf.store, shoot, entries, refused, now) | {"plan": plan_sign(shelf.shoot(shoot))}


@router.get("/shoots/{shoot}/log", name="shoot_log")
def show_log(request: Request, shoot: str, shelf: Shoots) -> Response:
    """What really happened, against the plan."""
    return render(request, log_page(shelf.shoot(shoot), shelf.store.shoots.log(shoot)))


@router.post("/shoots/{shoot}/log/pace", name="take_pace")
def take_pace(request: Request, shoot: str, form: Posted, shelf: Shoots) -> Response:
    """Plan this shoot's walks by the pace that its log tells of."""
    opened, entries = shelf.shoot(shoot), shelf.store.shoots.log(shoot)
    if is_stale(form, opened.version):
        return render(request, log_page(opened, entries, CHANGED), 409)
    pace = observed_pace(opened.order, tuple(map(as_happened, entries)))
    if pace is None:
        raise BadInput("The log tells of no walk from one slot to the next yet, so there is no pace to take.")
    shelf.save(opened, opened.version, whole=replace(opened.whole, pace_m_s=pace.m_s))
    return _back(request, shoot)


@router.post("/shoots/{shoot}/log/{site}/brighter", name="take_brighter")
def take_brighter(request: Request, shoot: str, site: str, form: Posted, shelf: Shoots, sites: Sites) -> Response:
    """Reckon the light at a site by what the meter read there."""
    opened, kept = shelf.shoot(shoot), sites.site(site)
    came = form.text("version")
    check_version({"version": counted(came)}, kept.version, kept.site.name)
    found, _ = found_stops(opened, map(as_happened, shelf.store.shoots.log(shoot)), site)
    if found is None:
        raise BadInput(f"The log holds no meter reading from {kept.site.name}, so there is no correction to take.")
    sites.store.save_site(site, parse_site({**kept.site.document, "observed_stops": round(found, 3)}).document, kept.version)
    return _back(request, shoot)


def _packed(request: Request, answer: Response) -> Response:
    """Return an answer gzipped where the browser takes that: frames are words, and a weak signal has to bring them.

    Only for a page that shows nothing out of its own address, so that nobody can guess at it by its size.
    """
    if "gzip" in request.headers.get("accept-encoding", ""):
        answer.body = gzip.compress(answer.body, 6)
        answer.headers["content-encoding"], answer.headers["content-length"] = "gzip", str(len(answer.body))
    answer.headers["vary"] = "accept-encoding"
    return answer


def _back(request: Request, shoot: str) -> RedirectResponse:
    return RedirectResponse(request.url_for("shoot_log", shoot=shoot).path, 303)
