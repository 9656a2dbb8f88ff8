"""Sentences under a film strip about what its water shows."""

from collections.abc import Iterator, Mapping
from typing import Any

from app.looks.margin import Scene
from app.picture.double import WHOLE, Double, Move, double_in, moves_to_whole
from app.picture.water import Mirror, mirrors_of
from app.picture.weather import mirror_strength
from app.units import listed, percent
from app.web.scenes import looks_of
from app.web.typed_weather import weather_words

TOLD_FROM = 0.02  # of the couple; a smaller piece in the water is nobody's double
MIRROR, DOUBLE, GLITTER = "mirror", "double", "glitter"


def water_notes(scene: Scene) -> tuple[str, ...]:
    """Return what a photographer should know about the water in the frames; nothing without any."""
    mirrors = mirrors_of(scene.setup, scene.site, scene.skyline)
    return tuple(_notes(scene, mirrors[0])) if mirrors else ()


def _notes(scene: Scene, mirror: Mirror) -> Iterator[str]:
    yield _weather_words(scene, mirror)
    if not mirror_strength(scene.weather, mirror.water):
        return
    double = double_in(mirror, scene.setup)
    if DOUBLE in _wanted(scene) or double.in_water > TOLD_FROM:
        yield _double_words(mirror, double)
    if DOUBLE in _wanted(scene) and double.in_water < WHOLE:
        yield _moves_words(moves_to_whole(mirror, scene.setup))


def _weather_words(scene: Scene, mirror: Mirror) -> str:
    """Return what is known of the weather and what it does to the water; else what each look counts on."""
    if not (told := weather_words(scene.weather)):
        return f"No wind is given: the water is drawn still{_counted_on(scene)}."
    strength = mirror_strength(scene.weather, mirror.water)
    state = "mirrors" if strength > 0.9 else "mirrors a little, blurred" if strength else "mirrors nothing"
    return f"{told} {(mirror.water.name or 'the water').capitalize()} {state}."


def _counted_on(scene: Scene) -> str:
    """Return what looks on water take the wind to be where it is not known."""
    wanted = _wanted(scene)
    still = [name for name in (MIRROR, DOUBLE) if name in wanted]
    told = [f"{' and '.join(still)} count{'' if still[1:] else 's'} on that"] if still else []
    if GLITTER in wanted:
        told.append(f"glitter counts on {wanted[GLITTER]['breeze_m_s']:g} m/s")
    return "".join(f", {words}" for words in told)


def _wanted(scene: Scene) -> dict[str, Mapping[str, Any]]:
    """Return the looks the setup asks for by name, with their bounds."""
    return {wanted.name: wanted.bounds for wanted in looks_of(scene.setup)}


def _double_words(mirror: Mirror, double: Double) -> str:
    shown = f"Of the couple, {percent(double.in_water)} shows in {mirror.water.name or 'the water'}"
    if double.in_water > double.in_picture + 0.01:
        return f"{shown}, and {percent(double.in_picture)} inside the frame: tilt down or take a shorter lens for the rest."
    return f"{shown}."


def _moves_words(moves: tuple[Move, ...]) -> str:
    if not moves:
        return "No place for the camera within 3 m shows all of them in it."
    return f"To get all of them: the camera {listed(f'{move.centimetres} cm {move.way}' for move in moves)}."
