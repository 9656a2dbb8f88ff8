"""Open shade: the sun off the couple, who face a bright sky."""

from app.looks.conditions import not_below
from app.looks.light_conditions import well_lit
from app.looks.look import Look
from app.looks.margin import Margin, Scene
from app.looks.sky_conditions import facing_sky, in_shade


def margins(scene: Scene, lowest_deg: float, faced_deg: float) -> tuple[Margin, ...]:
    return (
        facing_sky(scene, faced_deg),
        not_below(-lowest_deg, lowest_deg / 2, opens="dawn bright enough", closes="too dark"),
        in_shade(scene.couple_skyline),
        *well_lit(scene),
    )


LOOK = Look(
    name="open shade",
    means="The sun kept off them while they face open sky: soft, even light.",
    margins=margins,
    bounds={"lowest_deg": 4.0, "faced_deg": 30.0},  # common practice, no source
    words={"faced_deg": "height of what they face, at most"},
    place_by_place=True,
)
