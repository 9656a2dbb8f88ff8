"""The year sheet: one look of one setup on every date of a year."""

from dataclasses import dataclass
from datetime import date
from itertools import groupby
from typing import ClassVar

from fastapi import APIRouter, Request, Response

from app.errors import NotFound
from app.looks.catalogue import LOOKS
from app.looks.look import WantedLook, wanted_look
from app.looks.search import DayWindows, windows_through
from app.picture.setup import Setup
from app.units import calendar_year
from app.web.drawing.year import YearSheet, days_of, draw_year
from app.web.forms import Form, query_form, typed
from app.web.now import Now, today_at
from app.web.render import render
from app.web.scenes import looks_of
from app.web.shelf import KeptSite, Sites
from app.web.typed_weather import FIELDS, weather_from, weather_query, weather_words
from app.web.words import setup_line

router = APIRouter()


@dataclass(frozen=True)
class Month:
    """One month of the year in words."""

    first: date
    days: tuple[DayWindows, ...]

    @property
    def open_days(self) -> tuple[DayWindows, ...]:
        """The dates with a window."""
        return tuple(one for one in self.days if one.windows)


@dataclass(frozen=True)
class YearSheetPage:
    """All that year_sheet.html may use."""

    template: ClassVar[str] = "year_sheet.html"
    kept: KeptSite
    setup: Setup
    line: str
    year: int
    zone: str
    wanted: WantedLook
    looks: tuple[str, ...]
    sheet: YearSheet
    months: tuple[Month, ...]
    open_count: int
    form: Form
    weather_words: str

    @property
    def weather(self) -> tuple[tuple[str, str], ...]:
        """The weather typed on the contact sheet, as names and texts."""
        return tuple((name, self.form.text(name)) for name in FIELDS if self.form.text(name))

    def onward(self, look: str = "") -> str:
        """Return the query that carries a look and the weather typed to another address."""
        return weather_query(self.form, look=look)

    @property
    def look_choices(self) -> tuple[tuple[str, str], ...]:
        """Looks as value and words for the select."""
        return tuple((name, name) for name in self.looks)


@router.get("/sites/{site}/setups/{setup}/year/{year}", name="year_sheet")
def year_sheet(request: Request, site: str, setup: str, year: str, sites: Sites, now: Now, look: str = "") -> Response:
    """One setup over a whole year: dates down, time across."""
    kept, in_year = sites.site(site), typed(calendar_year, year, "year")
    return render(request, _page(kept, kept.setup(setup), in_year, look, now, query_form(request)))


def chosen_look(setup: Setup, name: str) -> WantedLook:
    """Return the look of that name with the setup's own bounds, the catalogue's where it has none.

    Without a name, the setup's first look; ``NotFound`` when it has none.
    """
    own = looks_of(setup)
    if name:
        return next((wanted for wanted in own if wanted.name == name), None) or wanted_look(LOOKS, name)
    if not own:
        raise NotFound(f"The setup “{setup.name}” asks for no look yet; name one, such as backlit.")
    return own[0]


def _page(kept: KeptSite, setup: Setup, year: int, look: str, now: float, form: Form) -> YearSheetPage:
    weather, zone = weather_from(form), kept.site.time_zone
    wanted, scene = chosen_look(setup, look), kept.scene(setup, weather)
    days = windows_through(wanted, scene, *days_of(year), kept.civil_day)
    months = (tuple(same) for _, same in groupby(days, key=lambda one: one.day.month))
    return YearSheetPage(
        kept=kept,
        setup=setup,
        line=setup_line(setup),
        year=year,
        zone=zone,
        wanted=wanted,
        looks=tuple(dict.fromkeys([*(own.name for own in looks_of(setup)), *LOOKS])),
        sheet=draw_year(days, scene.observer, zone, today_at(zone, now)),
        months=tuple(Month(month[0].day, month) for month in months),
        open_count=sum(bool(one.windows) for one in days),
        form=form,
        weather_words=" ".join(form.errors.values()) or weather_words(weather),
    )
