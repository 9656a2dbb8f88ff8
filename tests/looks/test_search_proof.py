"""The window search against five-second sampling on skylines full of narrow gaps."""

import numpy as np
import pytest

from app.lens.camera import camera_held
from app.looks.catalogue import LOOKS
from app.looks.look import wanted_look
from app.looks.margin import Scene, fit
from app.looks.window import find_windows
from app.picture.setup import Setup
from app.place.geodesy import direct
from app.place.site import Pin
from app.place.skyline import Skyline
from app.sky.track import Observer

DAYS_S = 3 * 86_400.0


def jagged_scene(seed: int) -> Scene:
    """A setup anywhere, under a skyline of random nodes down to 0.03° apart, a fifth of them notches."""
    chance = np.random.default_rng(seed)
    lat, lon = chance.choice([0, 8, 23, 45, 62, 68, 78, -33]), chance.uniform(-180, 180)
    azimuth = np.sort(chance.uniform(0, 360, chance.integers(20, 360)))
    azimuth = azimuth[np.append(True, np.diff(azimuth) > 0.03)]
    altitude = chance.uniform(0, 8) + chance.normal(0, 2, len(azimuth))
    altitude -= np.where(chance.random(len(azimuth)) < 0.2, chance.uniform(0, 8, len(azimuth)), 0)
    skyline = Skyline(azimuth, np.clip(altitude, -1, 30), ("the ridge",) * len(azimuth))
    couple = direct(lat, lon, chance.uniform(0, 360), chance.uniform(2, 30))
    camera = camera_held(float(chance.choice([24, 50, 85, 200])), "36x24")
    setup = Setup("a", "A", Pin(lat, lon), Pin(*couple, chance.uniform(-2, 2)), camera, chance.uniform(0.3, 2))
    return Scene(Observer(lat, lon), setup, skyline, skyline)


def lasting(margins, scene, samples) -> np.ndarray:
    """Where the look holds, with what lasts under 1.2 s wiped out: the search claims no more than that."""
    holds, before, after = (fit(margins, scene.observer.sun_at(samples.utc_s + shift)) > 0 for shift in (0.0, -1.2, 1.2))
    return np.where(before == after, before, holds)


@pytest.mark.parametrize("seed", range(50))
def test_no_window_is_missed_and_none_made_up(seed):
    """Every change that samples show has its edge within a step, and every edge found is one, to a second."""
    scene = jagged_scene(seed)
    start = 1_700_000_100.0 + seed * 2.3e7
    samples = scene.observer.sun_over(start, start + DAYS_S, 5.0)
    for name in ("backlit", "sun in frame", "hidden sun", "side light", "afterglow", "custom"):
        margins = wanted_look(LOOKS, name).margins(scene)
        holds = lasting(margins, scene, samples)
        changes = samples.utc_s[np.flatnonzero(holds[1:] != holds[:-1])] + 2.5
        windows = find_windows(margins, scene.observer, start, start + DAYS_S)
        edges = np.array([edge for one in windows for edge in (one.opens_utc_s, one.closes_utc_s)])
        for change in changes:
            assert np.abs(edges - change).min() <= 2.6, f"{name} at {change}"
        for one in windows:
            _is_edge(margins, scene, one.opens_utc_s, start, 1)
            _is_edge(margins, scene, one.closes_utc_s, start, -1)


def _is_edge(margins, scene, edge, start, sense):
    if start < edge < start + DAYS_S:
        before, after = fit(margins, scene.observer.sun_at(np.array([edge - 1, edge + 1])))
        assert (before < 0 < after) if sense > 0 else (before > 0 > after)


def test_the_proof_has_something_to_prove():
    counted = 0
    for seed in range(50):
        scene, start = jagged_scene(seed), 1_700_000_100.0 + seed * 2.3e7
        for name in LOOKS:
            counted += len(find_windows(wanted_look(LOOKS, name).margins(scene), scene.observer, start, start + DAYS_S))
    assert counted > 300
