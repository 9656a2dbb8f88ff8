"""A look that does not hold says when it comes nearest and what fails then."""

from app.looks.catalogue import LOOKS
from app.looks.look import wanted_look
from app.looks.nearest import nearest
from app.looks.window import find_windows
from tests.looks.scenes import scene_at
from tests.looks.test_light_conditions import SPRING_2027, with_light

EVENING = (SPRING_2027 + 12 * 3600.0, SPRING_2027 + 19 * 3600.0)


def test_a_flash_too_weak_is_what_fails():
    scene = with_light(scene_at(45.0, 10.0, 262.0), "sky-down-2", away_m=20.0)
    margins = wanted_look(LOOKS, "backlit").margins(scene)
    assert find_windows(margins, scene.observer, *EVENING) == ()
    found = nearest(margins, scene.observer, *EVENING)
    assert found.fails == ("flash can hold the sky",)
    sun = scene.observer.sun_at(found.utc_s)
    assert all(float(margin.value(sun)) > 0 for margin in margins if margin.name != "flash can hold the sky")


def test_a_line_away_from_the_sun_is_what_fails():
    scene = scene_at(45.0, 10.0, 20.0)
    assert "sun behind the couple" in nearest(wanted_look(LOOKS, "backlit").margins(scene), scene.observer, *EVENING).fails
