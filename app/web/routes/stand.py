"""Where to stand: the fit of every place within reach on the plan, and the best ones to take."""

from dataclasses import dataclass
from datetime import date
from typing import ClassVar

import numpy as np
from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from app.errors import BadInput
from app.looks.catalogue import LOOKS
from app.looks.look import WantedLook
from app.looks.places import CAMERA, COUPLE, grid
from app.looks.where_to_stand import Stand
from app.picture.setup import Setup
from app.place.coordinates import parse_coordinates
from app.place.sitefile import parse_site
from app.units import calendar_date, clock_time, number
from app.web.answers.windows import looks_asked
from app.web.conflicts import Posted
from app.web.drawing.plan import Moment, Plan, PlanOf
from app.web.drawing.stand import STEPS, stand_plans
from app.web.errands import Errand, Errands, Report, RunningErrands
from app.web.forms import Form, counted, query_form, typed
from app.web.moves import check_version, moved_pins
from app.web.render import render
from app.web.shelf import KeptSite, Sites
from app.web.stands import Asked, BestPlace, KeptStands, Stands, best_places, moment_at, reckon, usual_moment
from app.web.typed_weather import weather_from
from app.web.words import caution_for

router = APIRouter()
USUAL_REACH_M, LEAST_REACH_M, MOST_REACH_M = 30.0, 3.0, 150.0
USUAL_STEP_M, LEAST_STEP_M, MOST_STEP_M = 1.0, 0.25, 10.0
MOVED = ((CAMERA, "the camera"), (COUPLE, "the couple"))


@dataclass(frozen=True)
class StandPage:
    """All that stand.html may use; ``stand`` is None while places are still being tried."""

    template: ClassVar[str] = "stand.html"
    kept: KeptSite
    setup: Setup
    zone: str
    day: date
    form: Form
    asked: Asked
    looks: tuple[tuple[str, str], ...]
    moved: tuple[tuple[str, str], ...]
    stand: Stand | None
    errand: Errand | None
    places: tuple[BestPlace, ...]
    desk: Plan | None
    hand: Plan | None
    steps: tuple[tuple[str, str], ...]
    caution: str | None


@router.get("/sites/{site}/setups/{setup}/stand/{day}", name="stand")
def stand(request: Request, site: str, setup: str, day: str, sites: Sites, stands: KeptStands, errands: RunningErrands) -> Response:
    """The plan within reach, hatched by how well the look fits from every place."""
    kept, on, form = sites.site(site), typed(calendar_date, day, "date"), query_form(request)
    found = kept.setup(setup)
    other = form.read("date", calendar_date, default=on)
    if other and other != on:
        page = request.url_for("stand", site=site, setup=found.id, day=other.isoformat()).path
        return RedirectResponse(f"{page}?{request.url.query}".replace(f"date={other.isoformat()}", ""), 303)
    asked = _asked(kept, found, on, form)
    answer, errand = _answer(kept, asked, stands, errands)
    return render(request, _page(kept, found, on, form, asked, answer, errand), 422 if form.errors else 200)


@router.post("/sites/{site}/setups/{setup}/stand", name="take_place")
def take_place(request: Request, site: str, setup: str, form: Posted, sites: Sites) -> Response:
    """Put a pin at one of the places, and show the setup's frames from there."""
    kept, on = sites.site(site), typed(calendar_date, form.text("day"), "date")
    found, moved = kept.setup(setup), form.text("move")
    if moved not in (CAMERA, COUPLE):
        raise BadInput(f"A pin is the camera's or the couple's; “{moved[:20]}” came.", "move")
    version = form.text("version")
    check_version({"version": counted(version)}, kept.version, kept.site.name)
    there = parse_coordinates(form.text("pin"))
    changed = parse_site(moved_pins(kept.site, found.id, {moved: [there.lon_deg, there.lat_deg]}))
    sites.store.save_site(site, changed.document, kept.version)
    return RedirectResponse(request.url_for("contact_sheet", site=site, setup=found.id, day=on.isoformat()).path, 303)


def _asked(kept: KeptSite, setup: Setup, day: date, form: Form) -> Asked:
    usual = looks_asked(setup, None) or looks_asked(setup, "backlit")
    wanted: WantedLook = form.read("look", lambda text: looks_asked(setup, text)[0], default=usual[0]) or usual[0]
    moved = form.read("move", _moved, default=CAMERA) or CAMERA
    reach_m = form.read("reach", lambda text: number(text, "The reach in metres", LEAST_REACH_M, MOST_REACH_M), default=USUAL_REACH_M)
    step_m = form.read("step", lambda text: number(text, "The step in metres", LEAST_STEP_M, MOST_STEP_M), default=USUAL_STEP_M)
    weather = weather_from(form)
    wanted_time = form.read("time", clock_time) if form.text("time") else None
    at = moment_at(kept, day, wanted_time) if wanted_time else usual_moment(kept, setup, wanted, day, weather)
    asked = Asked(setup, wanted, moved, at, reach_m or USUAL_REACH_M, step_m or USUAL_STEP_M, weather)
    try:
        grid(kept.site, setup, moved, asked.reach_m, asked.step_m)
    except BadInput as error:
        form.errors["step"] = str(error)
        asked = Asked(setup, wanted, moved, at, USUAL_REACH_M, USUAL_STEP_M, weather)
    return asked


def _answer(kept: KeptSite, asked: Asked, stands: Stands, errands: Errands) -> tuple[Stand | None, Errand | None]:
    """Return the answer, or the errand that is on its way to it."""
    key = asked.key(kept)
    known = stands.of(key)
    if known is not None:
        return known, None
    if not asked.wanted.look.place_by_place:
        return stands.keep(key, reckon(kept, asked)), None
    errand = errands.of(key)
    if errand is None or (errand.ended and not errand.failed):  # an answer that was forgotten is reckoned again
        errands.start(key, lambda report: _work(kept, asked, key, stands, report))
    return stands.of(key), errands.of(key)


def _work(kept: KeptSite, asked: Asked, key: str, stands: Stands, report: Report) -> str:
    stands.keep(key, reckon(kept, asked, report))
    return "All places are tried."


def _page(
    kept: KeptSite, setup: Setup, day: date, form: Form, asked: Asked, answer: Stand | None, errand: Errand | None
) -> StandPage:
    setups, moment = kept.setups(), Moment(asked.at_utc_s, np.array([]), kept.site.time_zone, day)
    plans = stand_plans(PlanOf(kept.site, setups, setups, None, moment), answer, asked.reach_m) if answer else (None, None)
    return StandPage(
        kept=kept,
        setup=setup,
        zone=kept.site.time_zone,
        day=day,
        form=form,
        asked=asked,
        looks=tuple((name, name) for name in LOOKS),
        moved=MOVED,
        stand=answer,
        errand=errand,
        places=best_places(kept, asked, answer, day) if answer else (),
        desk=plans[0],
        hand=plans[1],
        steps=tuple((kind, words) for kind, _, words in STEPS),
        caution=caution_for((asked.wanted,)),
    )


def _moved(text: str) -> str:
    if text not in (CAMERA, COUPLE):
        raise BadInput(f"What moves is the camera or the couple; “{text[:20]}” came.")
    return text
