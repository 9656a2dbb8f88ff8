"""Sun in frame: the disc itself in the picture, beside or above the couple."""

from app.looks.conditions import clear_of_people, clear_of_skyline, in_frame, not_above
from app.looks.light_conditions import well_lit
from app.looks.look import Look
from app.looks.margin import Margin, Scene


def margins(scene: Scene, highest_deg: float) -> tuple[Margin, ...]:
    return (
        not_above(highest_deg, eases_deg=highest_deg / 3),
        in_frame(scene),
        clear_of_skyline(scene.skyline),
        clear_of_people(scene),
        *well_lit(scene),
    )


LOOK = Look(
    name="sun in frame",
    means="The sun itself in the picture, clear of the couple.",
    margins=margins,
    bounds={"highest_deg": 45.0},  # common practice, no source
    sun_in_picture=True,
)
