"""Scenes to try looks on: any place, line and lens, under skylines with narrow gaps and spikes."""

import math

import numpy as np

from app.lens.camera import Camera
from app.looks.margin import Scene
from app.picture.people import Person
from app.picture.setup import PEOPLE, Setup
from app.place.bands import NOWHERE_HIGH_DEG, NOWHERE_LOW_DEG, Band
from app.place.site import Pin
from app.place.skyline import Skyline
from app.sky.ephemeris import DAY_S
from app.sky.track import Observer
from app.units import FloatArray

METRES_A_DEGREE = 111_320.0
NARROWEST_DEG = 0.05  # of gaps and spikes: the sun's azimuth takes 8 s or longer for it outside the tropics' noon


def setup_at(
    lat_deg: float,
    lon_deg: float,
    line_deg: float,
    distance_m: float,
    focal_mm: float = 50.0,
    people: tuple[Person, ...] = PEOPLE,
    **more: object,
) -> Setup:
    """Return a setup on level ground, its line as asked for to a hundredth of a degree or two."""
    line, metres_east = math.radians(line_deg), METRES_A_DEGREE * math.cos(math.radians(lat_deg))
    couple = Pin(
        lat_deg + distance_m * math.cos(line) / METRES_A_DEGREE, lon_deg + distance_m * math.sin(line) / metres_east
    )
    return Setup("setup", "Setup", Pin(lat_deg, lon_deg), couple, Camera(focal_mm, 36.0, 24.0), people=people, **more)


def scene_at(
    lat_deg: float, lon_deg: float, line_deg: float, distance_m: float = 8.0, skyline: Skyline | None = None, **more: object
) -> Scene:
    """Return a scene whose camera and couple have one skyline, a level one unless given."""
    setup, observer = setup_at(lat_deg, lon_deg, line_deg, distance_m, **more), Observer(lat_deg, lon_deg)
    return Scene(observer, setup, skyline, skyline) if skyline else Scene(observer, setup)


def random_scene(chance: np.random.Generator, lat_deg: float, start_utc_s: float) -> Scene:
    """Return a scene with any distance, lens and number of people, and two jagged skylines.

    The line points at where the sun stands low within a day from the start, if it does.
    """
    lon = chance.uniform(-180, 180)
    sun = Observer(lat_deg, lon).sun_over(start_utc_s, start_utc_s + DAY_S, 300.0)
    low = sun.azimuth_deg[(sun.airless_deg > 1) & (sun.airless_deg < 25)]
    setup = setup_at(
        lat_deg,
        lon,
        (chance.choice(low) + chance.normal(0, 1.5)) % 360 if len(low) else chance.uniform(0, 360),
        distance_m=math.exp(chance.uniform(math.log(2), math.log(30))),
        focal_mm=float(chance.choice([24, 35, 50, 85, 135, 200])),
        people=tuple(Person("", tall) for tall in chance.uniform(1.0, 2.0, chance.integers(1, 5))),
        lens_height_m=chance.uniform(0.1, 1.2),
    )
    observer = Observer(lat_deg, setup.camera_pin.lon_deg, height_m=chance.uniform(0, 2000))
    return Scene(observer, setup, jagged_skyline(chance), jagged_skyline(chance))


def jagged_skyline(chance: np.random.Generator, narrow: int = 120, roofs: int = 2) -> Skyline:
    """Return a rolling skyline cut by narrow notches and set with narrow spikes, mostly with some roof hanging over it."""
    base = np.sort(chance.uniform(0, 360, 60))
    height = chance.gamma(2.0, 2.0, 60) * chance.uniform(0, 1)
    feet = np.sort(chance.uniform(0, 359, narrow))
    feet = feet[np.diff(feet, append=361.0) > 0.5]
    width = chance.uniform(NARROWEST_DEG, 0.4, len(feet))
    ground = np.interp(feet, base, height, period=360)
    inside = np.where(chance.random(len(feet)) < 0.5, chance.uniform(0, 1, len(feet)) * ground, ground + chance.gamma(2.0, 3.0, len(feet)))
    step = 0.2 * width
    azimuth = np.concatenate([base, feet, feet + step, feet + width - step, feet + width])
    altitude = np.concatenate([height, ground, inside, inside, ground])
    azimuth, first = np.unique(azimuth, return_index=True)
    names = tuple(f"thing {number}" for number in range(len(azimuth)))
    bands = tuple(hanging_band(chance, number) for number in range(chance.integers(0, roofs + 1)))
    return Skyline(azimuth, altitude[first], names, bands)


def hanging_band(chance: np.random.Generator, number: int) -> Band:
    """Return a roof over a stretch of the sky, with free air under it."""
    start, width = chance.uniform(0, 330), chance.uniform(2, 25)
    azimuth = start + np.array([0.0, 0.01, 0.4, 0.6, 0.99, 1.0]) * width
    low = chance.uniform(1, 10) + chance.uniform(0, 2, 6)
    high = low + chance.uniform(0.1, 8)
    low[[0, -1]], high[[0, -1]] = NOWHERE_LOW_DEG, NOWHERE_HIGH_DEG
    return Band(azimuth, low, high, f"roof {number}")


def apart_deg(one_deg: FloatArray, other_deg: FloatArray) -> FloatArray:
    """Return the angle between bearings. [°]"""
    return np.abs((np.asarray(one_deg) - other_deg + 180.0) % 360.0 - 180.0)
