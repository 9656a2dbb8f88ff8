"""Sites with water and things that stand about it, laid out in metres ahead and right of a camera."""

import numpy as np

from app.lens.camera import camera_held
from app.picture.people import Person
from app.picture.setup import Setup
from app.place.geodesy import LocalFrame
from app.place.site import Centre, Notes, Obstacle, Pin, Site, Water

LAT, LON, LINE_DEG = 54.57, -3.13, 268.0
FRAME = LocalFrame(LAT, LON)
COUPLE = (Person("", 1.68), Person("", 1.83))


def corners(ahead_right):
    """Longitudes and latitudes of places told as metres ahead along the line and to its right."""
    ahead, right = np.array(ahead_right, dtype=float).T
    turn = np.radians(LINE_DEG)
    east, north = ahead * np.sin(turn) + right * np.cos(turn), ahead * np.cos(turn) - right * np.sin(turn)
    lat, lon, _ = FRAME.to_degrees(east, north)
    return tuple(zip(lon.tolist(), lat.tolist(), strict=True))


def box(near, far, left, right):
    return [(near, left), (near, right), (far, right), (far, left)]


def pool(ahead_right, surface_m=0.0, sheltered=False, holes=(), name="the pond"):
    ring, *islands = [corners([*shape, shape[0]]) for shape in (ahead_right, *holes)]
    return Water("pond", name, ring, tuple(islands), surface_m, sheltered)


def thing(ahead_right, top_m, base_m=0.0, kind="building", name="the barn", lets_through=0.0, closed=True):
    outline = corners([*ahead_right, ahead_right[0]] if closed else ahead_right)
    return Obstacle(name, name, kind, outline, (), closed, base_m, top_m, lets_through)


def site_with(*things, drawn=()):
    waters = tuple(one for one in things if isinstance(one, Water))
    obstacles = tuple(one for one in things if isinstance(one, Obstacle))
    features = [
        {"geometry": {"type": "Polygon", "coordinates": [[list(corner) for corner in corners([*shape, shape[0]])]]},
         "properties": {"role": "drawing", "name": name}}
        for name, shape in drawn
    ]  # fmt: skip
    return Site("Trial", "Europe/London", "", Notes(), Centre(LAT, LON), waters, obstacles, (), (), {"features": features})


def setup_by(distance_m=20.0, lens_m=1.0, ground_m=0.0, couple_ground_m=0.0, focal_mm=50.0, people=COUPLE, aim=(LINE_DEG, 0.0), **more):
    """A camera and a couple along the line, the camera level unless told."""
    lon, lat = corners([(distance_m, 0.0)])[0]
    camera = camera_held(focal_mm, "36x24", more.pop("orientation", "landscape"))
    pins = Pin(LAT, LON, ground_m), Pin(lat, lon, couple_ground_m)
    return Setup("a", "A", *pins, camera, lens_m, aim=aim, people=tuple(people), **more)
