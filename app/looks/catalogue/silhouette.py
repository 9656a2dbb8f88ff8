"""Silhouette: the couple dark against a bright sky."""

from app.looks.conditions import not_above, not_below, sun_behind
from app.looks.light_conditions import bright_enough
from app.looks.look import Look
from app.looks.margin import Margin, Scene
from app.looks.sky_conditions import heads_above


def margins(scene: Scene, tolerance_deg: float, highest_deg: float, lowest_deg: float) -> tuple[Margin, ...]:
    return (
        heads_above(scene),
        sun_behind(scene, tolerance_deg),
        not_above(highest_deg, eases_deg=highest_deg / 3),
        not_below(-lowest_deg, lowest_deg / 2, opens="dawn bright enough", closes="too dark"),
        *bright_enough(scene, of_sky=True),
    )


LOOK = Look(
    name="silhouette",
    means="Dark figures against the bright sky of a low or just set sun.",
    margins=margins,
    bounds={"tolerance_deg": 25.0, "highest_deg": 10.0, "lowest_deg": 5.0},  # common practice, no source
    sun_in_picture=True,
)
