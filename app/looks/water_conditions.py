"""The conditions that water makes, each as a margin."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from app.looks.combined import unmoving
from app.looks.margin import Margin, Scene, Words
from app.looks.way import AIR_STRETCH, Bounds, Way
from app.picture.double import double_in
from app.picture.glitter import slopes_for
from app.picture.sparkle import cells_behind, sparkling_bounds, sparkling_share
from app.picture.water import Mirror, Part, mirrors_of, open_sky_share, sun_image
from app.picture.weather import Weather, still_to_m_s, stillness
from app.sky.track import SEMIDIAMETER_AT_1_AU_DEG, SunTrack
from app.units import FloatArray

LEAST_MARGIN = -3.0  # farther out of place than that nothing is told, and nothing has to be searched
NO_WATER = unmoving("water in the picture", -1.0, "water comes into the picture", "no water in the picture")
FULL_SPARKLE = 0.3  # share of the water beyond the least wanted at which the sparkle cannot be wished better
WIND_EASES_M_S = 1.0


def water_of(scene: Scene) -> Mirror | None:
    """Return the sheet of water that takes most of the frame, None without any."""
    return next(iter(mirrors_of(scene.setup, scene.site, scene.skyline)), None)


def on_still_water(scene: Scene, mirror: Mirror, *margins: Margin) -> tuple[Margin, ...]:
    """Add the water's stillness to some margins; where the wind is not known, their words say “if the water is still”."""
    known = scene.weather.wind_m_s is not None or scene.weather.people_in_water
    told = margins if known else tuple(_if(margin, "if the water is still") for margin in margins)
    return (_still(scene.weather, mirror), *told)


def sun_image_shows(mirror: Mirror) -> Margin:
    """How deep the middle of the sun's image lies in water that shows open sky, over its radius.

    0 where half of it shows, 1 once all of it does.
    """
    camera = mirror.view.camera
    radius_mm = camera.focal_mm * np.tan(np.radians(SEMIDIAMETER_AT_1_AU_DEG))
    reach_mm = np.hypot(camera.width_mm, camera.height_mm) / 2 - LEAST_MARGIN * radius_mm
    per_deg = np.radians(camera.focal_mm) * (1 + (reach_mm / camera.focal_mm) ** 2)  # as far out as the margin is not cut off

    def value(sun: SunTrack) -> FloatArray:
        open_mm = sun_image(mirror, sun, at_least_mm=LEAST_MARGIN * radius_mm).open_mm
        return np.clip(open_mm / radius_mm, LEAST_MARGIN, 1.0)

    return Margin(
        name="the sun's image on the water",
        value=value,
        opens=lambda sun: _comes(_end(mirror, sun)),
        closes=lambda sun: _goes(mirror, _end(mirror, sun)),
        steepest_per_deg=AIR_STRETCH * per_deg / radius_mm,
    )


def sky_in_water(scene: Scene, mirror: Mirror, least_percent: float) -> Margin:
    """The share of the water in the frame that mirrors sky, over the least wanted; 1 at twice that."""
    share = 100 * open_sky_share(mirror, scene.skyline)
    return unmoving(
        "the water mirrors sky", max(-1.0, share / least_percent - 1), "the water mirrors the sky",
        f"the water mirrors sky on {share:.0f}\N{NO-BREAK SPACE}% of it only",
    )  # fmt: skip


def couple_in_water(scene: Scene, mirror: Mirror, least_percent: float) -> Margin:
    """The share of the couple that shows in the water and the frame, over what may be missing of it."""
    shown = 100 * double_in(mirror, scene.setup).in_picture
    value = (shown - least_percent) / max(100 - least_percent, 0.1)
    return unmoving(
        "the couple whole in the water", max(-1.0, value), "all of them shows in the water",
        f"{shown:.0f}\N{NO-BREAK SPACE}% of them shows in the water",
    )  # fmt: skip


def sparkle_behind(scene: Scene, mirror: Mirror, weather: Weather, least_percent: float) -> Margin:
    """The share of the water behind the couple that sparkles, over the least wanted; 1 from 30 % more."""
    cells, slopes = cells_behind(mirror), slopes_for(weather, mirror.water)

    def margin(share: FloatArray) -> FloatArray:
        return (share - least_percent / 100) / FULL_SPARKLE

    def bounds(way: Way) -> Bounds:
        places = [((low + high) / 2, (high - low) / 2) for low, high in (way.azimuth_deg(), way.refracted_deg)]
        (azimuth, turn), (altitude, rise) = places
        return tuple(margin(share) for share in sparkling_bounds(cells, slopes, azimuth, altitude, turn, rise))

    return Margin(
        name="the water sparkles",
        value=lambda sun: margin(sparkling_share(cells, slopes, sun.azimuth_deg, sun.refracted_deg)),
        opens=f"the water behind them sparkles on {least_percent:g}\N{NO-BREAK SPACE}%",
        closes=f"the water behind them sparkles on less than {least_percent:g}\N{NO-BREAK SPACE}%",
        bounds=bounds,
    )


def ruffled(weather: Weather, strongest_m_s: float) -> Margin:
    """A breeze strong enough to ruffle the water and weaker than a limit; each side eases over 1 m/s."""
    wind_m_s = weather.wind_m_s or 0.0
    value = min(wind_m_s - 0.3, strongest_m_s - wind_m_s) / WIND_EASES_M_S
    closes = f"wind over {strongest_m_s:g} m/s" if wind_m_s > strongest_m_s else "no wind to ruffle the water"
    return unmoving("water ruffled", max(-1.0, value), "a breeze ruffles the water", closes)


def with_breeze(scene: Scene, breeze_m_s: float, *margins: Callable[[Weather], Margin]) -> tuple[Margin, ...]:
    """Ask margins with the wind there is; where it is not known, with a breeze, and their words say so."""
    if scene.weather.wind_m_s is not None:
        return tuple(margin(scene.weather) for margin in margins)
    weather = replace(scene.weather, wind_m_s=breeze_m_s)
    return tuple(_if(margin(weather), f"in a breeze of {breeze_m_s:g} m/s") for margin in margins)


def _still(weather: Weather, mirror: Mirror) -> Margin:
    """The water's stillness: 1 in a calm, 0 at the wind that breaks its mirror."""
    limit = f"{still_to_m_s(mirror.water):g} m/s"
    breaks = "people in the water" if weather.people_in_water else f"wind over {limit}"
    return unmoving("water still", stillness(weather, mirror.water), f"wind down to {limit}", breaks)


def _if(margin: Margin, proviso: str) -> Margin:
    """Return a margin whose words carry a proviso."""
    def told(words: Words) -> Words:
        return f"{words}, {proviso}" if isinstance(words, str) else lambda sun: f"{words(sun)}, {proviso}"

    return replace(margin, opens=told(margin.opens), closes=told(margin.closes))


def _end(mirror: Mirror, sun: SunTrack) -> tuple[Part, float, float]:
    """Return what keeps the sun's image out or is nearest to do so, and where the image lies. [mm]"""
    image = sun_image(mirror, sun)
    x_mm, y_mm = float(image.x_mm), float(image.y_mm)
    return mirror.ends_at(x_mm, y_mm), x_mm, y_mm


def _comes(end: tuple[Part, float, float]) -> str:
    part, *_ = end
    if part.kind == "frame":
        return "its image comes into the frame"
    if part.kind == "water":
        return f"its image comes onto {part.called}"
    return f"its image clears {part.called}{_where(part)}"


def _goes(mirror: Mirror, end: tuple[Part, float, float]) -> str:
    part, x_mm, y_mm = end
    if part.kind == "frame":
        return f"its image leaves the frame at the {_side(mirror, x_mm, y_mm)}"
    if part.kind == "water":
        return f"its image runs off {part.called}"
    return f"its image goes behind {part.called}{_where(part)}"


def _where(part: Part) -> str:
    return " in the water" if part.kind == "mirrored" else ""


def _side(mirror: Mirror, x_mm: float, y_mm: float) -> str:
    camera = mirror.view.camera
    if camera.width_mm / 2 - abs(x_mm) < camera.height_mm / 2 - abs(y_mm):
        return "right" if x_mm > 0 else "left"
    return "top" if y_mm > 0 else "bottom"
