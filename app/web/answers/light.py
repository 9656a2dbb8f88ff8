"""The light of a setup through a part of a date: sky, faces, settings and flash."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, datetime
from typing import Any

import numpy as np

from app.light.kit import Kit
from app.looks.light_plan import light_plan
from app.looks.lighting import Lighting, scene_lighting
from app.looks.margin import Scene
from app.picture.sheet import STEP_S, sheet_instants, sheet_span
from app.place.site import Site
from app.place.timezone import civil_day
from app.web.answers.times import iso_local, lived_day
from app.web.scenes import light_over

Answer = dict[str, Any]


def light_answer(site: Site, scene: Scene, kit: Kit, day: date, part: str = "evening", step_s: float = STEP_S) -> Answer:
    """Return the light of a setup every ten minutes under a clear sky; ``BadInput`` for lights that cannot be used."""
    lived_day(site.time_zone, day)
    plan = light_plan(scene.setup, kit)
    span = sheet_span(scene.observer, *civil_day(site.time_zone, day), part)
    sun = scene.observer.sun_at(sheet_instants(span.first_utc_s, span.last_utc_s, step_s))
    found = scene_lighting(replace(scene, light=light_over(scene.setup, kit, site.observed_stops)), sun)
    return {
        "site": site.name,
        "setup": scene.setup.name,
        "date": day.isoformat(),
        "part": part,
        "time_zone": site.time_zone,
        "made_for": plan.intent.words,
        "behind_them": found.behind.kind,
        "linke_turbidity": round(float(np.mean(found.linke)), 2),
        "moments": [_moment(found, at, site.time_zone) for at in range(len(sun.utc_s))],
    }


def light_lines(answer: Answer) -> Iterator[str]:
    """Yield a line for every moment."""
    yield f"{answer['setup']}, {answer['site']}, {answer['part']} of {answer['date']}, by the clocks of {answer['time_zone']}"
    yield f"Made for {answer['made_for']}, clear sky, Linke turbidity {answer['linke_turbidity']:g}. EV at ISO 100. Behind their heads: {answer['behind_them']}."
    for moment in answer["moments"]:
        flash = f"  flash: {moment['flash']}" if moment["flash"] else ""
        clock = datetime.fromisoformat(moment["time_local"]).strftime("%H:%M")
        yield (
            f"{clock}  sun {moment['sun_altitude_deg']:5.1f}°  sky {moment['sky_ev100']:4.1f}  faces {_figure(moment['face_ev100'])}  "
            f"{moment['settings']}{flash}"
        )


def _moment(found: Lighting, at: int, zone: str) -> Answer:
    sun = found.day.sun
    return {
        "time_local": iso_local(float(sun.utc_s[at]), zone),
        "sun_altitude_deg": round(float(sun.refracted_deg[at]), 3),
        "horizontal_lux": round(float(found.day.horizontal_lux[at]), 1),
        "face_lux": [round(float(lux), 1) for lux in found.face_lux[:, at]],
        "sky_cd_m2": round(float(found.sky_cd_m2[at]), 1),
        "face_ev100": _rounded(found.face_ev100[at]),
        "sky_ev100": round(float(found.sky_ev100[at]), 2),
        "behind_ev100": round(float(found.behind_ev100[at]), 2),
        "difference_stops": _rounded(found.difference_stops[at]),
        "sun_k": _kelvin(found.colours.sun_k[at]),
        "sky_k": _kelvin(found.colours.sky_k[at]),
        "faces_k": _kelvin(found.colours.faces_k[at]),
        "settings": found.settings.words(at),
        "gives_way": list(found.settings.gives_way(at)),
        "flash": found.flash_words(at) or None,
    }


def _kelvin(value: float) -> int | None:
    return int(round(float(value), -2)) if np.isfinite(value) else None


def _rounded(value: float) -> float | None:
    """Return a figure to two decimals; None where there is nobody to meter."""
    return round(float(value), 2) if np.isfinite(value) else None


def _figure(value: float | None) -> str:
    return "  --" if value is None else f"{value:4.1f}"
