"""A real Westering on a free port of this machine, fresh for each test, with a clock that stands."""

import json
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import pytest
import uvicorn
from fastapi import FastAPI

from app.main import create_app
from app.settings import Settings
from app.web.now import now_utc_s

DEMO = Path(__file__).parents[2] / "demo_sites"
NOW = datetime.fromisoformat("2027-09-18T12:00:00+01:00").timestamp()


@dataclass(frozen=True)
class Served:
    """A Westering that answers: its address and its application."""

    address: str
    app: FastAPI


@pytest.fixture
def served(tmp_path) -> Iterator[Served]:
    """A fresh Westering with the four demo sites; it is noon on 18 September 2027."""
    app = create_app(Settings(tmp_path, tmp_path / "westering.sqlite"))
    app.dependency_overrides[now_utc_s] = lambda: NOW
    files = sorted(DEMO.glob("*.geojson"))
    app.state.store.load_once("demo", [json.loads(file.read_text(encoding="utf-8")) for file in files])
    server = uvicorn.Server(uvicorn.Config(app, host="127.0.0.1", port=0, log_level="warning", ws="none"))
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        assert thread.is_alive(), "the server did not start"
        time.sleep(0.01)
    port = server.servers[0].sockets[0].getsockname()[1]
    yield Served(f"http://127.0.0.1:{port}", app)
    server.should_exit = True
    thread.join()
    app.state.store.close()
