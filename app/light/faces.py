"""Faces: where they look, and how sun and lights come to them.

Metres are east, north and up of any one point, by default the ground under the couple. A face
is a flat patch square to where it looks: a cheek turned to a light gets more than is said here.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from app.errors import BadInput
from app.units import FloatArray, FloatOrArray, compass_deg, signed_deg

Point = tuple[float, float, float]

FACE_SHARE = 0.935  # the face's middle over the height: chin at 0.870, R. Drillis & R. Contini (1966), from memory
ELBOW_ROOM_M = 0.5  # from one middle to the next, as the picture draws them
SQUINT_TURN_DEG, SQUINT_ALTITUDE_DEG = 40.0, 10.0  # common practice, no source
SQUINT_EASES_DEG = 10.0  # the sun hurts in full this far above the limit; to look right
AGREES_DEG = 20.0  # common practice, no source
PROFILE_DEG = 1e-6  # an exact profile is seen, whatever rounding makes of it
SQUARE_ON_DEG = 5.0  # a face turned by less has no broad side; to look right

SHORT, BROAD, FRONT, RIM, SQUARE_ON, UNSEEN = "short", "broad", "front", "rim", "square on", "unseen"
SIDE_WORDS = {
    SHORT: "short side: it lights the side turned away from the camera",
    BROAD: "broad side: it lights the side turned to the camera",
    FRONT: "from the front: it lights both sides alike",
    RIM: "from behind: it rims the head and leaves the face in shade",
    SQUARE_ON: "from the side of a face that looks into the camera: neither short nor broad",
    UNSEEN: "the face is turned away from the camera",
}


@dataclass(frozen=True)
class Face:
    """Somebody's face.

    Attributes
    ----------
    name : str
    position_m : tuple
        Its middle, east, north and up. [m]
    facing_deg : float
        The bearing it looks to, from true north, -360..360. [°]
    tilt_deg : float
        How far it looks up, -80..80. [°]

    Raises
    ------
    BadInput
        For what is no place or no direction.
    """

    name: str
    position_m: Point
    facing_deg: float
    tilt_deg: float = 0.0

    def __post_init__(self) -> None:
        if len(self.position_m) != 3 or not np.all(np.isfinite(self.position_m)):
            raise BadInput("A face has a place: metres east, north and up.", "position_m")
        if not abs(self.facing_deg) <= 360.0:
            raise BadInput(f"A face looks to a bearing of 0 to 360°; {self.facing_deg:g} came.", "facing_deg")
        if not abs(self.tilt_deg) <= 80.0:
            raise BadInput(f"A face looks up by -80 to 80°; {self.tilt_deg:g} came.", "tilt_deg")

    @property
    def words(self) -> str:
        return self.name or "the face"

    @property
    def normal(self) -> FloatArray:
        """The unit vector along which it looks; shape (3,)."""
        return direction(self.facing_deg, self.tilt_deg)


def couple_faces(
    heights_m: tuple[float, ...],
    line_deg: float,
    facings_deg: tuple[float, ...] | None = None,
    names: tuple[str, ...] = (),
) -> tuple[Face, ...]:
    """Return the faces of people who stand side by side, left to right as the camera sees them.

    Parameters
    ----------
    heights_m : tuple of float
        Of the crowns above the ground. [m]
    line_deg : float
        Bearing from camera to couple. [°]
    facings_deg : tuple of float, optional
        Where each looks; into the camera unless given. [°]
    names : tuple of str, optional

    Returns
    -------
    tuple of Face
        In metres about the couple's ground.
    """
    facings = facings_deg or (float(compass_deg(line_deg + 180.0)),) * len(heights_m)
    if len(facings) != len(heights_m):
        raise BadInput(f"Each person looks somewhere: {len(heights_m)} bearings are wanted; {len(facings)} came.", "facing_deg")
    right = direction(line_deg + 90.0, 0.0)
    middles = (np.arange(len(heights_m)) - (len(heights_m) - 1) / 2) * ELBOW_ROOM_M
    called = (*names, *[""] * len(heights_m))
    return tuple(
        Face(name, (float(across * right[0]), float(across * right[1]), FACE_SHARE * height_m), facing)
        for name, across, height_m, facing in zip(called, middles, heights_m, facings, strict=False)
    )


def direction(bearing_deg: ArrayLike, altitude_deg: ArrayLike) -> FloatArray:
    """Return unit vectors east, north and up, vector axis first, from shapes that fit together. [1]"""
    bearing, altitude = np.broadcast_arrays(np.radians(bearing_deg), np.radians(altitude_deg))
    flat = np.cos(altitude)
    return np.stack([flat * np.sin(bearing), flat * np.cos(bearing), np.sin(altitude)])


def bearing_deg(face: Face, point_m: Point) -> float:
    """Return the bearing from a face to a point, 0..360. [°]"""
    east, north, _ = np.subtract(point_m, face.position_m)
    return float(compass_deg(np.degrees(np.arctan2(east, north))))


def key_height_deg(face: Face, point_m: Point) -> float:
    """Return how high a light stands above a face, -90..90; 0 is level with it. [°]"""
    east, north, up = np.subtract(point_m, face.position_m)
    return float(np.degrees(np.arctan2(up, np.hypot(east, north))))


def cosine(face: Face, towards: ArrayLike) -> FloatOrArray:
    """Return the share of a light that a face catches by its angle, 0..1; 0 from behind. [1]

    ``towards`` are unit vectors from the face to the light, vector axis first. It is the
    cosine between them and where the face looks, as on any flat patch.
    """
    return np.maximum(np.tensordot(face.normal, np.asarray(towards, dtype=float), 1), 0.0)[()]


def sun_on_face(face: Face, azimuth_deg: ArrayLike, altitude_deg: ArrayLike, light_share: ArrayLike = 1.0) -> FloatOrArray:
    """Return the share of the sun's full light that reaches a face, 0..1, shapes that fit together. [1]

    ``light_share`` is what skyline and shade leave of the sun; below a level horizon there is none.
    """
    up = np.asarray(altitude_deg, dtype=float) > 0
    return cosine(face, direction(azimuth_deg, altitude_deg)) * np.where(up, light_share, 0.0)


def squint_room(face: Face, azimuth_deg: ArrayLike, altitude_deg: ArrayLike) -> FloatOrArray:
    """Return how far the sun is from making a face squint, shapes that fit together. [1]

    Positive where it does not: the sun farther than 40° from where the face looks, on
    the plan, or no higher than 10°; 0 on that limit, down to -1 where it shines straight
    in. Continuous; it changes by at most 1/40 per degree of azimuth and 1/10 per degree of
    altitude.
    """
    turned = np.abs(signed_deg(np.asarray(azimuth_deg, dtype=float) - face.facing_deg))
    low = (SQUINT_ALTITUDE_DEG - np.asarray(altitude_deg, dtype=float)) / SQUINT_EASES_DEG
    return np.maximum(turned / SQUINT_TURN_DEG - 1.0, np.maximum(low, -1.0))


def squint(face: Face, azimuth_deg: ArrayLike, altitude_deg: ArrayLike, light_share: ArrayLike = 1.0) -> FloatOrArray:
    """Return how hard the sun makes a face squint, 0 none to 1 straight in, shapes that fit together. [1]"""
    return np.clip(-squint_room(face, azimuth_deg, altitude_deg), 0.0, 1.0) * np.asarray(light_share, dtype=float)


def side_of_face(face: Face, camera_deg: float, light_deg: float) -> str:
    """Return which side of a face a light comes to, as the camera sees it.

    Parameters
    ----------
    camera_deg, light_deg : float
        Bearings from the face to the camera and to the light, or the sun's azimuth. [°]

    Returns
    -------
    str
        One of ``SIDE_WORDS``. Of a face turned away from the camera by less than 5°
        neither side is broad; a light within 5° of where it looks lights both.
    """
    to_camera, to_light = (float(signed_deg(one - face.facing_deg)) for one in (camera_deg, light_deg))
    if abs(to_camera) > 90.0 + PROFILE_DEG:
        return UNSEEN
    if abs(to_light) > 90.0 + PROFILE_DEG:
        return RIM
    if abs(to_light) < SQUARE_ON_DEG:
        return FRONT
    if abs(to_camera) < SQUARE_ON_DEG:
        return SQUARE_ON
    return BROAD if to_camera * to_light > 0 else SHORT


def turn_from_sun_deg(key_deg: ArrayLike, sun_azimuth_deg: ArrayLike) -> FloatOrArray:
    """Return how far a key comes from the daylight's bearing, clockwise positive, shapes that fit together. [°]

    It agrees with the daylight up to ``AGREES_DEG`` either way.
    """
    return signed_deg(np.asarray(key_deg, dtype=float) - sun_azimuth_deg)


def agreement(key_deg: ArrayLike, sun_azimuth_deg: ArrayLike) -> FloatOrArray:
    """Return how well a key agrees with the daylight: 1 from the same bearing, 0 at 20° off, negative beyond. [1]"""
    return 1.0 - np.abs(turn_from_sun_deg(key_deg, sun_azimuth_deg)) / AGREES_DEG


def agreement_words(key_deg: float, sun_azimuth_deg: float) -> str:
    """Return whether a key comes from the daylight's side, and by how much it is off, in words."""
    turn = float(turn_from_sun_deg(key_deg, sun_azimuth_deg))
    if abs(turn) <= AGREES_DEG:
        return f"agrees with the sun: {abs(turn):.0f}° from its bearing"
    return f"disagrees with the sun: {abs(turn):.0f}° {'clockwise' if turn > 0 else 'anticlockwise'} of its bearing"
