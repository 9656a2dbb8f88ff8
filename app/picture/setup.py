"""A setup: where the camera and the couple stand, the lens between them, who is in it."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from app.errors import BadInput
from app.lens.camera import Camera, camera_held, format_words
from app.lens.projection import View
from app.picture.people import MOST_PEOPLE, Person, Solid, solids
from app.place.geodesy import LocalFrame
from app.place.site import Pin, SetupFeature
from app.units import number

LENS_HEIGHT_M = 1.6
PEOPLE = (Person("", 1.68), Person("", 1.80))
LOOKS = ("backlit",)
MOST_LIGHTS = 8


@dataclass(frozen=True)
class Setup:
    """One arrangement, ready to be looked at.

    ``aim`` is bearing and tilt as typed, or None: then the line runs up the
    middle of the frame and the tallest crown stands at half its height, which
    leaves the most sky that still keeps them large. ``looks`` are as in the
    site file, read by the room above, and so are ``lights`` and ``exposure``.
    """

    id: str
    name: str
    camera_pin: Pin
    couple_pin: Pin
    camera: Camera
    lens_height_m: float = LENS_HEIGHT_M
    aim: tuple[float, float] | None = None
    people: tuple[Person, ...] = PEOPLE
    looks: tuple[Any, ...] = LOOKS
    notes: str = ""
    standby: str | None = None
    lights: tuple[Any, ...] = field(default=(), hash=False)
    exposure: Mapping[str, Any] = field(default_factory=dict, hash=False)

    def __post_init__(self) -> None:
        if not -5 <= self.lens_height_m <= 200:
            raise BadInput(f"The lens is between -5 and 200 m above the camera's ground; {self.lens_height_m:g} came.", "lens_height_m")
        if self.distance_m < 0.3:
            raise BadInput("The camera stands on top of the couple; put the pins at least 0.3 m apart.", "couple")

    @cached_property
    def _couple_m(self) -> tuple[float, float, float]:
        """The couple's ground as east, north and up from the camera's ground. [m]"""
        here = LocalFrame(self.camera_pin.lat_deg, self.camera_pin.lon_deg, self.camera_pin.ground_m)
        there = here.to_metres(self.couple_pin.lat_deg, self.couple_pin.lon_deg, self.couple_pin.ground_m)
        return tuple(float(metres) for metres in there)

    @property
    def distance_m(self) -> float:
        """From camera to couple over the ground. [m]"""
        return math.hypot(*self._couple_m[:2])

    @property
    def line_deg(self) -> float:
        """Bearing from camera to couple, from true north. [°]"""
        return math.degrees(math.atan2(*self._couple_m[:2])) % 360.0

    @property
    def eye_m(self) -> float:
        """Height of the lens above the couple's ground. [m]"""
        return self.lens_height_m - self._couple_m[2]

    @cached_property
    def figures(self) -> tuple[Solid, ...]:
        """The people in the plane through the couple, square to the line."""
        return solids(self.people)

    @cached_property
    def view(self) -> View:
        """The camera, pointed as typed or by the rule above."""
        if self.aim:
            return View(self.camera, *self.aim)
        crown_m = max((person.height_m for person in self.people), default=1.7)
        return View(self.camera, self.line_deg, math.degrees(math.atan2(crown_m - self.eye_m, self.distance_m)))


def setup_from(feature: SetupFeature) -> Setup:
    """Return the setup that a site file's feature describes.

    Raises ``BadInput`` naming the setup when a value cannot be used; what is
    left out takes a stated default.
    """
    try:
        return _read(feature)
    except (BadInput, ValueError) as error:
        raise BadInput(f"Setup “{feature.name}”: {error}", getattr(error, "field", None)) from error


def properties_of(setup: Setup) -> dict[str, Any]:
    """Return what a site file keeps of a setup beside its pins."""
    return {
        "lens_height_m": setup.lens_height_m,
        "focal_length_mm": setup.camera.focal_mm,
        "format": format_words(setup.camera),
        "orientation": "portrait" if setup.camera.height_mm > setup.camera.width_mm else "landscape",
        "aim": {"bearing_deg": setup.aim[0], "tilt_deg": setup.aim[1]} if setup.aim else "auto",
        "people": [_person_kept(person) for person in setup.people],
        "looks": list(setup.looks),
        "notes": setup.notes,
        "standby": setup.standby,
        **({"lights": list(setup.lights)} if setup.lights else {}),
        **({"exposure": dict(setup.exposure)} if setup.exposure else {}),
    }


def _read(feature: SetupFeature) -> Setup:
    kept = feature.properties
    return Setup(
        id=feature.id,
        name=feature.name,
        camera_pin=feature.camera,
        couple_pin=feature.couple,
        camera=camera_held(
            number(kept.get("focal_length_mm", 50), "The focal length"),
            kept.get("format", "36x24"),
            kept.get("orientation", "landscape"),
        ),
        lens_height_m=number(kept.get("lens_height_m", LENS_HEIGHT_M), "The lens height"),
        aim=_aim(kept.get("aim", "auto")),
        people=_people(kept.get("people")),
        looks=_looks(kept.get("looks")),
        notes=str(kept.get("notes") or ""),
        standby=kept.get("standby") or None,
        lights=_lights(kept.get("lights")),
        exposure=_exposure(kept.get("exposure")),
    )


def _aim(typed: Any) -> tuple[float, float] | None:
    if typed in (None, "", "auto"):
        return None
    if not isinstance(typed, Mapping):
        raise BadInput("The aim is “auto” or a bearing and a tilt.", "aim")
    return number(typed.get("bearing_deg"), "The aim's bearing", 0, 360), number(typed.get("tilt_deg"), "The aim's tilt", -80, 80)


def _people(typed: Any) -> tuple[Person, ...]:
    if typed is None:
        return PEOPLE
    if not isinstance(typed, list) or len(typed) > MOST_PEOPLE or not all(isinstance(one, Mapping) for one in typed):
        raise BadInput(f"People are a list of at most {MOST_PEOPLE}, each with a height_m.", "people")
    return tuple(_person(one) for one in typed)


def _person(one: Mapping[str, Any]) -> Person:
    facing = one.get("facing_deg")
    facing_deg = None if facing is None else number(facing, "The bearing a face looks to", 0, 360)
    return Person(str(one.get("name") or ""), number(one.get("height_m"), "A person's height"), facing_deg)


def _person_kept(person: Person) -> dict[str, Any]:
    told = {} if person.facing_deg is None else {"facing_deg": person.facing_deg}
    return {"name": person.name, "height_m": person.height_m, **told}


def _lights(typed: Any) -> tuple[Any, ...]:
    if typed is None:
        return ()
    if not isinstance(typed, list) or len(typed) > MOST_LIGHTS or not all(isinstance(one, Mapping) for one in typed):
        raise BadInput(f"Lights are a list of at most {MOST_LIGHTS}, each with its flash and where it stands.", "lights")
    return tuple(typed)


def _exposure(typed: Any) -> Mapping[str, Any]:
    if typed is None:
        return {}
    if not isinstance(typed, Mapping):
        raise BadInput("The exposure is an object with intent, camera, lens, f_number and ground.", "exposure")
    return dict(typed)


def _looks(typed: Any) -> tuple[Any, ...]:
    if typed is None:
        return LOOKS
    if not isinstance(typed, list):
        raise BadInput("Looks are a list of names.", "looks")
    return tuple(typed)
