"""What to know about where the pins of a setup are: in a building, in water, at a wet edge."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from app.place.geodesy import LocalFrame
from app.place.obstacles import EYE_HEIGHT_M, containing
from app.place.sides import Sides, called
from app.place.site import Obstacle, Pin, Site, Water

EDGE_M = 2.0  # nearer to water than this an edge counts as wet; common practice, no source
LEVEL_M = 0.05  # a pin this near to the surface is level with it
PLANK_M = 1.0  # to either side of a jetty or boardwalk that is drawn as a line; a guess, no source

IN_WATER = (
    "Jetties and wading exist; check the depth and the bottom there first, and leave bags ashore. "
    "Local rules and whoever keeps the place come first."
)
AT_EDGE = (
    "Wet boards and stones are slippery, the bottom may fall away at once, and wind, tide or swell may bring the water nearer. "
    f"Local rules and whoever keeps the place come first. (Told within {EDGE_M:g} m of water: common practice, no source.)"
)
_TITLES = {"building": "Inside a building", "canopy": "Inside a roof", "trees": "Among trees", "wall": "In a wall"}
_WHERE = {"building": "inside", "canopy": "up in", "trees": "among", "wall": "in"}


@dataclass(frozen=True)
class StandingNote:
    """One thing to know: a title of a few words, and whole sentences."""

    title: str
    words: str


@dataclass(frozen=True)
class _Stander:
    """Who stands at a pin. ``stands`` is the verb, ``left_out`` what goes on without an obstacle round them."""

    who: str
    stands: str
    left_out: str
    pin: Pin
    eye_height_m: float


def standing_notes(
    site: Site, camera: Pin, couple: Pin, lens_height_m: float, eye_height_m: float = EYE_HEIGHT_M
) -> tuple[StandingNote, ...]:
    """Return what to know about where camera and couple stand; nothing where both stand in the open on dry ground.

    Parameters
    ----------
    camera, couple : Pin
    lens_height_m, eye_height_m : float
        Lens and faces above the ground at their pins. [m]

    Notes
    -----
    A jetty, deck or slipway that is drawn on the plan, as an outline or within 1 m of a
    line, carries who stands on it over the water. How deep water is, nothing here knows.
    """
    standers = (
        _Stander("The camera", "stands", "of the view", camera, lens_height_m),
        _Stander("The couple", "stand", "of the light on them", couple, eye_height_m),
    )
    return (*_inside_notes(site, standers), *_water_notes(site, standers))


def _inside_notes(site: Site, standers: Sequence[_Stander]) -> Iterator[StandingNote]:
    for one in standers:
        found = containing(site, one.pin, one.eye_height_m)
        for kind in dict.fromkeys(obstacle.kind for obstacle in found):
            names = [called(obstacle) for obstacle in found if obstacle.kind == kind]
            left_out = f"{'it is' if len(names) == 1 and kind != 'trees' else 'they are'} left out {one.left_out}"
            yield StandingNote(_TITLES[kind], f"{one.who} {one.stands} {_WHERE[kind]} {_and(names)}: {left_out}.")


def _water_notes(site: Site, standers: Sequence[_Stander]) -> Iterator[StandingNote]:
    places = [place for one in standers for place in _wet_places(site, one)]
    for title, means in (("In the water", IN_WATER), ("Wet edge", AT_EDGE)):
        facts = [fact for kind, fact in places if kind == title]
        if facts:
            yield StandingNote(title, f"{' '.join(facts)} {means}")


def _wet_places(site: Site, one: _Stander) -> Iterator[tuple[str, str]]:
    """Yield the title and the fact for every sheet of water that someone stands in, over or beside."""
    frame = LocalFrame(one.pin.lat_deg, one.pin.lon_deg)
    for water in site.waters:
        sides = sides_of_rings(frame, (water.ring, *water.holes))
        away_m = float(sides.nearest_m(1)[0])
        if bool(sides.hold_origin(1)[0]):
            yield _over_water(site, one, water, frame)
        elif away_m <= EDGE_M:
            yield "Wet edge", f"{one.who} {one.stands} {away_m:.1f} m from the edge of {_water_name(water)}."


def _over_water(site: Site, one: _Stander, water: Water, frame: LocalFrame) -> tuple[str, str]:
    deck = _deck(site, frame) or _building(containing(site, one.pin, one.eye_height_m))
    if deck:
        return "Wet edge", f"{one.who} {one.stands} on {deck}, over {_water_name(water)}."
    rise_m = one.pin.ground_m - water.surface_m
    if abs(rise_m) <= LEVEL_M:
        pin = "the ground at the pin level with the surface"
    else:
        pin = f"the ground at the pin {abs(rise_m):.1f} m {'above' if rise_m > 0 else 'under'} the surface"
    return "In the water", f"{one.who} {one.stands} in {_water_name(water)}, {pin} and nothing drawn to stand on."


def _deck(site: Site, frame: LocalFrame) -> str:
    """Return what is drawn under the frame's origin, nothing where there is nothing."""
    for feature in site.document.get("features", ()):
        geometry, properties = feature.get("geometry") or {}, feature.get("properties") or {}
        if properties.get("role") == "drawing" and _carries(geometry, frame):
            return f"the {str(properties.get('name') or 'deck').removeprefix('the ')}"
    return ""


def _building(found: Sequence[Obstacle]) -> str:
    return next((f"the floor of {called(one)}" for one in found if one.kind == "building"), "")


def _carries(geometry: Any, frame: LocalFrame) -> bool:
    kind, coordinates = geometry.get("type"), geometry.get("coordinates") or []
    if kind == "Polygon":
        return bool(sides_of_rings(frame, coordinates).hold_origin(1)[0])
    return kind == "LineString" and bool(sides_of_rings(frame, [coordinates]).nearest_m(1)[0] <= PLANK_M)


def sides_of_rings(frame: LocalFrame, rings: Sequence[Sequence[Sequence[float]]]) -> Sides:
    """Return the sides of rings or lines, all as one thing's, on the plan of a frame."""
    starts, ends = [np.zeros((3, 0))], [np.zeros((3, 0))]
    for ring in rings:
        lon_deg, lat_deg = np.array([corner[:2] for corner in ring], dtype=float).reshape(-1, 2).T
        corners = np.stack(frame.to_metres(lat_deg, lon_deg))
        starts.append(corners[:, :-1])
        ends.append(corners[:, 1:])
    start_m, end_m = np.hstack(starts), np.hstack(ends)
    return Sides(start_m, end_m, np.zeros(start_m.shape[1], dtype=np.intp))


def _and(names: Sequence[str]) -> str:
    return f"{', '.join(names[:-1])} and {names[-1]}" if len(names) > 1 else names[0]


def _water_name(water: Water) -> str:
    return water.name if water.name != "water" else "the water"
