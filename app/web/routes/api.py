"""The answers of the command line as JSON, under /api/."""

import re
from collections.abc import Mapping
from typing import Annotated, Any

from fastapi import APIRouter, Query, Request

from app.errors import BadInput
from app.picture.sheet import PARTS
from app.units import listed
from app.web.answers.day import day_asked
from app.web.answers.light import light_answer
from app.web.answers.order import order_answer
from app.web.answers.question import Question
from app.web.answers.sites import site_answer, sites_answer
from app.web.answers.sun import sun_asked
from app.web.answers.windows import windows_answer, year_answer
from app.web.kits import kept_kit
from app.web.shelf import Sites
from app.web.shoots import Shoots
from app.web.typed_weather import weather_asked

ERROR = {
    "type": "object",
    "properties": {"error": {"type": "string"}, "field": {"type": ["string", "null"]}},
    "required": ["error", "field"],
}
TROUBLE = {
    status: {"description": meaning, "content": {"application/json": {"schema": ERROR}}}
    for status, meaning in ((404, "No such site or setup."), (422, "A value that cannot be used, in one sentence."))
}
SPACE_FOR_PLUS = re.compile(r"(T\S+) (\d{2}:?\d{2})$")  # a plus sign in an address stands for a space

router = APIRouter(prefix="/api", tags=["answers"], responses=TROUBLE)

Answer = dict[str, Any]
Latitude = Annotated[str, Query(description="WGS84, north positive, -90..90 [°]")]
Longitude = Annotated[str, Query(description="WGS84, east positive, -180..180 [°]")]
Bearing = Annotated[str, Query(description="A line to compare with, 0..360; true north unless magnetic [°]")]
Magnetic = Annotated[str, Query(description="yes when a compass gave the bearing; it is corrected by the date")]
Zone = Annotated[str, Query(description="Time zone such as Europe/London; that of the place when left out")]
Day = Annotated[str, Query(description="Such as 2027-09-18, from 1950 to 2100")]
Look = Annotated[str, Query(description="Name of a look, with the setup's bounds if it asks for it")]
Wind = Annotated[str, Query(description="Ten-minute mean at 10 m, or like “force 3”; left out where nobody knows [m/s]")]
WindFrom = Annotated[str, Query(description="Where it blows from, true bearing or like SW [°]")]
InWater = Annotated[str, Query(description="yes when people wade or swim in the picture's water")]


@router.get("/sun", name="api_sun", response_description="Azimuth from true north, airless and seen altitude.")
def sun(
    request: Request,
    lat: Latitude = "",
    lon: Longitude = "",
    at: Annotated[str, Query(description="ISO 8601 with its offset or Z")] = "",
    height: Annotated[str, Query(description="Above sea level; 0 when left out [m]")] = "",
    pressure: Annotated[str, Query(description="Standard for the height when left out [hPa]")] = "",
    temperature: Annotated[str, Query(description="10 when left out [°C]")] = "",
    bearing: Bearing = "",
    magnetic: Magnetic = "",
    tz: Zone = "",
) -> Answer:
    """Where the sun stands at an instant; with a bearing also how far from it, and when it crosses it."""
    return sun_asked(_question(request))


@router.get("/day", name="api_day", response_description="Events, stretches, moon and notes of one date.")
def day(
    request: Request,
    lat: Latitude = "",
    lon: Longitude = "",
    date: Day = "",
    tz: Zone = "",
    eye_height: Annotated[str, Query(description="Above the sea or plain that makes the horizon [m]")] = "",
    bearing: Bearing = "",
    magnetic: Magnetic = "",
) -> Answer:
    """What the sun does on a date.

    An event has a time only where its status is ok; otherwise the sun stays above or below all day.
    """
    return day_asked(_question(request))


@router.get("/sites", name="api_sites", response_description="Every site's address and name.")
def sites(shelf: Sites) -> Answer:
    """The sites that are kept here."""
    return sites_answer(shelf)


@router.get("/sites/{site}", name="api_site", response_description="Its place, time zone and setups.")
def site(site: str, shelf: Sites) -> Answer:
    """One site and its setups."""
    return site_answer(shelf.site(site))


@router.get("/sites/{site}/setups/{setup}/windows", name="api_windows", response_description="Windows in time order.")
def windows(
    request: Request,
    site: str,
    setup: str,
    shelf: Sites,
    date: Day = "",
    look: Look = "",
    wind: Wind = "",
    wind_from: WindFrom = "",
    people_in_water: InWater = "",
) -> Answer:
    """The windows that open on a date, of one look or of all that the setup asks for."""
    kept, question = shelf.site(site), _question(request)
    scene = kept.scene(kept.setup(setup), weather_asked(question.texts))
    return windows_answer(kept.site, scene, question.day(), question.look())


@router.get("/sites/{site}/setups/{setup}/year/{year}", name="api_year", response_description="Every date's windows.")
def year(
    request: Request,
    site: str,
    setup: str,
    year: str,
    shelf: Sites,
    look: Look = "",
    wind: Wind = "",
    wind_from: WindFrom = "",
    people_in_water: InWater = "",
) -> Answer:
    """Every date of a year with the windows of a look that open on it."""
    kept, question = shelf.site(site), _question(request, {"year": year})
    scene = kept.scene(kept.setup(setup), weather_asked(question.texts))
    return year_answer(kept.site, scene, question.year(), question.needed_look())


@router.get("/sites/{site}/setups/{setup}/light/{date}", name="api_light", response_description="Every ten minutes: sky, faces, colours, settings, flash.")
def light(request: Request, site: str, setup: str, date: str, shelf: Sites, part: Annotated[str, Query(description="evening or morning")] = PARTS[0]) -> Answer:
    """The light of a setup through an evening or morning under a clear sky."""
    kept, question = shelf.site(site), _question(request, {"date": date})
    if part not in PARTS:
        raise BadInput(f"A part of the day is {listed(PARTS)}; “{part[:40]}” came.", "part")
    return light_answer(kept.site, kept.scene(kept.setup(setup)), kept_kit(shelf.store), question.day(), part)


@router.get("/shoots/{shoot}", name="api_shoot", response_description="Its slots in time order, with reasons and standbys.")
def shoot(shoot: str, shelf: Shoots) -> Answer:
    """The running order of a shoot, or why there is none."""
    return order_answer(shelf.shoot(shoot))


def _question(request: Request, more: Mapping[str, str] | None = None) -> Question:
    """Return the address's query as a question; the named arguments of a route only describe it."""
    texts = {**request.query_params, **(more or {})}
    return Question({**texts, "at": SPACE_FOR_PLUS.sub(r"\1+\2", texts.get("at", ""))})
