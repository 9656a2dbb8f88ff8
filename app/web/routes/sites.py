"""Sites: the page with the plan, and making, changing, loading, saving and deleting one."""

from dataclasses import dataclass, replace
from datetime import date
from typing import Annotated, ClassVar

from fastapi import APIRouter, Depends, Request, Response
from fastapi.responses import RedirectResponse

from app.picture.setup import Setup
from app.place.coordinates import format_coordinates, parse_coordinates
from app.place.edit import with_details
from app.place.site import Pin
from app.place.sitefile import MAX_BYTES, parse_site, write_site
from app.place.timezone import zone_name
from app.storage.records import Ground
from app.units import clock_time, number
from app.web.conflicts import DELETE, Posted, conflict, is_stale
from app.web.drawing.plan import MOST_SCALE, Plan
from app.web.drawing.plan_picture import LaidPicture, laid_picture
from app.web.drawing.plan_rows import SetupEntry, Thing, entries_on, things_on
from app.web.drawing.plan_shown import Shown, shown
from app.web.forms import Form, query_form
from app.web.now import Now, today_at
from app.web.render import render
from app.web.shelf import KeptSite, Shelf, Sites
from app.web.typed_site import changed_details, details_typed, new_site_document, typed_day

router = APIRouter()
GEOJSON = "application/geo+json"


@dataclass(frozen=True)
class SitePage:
    """All that site.html may use."""

    template: ClassVar[str] = "site.html"
    kept: KeptSite
    zone: str
    today: date
    shown: Shown
    entries: tuple[SetupEntry, ...]
    things: tuple[Thing, ...]
    ground: Ground
    caution: str | None
    form: Form


@dataclass(frozen=True)
class PlanFile:
    """All that plan_file.html may use: the drawing by itself."""

    template: ClassVar[str] = "plan_file.html"
    plan: Plan


@dataclass(frozen=True)
class NewSitePage:
    """All that site_new.html may use; ``found`` is the place as it was understood."""

    template: ClassVar[str] = "site_new.html"
    form: Form
    found: str | None = None


@dataclass(frozen=True)
class DetailsPage:
    """All that site_details.html may use."""

    template: ClassVar[str] = "site_details.html"
    kept: KeptSite
    form: Form


@router.get("/sites/new", name="new_site")
def new_site(request: Request) -> Response:
    """An empty form for a new site, and one to load a site file."""
    return render(request, NewSitePage(Form({})))


@router.post("/sites/new")
def look_up_place(request: Request, form: Posted) -> Response:
    """Show how a place was understood and which clocks it keeps, before anything is kept."""
    place = form.read("place", parse_coordinates)
    if place is None:
        return render(request, NewSitePage(form), 422)
    zone = form.text("time_zone") or zone_name(place.lat_deg, place.lon_deg)
    return render(
        request, NewSitePage(_retyped(form, time_zone=zone), format_coordinates(place.lat_deg, place.lon_deg))
    )


@router.post("/sites", name="create_site")
def create_site(request: Request, form: Posted, sites: Sites, now: Now) -> Response:
    """Keep a new site; with a bearing it gets a first setup along it."""
    document = new_site_document(form, now)
    if document is None:
        return render(request, NewSitePage(form), 422)
    stored = sites.store.add_site(document)
    kept = sites.site(stored.slug)
    if not kept.site.setups:
        return RedirectResponse(request.url_for("site", site=stored.slug).path, 303)
    day = typed_day(form, "date", today_at(kept.site.time_zone, now))
    sheet = request.url_for(
        "contact_sheet", site=stored.slug, setup=kept.site.setups[0].id, day=day.isoformat()
    )
    return RedirectResponse(sheet.path, 303)


async def sent_file(request: Request) -> tuple[str, bytes] | None:
    """Return the name and content of the file sent as “file”; None without one."""
    async with request.form() as form:
        sent = form.get("file")
        return (sent.filename or "", await sent.read()) if sent and not isinstance(sent, str) else None


@router.post("/sites/import", name="import_site")
def import_site(
    request: Request, sites: Sites, sent: Annotated[tuple[str, bytes] | None, Depends(sent_file)]
) -> Response:
    """Keep a site from a GeoJSON file."""
    name, content = sent or ("", b"")
    form = Form({"file": name})
    if not name:
        form.errors["file"] = "Choose a site file first: a GeoJSON FeatureCollection of at most 5 MB."
    site = form.read("file", lambda _: parse_site(content)) if name else None
    if site is None:
        return render(request, NewSitePage(form), 413 if len(content) > MAX_BYTES else 422)
    stored = sites.store.add_site(with_details(site.document, name=site.name))
    return RedirectResponse(request.url_for("site", site=stored.slug).path, 303)


@router.get("/sites/{site}", name="site")
def show_site(request: Request, site: str, sites: Sites, now: Now) -> Response:
    """The plan, the frames and the windows of a site on a date."""
    kept, form = sites.site(site), query_form(request)
    today = today_at(kept.site.time_zone, now)
    at = _asked(request, sites, kept, form, today)
    entries = entries_on(kept, at.day)
    page = SitePage(
        kept=kept,
        zone=kept.site.time_zone,
        today=today,
        shown=at,
        entries=entries,
        things=things_on(kept.site),
        ground=sites.store.ground(site),
        caution=next((entry.caution for entry in entries if entry.caution), None),
        form=form,
    )
    return render(request, page, 422 if form.errors else 200)


@router.get("/sites/{site}/plan.svg", name="plan_drawing")
def plan_drawing(request: Request, site: str, sites: Sites, now: Now) -> Response:
    """The drawing alone, at any scale, with pins where they are being moved to."""
    kept, form = sites.site(site), query_form(request)
    at = _asked(request, sites, kept, form, today_at(kept.site.time_zone, now))
    answer = render(request, PlanFile(at.desk))
    answer.headers["content-type"] = "image/svg+xml; charset=utf-8"
    return answer


@router.get("/sites/{site}/site.geojson", name="export_site")
def export_site(site: str, sites: Sites) -> Response:
    """The site file, as any mapping program opens it."""
    kept = sites.site(site)
    name = {"content-disposition": f'attachment; filename="{kept.slug}.geojson"'}
    return Response(write_site(kept.site), media_type=GEOJSON, headers=name)


@router.get("/sites/{site}/details", name="site_details")
def site_details(request: Request, site: str, sites: Sites) -> Response:
    """Name, clocks, height and notes of a site, to be changed; and the way to delete it."""
    kept = sites.site(site)
    return render(request, DetailsPage(kept, Form(details_typed(kept.site))))


@router.post("/sites/{site}/details")
def save_details(request: Request, site: str, form: Posted, sites: Sites) -> Response:
    """Keep changed details."""
    kept = sites.site(site)
    if is_stale(form, kept.version):
        return conflict(request, kept, form, details_typed(kept.site), "site_details", "site_details")
    document = changed_details(form, kept.site)
    if document is None:
        return render(request, DetailsPage(kept, form), 422)
    sites.store.save_site(site, document, kept.version)
    return RedirectResponse(request.url_for("site", site=site).path, 303)


@router.post("/sites/{site}/delete", name="delete_site")
def delete_site(request: Request, site: str, form: Posted, sites: Sites) -> Response:
    """Delete a site whose name has been typed once more."""
    kept = sites.site(site)
    typed = Form({**details_typed(kept.site), **form.typed})
    if is_stale(form, kept.version):
        return conflict(request, kept, form, {}, "delete_site", "site_details", way=DELETE)
    if " ".join(form.text("confirm").split()) != " ".join(kept.site.name.split()):
        typed.errors["confirm"] = (
            f"Type the site's name, “{kept.site.name}”, to delete it; “{form.text('confirm')}” came."
        )
        return render(request, DetailsPage(kept, typed), 422)
    sites.store.delete_site(site, kept.version)
    return RedirectResponse(request.url_for("home").path, 303)


# What the site's page shows


def _retyped(form: Form, **changed: str) -> Form:
    return Form({**form.typed, **changed})


def _asked(request: Request, sites: Shelf, kept: KeptSite, form: Form, today: date) -> Shown:
    """Return what the address's query asks for; what cannot be used is told by its field."""
    day = typed_day(form, "date", today)
    wanted = form.read("time", clock_time) if form.text("time") else None
    scale = (
        form.read("scale", lambda text: number(text, "The scale", 0, MOST_SCALE))
        if form.text("scale")
        else None
    )
    setup = _selected(kept, form)
    chosen = sites.chosen(kept.slug, setup.id) if setup else frozenset()
    return shown(kept, setup, day, wanted, chosen, picture_of(request, sites, kept), scale or None)


def _selected(kept: KeptSite, form: Form) -> Setup | None:
    """Return the setup asked for, or the first, with its pins where they are being moved to."""
    wanted = form.text("setup") or (kept.site.setups[0].id if kept.site.setups else "")
    if not wanted:
        return None
    setup = kept.setup(wanted)
    moved = {
        f"{name}_pin": _moved(form, name, getattr(setup, f"{name}_pin"))
        for name in ("camera", "couple")
        if form.text(name)
    }
    return replace(setup, **moved)


def _moved(form: Form, name: str, pin: Pin) -> Pin:
    place = form.read(name, parse_coordinates)
    return Pin(place.lat_deg, place.lon_deg, pin.ground_m) if place else pin


def picture_of(request: Request, sites: Shelf, kept: KeptSite) -> LaidPicture | None:
    """Return the picture under the plan, if there is one laid to scale."""
    ground = sites.store.ground(kept.slug)
    address = request.url_for("ground_picture", site=kept.slug).path
    return laid_picture(ground, kept.site.local_frame, f"{address}?version={ground.version}")
