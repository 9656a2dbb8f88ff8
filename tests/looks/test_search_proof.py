"""The window search against plain sampling under skylines full of narrow gaps, spikes and roofs."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.looks.catalogue import LOOKS
from app.looks.look import Look
from app.looks.margin import Margin, fit
from app.looks.window import find_windows, open_spans
from app.sky.ephemeris import DAY_S
from app.sky.track import Observer
from tests.looks.sampled import compare, sampled_spans
from tests.looks.scenes import random_scene

LATITUDES = (0.0, 8.0, 23.4, 45.0, 62.0, 68.0, -33.0, 78.0)
EDGE_S = 0.4  # the search's 0.25 s, and the halving's
OVER_WATER = {"mirror", "double", "glitter"}  # there is none here; tests/looks/test_water_looks.py proves these


def usual_or_other_bounds(look: Look, chance: np.random.Generator) -> dict[str, Any]:
    """Return a look's own bounds, or, as often, any that a setup could ask for."""
    low, turn = chance.uniform(-20, 80), chance.uniform(-180, 160)
    other = {
        "highest_deg": chance.uniform(3, 120),
        "tolerance_deg": chance.uniform(1, 170),
        "offset_deg": (turn, turn + chance.uniform(0.2, 180 - turn)),
        "altitude_deg": (low, low + chance.uniform(0.2, 100)),
    }
    return {**look.bounds, **({key: other[key] for key in other if key in look.bounds} if chance.random() < 0.5 else {})}


def random_case(seed: int, lat_deg: float | None = None) -> tuple[Observer, dict[str, tuple[Margin, ...]], float]:
    """Return a place, the margins of every look there, and an instant to start from."""
    chance = np.random.default_rng(seed)
    start = chance.uniform(1.6e9, 2.2e9)
    scene = random_scene(chance, LATITUDES[seed % len(LATITUDES)] if lat_deg is None else lat_deg, start)
    looks = {name: look.margins(scene, **usual_or_other_bounds(look, chance)) for name, look in LOOKS.items()}
    return scene.observer, looks, start


def assert_agrees(observer: Observer, margins: tuple[Margin, ...], start: float, days: float, step_s: float) -> int:
    """Compare search and samples; return the number of windows."""
    end = start + days * DAY_S
    sampled = sampled_spans(margins, observer, start, end, step_s)
    found = compare(margins, observer, sampled, open_spans(margins, observer, start, end), step_s)
    assert (found.missed, found.made_up) == (0, 0)
    assert found.worst_edge_s < EDGE_S
    return found.windows


@pytest.mark.parametrize("seed", range(32))
def test_no_window_of_five_seconds_is_missed_and_none_made_up(seed):
    observer, looks, start = random_case(seed)
    for margins in looks.values():
        assert_agrees(observer, margins, start, days=3, step_s=5.0)


@pytest.mark.parametrize("seed", range(100, 108))
def test_no_window_of_a_second_and_a_fifth_is_missed(seed):
    """The finest parts of the search are 1.15 s long."""
    observer, looks, start = random_case(seed)
    for margins in looks.values():
        assert_agrees(observer, margins, start, days=0.5, step_s=1.2)


@settings(max_examples=15)
@given(st.integers(1000, 2**32), st.floats(-89.5, 89.5), st.sampled_from(list(LOOKS)))
def test_it_holds_anywhere(seed, lat, name):
    observer, looks, start = random_case(seed, lat)
    assert_agrees(observer, looks[name], start, days=1, step_s=5.0)


def test_the_proof_has_something_to_prove():
    cases = [(random_case(seed), 3) for seed in range(32)]
    counts = {name: 0 for name in LOOKS if name not in OVER_WATER}
    for (observer, looks, start), days in cases:
        for name in counts:
            counts[name] += len(open_spans(looks[name], observer, start, start + days * DAY_S))
    assert min(counts.values()) >= 10
    assert sum(counts.values()) > 500


def test_a_long_span_gives_the_same_windows_as_its_days():
    observer, looks, start = random_case(3)
    for margins in looks.values():
        whole = find_windows(margins, observer, start, start + 12 * DAY_S)
        daily = [one for n in range(12) for one in find_windows(margins, observer, start + n * DAY_S, start + (n + 1) * DAY_S)]
        edges = [np.array([[one.opens_utc_s, one.closes_utc_s] for one in found]).ravel() for found in (whole, daily)]
        cuts = start + np.arange(1, 12) * DAY_S
        assert not len(edges[1]) or np.abs(edges[0] - edges[1][~np.isin(edges[1], cuts)]).max() < EDGE_S


@pytest.mark.parametrize("seed", range(32))
def test_no_moment_of_a_window_is_better_than_its_best(seed):
    """Against samples a second apart; within five seconds a low sun climbs by a twenty-fifth of its width."""
    observer, looks, start = random_case(seed)
    for margins in looks.values():
        for window in find_windows(margins, observer, start, start + 3 * DAY_S):
            assert window.opens_utc_s <= window.best_utc_s <= window.closes_utc_s
            assert fit(margins, observer.sun_at(window.best_utc_s)) == pytest.approx(window.best_fit, abs=1e-6)
            seconds = np.linspace(window.opens_utc_s, window.closes_utc_s, 20 + int(60 * window.minutes))
            assert fit(margins, observer.sun_at(seconds)).max() <= window.best_fit + 0.04
