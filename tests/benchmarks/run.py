"""Speed side by side in one run, as ratios, each with the agreement beside it.

Run by ``python3 -m app bench``. It exits with 1 only where results are wrong; slowness never
fails. Times are medians of repeats that take turns, on the machine at hand.
"""

import os
import platform
import sys
import time
import warnings
from importlib.metadata import version
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))
import app  # noqa: F401, I001  (sets the one-thread rule before numpy is loaded)

from tests.benchmarks import light, pages, place, shoot, skyline, stand, sun, windows
from tests.benchmarks.measure import WrongResult

LIBRARIES = ("numpy", "pandas", "pvlib", "numba", "sunwhere", "skyfield")

# A measurement is a function that returns the lines to print. New ones go here.
BENCHES = (
    sun.bench_track,
    sun.bench_rise_and_set,
    windows.bench_year,
    windows.bench_proof,
    skyline.bench_footprints,
    skyline.bench_terrain,
    place.bench_low_sun_map,
    stand.bench_where_to_stand,
    shoot.bench_running_order,
    light.bench_lighting,
    light.bench_margins,
    pages.bench_sheet,
    pages.bench_start,
)


def main() -> int:
    """Print every measurement; 1 when one of them found wrong results."""
    warnings.simplefilter("ignore")
    print(f"Python {platform.python_version()}, {', '.join(f'{name} {version(name)}' for name in LIBRARIES)}")
    print(f"{os.cpu_count()} processors, {platform.machine()}; UT1 = UTC and TT - UT1 = 69.184 s throughout", flush=True)
    start, wrong = time.perf_counter(), 0
    for bench in BENCHES:
        try:
            print("\n".join(bench()), flush=True)
        except (AssertionError, WrongResult) as error:
            wrong += 1
            print(f"WRONG in {bench.__name__}: {error}", flush=True)
    print(f"{time.perf_counter() - start:.0f} s in all")
    return 1 if wrong else 0


if __name__ == "__main__":
    raise SystemExit(main())
