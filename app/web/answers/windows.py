"""When the looks of a setup hold: on a date, and through a year."""

from datetime import date
from typing import Any

from app.errors import BadInput
from app.looks.catalogue import LOOKS
from app.looks.look import WantedLook, wanted_look
from app.looks.margin import Scene
from app.looks.search import windows_on, windows_through
from app.looks.window import Window
from app.picture.setup import Setup
from app.place.site import Site
from app.place.timezone import civil_day
from app.web.answers.times import iso_local, lived_day
from app.web.scenes import looks_of


def windows_answer(site: Site, scene: Scene, day: date, look: str | None = None) -> dict[str, Any]:
    """Return the windows that open on a date, in time order, of one look or all the setup asks for."""
    lived_day(site.time_zone, day)
    setup, wanted = scene.setup, looks_asked(scene.setup, look)
    return {
        "site": site.name,
        "setup": setup.name,
        "date": day.isoformat(),
        "time_zone": site.time_zone,
        "looks": [one.name for one in wanted],
        "windows": _in_order(site, [(one, _on(site, scene, one, day)) for one in wanted]),
    }


def year_answer(site: Site, scene: Scene, year: int, look: str) -> dict[str, Any]:
    """Return every date of a year with the windows of a look that open on it."""
    setup, first, last = scene.setup, date(year, 1, 1), date(year, 12, 31)
    found = [
        (one, windows_through(one, scene, first, last, lambda day: civil_day(site.time_zone, day)))
        for one in looks_asked(setup, look)
    ]
    days = zip(*(through for _, through in found), strict=True)
    return {
        "site": site.name,
        "setup": setup.name,
        "year": year,
        "time_zone": site.time_zone,
        "look": found[0][0].name,
        "days": [
            {
                "date": same[0].day.isoformat(),
                "windows": _in_order(site, [(one, part.windows) for (one, _), part in zip(found, same, strict=True)]),
            }
            for same in days
        ],
    }


def looks_asked(setup: Setup, look: str | None) -> tuple[WantedLook, ...]:
    """Return the setup's looks of this name, with its own bounds, or that look with the usual ones.

    All the setup's looks where no name is given.
    """
    own = looks_of(setup)
    if look is None:
        return own
    try:
        wanted = wanted_look(LOOKS, look)
    except BadInput as error:
        raise BadInput(str(error), "look") from error
    return tuple(one for one in own if one.name == wanted.name) or (wanted,)


def _on(site: Site, scene: Scene, wanted: WantedLook, day: date) -> tuple[Window, ...]:
    return windows_on(wanted, scene, day, lambda some: civil_day(site.time_zone, some))


def _in_order(site: Site, found: list[tuple[WantedLook, tuple[Window, ...]]]) -> list[dict[str, Any]]:
    pairs = [(window, wanted) for wanted, windows in found for window in windows]
    pairs.sort(key=lambda pair: (pair[0].opens_utc_s, pair[1].name))
    return [_window(window, wanted, site.time_zone) for window, wanted in pairs]


def _window(window: Window, wanted: WantedLook, zone: str) -> dict[str, Any]:
    return {
        "look": wanted.name,
        "opens": iso_local(window.opens_utc_s, zone),
        "closes": iso_local(window.closes_utc_s, zone),
        "opens_because": window.opens_because,
        "closes_because": window.closes_because,
        "best": iso_local(window.best_utc_s, zone),
        "best_fit": round(window.best_fit, 4),
    }
