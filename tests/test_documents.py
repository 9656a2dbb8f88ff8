"""What the two guides show is true: commands run, files and settings they name exist."""

import ast
import re
import shlex
from pathlib import Path

import pytest

from app.cli import main
from app.web.routes import all_routers

ROOT = Path(__file__).parent.parent
README, GUIDE = ((ROOT / name).read_text(encoding="utf-8") for name in ("README.md", "DEVELOPERS.md"))
SHOWN = re.findall(r"^\$ westering (.*)$", README, re.MULTILINE)


@pytest.mark.parametrize("shown", SHOWN)
def test_every_command_the_readme_shows_runs(shown, capsys, monkeypatch):
    monkeypatch.chdir(ROOT)
    assert main(shlex.split(shown)) == 0
    printed = capsys.readouterr()
    assert printed.out.strip() and not printed.err


def test_the_readme_shows_commands():
    assert len(SHOWN) >= 5


def test_the_readme_begins_with_the_job():
    first = README.split("\n\n")[1]
    assert first.startswith("Westering is for photographers") and "contact sheet" in first.replace("\n", " ")


@pytest.mark.parametrize("command", ["python3 -m app demo", "python3 -m app test"])
def test_the_two_commands_stand_in_the_readme(command):
    assert command in README


def test_each_setting_has_its_line():
    """Every environment variable the program reads is named in the README or the guide."""
    read = set(re.findall(r"WESTERING_[A-Z]+(?:_[A-Z]+)*", "".join(path.read_text() for path in (ROOT / "app").rglob("*.py"))))
    assert read and all(name in README + GUIDE for name in read)


def paths_of(router):
    for route in router.routes:
        yield from (route.path,) if hasattr(route, "path") else paths_of(route.original_router)


def test_each_route_has_its_line():
    """Its address in backticks, or the address before a “+” with what follows it behind."""
    told = set()
    for part in re.split(r"\n\n|\n\* |;", GUIDE):
        names = re.findall(r"`(/?[\w{}./:-]+)`", part)
        told |= {*names, *(base + more for base in names for more in names), *(f"{base}/{more}" for base in names for more in names)}
    paths = {path.replace(":path", "") for router in all_routers() for path in paths_of(router)}
    assert len(paths) > 80 and sorted(path for path in paths if path not in told) == []


def test_every_room_has_its_line_in_the_guide():
    rooms = {path.name.removesuffix(".py") for path in (ROOT / "app").iterdir() if not path.name.startswith("__pycache__")}
    missing = [room for room in rooms if f"`{room}`" not in GUIDE and not room.startswith(("cli_", "__init__"))]
    assert missing == []


def test_files_the_guides_name_exist():
    for name in re.findall(r"`((?:app|tests|static|templates|demo_sites)/[\w./-]+)`", README + GUIDE):
        assert (ROOT / name).exists(), name


def test_the_look_the_guide_shows_is_a_look():
    """The example under “To add a look”, run as a file of the catalogue would be, opens windows."""
    from datetime import date

    from app.looks.look import WantedLook
    from app.looks.search import windows_through
    from app.place.sitefile import parse_site
    from app.web.scenes import find_setup, scene_of
    from app.web.shelf import KeptSite

    code = re.search(r"```python\n(.*?)```", GUIDE, re.DOTALL).group(1)
    namespace: dict = {}
    exec(compile(ast.parse(code), "DEVELOPERS.md", "exec"), namespace)
    look = namespace["LOOK"]
    site = parse_site((ROOT / "demo_sites" / "merrowmere-boathouse.geojson").read_bytes())
    scene = scene_of(site, find_setup(site, "End of the jetty"))
    days = windows_through(WantedLook(look, look.bounds), scene, date(2027, 9, 1), date(2027, 9, 30), KeptSite("m", 1, site).civil_day)
    assert look.name == "rim" and any(one.windows for one in days)


def test_top_level_stays_as_the_guide_says():
    allowed = {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "requirements.lock", "app", "templates", "static", "tests", "demo_sites"}
    there = {path.name for path in ROOT.iterdir() if not path.name.startswith(".") and path.suffix != ".egg-info"}
    assert there <= allowed
