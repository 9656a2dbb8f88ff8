"""Backlit: a low sun behind the couple."""

from app.looks.conditions import clear_of_skyline, not_above, sun_behind
from app.looks.light_conditions import well_lit
from app.looks.look import Look
from app.looks.margin import Margin, Scene


def margins(scene: Scene, tolerance_deg: float, highest_deg: float) -> tuple[Margin, ...]:
    return (
        sun_behind(scene, tolerance_deg),
        not_above(highest_deg, eases_deg=highest_deg / 3),
        clear_of_skyline(scene.couple_skyline),
        *well_lit(scene),
    )


LOOK = Look(
    name="backlit",
    means="A low sun behind the couple, lighting their edges and the air around them.",
    margins=margins,
    bounds={"tolerance_deg": 12.0, "highest_deg": 18.0},  # common practice, no source
    sun_in_picture=True,
)
