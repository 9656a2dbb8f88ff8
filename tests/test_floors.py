"""A room imports only from the floors under it, and the core uses only what is listed here."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

APP = Path(__file__).parent.parent / "app"
CORE = [{"units", "errors"}, {"sky", "place", "lens"}, {"picture", "light"}, {"looks"}, {"shoot"}]
FLOORS = [*CORE, {"storage", "outside"}, {"sharing"}, {"web"}, {"settings"}, {"main"}, {"cli", "__main__", "__init__"}]
LEVEL = {room: level for level, rooms in enumerate(FLOORS) for room in rooms}

# Grows on purpose only. json, re, unicodedata and urllib.parse read texts; importlib and pkgutil
# find the looks and load one module of pvlib; tzfpy and zoneinfo read tables of time zones.
# zlib packs terrain.
CORE_MAY_USE = {
    "bisect", "collections", "contextlib", "copy", "dataclasses", "datetime", "enum", "functools", "importlib", "itertools",
    "json", "math", "pathlib", "pkgutil", "re", "types", "typing", "unicodedata", "urllib", "zlib", "zoneinfo",
    "astral", "geographiclib", "numpy", "pvlib", "pygeomag", "scipy", "shapely", "tzfpy",
}  # fmt: skip
CLOCKS_AND_CHANCE = {"now", "today", "utcnow", "time", "monotonic", "random", "default_rng", "urlopen", "open"}


def imported(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        if isinstance(node, ast.ImportFrom):
            yield from (f"{'.' * node.level}{node.module}.{alias.name}" for alias in node.names)


def room_of(path: Path) -> str:
    first = path.relative_to(APP).parts[0].removesuffix(".py")
    return "cli" if first.startswith("cli_") else first


@pytest.mark.parametrize("path", sorted(APP.rglob("*.py")), ids=lambda path: str(path.relative_to(APP)))
def test_a_room_imports_only_from_the_floors_under_it(path):
    room = room_of(path)
    for name in imported(ast.parse(path.read_text(encoding="utf-8"))):
        package, other = f"{name}.".split(".")[:2]
        assert package, f"write the whole path, from app.…, not {name}"
        if package == "app":
            other = "cli" if other.startswith("cli_") else other
            assert other == room or LEVEL[other] < LEVEL[room], f"{room} imports {name}"
        elif LEVEL[room] < len(CORE):
            assert package in CORE_MAY_USE, f"{room} imports {name}"


@pytest.mark.parametrize(
    "path",
    sorted(path for path in APP.rglob("*.py") if LEVEL[room_of(path)] < len(CORE)),
    ids=lambda path: str(path.relative_to(APP)),
)
def test_the_core_has_no_clock_disk_network_or_chance(path):
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call):
            name = getattr(node.func, "attr", getattr(node.func, "id", ""))
            owner = getattr(getattr(node.func, "value", None), "id", "")
            clean = name not in CLOCKS_AND_CHANCE or owner in {"self", "np"} or name == "time" and not owner
            assert clean, f"{path.name}:{node.lineno} calls {name}"


def test_every_room_has_its_floor():
    rooms = {room_of(path) for path in APP.rglob("*.py")}
    assert rooms <= set(LEVEL)
