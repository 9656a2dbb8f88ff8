"""What is put on the plan: setups, water, things that stand up and sighted skylines."""

from collections.abc import Callable, Coroutine, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Annotated, Any, ClassVar
from urllib.parse import urlencode

from fastapi import APIRouter, Body, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, RedirectResponse
from fastapi.routing import APIRoute

from app.errors import NotFound, WesteringError
from app.picture.setup import Setup
from app.place.edit import with_feature, without_feature
from app.place.site import Site
from app.place.sitefile import parse_site
from app.storage.records import Ground
from app.web.conflicts import DELETE, Posted, checked, conflict, is_stale
from app.web.drawing.plan_shown import Shown, shown
from app.web.forms import Form, query_form
from app.web.moves import check_version, feature_with, moved_pins, moved_shape
from app.web.now import Now, today_at
from app.web.render import render
from app.web.routes.sites import picture_of
from app.web.scenes import find_setup, looks_of
from app.web.shelf import KeptSite, Shelf, Sites
from app.web.troubles import status_of
from app.web.typed_setup import (
    FORMATS,
    LookField,
    look_fields,
    new_setup_typed,
    people_rows,
    read_setup,
    setup_typed,
)
from app.web.typed_thing import ROLES, Role, Thing, read_thing, role_of_thing, thing_typed

router = APIRouter()


@dataclass(frozen=True)
class SetupPage:
    """All that setup_form.html may use; ``setup`` is None for a new one."""

    template: ClassVar[str] = "setup_form.html"
    kept: KeptSite
    setup: Setup | None
    shown: Shown
    ground: Ground
    form: Form
    formats: tuple[tuple[str, str], ...]
    looks: tuple[LookField, ...]
    people: range
    others: tuple[tuple[str, str], ...]
    today: date


@dataclass(frozen=True)
class FeaturePage:
    """All that feature_form.html may use; ``feature_id`` is None for a new one."""

    template: ClassVar[str] = "feature_form.html"
    kept: KeptSite
    role: Role
    feature_id: str | None
    note: str | None
    shown: Shown
    ground: Ground
    form: Form


class JsonRoute(APIRoute):
    """A route for scripts: what goes wrong is told as JSON, with the same words as on a page."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """Return the usual handler with errors answered here."""
        usual = super().get_route_handler()

        async def handler(request: Request) -> Response:
            try:
                return await usual(request)
            except WesteringError as error:
                return JSONResponse({"error": str(error), "field": error.field}, status_of(error))
            except RequestValidationError:
                return JSONResponse({"error": "A JSON object is expected here.", "field": None}, 422)

        return handler


moves = APIRouter(route_class=JsonRoute)
Sent = Annotated[dict[str, Any], Body()]


@router.get("/sites/{site}/new-setup", name="new_setup")
def new_setup(request: Request, site: str, sites: Sites, now: Now) -> Response:
    """An empty form for a setup."""
    kept = sites.site(site)
    return render(request, _setup_page(request, sites, kept, None, Form(new_setup_typed()), now))


@router.post("/sites/{site}/new-setup")
def add_setup(request: Request, site: str, form: Posted, sites: Sites, now: Now) -> Response:
    """Keep a new setup and show it on the plan."""
    kept = sites.site(site)
    if is_stale(form, kept.version):
        return conflict(request, kept, form, {}, "new_setup", "site")
    changed = _changed_by_setup(form, kept, None, now)
    if changed is None:
        return render(request, _setup_page(request, sites, kept, None, form, now), 422)
    sites.store.save_site(site, changed.document, kept.version)
    return _back(request, site, changed.setups[-1].id)


@router.get("/sites/{site}/setups/{setup}", name="setup")
def show_setup(request: Request, site: str, setup: str, sites: Sites, now: Now) -> Response:
    """A setup, all of it to be changed."""
    kept = sites.site(site)
    found = kept.setup(setup)
    return render(request, _setup_page(request, sites, kept, found, Form(setup_typed(found)), now))


@router.post("/sites/{site}/setups/{setup}")
def save_setup(request: Request, site: str, setup: str, form: Posted, sites: Sites, now: Now) -> Response:
    """Keep a changed setup; its id stays, whatever it is called, and with it the rings on its frames."""
    kept = sites.site(site)
    found = kept.setup(setup)
    if is_stale(form, kept.version):
        return conflict(request, kept, form, setup_typed(found), "setup", "setup", setup=found.id)
    changed = _changed_by_setup(form, kept, found, now)
    if changed is None:
        return render(request, _setup_page(request, sites, kept, found, form, now), 422)
    sites.store.save_site(site, changed.document, kept.version)
    return _back(request, site, found.id)


@router.get("/sites/{site}/new-feature", name="new_feature")
def new_feature(request: Request, site: str, sites: Sites, now: Now) -> Response:
    """An empty form for water, a thing that stands up, or a sighted skyline."""
    kept, role = sites.site(site), _role(query_form(request))
    return render(request, _feature_page(request, sites, kept, role, None, Form(dict(role.empty)), now))


@router.post("/sites/{site}/new-feature")
def add_feature(request: Request, site: str, form: Posted, sites: Sites, now: Now) -> Response:
    """Keep a new thing on the plan."""
    kept, role = sites.site(site), _role(form)
    if is_stale(form, kept.version):
        return conflict(request, kept, form, {"role": role.name}, "new_feature", "site")
    changed = _changed_by_thing(form, kept, role, None)
    if changed is None:
        return render(request, _feature_page(request, sites, kept, role, None, form, now), 422)
    sites.store.save_site(site, changed.document, kept.version)
    return _back(request, site)


@router.get("/sites/{site}/features/{feature}", name="feature")
def show_feature(request: Request, site: str, feature: str, sites: Sites, now: Now) -> Response:
    """A thing on the plan, all of it to be changed."""
    kept = sites.site(site)
    role, typed = _there(kept.site, feature)
    return render(request, _feature_page(request, sites, kept, role, feature, Form(typed), now))


@router.post("/sites/{site}/features/{feature}")
def save_feature(request: Request, site: str, feature: str, form: Posted, sites: Sites, now: Now) -> Response:
    """Keep a changed thing."""
    kept = sites.site(site)
    role, typed = _there(kept.site, feature)
    if is_stale(form, kept.version):
        return conflict(request, kept, form, typed, "feature", "feature", feature=feature)
    changed = _changed_by_thing(form, kept, role, feature)
    if changed is None:
        return render(request, _feature_page(request, sites, kept, role, feature, form, now), 422)
    sites.store.save_site(site, changed.document, kept.version)
    return _back(request, site)


@router.post("/sites/{site}/features/{feature}/delete", name="delete_feature")
def delete_feature(request: Request, site: str, feature: str, form: Posted, sites: Sites) -> Response:
    """Take a setup or another thing off the plan, a setup with the rings on its frames."""
    kept = sites.site(site)
    if is_stale(form, kept.version):
        return conflict(request, kept, form, {}, "delete_feature", "site", way=DELETE, feature=feature)
    changed = parse_site(without_feature(kept.site.document, feature))
    sites.store.save_site(site, changed.document, kept.version)
    for instant in sites.store.chosen_frames(site, feature):
        sites.store.choose_frame(site, feature, instant, chosen=False)
    return _back(request, site)


@moves.put("/sites/{site}/pins/{setup}", name="move_pins")
def move_pins(site: str, setup: str, sent: Sent, sites: Sites) -> dict[str, Any]:
    """Keep a setup's pins where they were dragged to."""
    kept = sites.site(site)
    check_version(sent, kept.version, kept.site.name)
    found = kept.setup(setup)
    changed = parse_site(moved_pins(kept.site, found.id, sent))
    moved = find_setup(changed, found.id)
    stored = sites.store.save_site(site, changed.document, kept.version)
    return {"version": stored.version, "distance_m": moved.distance_m, "line_deg": moved.line_deg}


@moves.put("/sites/{site}/shapes/{feature}", name="move_shape")
def move_shape(site: str, feature: str, sent: Sent, sites: Sites) -> dict[str, Any]:
    """Keep an outline or a viewpoint where it was dragged to."""
    kept = sites.site(site)
    check_version(sent, kept.version, kept.site.name)
    changed = parse_site(moved_shape(kept.site, feature, sent))
    return {"version": sites.store.save_site(site, changed.document, kept.version).version}


router.include_router(moves)


def _setup_page(
    request: Request, sites: Shelf, kept: KeptSite, setup: Setup | None, form: Form, now: float
) -> SetupPage:
    today = today_at(kept.site.time_zone, now)
    return SetupPage(
        kept=kept,
        setup=setup,
        shown=shown(kept, setup, today, picture=picture_of(request, sites, kept)),
        ground=sites.store.ground(kept.slug),
        form=form,
        formats=tuple((name, name.replace("x", " × ")) for name in FORMATS),
        looks=look_fields(),
        people=people_rows(form),
        others=(
            ("", "none"),
            *((one.name, one.name) for one in kept.site.setups if not setup or one.id != setup.id),
        ),
        today=today,
    )


def _feature_page(
    request: Request, sites: Shelf, kept: KeptSite, role: Role, feature_id: str | None, form: Form, now: float
) -> FeaturePage:
    first = kept.setups()[:1]
    today = today_at(kept.site.time_zone, now)
    return FeaturePage(
        kept=kept,
        role=role,
        feature_id=feature_id,
        note=next((one.note for one in kept.site.surveys if one.id == feature_id), None),
        shown=shown(kept, first[0] if first else None, today, picture=picture_of(request, sites, kept)),
        ground=sites.store.ground(kept.slug),
        form=form,
    )


def _changed_by_setup(form: Form, kept: KeptSite, setup: Setup | None, now: float) -> Site | None:
    """Return the site with the setup a form describes; None with the form's errors filled."""
    before = next((one for one in kept.site.setups if setup and one.id == setup.id), None)
    feature = read_setup(form, before, today_at(kept.site.time_zone, now))
    if feature is None:
        return None
    return checked(form, "couple", lambda: _with_setup(kept.site.document, feature, setup))


def _with_setup(document: Mapping[str, Any], feature: Mapping[str, Any], setup: Setup | None) -> Site:
    """Return the site with a setup that has been tried: its lens, its people, its looks."""
    changed = parse_site(with_feature(document, feature))
    looks_of(find_setup(changed, setup.id if setup else changed.setups[-1].id))
    return changed


def _changed_by_thing(form: Form, kept: KeptSite, role: Role, feature_id: str | None) -> Site | None:
    before = feature_with(kept.site, feature_id) if feature_id else None
    feature = read_thing(form, role, before)
    if feature is None:
        return None
    return checked(form, role.otherwise, lambda: parse_site(with_feature(kept.site.document, feature)))


def _there(site: Site, feature_id: str) -> tuple[Role, dict[str, str]]:
    """Return which kind of thing has an id, and what its form holds."""
    things: tuple[Thing, ...] = (*site.waters, *site.obstacles, *site.surveys)
    thing = next((one for one in things if one.id == feature_id), None)
    if thing is None:
        raise NotFound(f"“{site.name}” has no water, obstacle or skyline with the id “{feature_id[:60]}”.")
    role = role_of_thing(thing)
    return role, thing_typed(role, thing, feature_with(site, feature_id))


def _role(form: Form) -> Role:
    wanted = form.text("role")
    if wanted not in ROLES:
        raise NotFound(f"Water, an obstacle or a survey can be added; “{wanted[:40]}” came.")
    return ROLES[wanted]


def _back(request: Request, site: str, setup: str | None = None) -> Response:
    address = request.url_for("site", site=site).path
    return RedirectResponse(f"{address}?{urlencode({'setup': setup})}" if setup else address, 303)
