"""Double: the couple whole in the water before them."""

from app.looks.conditions import not_below
from app.looks.light_conditions import well_lit
from app.looks.look import Look
from app.looks.margin import Margin, Scene
from app.looks.water_conditions import NO_WATER, couple_in_water, on_still_water, water_of


def margins(scene: Scene, least_percent: float, lowest_deg: float) -> tuple[Margin, ...]:
    mirror = water_of(scene)
    if not mirror:
        return (NO_WATER,)
    bright = not_below(-lowest_deg, lowest_deg / 2, opens="dawn bright enough", closes="too dark")
    return (*on_still_water(scene, mirror, couple_in_water(scene, mirror, least_percent), bright), *well_lit(scene))


LOOK = Look(
    name="double",
    means="The couple whole in still water before them.",
    margins=margins,
    bounds={"least_percent": 95.0, "lowest_deg": 6.0},  # all but the shoes; end of civil twilight
    words={"least_percent": "of the couple to show in the water, at least"},
    place_by_place=True,
)
