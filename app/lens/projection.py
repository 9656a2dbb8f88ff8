"""Rectilinear projection: directions and points in space to millimetres on the sensor."""

import math
from dataclasses import dataclass

import numpy as np

from app.lens.camera import Camera
from app.units import FloatArray, FloatOrArray


@dataclass(frozen=True)
class View:
    """A camera pointed somewhere, held level.

    ``bearing_deg`` from true north clockwise, ``tilt_deg`` up from level; on the
    sensor x runs to the right and y up as the picture is seen, from its middle.
    """

    camera: Camera
    bearing_deg: float
    tilt_deg: float

    def of_direction(self, azimuth_deg: FloatOrArray, altitude_deg: FloatOrArray) -> tuple[FloatArray, FloatArray]:
        """Return x and y where something far away falls; NaN when it is behind the camera. [mm]"""
        azimuth, altitude = np.radians(azimuth_deg), np.radians(altitude_deg)
        level = np.cos(altitude)
        return self.of_point(level * np.sin(azimuth), level * np.cos(azimuth), np.sin(altitude))

    def of_point(self, east_m: FloatOrArray, north_m: FloatOrArray, up_m: FloatOrArray) -> tuple[FloatArray, FloatArray]:
        """Return x and y of a point told from the lens, any unit of length; NaN when behind. [mm]"""
        bearing, tilt = math.radians(self.bearing_deg), math.radians(self.tilt_deg)
        along = np.asarray(east_m) * math.sin(bearing) + np.asarray(north_m) * math.cos(bearing)
        right = np.asarray(east_m) * math.cos(bearing) - np.asarray(north_m) * math.sin(bearing)
        depth = along * math.cos(tilt) + np.asarray(up_m) * math.sin(tilt)
        height = np.asarray(up_m) * math.cos(tilt) - along * math.sin(tilt)
        scale = self.camera.focal_mm / np.where(depth > 0, depth, np.nan)
        return right * scale, height * scale

    def inside_mm(self, x_mm: FloatOrArray, y_mm: FloatOrArray) -> FloatArray:
        """Return how far a point lies within the nearest edge, negative outside. [mm]"""
        return np.minimum(self.camera.width_mm / 2 - np.abs(x_mm), self.camera.height_mm / 2 - np.abs(y_mm))

    @property
    def horizon_y_mm(self) -> float:
        """Where the level horizon lies: a straight line, since the camera is level. [mm]"""
        return -self.camera.focal_mm * math.tan(math.radians(self.tilt_deg))
