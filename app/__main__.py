"""Set up Westering in .venv, once, and run it.

python3 -m app demo           a site, a shoot and a server to look at
python3 -m app serve          the server
python3 -m app test [...]     the tests; what follows goes to pytest
python3 -m app bench [...]    the measurements
python3 -m app COMMAND [...]  any other command of westering
"""

# Only the standard library, and syntax that Python 3.8 can read: this file runs before anything
# is installed, and tells an old Python politely that it is too old.
from __future__ import annotations

import hashlib
import importlib.util
import os
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import NoReturn

OLDEST = (3, 11)
ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
UNFINISHED = ROOT / ".venv-unfinished"
TURN = ROOT / ".venv-turn"
LONGEST_WAIT_S = 900.0  # half a gigabyte on a slow line

RUN, TEST, BENCH = "requirements.lock", "tests/requirements.lock", "tests/benchmarks/requirements.lock"
LOCKS = {"test": [RUN, TEST], "bench": [RUN, TEST, BENCH]}

NOT_SET_UP = (
    "Westering could not be set up; the reason stands above. If the network failed, run the same "
    "command again; if that does not help, delete the folder .venv and run it once more."
)
TOO_OLD = "Westering needs Python 3.11 or newer, and this is {0}.{1}: run it with a newer one."
NO_VENV = """\
This Python {0}.{1} lacks the modules that make virtual environments (venv, ensurepip).
Debian, Ubuntu: sudo apt install python{0}.{1}-venv
Other systems: install their package for virtual environments of Python {0}.{1}, or install uv.
Then run the same command again."""


def main(arguments: list[str]) -> None:
    """Make sure that what the command needs is installed, then become that command."""
    if sys.version_info < OLDEST:
        stop(TOO_OLD.format(*sys.version_info))
    if arguments in ([], ["-h"], ["--help"]):
        print(__doc__)
        return
    if not is_inside():
        set_up(LOCKS.get(arguments[0], [RUN]))
    become(command(*arguments))


def command(first: str, *rest: str) -> list[str]:
    """Return what the Python in .venv is to run."""
    if first == "test":
        return ["-m", "pytest", *rest]
    if first == "bench":
        return [str(ROOT / "tests" / "benchmarks" / "run.py"), *rest]
    return ["-m", "app.cli", first, *rest]


def become(arguments: list[str]) -> None:
    """Run the Python in .venv instead of this one, so that it receives the signals itself."""
    whole = [str(python(VENV)), *arguments]
    if os.name == "posix":
        os.execv(whole[0], whole)
    raise SystemExit(subprocess.call(whole))


def set_up(locks: list[str]) -> None:
    """Install what these locks name, unless that is done already."""
    if is_ready(locks):
        return
    is_there = python(VENV).exists()
    words = "Bringing .venv up to date." if is_there else "Setting up in .venv, once: about half a minute."
    print(words, file=sys.stderr)
    try:
        with my_turn():
            if not is_ready(locks):  # another call may have done it while this one waited
                install(locks)
    except subprocess.CalledProcessError:
        stop(NOT_SET_UP)


@contextmanager
def my_turn() -> Iterator[None]:
    """Let one call at a time change .venv. The system frees SQLite's lock if that call is killed."""
    with closing(sqlite3.connect(str(TURN), timeout=LONGEST_WAIT_S, isolation_level=None)) as turn:
        turn.execute("BEGIN EXCLUSIVE")
        yield


def install(locks: list[str]) -> None:
    """Bring .venv to these locks, and say so in it only when all went well."""
    if python(VENV).exists():
        install_locks(VENV, locks)
    else:
        build(locks)
    run(*installer(VENV), "--no-deps", "--no-build-isolation", "-e", str(ROOT))  # the command westering
    for lock in locks:
        stamp(lock).write_text(fingerprint(lock))


def build(locks: list[str]) -> None:
    """Make .venv under another name and rename it when it is whole."""
    remove(UNFINISHED)
    try:
        make_environment(UNFINISHED)
        install_locks(UNFINISHED, locks)
        rename_in_scripts(UNFINISHED, VENV)
        remove(VENV)  # one whose Python is gone
        UNFINISHED.rename(VENV)
    finally:
        remove(UNFINISHED)


def make_environment(folder: Path) -> None:
    if has_uv():
        run("uv", "venv", "--quiet", "--python", sys.executable, str(folder))
    elif importlib.util.find_spec("venv") and importlib.util.find_spec("ensurepip"):
        run(sys.executable, "-m", "venv", str(folder))
    else:
        stop(NO_VENV.format(*sys.version_info))


def install_locks(folder: Path, locks: list[str]) -> None:
    """Install exactly the locked files: hashes checked, and nothing that needs a compiler."""
    files = [part for lock in locks for part in ("-r", str(ROOT / lock))]
    run(*installer(folder), "--require-hashes", "--only-binary", ":all:", *files)


def installer(folder: Path) -> list[str]:
    """Return the start of an install command."""
    if has_uv():
        return ["uv", "pip", "install", "--quiet", "--python", str(python(folder))]
    pip = [str(python(folder)), "-m", "pip", "--quiet", "--no-input", "--disable-pip-version-check"]
    return [*pip, "install"]


def rename_in_scripts(before: Path, after: Path) -> None:
    """Write the coming name of the folder into its scripts: each names the Python it starts."""
    for script in python(before).parent.iterdir():
        if not script.is_symlink() and os.fsencode(before) in script.read_bytes():
            script.write_bytes(script.read_bytes().replace(os.fsencode(before), os.fsencode(after)))


def is_ready(locks: list[str]) -> bool:
    """Tell whether .venv holds these locks as they read now."""
    return python(VENV).exists() and all(
        stamp(lock).exists() and stamp(lock).read_text() == fingerprint(lock) for lock in locks
    )


def is_inside() -> bool:
    """Tell whether the Python running this is the one in .venv: then nothing is to be set up."""
    return Path(sys.prefix).resolve() == VENV.resolve()


def stamp(lock: str) -> Path:
    """Return the file in .venv that tells which content of this lock is installed."""
    return VENV / f"installed-{lock.replace('/', '-')}"


def fingerprint(lock: str) -> str:
    return hashlib.sha256((ROOT / lock).read_bytes()).hexdigest()


def python(folder: Path) -> Path:
    return folder / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def has_uv() -> bool:
    return shutil.which("uv") is not None


def run(*whole: str) -> None:
    subprocess.run(whole, check=True)


def remove(folder: Path) -> None:
    if folder.exists():
        shutil.rmtree(folder)


def stop(words: str) -> NoReturn:
    print(words, file=sys.stderr)
    raise SystemExit(2)


if __name__ == "__main__":
    main(sys.argv[1:])
