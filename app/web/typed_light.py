"""The light of a setup as it is typed: exposure, where people look, lights on their stands."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from app.errors import BadInput
from app.light.even import moved_even
from app.light.exposure import INTENTS
from app.light.faces import Point
from app.light.flash import reach
from app.light.gels import GELS
from app.light.ground import ALBEDO
from app.light.kit import Kit
from app.looks.light_plan import light_plan
from app.picture.setup import Setup, properties_of
from app.place.geodesy import LocalFrame, direct
from app.units import listed, number, signed_deg
from app.web.forms import Form, counted


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
    return {**told, "pin": [round(lon_deg, 8), round(lat_deg, 8)], "height_m": height_m, "aim": aim if counted(aim) is None else counted(aim)}


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


def cover_typed(text: str) -> float:
    """Return the share of cloud from oktas by eye, 0..8."""
    return number(text, "Cloud in oktas", 0, 8) / 8.0


def checked_step(text: str) -> float:
    """Return the minutes from row to row."""
    value = number(text, "The minutes between rows", 1, 60)
    if value <= 0:
        raise BadInput("The minutes between rows are above 0.", "step")
    return value


def read_facings(form: Form, setup: Setup) -> list[dict[str, Any]]:
    """Return the people with where each looks, typed as degrees from the camera, positive to the picture's right; empty keeps none."""
    people = properties_of(setup)["people"]
    for n, one in enumerate(people, 1):
        name = f"turn_{n}_deg"
        if name not in form.typed:
            continue
        one.pop("facing_deg", None)
        if form.text(name):
            turn = form.read(name, lambda text: number(text, "Where somebody looks, in degrees from the camera", -180, 180))
            if turn is not None:
                one["facing_deg"] = round((setup.line_deg + 180.0 - turn) % 360.0, 1)
    return people


def turns_deg(setup: Setup) -> tuple[str, ...]:
    """Return where each person looks as the form has it; empty for into the camera."""
    facings = (one.facing_deg for one in setup.people)
    return tuple("" if facing is None else f"{float(signed_deg(setup.line_deg + 180.0 - facing)):.0f}" for facing in facings)


def evened_lights(setup: Setup, kit: Kit, which: str) -> tuple[Any, ...]:
    """Return the setup's lights with one moved, the least, to where all faces get the same."""
    plan = light_plan(setup, kit)
    place = counted(which)
    if place is None or not 1 <= place <= len(plan.lights):
        raise BadInput("There is no such light.", "light")
    at = place - 1
    moved = moved_even(plan.lights[at], plan.faces).light
    frame = LocalFrame(setup.couple_pin.lat_deg, setup.couple_pin.lon_deg)
    pin, aim = (_lon_lat(frame, point) for point in (moved.position_m, moved.aim_m))
    told = {**setup.lights[at], "pin": pin, "height_m": round(moved.position_m[2], 2), "aim": [*aim, round(moved.aim_m[2], 2)]}
    return (*setup.lights[:at], told, *setup.lights[at + 1 :])


def _lon_lat(frame: LocalFrame, point_m: Point) -> list[float]:
    lat, lon, _ = frame.to_degrees(point_m[0], point_m[1])
    return [round(float(lon), 8), round(float(lat), 8)]
