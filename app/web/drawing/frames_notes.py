"""Sentences under a film strip about what its water shows."""

from collections.abc import Iterator

from app.looks.margin import Scene
from app.picture.double import WHOLE, Double, Move, double_in, moves_to_whole
from app.picture.water import Mirror, mirrors_of
from app.units import listed

TOLD_FROM = 0.02  # of the couple; a smaller piece in the water is nobody's double
DOUBLE = "double"


def water_notes(scene: Scene) -> tuple[str, ...]:
    """Return what a photographer should know about the water in the frames; nothing without any."""
    mirrors = mirrors_of(scene.setup, scene.site, scene.skyline)
    return tuple(_notes(scene, mirrors[0])) if mirrors else ()


def _notes(scene: Scene, mirror: Mirror) -> Iterator[str]:
    if scene.weather.people_in_water:
        yield "People in the water: it mirrors nothing."
    elif scene.weather.wind_m_s is None:
        yield "The water is drawn still; the wind is not known."
    double = double_in(mirror, scene.setup)
    if _wanted(scene) or double.in_water > TOLD_FROM:
        yield _double_words(mirror, double)
    if _wanted(scene) and double.in_water < WHOLE:
        yield _moves_words(moves_to_whole(mirror, scene.setup))


def _wanted(scene: Scene) -> bool:
    names = [look if isinstance(look, str) else dict(look).get("look") for look in scene.setup.looks]
    return DOUBLE in names


def _double_words(mirror: Mirror, double: Double) -> str:
    shown = f"Of the couple, {_percent(double.in_water)} shows in {mirror.water.name or 'the water'}"
    if double.in_water > double.in_picture + 0.01:
        return f"{shown}, and {_percent(double.in_picture)} inside the frame: tilt down or take a shorter lens for the rest."
    return f"{shown}."


def _moves_words(moves: tuple[Move, ...]) -> str:
    if not moves:
        return "No place for the camera within 3 m shows all of them in it."
    return f"To get all of them: the camera {listed(f'{move.centimetres} cm {move.way}' for move in moves)}."


def _percent(share: float) -> str:
    return f"{share * 100:.0f} %"
