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
    Arrays of bearings and tilts stand for many cameras, their axis first.
    """

    camera: Camera
    bearing_deg: FloatOrArray
    tilt_deg: FloatOrArray

    def of_direction(self, azimuth_deg: FloatOrArray, altitude_deg: FloatOrArray) -> tuple[FloatArray, FloatArray]:
        """Return x and y where something far away falls; NaN when it is behind the camera. [mm]"""
        azimuth, altitude = np.radians(azimuth_deg), np.radians(altitude_deg)
        level = np.cos(altitude)
        return self.of_point(level * np.sin(azimuth), level * np.cos(azimuth), np.sin(altitude))

    def of_point(self, east_m: FloatOrArray, north_m: FloatOrArray, up_m: FloatOrArray) -> tuple[FloatArray, FloatArray]:
        """Return x and y of a point told from the lens, any unit of length; NaN when behind. [mm]"""
        bearing, tilt = np.radians(self.bearing_deg), np.radians(self.tilt_deg)
        (sin_bearing, cos_bearing), (sin_tilt, cos_tilt) = ((np.sin(angle), np.cos(angle)) for angle in (bearing, tilt))
        along = np.asarray(east_m) * sin_bearing + np.asarray(north_m) * cos_bearing
        right = np.asarray(east_m) * cos_bearing - np.asarray(north_m) * sin_bearing
        depth = along * cos_tilt + np.asarray(up_m) * sin_tilt
        height = np.asarray(up_m) * cos_tilt - along * sin_tilt
        scale = self.camera.focal_mm / np.where(depth > 0, depth, np.nan)
        return right * scale, height * scale

    def inside_mm(self, x_mm: FloatOrArray, y_mm: FloatOrArray) -> FloatArray:
        """Return how far a point lies within the nearest edge, negative outside. [mm]"""
        return np.minimum(self.camera.width_mm / 2 - np.abs(x_mm), self.camera.height_mm / 2 - np.abs(y_mm))

    @property
    def horizon_y_mm(self) -> float:
        """Where the level horizon lies: a straight line, since the camera is level. [mm]"""
        return -self.camera.focal_mm * math.tan(math.radians(self.tilt_deg))
