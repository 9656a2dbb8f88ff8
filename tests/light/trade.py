"""A late evening, a couple and one light of the trade, for tests of common practice."""

import numpy as np

from app.light.day import daylight_over, face_lux, sky_cd_m2
from app.light.exposure import ev100_of_cd_m2
from app.light.faces import couple_faces, direction
from app.light.lights import Flash, Light, Modifier
from app.light.spot import Spot
from tests.light.test_day_by_table import from_noon

JUNE = from_noon(45.0, 6)
# Battery heads of the 400 to 500 Ws class, bare in a plain reflector; common practice, no source.
HEAD = Flash("Head", 80.0, beam_deg=75.0)
# A stop and a third for the cloth, a stop and a bit for its grid; common practice, no source.
GRIDDED_BOX = Modifier("65 cm softbox with grid", 2.5, 60.0, grid=True)


def day_at(altitude_deg):
    """The evening of 15 June at 45° north, at the moment when the sun's middle has sunk to an airless altitude."""
    moment = int(np.argmin(np.abs(JUNE.airless_deg - altitude_deg)))
    return daylight_over(JUNE[moment : moment + 1], 3.0)


def couple_before(day, off_sun_deg):
    """A couple that looks into the camera; behind them lies the sky so far to the right of the sun."""
    return couple_faces((1.68, 1.80), float(day.sun.azimuth_deg[0] + off_sun_deg) % 360.0, names=("Ada", "Ben"))


def lux_on(day, faces):
    return np.stack([face_lux(day, Spot(), face) for face in faces])


def sky_ev(day, off_sun_deg, over_deg=1.0):
    """The sky behind them, so far over a level skyline, as a spot meter reads it."""
    return ev100_of_cd_m2(sky_cd_m2(day, (day.sun.azimuth_deg + off_sun_deg) % 360.0, over_deg))


def light_on(faces, away_m, aside_deg=35.0, up_deg=45.0, flash=HEAD, modifier=None, **more):
    """A light so far from the middle of the faces, so far beside where they look, turned to it."""
    middle = np.mean([face.position_m for face in faces], axis=0)
    place = middle + away_m * direction(faces[0].facing_deg + aside_deg, up_deg)
    return Light(flash, tuple(place.tolist()), tuple(middle.tolist()), modifier, **more)
