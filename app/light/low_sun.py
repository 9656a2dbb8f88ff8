"""Where the last light lingers: minutes of low sun on every square of a site in the evening."""

from dataclasses import dataclass

import numpy as np

from app.errors import BadInput
from app.place.shade import DATUM_M, ShadeField
from app.place.site import Pin, Site
from app.place.skyline import Skyline, ground_skyline
from app.sky.track import Observer, SunTrack
from app.units import FloatArray

LOW_DEG = 15.0  # common practice, no source
FACE_M = 1.6
STEP_S = 60.0
MOST_SQUARES = 250_000


@dataclass(frozen=True, eq=False)
class LowSunMap:
    """Minutes of low sun over a square of ground round a site's centre.

    Attributes
    ----------
    west_m, south_m : float
        The lower left corner in the site's local frame. [m]
    cell_m : float
        The side of one square. [m]
    minutes : array of shape (rows, columns)
        From south to north and from west to east; light through foliage counts by its
        share. [min]
    built_on : array of bool, same shape
        Where something solid stands; there the minutes are 0.
    open_minutes : float
        What a square with nothing near it gets. [min]
    step_s : float
        The sun is looked at so often; a figure is off by at most that much for every
        time that shade comes or goes there. [s]
    """

    west_m: float
    south_m: float
    cell_m: float
    minutes: FloatArray
    built_on: np.ndarray
    open_minutes: float
    step_s: float


def low_sun_minutes(
    site: Site,
    observer: Observer,
    start_utc_s: float,
    end_utc_s: float,
    cell_m: float = 2.0,
    across_m: float = 200.0,
    highest_deg: float = LOW_DEG,
    skyline: Skyline | None = None,
    ground_m: float | None = DATUM_M,
    above_ground_m: float = FACE_M,
    step_s: float = STEP_S,
    rising: bool = False,
) -> LowSunMap:
    """Return how long low evening sun still reaches every square of a site.

    Parameters
    ----------
    start_utc_s, end_utc_s : float
        From now, or from the day's start, to the day's end: only the sun's way down is
        counted. Seconds since 1970 UTC. [s]
    cell_m, across_m : float
        The side of a square, and of the whole map round the site's centre. [m]
    highest_deg : float
        Up to which altitude of its middle, as seen, the sun is low. [°]
    skyline : Skyline, optional
        What ground far away makes of the sky, the same for every square; left out, the
        site's survey from its centre, or level.
    ground_m, above_ground_m : float
        The level that is shaded, as in :func:`app.place.shade.shade_polygons`; by default
        that of faces. [m]
    rising : bool
        Count the sun's way up instead, of a morning.

    Raises
    ------
    BadInput
        For more than 250,000 squares.

    Notes
    -----
    Asked at the middle of every square and of every step, with the sun as a point at its
    middle; the last sliver of the disc stays a minute or two longer.
    """
    along_m = _middles_m(cell_m, across_m)
    east_m, north_m = np.meshgrid(along_m, along_m)
    points = ShadeField(site, ground_m, above_ground_m).at(east_m, north_m)
    sun = _low(observer, start_utc_s, end_utc_s, step_s, highest_deg, rising)
    far = skyline or ground_skyline(site, Pin(site.centre.lat_deg, site.centre.lon_deg))
    sun = sun[(sun.refracted_deg > 0.0) & (far.clearance_deg(sun.azimuth_deg, sun.refracted_deg, 0.0) > 0.0)]
    minutes = np.zeros(east_m.size)
    for azimuth_deg, altitude_deg in zip(sun.azimuth_deg.tolist(), sun.refracted_deg.tolist(), strict=True):
        minutes += points.light(azimuth_deg, altitude_deg) * step_s / 60.0
    corner_m, shape = float(along_m[0] - cell_m / 2), east_m.shape
    built_on = points.built_on.reshape(shape)
    return LowSunMap(corner_m, corner_m, cell_m, minutes.reshape(shape), built_on, len(sun) * step_s / 60.0, step_s)


def _middles_m(cell_m: float, across_m: float) -> FloatArray:
    if not (cell_m > 0.0 and across_m >= cell_m and (across_m / cell_m) ** 2 <= MOST_SQUARES):
        count = f"{MOST_SQUARES:,}"
        raise BadInput(f"A map has between 1 and {count} squares; {across_m:g} m by {cell_m:g} m came.", "cell_m")
    half = int(np.ceil(across_m / cell_m)) / 2
    return (np.arange(-half, half) + 0.5) * cell_m


def _low(
    observer: Observer, start_utc_s: float, end_utc_s: float, step_s: float, highest_deg: float, rising: bool
) -> SunTrack:
    """Return the sun in the middle of each step in which it is low and goes down, or up."""
    sun = observer.sun_over(start_utc_s + step_s / 2, end_utc_s + step_s, step_s)
    wanted = (np.diff(sun.airless_deg) > 0.0) == rising
    return sun[:-1][wanted & (sun.refracted_deg[:-1] <= highest_deg)]
