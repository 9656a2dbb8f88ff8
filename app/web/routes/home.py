"""The first page: the sites with their next windows, and the quick question."""

from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from fastapi import APIRouter, Request, Response

from app.looks.look import WantedLook
from app.looks.search import next_window
from app.looks.window import Window
from app.picture.setup import Setup
from app.place.timezone import local_time
from app.web.forms import Form
from app.web.now import Now
from app.web.render import render
from app.web.scenes import looks_of
from app.web.shelf import KeptSite, Sites

router = APIRouter()


@dataclass(frozen=True)
class NextWindow:
    """The next window of a site: when, of which setup and look."""

    setup: Setup
    wanted: WantedLook
    window: Window
    day: date


@dataclass(frozen=True)
class ListedSite:
    """A site as the first page shows it."""

    kept: KeptSite
    coming: NextWindow | None


@dataclass(frozen=True)
class HomePage:
    """All that home.html may use."""

    template: ClassVar[str] = "home.html"
    sites: tuple[ListedSite, ...]
    today: date
    form: Form


@dataclass(frozen=True)
class AboutPage:
    """All that about.html may use."""

    template: ClassVar[str] = "about.html"


@router.get("/", name="home")
def home(request: Request, sites: Sites, now: Now) -> Response:
    """The sites, each with its next good window, and the quick question."""
    listed = tuple(ListedSite(kept, coming_window(kept, now)) for kept in sites.sites())
    return render(request, HomePage(listed, local_time(now, "UTC").date(), Form({})))


@router.get("/about", name="about")
def about(request: Request) -> Response:
    """What Westering reckons with, how well, and whose data it uses."""
    return render(request, AboutPage())


def coming_window(kept: KeptSite, now: float) -> NextWindow | None:
    """Return the site's next window to open, or open now, over the first look of every setup."""
    coming = []
    for setup in kept.setups():
        for wanted in looks_of(setup)[:1]:
            window = next_window(wanted, kept.scene(setup), now)
            if window:
                day = local_time(window.opens_utc_s, kept.site.time_zone).date()
                coming.append(NextWindow(setup, wanted, window, day))
    return min(coming, key=lambda one: one.window.opens_utc_s, default=None)
