"""Hidden sun: the whole disc behind heads or bodies, so that it rims them and spares the lens."""

from app.looks.conditions import clear_of_skyline, hidden_by_people, not_above
from app.looks.light_conditions import well_lit
from app.looks.look import Look
from app.looks.margin import Margin, Scene


def margins(scene: Scene, highest_deg: float) -> tuple[Margin, ...]:
    return (
        not_above(highest_deg, eases_deg=highest_deg / 3),
        hidden_by_people(scene),
        clear_of_skyline(scene.skyline),
        *well_lit(scene),
    )


LOOK = Look(
    name="hidden sun",
    means="The whole sun behind their heads or bodies: a bright rim and no flare.",
    margins=margins,
    bounds={"highest_deg": 45.0},  # common practice, no source
    sun_in_picture=True,
)
