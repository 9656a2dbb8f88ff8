"""Which date to take: a shoot's setups over a year, and the dates on which all that must come fits."""

from dataclasses import dataclass
from datetime import date, time
from functools import lru_cache
from itertools import groupby
from typing import ClassVar

from fastapi import APIRouter, Request, Response

from app.place.timezone import local_time
from app.shoot.seasons import ShootDay, season
from app.units import calendar_year, clock_time
from app.web.drawing.season import SeasonDrawing, draw_season
from app.web.drawing.year import days_of
from app.web.forms import Form, query_form, typed
from app.web.now import Now, today_at
from app.web.render import render
from app.web.shoots import OpenShoot, Shoots

router = APIRouter()


@dataclass(frozen=True)
class SeasonMonth:
    """One month in words: its dates worth telling, which are those where every must fits, or all with light where none must."""

    first: date
    days: tuple[ShootDay, ...]

    @property
    def weekends(self) -> int:
        """How many of its dates are on a weekend and not blocked."""
        return sum(one.weekend and not one.blocked for one in self.days)


@dataclass(frozen=True)
class SeasonPage:
    """All that shoot_season.html may use."""

    template: ClassVar[str] = "shoot_season.html"
    opened: OpenShoot
    year: int
    form: Form
    drawing: SeasonDrawing | None
    months: tuple[SeasonMonth, ...]
    called: dict[str, str]
    any_must: bool

    @property
    def any_fixed(self) -> bool:
        """Whether a hand has fixed a beginning, which is not asked here."""
        return any(wish.fixed_start_utc_s is not None for wish in self.opened.whole.wishes)

    @property
    def other_hours(self) -> str:
        """The shoot's own hours where others are asked about here; nothing where they are the same or nobody said any."""
        own = tuple(f"{at:%H:%M}" for at in _usual(self.opened))
        same = own == (self.form.text("from"), self.form.text("to"))
        return "" if same or not self.opened.whole.free else "–".join(own)

    @property
    def count(self) -> int:
        """How many dates are told."""
        return sum(len(month.days) for month in self.months)


@router.get("/shoots/{shoot}/season/{year}", name="shoot_season")
def show_season(request: Request, shoot: str, year: str, shelf: Shoots, now: Now) -> Response:
    """Every date of a year: months down, days across, and the same in words."""
    opened, in_year, form = shelf.shoot(shoot), typed(calendar_year, year, "year"), query_form(request)
    usual = _usual(opened)
    start, end = form.read("from", clock_time, usual[0]), form.read("to", clock_time, usual[1])
    form = Form({"from": f"{usual[0]:%H:%M}", "to": f"{usual[1]:%H:%M}", **form.typed}, form.errors)
    days = _season(opened, in_year, start, end) if start is not None and end is not None and opened.shoot.wishes else ()
    return render(request, _page(opened, in_year, form, days, today_at(opened.whole.zone, now)), 422 if form.errors else 200)


@lru_cache(maxsize=16)
def _season(opened: OpenShoot, year: int, start: time, end: time) -> tuple[ShootDay, ...]:
    return season(opened.shoot, opened.scenes, *days_of(year), start, end)


def _usual(opened: OpenShoot) -> tuple[time, time]:
    """Return the people's time on the shoot's own date, the whole day where nobody said."""
    if not opened.whole.free:
        return time(0), time(0)
    first, last = opened.whole.free[0].starts_utc_s, opened.whole.free[-1].ends_utc_s
    return tuple(local_time(at, opened.whole.zone).time() for at in (first, last))


def _page(opened: OpenShoot, year: int, form: Form, days: tuple[ShootDay, ...], today: date) -> SeasonPage:
    any_must = any(wish.must for wish in opened.shoot.wishes)
    told = [one for one in days if (one.musts_fit if any_must else any(wish.minutes >= 1 for wish in one.wishes))]
    months = tuple(SeasonMonth(same[0].day, tuple(same)) for _, group in groupby(told, key=lambda one: one.day.month) if (same := list(group)))
    called = {one.id: opened.called(one) for one in opened.shoot.wishes}
    return SeasonPage(opened, year, form, draw_season(days, opened.shoot, any_must, opened.whole.day, today) if days else None, months, called, any_must)
