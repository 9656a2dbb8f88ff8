"""The lists beside the plan: its setups with their windows, and everything drawn, by its numbers."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from app.looks.look import WantedLook
from app.looks.search import next_window
from app.picture.setup import Setup
from app.place.site import LonLat, Obstacle, Pin, Site, Survey, Water
from app.place.timezone import local_time
from app.sky.ephemeris import DAY_S
from app.sky.track import LAST_UTC_S
from app.units import percent
from app.web.drawing.plan_shown import Found, found_on
from app.web.scenes import looks_of
from app.web.shelf import KeptSite
from app.web.words import caution_for, setup_line


@dataclass(frozen=True)
class SetupEntry:
    """One setup; ``coming`` holds, for a look without windows, the next date that has one."""

    number: int
    setup: Setup
    line: str
    found: Found
    coming: Mapping[str, date | None]
    caution: str | None


@dataclass(frozen=True)
class Thing:
    """One thing on the plan beside the setups.

    ``corners`` are (latitude, longitude), an outline's without the last that
    repeats the first; ``least`` is how few there may be. [°]
    """

    feature_id: str
    kind: str
    name: str
    words: str
    corners: tuple[tuple[float, float], ...]
    closed: bool
    least: int


def entries_on(kept: KeptSite, day: date) -> tuple[SetupEntry, ...]:
    """Return every setup with the windows of its looks that open on a date."""
    return tuple(_entry(number, kept, setup, day) for number, setup in enumerate(kept.setups(), 1))


def things_on(site: Site) -> tuple[Thing, ...]:
    """Return everything on the plan that is no setup."""
    datum = site.datum or "the site's zero"
    return (*(_water(one, datum) for one in site.waters), *(_obstacle(one, datum) for one in site.obstacles), *map(_survey, site.surveys))


def pin_words(pin: Pin) -> str:
    """Return a pin as scripts and forms take it, to about a centimetre: “54.5701950, -3.1315322”."""
    return f"{pin.lat_deg:.7f}, {pin.lon_deg:.7f}"


def _entry(number: int, kept: KeptSite, setup: Setup, day: date) -> SetupEntry:
    found = found_on(kept, setup, day)
    coming = {wanted.name: _coming(kept, setup, wanted, day) for wanted, windows in found if not windows}
    return SetupEntry(number, setup, setup_line(setup), found, coming, caution_for(looks_of(setup)))


def _coming(kept: KeptSite, setup: Setup, wanted: WantedLook, day: date) -> date | None:
    """Return the next date after this one on which a look has a window, within a year and what is known."""
    _, end = kept.civil_day(day)
    known = int((LAST_UTC_S - end) // DAY_S) - 1
    if known < 1:
        return None
    window = next_window(wanted, kept.scene(setup), end, min(known, 366))
    return local_time(window.opens_utc_s, kept.site.time_zone).date() if window else None


def _water(water: Water, datum: str) -> Thing:
    wind = "sheltered from wind" if water.sheltered else "open to the wind"
    words = f"surface {_height(water.surface_m)} {datum}, {wind}"
    return Thing(water.id, "water", water.name, words, tuple(_corners(water.ring, True)), True, 3)


def _height(above_m: float) -> str:
    """Return “0.3 m below”, “level with” or “1 m above”."""
    return f"{abs(above_m):g} m {'below' if above_m < 0 else 'above'}" if above_m else "level with"


def _between(base_m: float, top_m: float) -> str:
    """Return “4 m to 5.2 m above”, or each with its own word where one lies below."""
    return f"{base_m:g} m to {top_m:g} m above" if base_m >= 0 else f"{_height(base_m)} to {_height(top_m)}"


def _obstacle(obstacle: Obstacle, datum: str) -> Thing:
    through = f", lets {percent(obstacle.lets_through)} through" if obstacle.lets_through else ""
    words = f"{_between(obstacle.base_m, obstacle.top_m)} {datum}{through}"
    corners = tuple(_corners(obstacle.outline, obstacle.closed))
    return Thing(
        obstacle.id,
        obstacle.kind,
        obstacle.name,
        words,
        corners,
        obstacle.closed,
        3 if obstacle.closed else 2,
    )


def _survey(survey: Survey) -> Thing:
    count, on = len(survey.sightings), f", sighted {survey.sighted_on}" if survey.sighted_on else ""
    words = f"{count} sighted point{'s' if count != 1 else ''}, eye {survey.eye_height_m:g} m up{on}"
    pin = ((survey.pin.lat_deg, survey.pin.lon_deg),)
    return Thing(survey.id, "skyline viewpoint", survey.name, words, pin, False, 1)


def _corners(outline: Sequence[LonLat], closed: bool) -> Iterator[tuple[float, float]]:
    return ((lat, lon) for lon, lat in (outline[:-1] if closed else outline))
