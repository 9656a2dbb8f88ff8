"""Catchlight: where a light shows in the eyes."""

from dataclasses import dataclass

import numpy as np

from app.errors import BadInput
from app.light.faces import Face, Point
from app.units import FloatArray

# Radii of the visible iris and of the cornea's curve: Gullstrand's eye, from memory.
IRIS_MM, CORNEA_MM = 5.9, 7.8
NO_PLACE_M = 1e-9


@dataclass(frozen=True)
class Catchlight:
    """Where a light shows in an eye that looks into the camera, as the picture shows it.

    Attributes
    ----------
    clock_h : float
        As on a clock face, 12 at the top and 3 to the picture's right, 0 < h <= 12. [h]
    off_middle : float
        From the pupil's middle, 1 at the iris' edge; more shows on the white or not at all. [1]
    height : float
        How much of that is up, down when negative. [1]
    """

    clock_h: float
    off_middle: float
    height: float

    @property
    def shows(self) -> bool:
        return self.off_middle <= 1.0

    @property
    def words(self) -> str:
        if not self.shows:
            return "no catchlight: the light is too far round"
        if self.off_middle < 0.1:
            return "catchlight in the middle of the pupil"
        return f"catchlight at {round(self.clock_h) or 12} o'clock"


def catchlight(face: Face, camera_m: Point, light_m: Point) -> Catchlight:
    """Return where a light shows in the eyes of a face that look into the camera.

    The cornea is a ball that mirrors the light where its surface is square to the
    bisector of camera and light. Lids, lashes and the distance between the eyes are left out.

    Raises ``BadInput`` where camera or light stand in the face, or the light behind the
    eye on the camera's axis.
    """
    to_camera, to_light = (_unit(np.subtract(point, face.position_m)) for point in (camera_m, light_m))
    half = _unit(to_camera + to_light)
    right = _unit(np.array([-to_camera[1], to_camera[0], 0.0]))  # as the camera sees it
    above = np.cross(to_camera, right)
    across, up = half @ right, half @ above
    clock_h = float(np.degrees(np.arctan2(across, up)) % 360.0 / 30.0)
    scale = CORNEA_MM / IRIS_MM
    return Catchlight(clock_h or 12.0, float(np.hypot(across, up) * scale), float(up * scale))


def _unit(vector: FloatArray) -> FloatArray:
    length = float(np.linalg.norm(vector))
    if length < NO_PLACE_M:
        raise BadInput("Camera and light stand apart from the face, and not one behind it from the other.", "position_m")
    return vector / length
