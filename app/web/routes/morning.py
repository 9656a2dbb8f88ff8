"""The morning check of a shoot: does the plan stand in the weather of its day, and what changes if it does not."""

import random
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from typing import Any, ClassVar

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from app.errors import WesteringError
from app.sharing.sheet import CoupleSheet
from app.shoot.morning_again import Revised
from app.shoot.morning_sun import EVENING, MORNING
from app.units import calendar_date
from app.web.answers.check import check_answer
from app.web.conflicts import Posted
from app.web.errands import Errand, RunningErrands
from app.web.forms import Form, counted, typed
from app.web.kits import kept_kit
from app.web.mornings import Morning, MorningDesk, Mornings, Since, signature
from app.web.mornings_weather import SiteDay
from app.web.now import Now
from app.web.render import render
from app.web.routes.api import TROUBLE
from app.web.shared import couple_of
from app.web.sharing import said_in, share
from app.web.shelf import Sites
from app.web.shoots import OpenShoot
from app.web.skies import SkyTold, bearing_words, sky_told
from app.web.troubles import status_of
from app.web.typed_seen import COVERS, WATERS, read_reports, read_seen, seen_texts

router = APIRouter()


@dataclass(frozen=True)
class MorningPage:
    """All that morning.html may use; ``again`` is the order solved again, where it was asked for."""

    template: ClassVar[str] = "morning.html"
    morning: Morning
    since: Since
    again: Revised | None
    shown: str
    asked_again: bool
    notes: tuple[str, ...]
    can_ask: bool
    can_fetch: bool
    errand: Errand | None
    form: Form
    form_site: str
    was_shared: bool
    covers: dict[str, str] = field(default_factory=lambda: dict(COVERS))
    waters: tuple[tuple[str, str], ...] = WATERS

    def typed(self, site: str) -> dict[str, str]:
        """Return what a site's form by eye holds: what was typed just now, else what is kept."""
        if self.form_site == site and self.form.errors:
            return dict(self.form.typed)
        seen = self.morning.days[site].weather.seen
        return seen_texts(vars(seen) if seen else None)

    def error(self, site: str, name: str) -> str | None:
        """Return what was wrong with a field of a site's forms."""
        return self.form.error(name) if self.form_site == site else None


@dataclass(frozen=True)
class SkyPage:
    """All that section.html may use; ``told`` is None where there is nothing to draw, ``why_not`` says why."""

    template: ClassVar[str] = "section.html"
    day: SiteDay
    told: SkyTold | None
    why_not: str
    bearing: str
    notes: tuple[str, ...]
    can_ask: bool
    errand: Errand | None
    form: Form
    shoots: tuple[OpenShoot, ...]
    covers: dict[str, str] = field(default_factory=lambda: dict(COVERS))
    waters: tuple[tuple[str, str], ...] = WATERS

    @property
    def held(self) -> dict[str, str]:
        """What the form by eye holds: what was typed just now, else what is kept."""
        seen = self.day.weather.seen
        return dict(self.form.typed) if self.form.errors else seen_texts(vars(seen) if seen else None)


@router.get("/shoots/{shoot}/morning", name="morning")
def show_morning(request: Request, shoot: str, desk: Mornings, errands: RunningErrands, now: Now) -> Response:
    """Every slot's verdict, where the weather comes from, and the order solved again when it is asked for."""
    return render(request, _page(desk, shoot, errands, now, Form({}), request.query_params.get("site", ""), request.query_params.get("again") == "yes"))


@router.get("/api/shoots/{shoot}/morning", name="api_morning", tags=["answers"], responses=TROUBLE)
def api_morning(shoot: str, desk: Mornings, now: Now) -> dict[str, Any]:
    """The morning check of a shoot from what is kept of its weather; nobody is asked."""
    morning = desk.morning(shoot, now)
    return check_answer(morning, desk.since(shoot, morning))


@router.post("/shoots/{shoot}/morning/forecast", name="ask_forecast")
def ask_forecast(request: Request, shoot: str, desk: Mornings, errands: RunningErrands, now: Now) -> Response:
    """Ask the weather services; the page may be left meanwhile."""
    desk.store.shoots.read(shoot)
    errands.start(_key(shoot), lambda report: desk.ask(shoot, now, random.random()))
    return _back(request, shoot, "weather")


@router.post("/shoots/{shoot}/morning/{site}/seen", name="keep_seen")
def keep_seen(request: Request, shoot: str, site: str, form: Posted, desk: Mornings, errands: RunningErrands, now: Now) -> Response:
    """Keep what somebody sees of the sky, or take it away; it wins over every forecast of that day."""
    opened = desk.shoots.shoot(shoot)
    day = opened.shoot.day
    desk.weather_site(opened, site)
    seen = None if form.text("remove") else read_seen(form, now)
    if form.errors:
        return render(request, _page(desk, shoot, errands, now, form, site), 422)
    return _kept(request, desk, shoot, now, lambda: desk.store.weather.keep_seen(site, day, seen))


@router.post("/shoots/{shoot}/morning/{site}/reports", name="keep_reports")
def keep_reports(request: Request, shoot: str, site: str, form: Posted, desk: Mornings, errands: RunningErrands, now: Now) -> Response:
    """Keep what airfields near a site say, pasted or fetched by the station's four letters."""
    opened = desk.shoots.shoot(shoot)
    kept, day = desk.weather_site(opened, site), opened.shoot.day
    if form.text("station"):
        try:
            return _kept(request, desk, shoot, now, lambda: desk.weather.fetch_reports(kept, day, form.text("station"), now))
        except WesteringError as error:
            form.errors["station"] = str(error)
            return render(request, _page(desk, shoot, errands, now, form, site), status_of(error))
    text = read_reports(form, kept.site, now)
    if text is None:
        return render(request, _page(desk, shoot, errands, now, form, site), 422)
    return _kept(request, desk, shoot, now, lambda: desk.store.weather.keep_reports(site, day, text, now))


@router.post("/shoots/{shoot}/morning/order", name="keep_revised")
def keep_revised(request: Request, shoot: str, form: Posted, desk: Mornings, now: Now) -> Response:
    """Keep the order solved again in the place of the old one, and share it as a new sheet if that is asked for."""
    version = form.text("version")
    desk.save_revised(shoot, counted(version) or 0, form.text("shown"), now)
    desk.keep_check(shoot, now)
    if not form.text("share"):
        return _back(request, shoot, "slots")
    share(desk.store, desk.shoots.shoot(shoot), said_in(_last_sheet(desk, shoot)), kept_kit(desk.store), now)
    return RedirectResponse(request.url_for("sharing", shoot=shoot).path, 303)


@router.get("/sites/{site}/sky/{day}", name="west_section")
def show_sky(request: Request, site: str, day: str, sites: Sites, desk: Mornings, errands: RunningErrands, now: Now) -> Response:
    """Cloud along the low sun's bearing at sunset, or at sunrise with part=morning."""
    return render(request, _sky_page(request, site, day, sites, desk, errands, now, Form({})))


@router.post("/sites/{site}/sky/{day}/seen", name="keep_sky_seen")
def keep_sky_seen(
    request: Request, site: str, day: str, form: Posted, sites: Sites, desk: Mornings, errands: RunningErrands, now: Now
) -> Response:
    """Keep what somebody sees of the sky on any day at a site, or forget it."""
    kept, on = sites.site(site), typed(calendar_date, day, "date")
    seen = None if form.text("remove") else read_seen(form, now)
    if form.errors:
        return render(request, _sky_page(request, site, day, sites, desk, errands, now, form), 422)
    desk.keep_seen(kept.slug, on, seen, now)
    return _to_sky(request, site, on)


@router.post("/sites/{site}/sky/{day}/forecast", name="ask_sky")
def ask_sky(request: Request, site: str, day: str, sites: Sites, desk: Mornings, errands: RunningErrands, now: Now) -> Response:
    """Ask the weather services for the sky of one day."""
    kept, on, part = sites.site(site), typed(calendar_date, day, "date"), _part(request)
    errands.start(_sky_key(site, on), lambda report: desk.weather.ask(kept, on, part, now, random.random()))
    return _to_sky(request, site, on)


def _sky_page(
    request: Request, site: str, day: str, sites: Sites, desk: MorningDesk, errands: RunningErrands, now: float, form: Form
) -> SkyPage:
    kept, on = sites.site(site), typed(calendar_date, day, "date")
    errand = errands.of(_sky_key(site, on))
    found = desk.weather.day(kept, on, _part(request), now)
    told = sky_told(found)
    sources, faults = desk.services.sources()
    bearing = bearing_words(found.sun.azimuth_deg) if found.sun else ""
    return SkyPage(found, told, _why_not(found, told), bearing, faults, bool(sources), errand, form, desk.shoots_at(site, on))


def _to_sky(request: Request, site: str, on: date) -> RedirectResponse:
    back = request.url_for("west_section", site=site, day=on.isoformat()).path
    return RedirectResponse(f"{back}{'?part=morning' if _part(request) == MORNING else ''}#weather", 303)


def _page(
    desk: MorningDesk, slug: str, errands: RunningErrands, now: float, form: Form, form_site: str = "", again: bool = False
) -> MorningPage:
    errand = errands.of(_key(slug))  # before the weather is read, or a page could say that it came and not show it
    morning = desk.morning(slug, now)
    sources, faults = desk.services.sources()
    new = morning.revised if again else None
    first = form_site if form_site in morning.days else next(iter(morning.days), "")
    return MorningPage(
        morning, desk.since(slug, morning), new, signature(new) if new else "", again, faults, bool(sources),
        bool(desk.services.airfield_address), errand, form, first,
        bool(desk.store.shoots.revisions(slug)),
    )  # fmt: skip


def _last_sheet(desk: MorningDesk, shoot: str) -> CoupleSheet | None:
    """Return what the couple was told last, so that what was said there stays said."""
    revisions = desk.store.shoots.revisions(shoot)
    return couple_of(revisions[-1]) if revisions else None


def _kept(request: Request, desk: MorningDesk, shoot: str, now: float, keep: Callable[[], None]) -> Response:
    """Keep something of the weather between two checks, and go back."""
    if not desk.store.weather.checks(shoot, 1):
        desk.keep_check(shoot, now - 1e-3)
    keep()
    desk.keep_check(shoot, now)
    return _back(request, shoot, "slots")


def _back(request: Request, shoot: str, part: str) -> RedirectResponse:
    return RedirectResponse(f"{request.url_for('morning', shoot=shoot).path}#{part}", 303)


def _part(request: Request) -> str:
    return MORNING if request.query_params.get("part") == MORNING else EVENING


def _why_not(day: SiteDay, told: SkyTold | None) -> str:
    if told:
        return ""
    if day.sun is None:
        return "The sun neither rises nor sets here on this day, so there is no bearing to look along."
    return "No forecast along the sun's bearing is kept for this time, so there is nothing to draw."


def _key(shoot: str) -> str:
    return f"weather of shoot {shoot}"


def _sky_key(site: str, day: date) -> str:
    return f"sky of {site} on {day}"
