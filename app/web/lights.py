"""The light of a setup for pages: the table through a part of a day, and what to set under every frame."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

import numpy as np

from app.errors import BadInput
from app.light.high_speed import two_ways
from app.light.kit import Kit
from app.light.stops import stops_words
from app.looks.light_plan import light_plan
from app.looks.lighting import Lighting, lighting, scene_lighting
from app.looks.margin import Scene
from app.looks.scene_light import SceneLight
from app.picture.backdrop import SKY
from app.picture.setup import Setup
from app.picture.sheet import sheet_instants, sheet_span
from app.units import FloatArray
from app.web.drawing.light_sketch import LightSketch, light_sketch
from app.web.light_facts import FaceFacts, LightFacts, face_facts, light_facts
from app.web.render import clock
from app.web.scenes import light_over
from app.web.shelf import KeptSite

WAYS_EVERY = 3  # rows
BETTER = {"filter": "the filter does it", "high speed": "high-speed sync does it", "either": "either does it", "neither": "neither does it"}


@dataclass(frozen=True)
class Row:
    """One moment of the table, in words; ``behind_ev`` is empty where the sky is behind their heads."""

    at_utc_s: float
    sun: str
    sky_ev: str
    behind_ev: str
    face_ev: str
    difference: str
    colours: str
    settings: str
    gives_way: str
    flash: str
    marked: str


@dataclass(frozen=True)
class Ways:
    """One moment's two ways past the sync time, each as settings and what the flash does."""

    at_utc_s: float
    at_sync: str
    high_speed: str
    better: str


@dataclass(frozen=True)
class LightTable:
    """The table with what was reckoned."""

    found: Lighting
    rows: tuple[Row, ...]
    lights: tuple[LightFacts, ...]
    faces: tuple[FaceFacts, ...]
    sketch: LightSketch | None
    ways: tuple[str, ...]
    two_ways: tuple[Ways, ...]
    turbidity: float


def light_table(kept: KeptSite, setup: Setup, kit: Kit, day: date, part: str, step_min: float, cover: float, correction_stops: float) -> LightTable:
    """Return the light of a setup through the evening or morning of a date; ``BadInput`` for lights or kit that cannot be used."""
    scene, plan, zone = kept.scene(setup), light_plan(setup, kit), kept.site.time_zone
    span = sheet_span(scene.observer, *kept.civil_day(day), part)
    sun = scene.observer.sun_at(sheet_instants(span.first_utc_s, span.last_utc_s, step_min * 60.0))
    haze = light_over(setup, kit) or SceneLight(plan)
    linke = haze.linke(sun.utc_s)
    found = lighting(scene, plan, sun, linke, cover, correction_stops)
    minutes = scene.observer.sun_at(sheet_instants(span.first_utc_s, span.last_utc_s, 60.0))
    fine = lighting(scene, plan, minutes, haze.linke(minutes.utc_s), cover, correction_stops)
    lights = tuple(light_facts(setup, plan, fine, zone))
    moved = tuple((one.number, one.moved) for one in lights if one.moved is not None)
    return LightTable(
        found=found,
        rows=tuple(_row(found, at, fine, zone) for at in range(len(sun.utc_s))),
        lights=lights,
        faces=face_facts(setup, plan, fine, zone),
        sketch=light_sketch(setup, plan, moved),
        ways=tuple(_ways(fine, zone)),
        two_ways=tuple(_two_ways(found)),
        turbidity=float(np.mean(linke)),
    )


def settings_under(scene: Scene, kit: Kit, instants_utc_s: FloatArray) -> tuple[str, ...]:
    """Return what to set at each moment under a clear sky, flash included; one line that says why where it cannot be told."""
    try:
        light_plan(scene.setup, kit)
        found = scene_lighting(scene, scene.observer.sun_at(instants_utc_s))
        count = len(found.day.sun.utc_s)
        flash = [f"; flash {found.flash_words(at)}" if found.plan.lights else "" for at in range(count)]
        return tuple(f"{found.settings.words(at)}{_missing(found, at)}{flash[at]}" for at in range(count))
    except (BadInput, ValueError) as error:
        return tuple(f"no settings: {error}" for _ in instants_utc_s)


def _missing(found: Lighting, at: int) -> str:
    """Return by how much the best settings still miss, “, 2/3 stop under”; empty where they do not."""
    miss = float(found.settings.miss_stops[at])
    return "" if not abs(miss) >= 1 / 6 else f", {stops_words(abs(miss))} {'over' if miss > 0 else 'under'}"


def _row(found: Lighting, at: int, fine: Lighting, zone: str) -> Row:
    """Return one moment; ``fine`` is the same light by the minute, to tell times by."""
    sun = found.day.sun
    altitude = f"{sun.refracted_deg[at]:.1f}° up" if sun.refracted_deg[at] > 0 else f"{-sun.airless_deg[at]:.1f}° down"
    return Row(
        at_utc_s=float(sun.utc_s[at]),
        sun=altitude + (", makes them squint" if found.squint[at] > 0.2 else ""),
        sky_ev=f"{found.sky_ev100[at]:.1f}",
        behind_ev="" if found.behind.kind == SKY else f"{found.behind_ev100[at]:.1f}",
        face_ev=f"{found.face_ev100[at]:.1f}" if found.plan.faces else "nobody",
        difference=_difference(float(found.difference_stops[at]), found.behind.kind) if found.plan.faces else "nobody there",
        colours=_colours(found, at),
        settings=found.settings.words(at),
        gives_way="; ".join(found.settings.gives_way(at)),
        flash=found.flash_words(at),
        marked=_marked(found, at, fine, zone),
    )


def _colours(found: Lighting, at: int) -> str:
    """Return the colour temperatures of one moment, to 100 K."""
    told = (("sun", found.colours.sun_k), ("sky", found.colours.sky_k), ("faces", found.colours.faces_k))
    return ", ".join(f"{what} {round(float(kelvin[at]), -2):.0f}\N{NO-BREAK SPACE}K" for what, kelvin in told if np.isfinite(kelvin[at]))


def _difference(stops: float, behind: str) -> str:
    if not np.isfinite(stops):
        return "unknown"
    if abs(stops) < 1 / 6:
        return "even"
    return f"{behind} {stops_words(abs(stops))} {'over' if stops > 0 else 'under'} the faces"


def _marked(found: Lighting, at: int, fine: Lighting, zone: str) -> str:
    """Return what changes for the flash between the moment before and this one."""
    if found.flashed is None or at == 0:
        return ""
    before, now = bool(found.flashed.enough[at - 1]), bool(found.flashed.enough[at])
    if before == now:
        return ""
    if now:
        first = int(np.searchsorted(fine.day.sun.utc_s, found.day.sun.utc_s[at - 1]))
        return f"from {clock(fine.enough_from_s(first), zone)} the flash is enough"
    return "from here the flash no longer holds it"


def _ways(found: Lighting, zone: str) -> list[str]:
    """Return the ways out at the first moment at which the flash falls short."""
    if found.flashed is None or found.flashed.enough.all():
        return []
    at = int(np.argmin(found.flashed.enough))
    told = [f"{way.words}{f' from {clock(way.utc_s, zone)} on' if way.utc_s else ''}" for way in found.ways_out(at)]
    return [f"At {clock(float(found.day.sun.utc_s[at]), zone)}: {words}." for words in told]


def _two_ways(found: Lighting) -> Iterator[Ways]:
    """Yield both ways every half an hour or so, where there are lights."""
    plan = found.plan
    if found.flashed is None:
        return
    both = two_ways(plan.intent.camera_ev100(found.face_ev100, found.sky_ev100), found.face_lux, plan.limits, plan.lights, plan.faces)
    for at in range(0, len(found.day.sun.utc_s), WAYS_EVERY):
        yield Ways(float(found.day.sun.utc_s[at]), *both.words(at), BETTER[both.better(at)])
