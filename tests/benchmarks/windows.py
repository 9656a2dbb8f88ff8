"""Windows of a year: our search against refined one-minute sampling, and a proof over thousands of windows."""

import time

import numpy as np

from app.looks.catalogue import LOOKS
from app.looks.look import wanted_look
from app.looks.margin import Margin, Scene, fit
from app.looks.window import find_windows
from tests.looks.test_search_proof import jagged_scene, lasting

YEAR_START, YEAR_S = 1_767_225_600.0, 365 * 86_400.0


def bench_speed() -> list[str]:
    """A year of the backlit look under 360 jagged nodes, against pvlib and pandas at one minute with refined edges."""
    scene = jagged_scene(3)
    margins = wanted_look(LOOKS, "backlit").margins(scene)
    found = find_windows(margins, scene.observer, YEAR_START, YEAR_START + YEAR_S)
    ours = min(_spent(lambda: find_windows(margins, scene.observer, YEAR_START, YEAR_START + YEAR_S)) for _ in range(9))
    start = time.perf_counter()
    sampled = _sampled(scene, margins)
    brute = time.perf_counter() - start
    return [
        f"windows of a setup-year, backlit: ours {ours * 1e3:.1f} ms, refined one-minute sampling with pandas and pvlib {brute:.2f} s, "
        f"ratio {brute / ours:.0f}; {len(found)} windows found, {sampled} by sampling"
    ]


def bench_proof() -> list[str]:
    """Against five-second sampling over whole months, on random skylines of narrow gaps, every look."""
    missed = made_up = windows = 0
    for seed in range(100, 124):
        scene, start = jagged_scene(seed), YEAR_START + seed * 1.3e6
        samples = scene.observer.sun_over(start, start + 30 * 86_400.0, 5.0)
        for name in LOOKS:
            counts = _compared(wanted_look(LOOKS, name).margins(scene), scene, samples)
            windows, missed, made_up = windows + counts[0], missed + counts[1], made_up + counts[2]
    assert windows > 1000 and missed == made_up == 0, f"{missed} edges missed, {made_up} off by over 1 s"
    return [f"  proof: {windows} windows on jagged skylines, {missed} edges missed against 5 s sampling, {made_up} off by over 1 s"]


def _compared(margins: tuple[Margin, ...], scene: Scene, samples) -> tuple[int, int, int]:
    """Return how many windows there are, how many sampled changes have no edge, how many edges are off."""
    start, end = samples.utc_s[0], samples.utc_s[-1] + 5.0
    holds = lasting(margins, scene, samples)
    changes = samples.utc_s[np.flatnonzero(holds[1:] != holds[:-1])] + 2.5
    found = find_windows(margins, scene.observer, start, end)
    edges = np.array([edge for one in found for edge in (one.opens_utc_s, one.closes_utc_s)])
    inner = edges[(edges > start) & (edges < end)]
    signs = fit(margins, scene.observer.sun_at(inner[:, np.newaxis] + np.array([-1.0, 1.0]))) > 0 if len(inner) else np.empty((0, 2))
    missed = sum(not len(edges) or np.abs(edges - change).min() > 2.6 for change in changes)
    return len(found), missed, int(np.count_nonzero(signs[:, 0] == signs[:, 1]))


def _sampled(scene: Scene, margins: tuple[Margin, ...]) -> int:
    """Count windows the usual way: pvlib's numpy SPA each minute in a data frame, edges then refined with it."""
    import pandas as pd
    import pvlib

    index = pd.date_range("2026-01-01", periods=int(YEAR_S / 60), freq="min", tz="UTC")
    place = scene.observer
    table = pvlib.solarposition.get_solarposition(index, place.lat_deg, place.lon_deg, method="nrel_numpy")
    track = type(place.sun_at(np.zeros(1)))(place, index.as_unit("s").astype("int64").to_numpy().astype(float), table.azimuth.to_numpy(), table.elevation.to_numpy())
    holds = fit(margins, track) > 0
    edges = np.flatnonzero(holds[1:] != holds[:-1])
    low, high = track.utc_s[edges], track.utc_s[edges + 1]
    for _ in range(6):
        middle = (low + high) / 2
        at = pvlib.solarposition.get_solarposition(pd.to_datetime(middle, unit="s", utc=True), place.lat_deg, place.lon_deg, method="nrel_numpy")
        same = (fit(margins, type(track)(place, middle, at.azimuth.to_numpy(), at.elevation.to_numpy())) > 0) == holds[edges]
        low, high = np.where(same, middle, low), np.where(same, high, middle)
    return len(edges) // 2


def _spent(work) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start
