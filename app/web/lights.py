"""The light of a setup for pages: the table through a part of a day, and lights as they are typed and kept."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

import numpy as np

from app.errors import BadInput
from app.light.even import moved_even, turned_even
from app.light.exposure import INTENTS
from app.light.faces import BROAD, SHORT, Face, agreement_words, key_height_deg, side_of_face
from app.light.flash import reach
from app.light.gels import GELS
from app.light.ground import ALBEDO
from app.light.high_speed import two_ways
from app.light.kit import Kit
from app.light.lights import Light
from app.light.stops import stops_words
from app.light.turbidity import turbidity_at
from app.looks.light_plan import LightPlan, light_plan
from app.looks.lighting import Lighting, lighting
from app.looks.margin import Scene
from app.outside.turbidity import monthly_turbidity
from app.picture.setup import Setup
from app.picture.sheet import sheet_instants, sheet_span
from app.place.geodesy import direct
from app.units import FloatArray, listed, number
from app.web.forms import Form
from app.web.render import clock
from app.web.shelf import KeptSite

WAYS_EVERY = 3  # rows
UNEVEN_STOPS, ONE_ALONE_STOPS = 1 / 6, 10.0
BETTER = {"filter": "the filter does it", "high speed": "high-speed sync does it", "either": "either does it", "neither": "neither does it"}
NEAR_WATER_M = 3.0  # nearer than this flash and water need care; design's figure, common practice


@dataclass(frozen=True)
class Row:
    """One moment of the table, in words."""

    at_utc_s: float
    sun: str
    sky_ev: str
    face_ev: str
    difference: str
    settings: str
    gives_way: str
    flash: str
    marked: str


@dataclass(frozen=True)
class LightFacts:
    """One light of a setup in words: what it is, where it stands, and what it does to each person."""

    number: int
    words: str
    where: str
    people: tuple[str, ...]
    evened: tuple[str, ...] = ()


@dataclass(frozen=True)
class Ways:
    """One moment's two ways past the sync time, each as settings and what the flash does."""

    at_utc_s: float
    at_sync: str
    high_speed: str
    better: str


@dataclass(frozen=True)
class LightTable:
    """The table with what was reckoned."""

    found: Lighting
    rows: tuple[Row, ...]
    lights: tuple[LightFacts, ...]
    ways: tuple[str, ...]
    two_ways: tuple[Ways, ...]
    turbidity: float


def light_table(kept: KeptSite, setup: Setup, kit: Kit, day: date, part: str, step_min: float, cover: float, correction_stops: float) -> LightTable:
    """Return the light of a setup through the evening or morning of a date; ``BadInput`` for lights or kit that cannot be used."""
    scene, plan = kept.scene(setup), light_plan(setup, kit)
    span = sheet_span(scene.observer, *kept.civil_day(day), part)
    sun = scene.observer.sun_at(sheet_instants(span.first_utc_s, span.last_utc_s, step_min * 60.0))
    linke = turbidity_at(monthly_turbidity(setup.camera_pin.lat_deg, setup.camera_pin.lon_deg), sun.utc_s)
    found = lighting(scene, plan, sun, linke, cover, correction_stops)
    rows = tuple(_row(found, at, kept.site.time_zone) for at in range(len(sun.utc_s)))
    return LightTable(found, rows, tuple(_facts(setup, plan, found)), tuple(_ways(found, kept.site.time_zone)), tuple(_two_ways(found)), float(np.mean(linke)))


def settings_under(scene: Scene, kit: Kit, instants_utc_s: FloatArray) -> tuple[str, ...]:
    """Return what to set at each moment under a clear sky, flash included; one line that says why where it cannot be told."""
    try:
        plan = light_plan(scene.setup, kit)
        sun = scene.observer.sun_at(instants_utc_s)
        pin = scene.setup.camera_pin
        found = lighting(scene, plan, sun, turbidity_at(monthly_turbidity(pin.lat_deg, pin.lon_deg), sun.utc_s))
        flash = [""] * len(sun.utc_s) if found.flashed is None else [f"; flash {found.flashed.words(at)}" for at in range(len(sun.utc_s))]
        return tuple(f"{found.settings.words(at)}{flash[at]}" for at in range(len(sun.utc_s)))
    except (BadInput, ValueError) as error:
        return tuple(f"no settings: {error}" for _ in instants_utc_s)


def read_exposure(form: Form) -> Mapping[str, Any]:
    """Return the exposure typed; faults stay in the form."""
    told = {name: form.text(name) for name in ("intent", "ground", "camera", "lens") if form.text(name)}
    if told.get("intent") and told["intent"] not in INTENTS:
        form.errors["intent"] = f"An intent is one of {', '.join(INTENTS)}."
    if told.get("ground") and told["ground"] not in ALBEDO:
        form.errors["ground"] = f"The ground is {listed(ALBEDO)}."
    f_number = form.read("f_number", lambda text: number(text.lower().removeprefix("f/"), "The aperture", 0.7, 64)) if form.text("f_number") else None
    return told if f_number is None else {**told, "f_number": f_number}


def read_light(form: Form, setup: Setup) -> dict[str, Any] | None:
    """Return a light typed by its distance from the couple and the angle from the camera's side; None with the form's errors."""
    away_m = form.read("away_m", lambda text: number(text, "The distance from the couple in metres", 0.3, 60))
    turn_deg = form.read("turn_deg", lambda text: number(text, "The angle from the camera, right positive, in degrees", -180, 180))
    height_m = form.read("height_m", lambda text: number(text, "The light's height in metres", 0, 20), default=2.0)
    if away_m is None or turn_deg is None or height_m is None:
        return None
    # The camera sees the couple's right on its right: walking right round them is anticlockwise from their side.
    lat_deg, lon_deg = direct(setup.couple_pin.lat_deg, setup.couple_pin.lon_deg, (setup.line_deg + 180.0 - turn_deg) % 360.0, away_m)
    aim = form.text("aim", "couple")
    told = {name: form.text(name) for name in ("flash", "modifier", "gel") if form.text(name)}
    return {**told, "pin": [round(lon_deg, 8), round(lat_deg, 8)], "height_m": height_m, "aim": int(aim) if aim.isdecimal() else aim}


def with_lights(setup: Setup, lights: tuple[Any, ...], kit: Kit) -> Setup:
    """Return the setup with other lights, once they can all be used; ``BadInput`` otherwise."""
    changed = replace(setup, lights=lights)
    plan = light_plan(changed, kit)
    if plan.lights:
        reach(plan.lights, plan.faces)
    return changed


def gel_names() -> tuple[str, ...]:
    """Return the gels there are, no gel first."""
    return tuple(gel.name for gel in GELS)


def _row(found: Lighting, at: int, zone: str) -> Row:
    sun, flashed = found.day.sun, found.flashed
    altitude = f"{sun.refracted_deg[at]:.1f}° up" if sun.refracted_deg[at] > 0 else f"{-sun.airless_deg[at]:.1f}° down"
    return Row(
        at_utc_s=float(sun.utc_s[at]),
        sun=altitude + (", makes them squint" if found.squint[at] > 0.2 else ""),
        sky_ev=f"{found.sky_ev100[at]:.1f}",
        face_ev=f"{found.face_ev100[at]:.1f}",
        difference=_difference(float(found.difference_stops[at])),
        settings=found.settings.words(at),
        gives_way="; ".join(found.settings.gives_way(at)),
        flash=flashed.words(at) if flashed is not None else "",
        marked=_marked(found, at, zone),
    )


def _difference(stops: float) -> str:
    if not np.isfinite(stops):
        return "unknown"
    if abs(stops) < 1 / 6:
        return "even"
    return f"sky {stops_words(abs(stops))} {'over' if stops > 0 else 'under'}"


def _marked(found: Lighting, at: int, zone: str) -> str:
    """Return what changes for the flash between the moment before and this one."""
    if found.flashed is None or at == 0:
        return ""
    before, now = bool(found.flashed.enough[at - 1]), bool(found.flashed.enough[at])
    if before == now:
        return ""
    if now:
        return f"from {clock(found.enough_from_s(at - 1), zone)} the flash is enough"
    return "from here the flash no longer holds it"


def _ways(found: Lighting, zone: str) -> list[str]:
    """Return the ways out at the first moment at which the flash falls short."""
    if found.flashed is None or found.flashed.enough.all():
        return []
    at = int(np.argmin(found.flashed.enough))
    told = [f"{way.words}{f' from {clock(way.utc_s, zone)} on' if way.utc_s else ''}" for way in found.ways_out(at)]
    return [f"At {clock(float(found.day.sun.utc_s[at]), zone)}: {words}." for words in told]


def _two_ways(found: Lighting) -> Iterator[Ways]:
    """Yield both ways every half an hour or so, where there are lights."""
    plan = found.plan
    if not plan.lights:
        return
    both = two_ways(plan.intent.camera_ev100(found.face_ev100, found.sky_ev100), found.face_lux, plan.limits, plan.lights, plan.faces)
    for at in range(0, len(found.day.sun.utc_s), WAYS_EVERY):
        yield Ways(float(found.day.sun.utc_s[at]), *both.words(at), BETTER[both.better(at)])


def _evened(light: Light, faces: tuple[Face, ...]) -> tuple[str, ...]:
    """Return how to give all faces the same: by turning alone, and by moving the least; nothing where it is even, or lights one alone."""
    try:
        turned, moved = turned_even(light, faces), moved_even(light, faces)
    except BadInput:
        return ()
    if turned.before_stops < UNEVEN_STOPS or turned.before_stops >= ONE_ALONE_STOPS:
        return ()
    return (f"To even it by turning: {turned.words}.", f"By moving: {moved.words}.")


def _facts(setup: Setup, plan: LightPlan, found: Lighting) -> list[LightFacts]:
    if not plan.lights:
        return []
    came = reach(plan.lights, plan.faces)
    lit = found.day.sun.refracted_deg > 0
    azimuth = float(found.day.sun.azimuth_deg[np.flatnonzero(lit)[-1]]) if lit.any() else None
    facts = []
    for which, light in enumerate(plan.lights):
        east, north, up = light.position_m
        away_m, bearing = float(np.hypot(east, north)), float(np.degrees(np.arctan2(east, north)) % 360)
        turn = (setup.line_deg + 180.0 - bearing + 180.0) % 360.0 - 180.0
        side = "on the camera's axis" if abs(turn) < 2 else f"{abs(turn):.0f}° to the {'right' if turn > 0 else 'left'} of the camera"
        words = ", ".join([light.words, *([light.modifier.name] if light.modifier else []), *([light.gel.name] if light.gel.loss_stops else [])])
        agrees = f"; {agreement_words(bearing, azimuth)}" if azimuth is not None else ""
        people = tuple(
            f"{face.words}: {came.distance_m[which, n]:.1f} m, {_full_power(float(came.f_number[which, n]))}, "
            f"{_side(side_of_face(face, (setup.line_deg + 180.0) % 360.0, bearing))}, {key_height_deg(face, light.position_m):.0f}° above the face"
            for n, face in enumerate(plan.faces)
        )
        between = came.difference_stops[which]
        uneven = f"; {stops_words(float(between))} between the people" if np.isfinite(between) and between > 1 / 6 else ""
        where = f"{away_m:.1f} m from the couple, {side}, {up:g} m up{agrees}{uneven}"
        facts.append(LightFacts(which + 1, words, where, people, _evened(light, plan.faces)))
    return facts


def _full_power(f_number: float) -> str:
    return f"f/{f_number:.1f} at full power and ISO 100" if f_number >= 0.05 else "nothing on the face"


def _side(side: str) -> str:
    return f"{side} side" if side in (SHORT, BROAD) else side


def near_water(kept: KeptSite, setup: Setup) -> bool:
    """Tell whether a light stands within 3 m of water, where it needs care."""
    from app.place.geodesy import LocalFrame
    from app.place.standing_notes import sides_of_rings

    for told in setup.lights:
        pin = told.get("pin")
        if isinstance(pin, list) and len(pin) >= 2:
            frame = LocalFrame(float(pin[1]), float(pin[0]))
            for water in kept.site.waters:
                sides = sides_of_rings(frame, (water.ring, *water.holes))
                if sides.nearest_m(1)[0] <= NEAR_WATER_M or sides.hold_origin(1)[0]:
                    return True
    return False


def cover_typed(text: str) -> float:
    """Return the share of cloud from oktas by eye, 0..8."""
    return number(text, "Cloud in oktas", 0, 8) / 8.0


def checked_step(text: str) -> float:
    """Return the minutes from row to row."""
    value = number(text, "The minutes between rows", 1, 60)
    if value <= 0:
        raise BadInput("The minutes between rows are above 0.", "step")
    return value
