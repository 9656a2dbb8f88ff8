"""One setup as the field page wants it: frames every few minutes, and what to set by each meter reading."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from app.errors import BadInput
from app.looks.light_plan import light_plan
from app.looks.lighting import Lighting, scene_lighting
from app.looks.look import WantedLook
from app.looks.margin import Scene
from app.picture.frame import sight
from app.picture.words import hidden_words
from app.sky.track import SunTrack
from app.units import FloatArray
from app.web.crew_notes import LIGHT_BY_WATER
from app.web.drawing.frames import FrameSheet, sheet_for
from app.web.light_facts import near_water
from app.web.lights import settings_under
from app.web.shelf import KeptSite
from app.web.words import SUN_CAUTION, caution_for

BEFORE_S, AFTER_S = 900.0, 1800.0  # people come early and stay longer
EARLIEST_S, LATEST_S = 2700.0, 5400.0  # or much longer: then frames are farther apart
STEP_S, LONG_STEP_S, COARSE_S = 180.0, 300.0, 600.0  # from frame to frame
LONG_S = 3600.0  # slots of an hour or more have frames farther apart
LEAST_STOPS, MOST_STOPS = -5.0, 3.0  # what a meter may find beside what was reckoned: a thunder sky to fresh snow, from memory
THIRDS = np.arange(round(LEAST_STOPS * 3), round(MOST_STOPS * 3) + 1)
EVERY_S = 60.0


@dataclass(frozen=True, eq=False)
class Stand:
    """One place that a slot may be taken at, its own or a standby's.

    Attributes
    ----------
    key : str
        Tells stands of a page apart; the frames' sheet bears it too.
    scene : Scene
    kept : KeptSite
    sheet : FrameSheet
    settings : tuple of str
        What to set under each frame, without a meter's reading.
    cautions : tuple of str
    data : mapping
        The same for the script, and the settings under every reading.
    """

    key: str
    scene: Scene
    kept: KeptSite
    sheet: FrameSheet
    settings: tuple[str, ...]
    cautions: tuple[str, ...]
    data: Mapping[str, Any]


def stand_for(
    key: str, scene: Scene, kept: KeptSite, looks: Sequence[WantedLook], span_utc_s: tuple[float, float], cover: float | None
) -> Stand:
    """Return a stand through a slot and some time around it.

    Parameters
    ----------
    key : str
    scene : Scene
        With the wind of the day, where it is known.
    kept : KeptSite
    looks : sequence of WantedLook
        What is wanted there.
    span_utc_s : pair of float
        From when to when the slot goes. [s since 1970 UTC]
    cover : float, optional
        The cloud of the day, None where it is not known. [0..1]
    """
    moments, cautions = moments_of(*span_utc_s), tuple(_cautions(kept, scene, looks, span_utc_s))
    scene = scene if cover is None or scene.light is None else replace(scene, light=replace(scene.light, cover=cover))
    setup = scene.setup
    data = {
        "key": key,
        "name": setup.name,
        "site": kept.slug,
        "setup": setup.id,
        "line_deg": round(setup.line_deg, 3),
        "lens": f"{setup.camera.focal_mm:g} mm, lens {setup.lens_height_m:g} m up, {setup.distance_m:.1f} m from them",
        "eye_m": setup.lens_height_m,
        "cautions": [words for words in cautions if words != SUN_CAUTION],
        "sun_care": SUN_CAUTION if SUN_CAUTION in cautions else "",
        "moments": [round(at) for at in moments],
        "gone": gone(scene, *span_utc_s),
        "base_stops": round(kept.site.observed_stops, 3),
        **_settings_data(scene, kept, moments),
    }
    return Stand(
        key, scene, kept, sheet_for(scene, moments, kept.site.time_zone, sheet_id=f"f-{key}"),
        settings_under(scene, kept.kit, moments), cautions, data,
    )  # fmt: skip


def moments_of(starts_utc_s: float, ends_utc_s: float) -> FloatArray:
    """Return when frames are drawn: the slot's start among them. [s since 1970 UTC]"""
    step = LONG_STEP_S if ends_utc_s - starts_utc_s >= LONG_S else STEP_S
    near = np.arange(starts_utc_s - BEFORE_S, ends_utc_s + AFTER_S + 1.0, step)
    before = np.arange(starts_utc_s - EARLIEST_S, near[0], COARSE_S)
    after = np.arange(near[-1] + COARSE_S, ends_utc_s + LATEST_S + 1.0, COARSE_S)
    return np.concatenate([before, near, after])


def gone(scene: Scene, starts_utc_s: float, ends_utc_s: float) -> list[list[Any]]:
    """Return from when to when the sun is out of the camera's sight around a slot, and what took it. [s since 1970 UTC]"""
    at = np.arange(starts_utc_s - 2 * EARLIEST_S, ends_utc_s + 2 * LATEST_S + 1.0, EVERY_S)
    seen = sight(scene.setup, scene.skyline, scene.observer.sun_at(at))
    told: list[list[Any]] = []
    for which in np.flatnonzero(seen.clear_deg <= 0):
        words = hidden_words(seen, scene.skyline, which) if seen.sun.upper_edge_deg[which] > 0 else "below the horizon"
        if told and told[-1][2] == words and told[-1][1] == round(at[which]):
            told[-1][1] = round(at[which] + EVERY_S)
        else:
            told.append([round(at[which]), round(at[which] + EVERY_S), words])
    return told


def _cautions(kept: KeptSite, scene: Scene, looks: Sequence[WantedLook], span_utc_s: tuple[float, float]) -> Iterator[str]:
    """Yield what to mind: the sun wherever it comes into the frame, wet edges, lights near water."""
    seen = sight(scene.setup, scene.skyline, scene.observer.sun_at(moments_of(*span_utc_s)))
    if caution_for(tuple(looks)) or np.any(seen.in_frame & (seen.clear_deg > 0)):
        yield SUN_CAUTION
    yield from (f"{note.title}. {note.words}" for note in kept.standing_notes(scene.setup))
    if scene.setup.lights and near_water(kept, scene.setup):
        yield LIGHT_BY_WATER


def _settings_data(scene: Scene, kept: KeptSite, moments: FloatArray) -> dict[str, Any]:
    """Return settings by reading and moment as places in a list of what there is to set; why there is none otherwise."""
    try:
        light_plan(scene.setup, kept.kit)
        sun = scene.observer.sun_at(moments)
        found = [_corrected(scene, sun, third / 3) for third in THIRDS]
        return _numbered(found) | {"face_ev100": _face_ev100(found[-THIRDS[0]])}
    except (BadInput, ValueError) as error:
        return {"sets": [], "set": [], "face_ev100": [], "trouble": f"No settings: {error}"}


def _corrected(scene: Scene, sun: SunTrack, stops: float) -> Lighting:
    assert scene.light is not None  # it is there wherever lights and kit can be used
    return scene_lighting(replace(scene, light=replace(scene.light, correction_stops=scene.light.correction_stops + stops)), sun)


def _numbered(found: Sequence[Lighting]) -> dict[str, Any]:
    texts: dict[tuple[str, str, str], int] = {}
    rows = [[texts.setdefault(_set(one, at), len(texts)) for at in range(len(one.day.sun.utc_s))] for one in found]
    return {"sets": [list(text) for text in texts], "set": rows}


def _set(found: Lighting, at: int) -> tuple[str, str, str]:
    """Return settings, what the flash is set to, and what had to give way."""
    flash = "" if found.flashed is None else found.flashed.words(at)
    return found.settings.words(at), flash, "; ".join(found.settings.gives_way(at))


def _face_ev100(found: Lighting) -> list[float | None]:
    """Return what an incident meter should read at their faces, at ISO 100; None where it is not known."""
    return [round(float(ev), 2) if np.isfinite(ev) else None for ev in found.face_ev100]
