"""Light: a sheet's moments and many faces against one moment at a time, and a year of margins of light against every minute."""

from dataclasses import replace

import numpy as np

from app.light.kit import DEMO_KIT
from app.looks.catalogue import LOOKS
from app.looks.light_plan import light_plan
from app.looks.lighting import lighting
from app.looks.scene_light import SceneLight
from app.looks.window import open_spans
from app.place.geodesy import direct
from app.sky.ephemeris import DAY_S
from tests.benchmarks.measure import demand, duration, medians_s
from tests.looks.sampled import compare, sampled_spans
from tests.looks.scenes import scene_at

START_S = 1_803_859_200.0  # 1 March 2027
CLOSE_STOPS = 1e-9


def lit_scene():
    """Return a scene at 45° N with one light before the couple, exposed for the sky."""
    scene = scene_at(45.0, 10.0, 262.0)
    couple = scene.setup.couple_pin
    lat, lon = direct(couple.lat_deg, couple.lon_deg, (262.0 + 180.0 - 40.0) % 360.0, 3.0)
    light = {"flash": "Battery head, 400 Ws", "pin": [lon, lat], "height_m": 2.2}
    setup = replace(scene.setup, lights=(light,), exposure={"intent": "sky"})
    return replace(scene, setup=setup, light=SceneLight(light_plan(setup, DEMO_KIT)))


def bench_lighting() -> list[str]:
    """An evening's 400 moments at once, against one after the other."""
    scene = lit_scene()
    sun = scene.observer.sun_at(np.linspace(START_S + 15 * 3600.0, START_S + 18.5 * 3600.0, 400))

    def together():
        found = lighting(scene, scene.light.plan, sun)
        return found.flashed.full_stops

    def one_by_one():
        return np.array([lighting(scene, scene.light.plan, sun[at : at + 1]).flashed.full_stops[0] for at in range(0, 400, 8)])

    spent = medians_s(3, together, one_by_one)
    apart = float(np.abs(together()[::8] - one_by_one()).max())
    demand(apart < CLOSE_STOPS, f"the light of a moment differs by {apart:.2g} stop when asked alone")
    return [f"light and flash of 400 moments: {duration(spent[0])}; one at a time {8 * spent[1] / spent[0]:.3g} times as long, {apart:.1g} stop apart"]


def bench_margins() -> list[str]:
    """A year of backlit windows that the flash must hold, against sampling every minute with edges refined."""
    scene, span = lit_scene(), (START_S, START_S + 365 * DAY_S)
    lit, bare = (LOOKS["backlit"].margins(one, **LOOKS["backlit"].bounds) for one in (scene, replace(scene, light=None)))
    works = {
        "the search without light": lambda: open_spans(bare, scene.observer, *span),
        "the search": lambda: open_spans(lit, scene.observer, *span),
        "sampled each minute, edges refined": lambda: sampled_spans(lit, scene.observer, *span, 60.0),
    }
    spent = medians_s(3, *works.values())
    found = compare(lit, scene.observer, works["sampled each minute, edges refined"](), works["the search"](), 60.0)
    demand(found.missed == found.made_up == 0, f"windows with light differ: {found}")
    rows = [f"  {name}: {duration(seconds)}, {seconds / spent[1]:.3g} times as long" for name, seconds in zip(works, spent, strict=True)]
    return [f"windows of a year that the flash must hold, {found.windows} of them, edges within {found.worst_edge_s:.2g} s", *rows]
