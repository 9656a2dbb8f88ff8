"""Windows of a year: against sampling every minute, and a proof against sampling every five seconds."""

from collections.abc import Iterator

import numpy as np
import pandas as pd
import pvlib

from app.looks.catalogue import LOOKS
from app.looks.margin import Margin, Scene, fit
from app.looks.window import find_windows, open_spans
from app.sky.ephemeris import DAY_S
from app.sky.track import Observer, SunTrack
from app.units import FloatArray
from tests.benchmarks.measure import demand, duration, medians_s
from tests.looks.sampled import Disagreement, compare, sampled_spans
from tests.looks.scenes import jagged_skyline, random_scene, setup_at

START_S, YEAR_S = 1_767_225_600.0, 365 * DAY_S  # 2026
MINUTE_S = 60.0
LATITUDES = (0.0, 8.0, 23.4, 45.0, 62.0, 68.0, -33.0, 78.0)
LONG_LOOKS, SHORT_LOOKS = ("backlit", "side light", "afterglow", "custom"), ("sun in frame", "hidden sun")
MONTH_DAYS = 73  # a fifth of the year; memory for five-second samples ends somewhere beyond
EDGE_S = 0.4  # the search's quarter of a second, and the sampling's own


def bench_year() -> list[str]:
    """A year of one look under a skyline with narrow gaps, at 45° N."""
    skyline, place = jagged_skyline(np.random.default_rng(45), roofs=0), Observer(45.0, 10.0)
    scene = Scene(place, setup_at(45.0, 10.0, 268.0, 8.0), skyline, skyline)
    margins, span = LOOKS["backlit"].margins(scene, **LOOKS["backlit"].bounds), (START_S, START_S + YEAR_S)

    def whole() -> FloatArray:
        return np.array([[one.opens_utc_s, one.closes_utc_s] for one in find_windows(margins, place, *span)])

    works = {
        "the search": lambda: open_spans(margins, place, *span),
        "the search, reasons and best moments too": whole,
        "our track sampled each minute, edges refined": lambda: sampled_spans(margins, place, *span, MINUTE_S),
        "pandas and pvlib numpy sampled each minute, edges refined": lambda: spans_by_pvlib(margins, place),
    }
    spent_s = medians_s(3, *works.values())
    truth = sampled_spans(margins, place, *span)
    rows = [
        f"  {name}: {duration(seconds)}, {seconds / spent_s[0]:.3g} times as long; {told(compare(margins, place, truth, work()))}"
        for (name, work), seconds in zip(works.items(), spent_s, strict=True)
    ]
    nodes = len(skyline.azimuth_deg)
    return [f"windows of a year, backlit, 45° N, skyline of {nodes} nodes; {len(truth)} by five-second sampling", *rows]


def bench_proof() -> list[str]:
    """Every look on random scenes: whole years, and shorter for the looks that are slow to sample."""
    found, by_minute = Disagreement(0, 0, 0, 0.0), Disagreement(0, 0, 0, 0.0)
    for observer, margins, start, end in _cases():
        truth = sampled_spans(margins, observer, start, end)
        found = added(found, compare(margins, observer, truth, open_spans(margins, observer, start, end)))
        by_minute = added(by_minute, compare(margins, observer, truth, sampled_spans(margins, observer, start, end, MINUTE_S)))
    demand(found.windows > 1000 and found.missed == found.made_up == 0, f"the search: {told(found)}")
    demand(found.worst_edge_s < EDGE_S, f"an edge is {found.worst_edge_s:.2f} s off")
    return [
        f"proof against five-second sampling, {found.windows:,} windows on random scenes at {len(LATITUDES)} latitudes",
        f"  the search: {told(found)}",
        f"  one-minute sampling, edges refined: {told(by_minute)}",
    ]


def spans_by_pvlib(margins: tuple[Margin, ...], place: Observer) -> FloatArray:
    """Return the year's spans the usual way: positions each minute in a data frame, edges halved six times with it."""
    minutes = START_S + MINUTE_S * np.arange(int(YEAR_S / MINUTE_S) + 1)
    sun = track_by_pvlib(place, minutes)
    holds = fit(margins, sun) > 0
    steps = np.flatnonzero(holds[1:] != holds[:-1])
    low, high = sun.utc_s[steps], sun.utc_s[steps + 1]
    for _ in range(6):
        middle = (low + high) / 2
        same = (fit(margins, track_by_pvlib(place, middle)) > 0) == holds[steps]
        low, high = np.where(same, middle, low), np.where(same, high, middle)
    edges = np.concatenate([np.repeat(START_S, holds[0]), (low + high) / 2, np.repeat(START_S + YEAR_S, holds[-1])])
    return edges.reshape(-1, 2)


def track_by_pvlib(place: Observer, utc_s: FloatArray) -> SunTrack:
    index = pd.to_datetime(utc_s, unit="s", utc=True)
    table = pvlib.solarposition.get_solarposition(index, place.lat_deg, place.lon_deg, place.height_m, method="nrel_numpy", delta_t=69.2)
    return SunTrack(place, utc_s, table.azimuth.to_numpy(), table.elevation.to_numpy())


def told(found: Disagreement) -> str:
    return f"{found.missed} missed, {found.made_up} made up, edges within {found.worst_edge_s:.2f} s"


def added(one: Disagreement, other: Disagreement) -> Disagreement:
    return Disagreement(
        one.windows + other.windows,
        one.missed + other.missed,
        one.made_up + other.made_up,
        max(one.worst_edge_s, other.worst_edge_s),
    )


def _cases() -> Iterator[tuple[Observer, tuple[Margin, ...], float, float]]:
    for number, latitude in enumerate(LATITUDES):
        scene = random_scene(np.random.default_rng(number), latitude, START_S)
        for name in (*LONG_LOOKS, *SHORT_LOOKS):
            margins = LOOKS[name].margins(scene, **LOOKS[name].bounds)
            for part in range(5 if name in LONG_LOOKS else 1):
                start = START_S + part * MONTH_DAYS * DAY_S
                yield scene.observer, margins, start, start + MONTH_DAYS * DAY_S
