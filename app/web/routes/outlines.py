"""Outlines of buildings, walls and woods for a site: loaded or fetched, looked through, put on the plan."""

from dataclasses import dataclass
from typing import Annotated, ClassVar

from fastapi import APIRouter, Depends, Request, Response
from fastapi.responses import RedirectResponse

from app.errors import BadInput
from app.outside.outline_files import read_outlines
from app.outside.outlines import OutlineService, fetch_outlines
from app.place.outline_match import credits_of
from app.place.outline_tags import LEVEL_M
from app.place.outlines import FARTHEST_M, MAX_BYTES, MOST_KEPT
from app.place.sitefile import parse_site
from app.storage.store import Store
from app.units import number
from app.web.conflicts import checked, conflict, is_stale
from app.web.drawing.outlines import OutlineSketch, sketch_of
from app.web.errands import Errand, Report, RunningErrands
from app.web.forms import Form, read_form
from app.web.outlines import (
    SERVICE_SETTING,
    Draft,
    Preview,
    draft_of,
    kept_draft,
    kept_service,
    numbers_in,
    numbers_words,
    preview_of,
    save_draft,
    with_chosen,
)
from app.web.render import render
from app.web.shelf import KeptSite, Shelf, Sites
from app.web.troubles import status_of

router = APIRouter()
WITHIN_M = 300.0
NEAREST_M = 10.0
LONGEST_OWNER = 200
OTHER_LIST = "Other outlines were loaded since this list was opened. Look through this one, and tick again."


@dataclass(frozen=True)
class OutlinesPage:
    """All that outlines.html may use; ``sketch`` shows where the waiting outlines lie."""

    template: ClassVar[str] = "outlines.html"
    kept: KeptSite
    preview: Preview | None
    sketch: OutlineSketch | None
    credits: tuple[str, ...]
    service: OutlineService | None
    errand: Errand | None
    form: Form
    usual_m: float = WITHIN_M
    farthest_m: float = FARTHEST_M
    most: int = MOST_KEPT
    most_mb: float = MAX_BYTES / 1e6
    level_m: float = LEVEL_M


@dataclass(frozen=True)
class SentFile:
    """A file that was sent."""

    name: str
    data: bytes


async def sent_outlines(request: Request) -> SentFile | None:
    """Return the file sent as “file”, no longer than is needed to see that it is too long; None without one."""
    async with request.form() as form:
        sent = form.get("file")
        if not sent or isinstance(sent, str) or not sent.filename:
            return None
        return SentFile(sent.filename, await sent.read(MAX_BYTES + 1))


async def ticked(request: Request) -> Form:
    """Return a form whose “outlines” comes once for each outline, thousands perhaps, as numbers in one text."""
    async with request.form(max_fields=MOST_KEPT + 100) as form:
        texts = {name: value for name, value in form.multi_items() if isinstance(value, str)}
        took = [value for value in form.getlist("outlines") if isinstance(value, str)]
    return Form({**texts, "outlines": numbers_words(numbers_in(took))})


@router.get("/sites/{site}/outlines", name="outlines")
def show_outlines(request: Request, site: str, sites: Sites, errands: RunningErrands) -> Response:
    """The outlines that wait to be looked through, and the ways to get some."""
    return render(request, _page(sites, site, errands.of(_errand(site)), Form({})))


@router.post("/sites/{site}/outlines")
def load_outlines(
    request: Request,
    site: str,
    form: Annotated[Form, Depends(read_form)],
    sent: Annotated[SentFile | None, Depends(sent_outlines)],
    sites: Sites,
    errands: RunningErrands,
) -> Response:
    """Read a file of outlines and show what is in it; nothing is put on the plan yet."""
    kept = sites.site(site)
    within_m = form.read("within_m", _within_m)
    if sent is None:
        form.errors["file"] = "Choose a file of outlines first: GeoJSON, Overpass JSON or an .osm export."
    if sent is None or within_m is None:
        return render(request, _page(sites, site, errands.of(_errand(site)), form), 422)
    try:
        origin, owner = f"the file “{sent.name[:80]}”", form.text("owner")[:LONGEST_OWNER]
        draft = draft_of(kept, read_outlines(sent.data), within_m, origin, owner)
    except BadInput as error:
        form.errors["file"] = f"{error} Nothing was changed."
        return render(request, _page(sites, site, errands.of(_errand(site)), form), status_of(error))
    save_draft(sites.store, kept, draft)
    errands.forget(_errand(site))
    return _back(request, site, "waiting")


@router.post("/sites/{site}/outlines/service", name="set_outline_service")
def set_outline_service(
    request: Request, site: str, form: Annotated[Form, Depends(read_form)], sites: Sites, errands: RunningErrands
) -> Response:
    """Keep the address of an Overpass service for all sites; an empty one switches it off."""
    address = form.text("address")
    if address and checked(form, "address", lambda: OutlineService(address)) is None:
        return render(request, _page(sites, site, errands.of(_errand(site)), form), 422)
    sites.store.save_setting(SERVICE_SETTING, address or None)
    return _back(request, site, "fetching")


@router.post("/sites/{site}/outlines/fetch", name="fetch_site_outlines")
def fetch_site_outlines(
    request: Request, site: str, form: Annotated[Form, Depends(read_form)], sites: Sites, errands: RunningErrands
) -> Response:
    """Begin to fetch outlines around the site; the work goes on when the page is left."""
    kept, service = sites.site(site), kept_service(sites.store)
    within_m = form.read("fetch_within_m", _within_m)
    if service is None:
        form.errors["address"] = "Set the address of a service first; none is built in."
    if service is None or within_m is None:
        return render(request, _page(sites, site, errands.of(_errand(site)), form), 422)
    errands.start(_errand(site), lambda report: _fetch_and_keep(sites.store, kept, service, within_m, report))
    return _back(request, site, "fetching")


@router.post("/sites/{site}/outlines/additions", name="add_outlines")
def add_outlines(
    request: Request, site: str, form: Annotated[Form, Depends(ticked)], sites: Sites, errands: RunningErrands
) -> Response:
    """Put the ticked outlines on the plan."""
    kept = sites.site(site)
    draft, chosen = kept_draft(sites.store, kept), numbers_in([form.text("outlines")])
    if draft is None or form.text("list") != draft.mark:
        form.errors["outlines"] = OTHER_LIST if draft else "No outlines wait to be put on the plan any more; load them again."
        return render(request, _page(sites, site, errands.of(_errand(site)), form), 409)
    if is_stale(form, kept.version):
        return conflict(request, kept, form, {"list": draft.mark}, "add_outlines", "outlines", way="Add these all the same")
    changed = checked(form, "outlines", lambda: parse_site(with_chosen(kept, draft, chosen)))
    if changed is None:
        return render(request, _page(sites, site, errands.of(_errand(site)), form, chosen), 422)
    sites.store.save_site(site, changed.document, kept.version)
    save_draft(sites.store, kept, None)
    errands.forget(_errand(site))
    return RedirectResponse(request.url_for("site", site=site).path, 303)


@router.post("/sites/{site}/outlines/removal", name="drop_outlines")
def drop_outlines(request: Request, site: str, sites: Sites, errands: RunningErrands) -> Response:
    """Forget the waiting outlines; what is on the plan stays."""
    save_draft(sites.store, sites.site(site), None)
    errands.forget(_errand(site))
    return _back(request, site, "loading")


def _fetch_and_keep(store: Store, kept: KeptSite, service: OutlineService, within_m: float, report: Report) -> str:
    report(0, 1)
    centre = kept.site.centre
    document = fetch_outlines(service, centre.lat_deg, centre.lon_deg, within_m)
    draft: Draft = draft_of(kept, document, within_m, service.host)
    save_draft(store, kept, draft)
    report(1, 1)
    return draft.notes[0]


def _page(
    sites: Shelf, slug: str, errand: Errand | None, form: Form, chosen: frozenset[int] | None = None
) -> OutlinesPage:
    kept = sites.site(slug)
    draft = kept_draft(sites.store, kept)
    preview = preview_of(kept, draft, chosen) if draft else None
    sketch = sketch_of(kept.site, preview.rows) if preview and preview.rows else None
    return OutlinesPage(kept, preview, sketch, credits_of(kept.site), kept_service(sites.store), errand, form)


def _within_m(text: str) -> float:
    return number(text, "The distance in metres", NEAREST_M, FARTHEST_M)


def _errand(site: str) -> str:
    return f"outlines of {site}"


def _back(request: Request, site: str, part: str) -> Response:
    return RedirectResponse(f"{request.url_for('outlines', site=site).path}#{part}", 303)
