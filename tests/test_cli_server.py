"""The server's start: its port, its address, its end, and the demo sites once."""

import json
import os
import re
import signal
import socket
import subprocess
import sys
import threading
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from app import cli_server
from app.cli import main
from app.errors import Unavailable
from app.storage.store import Store

ROOT = Path(__file__).parent.parent
ADDRESS = re.compile(r"Westering is at (http://127\.0\.0\.1:(\d+)/) \(stop it with Ctrl-C\)\n")
LONGEST_WAIT_S = 30  # for a start on a busy machine


@contextmanager
def started(*arguments: str, **environment: str) -> Iterator[tuple[subprocess.Popen[str], list[str]]]:
    """Give a started server and the lines of its start, the last of them the address."""
    whole = [sys.executable, "-m", "app.cli", *arguments]
    variables = {name: value for name, value in os.environ.items() if name not in ("DISPLAY", "WAYLAND_DISPLAY")}
    server = subprocess.Popen(
        whole, cwd=ROOT, env=variables | environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, encoding="utf-8"
    )
    too_long = threading.Timer(LONGEST_WAIT_S, server.kill)
    too_long.start()
    try:
        yield server, list(_lines_of_start(server))
    finally:
        too_long.cancel()
        server.kill()
        server.communicate()


def _lines_of_start(server: subprocess.Popen[str]) -> Iterator[str]:
    for line in server.stdout:
        yield line
        if ADDRESS.fullmatch(line):
            return


def sites_at(address: str) -> list[str]:
    with urllib.request.urlopen(f"{address}api/sites", timeout=LONGEST_WAIT_S) as answer:
        return [site["site"] for site in json.load(answer)["sites"]]


def test_demo_on_a_taken_port_and_a_second_start(tmp_path, capsys):
    """It says which port it took, answers once it has said so, ends quietly, and loads the demo sites once."""
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        with started("demo", "--port", str(port), "--data", str(tmp_path)) as (server, lines):
            address, own_port = ADDRESS.fullmatch(lines[-1]).groups()
            assert lines[:-1] == [f"Port {port} is taken; port {own_port} is free.\n"] and own_port != str(port)
            assert len(sites_at(address)) == 4
            server.send_signal(signal.SIGINT)
            assert server.communicate(timeout=LONGEST_WAIT_S) == ("", "") and server.returncode == 0
    with Store(tmp_path / "westering.sqlite") as store:
        store.delete_site("sandpiper-bay", 1)
    with started("demo", "--port", "0", "--no-browser", WESTERING_DATA=str(tmp_path)) as (server, lines):
        assert len(lines) == 1
        assert sites_at(ADDRESS.fullmatch(lines[0])[1]) == ["merrowmere-boathouse", "quinta-da-alvorinha", "ternevag-quay"]
        copy, here = str(tmp_path / "copy"), ["--data", str(tmp_path)]
        assert main(["backup", copy, *here]) == 0
        assert main(["restore", copy, *here]) == 2
        assert re.fullmatch(r"westering: Westering is running on [^\n]+\n", capsys.readouterr().err)


def test_serve_loads_no_demo_sites(monkeypatch, tmp_path):
    loaded = []
    monkeypatch.setattr(cli_server, "load_demo_sites", loaded.append)
    monkeypatch.setattr(cli_server._Announcing, "run", lambda *_: None)
    assert main(["serve", "--port", "0", "--data", str(tmp_path)]) == 0 and loaded == []
    assert main(["demo", "--port", "0", "--data", str(tmp_path)]) == 0 and len(loaded) == 1


def test_demo_sites_are_loaded_once(tmp_path):
    with Store(tmp_path / "westering.sqlite") as store:
        for _ in range(2):
            cli_server.load_demo_sites(store)
            assert len(store.sites()) == 4


def test_a_folder_that_cannot_be_written_is_refused(capsys, tmp_path):
    (tmp_path / "file").touch()
    assert main(["serve", "--port", "0", "--data", str(tmp_path / "file")]) == 2
    assert re.fullmatch(r"westering: No database can be kept at [^\n]+\n", capsys.readouterr().err)


def test_without_a_free_port_it_says_so(monkeypatch):
    monkeypatch.setattr(cli_server, "_taken_or", lambda *_: None)
    with pytest.raises(Unavailable, match="Port 8421 is taken and so are those after it"):
        cli_server._listening("127.0.0.1", 8421)


@pytest.mark.parametrize(("platform", "environment", "seen"), [
    ("linux", {}, False), ("linux", {"DISPLAY": ":0"}, True), ("linux", {"WAYLAND_DISPLAY": "wayland-0"}, True),
    ("linux", {"DISPLAY": ""}, False), ("darwin", {}, True), ("win32", {}, True),
])  # fmt: skip
def test_a_browser_is_opened_only_where_there_is_a_screen(platform, environment, seen):
    assert cli_server.has_screen(platform, environment) == seen
