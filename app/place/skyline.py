"""The lowest visible sky all round one viewpoint, as a closed line of straight pieces."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from app.place.bands import Band, clearance_deg
from app.place.closed_line import LONGER_DEG, ClosedLine
from app.place.geodesy import inverse
from app.place.obstacles import EYE_HEIGHT_M, Outlook, outlook
from app.place.sighted import LEVEL, sighted_nodes
from app.place.site import Pin, Site, Survey
from app.units import FloatArray, FloatOrArray, compass_deg

NEAR_M = 2000.0  # a survey farther away tells nothing about here
SUN_DEG = 2 * 959.63 / 3600.0  # the sun's width at 1 au, Astronomical Almanac's value
TOUCHES_DEG = 0.01  # how near to a band's edge what stands there is named by it

@dataclass(frozen=True, eq=False)
class Skyline:
    """A skyline through nodes, straight between them, and closed round the compass.

    Parameters
    ----------
    azimuth_deg : array_like
        Where it bends, ascending, 0 <= azimuth < 360. [°]
    altitude_deg : array_like
        Its altitude there. [°]
    called : sequence of str
        Its name from each node on clockwise, up to the next.
    bands : tuple of Band
        What hides stretches of the sky over it: roofs with free air under them.

    Raises
    ------
    ValueError
        When the first three do not fit together or the azimuths do not ascend.
    """

    azimuth_deg: FloatArray
    altitude_deg: FloatArray
    called: tuple[str, ...]
    bands: tuple[Band, ...] = ()

    def __post_init__(self) -> None:
        for name in ("azimuth_deg", "altitude_deg"):
            object.__setattr__(self, name, _fixed(getattr(self, name)))
        object.__setattr__(self, "called", tuple(self.called))
        self._check()

    def altitude_at(self, azimuth_deg: ArrayLike) -> FloatOrArray:
        """Return the altitude of the lowest visible sky at azimuths of any shape. [°]"""
        return self.line.at(azimuth_deg)

    def called_at(self, azimuth_deg: float, altitude_deg: float | None = None) -> str:
        """Return what the skyline is called at one azimuth, “the ridge” or “the horizon”.

        Given the altitude of a disc's top, what that disc is behind: a band's name
        where the top lies in one or at its edge.
        """
        if altitude_deg is not None and altitude_deg > self.altitude_at(azimuth_deg) + TOUCHES_DEG:
            for band in self.bands:
                low_deg, high_deg = band.low.at(azimuth_deg), band.high.at(azimuth_deg)
                if low_deg - TOUCHES_DEG <= altitude_deg <= high_deg + TOUCHES_DEG:
                    return band.called
        return self.called[self.line.piece_at(azimuth_deg)]

    def clearance_deg(
        self, azimuth_deg: ArrayLike, upper_edge_deg: ArrayLike, disc_deg: ArrayLike = SUN_DEG
    ) -> FloatArray:
        """Return how far a disc is clear of the skyline and its bands.

        Parameters
        ----------
        azimuth_deg, upper_edge_deg : any shapes that fit together
            Where the disc stands, and its highest point as seen. [°]
        disc_deg : same
            Its height; it counts only where there are bands. [°]

        Returns
        -------
        same shape
            Positive when some of the disc shows, 0 where the last of it goes, negative by
            how far it is hidden; continuous. Without bands, the upper edge less the
            skyline; a gap narrower than the disc counts by its width. [°]
        """
        bands = [(band.low.at(azimuth_deg), band.high.at(azimuth_deg)) for band in self.bands]
        return clearance_deg(self.altitude_at(azimuth_deg), bands, upper_edge_deg, upper_edge_deg, disc_deg)

    def clearance_bounds_deg(
        self,
        from_deg: ArrayLike,
        to_deg: ArrayLike,
        lowest_edge_deg: ArrayLike,
        highest_edge_deg: ArrayLike,
        disc_deg: ArrayLike = SUN_DEG,
        beyond_deg: ArrayLike = LONGER_DEG,
    ) -> tuple[FloatArray, FloatArray]:
        """Return the least and the most that the clearance can be on a disc's way.

        Parameters
        ----------
        from_deg, to_deg : one shape
            The way is the shorter one between these azimuths, ``beyond_deg`` longer at both ends. [°]
        lowest_edge_deg, highest_edge_deg : same shape
            Between which the disc's upper edge stays. [°]
        """
        way = from_deg, to_deg, beyond_deg
        lowest, highest = self.line.range_between(*way)
        ranges = [(band.low.range_between(*way), band.high.range_between(*way)) for band in self.bands]
        widest, narrowest = ([(low[i], high[1 - i]) for low, high in ranges] for i in (0, 1))
        return (
            clearance_deg(highest, widest, highest_edge_deg, lowest_edge_deg, disc_deg),
            clearance_deg(lowest, narrowest, lowest_edge_deg, highest_edge_deg, disc_deg),
        )

    def range_between(self, from_deg: FloatArray, to_deg: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the lowest and highest altitude on the shorter way between azimuths of one shape. [°]

        Exact, gaps of any narrowness included; the way is taken 0.05° longer at
        both ends. Bands are left out.
        """
        return self.line.range_between(from_deg, to_deg)

    @cached_property
    def bends_deg(self) -> FloatArray:
        """The azimuths at which it or one of its bands bends, ascending. [°]"""
        return np.unique(np.concatenate([self.azimuth_deg, *(band.azimuth_deg for band in self.bands)]))

    @cached_property
    def line(self) -> ClosedLine:
        """The skyline without its names."""
        return ClosedLine(self.azimuth_deg, self.altitude_deg)

    def _check(self) -> None:
        azimuth, altitude = self.azimuth_deg, self.altitude_deg
        if not (azimuth.ndim == 1 and azimuth.shape == altitude.shape == (len(self.called),)):
            raise ValueError("A skyline needs as many altitudes and names as azimuths, in one row each.")
        if not (azimuth.size and np.all(np.isfinite(altitude)) and np.all(np.diff(azimuth) > 0.0)):
            raise ValueError("A skyline needs one node or more, finite, with ascending azimuths.")
        if not (azimuth[0] >= 0.0 and azimuth[-1] < 360.0):
            raise ValueError("The azimuths of a skyline run from 0 to below 360 degrees.")


def level_skyline(altitude_deg: float = 0.0) -> Skyline:
    """Return the skyline of flat land or open sea with nothing standing on it, lower by its dip if any. [°]"""
    return Skyline([0.0], [altitude_deg], (LEVEL,))


def skyline_for(
    site: Site, pin: Pin, eye_height_m: float = EYE_HEIGHT_M, terrain: Skyline | None = None
) -> Skyline:
    """Return the skyline from an eye over a pin: the highest of all that is known.

    Parameters
    ----------
    site : Site
        Its nearest survey within 2 km counts, and its obstacles; of these, those that
        let through half of the light or more do not, nor those the eye stands in.
    pin : Pin
    eye_height_m : float
        Above the pin's ground. [m]
    terrain : Skyline, optional
        What the ground makes from the same eye.

    Notes
    -----
    Nodes lie every 0.25° where obstacles stand, and close by on both sides of up to 400
    corners that show. Where nothing else is known it is level, or lower by the dip of the
    sea or plain that the site's ``horizon_m`` tells of. Where terrain is known it may
    lie lower than level, down to the dip of the sea. A sighted point counts as what it
    is, below level too, and holds what stood there when it was sighted; the eye is taken
    to be where the sights were.
    """
    ground = ground_skyline(site, pin, eye_height_m, terrain)
    return _with_obstacles(ground, outlook(site, pin, eye_height_m)) if site.obstacles else ground


def ground_skyline(
    site: Site, pin: Pin, eye_height_m: float = EYE_HEIGHT_M, terrain: Skyline | None = None
) -> Skyline:
    """Return the skyline of ``skyline_for`` without the site's obstacles: it is much the same all over the site."""
    sighted = _sighted(site, pin, _level_deg(site, pin.ground_m + eye_height_m, terrain))
    return highest_of(sighted, terrain) if terrain else sighted


def highest_of(one: Skyline, other: Skyline) -> Skyline:
    """Return the skyline of two in front of each other; exact, the places where they cross included."""
    azimuth = np.union1d(one.azimuth_deg, other.azimuth_deg)
    altitudes = [skyline.altitude_at(azimuth) for skyline in (one, other)]
    names = [_names_at(skyline, azimuth) for skyline in (one, other)]
    return _upper(azimuth, altitudes, names, one.bands + other.bands)


def dip_deg(height_m: float) -> float:
    """Return how far under level a sea or plain ends that lies so far below the eye; 0 for a higher one. [°]

    1.76′ √h with mean refraction: *Explanatory Supplement to the Astronomical
    Almanac*, Seidelmann ed. (1992), p. 488.
    """
    return 1.76 / 60.0 * max(height_m, 0.0) ** 0.5


def surveyed_skyline(survey: Survey, level_deg: float = 0.0) -> Skyline:
    """Return the skyline through the sighted points of a survey.

    Between neighbouring points it is straight. A gap wider than 30° was not
    surveyed and counts as level: the line falls to ``level_deg`` within 0.01°
    outside the sighted points. A name holds clockwise from its point to the next
    name, also past north; where nothing was named it is “the skyline”, and “the
    horizon” where it is level and has no name of its own.
    """
    return Skyline(*zip(*sighted_nodes(survey.sightings, level_deg), strict=True))


def _sighted(site: Site, pin: Pin, level_deg: float) -> Skyline:
    """Return the skyline of the nearest survey within 2 km of a pin, or a level one."""
    far_m = {survey: _distance_m(survey.pin, pin) for survey in site.surveys}
    nearest = min(far_m, key=far_m.get, default=None)
    near = nearest is not None and far_m[nearest] <= NEAR_M
    return surveyed_skyline(nearest, level_deg) if near else level_skyline(level_deg)


def _level_deg(site: Site, eye_m: float, terrain: Skyline | None) -> float:
    """Return where the sky begins at the lowest; no ground that is seen lies lower than the sea, or hardly any."""
    if site.horizon_m is not None:
        return -dip_deg(eye_m + site.horizon_m)
    return -dip_deg(eye_m + site.centre.height_m) if terrain else 0.0


def _with_obstacles(ground: Skyline, seen: Outlook) -> Skyline:
    azimuth, altitude, owner = seen.rim(ground.line)
    owner = np.where(np.roll(altitude, -1) > altitude, np.roll(owner, -1), owner)  # a piece belongs to its upper end
    higher = altitude > ground.altitude_at(azimuth)
    kept = higher | np.roll(higher, 1) | np.roll(higher, -1) | np.isin(azimuth, ground.azimuth_deg)
    azimuth, altitude, names = azimuth[kept], altitude[kept], seen.things.called[owner[kept]]
    altitudes = [ground.altitude_at(azimuth), altitude]
    bands = ground.bands + tuple(seen.bands(ground.line))
    return _upper(azimuth, altitudes, [_names_at(ground, azimuth), names], bands)


def _upper(
    azimuth: FloatArray, altitudes: Sequence[FloatArray], names: Sequence[NDArray], bands: tuple[Band, ...]
) -> Skyline:
    """Return the upper of two lines through the same azimuths, with a node where they cross.

    ``names`` are those of the pieces from each node on.
    """
    lower, above = altitudes[0], altitudes[1] - altitudes[0]
    after = np.roll(above, -1)
    crosses = np.flatnonzero(above * after < 0)
    share = above[crosses] / (above[crosses] - after[crosses])
    width = (np.roll(azimuth, -1) - azimuth)[crosses] % 360.0
    crossing = compass_deg(azimuth[crosses] + share * width)
    crossed = lower[crosses] + share * (np.roll(lower, -1) - lower)[crosses]
    named = np.where((above > 0) | ((above == 0) & (after > 0)), names[1], names[0])
    at = np.concatenate([azimuth, crossing])
    _, first = np.unique(at, return_index=True)
    height = np.concatenate([np.maximum(*altitudes), crossed])
    name = np.concatenate([named, np.where(after > 0, names[1], names[0])[crosses]])
    return Skyline(at[first], height[first], tuple(name[first]), bands)


def _names_at(skyline: Skyline, azimuth_deg: FloatArray) -> NDArray:
    """Return the name of the piece from each azimuth on."""
    piece = np.searchsorted(skyline.azimuth_deg, azimuth_deg, side="right") - 1
    return np.array(skyline.called, dtype=object)[piece]


def _distance_m(one: Pin, other: Pin) -> float:
    return inverse(one.lat_deg, one.lon_deg, other.lat_deg, other.lon_deg).distance_m


def _fixed(values: ArrayLike) -> FloatArray:
    fixed = np.array(values, dtype=float)
    fixed.flags.writeable = False
    return fixed
