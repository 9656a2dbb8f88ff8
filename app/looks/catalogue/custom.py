"""Custom: the photographer's own bounds on the sun's place."""

from app.looks.conditions import between_offsets, clear_of_skyline, not_above, not_below
from app.looks.light_conditions import not_squinting, well_lit
from app.looks.look import Look
from app.looks.margin import Margin, Scene


def margins(scene: Scene, offset_deg: tuple[float, float], altitude_deg: tuple[float, float]) -> tuple[Margin, ...]:
    low, high = altitude_deg
    half = (high - low) / 2
    wanted = (
        between_offsets(scene, *offset_deg),
        not_above(high, half),
        not_below(low, half, opens=f"sun up to {low:g}°", closes=f"sun down to {low:g}°"),
    )
    clear = () if low < 0 else (clear_of_skyline(scene.skyline),)
    return (*wanted, *not_squinting(scene), *clear, *well_lit(scene))


LOOK = Look(
    name="custom",
    means="The sun within your own bounds, left to right of the line and in height.",
    margins=margins,
    bounds={"offset_deg": (-10.0, 10.0), "altitude_deg": (0.0, 10.0)},
    sun_in_picture=True,
)
