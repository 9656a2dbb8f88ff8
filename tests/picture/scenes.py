"""Setups for tests, laid out in metres from a corner."""

from app.lens.camera import camera_held
from app.picture.people import Person
from app.picture.setup import Setup
from app.place.geodesy import direct
from app.place.site import Pin

LAT, LON = 54.57, -3.13


def setup_along(line_deg=268.0, distance_m=10.0, focal_mm=70.0, lens_m=1.6, people=(Person("", 1.8),), lat=LAT, lon=LON, **more) -> Setup:
    """A camera at a place and people along a bearing from it, on level ground unless pins say more."""
    couple = Pin(*direct(lat, lon, line_deg, distance_m), more.pop("couple_ground_m", 0.0))
    return Setup("a", "A", Pin(lat, lon, 0.0), couple, camera_held(focal_mm, "36x24", more.pop("orientation", "landscape")), lens_m, people=tuple(people), **more)
