"""A backup is whole whatever happens meanwhile, and a restore loses nothing, not even what it replaces."""

import os
import re
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path
from threading import Event, Thread

import pytest
from sqlalchemy import text

from app.errors import BadInput, Conflict, Unavailable, WesteringError
from app.storage import backup as backup_module
from app.storage.backup import back_up, restore
from app.storage.engine import writing
from app.storage.pictures import Picture
from app.storage.records import Ground
from app.storage.store import Store

TOP = Path(__file__).parents[2]
QUAY = {"name": "Quay", "features": []}
NEWER = "UPDATE alembic_version SET version_num = '9999'"
ADD_AND_DIE = """
import os, sys
from app.storage.store import Store
Store(sys.argv[1]).add_site({"name": sys.argv[2]})
os._exit(9)
"""
HOLD = """
import sys
from app.storage.store import Store
store = Store(sys.argv[1])
print("open", flush=True)
sys.stdin.read()
store.close()
"""


@pytest.fixture
def saved(tmp_path: Path) -> Path:
    return tmp_path / "saved.backup"


@pytest.fixture
def backup(database: Path, saved: Path) -> Path:
    """A backup of a database with one site, "Quay"; the store is closed."""
    with Store(database) as store:
        store.add_site(QUAY)
        store.save_ground("quay", Ground("picture"), 0, Picture(b"pixels", "image/webp", 4, 3))
        store.save_terrain("quay", b"hills", "a file", "", 0)
        return back_up(store, saved)


def add_and_die(database: Path, name: str) -> None:
    """Add a site in a process that then ends like one that was killed, leaving its log."""
    killed = subprocess.run([sys.executable, "-c", ADD_AND_DIE, str(database), name], cwd=TOP, check=False)
    assert killed.returncode == 9
    assert Path(f"{database}-wal").stat().st_size > 0


def names(database: Path) -> list[str]:
    with Store(database) as store:
        return [site.name for site in store.sites()]


def test_a_backup_is_one_file_and_holds_everything(tmp_path: Path, backup: Path):
    assert [path.name for path in tmp_path.iterdir() if path.is_file()] == ["saved.backup"]
    with Store(backup) as copy:
        assert copy.site("quay").document == QUAY
        assert copy.ground_picture("quay") == (b"pixels", "image/webp")
        assert copy.terrain_data("quay") == b"hills"


@pytest.mark.skipif(os.name != "posix", reason="file modes are POSIX")
def test_a_backup_can_be_read_by_its_owner_only(backup: Path):
    assert backup.stat().st_mode & 0o777 == 0o600


def test_a_backup_made_while_another_thread_writes_is_whole(file_store: Store, saved: Path):
    """The two sites are always saved together; a backup must never hold one without the other."""
    done, wrote = Event(), Event()

    def write() -> None:
        number = 0
        while not done.is_set():
            number += 1
            with writing(file_store._engine) as session:
                for slug in ("east", "west"):
                    change = text("UPDATE sites SET name = :name, document = :padding WHERE slug = :slug")
                    padding = f'"{"x" * 20_000}"'
                    session.execute(change, {"name": str(number), "padding": padding, "slug": slug})
            wrote.set()

    for slug in ("east", "west"):
        file_store.add_site({"name": "0"}, slug)
    writer = Thread(target=write)
    writer.start()
    try:
        seen = set()
        for _ in range(10):
            assert wrote.wait(10)
            wrote.clear()
            back_up(file_store, saved, overwrite=True)
            with closing(sqlite3.connect(saved)) as copy:
                assert copy.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
                (both,) = copy.execute("SELECT group_concat(DISTINCT name) FROM sites").fetchone()
            seen.add(both)
    finally:
        done.set()
        writer.join()
    assert all(re.fullmatch(r"\d+", both) for both in seen), seen
    assert len(seen) > 1  # it was written to in between


def test_a_file_already_there_is_left_alone_unless_asked(file_store: Store, saved: Path):
    saved.write_text("my notes")
    with pytest.raises(BadInput, match="is there already and was left alone"):
        back_up(file_store, saved)
    assert saved.read_text() == "my notes"
    back_up(file_store, saved, overwrite=True)
    assert names(saved) == []


def test_a_backup_never_goes_over_the_database_itself(file_store: Store):
    for ending in ("", "-wal", "-shm", "-journal"):
        with pytest.raises(BadInput, match="is the database itself"):
            back_up(file_store, f"{file_store.path}{ending}", overwrite=True)


def test_a_backup_never_goes_over_a_database_in_use(file_store: Store, saved: Path):
    """Its log would be played into the backup when that is opened."""
    with Store(saved), pytest.raises(BadInput, match="saved.backup-wal shows that .* is in use"):
        back_up(file_store, saved, overwrite=True)


def test_a_backup_into_no_folder_is_refused(file_store: Store, tmp_path: Path):
    with pytest.raises(BadInput, match="There is no folder .*stick"):
        back_up(file_store, tmp_path / "stick" / "saved.backup")


def test_a_backup_that_fails_leaves_no_file(file_store: Store, saved: Path, monkeypatch):
    def full(*_: object) -> None:
        raise sqlite3.OperationalError("database or disk is full")

    monkeypatch.setattr(backup_module, "_check", full)
    with pytest.raises(Unavailable, match="The backup could not be made: database or disk is full"):
        back_up(file_store, saved)
    assert [path.name for path in saved.parent.iterdir()] == ["data"]


def test_a_restore_brings_everything_back_and_keeps_the_old_database(database: Path, backup: Path):
    with Store(database) as store:
        store.delete_site("quay", 1)
        store.add_site({"name": "Pier"})
    old = restore(backup, database)
    assert names(database) == ["Quay"]
    assert re.fullmatch(r"westering\.sqlite\.before-restore-\d{8}T\d{6}\.\d{6}Z", old.name)
    assert names(old) == ["Pier"]
    assert backup.exists()


def test_a_restore_keeps_what_only_the_old_log_held(database: Path, backup: Path):
    """A service that was killed leaves a log behind; its last changes are in there."""
    add_and_die(database, "Last minute")
    old = restore(backup, database)
    assert names(database) == ["Quay"]
    assert names(old) == ["Last minute", "Quay"]


def test_a_restore_works_where_there_was_no_database(tmp_path: Path, backup: Path):
    fresh = tmp_path / "elsewhere" / "westering.sqlite"
    assert restore(backup, fresh) is None
    assert names(fresh) == ["Quay"]
    assert [path.name for path in fresh.parent.iterdir()] == ["westering.sqlite"]


def test_a_restore_works_on_a_disk_without_links(database: Path, backup: Path, monkeypatch):
    def refuse(*_: object) -> None:
        raise PermissionError("no links here")

    monkeypatch.setattr(os, "link", refuse)
    old = restore(backup, database)
    assert names(old) == names(database) == ["Quay"]


def test_a_damaged_database_is_kept_aside_with_its_log(database: Path, backup: Path):
    add_and_die(database, "Last minute")
    log = Path(f"{database}-wal").read_bytes()
    database.write_bytes(b"not a database any more" * 1000)
    old = restore(backup, database)
    assert names(database) == ["Quay"]
    assert old.stat().st_size > 0
    assert Path(f"{old}-wal").read_bytes() == log


def test_a_log_without_its_database_is_not_played_into_the_restored_one(database: Path, backup: Path):
    add_and_die(database, "Last minute")
    database.unlink()
    assert restore(backup, database) is None
    assert names(database) == ["Quay"]
    assert len(list(database.parent.glob("*.before-restore-*-wal"))) == 1


def test_a_restore_is_refused_while_the_same_program_has_the_database_open(database: Path, backup: Path):
    with Store(database) as store:
        with pytest.raises(Conflict, match="Westering is running on .*stop it, restore, and start it again"):
            restore(backup, database)
        assert store.site("quay").document == QUAY
    assert [path.name for path in database.parent.iterdir()] == ["westering.sqlite"]


def test_a_restore_is_refused_while_a_service_has_the_database_open_even_idle(database: Path, backup: Path):
    command = [sys.executable, "-c", HOLD, str(database)]
    service = subprocess.Popen(command, cwd=TOP, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    try:
        assert service.stdout.readline() == "open\n"
        with pytest.raises(Conflict, match="Westering is running"):
            restore(backup, database)
    finally:
        service.communicate("", timeout=30)
    assert restore(backup, database) is not None


def test_a_backup_that_is_not_there_is_told_of_and_not_made(database: Path, saved: Path):
    with pytest.raises(BadInput, match="There is no file .*saved.backup"):
        restore(saved, database)
    assert not saved.exists()
    assert not database.exists()


@pytest.mark.parametrize(
    ("spoil", "error", "match"),
    [
        (lambda path: path.write_text("my notes\n" * 100), BadInput, "put back: file is not a database"),
        (lambda path: path.write_bytes(b""), BadInput, "of some other program"),
        (lambda path: execute(path, "PRAGMA application_id=7"), BadInput, "of some other program"),
        (lambda path: execute(path, NEWER), WesteringError, "newer"),
        (lambda path: damage(path), BadInput, "damaged|malformed"),
        (lambda path: path.write_bytes(path.read_bytes()[:-4096]), BadInput, "damaged|malformed"),
    ],
    ids=["text", "empty", "other program", "newer", "damaged", "cut short"],
)
def test_a_bad_backup_is_refused_and_the_database_is_untouched(database, backup, spoil, error, match):
    spoil(backup)
    with pytest.raises(error, match=match):
        restore(backup, database)
    assert [path.name for path in database.parent.iterdir()] == ["westering.sqlite"]
    assert names(database) == ["Quay"]


def execute(path: Path, statement: str) -> None:
    with closing(sqlite3.connect(path)) as database:
        database.execute(statement)
        database.commit()


def damage(path: Path) -> None:
    """Overwrite the middle of every page but the first."""
    content = bytearray(path.read_bytes())
    for page in range(4096, len(content), 4096):
        content[page : page + 64] = b"\xff" * 64
    path.write_bytes(content)


def test_the_database_is_no_backup_of_itself(database: Path, backup: Path):
    with pytest.raises(BadInput, match="is the database itself"):
        restore(database, database)


def test_postgresql_has_its_own_tools(saved: Path, file_store: Store, monkeypatch):
    saved.write_text("a dump")
    with pytest.raises(BadInput, match="use its own pg_restore"):
        restore(saved, "postgresql://me@db/westering")
    monkeypatch.setattr(Store, "path", None)
    with pytest.raises(BadInput, match="use its own pg_dump"):
        back_up(file_store, saved)
