"""Conditions of light: bright enough, a flash that can hold the sky, no squinting, a key from the daylight's side.

Each gives the margins that a scene calls for: none where nothing is known of its light, or
where what is asked does not come up.
"""

from collections.abc import Callable

import numpy as np

from app.errors import BadInput
from app.light.exposure import FACES, SKY, ev100_of_cd_m2, ev100_of_settings
from app.light.faces import (
    AGREES_DEG,
    SQUINT_ALTITUDE_DEG,
    SQUINT_EASES_DEG,
    SQUINT_TURN_DEG,
    agreement,
    squint_room,
)
from app.light.flash import ENOUGH_STOPS, holds_stops, reach
from app.light.stops import APERTURES, SPEEDS, TIMES
from app.looks.light_plan import LightPlan
from app.looks.lighting import middle_ev100
from app.looks.margin import AZIMUTH, Margin, Scene
from app.looks.quick_light import quick_light
from app.looks.scene_light import SceneLight
from app.looks.way import AIR_STRETCH, Bounds, Way
from app.sky.track import SunTrack
from app.units import FloatArray, compass_deg, turned_deg

_HEIGHTS_DEG = np.arange(-12.0, 30.0, 0.5)  # of the sun, airless, at which brightness is looked up
TOO_DARK = -20.0  # a margin where no meter would tell
EASES_STOPS = 1.0  # a stop to spare is as good as any; to look right
BACKDROP_UNDER_STOPS = 2.0  # a backdrop this far under still shows behind people lit by flash; common practice, no source
FILL_WITHIN_DEG = 30.0  # a light nearer to the camera's axis fills rather than shapes; common practice, no source


def well_lit(scene: Scene) -> tuple[Margin, ...]:
    """Bright enough for the camera, and a flash that can hold the sky where the exposure asks that of it."""
    return (*bright_enough(scene), *flash_holds(scene))


def bright_enough(scene: Scene, of_sky: bool = False) -> tuple[Margin, ...]:
    """What is exposed for, over the least that the camera can take; 1 with a stop to spare.

    With lights it is the sky, which may fall two stops under; ``of_sky`` asks for the
    sky alone, as where the people are dark on purpose.
    """
    light = scene.light
    if light is None or not light.plan.faces:
        return ()
    darkest, words = _darkest_ev100(light)
    lit, lights = quick_light(scene, light), bool(light.plan.lights)
    by_sky = of_sky or light.plan.intent.kind != FACES
    sky = "the sky" if lit.behind.goes_by_sky else "what is behind them"
    what = sky if by_sky or lights else "the faces"

    def spare(sky_cd_m2: FloatArray, face_lux: FloatArray) -> FloatArray:
        sky_ev100 = ev100_of_cd_m2(sky_cd_m2)
        if of_sky or lights:
            return (sky_ev100 + BACKDROP_UNDER_STOPS * (not by_sky) - darkest) / EASES_STOPS
        wanted = light.plan.intent.camera_ev100(middle_ev100(face_lux), sky_ev100)
        return (wanted - darkest) / EASES_STOPS

    def bounds(way: Way) -> Bounds:
        low, high = (spare(*both) for both in zip(*lit.between(way), strict=True))
        return _told(low), _told(high)

    enough_deg = light.known.get(key := ("bright from", id(lit), of_sky))
    if enough_deg is None:
        enough_deg = light.known[key] = _from_deg(lambda airless_deg: spare(*lit.least_at(airless_deg)))
    value, bounds = _full_above(enough_deg, lambda sun: _told(spare(*lit.at(sun))), bounds)
    return (
        Margin(
            name="bright enough",
            value=value,
            opens=f"bright enough for {what} at {words}",
            closes=f"too dark for {what} at {words}",
            bounds=bounds,
        ),
    )


def flash_holds(scene: Scene) -> tuple[Margin, ...]:
    """Full power at the sync time, over what the faces lack while the sky is exposed for; 1 with a stop to spare.

    Asked only where lights reach somebody and the exposure is for the sky.
    """
    light = scene.light
    if light is None or light.plan.intent.kind != SKY or not (light.plan.lights and light.plan.faces):
        return ()
    plan = light.plan
    if not _given(plan).any():
        return ()

    lit = quick_light(scene, light)

    def spare(sky_cd_m2: FloatArray, face_lux: FloatArray) -> FloatArray:
        sky_ev100 = ev100_of_cd_m2(sky_cd_m2)
        wanted = plan.intent.camera_ev100(sky_ev100, sky_ev100)
        return (holds_stops(wanted, face_lux, plan.limits, plan.lights, plan.faces) + ENOUGH_STOPS) / EASES_STOPS

    def bounds(way: Way) -> Bounds:
        sky, faces = lit.between(way)
        return _told(spare(sky[1], faces[0])), _told(spare(sky[0], faces[1]))

    return (
        Margin(
            name="flash can hold the sky",
            value=lambda sun: _told(spare(*lit.at(sun))),
            opens="the flash can hold the sky",
            closes="the flash can no longer hold the sky",
            bounds=bounds,
        ),
    )


def not_squinting(scene: Scene) -> tuple[Margin, ...]:
    """The sun low, or away from where anybody looks; 1 once it is 80° off, or on the horizon."""
    light = scene.light
    if light is None or not light.plan.faces:
        return ()
    return (
        Margin(
            name="face not squinting",
            value=lambda sun: np.min([squint_room(face, sun.azimuth_deg, sun.refracted_deg) for face in light.plan.faces], axis=0),
            opens=lambda sun: f"sun {_eased(light, sun)}",
            closes=lambda sun: f"{_squints(light, sun)} squints into the sun",
            steepest_per_deg=max(1 / SQUINT_TURN_DEG, AIR_STRETCH / SQUINT_EASES_DEG),
        ),
    )


def from_daylights_side(scene: Scene) -> tuple[Margin, ...]:
    """The key within 20° of the sun's bearing; 1 on it. Asked of a light that shapes, not of one that fills."""
    light = scene.light
    key_deg = _key_deg(light, scene.setup.line_deg) if light is not None else None
    if key_deg is None:
        return ()
    return (
        Margin(
            name="light from the daylight's side",
            value=lambda sun: agreement(key_deg, sun.azimuth_deg),
            opens="the sun comes to the key's side",
            closes=lambda sun: f"the sun goes on {'clockwise' if turned_deg(sun.azimuth_deg, key_deg) > 0 else 'anticlockwise'} of the key",
            steepest_per_deg=1 / AGREES_DEG,
            along=AZIMUTH,
        ),
    )


def _from_deg(least: Callable[[FloatArray], FloatArray]) -> float:
    """Return the sun's airless altitude from which a margin is surely 1, whatever else; infinite where that is never sure."""
    fails = np.flatnonzero(np.nan_to_num(least(_HEIGHTS_DEG), nan=TOO_DARK) < 1.0)
    first = int(fails[-1]) + 1 if len(fails) else 0
    return float(_HEIGHTS_DEG[first]) if first < len(_HEIGHTS_DEG) else np.inf


def _full_above(
    enough_deg: float, value: Callable[[SunTrack], FloatArray], bounds: Callable[[Way], Bounds]
) -> tuple[Callable[[SunTrack], FloatArray], Callable[[Way], Bounds]]:
    """Return a margin's value and bounds that need not be reckoned where the sun is high enough for it to be 1."""

    def held(sun: SunTrack) -> FloatArray:
        low = np.asarray(sun.airless_deg < enough_deg)
        whole = np.ones(low.shape)
        if low.any():
            whole[low] = value(sun[np.nonzero(low)] if low.ndim else sun)
        return whole

    def held_bounds(way: Way) -> Bounds:
        least, most = np.ones(way.ends.utc_s.shape[1]), np.ones(way.ends.utc_s.shape[1])
        low = np.flatnonzero(way.ends.airless_deg.min(axis=0) - way.strays_deg[1] < enough_deg)
        if len(low):
            least[low], most[low] = bounds(way.take(low))
        return np.minimum(least, 1.0), np.maximum(most, least)

    return held, held_bounds


def _darkest_ev100(light: SceneLight) -> tuple[float, str]:
    """Return the least light that the camera takes in the hand, and the settings for it in words."""
    limits = light.plan.limits
    aperture, time, speed = limits.apertures[0], limits.times[0], limits.speeds[1]
    ev100 = ev100_of_settings(APERTURES.value(aperture), TIMES.value(time), SPEEDS.value(speed))
    return float(ev100), ", ".join([APERTURES.mark(aperture), TIMES.mark(time), SPEEDS.mark(speed)])


def _key_deg(light: SceneLight, line_deg: float) -> float | None:
    """Return the bearing from the couple to the light that gives most, None where it fills, rims or reaches nobody."""
    if not light.plan.lights:
        return None
    given = _given(light.plan)
    if not given.any():
        return None
    east, north, _ = light.plan.lights[int(given.argmax())].position_m
    bearing = float(compass_deg(np.degrees(np.arctan2(east, north))))
    return bearing if FILL_WITHIN_DEG < abs(turned_deg(bearing, (line_deg + 180.0) % 360.0)) < 90.0 else None


def _given(plan: LightPlan) -> FloatArray:
    """Return what each light gives to all faces at full power; nothing where its own page says that it cannot be used."""
    try:
        return reach(plan.lights, plan.faces).lux_s.sum(axis=1)
    except BadInput:
        return np.zeros(len(plan.lights))


def _eased(light: SceneLight, sun: SunTrack) -> str:
    return f"down to {SQUINT_ALTITUDE_DEG:g}°" if abs(float(sun.refracted_deg) - SQUINT_ALTITUDE_DEG) < 0.1 else "out of their eyes"


def _squints(light: SceneLight, sun: SunTrack) -> str:
    """Return who squints the most."""
    return min(light.plan.faces, key=lambda face: float(squint_room(face, sun.azimuth_deg, sun.refracted_deg))).words


def _told(value: FloatArray) -> FloatArray:
    """Return a margin's value, far below 0 where it is too dark to tell."""
    return np.nan_to_num(np.asarray(value, dtype=float), nan=TOO_DARK)
