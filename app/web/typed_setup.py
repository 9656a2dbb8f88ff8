"""A setup as the texts of its form, and back."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from app.lens.camera import FORMATS_MM, camera_held, format_words, sensor_sides_mm
from app.looks.catalogue import LOOKS
from app.looks.look import Look, wanted_look
from app.picture.people import Person
from app.picture.setup import LENS_HEIGHT_M, PEOPLE, Setup
from app.place.coordinates import parse_coordinates
from app.place.declination import declination, true_bearing_deg
from app.place.edit import Feature, setup_feature
from app.place.geodesy import direct
from app.place.positions import Coordinates
from app.place.shapes import HIGHEST_M, LOWEST_M
from app.place.site import Pin, SetupFeature
from app.units import number
from app.web.drawing.plan_rows import pin_words
from app.web.forms import Form, texts

FORMATS = (*FORMATS_MM, "typed")
USUAL_MM = 50.0
LEAST_PEOPLE = 2  # rows on the form; a row without a height is nobody
FARTHEST_M = 2000.0
MAGNETIC = "magnetic"
ON_TOP = "The camera stands on top of the couple; put the pins at least 0.3 m apart."


_UNITS = {"_deg": "degrees", "_percent": "percent", "_m_s": "m/s"}


@dataclass(frozen=True)
class BoundField:
    """One bound of a look on the form. ``bound`` is its name in the site file, ``side`` which of a pair."""

    name: str
    bound: str
    words: str
    side: int | None = None

    @property
    def label(self) -> str:
        """Its words with its unit: “Sun off the line, at most, in degrees”, “Per cent of the water to sparkle, at least”."""
        if self.unit == "percent":
            return f"Per cent {self.words}"
        return f"{self.words[:1].upper()}{self.words[1:]}, in {self.unit}"

    @property
    def unit(self) -> str:
        """The unit it is typed in, told by its name."""
        return next(unit for ending, unit in _UNITS.items() if self.bound.endswith(ending))


@dataclass(frozen=True)
class LookField:
    """A look on the form: its tick and its bounds."""

    name: str
    look: Look
    bounds: tuple[BoundField, ...]


def look_fields() -> tuple[LookField, ...]:
    """Return a tick and bounds for every look there is."""
    return tuple(LookField(_tick(look.name), look, tuple(_bound_fields(look))) for look in LOOKS.values())


def new_setup_typed() -> dict[str, str]:
    """Return the form of a setup that is not there yet."""
    people = {f"person_{n}_height_m": person.height_m for n, person in enumerate(PEOPLE, 1)}
    usual = {
        "focal_length_mm": USUAL_MM,
        "lens_height_m": LENS_HEIGHT_M,
        "format": "36x24",
        "orientation": "landscape",
    }
    grounds = {"camera_ground_m": 0.0, "couple_ground_m": 0.0}
    return texts({**usual, **grounds, **people, _tick("backlit"): "yes"}) | _bounds_typed({})


def setup_typed(setup: Setup) -> dict[str, str]:
    """Return what the form of a setup holds."""
    known = format_words(setup.camera) in FORMATS_MM
    people = {
        f"person_{n}_{what}": value
        for n, person in enumerate(setup.people, 1)
        for what, value in (("name", person.name), ("height_m", person.height_m))
    }
    aim = dict(zip(("aim_bearing_deg", "aim_tilt_deg"), setup.aim or ("", ""), strict=True))
    wanted = {one.name: one.bounds for one in (wanted_look(LOOKS, typed) for typed in reversed(setup.looks))}
    return texts(
        {
            "name": setup.name,
            "camera": pin_words(setup.camera_pin),
            "camera_ground_m": setup.camera_pin.ground_m,
            "couple": pin_words(setup.couple_pin),
            "couple_ground_m": setup.couple_pin.ground_m,
            "couple_north": "true",
            "lens_height_m": setup.lens_height_m,
            "focal_length_mm": setup.camera.focal_mm,
            "format": format_words(setup.camera) if known else "typed",
            "format_typed": "" if known else format_words(setup.camera),
            "orientation": "portrait" if setup.camera.height_mm > setup.camera.width_mm else "landscape",
            **aim,
            **people,
            **{_tick(name): "yes" for name in wanted},
            "notes": setup.notes,
            "standby": setup.standby or "",
        }
    ) | _bounds_typed(wanted)


def read_setup(form: Form, before: SetupFeature | None, today: date) -> Feature | None:
    """Return the feature of a site file that a form describes; None with the form's errors filled.

    What the form has no field for stays as it was before.
    """
    if not form.text("name"):
        form.errors["name"] = "A setup needs a name, since a running order calls it by name."
    camera = form.read("camera", parse_coordinates)
    couple = _couple(form, camera, today)
    grounds = [form.read(f"{pin}_ground_m", _ground, default=0.0) for pin in ("camera", "couple")]
    kept = before.properties if before else {}
    new = {
        "lens_height_m": form.read("lens_height_m", lambda text: number(text, "The lens height", -5, 200)),
        "focal_length_mm": form.read("focal_length_mm", _focal_mm),
        "format": form.read("format_typed", _format)
        if form.text("format") == "typed"
        else form.text("format"),
        "orientation": form.text("orientation"),
        "aim": _aim(form),
        "people": _still_facing(_people(form), kept.get("people")),
        "looks": [*_in_order(_looks(form), kept.get("looks")), *_second_ones(kept.get("looks"))],
        "notes": form.text("notes"),
        "standby": form.text("standby") or None,
    }
    if camera and couple and (camera.lat_deg, camera.lon_deg) == (couple.lat_deg, couple.lon_deg):
        form.errors["couple"] = ON_TOP
    if form.errors or camera is None or couple is None or None in grounds:
        return None
    pins = (
        Pin(place.lat_deg, place.lon_deg, ground)
        for place, ground in zip((camera, couple), grounds, strict=True)
    )
    return setup_feature(form.text("name"), *pins, {**kept, **new}, feature_id=before.id if before else None)


def people_rows(form: Form) -> range:
    """Return the numbers of the people's rows that a form shows."""
    typed = [
        int(name.split("_")[1])
        for name in form.typed
        if name.startswith("person_") and name.split("_")[1].isdigit()
    ]
    return range(1, max([LEAST_PEOPLE, *typed]) + 1)


def _couple(form: Form, camera: Coordinates | None, today: date) -> Coordinates | None:
    """Return where the couple stands: by bearing and distance where one of them is typed, else by coordinates."""
    if not (form.text("couple_bearing_deg") or form.text("couple_distance_m")):
        return form.read("couple", parse_coordinates)
    bearing_deg = form.read("couple_bearing_deg", lambda text: number(text, "The bearing", 0, 360))
    distance_m = form.read(
        "couple_distance_m", lambda text: number(text, "The distance in metres", 0.3, FARTHEST_M)
    )
    if camera is None or bearing_deg is None or distance_m is None:
        return None
    if form.text("couple_north") == MAGNETIC:
        bearing_deg = float(true_bearing_deg(bearing_deg, declination(camera.lat_deg, camera.lon_deg, today)))
    return Coordinates(*direct(camera.lat_deg, camera.lon_deg, bearing_deg, distance_m))


def _ground(text: str) -> float:
    return number(text, "The ground height in metres", LOWEST_M, HIGHEST_M)


def _focal_mm(text: str) -> float:
    """Return a focal length that a camera can have; ``BadInput`` names the limits."""
    return camera_held(number(text, "The focal length"), next(iter(FORMATS_MM))).focal_mm


def _format(text: str) -> str:
    """Return a sensor format as typed, if it is one."""
    sensor_sides_mm(text)
    return text


def _aim(form: Form) -> Any:
    """Return “auto”, or the bearing and tilt typed, which only make sense together."""
    if not (form.text("aim_bearing_deg") or form.text("aim_tilt_deg")):
        return "auto"
    return {
        "bearing_deg": form.read("aim_bearing_deg", lambda text: number(text, "The aim's bearing", 0, 360)),
        "tilt_deg": form.read("aim_tilt_deg", lambda text: number(text, "The aim's tilt", -80, 80)),
    }


def _people(form: Form) -> list[dict[str, Any]]:
    return [
        {"name": form.text(f"person_{n}_name"), "height_m": form.read(f"person_{n}_height_m", _tall)}
        for n in people_rows(form)
        if form.text(f"person_{n}_height_m") or form.text(f"person_{n}_name")
    ]


def _still_facing(people: list[dict[str, Any]], before: Any) -> list[dict[str, Any]]:
    """Return the people with what the form has no field for: where each looks, by their place in the row."""
    facings = [one.get("facing_deg") for one in before or [] if isinstance(one, Mapping)]
    return [
        one if n >= len(facings) or facings[n] is None else {**one, "facing_deg": facings[n]}
        for n, one in enumerate(people)
    ]


def _tall(text: str) -> float:
    return Person("", number(text, "A person's height in metres")).height_m


def _looks(form: Form) -> Iterator[Any]:
    """Yield the looks ticked, each with the bounds that are not its usual ones."""
    for field in look_fields():
        if form.text(field.name):
            bounds = _bounds(form, field)
            yield {"look": field.look.name, **bounds} if bounds else field.look.name


def _bounds(form: Form, field: LookField) -> dict[str, Any]:
    changed = {}
    for bound, usual in field.look.bounds.items():
        sides = [one for one in field.bounds if one.bound == bound]
        typed = [
            form.read(one.name, lambda text, one=one: number(text, one.label), default=_usual(usual, one))
            for one in sides
        ]
        value = typed if isinstance(usual, tuple) else typed[0]
        if None not in typed and tuple(typed) != (usual if isinstance(usual, tuple) else (usual,)):
            wish = {"look": field.look.name, bound: value}
            form.read(sides[0].name, lambda _, wish=wish: wanted_look(LOOKS, wish))
            changed[bound] = value
    return changed


def _in_order(looks: Iterator[Any], before: Any) -> list[Any]:
    """Return the looks in the order they had, since the first is the one that matters most; new ones last."""
    names = [_name(one) for one in before or []]
    return sorted(looks, key=lambda one: names.index(_name(one)) if _name(one) in names else len(names))


def _second_ones(looks: Any) -> list[Any]:
    """Return looks that are wanted twice with other bounds, which a form of ticks cannot show."""
    names = [_name(one) for one in looks or []]
    return [one for n, one in enumerate(looks or []) if names[n] in names[:n]]


def _name(look: Any) -> str:
    return look if isinstance(look, str) else str(look.get("look"))


def _bounds_typed(wanted: Mapping[str, Mapping[str, Any]]) -> dict[str, str]:
    return texts(
        {
            one.name: _usual(wanted.get(field.look.name, field.look.bounds)[one.bound], one)
            for field in look_fields()
            for one in field.bounds
        }
    )


def _usual(value: Any, field: BoundField) -> float:
    return float(value if field.side is None else value[field.side])


def _bound_fields(look: Look) -> Iterator[BoundField]:
    for bound, usual in look.bounds.items():
        name, words = f"{_tick(look.name)}_{_bare(bound)}", look.called(bound)
        words = _bare(words) if words == bound else words
        if isinstance(usual, tuple):
            for side, called in enumerate(("from", "to")):
                yield BoundField(f"{name}_{called}", bound, f"{words}, {called}", side)
        else:
            yield BoundField(name, bound, words)


def _bare(bound: str) -> str:
    for ending in _UNITS:
        bound = bound.removesuffix(ending)
    return bound


def _tick(name: str) -> str:
    return f"look_{name.replace(' ', '_')}"
