"""Sites made of obstacles given in metres east and north of their centre."""

import numpy as np

from app.place.geodesy import LocalFrame
from app.place.site import Centre, Notes, Obstacle, Pin, Site

HERE = Pin(54.57, -3.13)
FRAME = LocalFrame(HERE.lat_deg, HERE.lon_deg)


def pin_at(east_m, north_m, ground_m=0.0):
    lat, lon, _ = FRAME.to_degrees(east_m, north_m)
    return Pin(float(lat), float(lon), ground_m)


def corners(metres):
    lat, lon, _ = FRAME.to_degrees(*np.array(metres, dtype=float).T)
    return tuple(zip(lon.tolist(), lat.tolist(), strict=True))


def closed(metres):
    return [*metres, metres[0]]


def house(metres, top_m, name="the barn", kind="building", base_m=0.0, lets_through=0.0, holes=()):
    rings = [corners(closed(list(map(tuple, ring)))) for ring in (metres, *holes)]
    return Obstacle(name, name, kind, rings[0], tuple(rings[1:]), True, base_m, top_m, lets_through)


def wall(metres, top_m, name="the wall", kind="wall", base_m=0.0, lets_through=0.0):
    return Obstacle(name, name, kind, corners(metres), (), False, base_m, top_m, lets_through)


def box(west, east, south, north):
    return [(west, south), (east, south), (east, north), (west, north)]


def disc(east_m, north_m, radius_m, corners=96):
    turn = 2 * np.pi * np.arange(corners) / corners
    return np.stack([east_m + radius_m * np.cos(turn), north_m + radius_m * np.sin(turn)], axis=1)


def site_of(*obstacles, surveys=(), horizon_m=None, height_m=0.0, centre=HERE):
    place = Centre(centre.lat_deg, centre.lon_deg, height_m)
    return Site("Trial", "Europe/London", "", Notes(), place, (), obstacles, tuple(surveys), (), {}, horizon_m)
