"""A whole Westering with its demo sites, in a folder of its own, and a clock that stands."""

import json
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from app.main import create_app
from app.settings import Settings
from app.web.now import now_utc_s

DEMO = Path(__file__).parents[2] / "demo_sites"
NOW = datetime.fromisoformat("2027-09-18T12:00:00+01:00").timestamp()


@pytest.fixture
def client(tmp_path) -> Iterator[TestClient]:
    """A client on a fresh database with the four demo sites; it is noon on 18 September 2027."""
    app = create_app(Settings(tmp_path, tmp_path / "westering.sqlite"))
    app.dependency_overrides[now_utc_s] = lambda: NOW
    app.state.store.load_once("demo_sites", [json.loads(file.read_text(encoding="utf-8")) for file in sorted(DEMO.glob("*.geojson"))])
    with TestClient(app) as client:
        yield client
    app.state.store.close()
