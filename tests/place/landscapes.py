"""Made landscapes round one viewpoint, with heights by formula of distance and bearing."""

from collections.abc import Callable

import numpy as np

from app.place.geodesy import LocalFrame
from app.place.terrain import Grid, Terrain

HERE = (54.5, -3.5)
ONE_SECOND_DEG = 1 / 3600  # 31 m from row to row, 18 m from column to column at 54.5 degrees
THREE_SECONDS_DEG = 1 / 1200


def grid_of(height_m: Callable, half_lat_deg: float = 0.12, half_lon_deg: float = 0.2, step_deg: float = ONE_SECOND_DEG) -> Grid:
    """Return a grid round HERE with heights by ``height_m(distance_m, bearing_deg)`` as seen from there."""
    lat_deg = HERE[0] + half_lat_deg - np.arange(round(2 * half_lat_deg / step_deg) + 1) * step_deg
    lon_deg = HERE[1] - half_lon_deg + np.arange(round(2 * half_lon_deg / step_deg) + 1) * step_deg
    distance, bearing = distance_and_bearing(lat_deg[:, None] + 0 * lon_deg, lon_deg + 0 * lat_deg[:, None])
    return Grid(height_m(distance, bearing), lat_deg[0], lon_deg[0], step_deg, step_deg)


def wide(height_m: Callable) -> Terrain:
    """Return terrain that holds 50 km in every direction, at three seconds."""
    return Terrain((grid_of(height_m, 0.46, 0.8, THREE_SECONDS_DEG),), "made")


def fine(height_m: Callable) -> Terrain:
    """Return terrain that holds 13 km in every direction, at one second."""
    return Terrain((grid_of(height_m),), "made")


def distance_and_bearing(lat_deg: np.ndarray, lon_deg: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return metres along the ground and true bearings from HERE; to 1 mm at 50 km."""
    shape = lat_deg.shape
    east, north, up = LocalFrame(*HERE).to_metres(lat_deg.ravel(), lon_deg.ravel())
    distance = np.hypot(east, north) * (1 - up / 6.38e6 / 3)  # the arc is longer than its shadow on the plane by d³/6R²
    return distance.reshape(shape), (np.degrees(np.arctan2(east, north)) % 360).reshape(shape)


def hills(seed: int = 1, side: int = 1201, roughness: float = 1.6, rise_m: float = 600.0) -> np.ndarray:
    """Return heights of random hills: white noise whose amplitude falls with the power ``roughness`` of the wave number."""
    random = np.random.default_rng(seed)
    waves = np.hypot(np.fft.fftfreq(side)[:, None], np.fft.rfftfreq(side)[None, :])
    spectrum = np.exp(2j * np.pi * random.random(waves.shape)) / np.maximum(waves, 1 / side) ** roughness
    shape = np.fft.irfft2(spectrum, s=(side, side))
    return ((shape - shape.min()) / np.ptp(shape) * rise_m).round().astype(np.float32)
