"""Sun and shade of a site on a date: first and last light, shade on the plan, and where low sun lingers."""

from dataclasses import dataclass
from datetime import date
from typing import ClassVar
from urllib.parse import urlencode

import numpy as np
from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from app.errors import BadInput
from app.light.low_sun import LOW_DEG
from app.picture.sheet import PARTS
from app.units import calendar_date, clock_time, number
from app.web.drawing.low_sun import LowSunDrawing, low_sun_drawing
from app.web.drawing.plan import DESK, HAND, Moment, Plan, PlanOf, part_plan
from app.web.drawing.plan_sheet import extent_of
from app.web.forms import Form, query_form, typed
from app.web.light import (
    LitPoint,
    LitSetup,
    LowSun,
    SunNow,
    lit_point,
    lit_setups,
    low_sun,
    moment_on,
    parse_point,
    sun_now,
)
from app.web.render import render
from app.web.routes.sites import picture_of
from app.web.scenes import FACE_M
from app.web.shelf import KeptSite, Sites
from app.web.words import SUN_CAUTION

router = APIRouter()
LOWEST_EYE_M, HIGHEST_EYE_M = 0.1, 60.0
LEAST_DEG, MOST_DEG = 1.0, 45.0
COUNTS = ("all", "left")


@dataclass(frozen=True)
class Asked:
    """What the address's query asks for; whatever could not be used has its usual value here."""

    part: str
    at_utc_s: float
    highest_deg: float
    eye_height_m: float
    left_only: bool


@dataclass(frozen=True)
class LightPage:
    """All that light.html may use."""

    template: ClassVar[str] = "light.html"
    kept: KeptSite
    zone: str
    day: date
    form: Form
    asked: Asked
    setups: tuple[LitSetup, ...]
    point: LitPoint | None
    sun: SunNow
    desk: Plan
    hand: Plan
    lingering: LowSun
    drawn: LowSunDrawing
    query: str
    caution: str = SUN_CAUTION


@router.get("/sites/{site}/light/{day}", name="light")
def show_light(request: Request, site: str, day: str, sites: Sites) -> Response:
    """First and last light, the shade at a minute, and the minutes of low sun all over the site."""
    kept, on, form = sites.site(site), typed(calendar_date, day, "date"), query_form(request)
    other = form.read("date", calendar_date, default=on)
    if other and other != on:
        return _at_another_date(request, site, other, form)
    asked = _asked(kept, on, form)
    point = _point(kept, on, form, asked)
    sun = sun_now(kept, asked.at_utc_s)
    setups, moment = kept.setups(), Moment(asked.at_utc_s, np.array([]), kept.site.time_zone, on)
    picture, asked_pin = picture_of(request, sites, kept), point.pin if point else None
    of = PlanOf(kept.site, setups, setups, None, moment, picture, sun.toned(kept.site), asked_pin)
    found = low_sun(kept, on, asked.part, asked.highest_deg, asked.at_utc_s if asked.left_only else None)
    page = LightPage(
        kept=kept,
        zone=kept.site.time_zone,
        day=on,
        form=form,
        asked=asked,
        setups=lit_setups(kept, on),
        point=point,
        sun=sun,
        desk=part_plan(of, extent_of(kept.site, setups), DESK, "shade-desk"),
        hand=part_plan(of, extent_of(kept.site, setups), HAND, "shade-hand"),
        lingering=found,
        drawn=low_sun_drawing(of, found.low),
        query=_query(form),
    )
    return render(request, page, 422 if form.errors else 200)


def _asked(kept: KeptSite, day: date, form: Form) -> Asked:
    part = form.read("part", lambda text: _one_of(text, PARTS), default=PARTS[0]) or PARTS[0]
    wanted = form.read("time", clock_time) if form.text("time") else None
    highest_deg = form.read("highest", _highest_deg, default=LOW_DEG)
    eye_m = form.read("eye", _eye_m, default=FACE_M)
    left = form.read("count", lambda text: _one_of(text, COUNTS), default=COUNTS[0])
    return Asked(part, moment_on(kept, day, wanted, part), highest_deg or LOW_DEG, eye_m or FACE_M, left == "left")


def _point(kept: KeptSite, day: date, form: Form, asked: Asked) -> LitPoint | None:
    """Return the light at the point typed, if one was and it can be used."""
    if not form.text("point"):
        return None
    return form.read("point", lambda text: lit_point(kept, parse_point(text), asked.eye_height_m, day))


def _at_another_date(request: Request, site: str, day: date, form: Form) -> Response:
    page = request.url_for("light", site=site, day=day.isoformat()).path
    query = _query(form)
    return RedirectResponse(f"{page}?{query}" if query else page, 303)


def _query(form: Form) -> str:
    """Return what was typed, without the date, to be taken along to another one."""
    return urlencode({name: text for name, text in form.typed.items() if name != "date" and text.strip()})


def _highest_deg(text: str) -> float:
    return number(text.removesuffix("°"), "The altitude up to which the sun is low, in degrees,", LEAST_DEG, MOST_DEG)


def _eye_m(text: str) -> float:
    return number(text.removesuffix("m"), "The eye height in metres", LOWEST_EYE_M, HIGHEST_EYE_M)


def _one_of(text: str, choices: tuple[str, ...]) -> str:
    if text not in choices:
        raise BadInput(f"This is {' or '.join(choices)}; “{text[:40]}” came.")
    return text
