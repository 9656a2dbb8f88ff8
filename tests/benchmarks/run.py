"""Speed side by side in one run, as ratios, each with the agreement beside it.

Run by ``python3 -m app bench``. It exits with 1 only where results are wrong; slowness never
fails. Times are medians of interleaved repeats on the machine at hand.
"""

import sys
import time
import warnings
from collections.abc import Callable
from importlib.metadata import version
from pathlib import Path
from statistics import median

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))
import app  # noqa: E402, F401, I001  (sets the one-thread rule before numpy is loaded)
import numpy as np  # noqa: E402

from app.sky.track import Observer  # noqa: E402
from tests.benchmarks import pages, windows  # noqa: E402

warnings.simplefilter("ignore")
YEAR_START = 1_767_225_600.0  # 2026-01-01T00:00:00Z
YEAR_S = 365 * 86_400.0
PLACE = Observer(45.0, 10.0, 0.0, 1010.0, delta_t_s=69.184)


def timed(repeats: int, **works: Callable[[], object]) -> dict[str, float]:
    """Return each work's median seconds, the works taking turns."""
    spent: dict[str, list[float]] = {name: [] for name in works}
    for _ in range(repeats):
        for name, work in works.items():
            start = time.perf_counter()
            work()
            spent[name].append(time.perf_counter() - start)
    return {name: median(times) for name, times in spent.items()}


def separation_deg(altitude, azimuth, other_altitude, other_azimuth) -> np.ndarray:
    """Return the distance on the sky between two directions."""
    a, b = np.radians(altitude), np.radians(other_altitude)
    turn = np.radians(np.asarray(azimuth) - other_azimuth)
    chord = 2 * np.sqrt(np.sin((a - b) / 2) ** 2 + np.cos(a) * np.cos(b) * np.sin(turn / 2) ** 2)
    return np.degrees(chord)


def bench_sun_track() -> list[str]:
    """A year at one minute, altitude and azimuth."""
    import pandas as pd
    import pvlib

    instants = YEAR_START + 60.0 * np.arange(int(YEAR_S / 60))
    index = pd.to_datetime(instants, unit="s", utc=True)
    ours = PLACE.sun_over(YEAR_START, YEAR_START + YEAR_S, 60.0)
    theirs = pvlib.solarposition.get_solarposition(index, 45.0, 10.0, method="nrel_numpy", delta_t=69.184)
    apart = separation_deg(ours.airless_deg, ours.azimuth_deg, theirs.elevation.to_numpy(), theirs.azimuth.to_numpy())
    spent = timed(3, ours=lambda: PLACE.sun_over(YEAR_START, YEAR_START + YEAR_S, 60.0),
                  numpy=lambda: pvlib.solarposition.get_solarposition(index, 45.0, 10.0, method="nrel_numpy", delta_t=69.184))
    best = min(timed(1, ours=lambda: PLACE.sun_over(YEAR_START, YEAR_START + YEAR_S, 60.0))["ours"] for _ in range(15))
    lines = [
        f"sun track, a year at 1 min: ours {spent['ours'] * 1e3:.1f} ms (best {best * 1e3:.1f}), pvlib numpy {spent['numpy'] * 1e3:.0f} ms, "
        f"ratio {spent['numpy'] / spent['ours']:.0f}; apart at most {apart.max():.6f}°"
    ]
    assert apart.max() < 0.0003, "the track leaves pvlib's SPA"
    return lines + _numba_and_sunwhere(index, spent["ours"]) + _against_jpl()


def _numba_and_sunwhere(index, ours_s: float) -> list[str]:
    import pvlib
    import sunwhere

    naive = index.tz_localize(None)
    works = {
        "pvlib numba": lambda: pvlib.solarposition.get_solarposition(index, 45.0, 10.0, method="nrel_numba", numthreads=1),
        "sunwhere psa": lambda: sunwhere.sites(naive, 45.0, 10.0, algorithm="psa").elevation,
        "sunwhere nrel": lambda: sunwhere.sites(naive, 45.0, 10.0, algorithm="nrel").elevation,
    }
    for work in works.values():
        work()  # compiles
    spent = timed(2, **works)
    return [f"  {name} {seconds * 1e3:.0f} ms, ratio {seconds / ours_s:.0f}" for name, seconds in spent.items()]


def _against_jpl() -> list[str]:
    """skyfield on 4,000 random instants of 2020..2040, its time scaled to a year of minutes."""
    from datetime import UTC, datetime

    from skyfield.api import load, load_file, wgs84
    from skyfield_data import get_skyfield_data_path

    chance = np.random.default_rng(1)
    instants = chance.uniform(1_577_836_800, 2_208_988_800, 4000)
    ephemeris, scale = load_file(f"{get_skyfield_data_path()}/de421.bsp"), load.timescale(builtin=True, delta_t=69.184)
    place = ephemeris["earth"] + wgs84.latlon(45.0, 10.0)
    moments = scale.ut1_jd(instants / 86_400 + 2_440_587.5)
    start = time.perf_counter()
    altitude, azimuth, _ = place.at(moments).observe(ephemeris["sun"]).apparent().altaz()
    scaled_s = (time.perf_counter() - start) / 4000 * YEAR_S / 60
    ours = PLACE.sun_at(instants)
    apart = separation_deg(ours.airless_deg, ours.azimuth_deg, altitude.degrees, azimuth.degrees)
    ephemeris.close()
    assert apart.max() < 0.0003, "the track leaves DE421"
    assert datetime.fromtimestamp(instants[0], UTC)
    return [f"  skyfield DE421 {scaled_s:.0f} s scaled from 4,000 instants; apart at most {apart.max():.6f}°, UT1 = UTC in both"]


def bench_rise_and_set() -> list[str]:
    """Twenty years of rises and sets in one call, per event, against skyfield's own search over one year."""
    from skyfield import almanac
    from skyfield.api import load, load_file, wgs84
    from skyfield_data import get_skyfield_data_path

    from app.sky.crossings import crossings
    from app.sky.events import RISE_SET_DEG

    found = crossings(PLACE, YEAR_START, YEAR_START + YEAR_S, RISE_SET_DEG)
    many = crossings(PLACE, YEAR_START, YEAR_START + 20 * YEAR_S, RISE_SET_DEG)
    best = min(timed(1, ours=lambda: crossings(PLACE, YEAR_START, YEAR_START + 20 * YEAR_S, RISE_SET_DEG))["ours"] for _ in range(7))
    ephemeris, scale = load_file(f"{get_skyfield_data_path()}/de421.bsp"), load.timescale(builtin=True, delta_t=69.184)
    ends = [scale.ut1_jd(t / 86_400 + 2_440_587.5) for t in (YEAR_START, YEAR_START + YEAR_S)]
    ground, start = ephemeris["earth"] + wgs84.latlon(45.0, 10.0), time.perf_counter()
    theirs = np.sort(np.concatenate([
        (finder(ground, ephemeris["sun"], *ends, horizon_degrees=RISE_SET_DEG)[0].ut1 - 2_440_587.5) * 86_400
        for finder in (almanac.find_risings, almanac.find_settings)
    ]))
    their_s = (time.perf_counter() - start) / len(theirs)
    ephemeris.close()
    worst = np.abs(theirs - found.utc_s).max()
    assert worst < 0.5, "rises and sets leave skyfield's"
    ours_s = best / len(many.utc_s)
    return [f"rise and set: ours {ours_s * 1e6:.2f} µs an event, skyfield {their_s * 1e6:.0f} µs, ratio {their_s / ours_s:.0f}; apart at most {worst:.2f} s"]


BENCHES = (bench_sun_track, bench_rise_and_set, windows.bench_speed, windows.bench_proof, pages.bench_sheet, pages.bench_start)


def main() -> int:
    """Print every measurement; 1 when one of them found wrong results."""
    print(", ".join(f"{name} {version(name)}" for name in ("numpy", "pvlib", "numba", "sunwhere", "skyfield")), flush=True)
    wrong = 0
    for bench in BENCHES:
        try:
            print("\n".join(bench()), flush=True)
        except AssertionError as error:
            wrong += 1
            print(f"WRONG in {bench.__name__}: {error}", flush=True)
    return 1 if wrong else 0


if __name__ == "__main__":
    raise SystemExit(main())
