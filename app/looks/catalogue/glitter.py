"""Glitter: a low sun sparkling on ruffled water behind the couple."""

from app.looks.conditions import clear_of_skyline, not_above, sun_behind
from app.looks.light_conditions import well_lit
from app.looks.look import Look
from app.looks.margin import Margin, Scene
from app.looks.water_conditions import NO_WATER, ruffled, sparkle_behind, water_of, with_breeze


def margins(
    scene: Scene, tolerance_deg: float, highest_deg: float, least_percent: float, breeze_m_s: float, strongest_m_s: float
) -> tuple[Margin, ...]:
    mirror = water_of(scene)
    if not mirror:
        return (NO_WATER,)
    breeze, sparkle = with_breeze(
        scene,
        breeze_m_s,
        lambda weather: ruffled(weather, strongest_m_s),
        lambda weather: sparkle_behind(scene, mirror, weather, least_percent),
    )
    return (
        breeze,
        not_above(highest_deg, eases_deg=highest_deg / 3),
        sun_behind(scene, tolerance_deg),
        clear_of_skyline(scene.skyline),
        sparkle,
        *well_lit(scene),
    )


LOOK = Look(
    name="glitter",
    means="A low sun sparkling on ruffled water behind them.",
    margins=margins,
    # Common practice, no source; the breeze is what is counted on where no wind is known, the strongest a fresh one.
    bounds={"tolerance_deg": 30.0, "highest_deg": 25.0, "least_percent": 10.0, "breeze_m_s": 3.0, "strongest_m_s": 8.0},
    words={"least_percent": "of the water to sparkle, at least", "breeze_m_s": "wind counted on where none is known", "strongest_m_s": "wind, at most"},
    sun_in_picture=True,
    place_by_place=True,
)
