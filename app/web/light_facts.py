"""Lights and faces of a setup in words: where each light stands, what it does to each person, and what the sun does."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from app.errors import BadInput
from app.light.catchlight import catchlight
from app.light.even import moved_even, turned_even
from app.light.faces import (
    BROAD,
    FRONT,
    RIM,
    SHORT,
    SIDE_WORDS,
    SQUARE_ON,
    UNSEEN,
    Face,
    Point,
    agreement_words,
    direction,
    key_height_deg,
    side_of_face,
    squint,
)
from app.light.flash import Reach, reach
from app.light.gels import gel_words
from app.light.lights import Light
from app.light.stops import stops_words
from app.looks.light_plan import LightPlan
from app.looks.lighting import Lighting
from app.picture.setup import Setup
from app.place.geodesy import LocalFrame
from app.place.standing_notes import sides_of_rings
from app.units import signed_deg
from app.web.render import clock
from app.web.shelf import KeptSite

UNEVEN_STOPS, ONE_ALONE_STOPS = 1 / 6, 10.0
NEAR_WATER_M = 3.0  # nearer than this flash and water need care; design's figure, common practice
OVERHEAD_M = 0.1
LEAST_SUN = 0.02  # with less of its light left there is no sun to speak of
SUN_WORDS = {
    SHORT: f"the sun on the {SIDE_WORDS[SHORT]}",
    BROAD: f"the sun on the {SIDE_WORDS[BROAD]}",
    FRONT: f"the sun {SIDE_WORDS[FRONT]}",
    RIM: f"the sun {SIDE_WORDS[RIM]}",
    SQUARE_ON: f"the sun {SIDE_WORDS[SQUARE_ON]}",
    UNSEEN: "turned away from the camera, which does not see what the sun does to the face",
}
HARD_SQUINT, SOME_SQUINT = 0.6, 0.2  # to look right


@dataclass(frozen=True)
class LightFacts:
    """One light of a setup in words: what it is, where it stands, and what it does to each person.

    ``moved`` is the light where all faces get the same, moved the least; None where it is
    even, lights one alone or cannot be evened.
    """

    number: int
    words: str
    where: str
    people: tuple[str, ...]
    gels: tuple[str, ...] = ()
    evened: tuple[str, ...] = ()
    moved: Light | None = None


@dataclass(frozen=True)
class FaceFacts:
    """What the sun does to one face through a part of a day, as sentences."""

    name: str
    words: tuple[str, ...]


def light_facts(setup: Setup, plan: LightPlan, found: Lighting, zone: str) -> list[LightFacts]:
    """Return each light of a setup in words; ``found`` has the moments that they are held against."""
    try:
        came, low = reach(plan.lights, plan.faces) if plan.lights else None, _low_sun(found)
    except BadInput as error:
        return [LightFacts(n, light.words, f"does nothing: {error}".rstrip("."), ()) for n, light in enumerate(plan.lights, 1)]
    facts = []
    for which, light in enumerate(plan.lights):
        words = ", ".join([light.words, *([light.modifier.name] if light.modifier else []), *([light.gel.name] if light.gel.loss_stops else [])])
        people = tuple(_on_face(setup, face, light, came, (which, n)) for n, face in enumerate(plan.faces))
        evened, moved = _evened(light, plan.faces)
        facts.append(LightFacts(which + 1, words, _where(setup, light, came.difference_stops[which], low, zone), people, _gels(found, light), evened, moved))
    return facts


def face_facts(setup: Setup, plan: LightPlan, found: Lighting, zone: str) -> tuple[FaceFacts, ...]:
    """Return for every face from which side the sun comes, whether it reaches it, and when it makes it squint."""
    return tuple(FaceFacts(face.words, tuple(_sun_on(setup, face, found, n, zone))) for n, face in enumerate(plan.faces))


def near_water(kept: KeptSite, setup: Setup) -> bool:
    """Tell whether a light stands within 3 m of water, where it needs care."""
    pins = (told.get("pin") for told in setup.lights)
    frames = (LocalFrame(float(pin[1]), float(pin[0])) for pin in pins if isinstance(pin, list) and len(pin) >= 2)
    sides = (sides_of_rings(frame, (water.ring, *water.holes)) for frame in frames for water in kept.site.waters)
    return any(one.nearest_m(1)[0] <= NEAR_WATER_M or one.hold_origin(1)[0] for one in sides)


def _low_sun(found: Lighting) -> tuple[float, float] | None:
    """Return the last moment at which the sun is up, or the first where that comes later in its day, and its azimuth."""
    lit = np.flatnonzero(found.day.sun.refracted_deg > 0)
    if not len(lit):
        return None
    at = lit[int(np.argmin(found.day.sun.refracted_deg[lit]))]
    return float(found.day.sun.utc_s[at]), float(found.day.sun.azimuth_deg[at])


def _where(setup: Setup, light: Light, between: float, low: tuple[float, float] | None, zone: str) -> str:
    east, north, up = light.position_m
    away_m, bearing = float(np.hypot(east, north)), float(np.degrees(np.arctan2(east, north)) % 360)
    turn = float(signed_deg(setup.line_deg + 180.0 - bearing))
    side = "on the camera's axis" if abs(turn) < 2 else f"{abs(turn):.0f}° to the {'right' if turn > 0 else 'left'} of the camera"
    told = [f"{away_m:.1f} m from the couple, {side}, {up:g} m up" if away_m >= OVERHEAD_M else f"over the couple, {up:g} m up"]
    if low is not None and away_m >= OVERHEAD_M:
        told.append(f"{agreement_words(bearing, low[1])} at {clock(low[0], zone)}")
    if np.isfinite(between) and between > UNEVEN_STOPS:
        told.append(f"{stops_words(float(between))} between the people")
    return "; ".join(told)


def _on_face(setup: Setup, face: Face, light: Light, came: Reach, at: tuple[int, int]) -> str:
    east, north, _ = light.position_m
    bearing = float(np.degrees(np.arctan2(east - face.position_m[0], north - face.position_m[1])) % 360)
    side, height = side_of_face(face, (setup.line_deg + 180.0) % 360.0, bearing), key_height_deg(face, light.position_m)
    told = [
        f"{came.distance_m[at]:.1f} m",
        _full_power(float(came.f_number[at])),
        _side(side),
        f"{abs(height):.0f}° {'above' if height >= 0 else 'below'} the face",
        *(_catch(setup, face, light) if side not in (RIM, UNSEEN) else []),
    ]
    return f"{face.words}: {', '.join(told)}"


def _catch(setup: Setup, face: Face, light: Light) -> list[str]:
    try:
        return [catchlight(face, _camera_m(setup), light.position_m).words]
    except BadInput:
        return []


def _camera_m(setup: Setup) -> Point:
    """Return the lens in metres about the couple's ground."""
    back = direction(setup.line_deg + 180.0, 0.0)
    return float(back[0] * setup.distance_m), float(back[1] * setup.distance_m), setup.eye_m


def _full_power(f_number: float) -> str:
    return f"f/{f_number:.1f} at full power and ISO 100" if f_number >= 0.05 else "nothing on the face"


def _side(side: str) -> str:
    return f"{side} side" if side in (SHORT, BROAD) else side


def _evened(light: Light, faces: tuple[Face, ...]) -> tuple[tuple[str, ...], Light | None]:
    """Return how to give all faces the same: by turning alone, and by moving the least; nothing where it is even, or lights one alone."""
    try:
        turned, moved = turned_even(light, faces), moved_even(light, faces)
    except BadInput:
        return (), None
    if turned.before_stops < UNEVEN_STOPS or turned.before_stops >= ONE_ALONE_STOPS:
        return (), None
    words = (f"To even it by turning: {turned.words}.", f"By moving: {moved.words}.")
    return words, moved.light if moved.moved_m >= 0.05 else None


def _gels(found: Lighting, light: Light) -> tuple[str, ...]:
    """Return which gel brings a light to the sun's colour, midway through the time it is up, and to the sky's."""
    colours, up = found.colours, np.flatnonzero(np.isfinite(found.colours.sun_k))
    told = [("the sun", float(colours.sun_k[up[len(up) // 2]]))] if len(up) else []
    told.append(("the sky", float(colours.sky_k[-1])))
    return tuple(f"To {what}'s colour: {gel_words(round(kelvin, -2), light.flash.colour_k)}." for what, kelvin in told if np.isfinite(kelvin))


def _sun_on(setup: Setup, face: Face, found: Lighting, which: int, zone: str) -> Iterator[str]:
    """Yield from which side the sun comes to a face, and when it makes it squint."""
    sun, share = found.day.sun, found.sun_on_faces[which]
    camera_deg = (setup.line_deg + 180.0) % 360.0
    reaches = (sun.upper_edge_deg > 0) & (share > LEAST_SUN)
    sides = [side_of_face(face, camera_deg, float(azimuth)) if up else "" for azimuth, up in zip(sun.azimuth_deg, reaches, strict=True)]
    for side, first, last in _runs(sides):
        if side:
            yield f"{_span(found, first, last, zone)}: {SUN_WORDS[side]}."
    hard = squint(face, sun.azimuth_deg, sun.refracted_deg, share)
    some = np.flatnonzero(hard > SOME_SQUINT)
    if len(some):
        yield f"Squints {'hard' if hard.max() > HARD_SQUINT else 'a little'}, {_span(found, some[0], some[-1], zone)}: turn away, or wait."
    if not reaches.any():
        yield "The sun does not reach this face."


def _span(found: Lighting, first: int, last: int, zone: str) -> str:
    start, end = (clock(float(found.day.sun.utc_s[at]), zone) for at in (first, last))
    return start if start == end else f"{start} to {end}"


def _runs(sides: list[str]) -> Iterator[tuple[str, int, int]]:
    """Yield stretches of one side with their first and last moment."""
    start = 0
    for at in range(1, len(sides) + 1):
        if at == len(sides) or sides[at] != sides[start]:
            yield sides[start], start, at - 1
            start = at
