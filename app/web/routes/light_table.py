"""The light table of a setup: sky, face, settings and flash through an evening, and its lights."""

from dataclasses import dataclass
from datetime import date
from typing import Any, ClassVar

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from app.errors import BadInput
from app.light.exposure import INTENTS, Intent
from app.light.ground import ALBEDO
from app.light.kit import Kit
from app.light.stops import stops_words
from app.picture.setup import Setup
from app.picture.sheet import PARTS
from app.place.edit import with_feature
from app.place.sitefile import parse_site
from app.units import calendar_date, number
from app.web.conflicts import Posted
from app.web.forms import Form, counted, query_form, typed
from app.web.kits import kept_kit
from app.web.light_facts import near_water
from app.web.lights import LightTable, light_table
from app.web.moves import check_version, feature_with
from app.web.render import render
from app.web.shelf import KeptSite, Shelf, Sites
from app.web.typed_light import (
    checked_step,
    cover_typed,
    evened_lights,
    gel_names,
    read_exposure,
    read_facings,
    read_light,
    turns_deg,
    with_lights,
)

router = APIRouter()
MOST_STOPS = 6.0


@dataclass(frozen=True)
class LightTablePage:
    """All that light_table.html may use; ``fault`` says why there is no table."""

    template: ClassVar[str] = "light_table.html"
    kept: KeptSite
    setup: Setup
    zone: str
    day: date
    part: str
    form: Form
    kit: Kit
    table: LightTable | None
    fault: str
    intents: tuple[tuple[str, str], ...]
    grounds: tuple[str, ...]
    gels: tuple[str, ...]
    turns: tuple[str, ...]
    observed: str
    wet: bool


@router.get("/sites/{site}/setups/{setup}/settings/{day}", name="light_table")
def show_table(request: Request, site: str, setup: str, day: str, sites: Sites) -> Response:
    """What the light does through an evening, what to set, and whether the flash keeps up."""
    kept, on, form = sites.site(site), typed(calendar_date, day, "date"), query_form(request)
    return render(request, *_page(sites, kept, kept.setup(setup), on, form))


@router.post("/sites/{site}/setups/{setup}/exposure", name="keep_exposure")
def keep_exposure(request: Request, site: str, setup: str, form: Posted, sites: Sites) -> Response:
    """Keep what the exposure is made for, and with what."""
    kept, on = sites.site(site), typed(calendar_date, form.text("day"), "date")
    told = read_exposure(form)
    people = read_facings(form, kept.setup(setup))
    if form.errors:
        return render(request, *_page(sites, kept, kept.setup(setup), on, form))
    return _keep(request, sites, kept, kept.setup(setup), on, form, {"exposure": dict(told), "people": people})


@router.post("/sites/{site}/setups/{setup}/observed", name="keep_observed")
def keep_observed(request: Request, site: str, setup: str, form: Posted, sites: Sites) -> Response:
    """Keep what a meter found at the site over what is kept already, for every setup of it."""
    kept, on = sites.site(site), typed(calendar_date, form.text("day"), "date")
    found = form.read("correction", lambda text: number(text, "The correction in stops", -MOST_STOPS, MOST_STOPS), default=0.0)
    if found is None:
        return render(request, *_page(sites, kept, kept.setup(setup), on, form))
    version = form.text("version")
    check_version({"version": counted(version)}, kept.version, kept.site.name)
    stops = min(max(kept.site.observed_stops + found, -MOST_STOPS), MOST_STOPS)
    document = {**kept.site.document, "observed_stops": round(stops, 2)}
    sites.store.save_site(kept.slug, parse_site(document).document, kept.version)
    return RedirectResponse(request.url_for("light_table", site=kept.slug, setup=setup, day=on.isoformat()).path, 303)


@router.post("/sites/{site}/setups/{setup}/lights/evened", name="even_light")
def even_light(request: Request, site: str, setup: str, form: Posted, sites: Sites) -> Response:
    """Move one light to where all faces get the same."""
    kept, on = sites.site(site), typed(calendar_date, form.text("day"), "date")
    found = kept.setup(setup)
    lights = evened_lights(found, kept_kit(sites.store), form.text("light"))
    return _keep(request, sites, kept, found, on, form, {"lights": list(lights)})


@router.post("/sites/{site}/setups/{setup}/lights", name="add_light")
def add_light(request: Request, site: str, setup: str, form: Posted, sites: Sites) -> Response:
    """Put one more light on its stand."""
    kept, on = sites.site(site), typed(calendar_date, form.text("day"), "date")
    found, kit = kept.setup(setup), kept_kit(sites.store)
    light = read_light(form, found)
    if light is not None:
        try:
            changed = with_lights(found, (*found.lights, light), kit)
        except (BadInput, ValueError) as error:
            form.errors["light"] = str(error)
    if light is None or form.errors:
        return render(request, *_page(sites, kept, found, on, form))
    return _keep(request, sites, kept, found, on, form, {"lights": list(changed.lights)})


@router.post("/sites/{site}/setups/{setup}/lights/removal", name="remove_light")
def remove_light(request: Request, site: str, setup: str, form: Posted, sites: Sites) -> Response:
    """Take one light away."""
    kept, on = sites.site(site), typed(calendar_date, form.text("day"), "date")
    found, which = kept.setup(setup), form.text("light")
    left = [one for n, one in enumerate(found.lights, 1) if str(n) != which]
    return _keep(request, sites, kept, found, on, form, {"lights": left})


def _keep(request: Request, sites: Shelf, kept: KeptSite, setup: Setup, day: date, form: Form, changed: dict[str, Any]) -> Response:
    version = form.text("version")
    check_version({"version": counted(version)}, kept.version, kept.site.name)
    feature = feature_with(kept.site, setup.id)
    document = with_feature(kept.site.document, {**feature, "properties": {**feature["properties"], **changed}})
    sites.store.save_site(kept.slug, parse_site(document).document, kept.version)
    return RedirectResponse(request.url_for("light_table", site=kept.slug, setup=setup.id, day=day.isoformat()).path, 303)


def _page(sites: Shelf, kept: KeptSite, setup: Setup, day: date, form: Form) -> tuple[LightTablePage, int]:
    part = form.text("part") if form.text("part") in PARTS else PARTS[0]
    step = form.read("step", checked_step, default=10.0) or 10.0
    cover = form.read("oktas", cover_typed, default=0.0)
    stops = form.read("correction", lambda text: number(text, "The correction in stops", -MOST_STOPS, MOST_STOPS), default=0.0)
    table, fault, kit = None, "", Kit()
    try:
        kit = kept_kit(sites.store)
        table = light_table(kept, setup, kit, day, part, step, cover or 0.0, kept.site.observed_stops + (stops or 0.0))
    except (BadInput, ValueError) as error:
        fault = str(error)
    page = LightTablePage(
        kept=kept,
        setup=setup,
        zone=kept.site.time_zone,
        day=day,
        part=part,
        form=form,
        kit=kit,
        table=table,
        fault=fault,
        intents=tuple((name, Intent.named(name).words) for name in INTENTS),
        grounds=tuple(ALBEDO),
        gels=gel_names(),
        turns=turns_deg(setup),
        observed=f"{stops_words(abs(kept.site.observed_stops))} {'brighter' if kept.site.observed_stops > 0 else 'darker'}",
        wet=near_water(kept, setup),
    )
    return page, 422 if form.errors else 200
