"""The line through the sighted points of a survey: straight between them, level where nobody looked."""

from collections.abc import Sequence
from typing import TypeVar

from app.place.site import Sighting
from app.units import compass_deg

LEVEL = "the horizon"
UNNAMED = "the skyline"
WIDEST_GAP_DEG = 30.0  # between sighted points; a wider one was not surveyed
FALLS_IN_DEG = 0.01  # how far outside the sighted points the line falls to level

Node = tuple[float, float, str]  # azimuth, altitude, and the name from there on clockwise [°, °]
T = TypeVar("T")


def sighted_nodes(sightings: Sequence[Sighting], level_deg: float = 0.0) -> list[Node]:
    """Return where the line bends, by azimuth; see ``surveyed_skyline``. Gaps lie at ``level_deg``. [°]"""
    ordered = sorted(sightings, key=lambda sighting: sighting.bearing_deg)
    nodes = [
        (sighting.bearing_deg, sighting.altitude_deg, name)
        for sighting, name in zip(ordered, _names(ordered), strict=True)
    ]
    gaps = [node for here, after in zip(nodes, _turned(nodes), strict=True) for node in _gap(here, after, level_deg)]
    return sorted(nodes + gaps)


def _gap(here: Node, after: Node, level_deg: float) -> list[Node]:
    """Return the two level nodes that bound a gap, none where it is narrow."""
    width_deg = (after[0] - here[0]) % 360.0 or 360.0
    if width_deg <= WIDEST_GAP_DEG:
        return []
    falls, rises = compass_deg(here[0] + FALLS_IN_DEG), compass_deg(after[0] - FALLS_IN_DEG)
    return [(float(falls), level_deg, LEVEL), (float(rises), level_deg, after[2])]


def _names(sightings: Sequence[Sighting]) -> list[str]:
    """Name the piece after each point: by its own name, as level, or by the last name before it.

    The round is made twice, so that a name holds past north.
    """
    last, names = UNNAMED, []
    for here, after in [*zip(sightings, _turned(sightings), strict=True)] * 2:
        last = here.called or last
        level = here.altitude_deg == after.altitude_deg == 0.0 and not here.called
        names.append(LEVEL if level else last)
    return names[len(sightings) :]


def _turned(ring: Sequence[T]) -> list[T]:
    return [*ring[1:], ring[0]]
