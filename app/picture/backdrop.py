"""What lies behind the people in the frame: sky, water, ground or what stands there, and where in the sky its light comes from."""

from dataclasses import dataclass

import numpy as np

from app.picture.glitter import fresnel_reflectance
from app.picture.sensor import direction_of
from app.picture.setup import Setup
from app.picture.water import mirrors_of
from app.place.site import Site
from app.place.skyline import Skyline
from app.units import FloatArray

SKY, WATER, GROUND, STANDS = "sky", "water", "ground", "what stands there"
FACE_SHARE = 0.935  # the face's middle over the height; as in the light of faces
OVER_DEG = 1.0  # how far over the skyline the sky is read where the frame has none
# Where the frame's sky is read, as shares of its sides from its middle: a grid of 5 by 6.
_ACROSS, _UP = np.array([-0.4, -0.2, 0.0, 0.2, 0.4]), np.array([-0.25, -0.1, 0.05, 0.2, 0.33, 0.46])


@dataclass(frozen=True, eq=False)
class Backdrop:
    """What lies behind the people.

    Attributes
    ----------
    sky_azimuth_deg, sky_altitude_deg : shape (pieces,)
        The sky in the frame, evenly spread; one piece a degree over the skyline where
        the frame has none, for a kind that needs one. [°]
    sky_shows : bool
        Whether the frame has sky.
    kind : str
        ``SKY``, ``WATER``, ``GROUND`` or ``STANDS``: what is behind their heads.
    azimuth_deg, altitude_deg : float
        The way past their heads; of water, where it mirrors. [°]
    reflectance : float
        Of water at that angle, by Fresnel; 0 for all else. [1]
    mirrors_sky : bool
        Whether what the water mirrors there is sky over the skyline.
    """

    sky_azimuth_deg: FloatArray
    sky_altitude_deg: FloatArray
    sky_shows: bool
    kind: str
    azimuth_deg: float
    altitude_deg: float
    reflectance: float = 0.0
    mirrors_sky: bool = False

    @property
    def goes_by_sky(self) -> bool:
        """Whether an exposure for the sky goes by the sky: it is in the frame, or behind their heads."""
        return self.sky_shows or self.kind == SKY


def backdrop(setup: Setup, skyline: Skyline, site: Site | None = None) -> Backdrop:
    """Return what lies behind the people of a setup, as its camera sees it.

    Parameters
    ----------
    skyline : Skyline
        From the camera, obstacles included.
    site : Site, optional
        Whose water may be behind them.

    Notes
    -----
    Below the level horizon what stands on the ground is not told from ground: it is
    about as dark. Between the horizon and the skyline is what stands or rises there.
    """
    azimuth, altitude, shows = _frames_sky(setup, skyline)
    line_deg, face_deg = setup.line_deg, _heads_deg(setup)
    over_deg = float(skyline.altitude_at(line_deg))
    if face_deg > over_deg:
        return Backdrop(azimuth, altitude, shows, SKY, line_deg, face_deg)
    if face_deg >= 0.0:
        return Backdrop(azimuth, altitude, shows, STANDS, line_deg, face_deg)
    if not _is_water(setup, skyline, site, face_deg):
        return Backdrop(azimuth, altitude, shows, GROUND, line_deg, face_deg)
    share = float(fresnel_reflectance(90.0 + face_deg))
    return Backdrop(azimuth, altitude, shows, WATER, line_deg, -face_deg, share, -face_deg > over_deg)


def _frames_sky(setup: Setup, skyline: Skyline) -> tuple[FloatArray, FloatArray, bool]:
    """Return directions of the sky in the frame, and whether there is any."""
    x, y = (side.ravel() for side in np.meshgrid(_ACROSS * setup.camera.width_mm, _UP * setup.camera.height_mm))
    azimuth, altitude = direction_of(setup.view, x, y)
    free = altitude > np.maximum(skyline.altitude_at(azimuth), 0.0)
    if free.any():
        return azimuth[free], altitude[free], True
    lowest = max(float(skyline.altitude_at(setup.line_deg)), 0.0) + OVER_DEG
    return np.array([setup.line_deg]), np.array([lowest]), False


def _heads_deg(setup: Setup) -> float:
    """Return the altitude at which the lens sees past the middle of their faces. [°]"""
    height_m = FACE_SHARE * float(np.mean([person.height_m for person in setup.people])) if setup.people else 1.6
    return float(np.degrees(np.arctan2(height_m - setup.eye_m, setup.distance_m)))


def _is_water(setup: Setup, skyline: Skyline, site: Site | None, altitude_deg: float) -> bool:
    x_mm, y_mm = setup.view.of_direction(setup.line_deg, altitude_deg)
    return any(float(mirror.seen_mm(x_mm, y_mm)) > 0 for mirror in mirrors_of(setup, site, skyline))
