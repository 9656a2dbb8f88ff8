"""The contact sheet: one setup across one evening, frame by frame."""

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import ClassVar

import numpy as np
from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from app.errors import BadInput
from app.light.kit import Kit
from app.looks.look import WantedLook
from app.looks.margin import Scene
from app.looks.nearest import Nearest, nearest
from app.looks.search import DayWindows, windows_in_each
from app.looks.window import Window
from app.picture.setup import Setup
from app.picture.sheet import STEP_S, SheetSpan, half_day, sheet_instants, sheet_span
from app.picture.weather import Weather
from app.place.coordinates import parse_coordinates
from app.place.site import Pin
from app.place.timezone import rules
from app.shoot.morning_sun import low_sun
from app.shoot.morning_weather import SiteWeather
from app.sky.events import Stretch, day_stretches
from app.units import calendar_date, clock_time, instant, number
from app.web.drawing.frames import FrameSheet, sheet_for
from app.web.drawing.lanes import Lanes, lanes_for
from app.web.forms import Form, query_form, read_form, typed
from app.web.kits import kept_kit
from app.web.lights import settings_under
from app.web.mornings import MorningDesk, Mornings
from app.web.mornings_weather import observer_of
from app.web.now import Now
from app.web.render import days, render
from app.web.scenes import looks_of
from app.web.shelf import KeptSite, Sites
from app.web.typed_weather import weather_asked, weather_from, weather_query, weather_words
from app.web.words import caution_for, headline, setup_line

router = APIRouter()
MINUTE_S = 60.0
NEIGHBOURS = 3  # dates before and after


@dataclass(frozen=True)
class ContactSheetPage:
    """All that contact_sheet.html may use."""

    template: ClassVar[str] = "contact_sheet.html"
    kept: KeptSite
    setup: Setup
    line: str
    headline: str
    day: date
    zone: str
    part: str
    step: float
    span: SheetSpan
    sheet: FrameSheet
    settings: tuple[str, ...]
    lanes: Lanes
    found: tuple[tuple[WantedLook, tuple[Window, ...]], ...]
    missed: dict[str, Nearest]
    stretches: tuple[Stretch, ...]
    neighbours: tuple[DayWindows, ...]
    caution: str | None
    form: Form
    query: str
    expected: str

    def onward(self, part: str = "") -> str:
        """Return the query that carries the weather typed, and a part of the day, to another date."""
        return weather_query(self.form, part="" if part == "evening" else part)


@dataclass(frozen=True)
class StripPage:
    """All that strip.html may use."""

    template: ClassVar[str] = "strip.html"
    sheet: FrameSheet


@router.get("/sites/{site}/setups/{setup}/{day}", name="contact_sheet")
def contact_sheet(request: Request, site: str, setup: str, day: str, sites: Sites, desk: Mornings, now: Now) -> Response:
    """One setup across one evening, frame by frame."""
    kept, on, form = sites.site(site), typed(calendar_date, day, "date"), query_form(request)
    chosen = sites.chosen(site, kept.setup(setup).id)
    weather, expected = _weather(form, kept, on, desk, now)
    return render(request, _page(kept, kept.setup(setup), on, form, chosen, request.url.query, kept_kit(sites.store), weather, expected))


@router.get("/sites/{site}/setups/{setup}/{day}/strip", name="frame_strip")
def frame_strip(request: Request, site: str, setup: str, day: str, sites: Sites) -> Response:
    """The frames alone, small, for pins that are being moved and are not yet kept."""
    kept, on = sites.site(site), typed(calendar_date, day, "date")
    moved = _moved(kept.setup(setup), request.query_params.get("camera"), request.query_params.get("couple"))
    weather = weather_asked(request.query_params)
    return render(request, StripPage(strip_for(kept, moved, on, sites.chosen(site, moved.id), weather=weather)))


@router.post("/sites/{site}/setups/{setup}/frames", name="choose_frame")
async def choose_frame(request: Request, site: str, setup: str, sites: Sites) -> Response:
    """Ring a frame, or take its ring away, and go back to its sheet."""
    form = await read_form(request)
    at, found = typed(instant, form.text("at"), "at"), sites.site(site).setup(setup)
    sites.store.choose_frame(site, found.id, at, form.text("chosen") == "yes")
    sheet = request.url_for("contact_sheet", site=site, setup=found.id, day=at.date().isoformat()).path
    back = form.text("back")
    own = back.startswith("/") and not back.startswith(("//", "/\\"))  # never a way to another host
    return RedirectResponse(f"{back if own else sheet}#f{round(at.timestamp())}", 303)


def strip_for(
    kept: KeptSite, setup: Setup, on: date, chosen: frozenset[int], part: str = "evening", weather: Weather = Weather()
) -> FrameSheet:
    """Return a setup's frames of one evening every ten minutes."""
    scene = kept.scene(setup, weather)
    span = sheet_span(scene.observer, *kept.civil_day(on), part)
    instants = sheet_instants(span.first_utc_s, span.last_utc_s, STEP_S)
    return sheet_for(scene, instants, kept.site.time_zone, chosen, "strip")


def _page(
    kept: KeptSite, setup: Setup, on: date, form: Form, chosen: frozenset[int], query: str, kit: Kit, weather: Weather, expected: str
) -> ContactSheetPage:
    scene, looks = kept.scene(setup, weather), looks_of(setup)
    zone, whole_day = kept.site.time_zone, kept.civil_day(on)
    part = form.text("part", "evening")
    span = _span(form, kept, on, sheet_span(scene.observer, *whole_day, part))
    step = form.read("step", lambda text: number(text, "The step in minutes", 10 / 60, 60), 10.0) or 10.0
    neighbours = _neighbours(looks, scene, on, kept, part)
    first = [same.windows for same in neighbours if same.day == on]  # of the first look
    half = half_day(scene.observer, *whole_day, part)
    others = (windows_in_each(wanted, scene, [half])[0] for wanted in looks[1:])
    found = tuple(zip(looks, [*first, *others], strict=True))
    instants = _instants(span, step, chosen, form)
    return ContactSheetPage(
        kept=kept,
        setup=setup,
        line=setup_line(setup),
        headline=headline(found, zone),
        day=on,
        zone=zone,
        part=part,
        step=step,
        span=span,
        sheet=sheet_for(scene, instants, zone, chosen),
        settings=settings_under(scene, kit, instants),
        lanes=lanes_for(looks, scene, span.first_utc_s, span.last_utc_s, zone),
        found=found,
        missed={wanted.name: nearest(wanted.margins(scene), scene.observer, *half) for wanted, windows in found if not windows},
        stretches=day_stretches(scene.observer, *whole_day),
        neighbours=neighbours,
        caution=caution_for(looks),
        form=form,
        query=query,
        expected=expected,
    )


def _weather(form: Form, kept: KeptSite, on: date, desk: MorningDesk, now: float) -> tuple[Weather, str]:
    """Return the weather typed; where no wind is, the one kept for the low sun, with whose it is."""
    weather = weather_from(form)
    if weather.wind_m_s is not None or form.error("wind"):
        return weather, ""
    start, end = kept.civil_day(on)
    sun = low_sun(observer_of(kept), start, end, form.text("part", "evening"), SiteWeather())
    found = desk.weather.expected(kept, on, sun.utc_s if sun else (start + end) / 2, now)
    if found is None:
        return weather, ""
    told = replace(found[0], people_in_water=weather.people_in_water)
    return told, f"{weather_words(told)} {found[1]}"


def _neighbours(looks: tuple[WantedLook, ...], scene: Scene, on: date, kept: KeptSite, part: str) -> tuple[DayWindows, ...]:
    """Return the dates around with the first look's windows in the same part of the day."""
    first, last = days(on, -NEIGHBOURS), days(on, NEIGHBOURS)
    dates = [first + timedelta(n) for n in range((last - first).days + 1)]
    halves = [half_day(scene.observer, *kept.civil_day(day), part) for day in dates]
    around = windows_in_each(looks[0], scene, halves) if looks else ()
    return tuple(DayWindows(day, windows) for day, windows in zip(dates, around, strict=False))


def _span(form: Form, kept: KeptSite, on: date, usual: SheetSpan) -> SheetSpan:
    """Return the usual span, or the one typed as from and until; an end before the start is after midnight."""
    first = form.read("from", lambda text: _instant_on(text, on, kept.site.time_zone), usual.first_utc_s)
    last = form.read("until", lambda text: _instant_on(text, on, kept.site.time_zone), usual.last_utc_s)
    if first is None or last is None:
        return usual
    return replace(usual, first_utc_s=first, last_utc_s=last if last > first else last + 86_400.0)


def _instant_on(text: str, on: date, zone: str) -> float:
    """Return when the site's clocks show a time on a date, clocks changing that day or not."""
    return datetime.combine(on, clock_time(text), rules(zone)).timestamp()


def _instants(span: SheetSpan, step: float, chosen: frozenset[int], form: Form) -> np.ndarray:
    """Return the frames' instants with the ringed ones of the same stretch among them."""
    try:
        even = sheet_instants(span.first_utc_s, span.last_utc_s, step * MINUTE_S)
    except BadInput as error:
        form.errors[error.field or "step"] = str(error)
        even = np.linspace(span.first_utc_s, span.last_utc_s, 13).round()
    ringed = [at for at in chosen if even[0] <= at <= even[-1]]
    return np.unique(np.concatenate([even, ringed]))


def _moved(setup: Setup, camera: str | None, couple: str | None) -> Setup:
    """Return the setup with pins moved; their ground heights stay."""
    return replace(setup, camera_pin=_pin(camera, setup.camera_pin), couple_pin=_pin(couple, setup.couple_pin))


def _pin(text: str | None, pin: Pin) -> Pin:
    if not text:
        return pin
    there = parse_coordinates(text)
    return Pin(there.lat_deg, there.lon_deg, pin.ground_m)

