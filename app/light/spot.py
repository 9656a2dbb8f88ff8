"""The spot that light falls on: how much of sun and sky its skyline leaves, and what lies under it."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from app.errors import BadInput
from app.light.ground import albedo_of
from app.place.skyline import Skyline, level_skyline
from app.sky.track import SunTrack
from app.units import FloatArray, FloatOrArray

COLUMNS = 1440  # of the sky, a quarter of a degree wide, for what does not change with the sun
SECTORS, STEPS = 36, 8  # pieces of sky for what does
# Columns of the disc: nodes and weights of Gauss and Chebyshev's second kind, which sums a circle.
_TURN = np.pi * np.arange(1, 32) / 32
_ACROSS, _SHARE = np.cos(_TURN), np.sin(_TURN) ** 2 / 16.0


@dataclass(frozen=True, eq=False)
class SkyPieces:
    """Pieces of the sky that a skyline leaves free.

    Attributes
    ----------
    toward : shape (3, pieces)
        Where they lie: east, north and up.
    altitude_deg, solid_sr : shape (pieces,)
        [°, sr]
    """

    toward: FloatArray
    altitude_deg: FloatArray
    solid_sr: FloatArray


@dataclass(frozen=True, eq=False)
class Spot:
    """Where somebody stands.

    Attributes
    ----------
    skyline : Skyline
        From their face, bands included.
    ground : str
        One of ``ALBEDO``; under and about them.
    light_share : float or array of the track's shape
        What else passes of the direct beam, 0..1: foliage, a sail, an assistant's scrim.

    Raises
    ------
    BadInput
        For another ground, or a share out of range.
    """

    skyline: Skyline = level_skyline()
    ground: str = "grass"
    light_share: FloatOrArray = 1.0

    def __post_init__(self) -> None:
        albedo_of(self.ground)
        share = np.asarray(self.light_share, dtype=float)
        if not np.all((share >= 0.0) & (share <= 1.0)):
            raise BadInput("The share of light that passes is between 0 and 1.", "light_share")

    @property
    def albedo(self) -> float:
        return albedo_of(self.ground)

    @cached_property
    def sky_view(self) -> float:
        """See ``sky_view``."""
        return sky_view(self.skyline)

    @cached_property
    def pieces(self) -> SkyPieces:
        """See ``sky_pieces``."""
        return sky_pieces(self.skyline)


def sky_view(skyline: Skyline) -> float:
    """Return what an even sky over a skyline gives to level ground, over what a whole one gives, 0..1.

    1 over level land, cos² of a rim's altitude, a half before an endless wall. The sky is
    summed in 1440 columns, what bands hide of it taken out.
    """
    azimuth_deg = (np.arange(COLUMNS) + 0.5) * 360.0 / COLUMNS
    start = _squared_sine(skyline.altitude_at(azimuth_deg))
    edges = [(_squared_sine(band.low.at(azimuth_deg)), _squared_sine(band.high.at(azimuth_deg))) for band in skyline.bands]
    free = np.zeros(COLUMNS)
    for low, high in _upwards(edges):
        free += np.maximum(low - start, 0.0)
        start = np.maximum(start, high)
    return float(np.mean(free + 1.0 - start))


def sky_pieces(skyline: Skyline) -> SkyPieces:
    """Return the free sky in 36 sectors, each from its skyline to the zenith in 8 steps.

    A sector's skyline is the one that leaves as much solid angle as all within it; a
    piece that bands cover in part counts by what is left of it.
    """
    azimuth_deg = (np.arange(COLUMNS) + 0.5) * 360.0 / COLUMNS
    starts = np.sin(np.radians(np.maximum(skyline.altitude_at(azimuth_deg), 0.0))).reshape(SECTORS, -1)
    nodes, weights = np.polynomial.legendre.leggauss(STEPS)
    start = starts.mean(axis=1)[:, np.newaxis]
    rise = start + (1.0 - start) * (nodes + 1.0) / 2.0
    solid_sr = (1.0 - start) * weights / 2.0 * 2.0 * np.pi / SECTORS
    altitude_deg = np.degrees(np.arcsin(rise))
    solid_sr = solid_sr * _left_by_bands(skyline, azimuth_deg.reshape(SECTORS, -1), altitude_deg)
    middle = np.radians((np.arange(SECTORS) + 0.5) * 360.0 / SECTORS)[:, np.newaxis]
    flat = np.sqrt(1.0 - rise**2)
    toward = np.stack([flat * np.sin(middle), flat * np.cos(middle), rise])
    return SkyPieces(toward.reshape(3, -1), altitude_deg.ravel(), solid_sr.ravel())


def disc_share(skyline: Skyline, sun: SunTrack) -> FloatArray:
    """Return how much of the sun's disc shows over a skyline and between its bands, 0..1; the track's shape.

    The disc is summed in 31 columns; the air's flattening counts.
    """
    half_up = sun.upper_edge_deg - sun.refracted_deg
    half_wide = sun.semidiameter_deg / np.cos(np.radians(np.clip(sun.refracted_deg, 0.0, 88.0)))
    across = _ACROSS.reshape(-1, *[1] * np.ndim(sun.refracted_deg))
    azimuth_deg = sun.azimuth_deg + across * half_wide
    half = half_up * np.sqrt(1.0 - across**2)
    top, bottom = sun.refracted_deg + half, sun.refracted_deg - half
    start = np.clip(skyline.altitude_at(azimuth_deg), bottom, top)
    edges = [(band.low.at(azimuth_deg), band.high.at(azimuth_deg)) for band in skyline.bands]
    shown = np.zeros_like(top)
    for low, high in _upwards([(low, high) for low, high in edges]):
        shown += np.maximum(np.minimum(low, top) - start, 0.0)
        start = np.maximum(start, np.minimum(high, top))
    return np.tensordot(_SHARE, (shown + top - start) / (top - bottom), axes=1)


def _upwards(edges: list[tuple[FloatArray, FloatArray]]) -> list[tuple[FloatArray, FloatArray]]:
    """Return lower and upper edges with the lowest of each place first."""
    if not edges:
        return []
    lows, highs = (np.stack([pair[side] for pair in edges]) for side in (0, 1))
    highs = np.maximum(highs, lows)  # where a band is not, its edges lie the wrong way round
    order = np.argsort(lows, axis=0)
    return list(zip(np.take_along_axis(lows, order, 0), np.take_along_axis(highs, order, 0), strict=True))


def _squared_sine(altitude_deg: FloatArray) -> FloatArray:
    """Return sin², 0 below the horizon: what sky under it gives to level ground of what the whole gives."""
    return np.sin(np.radians(np.clip(altitude_deg, 0.0, 90.0))) ** 2


def _left_by_bands(skyline: Skyline, azimuth_deg: FloatArray, altitude_deg: FloatArray) -> FloatArray:
    """Return which share of each sector's width no band hides at each piece's altitude: shape (sectors, steps)."""
    hidden = np.zeros((*azimuth_deg.shape, altitude_deg.shape[1]), dtype=bool)
    for band in skyline.bands:
        low, high = (edge.at(azimuth_deg)[..., np.newaxis] for edge in (band.low, band.high))
        hidden |= (altitude_deg[:, np.newaxis] > low) & (altitude_deg[:, np.newaxis] < high)
    return 1.0 - hidden.mean(axis=1)
