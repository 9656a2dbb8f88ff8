"""The quick question: a place, a date and one bearing, without any pins."""

from dataclasses import dataclass
from datetime import date
from typing import ClassVar

import numpy as np
from fastapi import APIRouter, Request, Response

from app.lens.camera import camera_held
from app.looks.margin import Scene
from app.picture.setup import Setup
from app.picture.sheet import STEP_S, SheetSpan, sheet_instants, sheet_span
from app.picture.words import down_words, height_words, side_words
from app.place.coordinates import Coordinates, format_coordinates, parse_coordinates
from app.place.declination import Declination, declination, true_bearing_deg
from app.place.geodesy import direct
from app.place.site import Pin
from app.place.timezone import civil_day, zone_name
from app.sky.events import Stretch, day_stretches
from app.sky.line import line_crossings
from app.sky.track import Observer, SunTrack
from app.units import calendar_date, number, turned_deg
from app.web.drawing.frames import FrameSheet, sheet_for
from app.web.forms import Form, query_form
from app.web.now import Now, today_at
from app.web.render import render

router = APIRouter()
STANDARD_MM, STANDARD_M = 50.0, 8.0  # the lens and distance of the standard frame


@dataclass(frozen=True)
class Question:
    """A place, a date and a bearing, as understood. [° true]"""

    place: Coordinates
    zone: str
    day: date
    bearing_deg: float
    declination: Declination
    magnetic: bool

    @property
    def observer(self) -> Observer:
        """The place to look from."""
        return Observer(self.place.lat_deg, self.place.lon_deg, self.place.height_m or 0.0)

    @property
    def setup(self) -> Setup:
        """The standard frame: two people 8 m away along the bearing, a 50 mm lens on 36 x 24 mm."""
        couple = direct(self.place.lat_deg, self.place.lon_deg, self.bearing_deg, STANDARD_M)
        here = Pin(self.place.lat_deg, self.place.lon_deg)
        return Setup("first", "First setup", here, Pin(*couple), camera_held(STANDARD_MM, "36x24"))

    @property
    def place_words(self) -> str:
        """The place as it was understood."""
        return format_coordinates(self.place.lat_deg, self.place.lon_deg)


@dataclass(frozen=True)
class Moment:
    """One line of the evening: where the sun stands and how far from straight behind. [°]

    ``height`` is as seen while any of the sun is up, and below the horizon without air, as under the frames.
    """

    utc_s: float
    azimuth_deg: float
    backlight_deg: float
    side: str
    height: str


@dataclass(frozen=True)
class Answer:
    """All that the question is answered with."""

    question: Question
    span: SheetSpan
    moments: tuple[Moment, ...]
    crossings: tuple[Moment, ...]
    stretches: tuple[Stretch, ...]
    sheet: FrameSheet


@dataclass(frozen=True)
class BearingPage:
    """All that bearing.html may use."""

    template: ClassVar[str] = "bearing.html"
    form: Form
    today: date
    answer: Answer | None
    part: str


@router.get("/bearing", name="along_bearing")
def along_bearing(request: Request, now: Now) -> Response:
    """Answer the quick question, or show its form again with what was wrong."""
    form = query_form(request)
    question = _question(form, now) if form.typed else None
    part = "morning" if form.text("part") == "morning" else "evening"
    answer = _answer(question, part) if question else None
    page = BearingPage(form, today_at("UTC", now), answer, part)
    return render(request, page, 422 if form.errors else 200)


def _question(form: Form, now: float) -> Question | None:
    """Return what was asked, or None with the form's errors filled."""
    place = form.read("place", parse_coordinates)
    day = form.read("date", calendar_date, today_at("UTC", now))
    bearing = form.read("bearing", lambda text: number(text, "A bearing in degrees", 0, 360))
    if place is None or day is None or bearing is None:
        return None
    east = declination(place.lat_deg, place.lon_deg, day, place.height_m or 0.0)
    magnetic = form.text("north") == "magnetic"
    true = float(true_bearing_deg(bearing, east)) if magnetic else bearing % 360
    return Question(place, zone_name(place.lat_deg, place.lon_deg), day, true, east, magnetic)


def _answer(question: Question, part: str) -> Answer:
    observer, day = question.observer, civil_day(question.zone, question.day)
    span = sheet_span(observer, *day, part)
    instants = sheet_instants(span.first_utc_s, span.last_utc_s, STEP_S)
    scene = Scene(observer, question.setup)
    return Answer(
        question=question,
        span=span,
        moments=_moments(observer.sun_at(instants), question.bearing_deg),
        crossings=_moments(line_crossings(observer, *day, question.bearing_deg), question.bearing_deg),
        stretches=day_stretches(observer, *day),
        sheet=sheet_for(scene, instants, question.zone),
    )


def _moments(sun: SunTrack, bearing_deg: float) -> tuple[Moment, ...]:
    offsets = turned_deg(sun.azimuth_deg, bearing_deg)
    columns = np.stack([sun.utc_s, sun.azimuth_deg, offsets, sun.upper_edge_deg, sun.refracted_deg, sun.airless_deg], axis=-1).tolist()
    return tuple(Moment(*row[:3], side_words(row[2]), _height(*row[3:])) for row in columns)


def _height(upper_edge_deg: float, refracted_deg: float, airless_deg: float) -> str:
    return height_words(refracted_deg) if upper_edge_deg > 0 else down_words(airless_deg)
