"""Conditions on the sky around the couple: shade where they stand, and what their heads stand against."""

import numpy as np

from app.looks.combined import unmoving
from app.looks.conditions import clear_of_skyline
from app.looks.margin import Margin, Scene
from app.looks.way import Bounds, Way
from app.place.skyline import Skyline
from app.sky.track import SunTrack

HEAD_SHARE = 0.13  # of the height, from crown to chin: Drillis & Contini (1966), from memory
BESIDE_DEG = 0.01  # the sun's way in two or three seconds
FACED_DEG = 45.0  # to each side of where they look; common sense, no source


def in_shade(skyline: Skyline) -> Margin:
    """The disc's upper edge under what hides the sky, over the disc's width; 1 when it is that far under."""
    clear = clear_of_skyline(skyline)

    def bounds(way: Way) -> Bounds:
        least, most = clear.between(way)
        return -most, -least

    return Margin(
        name="the couple in the shade",
        value=lambda sun: -clear.value(sun),
        opens=lambda sun: f"sun goes behind {_hider(skyline, sun)}",
        closes=lambda sun: f"sun reaches them past {_hider(skyline, sun)}",
        bounds=bounds,
    )


def facing_sky(scene: Scene, most_deg: float) -> Margin:
    """How high the skyline stands, in the mean, where the couple look at the camera; 1 when it is level."""
    faced = scene.setup.line_deg + 180.0 + np.linspace(-FACED_DEG, FACED_DEG, 181)
    high_deg = float(np.mean(np.maximum(scene.couple_skyline.altitude_at(faced), 0.0)))
    return unmoving(
        "facing open sky", max(-1.0, 1 - high_deg / most_deg), "they face open sky",
        f"what they face stands {high_deg:.0f}° high",
    )  # fmt: skip


def heads_above(scene: Scene) -> Margin:
    """How far the crowns stand above the skyline in the picture, over a head's height; 1 when whole heads do."""
    setup = scene.setup
    tops = {one.across_m: one.high_m + one.high_radius_m for one in sorted(setup.figures, key=lambda one: one.high_m)}
    if not tops:
        return unmoving("heads against the sky", -1.0, "somebody stands there", "nobody stands there")
    across, crown_m = np.array(list(tops)), np.array(list(tops.values()))
    line, distance_m, eye_m = (np.expand_dims(one, -1) for one in (setup.line_deg, setup.distance_m, setup.eye_m))
    azimuth = line + np.degrees(np.arctan2(across, distance_m))
    far_m = np.hypot(across, distance_m)
    crown, chin = (np.degrees(np.arctan2(height - eye_m, far_m)) for height in (crown_m, crown_m * (1 - HEAD_SHARE)))
    above = (crown - scene.skyline.altitude_at(azimuth)) / (crown - chin)

    def behind() -> str:
        return scene.skyline.called_at(float(azimuth[np.argmin(above)]))

    return unmoving(
        "heads against the sky", np.maximum(above.min(axis=-1), -1.0), lambda sun: f"their heads stand above {behind()}",
        lambda sun: f"their heads stand against {behind()}",
    )  # fmt: skip


def _hider(skyline: Skyline, sun: SunTrack) -> str:
    """Return what stands at the disc's upper edge; at an upright edge, what stands on its higher side."""
    azimuth_deg = float(sun.azimuth_deg) + np.array([0.0, -BESIDE_DEG, BESIDE_DEG])
    hidden_deg = -skyline.clearance_deg(azimuth_deg, float(sun.upper_edge_deg))
    return skyline.called_at(float(azimuth_deg[np.argmax(hidden_deg)]), float(sun.upper_edge_deg))
