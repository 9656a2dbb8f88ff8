"""What a sky gives, looked up by where the sun stands: for searches that ask it ten thousands of times."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from app.light.clear_sky import clear_beam_lux
from app.light.faces import Face, direction
from app.light.sky_luminance import CLEAR, OVERCAST, luminance_per_lux
from app.light.spot import Spot
from app.sky.track import SunTrack
from app.units import FloatArray, FloatOrArray

# Where the sun is put for the table: a spread of the standard's clear sky bends by less than 0.02 stop between.
ALTITUDES_DEG = np.array([0, 2, 4, 7, 10, 14, 18, 23, 28, 34, 41, 49, 58, 68, 79, 90], dtype=float)
STEP_DEG = 5.0
_AZIMUTHS_DEG = np.arange(0.0, 360.0, STEP_DEG)


@dataclass(frozen=True, eq=False)
class SkyTable:
    """Logarithms by the sun's altitude and azimuth, shape (rows, altitudes, azimuths)."""

    log: FloatArray

    def at(self, sun: SunTrack) -> FloatArray:
        """Return the rows at every instant of a track, shape (rows, ...): straight in the logarithm between nodes."""
        altitude, turns = np.clip(sun.refracted_deg, 0.0, 90.0), (sun.azimuth_deg % 360.0) / STEP_DEG
        low = np.clip(np.searchsorted(ALTITUDES_DEG, altitude, side="right") - 1, 0, len(ALTITUDES_DEG) - 2)
        up = (altitude - ALTITUDES_DEG[low]) / (ALTITUDES_DEG[low + 1] - ALTITUDES_DEG[low])
        left = turns.astype(int) % len(_AZIMUTHS_DEG)
        right, on = (left + 1) % len(_AZIMUTHS_DEG), turns - np.floor(turns)
        below, above = ((1 - on) * self.log[:, row, left] + on * self.log[:, row, right] for row in (low, low + 1))
        return np.exp((1 - up) * below + up * above)

    def least(self, altitude_deg: FloatArray) -> FloatArray:
        """Return the least of each row at any azimuth, for altitudes of shape (n): shape (rows, n)."""
        darkest = self.log.min(axis=2)
        return np.exp(np.stack([np.interp(np.clip(altitude_deg, 0.0, 90.0), ALTITUDES_DEG, row) for row in darkest]))


def faces_table(spot: Spot, faces: tuple[Face, ...], cover: float) -> SkyTable:
    """Return what the sky over a spot's skyline gives to faces for each lux that the whole gives to level ground."""
    pieces = spot.pieces
    caught = np.maximum(np.stack([face.normal for face in faces]) @ pieces.toward, 0.0) * pieces.solid_sr
    some = np.flatnonzero(caught.any(axis=0))
    return _table(pieces.toward[:, some], pieces.altitude_deg[some], cover, lambda spread: caught[:, some] @ spread)


def patch_table(azimuth_deg: FloatArray, altitude_deg: FloatArray, cover: float) -> SkyTable:
    """Return the mean stops of pieces of sky, in cd/m² for each lux that the whole gives to level ground."""
    toward = direction(azimuth_deg, altitude_deg)
    return _table(toward, altitude_deg, cover, lambda spread: np.exp(np.log(spread).mean(axis=0, keepdims=True)))


def _table(toward: FloatArray, altitude_deg: FloatArray, cover: float, summed: Callable[[FloatArray], FloatArray]) -> SkyTable:
    """Return a table of what a function makes of luminances per lux, shape (pieces, suns)."""
    up, round_ = (side.ravel() for side in np.meshgrid(ALTITUDES_DEG, _AZIMUTHS_DEG, indexing="ij"))
    cosine = toward.T @ direction(round_, up)
    clear, grey = (luminance_per_lux(kind, altitude_deg[:, np.newaxis], cosine, up) for kind in (CLEAR, OVERCAST))
    rows = np.log(np.maximum(summed((1.0 - cover) * clear + cover * grey), 1e-12))
    return SkyTable(rows.reshape(-1, len(ALTITUDES_DEG), len(_AZIMUTHS_DEG)))


# Altitudes, closest where the air thickens fastest, and depths of haze between which the logarithm of the
# beam is taken as straight: within 0.01 stop.
_BEAM_UP_DEG = np.concatenate([np.arange(-1.5, 3.0, 0.05), np.arange(3.0, 12.0, 0.25), np.arange(12.0, 30.0, 0.5), np.arange(30.0, 91.0, 2.0)])
_HAZES = np.concatenate([[0.0], np.geomspace(0.01, 2.0, 24)])
_FAINTEST_LUX = 1e-6


def quick_beam_lux(altitude_deg: FloatOrArray, haze: FloatOrArray, pressure_hpa: float) -> FloatArray:
    """Return ``clear_beam_lux`` from a table, any shapes that fit together; haze is held to 0..2. [lx]"""
    table = _beam_logs(pressure_hpa)
    altitude, haze = np.broadcast_arrays(np.clip(altitude_deg, -1.5, 90.0), np.clip(haze, 0.0, 2.0))
    row, up = _between(_HAZES, haze)
    column, on = _between(_BEAM_UP_DEG, altitude)
    clear, thick = ((1 - on) * table[at, column] + on * table[at, column + 1] for at in (row, row + 1))
    lux = np.exp((1 - up) * clear + up * thick)
    return np.where(lux > 2 * _FAINTEST_LUX, lux, 0.0)


def _between(nodes: FloatArray, value: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the node before each value, and how far on to the next it is, 0..1."""
    before = np.clip(np.searchsorted(nodes, value, side="right") - 1, 0, len(nodes) - 2)
    return before, (value - nodes[before]) / (nodes[before + 1] - nodes[before])


@lru_cache(maxsize=32)
def _beam_logs(pressure_hpa: float) -> FloatArray:
    """Return the logarithm of the beam, shape (hazes, altitudes)."""
    return np.log(np.maximum(clear_beam_lux(_BEAM_UP_DEG, _HAZES[:, np.newaxis], pressure_hpa), _FAINTEST_LUX))
