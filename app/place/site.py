"""What a site holds, as plain facts; ``document`` is the file they were read from."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from app.place.geodesy import LocalFrame

LonLat = tuple[float, float]  # in the order of GeoJSON [°, °]
KINDS = ("building", "wall", "trees", "canopy")


@dataclass(frozen=True)
class Pin:
    """A placed point; ``ground_m`` is the ground there above the site's datum. [°, °, m]"""

    lat_deg: float
    lon_deg: float
    ground_m: float = 0.0


@dataclass(frozen=True)
class Centre:
    """The middle of a site; ``height_m`` is its datum above sea level. [°, °, m]"""

    lat_deg: float
    lon_deg: float
    height_m: float = 0.0


@dataclass(frozen=True)
class Notes:
    """What has to be known before anyone goes there, in the words of who scouted it."""

    access: str = ""
    permission: str = ""
    hazards: str = ""


@dataclass(frozen=True)
class Water:
    """A sheet of water.

    Parameters
    ----------
    ring, holes
        Its edge and its islands, closed: the last corner repeats the first. [°]
    surface_m : float
        Height of the surface above the site's datum. [m]
    sheltered : bool
        Whether trees or banks keep the wind off.
    """

    id: str
    name: str
    ring: tuple[LonLat, ...]
    holes: tuple[tuple[LonLat, ...], ...]
    surface_m: float
    sheltered: bool


@dataclass(frozen=True)
class Obstacle:
    """A thing that stands up and takes light.

    Parameters
    ----------
    kind : str
        One of ``KINDS``.
    outline, holes
        The edge and courtyards of a closed shape, each with its last corner
        repeating the first, or the line of a wall or hedge. [°]
    closed : bool
        Whether the outline goes round something.
    base_m, top_m : float
        Above the site's datum; a canopy has free air under its base. [m]
    lets_through : float
        Share of direct light that comes through, 0..1.
    """

    id: str
    name: str
    kind: str
    outline: tuple[LonLat, ...]
    holes: tuple[tuple[LonLat, ...], ...]
    closed: bool
    base_m: float
    top_m: float
    lets_through: float


@dataclass(frozen=True)
class Sighting:
    """One sighted point of a skyline.

    ``bearing_deg`` is true, 0..360; ``called`` names the skyline from here on
    clockwise, until the next name. [°, °]
    """

    bearing_deg: float
    altitude_deg: float
    called: str | None = None


@dataclass(frozen=True)
class Survey:
    """A skyline sighted from one viewpoint.

    ``correction_deg`` is what was added to compass bearings to make them true,
    ``note`` what to know about that. [m, °]
    """

    id: str
    name: str
    pin: Pin
    eye_height_m: float
    sightings: tuple[Sighting, ...]
    sighted_on: date | None = None
    correction_deg: float = 0.0
    note: str | None = None


@dataclass(frozen=True)
class SetupFeature:
    """One setup as it lies on the plan; ``properties`` are read by higher floors."""

    id: str
    name: str
    camera: Pin
    couple: Pin
    properties: Mapping[str, Any] = field(hash=False)


@dataclass(frozen=True)
class Site:
    """A venue. ``datum`` says in words from where its heights are counted.

    ``horizon_m`` is how far below the datum the sea or plain lies that makes its
    horizon; None where the horizon counts as level with the eye. [m] ``observed_stops`` is by
    how much a meter found the place brighter than reckoned. [stop]
    """

    name: str
    time_zone: str
    datum: str
    notes: Notes
    centre: Centre
    waters: tuple[Water, ...]
    obstacles: tuple[Obstacle, ...]
    surveys: tuple[Survey, ...]
    setups: tuple[SetupFeature, ...]
    document: Mapping[str, Any] = field(hash=False)
    horizon_m: float | None = None
    observed_stops: float = 0.0

    @property
    def local_frame(self) -> LocalFrame:
        """Metres around the centre, with heights from the site's datum."""
        return LocalFrame(self.centre.lat_deg, self.centre.lon_deg)
