"""Pages: a dataclass that names its template, rendered with everything it holds."""

from dataclasses import fields
from datetime import date, datetime, timedelta
from functools import lru_cache
from pathlib import Path
from typing import Any, ClassVar, Protocol
from zoneinfo import ZoneInfo

from fastapi import FastAPI, Request, Response
from fastapi.templating import Jinja2Templates
from jinja2 import Environment, FileSystemLoader, StrictUndefined, pass_context
from jinja2.runtime import Context
from starlette.datastructures import URL, URLPath

from app.units import FIRST_YEAR, LAST_YEAR
from app.web.papers import PAPERS, paper_of

ROOT = Path(__file__).parents[2]


class Page(Protocol):
    """A frozen dataclass with all that its template may use."""

    template: ClassVar[str]


def render(request: Request, page: Page, status: int = 200) -> Response:
    """Return the page's template filled with the page's fields."""
    context = {field.name: getattr(page, field.name) for field in fields(page)}
    context |= {"page": page, "paper": paper_of(request), "papers": PAPERS, "closed": request.app.state.closed}
    return TEMPLATES.TemplateResponse(request, page.template, context, status_code=status)


def local(utc_s: float, zone: str) -> datetime:
    """Return an instant as the site's clocks show it."""
    return datetime.fromtimestamp(utc_s, ZoneInfo(zone))


def clock(utc_s: float, zone: str) -> str:
    """Return hours and minutes on the site's clocks, rounded to the nearest minute."""
    return local(round(utc_s / 60) * 60, zone).strftime("%H:%M")


def long_date(day: date) -> str:
    """Return “Sat 18 September 2027”."""
    return f"{day:%a} {day.day} {day:%B %Y}"


def short_date(day: date) -> str:
    """Return “Sat 18 Sep”."""
    return f"{day:%a} {day.day} {day:%b}"


def days(day: date, count: int) -> date:
    """Return the date so many days on, held within the years that are known."""
    return max(date(FIRST_YEAR, 1, 1), min(date(LAST_YEAR, 12, 31), day + timedelta(count)))


def capitalize_first(text: str) -> str:
    """Return the text with its first letter large and all others as they are."""
    return text[:1].upper() + text[1:]


def fixed(value: float, digits: int = 2) -> str:
    """Return a number for a drawing: no more digits than can be seen, never “-0”."""
    text = f"{value:.{digits}f}".rstrip("0").rstrip(".") if digits else f"{value:.0f}"
    return "0" if text in ("-0", "") else text


def lasting(minutes: float) -> str:
    """Return “24 min”, “11 h 24 min”, or “under 1 min”."""
    if 0 < minutes < 1:
        return "under 1 min"
    hours, rest = divmod(round(minutes), 60)
    return f"{hours} h {rest} min" if hours and rest else f"{hours} h" if hours else f"{rest} min"


def places(value: float, digits: int = 1) -> str:
    """Return a number for a reader, with as many decimals as are meant, never “-0”."""
    text = f"{value:.{digits}f}"
    return text.removeprefix("-") if float(text) == 0 else text


@pass_context
def url_for(context: Context, name: str, /, **path_params: Any) -> URL:
    """Return the address of a route; each is looked up once, for a page holds dozens and a look through all routes takes long."""
    request = context["request"]
    return _path_for(request.app, name, tuple(path_params.items())).make_absolute_url(request.base_url)


@lru_cache(maxsize=4096)
def _path_for(app: FastAPI, name: str, path_params: tuple[tuple[str, Any], ...]) -> URLPath:
    return app.url_path_for(name, **dict(path_params))


def _environment() -> Environment:
    environment = Environment(
        loader=FileSystemLoader(ROOT / "templates"),
        undefined=StrictUndefined,
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    filters: dict[str, Any] = {"clock": clock, "long_date": long_date, "short_date": short_date, "fixed": fixed, "places": places, "lasting": lasting, "local": local, "days": days, "capitalize_first": capitalize_first}
    environment.filters.update(filters)
    environment.globals["url_for"] = url_for
    return environment


TEMPLATES = Jinja2Templates(env=_environment())
