"""The photographer's own kit: cameras, lenses, flashes, modifiers and filters, told once for every setup."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Protocol, TypeVar

from app.errors import BadInput
from app.light.camera_settings import DENSEST_STOPS, Limits
from app.light.lights import Flash, Modifier
from app.units import number

MOST_OF_A_KIND = 40
LONGEST_NAME = 60
NONE_FOR_NONE = "high_speed_stops"  # a flash may have no high-speed sync at all


class Named(Protocol):
    """What is in a kit has a name, by which a setup asks for it."""

    @property
    def name(self) -> str: ...


T = TypeVar("T")
N = TypeVar("N", bound=Named)


@dataclass(frozen=True)
class CameraBody:
    """A camera. Times in seconds, sensitivities as ISO. [s, 1]"""

    name: str
    slowest_s: float = 1 / 125
    fastest_s: float = 1 / 8000
    sync_s: float = 1 / 200
    base_iso: float = 100.0
    highest_iso: float = 6400.0


@dataclass(frozen=True)
class Lens:
    """A lens, by its range of focal lengths and of f-numbers. [mm, 1]"""

    name: str
    shortest_mm: float
    longest_mm: float
    widest_f_number: float
    smallest_f_number: float = 16.0

    def __post_init__(self) -> None:
        if not 1 <= self.shortest_mm <= self.longest_mm <= 2000:
            raise BadInput(f"The focal lengths of “{self.name}” go from short to long, 1 to 2000 mm; {self.shortest_mm:g} to {self.longest_mm:g} came.", "shortest_mm")

    def reaches(self, focal_mm: float) -> bool:
        """Tell whether it has a focal length, to half a millimetre."""
        return self.shortest_mm - 0.5 <= focal_mm <= self.longest_mm + 0.5


@dataclass(frozen=True)
class Filter:
    """A neutral-density filter, by what it takes. [stop]"""

    name: str
    taken_stops: float

    def __post_init__(self) -> None:
        if not 1 / 3 <= self.taken_stops <= DENSEST_STOPS:
            raise BadInput(f"A filter takes between 1/3 and {DENSEST_STOPS:g} stops; {self.taken_stops:g} came.", "taken_stops")


@dataclass(frozen=True)
class Kit:
    """Everything owned, each kind in the photographer's own order; the first of a kind is the usual one."""

    cameras: tuple[CameraBody, ...] = ()
    lenses: tuple[Lens, ...] = ()
    flashes: tuple[Flash, ...] = ()
    modifiers: tuple[Modifier, ...] = ()
    filters: tuple[Filter, ...] = ()

    def camera(self, name: str | None) -> CameraBody:
        """Return the camera of a name, or the usual one; ``BadInput`` for a name that is not in the kit."""
        return named(self.cameras, name, "camera") if name else (self.cameras or (CameraBody("the camera"),))[0]

    def lens(self, name: str | None, focal_mm: float) -> Lens:
        """Return the lens of a name, or the first that has a focal length, or a plain one that does.

        Raises ``BadInput`` for a name that is not in the kit, or a lens that has not that focal length.
        """
        if name:
            found = named(self.lenses, name, "lens")
            if not found.reaches(focal_mm):
                raise BadInput(f"The lens “{found.name}” has no {focal_mm:g} mm; choose another for this setup.", "lens")
            return found
        plain = Lens("the lens", focal_mm, focal_mm, 2.8)
        return next((lens for lens in self.lenses if lens.reaches(focal_mm)), plain)

    def flash(self, name: str | None) -> Flash:
        """Return the flash of a name, or the usual one; ``BadInput`` where there is none."""
        if not self.flashes:
            raise BadInput("There is no flash in the kit; put one in before you place a light.", "flash")
        return named(self.flashes, name, "flash") if name else self.flashes[0]

    def modifier(self, name: str | None) -> Modifier | None:
        """Return the modifier of a name, None without one."""
        return named(self.modifiers, name, "modifier") if name else None

    def limits(self, camera: CameraBody, lens: Lens, wanted_f_number: float | None = None) -> Limits:
        """Return what camera and lens can do together, with all filters owned."""
        return Limits(
            widest_f_number=lens.widest_f_number,
            smallest_f_number=lens.smallest_f_number,
            wanted_f_number=wanted_f_number,
            slowest_s=camera.slowest_s,
            fastest_s=camera.fastest_s,
            sync_s=camera.sync_s,
            base_iso=camera.base_iso,
            highest_iso=camera.highest_iso,
            nd_stops=tuple(one.taken_stops for one in self.filters),
        )


def named(things: Iterable[N], name: str, what: str) -> N:
    """Return the thing of a name; ``BadInput`` lists those there are."""
    things = tuple(things)
    found = next((thing for thing in things if thing.name == name), None)
    if found is None:
        known = ", ".join(thing.name for thing in things) or "none yet"
        raise BadInput(f"There is no {what} “{name[:LONGEST_NAME]}” in the kit; it has: {known}.", what)
    return found


def kit_from(document: Any) -> Kit:
    """Return the kit that was kept or sent; ``BadInput`` names the thing that cannot be used."""
    if not isinstance(document, Mapping):
        raise BadInput("A kit lists cameras, lenses, flashes, modifiers and filters.", "kit")
    return Kit(**{kind: _read_all(document.get(kind, []), kind) for kind in KINDS})


def kit_document(kit: Kit) -> dict[str, list[dict[str, Any]]]:
    """Return a kit as it is kept: plain lists that ``kit_from`` reads back the same."""
    return {kind: [{key: value for key, value in vars(thing).items()} for thing in getattr(kit, kind)] for kind in KINDS}


def _read_all(listed: Any, kind: str) -> tuple[Any, ...]:
    if not isinstance(listed, list) or len(listed) > MOST_OF_A_KIND:
        raise BadInput(f"The {kind} of a kit are a list of at most {MOST_OF_A_KIND}.", kind)
    things = tuple(_read(one, kind) for one in listed)
    names = [thing.name for thing in things]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice:
        raise BadInput(f"Two of the {kind} are called “{twice}”; give each its own name.", kind)
    return things


def _read(one: Any, kind: str) -> Any:
    """Return one thing of a kind from its mapping; what is left out takes its usual value."""
    if not isinstance(one, Mapping) or not str(one.get("name") or "").strip():
        raise BadInput(f"Each of the {kind} has a name.", kind)
    name, make, fields = str(one["name"]).strip()[:LONGEST_NAME], *KINDS[kind]
    given: dict[str, Any] = {}
    try:
        given.update({key: read(one[key]) for key, read in fields.items() if key in one and (one[key] is not None or key == NONE_FOR_NONE)})
        made = make(name=name, **given)
        if isinstance(made, CameraBody):
            Kit().limits(made, Lens("", 50, 50, 1.4))  # which refuses what no camera can do
        if isinstance(made, Lens):
            Kit().limits(CameraBody(""), made)
        return made
    except (BadInput, ValueError) as error:
        raise BadInput(f"“{name}”: {error}", getattr(error, "field", None)) from error
    except TypeError as error:
        raise BadInput(f"“{name}” lacks a figure: {', '.join(key for key in fields if key not in given)}.", kind) from error


def _figure(called: str) -> Callable[[Any], float]:
    return lambda value: number(value, called)


KINDS: dict[str, tuple[Callable[..., Any], dict[str, Callable[[Any], Any]]]] = {
    "cameras": (
        CameraBody,
        {
            "slowest_s": _figure("The slowest time"),
            "fastest_s": _figure("The shortest time"),
            "sync_s": _figure("The sync time"),
            "base_iso": _figure("The base ISO"),
            "highest_iso": _figure("The highest ISO"),
        },
    ),
    "lenses": (
        Lens,
        {
            "shortest_mm": _figure("The shortest focal length"),
            "longest_mm": _figure("The longest focal length"),
            "widest_f_number": _figure("The widest aperture"),
            "smallest_f_number": _figure("The smallest aperture"),
        },
    ),
    "flashes": (
        Flash,
        {
            "guide_number_m": _figure("The guide number"),
            "beam_deg": _figure("The beam"),
            "range_stops": _figure("How far the power goes down"),
            NONE_FOR_NONE: lambda value: None if value is None else number(value, "What high-speed sync takes"),
            "colour_k": _figure("The colour temperature"),
        },
    ),
    "modifiers": (
        Modifier,
        {"loss_stops": _figure("What it takes"), "beam_deg": _figure("The beam"), "grid": bool},
    ),
    "filters": (Filter, {"taken_stops": _figure("What it takes")}),
}

# Invented, with everyday figures; the photographer puts their own in its place.
DEMO_KIT = Kit(
    cameras=(CameraBody("Full-frame body", sync_s=1 / 200), CameraBody("Small second body", sync_s=1 / 160, highest_iso=3200)),
    lenses=(Lens("35 mm", 35, 35, 1.8), Lens("50 mm", 50, 50, 1.8), Lens("85 mm", 85, 85, 1.8), Lens("70-200 mm", 70, 200, 2.8, 22), Lens("24-70 mm", 24, 70, 2.8, 22)),
    flashes=(Flash("Clip-on flash", 36.0), Flash("Battery head, 400 Ws", 80.0, range_stops=8.0)),
    modifiers=(Modifier("Umbrella, white", 1.7, 110.0), Modifier("Softbox 60 cm", 1.3, 90.0), Modifier("Grid on reflector", 0.7, 30.0, grid=True)),
    filters=(Filter("ND 3 stops", 3.0), Filter("ND 6 stops", 6.0)),
)
