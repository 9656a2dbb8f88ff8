"""What a setup says of its light: the exposure that is wanted, the faces and the lights on their stands."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from app.errors import BadInput
from app.light.camera_settings import Limits
from app.light.exposure import Intent
from app.light.faces import FACE_SHARE, Face, Point, couple_faces
from app.light.gels import GELS, Gel
from app.light.ground import albedo_of
from app.light.kit import Kit, named
from app.light.lights import Light
from app.picture.setup import Setup
from app.place.geodesy import LocalFrame
from app.units import number

INTENT, GROUND = "faces", "grass"
AIMED_AT_ALL = "couple"
USUAL_HEIGHT_M = 2.0
FARTHEST_M = 100.0


@dataclass(frozen=True)
class LightPlan:
    """A setup's light, read with the photographer's kit; metres are east, north and up of the couple's ground."""

    intent: Intent
    ground: str
    limits: Limits
    faces: tuple[Face, ...]
    lights: tuple[Light, ...]


def light_plan(setup: Setup, kit: Kit) -> LightPlan:
    """Return what a setup says of its light; ``BadInput`` names what cannot be used.

    What is left out takes a stated default: faces right, grass, the kit's usual camera and
    the first lens that has the focal length, looks into the camera.
    """
    told, faces = setup.exposure, faces_of(setup)
    ground = str(told.get("ground") or GROUND)
    albedo_of(ground)
    camera, lens = kit.camera(told.get("camera")), kit.lens(told.get("lens"), setup.camera.focal_mm)
    wanted = None if told.get("f_number") is None else number(told["f_number"], "The aperture")
    lights = tuple(light_of(one, setup, faces, kit) for one in setup.lights)
    return LightPlan(Intent.named(str(told.get("intent") or INTENT)), ground, kit.limits(camera, lens, wanted), faces, lights)


def faces_of(setup: Setup) -> tuple[Face, ...]:
    """Return the people's faces, left to right as the camera sees them."""
    into_camera = (setup.line_deg + 180.0) % 360.0
    facings = tuple(into_camera if one.facing_deg is None else one.facing_deg for one in setup.people)
    names = tuple(one.name or f"person {n}" for n, one in enumerate(setup.people, 1))
    return couple_faces(tuple(one.height_m for one in setup.people), setup.line_deg, facings, names)


def light_of(told: Mapping[str, Any], setup: Setup, faces: tuple[Face, ...], kit: Kit) -> Light:
    """Return one light of a setup.

    ``told`` has ``flash`` and may have ``modifier`` and ``gel`` by their names, ``pin`` as
    [longitude, latitude], ``height_m``, ``aim`` (“couple”, a person's number from 1, or
    [longitude, latitude, height]) and ``power_stops``.
    """
    height_m = number(told.get("height_m", USUAL_HEIGHT_M), "The light's height", 0, 20)
    where = _metres(told.get("pin"), setup, height_m, "The light's pin")
    power = told.get("power_stops")
    return Light(
        kit.flash(told.get("flash")),
        where,
        _aim(told.get("aim", AIMED_AT_ALL), setup, faces),
        kit.modifier(told.get("modifier")),
        _gel(told.get("gel")),
        None if power is None else number(power, "The power in stops", -20, 0),
    )


def _gel(name: str | None) -> Gel:
    return named(GELS, name, "gel") if name else GELS[0]


def _aim(told: Any, setup: Setup, faces: tuple[Face, ...]) -> Point:
    if isinstance(told, list):
        height = float(told[2]) if len(told) == 3 and isinstance(told[2], int | float) else FACE_SHARE * 1.7
        return _metres(told[:2], setup, height, "The point a light is turned to")
    if told == AIMED_AT_ALL:
        count = max(len(faces), 1)
        east, north, up = (sum(face.position_m[axis] for face in faces) / count for axis in range(3))
        return east, north, up or FACE_SHARE * 1.7
    if isinstance(told, int) and 1 <= told <= len(faces):
        return faces[told - 1].position_m
    raise BadInput(f"A light is turned to the couple, to a person's number from 1 to {len(faces)}, or to a point; “{str(told)[:40]}” came.", "lights")


def _metres(pin: Any, setup: Setup, height_m: float, what: str) -> Point:
    """Return a pin as metres about the couple's ground."""
    if not (isinstance(pin, list) and len(pin) >= 2 and all(isinstance(one, int | float) and not isinstance(one, bool) for one in pin[:2])):
        raise BadInput(f"{what} is [longitude, latitude] in degrees.", "lights")
    couple = setup.couple_pin
    try:
        east, north, _ = LocalFrame(couple.lat_deg, couple.lon_deg).to_metres(float(pin[1]), float(pin[0]))
    except ValueError as error:
        raise BadInput(f"{what} lies off the Earth.", "lights") from error
    if not abs(east) + abs(north) <= 2 * FARTHEST_M:
        raise BadInput(f"{what} lies within {FARTHEST_M:g} m of the couple; this one is farther away.", "lights")
    return float(east), float(north), height_m
