"""Mirror: the sun's image, or the bright sky by it, on still water in the picture."""

from app.looks.combined import all_of, any_of
from app.looks.conditions import clear_of_skyline, not_above, not_below, sun_behind
from app.looks.light_conditions import well_lit
from app.looks.look import Look
from app.looks.margin import Margin, Scene
from app.looks.water_conditions import NO_WATER, on_still_water, sky_in_water, sun_image_shows, water_of

SKY_BRIGHT_FROM_DEG = 6.0  # where the golden light begins; common practice, no source


def margins(
    scene: Scene, highest_deg: float, tolerance_deg: float, lowest_deg: float, sky_percent: float
) -> tuple[Margin, ...]:
    mirror = water_of(scene)
    if not mirror:
        return (NO_WATER,)
    sun = all_of(
        "the sun's image on the water",
        not_above(highest_deg, eases_deg=highest_deg / 3),
        clear_of_skyline(scene.skyline),
        sun_image_shows(mirror),
    )
    sky = all_of(
        "bright sky on the water",
        sun_behind(scene, tolerance_deg),
        not_above(SKY_BRIGHT_FROM_DEG, eases_deg=2.0),
        not_below(-lowest_deg, lowest_deg / 2, opens="dawn bright enough in the water", closes="too dark in the water"),
        sky_in_water(scene, mirror, sky_percent),
    )
    return (*on_still_water(scene, mirror, any_of("sun or bright sky on the water", sun, sky)), *well_lit(scene))


LOOK = Look(
    name="mirror",
    means="The sun's image, or the bright sky around it, on still water.",
    margins=margins,
    # Common practice, no source; -6° is the end of civil twilight.
    bounds={"highest_deg": 30.0, "tolerance_deg": 40.0, "lowest_deg": 6.0, "sky_percent": 20.0},
    words={"sky_percent": "of the water to mirror sky, at least"},
    sun_in_picture=True,
    place_by_place=True,
)
