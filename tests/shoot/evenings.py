"""An invented shoot: setups on a level meadow at 52° N, on the evening of 18 September 2027."""

import math
from dataclasses import replace
from datetime import date, time

from app.looks.margin import Scene
from app.picture.weather import Weather
from app.place.site import Pin
from app.place.skyline import level_skyline
from app.shoot.shoot import Shoot, Wish, free_between
from app.sky.track import Observer
from tests.looks.scenes import METRES_A_DEGREE, setup_at

LAT, LON, ZONE, DAY = 52.0, -1.0, "Europe/London", date(2027, 9, 18)  # sunset 19:12 BST, at 273°


def scene(setup_id, line_deg=270.0, looks=("backlit",), east_m=0.0, weather=Weather(), skyline=None, lat=LAT, lon=LON, **more):
    """A scene some metres east of the middle, its camera looking along a line."""
    there = lon + east_m / (METRES_A_DEGREE * math.cos(math.radians(lat)))
    setup = replace(setup_at(lat, there, line_deg, 8.0), id=setup_id, name=setup_id.title(), looks=looks, **more)
    seen = skyline or level_skyline()
    return Scene(Observer(lat, there), setup, seen, seen, weather=weather)


def wish(wish_id, **terms):
    """A wish for the setup of the same id."""
    return Wish(wish_id, terms.pop("site", "meadow"), terms.pop("setup", wish_id), name=terms.pop("name", wish_id.title()), **terms)


def shoot(*wishes, free=((time(17, 0), time(20, 30)),), day=DAY, zone=ZONE, **terms):
    """A shoot on the evening; free times are on the clocks of the zone."""
    stretches = tuple(free_between(zone, day, start, end) for start, end in free)
    return Shoot("linnet", "Ada & Ben", day, zone, wishes, stretches, **terms)


def pin(east_m=0.0):
    return Pin(LAT, LON + east_m / (METRES_A_DEGREE * math.cos(math.radians(LAT))))
