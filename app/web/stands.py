"""Where to stand, for pages: what is asked, reckoned at once or as an errand, and told in words."""

from collections import OrderedDict
from dataclasses import dataclass
from datetime import date, datetime, time
from threading import Lock
from typing import Annotated

from fastapi import Depends, Request

from app.looks.look import WantedLook
from app.looks.places import CAMERA, FACE_M
from app.looks.search import windows_on
from app.looks.where_to_stand import Candidate, Report, Stand, where_to_stand
from app.picture.setup import Setup
from app.picture.sheet import sheet_span
from app.picture.weather import Weather
from app.place.coordinates import format_coordinates
from app.place.skyline import ground_skyline
from app.place.timezone import rules
from app.web.render import clock
from app.web.scenes import ridges_from
from app.web.shelf import KeptSite

MOST_KEPT = 12


@dataclass(frozen=True)
class Asked:
    """One question: a look at a moment, and which pin may move how far. [s, m]"""

    setup: Setup
    wanted: WantedLook
    moved: str
    at_utc_s: float
    reach_m: float
    step_m: float
    weather: Weather

    def key(self, kept: KeptSite) -> str:
        """Return what tells this question from others, the site's version included."""
        bounds = sorted(self.wanted.bounds.items())
        return f"stand {kept.slug} {kept.version} {self.setup.id} {self.wanted.name} {bounds} {self.moved} {self.at_utc_s:.0f} {self.reach_m:g} {self.step_m:g} {self.weather}"


@dataclass(frozen=True)
class BestPlace:
    """A candidate in words."""

    number: int
    candidate: Candidate
    where: str
    coordinates: str
    holds: str


class Stands:
    """The last answers of this process; its methods may be called from any thread."""

    def __init__(self) -> None:
        self._lock, self._kept = Lock(), OrderedDict[str, Stand]()

    def of(self, key: str) -> Stand | None:
        with self._lock:
            return self._kept.get(key)

    def keep(self, key: str, stand: Stand) -> Stand:
        with self._lock:
            self._kept[key] = stand
            while len(self._kept) > MOST_KEPT:
                self._kept.popitem(last=False)
        return stand


async def _stands(request: Request) -> Stands:
    state = request.app.state
    if not hasattr(state, "stands"):
        state.stands = Stands()
    return state.stands


KeptStands = Annotated[Stands, Depends(_stands)]


def reckon(kept: KeptSite, asked: Asked, report: Report = lambda done, of: None) -> Stand:
    """Return the answer to a question, terrain included."""
    pin = asked.setup.camera_pin if asked.moved == CAMERA else asked.setup.couple_pin
    eye_m = asked.setup.lens_height_m if asked.moved == CAMERA else FACE_M
    ground = ground_skyline(kept.site, pin, eye_m, ridges_from(kept.terrain, kept.site, pin, eye_m))
    return where_to_stand(
        asked.wanted, lambda setup: kept.scene(setup, asked.weather), asked.setup, asked.moved, asked.at_utc_s,
        asked.reach_m, asked.step_m, ground=ground, report=report,
    )  # fmt: skip


def usual_moment(kept: KeptSite, setup: Setup, wanted: WantedLook, day: date, weather: Weather) -> float:
    """Return the best moment of the look's last window of a date; without one, half an hour before sunset. [s]"""
    scene = kept.scene(setup, weather)
    windows = windows_on(wanted, scene, day, kept.civil_day)
    if windows:
        return round(windows[-1].best_utc_s / 60) * 60.0
    return round(sheet_span(scene.observer, *kept.civil_day(day)).around_utc_s / 60) * 60.0 - 1800.0


def moment_at(kept: KeptSite, day: date, wanted: time) -> float:
    """Return a time of a date as an instant. [s]"""
    return datetime.combine(day, wanted, rules(kept.site.time_zone)).timestamp()


def best_places(kept: KeptSite, asked: Asked, stand: Stand, day: date) -> tuple[BestPlace, ...]:
    """Return the candidates in words, each with the window in which the look holds from there."""
    return tuple(
        BestPlace(number, one, where_words(one, asked.moved), format_coordinates(one.pin.lat_deg, one.pin.lon_deg), _holds(kept, asked, one, day))
        for number, one in enumerate(stand.candidates, 1)
    )


def where_words(one: Candidate, moved: str) -> str:
    """Return how far a place is from the pin as it is now: “3 m nearer to them and 2 m to the right”."""
    towards, away = ("nearer to them", "farther from them") if moved == CAMERA else ("farther from the camera", "nearer to it")
    ways = [
        f"{abs(metres):.0f} m {words[0] if metres > 0 else words[1]}"
        for metres, words in ((one.ahead_m, (towards, away)), (one.aside_m, ("to the right", "to the left")))
        if abs(metres) >= 0.5
    ]
    return " and ".join(ways) or "where the pin is now"


def _holds(kept: KeptSite, asked: Asked, one: Candidate, day: date) -> str:
    zone = kept.site.time_zone
    for window in windows_on(asked.wanted, kept.scene(one.setup, asked.weather), day, kept.civil_day):
        if window.opens_utc_s <= asked.at_utc_s <= window.closes_utc_s:
            times = f"{clock(window.opens_utc_s, zone)}–{clock(window.closes_utc_s, zone)}"
            return f"Holds {times}. Closes: {window.closes_because}."
    return "Holds at that moment."
