"""Invented flashes, people and places for the tests of the flash."""

from app.light.faces import Face
from app.light.lights import Flash, Light, Modifier

BARE = Flash("Bare", 40.0, beam_deg=360.0)
SOFTBOX = Modifier("softbox", 2.0, 100.0)


def face(east_m=0.0, north_m=0.0, up_m=1.6, facing_deg=90.0, name="Ada", tilt_deg=0.0):
    """Somebody who looks east unless told otherwise."""
    return Face(name, (east_m, north_m, up_m), facing_deg, tilt_deg)


def light(east_m=4.0, north_m=0.0, up_m=1.6, aim_m=(0.0, 0.0, 1.6), flash=BARE, **more):
    """A bare flash, 4 m east of the origin, turned to it at face height."""
    return Light(flash, (east_m, north_m, up_m), aim_m, **more)
