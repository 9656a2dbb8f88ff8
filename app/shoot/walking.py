"""How long people take from one spot to the next: typed, by the plan, or by a guess that says so."""

import math
from dataclasses import dataclass

from app.looks.margin import Scene
from app.place.geodesy import LocalFrame, inverse
from app.place.site import Pin
from app.shoot.shoot import MEETING, Shoot, Walk, Wish, spot_of

FARTHEST_ON_FOOT_M = 2500.0  # from the meeting point; common practice, no source


@dataclass(frozen=True)
class Leg:
    """The way between two spots; ``loud`` where it is a guess that somebody has to check. [min]"""

    minutes: int
    words: str
    loud: bool = False


def leg(shoot: Shoot, here: tuple[str, Scene], there: tuple[str, Scene]) -> Leg:
    """Return the way between two setups, each told as its site's address and its scene.

    On one site it is the straight way over the plan at the shoot's pace, for the
    couple or the camera, whoever has the longer one; a time typed for the two
    spots counts instead.
    """
    (site, scene), (other_site, other) = here, there
    spots = spot_of(site, scene.setup.id), spot_of(other_site, other.setup.id)
    if spots[0] == spots[1]:
        return Leg(0, "same spot")
    if typed := shoot.typed_walks.get(frozenset(spots)):
        return _as_typed(typed)
    if site != other_site:
        return _drive(shoot, scene.setup.couple_pin, other.setup.couple_pin)
    one, two = scene.setup, other.setup
    pins = (one.couple_pin, two.couple_pin), (one.camera_pin, two.camera_pin)
    return _on_foot(shoot, max(over_ground_m(*pair) for pair in pins))


def leg_from_meeting(shoot: Shoot, wish: Wish, scene: Scene) -> Leg:
    """Return the way from the meeting point to a wish; none where the point has no pin and no typed time."""
    if typed := shoot.typed_walks.get(frozenset((MEETING, wish.spot))):
        return _as_typed(typed)
    pin = shoot.meeting.pin
    if not pin:
        return Leg(0, "the meeting point is not pinned")
    if inverse(*_place(pin), *_place(scene.setup.couple_pin)).distance_m > FARTHEST_ON_FOOT_M:
        return _drive(shoot, pin, scene.setup.couple_pin)
    return _on_foot(shoot, over_ground_m(pin, scene.setup.couple_pin))


def over_ground_m(one: Pin, other: Pin) -> float:
    """Return the straight distance between two pins over level ground. [m]"""
    east, north, _ = LocalFrame(one.lat_deg, one.lon_deg).to_metres(other.lat_deg, other.lon_deg)
    return math.hypot(float(east), float(north))


def _as_typed(walk: Walk) -> Leg:
    return Leg(walk.minutes, f"{walk.minutes} min as typed" + (f": {walk.why}" if walk.why else ""))


def _on_foot(shoot: Shoot, distance_m: float) -> Leg:
    minutes = math.ceil(round(distance_m / shoot.pace_m_s, 3) / 60)
    return Leg(minutes, f"{minutes} min on foot: {distance_m:.0f} m straight over the plan at {shoot.pace_m_s:g} m/s")


def _drive(shoot: Shoot, one: Pin, other: Pin) -> Leg:
    km = inverse(*_place(one), *_place(other)).distance_m / 1000
    minutes = math.ceil(60 * km / shoot.drive_km_h)
    far = f"{km:.1f} km" if km >= 1 else f"{1000 * km:.0f} m"
    words = (
        f"{minutes} min is a guess: {far} in a straight line at {shoot.drive_km_h:g} km/h, "
        "no road known; type the time it takes"
    )
    return Leg(minutes, words, loud=True)


def _place(pin: Pin) -> tuple[float, float]:
    return pin.lat_deg, pin.lon_deg
