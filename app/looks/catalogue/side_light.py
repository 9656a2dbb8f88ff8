"""Side light: a low sun square to the line, shaping the faces."""

from app.looks.conditions import clear_of_skyline, not_above, sun_beside
from app.looks.light_conditions import from_daylights_side, not_squinting, well_lit
from app.looks.look import Look
from app.looks.margin import Margin, Scene


def margins(scene: Scene, tolerance_deg: float, highest_deg: float) -> tuple[Margin, ...]:
    return (
        sun_beside(scene, tolerance_deg),
        not_above(highest_deg, eases_deg=highest_deg / 3),
        *not_squinting(scene),
        *from_daylights_side(scene),
        clear_of_skyline(scene.couple_skyline),
        *well_lit(scene),
    )


LOOK = Look(
    name="side light",
    means="A low sun from their left or right, shaping faces and clothes.",
    margins=margins,
    bounds={"tolerance_deg": 35.0, "highest_deg": 25.0},  # common practice, no source
    words={"tolerance_deg": "sun off square to the line, at most"},
)
