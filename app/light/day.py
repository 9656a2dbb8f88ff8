"""The light of a day: sun and sky apart at many instants, and what they give to a face and to the picture."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from app.light.air import aerosol_depth
from app.light.clear_sky import clear_beam_lux, clear_sky_lux
from app.light.cloud import beam_left, sky_left_lux
from app.light.faces import Face, direction
from app.light.sky_luminance import CLEAR, OVERCAST, luminance_per_lux
from app.light.spot import Spot, disc_share
from app.sky.track import SEMIDIAMETER_AT_1_AU_DEG, SunTrack
from app.units import FloatArray, FloatOrArray


@dataclass(frozen=True, eq=False)
class Daylight:
    """Sun and sky over open level ground; arrays of the track's shape.

    Attributes
    ----------
    sun : SunTrack
    beam_lux : array
        The sun's own light on a plane square to it. [lx]
    sky_lux : array
        What sky and clouds give to level ground. [lx]
    cover : float
        Share of the sky that is covered, 0..1: so much of the sky's light is spread as the
        standard's overcast sky spreads it, the rest as its clear one.
    """

    sun: SunTrack
    beam_lux: FloatArray
    sky_lux: FloatArray
    cover: float

    @cached_property
    def horizontal_lux(self) -> FloatArray:
        """Sun and sky together on level ground. [lx]"""
        return self.sky_lux + self.beam_lux * np.sin(np.radians(np.maximum(self.sun.refracted_deg, 0.0)))

    @cached_property
    def toward_sun(self) -> FloatArray:
        """Unit vectors to the sun, vector axis first; one under the horizon is held on it."""
        return direction(self.sun.azimuth_deg, np.maximum(self.sun.refracted_deg, 0.0))


def daylight_over(
    sun: SunTrack,
    linke: FloatOrArray = 3.0,
    cover: float = 0.0,
    correction_stops: float = 0.0,
    beam_by: Callable[[FloatArray, FloatArray, float], FloatArray] = clear_beam_lux,
) -> Daylight:
    """Return the light of a day at every instant of a track, from noon to the end of twilight.

    Parameters
    ----------
    linke : number or array of the track's shape
        Linke turbidity.
    cover : float
        Share of the sky under cloud, 0..1.
    correction_stops : float
        By how much a meter found it brighter than this says. [stop]
    beam_by : function of altitude, haze and pressure
        What gives the clear beam: searches look it up in a table.

    Returns
    -------
    Daylight
        By the pressure of the observer's air; the change of the sun's distance counts.
    """
    pressure, nearness = sun.observer.air_hpa, (sun.semidiameter_deg / SEMIDIAMETER_AT_1_AU_DEG) ** 2
    brighter = 2.0**correction_stops * nearness
    beam = beam_by(sun.refracted_deg, aerosol_depth(linke, pressure), pressure)
    sky = clear_sky_lux(sun.refracted_deg, sun.airless_deg, linke, pressure)
    on_level = beam * np.sin(np.radians(np.maximum(sun.refracted_deg, 0.0)))
    return Daylight(sun, brighter * beam_left(cover) * beam, brighter * sky_left_lux(cover, sky, on_level), cover)


def sky_cd_m2(daylight: Daylight, azimuth_deg: FloatOrArray, altitude_deg: FloatOrArray) -> FloatArray:
    """Return the luminance of a piece of sky, shapes that fit the track's. [cd/m²]

    ISO 15469's clear and overcast skies by the share of each, scaled so that the whole
    sky gives to level ground what ``sky_lux`` says. Held at the horizon below it.
    """
    azimuth, altitude, _ = np.broadcast_arrays(azimuth_deg, altitude_deg, daylight.sky_lux)
    return _sky_cd_m2(daylight, direction(azimuth, np.maximum(altitude, 0.0)), altitude)


def ground_lux(daylight: Daylight, spot: Spot) -> FloatArray:
    """Return what level ground at a spot gets, its skyline and shade counted. [lx]"""
    rise = np.sin(np.radians(np.maximum(daylight.sun.refracted_deg, 0.0)))
    return daylight.beam_lux * beam_share(daylight, spot) * rise + daylight.sky_lux * spot.sky_view


def beam_share(daylight: Daylight, spot: Spot) -> FloatArray:
    """Return the share of the sun's beam that reaches a spot, 0..1."""
    return disc_share(spot.skyline, daylight.sun) * spot.light_share


@dataclass(frozen=True, eq=False)
class FaceLight:
    """What a face gets, shapes of the track. [lx]

    Attributes
    ----------
    sky_lux : array
        From the sky over its skyline, and from the ground that the sky lights.
    beam_lux : array
        From the sun and the ground that it lights, while nothing hides the sun.
    beam_share : array
        What reaches the spot of that, 0..1.
    """

    sky_lux: FloatArray
    beam_lux: FloatArray
    beam_share: FloatArray

    @property
    def lux(self) -> FloatArray:
        return self.sky_lux + self.beam_share * self.beam_lux


def face_light(daylight: Daylight, spot: Spot, face: Face) -> FaceLight:
    """Return what a face gets from sun, sky and ground at every instant, apart. [lx]

    Notes
    -----
    The sky over the spot's skyline is summed over its half of 288 pieces that the face
    sees; the ground is taken to be as bright all about as the spot's own, an even white
    of its albedo: ``albedo · ground · (1 - sin tilt) / 2``. What walls throw back is left out.
    """
    normal = face.normal
    rise = np.sin(np.radians(np.maximum(daylight.sun.refracted_deg, 0.0)))
    thrown_back = spot.albedo * (1.0 - normal[2]) / 2.0
    beam = daylight.beam_lux * (np.maximum(np.tensordot(normal, daylight.toward_sun, 1), 0.0) + thrown_back * rise)
    seen = np.maximum(normal @ spot.pieces.toward, 0.0)
    sees = np.flatnonzero(seen * spot.pieces.solid_sr > 0)
    some = tuple([..., *[np.newaxis] * np.ndim(daylight.sky_lux)])
    pieces = _sky_cd_m2(daylight, spot.pieces.toward[:, sees][some], spot.pieces.altitude_deg[sees][some])
    sky = np.tensordot(seen[sees] * spot.pieces.solid_sr[sees], pieces, 1)
    return FaceLight(sky + thrown_back * daylight.sky_lux * spot.sky_view, beam, beam_share(daylight, spot))


def face_lux(daylight: Daylight, spot: Spot, face: Face) -> FloatArray:
    """Return what a face gets from sun, sky and ground together; see ``face_light``. [lx]"""
    return face_light(daylight, spot, face).lux


def _sky_cd_m2(daylight: Daylight, toward: FloatArray, altitude_deg: FloatOrArray) -> FloatArray:
    """Return the luminance towards unit vectors, vector axis first, of shapes that fit the track's."""
    cosine = np.sum(toward * daylight.toward_sun.reshape(3, *[1] * (toward.ndim - daylight.toward_sun.ndim), *np.shape(daylight.sky_lux)), axis=0)
    sun_deg = daylight.sun.refracted_deg
    clear, grey = (luminance_per_lux(kind, altitude_deg, cosine, sun_deg) for kind in (CLEAR, OVERCAST))
    return daylight.sky_lux * ((1.0 - daylight.cover) * clear + daylight.cover * grey)
