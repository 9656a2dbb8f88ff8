"""Shoots: the list, the running order, and what belongs to a whole shoot."""

from dataclasses import dataclass, replace
from datetime import date
from typing import ClassVar

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from app.errors import BadInput
from app.shoot.shoot import MEETING, Free, Shoot
from app.shoot.split import Part
from app.units import calendar_date
from app.web.conflicts import Posted, is_stale
from app.web.forms import Form
from app.web.orders import shoot_page
from app.web.render import render
from app.web.shelf import Shelf, Sites
from app.web.shoots import OpenShoot, Shoots, ShootShelf, new_document, without
from app.web.typed_shoot import moved_to, read_day_time, read_free, read_shoot_form, rows_in, shoot_typed
from app.web.typed_wish import all_free

router = APIRouter()
CHANGED = "This shoot was changed in another tab after you opened this one. Nothing was kept yet, and what you typed is still here."


@dataclass(frozen=True)
class ListedShoot:
    """A shoot in the list: its address, name and date, where it is, and how many setups it wants."""

    slug: str
    name: str
    day: date
    sites: tuple[str, ...]
    wishes: int


@dataclass(frozen=True)
class ShootsPage:
    """All that shoots.html may use."""

    template: ClassVar[str] = "shoots.html"
    shoots: tuple[ListedShoot, ...]
    sites: tuple[tuple[str, str], ...]
    form: Form


@dataclass(frozen=True)
class DetailsPage:
    """All that shoot_details.html may use."""

    template: ClassVar[str] = "shoot_details.html"
    opened: OpenShoot
    form: Form
    spots: tuple[tuple[str, str], ...]
    changed: str = ""

    def rows(self, kind: str) -> tuple[int, ...]:
        """Return the numbers of a kind's rows, a blank one at the end."""
        return rows_in(self.form, kind)


@router.get("/shoots", name="shoots")
def list_shoots(request: Request, shelf: Shoots, sites: Sites) -> Response:
    """All shoots, the latest date first, and the form for a new one."""
    return render(request, _list_page(shelf, sites, Form({})))


@router.post("/shoots")
def create_shoot(request: Request, form: Posted, shelf: Shoots, sites: Sites) -> Response:
    """Keep a new shoot on a date at a site."""
    shoot = _new_shoot(form, sites)
    if shoot is None:
        return render(request, _list_page(shelf, sites, form), 422)
    slug = shelf.store.shoots.add(shoot.name, new_document(shoot))
    return RedirectResponse(f"{request.url_for('new_wish', shoot=slug).path}?site={form.text('site')}", 303)


@router.get("/shoots/{shoot}", name="shoot")
def show_shoot(request: Request, shoot: str, shelf: Shoots) -> Response:
    """The running order: lanes over the evening, and the same in words."""
    return render(request, shoot_page(shelf.shoot(shoot)))


@router.get("/shoots/{shoot}/details", name="shoot_details")
def show_details(request: Request, shoot: str, shelf: Shoots) -> Response:
    """Date, people, meeting point, walks and what people are told, to be changed."""
    opened = shelf.shoot(shoot)
    return render(request, _details(opened, Form(shoot_typed(opened.whole, opened.telling))))


@router.post("/shoots/{shoot}/details")
def save_details(request: Request, shoot: str, form: Posted, shelf: Shoots) -> Response:
    """Keep changed details."""
    opened = shelf.shoot(shoot)
    if is_stale(form, opened.version):
        return render(request, _details(opened, form, CHANGED), 409)
    found = read_shoot_form(form, opened.whole, opened.telling)
    if found is None:
        return render(request, _details(opened, form), 422)
    shelf.save(opened, opened.version, whole=found[0], telling=found[1])
    return back_to(request, shoot)


@router.post("/shoots/{shoot}/delete", name="delete_shoot")
def delete_shoot(request: Request, shoot: str, form: Posted, shelf: Shoots) -> Response:
    """Delete a shoot whose name has been typed once more, with all that was shared of it."""
    opened = shelf.shoot(shoot)
    again = Form({**shoot_typed(opened.whole, opened.telling), **form.typed})
    if is_stale(form, opened.version):
        return render(request, _details(opened, again, CHANGED), 409)
    if " ".join(form.text("confirm").split()) != opened.whole.name:
        again.errors["confirm"] = f"Type the shoot's name, “{opened.whole.name}”, to delete it; “{form.text('confirm')}” came."
        return render(request, _details(opened, again), 422)
    shelf.store.shoots.delete(shoot)
    return RedirectResponse(request.url_for("shoots").path, 303)


@router.post("/shoots/{shoot}/parts", name="split_shoot")
def split_shoot(request: Request, shoot: str, shelf: Shoots) -> Response:
    """Make a shoot of each part of an evening that is too full; the whole stays as it is."""
    opened = shelf.shoot(shoot)
    if not opened.order.parts:
        return back_to(request, shoot)
    there = {kept.name for kept in shelf.store.shoots.all()}  # pressed twice, it makes none again
    for number, part in enumerate(opened.order.parts, 1):
        one = _part(opened, part, f"{opened.whole.name}, part {number}")
        if one.name not in there:
            shelf.store.shoots.add(one.name, new_document(one, opened.telling))
    return RedirectResponse(request.url_for("shoots").path, 303)


@router.post("/shoots/{shoot}/date", name="shoot_date")
def take_date(request: Request, shoot: str, form: Posted, shelf: Shoots) -> Response:
    """Move a shoot to another date, free times by the clock as they were; beginnings fixed for the old date are freed."""
    opened = shelf.shoot(shoot)
    day = form.read("date", calendar_date)
    if is_stale(form, opened.version) or day is None:
        stale = is_stale(form, opened.version)
        return render(request, shoot_page(opened, CHANGED if stale else form.errors["date"]), 409 if stale else 422)
    shelf.save(opened, opened.version, whole=moved_to(all_free(opened.whole), day, opened.whole.zone))
    return back_to(request, shoot)


def back_to(request: Request, shoot: str, anchor: str = "") -> Response:
    """Return the way back to a shoot's page."""
    return RedirectResponse(request.url_for("shoot", shoot=shoot).path + (f"#{anchor}" if anchor else ""), 303)


def _list_page(shelf: ShootShelf, sites: Shelf, form: Form) -> ShootsPage:
    names = {site.slug: site.name for site in sites.store.sites()}
    return ShootsPage(tuple(_listed(one, names) for one in shelf.shoots()), tuple(names.items()), form)


def _listed(opened: OpenShoot, names: dict[str, str]) -> ListedShoot:
    slugs = dict.fromkeys(wish.site for wish in opened.whole.wishes)
    return ListedShoot(opened.slug, opened.whole.name, opened.whole.day, tuple(names.get(one, one) for one in slugs), len(opened.whole.wishes))


def _details(opened: OpenShoot, form: Form, changed: str = "") -> DetailsPage:
    """Walks go between spots of the shoot and the meeting point."""
    named = {wish.spot: f"{opened.scenes[wish.id].setup.name}, {opened.sites[wish.site].site.name}" for wish in opened.shoot.wishes}
    spots = {wish.spot: named.get(wish.spot, opened.called(wish)) for wish in opened.whole.wishes}
    return DetailsPage(opened, form, ((MEETING, "The meeting point"), *spots.items()), changed)


def _new_shoot(form: Form, sites: Shelf) -> Shoot | None:
    name, day = " ".join(form.text("name").split()), form.read("date", calendar_date)
    if not name:
        form.errors["name"] = "A shoot needs a name, such as the couple's."
    slugs = {site.slug for site in sites.store.sites()}
    zone = form.read("site", lambda slug: sites.site(_one_of(slug, slugs)).site.time_zone)
    free = _new_free(form, zone, day) if day and zone and (form.text("from") or form.text("to")) else ()
    if form.errors or day is None or zone is None:
        return None
    try:
        return Shoot("new", name, day, zone, free=free)
    except BadInput as error:
        form.blame(error, "name")
        return None


def _one_of(slug: str, slugs: set[str]) -> str:
    if slug not in slugs:
        raise BadInput("Choose one of the sites; make one first where there is none.")
    return slug


def _new_free(form: Form, zone: str, day: date) -> tuple[Free, ...]:
    start = form.read("from", read_day_time)
    found = form.read("to", lambda text: read_free(zone, day, form.text("from"), text)) if start else None
    return (found,) if found else ()


def _part(opened: OpenShoot, part: Part, name: str) -> Shoot:
    """Return the shoot of one part: its wishes, in the people's time that falls into it."""
    others = {wish.id for wish in opened.shoot.wishes} - set(part.ids)
    inside = (
        (max(one.starts_utc_s, part.starts_utc_s), min(one.ends_utc_s, part.ends_utc_s)) for one in opened.shoot.open_time
    )
    free = tuple(Free(start, end) for start, end in inside if end > start)
    return replace(without(opened.shoot, others), name=name, free=free)
