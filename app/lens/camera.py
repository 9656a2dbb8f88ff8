"""Camera: focal length and sensor, hence the angle of view."""

import math
import re
from dataclasses import dataclass

from app.errors import BadInput

# Width and height of common sensors, landscape. [mm]
FORMATS_MM = {
    "36x24": (36.0, 24.0),
    "23.6x15.7": (23.6, 15.7),
    "22.3x14.9": (22.3, 14.9),
    "17.3x13": (17.3, 13.0),
    "43.8x32.9": (43.8, 32.9),
}
ORIENTATIONS = ("landscape", "portrait")
MIN_FOCAL_MM, MAX_FOCAL_MM = 4.0, 2000.0
MIN_SIDE_MM, MAX_SIDE_MM = 3.0, 300.0


@dataclass(frozen=True)
class Camera:
    """A rectilinear lens on a sensor, as held.

    ``width_mm`` and ``height_mm`` are the frame's sides the way the camera is
    turned. Focus is at infinity: close focus narrows the view a little. [mm]
    """

    focal_mm: float
    width_mm: float
    height_mm: float

    def __post_init__(self) -> None:
        if not MIN_FOCAL_MM <= self.focal_mm <= MAX_FOCAL_MM:
            raise BadInput(
                f"A focal length is between {MIN_FOCAL_MM:g} and {MAX_FOCAL_MM:g} mm; {self.focal_mm:g} came.",
                "focal_length_mm",
            )
        for side in (self.width_mm, self.height_mm):
            if not MIN_SIDE_MM <= side <= MAX_SIDE_MM:
                raise BadInput(
                    f"A sensor's side is between {MIN_SIDE_MM:g} and {MAX_SIDE_MM:g} mm; {side:g} came.", "format"
                )

    @property
    def horizontal_deg(self) -> float:
        """Angle of view from left to right: 2 atan(s / 2f). [°]"""
        return self._angle_deg(self.width_mm)

    @property
    def vertical_deg(self) -> float:
        """Angle of view from bottom to top. [°]"""
        return self._angle_deg(self.height_mm)

    @property
    def diagonal_deg(self) -> float:
        """Angle of view from corner to corner. [°]"""
        return self._angle_deg(math.hypot(self.width_mm, self.height_mm))

    def _angle_deg(self, side_mm: float) -> float:
        return math.degrees(2 * math.atan(side_mm / (2 * self.focal_mm)))


def sensor_sides_mm(text: str) -> tuple[float, float]:
    """Return width and height of a format typed as 36x24, longer side first. [mm]

    Raises ``BadInput`` when that is not what came.
    """
    typed = re.fullmatch(r"\s*(\d+(?:[.,]\d+)?)\s*[x×*]\s*(\d+(?:[.,]\d+)?)\s*(?:mm)?\s*", str(text))
    if not typed:
        raise BadInput(f"A sensor format is typed in millimetres like 36x24; “{str(text)[:40]}” is not.", "format")
    sides = sorted((float(side.replace(",", ".")) for side in typed.groups()), reverse=True)
    return sides[0], sides[1]


def camera_held(focal_mm: float, sensor_format: str, orientation: str = "landscape") -> Camera:
    """Return a camera from what a photographer types; ``BadInput`` says what is wrong."""
    if orientation not in ORIENTATIONS:
        raise BadInput(f"A camera is held landscape or portrait; “{str(orientation)[:40]}” came.", "orientation")
    long_mm, short_mm = sensor_sides_mm(sensor_format)
    return Camera(focal_mm, *((long_mm, short_mm) if orientation == "landscape" else (short_mm, long_mm)))


def format_words(camera: Camera) -> str:
    """Return the sensor as typed, longer side first."""
    sides = sorted((camera.width_mm, camera.height_mm), reverse=True)
    return f"{sides[0]:g}x{sides[1]:g}"
