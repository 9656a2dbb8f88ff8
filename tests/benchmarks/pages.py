"""The contact sheet's server time and weight, and how long the program takes to its first answer."""

import json
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path
from statistics import median

ROOT = Path(__file__).parents[2]
SHEET = "/sites/merrowmere-boathouse/setups/setup-end-of-the-jetty/2027-09-18"


def bench_sheet() -> list[str]:
    """One evening's page, computed and rendered, in the process and over the loopback client."""
    from fastapi.testclient import TestClient

    from app.main import create_app
    from app.settings import Settings

    with tempfile.TemporaryDirectory() as folder:
        application = create_app(Settings(Path(folder), Path(folder) / "bench.sqlite"))
        site = json.loads((ROOT / "demo_sites" / "merrowmere-boathouse.geojson").read_text(encoding="utf-8"))
        application.state.store.add_site(site)
        with TestClient(application) as client:
            page, spent = client.get(SHEET), []
            for _ in range(25):
                start = time.perf_counter()
                page = client.get(SHEET)
                spent.append(time.perf_counter() - start)
        application.state.store.close()
    assert page.status_code == 200 and len(page.content) < 150_000, f"{page.status_code}, {len(page.content)} bytes"
    return [f"contact sheet of one evening: {median(spent) * 1e3:.0f} ms (best {min(spent) * 1e3:.0f}), {len(page.content) / 1000:.0f} kB, 13 frames"]


def bench_start() -> list[str]:
    """From the command to the first page answered."""
    with tempfile.TemporaryDirectory() as folder:
        start = time.perf_counter()
        program = subprocess.Popen(
            [sys.executable, "-m", "app.cli", "demo", "--no-browser", "--port", "0", "--data", folder],
            cwd=ROOT, stdout=subprocess.PIPE, text=True,
        )
        try:
            address = next(word for line in program.stdout for word in line.split() if word.startswith("http://"))
            with urllib.request.urlopen(f"{address.rstrip('/')}{SHEET}") as answer:
                assert answer.status == 200
            spent = time.perf_counter() - start
        finally:
            program.terminate()
            program.wait()
            program.stdout.close()
    return [f"start to first answer, demo sites loaded: {spent:.2f} s"]
