"""The sun's track and its rises and sets against other libraries, one place, UT1 taken as UTC everywhere."""

import time
from collections.abc import Iterator
from contextlib import contextmanager

import numpy as np
import pandas as pd
import pvlib
import sunwhere
from skyfield import almanac
from skyfield.api import load, load_file, wgs84
from skyfield_data import get_skyfield_data_path

from app.sky.crossings import crossings
from app.sky.ephemeris import DAY_S
from app.sky.events import RISE_SET_DEG
from app.sky.track import Observer
from tests.benchmarks.measure import demand, duration, medians_s, separation_deg

START_S, YEAR_S = 1_767_225_600.0, 365 * DAY_S  # 2026
DELTA_T_S = 69.184
PLACE = Observer(45.0, 10.0, 0.0, 1010.0, delta_t_s=DELTA_T_S)
JPL_INSTANTS = 4000
ALLOWED_DEG, ALLOWED_S = 0.0003, 0.1  # what the track claims, and half the time in which the sun moves so far at 45°


def bench_track() -> list[str]:
    """A year at one minute, azimuth and altitude."""
    index = pd.date_range("2026-01-01", periods=int(YEAR_S / 60), freq="min", tz="UTC")
    naive = index.tz_localize(None)

    def ours() -> tuple[np.ndarray, np.ndarray]:
        sun = PLACE.sun_over(START_S, START_S + YEAR_S, 60.0)
        return sun.airless_deg, sun.azimuth_deg

    def by_pvlib(method: str) -> tuple[np.ndarray, np.ndarray]:
        table = pvlib.solarposition.get_solarposition(index, 45.0, 10.0, 0.0, method=method, delta_t=DELTA_T_S, numthreads=1)
        return table.elevation.to_numpy(), table.azimuth.to_numpy()

    def by_sunwhere(algorithm: str) -> tuple[np.ndarray, np.ndarray]:
        site = sunwhere.sites(naive, 45.0, 10.0, algorithm=algorithm, refraction=False)
        return site.elevation.to_numpy().ravel(), site.azimuth.to_numpy().ravel() + 180.0  # theirs is counted from south

    others = {
        "pvlib SPA, numpy": lambda: by_pvlib("nrel_numpy"),
        "pvlib SPA, numba": lambda: by_pvlib("nrel_numba"),
        "sunwhere psa": lambda: by_sunwhere("psa"),
        "sunwhere nrel": lambda: by_sunwhere("nrel"),
    }
    (own_s,) = medians_s(3, ours)
    lines = [f"sun track, {len(index):,} minutes of a year: {duration(own_s)}"]
    for name, other in others.items():
        apart = separation_deg(*ours(), *other()).max()
        demand(apart < (0.02 if name == "sunwhere psa" else 2 * ALLOWED_DEG), f"{name} is {apart:.5f}° away")
        own_s, other_s = medians_s(2, ours, other)
        lines.append(f"  {name} {duration(other_s)}, ratio {other_s / own_s:.0f}; apart at most {apart:.6f}°")
    return [*lines, *_against_jpl(own_s)]


def bench_rise_and_set() -> list[str]:
    """Rises and sets of twenty years in one call, an event, against searches of one year."""
    found = crossings(PLACE, START_S, START_S + YEAR_S, RISE_SET_DEG)
    many = crossings(PLACE, START_S, START_S + 20 * YEAR_S, RISE_SET_DEG)
    (own_s,) = medians_s(3, lambda: crossings(PLACE, START_S, START_S + 20 * YEAR_S, RISE_SET_DEG))
    own_s /= len(many.utc_s)
    jpl, jpl_s = _rises_and_sets_by_jpl()
    worst = np.abs(jpl - found.utc_s).max()
    demand(worst < ALLOWED_S, f"rises and sets are {worst:.2f} s from skyfield's")
    pv, pv_s = _rises_and_sets_by_pvlib()
    off = np.abs(pv[:, np.newaxis] - found.utc_s).min(axis=1).max()
    return [
        f"rise and set, {len(many.utc_s):,} events in one call: {duration(own_s)} an event",
        f"  skyfield find_risings, find_settings {duration(jpl_s)}, ratio {jpl_s / own_s:.0f}; apart at most {worst:.3f} s",
        f"  pvlib transit_sunrise_sunset {duration(pv_s)}, ratio {pv_s / own_s:.0f}; apart at most {off:.2f} s",
    ]


def _against_jpl(own_s: float) -> list[str]:
    """skyfield on some random instants of 2020..2040, its time scaled to a year of minutes."""
    instants = np.random.default_rng(1).uniform(1_577_836_800, 2_208_988_800, JPL_INSTANTS)
    with _jpl() as (ephemeris, scale):
        place, moments = ephemeris["earth"] + wgs84.latlon(45.0, 10.0), scale.ut1_jd(_julian(instants))
        start = time.perf_counter()
        altitude, azimuth, _ = place.at(moments).observe(ephemeris["sun"]).apparent().altaz()
        scaled_s = (time.perf_counter() - start) / JPL_INSTANTS * YEAR_S / 60
    ours = PLACE.sun_at(instants)
    apart = separation_deg(ours.airless_deg, ours.azimuth_deg, altitude.degrees, azimuth.degrees).max()
    demand(apart < ALLOWED_DEG, f"the track is {apart:.5f}° from DE421")
    told = f"scaled from {JPL_INSTANTS:,} instants of 2020 to 2040, ratio {scaled_s / own_s:.0f}; apart at most {apart:.6f}°"
    return [f"  skyfield DE421 {duration(scaled_s)}, {told}"]


def _rises_and_sets_by_jpl() -> tuple[np.ndarray, float]:
    """Return when they are, and the seconds an event took."""
    with _jpl() as (ephemeris, scale):
        ground = ephemeris["earth"] + wgs84.latlon(45.0, 10.0)
        ends = [scale.ut1_jd(_julian(end)) for end in (START_S, START_S + YEAR_S)]
        start = time.perf_counter()
        finders = almanac.find_risings, almanac.find_settings
        times = [finder(ground, ephemeris["sun"], *ends, horizon_degrees=RISE_SET_DEG)[0].ut1 for finder in finders]
        spent = time.perf_counter() - start
    found = np.sort((np.concatenate(times) - 2_440_587.5) * DAY_S)
    return found, spent / len(found)


def _rises_and_sets_by_pvlib() -> tuple[np.ndarray, float]:
    days = START_S + DAY_S * np.arange(1, 364)
    start = time.perf_counter()
    _, rises, sets = pvlib.spa.transit_sunrise_sunset(days, 45.0, 10.0, DELTA_T_S, 1)
    spent = time.perf_counter() - start
    return np.concatenate([rises, sets]), spent / 2 / len(days)


@contextmanager
def _jpl() -> Iterator[tuple[object, object]]:
    ephemeris = load_file(f"{get_skyfield_data_path()}/de421.bsp")
    yield ephemeris, load.timescale(builtin=True, delta_t=DELTA_T_S)
    ephemeris.close()


def _julian(utc_s: np.ndarray | float) -> np.ndarray | float:
    return utc_s / DAY_S + 2_440_587.5
