import ast
import re
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from app import __main__ as start

ROOT = Path(__file__).parent.parent
LOCKS = [start.RUN, start.TEST, start.BENCH]


class Installs:
    """Stands in for the real commands: keeps what was asked and makes what they would make."""

    def __init__(self) -> None:
        self.asked: list[tuple[str, ...]] = []
        self.fails_at: str | None = None

    def __call__(self, *whole: str) -> None:
        self.asked.append(whole)
        if "venv" in whole:
            make_python(Path(whole[-1]))
        if self.fails_at in whole:
            raise subprocess.CalledProcessError(1, whole)


def make_python(folder: Path) -> None:
    start.python(folder).parent.mkdir(parents=True)
    start.python(folder).touch()
    (start.python(folder).parent / "activate").write_text(f"VIRTUAL_ENV={folder}\n")


@pytest.fixture
def clone(tmp_path, monkeypatch):
    """A folder that looks like a fresh clone, and in which this Python is a stranger."""
    (tmp_path / "tests" / "benchmarks").mkdir(parents=True)
    for lock in LOCKS:
        (tmp_path / lock).write_text(f"{lock} as first written")
    for name, value in vars(start).items():
        if isinstance(value, Path) and value.is_relative_to(ROOT):
            monkeypatch.setattr(start, name, tmp_path / value.relative_to(ROOT))
    return tmp_path


@pytest.fixture
def installs(monkeypatch):
    stand_in = Installs()
    monkeypatch.setattr(start, "run", stand_in)
    monkeypatch.setattr(start, "has_uv", lambda: False)
    return stand_in


@pytest.fixture
def started(monkeypatch):
    """What the Python in .venv was asked to run."""
    asked: list[list[str]] = []
    monkeypatch.setattr(start, "become", asked.append)
    return asked


def leftovers(clone: Path) -> list[str]:
    return [path.name for path in clone.glob(".venv*") if path.is_dir()]


def test_only_the_standard_library_and_only_syntax_of_python_3_8():
    tree = ast.parse(Path(start.__file__).read_text(), feature_version=(3, 8))
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            assert {alias.name.split(".")[0] for alias in node.names} <= sys.stdlib_module_names
        if isinstance(node, ast.ImportFrom):
            assert node.level == 0 and node.module.split(".")[0] in sys.stdlib_module_names


def test_an_old_python_gets_one_sentence(monkeypatch, capsys, installs):
    monkeypatch.setattr(sys, "version_info", (3, 9, 2, "final", 0))
    with pytest.raises(SystemExit) as stopped:
        start.main(["demo"])
    assert stopped.value.code == 2
    assert capsys.readouterr().err == (
        "Westering needs Python 3.11 or newer, and this is 3.9: run it with a newer one.\n"
    )
    assert not installs.asked


@pytest.mark.parametrize("arguments", [[], ["-h"], ["--help"]])
def test_help_installs_nothing(clone, installs, started, capsys, arguments):
    start.main(arguments)
    assert "python3 -m app demo" in capsys.readouterr().out
    assert not installs.asked and not started


def test_without_venv_names_the_package_and_leaves_no_folder(clone, installs, monkeypatch, capsys):
    monkeypatch.setitem(sys.modules, "ensurepip", None)
    with pytest.raises(SystemExit) as stopped:
        start.main(["demo"])
    assert stopped.value.code == 2
    version = "{}.{}".format(*sys.version_info)
    words = capsys.readouterr().err
    assert f"sudo apt install python{version}-venv\n" in words and "Other systems:" in words
    assert leftovers(clone) == []


@pytest.mark.parametrize(
    ("arguments", "locks", "runs"),
    [
        (["demo"], LOCKS[:1], ["-m", "app.cli", "demo"]),
        (["sun", "--json"], LOCKS[:1], ["-m", "app.cli", "sun", "--json"]),
        (["test", "-k", "sky"], LOCKS[:2], ["-m", "pytest", "-k", "sky"]),
        (["bench", "--quick"], LOCKS, ["tests/benchmarks/run.py", "--quick"]),
    ],
)
def test_each_command_installs_what_it_needs_and_then_runs(clone, installs, started, arguments, locks, runs):
    start.main(arguments)
    assert [part.replace(f"{clone}/", "") for part in started[0]] == runs
    assert start.is_ready(locks)
    assert not any(start.stamp(lock).exists() for lock in set(LOCKS) - set(locks))


def test_the_first_call_says_what_it_does(clone, installs, started, capsys):
    start.main(["demo"])
    assert capsys.readouterr().err == "Setting up in .venv, once: about half a minute.\n"


def test_a_second_call_goes_straight_to_running(clone, installs, started, capsys):
    start.main(["test"])
    installs.asked.clear()
    capsys.readouterr()
    start.main(["test"])
    start.main(["demo"])
    assert installs.asked == [] and len(started) == 3
    assert capsys.readouterr().err == ""


def test_a_changed_lock_is_installed_into_the_same_folder(clone, installs, started, capsys):
    start.main(["demo"])
    installs.asked.clear()
    capsys.readouterr()
    (clone / start.RUN).write_text("a newer lock")
    start.main(["demo"])
    assert not any("venv" in whole for whole in installs.asked)
    assert any("--require-hashes" in whole for whole in installs.asked)
    assert capsys.readouterr().err == "Bringing .venv up to date.\n"


def test_inside_venv_nothing_is_set_up(clone, installs, started, monkeypatch):
    monkeypatch.setattr(sys, "prefix", str(start.VENV))
    start.main(["serve"])
    assert installs.asked == [] and started == [["-m", "app.cli", "serve"]]


@pytest.mark.parametrize("step", ["venv", "--require-hashes"])
def test_a_failed_start_leaves_no_folder_and_says_how_to_mend_it(clone, installs, capsys, step):
    installs.fails_at = step
    with pytest.raises(SystemExit) as stopped:
        start.main(["demo"])
    assert stopped.value.code == 2
    assert "run the same command again" in capsys.readouterr().err
    assert leftovers(clone) == []


def test_a_failed_addition_keeps_what_was_there_and_is_tried_again(clone, installs, started):
    start.main(["demo"])
    installs.fails_at = "--require-hashes"
    with pytest.raises(SystemExit):
        start.main(["test"])
    assert start.is_ready([start.RUN]) and not start.is_ready([start.TEST])
    installs.fails_at = None
    start.main(["test"])
    assert start.is_ready(LOCKS[:2])


def test_a_venv_whose_python_is_gone_is_made_anew(clone, installs, started):
    start.python(start.VENV).parent.mkdir(parents=True)
    start.python(start.VENV).symlink_to(clone / "a-python-since-removed")
    (clone / ".venv-unfinished").mkdir()
    start.main(["demo"])
    assert start.is_ready([start.RUN])
    assert leftovers(clone) == [".venv"]


def test_scripts_name_the_folder_they_end_up_in(clone, installs, started):
    start.main(["demo"])
    activate = start.python(start.VENV).parent / "activate"
    assert activate.read_text() == f"VIRTUAL_ENV={start.VENV}\n"


def test_two_calls_at_once_install_once(clone, installs, started):
    calls = [threading.Thread(target=start.main, args=[["demo"]]) for _ in range(2)]
    for call in calls:
        call.start()
    for call in calls:
        call.join()
    assert len(started) == 2
    assert sum("venv" in whole for whole in installs.asked) == 1


@pytest.mark.parametrize("with_uv", [False, True])
def test_every_install_checks_hashes_or_stays_off_the_network(clone, installs, started, monkeypatch, with_uv):
    monkeypatch.setattr(start, "has_uv", lambda: with_uv)
    start.main(["bench"])
    for whole in (whole for whole in installs.asked if "install" in whole):
        strict = {"--require-hashes", "--only-binary", ":all:"}
        assert strict <= set(whole) or {"--no-deps", "--no-build-isolation"} <= set(whole)
        assert (whole[0] == "uv") == with_uv


@pytest.mark.parametrize("lock", LOCKS)
def test_locks_pin_and_hash_every_package_and_hold_no_address(lock):
    text = (ROOT / lock).read_text()
    entries = re.split(r"\n(?=\S)", text.strip())
    pinned = re.compile(r"[a-z0-9.-]+==[\w.]+( ; [^\n]+)? \\\n( +--hash=sha256:[0-9a-f]{64}( \\\n)?)+")
    assert entries and all(pinned.fullmatch(entry) for entry in entries)
    assert not re.search(r"://|--(extra-)?index|--find-links|#", text)


def test_locks_name_no_package_twice():
    """Two files that disagreed on a version could not be installed together."""
    names = [set(re.findall(r"^([a-z0-9.-]+)==", (ROOT / lock).read_text(), re.MULTILINE)) for lock in LOCKS]
    assert sum(map(len, names)) == len(set.union(*names))


def test_the_build_machine_runs_the_command_of_the_readme():
    script = ROOT / ".ci" / "run"
    assert "python3 -m app test" in script.read_text()
    assert "WESTERING_REQUIRE_BROWSER=1" in script.read_text()
    assert script.stat().st_mode & 0o111
    subprocess.run(["bash", "-n", str(script)], check=True)
