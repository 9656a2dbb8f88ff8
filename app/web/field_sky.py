"""What the field page's script reckons with: the sun's path, what a compass is off by, and the shoot's clock."""

from datetime import date
from itertools import pairwise
from typing import Any

import numpy as np

from app.looks.margin import Scene
from app.place.declination import declination
from app.place.site import Site
from app.place.timezone import local_time
from app.sky.ephemeris import DAY_S

SUN_EVERY_S = 120.0  # between them the sun's path is straight to 0.01°
CLOCK_EVERY_S = 900.0  # clocks change at full quarters of an hour UTC


def sun_table(scene: Scene, start_utc_s: float, end_utc_s: float) -> dict[str, Any]:
    """Return where the sun is, as seen through the air, every two minutes of a span. [°]"""
    sun = scene.observer.sun_at(np.arange(start_utc_s, end_utc_s + 1.0, SUN_EVERY_S))
    azimuth = np.degrees(np.unwrap(np.radians(sun.azimuth_deg)))  # so that north is no jump between two rows
    return {
        "first": start_utc_s,
        "step_s": SUN_EVERY_S,
        "azimuth_deg": [round(float(one), 2) for one in azimuth],
        "altitude_deg": [round(float(one), 2) for one in sun.refracted_deg],
    }


def compass(site: Site, day: date) -> dict[str, Any]:
    """Return what makes a compass true at a site, how sure that is, and what to know about it. [°]"""
    found = declination(site.centre.lat_deg, site.centre.lon_deg, day, site.centre.height_m)
    return {"east_deg": round(found.east_deg, 2), "uncertainty_deg": round(found.uncertainty_deg, 1), "note": found.note or ""}


def offsets(zone: str, start_utc_s: float, end_utc_s: float, now_utc_s: float) -> list[list[float]]:
    """Return from when on a zone's clocks are how far ahead of UTC, from a day before a span to a day after. [s since 1970 UTC, s]

    What they are now, weeks before the span, goes first: the page may be looked at then.
    """
    first = start_utc_s // CLOCK_EVERY_S * CLOCK_EVERY_S - DAY_S
    known = [[float(at), _offset_s(zone, float(at))] for at in np.arange(first, end_utc_s + DAY_S, CLOCK_EVERY_S)]
    early = [[now_utc_s - DAY_S, _offset_s(zone, now_utc_s)]] if now_utc_s < first else []
    early = [one for one in early if one[1] != known[0][1]]
    return [*early, known[0], *(after for before, after in pairwise(known) if before[1] != after[1])]


def _offset_s(zone: str, utc_s: float) -> float:
    offset = local_time(utc_s, zone).utcoffset()
    return offset.total_seconds() if offset else 0.0
