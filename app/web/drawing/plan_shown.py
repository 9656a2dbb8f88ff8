"""One plan with its strip of frames: which setup of a site, on which date, at which moment."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from functools import cached_property

import numpy as np

from app.looks.look import WantedLook
from app.looks.margin import Scene
from app.looks.search import windows_on
from app.looks.window import Window
from app.picture.frame import sight
from app.picture.setup import Setup
from app.picture.sheet import STEP_S, SheetSpan, sheet_instants, sheet_span
from app.picture.words import height_words, hidden_words
from app.place.timezone import rules
from app.units import FloatArray
from app.web.drawing.frames import FrameSheet, sheet_for
from app.web.drawing.plan import Moment, Plan, PlanOf, desk_plan, hand_plan
from app.web.drawing.plan_picture import LaidPicture
from app.web.light import sun_now
from app.web.scenes import looks_of
from app.web.shelf import KeptSite

Found = tuple[tuple[WantedLook, tuple[Window, ...]], ...]


@dataclass(frozen=True)
class Shown:
    """What a page shows of a site at one moment.

    ``of`` is what the plan is drawn from; drawings are made when they are asked
    for. ``at_utc_s``, ``span`` and ``sun_words`` are None on a site without setups.
    """

    setup: Setup | None
    day: date
    of: PlanOf
    chosen: frozenset[int] = frozenset()
    scale: float | None = None
    at_utc_s: float | None = None
    span: SheetSpan | None = None
    sun_words: str | None = None

    @cached_property
    def desk(self) -> Plan:
        """The whole plan, for a desk."""
        return desk_plan(self.of, self.scale)

    @cached_property
    def hand(self) -> Plan | None:
        """The part of the plan around the setup, for a phone; None without a setup."""
        return hand_plan(self.of)

    @cached_property
    def frames(self) -> FrameSheet | None:
        """The setup's frames of the evening, the moment shown among them; None without a setup."""
        if self.of.scene is None:
            return None
        return sheet_for(
            self.of.scene, self.of.moment.instants_utc_s, self.of.moment.zone, self.chosen, "strip"
        )


def shown(
    kept: KeptSite,
    setup: Setup | None,
    day: date,
    wanted: time | None = None,
    chosen: frozenset[int] = frozenset(),
    picture: LaidPicture | None = None,
    scale: float | None = None,
) -> Shown:
    """Return the plan and the frames for a setup; without a time, for the best moment of its evening.

    A setup whose pins are being moved is drawn where they are, on the sheet that
    the kept ones fill.
    """
    site, setups, zone = kept.site, kept.setups(), kept.site.time_zone
    if setup is None:
        return Shown(
            None,
            day,
            PlanOf(site, setups, setups, None, Moment(0.0, np.array([]), zone, day), picture),
            scale=scale,
        )
    scene = kept.scene(setup)
    span = sheet_span(scene.observer, *kept.civil_day(day))
    even = sheet_instants(span.first_utc_s, span.last_utc_s, STEP_S)
    at = _instant(wanted, day, zone, even) if wanted else _best(kept, scene, setup, day, even, span)
    ringed = [ring for ring in chosen if even[0] <= ring <= even[-1]]
    moment = Moment(at, np.unique(np.concatenate([even, ringed, [at]])), zone, day)
    of = PlanOf(site, _with(setups, setup), setups, scene, moment, picture, sun_now(kept, at).toned(site))
    return Shown(setup, day, of, chosen, scale, at, span, _sun_words(scene, at))


def found_on(kept: KeptSite, setup: Setup, day: date) -> Found:
    """Return the windows of each of a setup's looks that open on a date."""
    scene = kept.scene(setup)
    return tuple((wanted, windows_on(wanted, scene, day, kept.civil_day)) for wanted in looks_of(setup))


def _with(setups: tuple[Setup, ...], moved: Setup) -> tuple[Setup, ...]:
    """Return the setups with one of them as it is being moved."""
    return tuple(moved if one.id == moved.id else one for one in setups)


def _instant(wanted: time, day: date, zone: str, frames_utc_s: FloatArray) -> float:
    """Return a time of day as an instant: after midnight where the frames run that far, else on the date."""
    tonight, morning = (
        datetime.combine(on, wanted, rules(zone)).timestamp() for on in (day, day + timedelta(days=1))
    )
    return morning if frames_utc_s[0] <= morning <= frames_utc_s[-1] else tonight


def _best(kept: KeptSite, scene: Scene, setup: Setup, day: date, even: FloatArray, span: SheetSpan) -> float:
    """Return the frame nearest the best moment of the first window among the frames, or nearest sunset."""
    bests = (window.best_utc_s for _, windows in found_on(kept, setup, day) for window in windows)
    at = next((best for best in bests if even[0] <= best <= even[-1]), span.around_utc_s)
    return float(even[np.argmin(np.abs(even - at))])


def _sun_words(scene: Scene, at_utc_s: float) -> str:
    """Return “the sun is at 266° true, 5.4° up”, and what hides it from the camera."""
    seen = sight(scene.setup, scene.skyline, scene.observer.sun_at(np.array([at_utc_s])))
    bearing = f"the sun is at {seen.sun.azimuth_deg[0]:.0f}° true"
    if seen.clear_deg[0] > 0:
        return f"{bearing}, {height_words(seen.altitude_deg[0])}"
    return f"{bearing}, {hidden_words(seen, scene.skyline, 0)}"
