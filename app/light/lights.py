"""Lights: a flash as owned, what is put on it, and where it stands.

Flash and modifier are things that the photographer owns and every setup may use; a light is one
flash on one stand. Output is told either as a guide number in metres at ISO 100, bare in the
stated zoom, or as the f-number that a meter shows at 1 m at ISO 100: the two are the same figure.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from app.errors import BadInput
from app.light.exposure import FLAT_C, FULL_SPEED
from app.light.faces import Face, Point
from app.light.gels import NO_GEL, Gel
from app.units import FloatArray, FloatOrArray

WEAKEST_STOPS = 8.0  # to 1/256
BARE_BEAM_DEG = 75.0  # of a plain reflector; common practice, no source
HIGH_SPEED_STOPS = 2.0  # just past sync: 1.5 to 2.5, a figure of each camera and flash; common practice, no source
SENSOR_DIAGONAL_MM = 43.267  # 36 x 24 mm
NARROWEST_DEG, WIDEST_DEG = 2.0, 360.0
INSIDE_M = 0.2  # nearer to the middle of a face, a light is inside the person


@dataclass(frozen=True)
class Flash:
    """A flash as owned.

    Attributes
    ----------
    name : str
    guide_number_m : float
        At full power and ISO 100, or the f-number metered at 1 m. [m]
    beam_deg : float
        The whole angle between the directions one stop darker than the middle. [°]
    range_stops : float
        From full power down to the weakest, 8 for 1/256. [stop]
    high_speed_stops : float, optional
        What high-speed sync takes just past the sync time; None when it has none. [stop]
    colour_k : float
        [K]

    Raises
    ------
    BadInput
        For a flash that gives no light, or any other figure out of range.
    """

    name: str
    guide_number_m: float
    beam_deg: float = BARE_BEAM_DEG
    range_stops: float = WEAKEST_STOPS
    high_speed_stops: float | None = HIGH_SPEED_STOPS
    colour_k: float = 5500.0

    def __post_init__(self) -> None:
        if not self.guide_number_m > 0:
            words = f"“{self.name or 'The flash'}” gives no light: its guide number is above 0"
            raise BadInput(f"{words}; {self.guide_number_m:g} came.", "guide_number_m")
        _check(self.guide_number_m, 1, 1000, "A guide number", "m", "guide_number_m")
        _check(self.beam_deg, NARROWEST_DEG, WIDEST_DEG, "A beam", "°", "beam_deg")
        _check(self.range_stops, 0, WEAKEST_STOPS, "How far the power goes down", "stops", "range_stops")
        if self.high_speed_stops is not None:
            _check(self.high_speed_stops, 0, 8, "What high-speed sync takes", "stops", "high_speed_stops")
        _check(self.colour_k, 1000, 40_000, "A colour temperature", "K", "colour_k")

    def high_speed_loss_stops(self, time_s: ArrayLike, sync_s: float) -> FloatArray:
        """Return what is lost at some times, any shape; NaN past sync where it has no high-speed sync. [stop]

        Nothing to the sync time; past it the flash burns on and lights what the slit
        of the shutter passes: its own loss first, one stop more for each halved time.
        """
        past = np.log2(sync_s / np.asarray(time_s, dtype=float))
        first = np.nan if self.high_speed_stops is None else self.high_speed_stops
        return np.where(past > 1e-6, first + past, 0.0)


@dataclass(frozen=True)
class Modifier:
    """What is put on a flash.

    Attributes
    ----------
    name : str
    loss_stops : float
        What it takes in the middle of the beam; below 0 for one that gathers light. [stop]
    beam_deg : float
        The whole angle between the directions one stop darker than the middle. [°]
    grid : bool
        Whether a grid cuts the light off beyond the beam.
    """

    name: str
    loss_stops: float
    beam_deg: float
    grid: bool = False

    def __post_init__(self) -> None:
        _check(self.loss_stops, -4, 10, "What a modifier takes", "stops", "loss_stops")
        _check(self.beam_deg, NARROWEST_DEG, WIDEST_DEG, "A beam", "°", "beam_deg")


@dataclass(frozen=True)
class Light:
    """A flash on its stand.

    Attributes
    ----------
    flash : Flash
    position_m, aim_m : tuple
        Where it stands and the point it is turned to, east, north and up. [m]
    modifier : Modifier, optional
    gel : Gel
    power_stops : float, optional
        Its setting, 0 at full power and negative below; None when it is to be found. [stop]

    Raises
    ------
    BadInput
        For a place that is none, an aim in the lamp itself, or a power it has not.
    """

    flash: Flash
    position_m: Point
    aim_m: Point
    modifier: Modifier | None = None
    gel: Gel = NO_GEL
    power_stops: float | None = None

    def __post_init__(self) -> None:
        for point in (self.position_m, self.aim_m):
            if len(point) != 3 or not np.all(np.isfinite(point)):
                raise BadInput("A light stands at, and is turned to, metres east, north and up.", "position_m")
        if np.linalg.norm(np.subtract(self.aim_m, self.position_m)) < 1e-6:
            raise BadInput(f"“{self.words}” is turned to itself; turn it to a person or a point.", "aim_m")
        if self.power_stops is not None and not -self.flash.range_stops - 1e-6 <= self.power_stops <= 0:
            words = f"“{self.words}” goes from full power down {self.flash.range_stops:g} stops"
            raise BadInput(f"{words}; {self.power_stops:g} came.", "power_stops")

    @property
    def words(self) -> str:
        return self.flash.name or "the light"

    @property
    def beam_deg(self) -> float:
        """The whole angle of what leaves it, modifier counted. [°]"""
        return self.modifier.beam_deg if self.modifier else self.flash.beam_deg

    @property
    def loss_stops(self) -> float:
        """What modifier and gel take. [stop]"""
        return self.gel.loss_stops + (self.modifier.loss_stops if self.modifier else 0.0)

    @property
    def middle_lux_s(self) -> float:
        """What it gives at full power to a patch at 1 m, square to the middle of its beam. [lx s]

        N = GN / d is the right exposure of incident light: ISO 2720, E t = C N² / S.
        """
        return FLAT_C / FULL_SPEED * self.flash.guide_number_m**2 * 2.0**-self.loss_stops


def beam_of_zoom_deg(zoom_mm: float) -> float:
    """Return the beam of a head zoomed to a focal length: that lens's angle of view on 36 x 24 mm, corner to corner. [°]

    Common practice, no source: heads lose about a stop at the corners.
    """
    _check(zoom_mm, 8, 600, "A zoom", "mm", "zoom_mm")
    return float(np.degrees(2 * np.arctan(SENSOR_DIAGONAL_MM / (2 * zoom_mm))))


def beam_loss_stops(off_axis_deg: ArrayLike, beam_deg: float, grid: bool = False) -> FloatOrArray:
    """Return how much darker a light is off the middle of its beam, any shape. [stop]

    (2a / beam)² stops at a degrees off: one at the edge of the beam, four at twice that;
    with a grid (2a / beam)⁴. Smooth all round, a bell curve; real lamps differ, so it is
    a model to be corrected by a meter (no source).
    """
    return (2 * np.abs(np.asarray(off_axis_deg, dtype=float)) / beam_deg) ** (4 if grid else 2)


def lux_s_at(light: Light, face: Face, position_m: ArrayLike | None = None, aim_m: ArrayLike | None = None) -> FloatOrArray:
    """Return what a light at full power gives to a face. [lx s]

    Parameters
    ----------
    position_m, aim_m : shape (3, ...), optional
        Other places and aims to be tried in its stead, vector axis first. [m]

    Returns
    -------
    float or array
        Inverse square, beam and the cosine on the face; 0 from behind the face, NaN where
        the lamp is in the face or in its own aim. What the
        ground and walls throw back is left out, and so is the size of the source, which
        matters nearer than about five times its width (common practice).
    """
    places = (light.position_m if position_m is None else position_m, light.aim_m if aim_m is None else aim_m, face.position_m)
    where, aim, face_m = _deep(*places)
    to_face = face_m - where
    distance_m = np.linalg.norm(to_face, axis=0)
    lost = beam_loss_stops(_between_deg(to_face, aim - where), light.beam_deg, bool(light.modifier and light.modifier.grid))
    with np.errstate(divide="ignore", invalid="ignore"):
        facing = np.maximum(-np.tensordot(face.normal, to_face, 1) / distance_m, 0.0)
        return light.middle_lux_s * 2.0**-lost * facing / distance_m**2


def distance_m(light: Light, face: Face) -> float:
    """Return how far a light is from a face. [m]"""
    return float(np.linalg.norm(np.subtract(light.position_m, face.position_m)))


def off_axis_deg(light: Light, face: Face) -> float:
    """Return how far a face is off the middle of a light's beam, 0..180. [°]"""
    where = np.asarray(light.position_m, dtype=float)
    return float(_between_deg(np.asarray(face.position_m) - where, np.asarray(light.aim_m) - where))


def check_lights(lights: tuple[Light, ...], faces: tuple[Face, ...]) -> None:
    """Raise ``BadInput`` where there is no light or nobody to light, or a light stands inside a person."""
    if not lights:
        raise BadInput("There is no light here; put one on the plan.", "lights")
    if not faces:
        raise BadInput("There is nobody to light; add a person.", "people")
    for light in lights:
        for face in faces:
            if _inside(light.position_m, face):
                raise BadInput(f"“{light.words}” stands inside {face.words}; move it at least {INSIDE_M:g} m away.", "position_m")


def _inside(point_m: Point, face: Face) -> bool:
    """Return whether a point is in somebody's head, or in the body straight under it."""
    east, north, up = np.subtract(point_m, face.position_m)
    return bool(np.hypot(east, north) < INSIDE_M and up < INSIDE_M)


def _deep(*points: ArrayLike) -> list[FloatArray]:
    """Return points of shape (3, ...) with as many axes each, so that they fit together."""
    held = [np.asarray(one, dtype=float) for one in points]
    most = max(one.ndim for one in held)
    return [one.reshape(3, *(1,) * (most - one.ndim), *one.shape[1:]) for one in held]


def _between_deg(one: FloatArray, other: FloatArray) -> FloatOrArray:
    """Return the angle between vectors, steady near 0 and 180; vector axis first. [°]"""
    with np.errstate(divide="ignore", invalid="ignore"):
        one, other = one / np.linalg.norm(one, axis=0), other / np.linalg.norm(other, axis=0)
    apart, together = np.linalg.norm(one - other, axis=0), np.linalg.norm(one + other, axis=0)
    return np.degrees(2 * np.arctan2(apart, together))


def _check(value: float, low: float, high: float, what: str, unit: str, field: str) -> None:
    if not low <= value <= high:
        raise BadInput(f"{what} lies between {low:g} and {high:g} {unit}; {value:g} came.", field)
