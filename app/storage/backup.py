"""Backups of a SQLite database: made while the service runs, put back while it does not."""

import os
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from datetime import UTC, datetime
from pathlib import Path

from app.errors import BadInput, Conflict, Unavailable
from app.storage.engine import database_url
from app.storage.migrate import APPLICATION_ID, refuse_unknown
from app.storage.store import Store

BESIDE = ("-wal", "-shm", "-journal")  # what SQLite keeps next to a database
OTHER_TOOLS = "This database is PostgreSQL; use its own {tool} instead."


def back_up(store: Store, path: str | Path, overwrite: bool = False) -> Path:
    """Write the whole database, as it is at one instant, into one file.

    Others may read and write meanwhile. The file appears only when it is whole
    and has been checked; a file already there is kept unless ``overwrite``.
    """
    if store.path is None:
        raise BadInput(OTHER_TOOLS.format(tool="pg_dump"))
    path = Path(path).absolute()
    _refuse_itself(path, store.path)
    _refuse_unless_free(path, overwrite)
    with _told_plainly("The backup could not be made"), _part_beside(path) as part:
        _copy(store.path, part)
        _check(part, path)
        os.replace(part, path)
    return path


def restore(path: str | Path, where: str | Path) -> Path | None:
    """Put a backup in the database's place; return where the old one is now, if there was one.

    ``where`` is the path or URL that ``Store`` takes. Nothing is touched
    unless the backup is whole, is Westering's and can be read by this program,
    and nobody has the database open.
    """
    url = database_url(where)
    if url.get_backend_name() != "sqlite":
        raise BadInput(OTHER_TOOLS.format(tool="pg_restore"))
    path, database = Path(path).absolute(), Path(url.database or "")
    _refuse_itself(path, database)
    if not path.is_file():
        raise BadInput(f"There is no file {path}; name a backup made by “westering backup”.")
    with _told_plainly(f"{path} could not be put back"), _part_beside(database) as part:
        _copy(path, part)
        _check(part, path)
        old = _keep_aside(database)
        os.replace(part, database)
    return old


def _refuse_itself(path: Path, database: Path) -> None:
    if path.resolve() in [taken.resolve() for taken in (database, *_beside(database))]:
        raise BadInput(f"{path} is the database itself; a backup is another file.")


def _refuse_unless_free(path: Path, overwrite: bool) -> None:
    if not path.parent.is_dir():
        raise BadInput(f"There is no folder {path.parent}; make it, or name another.")
    if path.exists() and not overwrite:
        raise BadInput(f"{path} is there already and was left alone; name another, or ask to overwrite it.")
    for log in _beside(path):
        if log.exists():
            raise BadInput(f"{log} shows that {path} is in use as a database; name another file.")


def _beside(database: Path) -> list[Path]:
    return [Path(f"{database}{ending}") for ending in BESIDE]


@contextmanager
def _told_plainly(failed: str) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise Unavailable(f"{failed}: {error.strerror} ({error.filename}).") from error
    except sqlite3.OperationalError as error:
        raise Unavailable(f"{failed}: {error}.") from error
    except sqlite3.DatabaseError as error:
        raise BadInput(f"{failed}: {error}.") from error


@contextmanager
def _part_beside(path: Path) -> Iterator[Path]:
    """Give a file that only its owner may read, in the same folder, gone afterwards."""
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    os.close(handle)
    try:
        yield Path(name)
    finally:
        for left in (Path(name), *_beside(Path(name))):
            left.unlink(missing_ok=True)


def _copy(source: Path, target: Path) -> None:
    # All pages in one go see one state and always end; copied a few at a time
    # the copy would begin anew after each write of somebody else.
    only_read = f"{source.resolve().as_uri()}?mode=ro"
    with closing(sqlite3.connect(only_read, uri=True)) as old, closing(sqlite3.connect(target)) as new:
        old.backup(new, pages=-1)
        new.execute("PRAGMA journal_mode=DELETE")  # so that the one file is everything


def _check(part: Path, shown: Path) -> None:
    with closing(sqlite3.connect(part)) as database:
        if database.execute("PRAGMA application_id").fetchone() != (APPLICATION_ID,):
            raise BadInput(f"{shown} is a database of some other program, not a backup of Westering.")
        complaints = database.execute("PRAGMA integrity_check").fetchall()
        layouts = database.execute("SELECT version_num FROM alembic_version").fetchall()
    if complaints != [("ok",)]:
        raise BadInput(f"{shown} is damaged ({complaints[0][0]}); take an older backup.")
    for (layout,) in layouts:
        refuse_unknown(layout)


def _keep_aside(database: Path) -> Path | None:
    aside = Path(f"{database}.before-restore-{datetime.now(UTC):%Y%m%dT%H%M%S.%fZ}")
    if not database.exists():
        _move_what_lies_beside(database, aside)
        return None
    with _part_beside(aside) as log:
        with suppress(FileNotFoundError):
            shutil.copyfile(f"{database}-wal", log)  # SQLite drops the log of what it finds damaged
        if not _fold_log_in(database):
            os.replace(log, f"{aside}-wal")
            _move_what_lies_beside(database, aside)
    _give_second_name(database, aside)
    return aside


def _fold_log_in(database: Path) -> bool:
    """Move the write-ahead log into the file, as SQLite does for a sole user; False if it is damaged."""
    try:
        with closing(sqlite3.connect(database, timeout=1)) as held:
            (mode,) = held.execute("PRAGMA journal_mode=DELETE").fetchone()
        return str(mode) == "delete"
    except sqlite3.OperationalError as error:
        if error.sqlite_errorcode != sqlite3.SQLITE_BUSY:
            raise
        message = f"Westering is running on {database}; stop it, restore, and start it again."
        raise Conflict(message) from error
    except sqlite3.DatabaseError:
        return False  # a damaged database is what people restore from


def _move_what_lies_beside(database: Path, aside: Path) -> None:
    # A log that stayed would be played into the restored database.
    for ending in BESIDE:
        with suppress(FileNotFoundError):
            os.replace(f"{database}{ending}", f"{aside}{ending}")


def _give_second_name(database: Path, aside: Path) -> None:
    # With a link the database's own name is at no time without a database.
    try:
        os.link(database, aside)
    except OSError:
        shutil.copy2(database, aside)  # a disk without links, such as a memory stick
