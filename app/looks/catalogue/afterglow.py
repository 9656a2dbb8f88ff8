"""Afterglow: the bright sky where the sun went, behind the couple."""

from app.looks.conditions import not_below, sun_behind, sun_gone
from app.looks.light_conditions import well_lit
from app.looks.look import Look
from app.looks.margin import Margin, Scene


def margins(scene: Scene, tolerance_deg: float, lowest_deg: float) -> tuple[Margin, ...]:
    return (
        sun_behind(scene, tolerance_deg, whom="them, under the horizon"),
        not_below(-lowest_deg, eases_deg=lowest_deg / 2, opens="dawn bright enough", closes="too dark"),
        sun_gone(),
        *well_lit(scene),
    )


LOOK = Look(
    name="afterglow",
    means="The sun has set; the sky it left is still bright behind them.",
    margins=margins,
    bounds={"tolerance_deg": 40.0, "lowest_deg": 6.0},  # end of civil twilight; the width is common practice
)
