"""Many places for one of a setup's two pins, and the setup as it would be from each."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from app.errors import BadInput
from app.lens.camera import Camera
from app.lens.projection import View
from app.looks.margin import Scene
from app.picture.people import Person, Solid
from app.picture.setup import Setup
from app.place.many_skylines import ManySkylines
from app.place.sides import BoolArray
from app.place.site import Pin, Site
from app.place.skyline import Skyline, ground_skyline
from app.place.standable import dry
from app.units import FloatArray, compass_deg

CAMERA, COUPLE = "camera", "couple"
FACE_M = 1.6  # where light on the couple counts, and what the camera must see of them
NEAREST_M = 1.0  # nearer than this nobody is photographed whole; common sense, no source
MOST_PLACES = 40_000
GroundAt = Callable[[FloatArray, FloatArray], FloatArray]


@dataclass(frozen=True, eq=False)
class Places:
    """Places of an even grid round the pin that stays.

    Attributes
    ----------
    site : Site
    setup : Setup
        As it is now.
    moved : str
        ``CAMERA`` or ``COUPLE``: which pin is to be placed.
    step_m : float
        From place to place. [m]
    east_m, north_m : shape (places,)
        In the site's local frame. [m]
    ground_m : shape (places,)
        Above the site's datum. [m]
    """

    site: Site
    setup: Setup
    moved: str
    step_m: float
    east_m: FloatArray
    north_m: FloatArray
    ground_m: FloatArray

    @property
    def stays(self) -> Pin:
        """The pin that stays."""
        return self.setup.couple_pin if self.moved == CAMERA else self.setup.camera_pin

    @property
    def goes(self) -> Pin:
        """The pin that is to be placed, where it is now."""
        return self.setup.camera_pin if self.moved == CAMERA else self.setup.couple_pin

    @property
    def eye_height_m(self) -> float:
        """Of whoever is to be placed, over the ground: the lens, or the faces. [m]"""
        return self.setup.lens_height_m if self.moved == CAMERA else FACE_M

    @cached_property
    def stays_m(self) -> tuple[float, float]:
        """The pin that stays, in the site's local frame. [m]"""
        east, north, _ = self.site.local_frame.to_metres(self.stays.lat_deg, self.stays.lon_deg)
        return float(east), float(north)

    def pin(self, place: int) -> Pin:
        """Return one place as a pin."""
        lat, lon, _ = self.site.local_frame.to_degrees(self.east_m[place], self.north_m[place])
        return Pin(float(lat), float(lon), float(self.ground_m[place]))

    def setup_at(self, place: int) -> Setup:
        """Return the setup with its pin moved to one place."""
        return replace(self.setup, **{f"{self.moved}_pin": self.pin(place)})

    def take(self, which: BoolArray | FloatArray) -> "Places":
        """Return some of the places."""
        return replace(self, east_m=self.east_m[which], north_m=self.north_m[which], ground_m=self.ground_m[which])

    def standable(self, skylines: ManySkylines) -> BoolArray:
        """Tell where one can stand and nothing is between the camera and the couple."""
        other_m = self.stays.ground_m + (FACE_M if self.moved == CAMERA else self.setup.lens_height_m)
        free = skylines.sees(*self.stays_m, other_m)
        return free & ~skylines.built_on() & dry(self.site, self.east_m, self.north_m)

    def skylines(self, ground: Skyline | None = None) -> ManySkylines:
        """Return what hides the sky from all places."""
        seen = ground or ground_skyline(self.site, self.goes, self.eye_height_m)
        return ManySkylines(self.site, seen, self.east_m, self.north_m, self.ground_m + self.eye_height_m)

    def scene(self, scene: Scene, skylines: ManySkylines) -> Scene:
        """Return a scene that stands for all places at once: what differs is an array, the places' axis first; light apart."""
        own = {"skyline": skylines} if self.moved == CAMERA else {"couple_skyline": skylines}
        return replace(scene, setup=many_setups(self), light=None, **own)


@dataclass(frozen=True, eq=False)
class ManySetups:
    """What margins ask of a setup, for many at once; see ``Setup``."""

    camera: Camera
    people: tuple[Person, ...]
    figures: tuple[Solid, ...]
    line_deg: FloatArray
    distance_m: FloatArray
    eye_m: FloatArray
    view: View


def many_setups(places: Places) -> ManySetups:
    """Return the setups of all places."""
    setup, (east_m, north_m) = places.setup, places.stays_m
    turned = 1.0 if places.moved == CAMERA else -1.0
    across, along = turned * (east_m - places.east_m), turned * (north_m - places.north_m)
    line_deg, distance_m = np.asarray(compass_deg(np.degrees(np.arctan2(across, along)))), np.hypot(across, along)
    eye_m = setup.lens_height_m + turned * (places.ground_m - places.stays.ground_m)
    crown_m = max((person.height_m for person in setup.people), default=1.7)
    aim = setup.aim or (line_deg, np.degrees(np.arctan2(crown_m - eye_m, distance_m)))
    return ManySetups(setup.camera, setup.people, setup.figures, line_deg, distance_m, eye_m, View(setup.camera, *aim))


def grid(site: Site, setup: Setup, moved: str, reach_m: float, step_m: float, ground_at: GroundAt | None = None) -> Places:
    """Return an even grid of places within reach of the pin that stays.

    Parameters
    ----------
    moved : str
        ``CAMERA`` or ``COUPLE``.
    reach_m, step_m : float
        [m]
    ground_at : function of latitudes and longitudes, optional
        The ground above the site's datum; that of the moved pin where it is left out or NaN. [m]

    Raises
    ------
    BadInput
        For more than 40,000 places.
    """
    if not (0.1 <= step_m <= reach_m and np.pi * (reach_m / step_m) ** 2 <= MOST_PLACES):
        raise BadInput(f"A search has 1 to {MOST_PLACES:,} places; {reach_m:g} m of reach in steps of {step_m:g} m came.", "step")
    along = np.arange(-np.floor(reach_m / step_m), np.floor(reach_m / step_m) + 1) * step_m
    east, north = (side.ravel() for side in np.meshgrid(along, along))
    within = (np.hypot(east, north) <= reach_m) & (np.hypot(east, north) >= NEAREST_M)
    none = np.empty(0)
    whole = Places(site, setup, moved, step_m, none, none, none)
    east, north = east[within] + whole.stays_m[0], north[within] + whole.stays_m[1]
    ground = np.full(east.shape, whole.goes.ground_m)
    if ground_at is not None:
        lat, lon, _ = site.local_frame.to_degrees(east, north)
        told = ground_at(np.asarray(lat), np.asarray(lon))
        ground = np.where(np.isfinite(told), told, ground)
    return replace(whole, east_m=east, north_m=north, ground_m=ground)
