"""How the database is reached: its address, its pool, how a transaction begins and what may fail."""

import sqlite3
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url
from sqlalchemy.exc import ArgumentError, DatabaseError, OperationalError
from sqlalchemy.exc import TimeoutError as PoolTimeout
from sqlalchemy.orm import Session
from sqlalchemy.orm.exc import StaleDataError

from app.errors import BadInput, Conflict, Unavailable, WesteringError

THREADS = 40  # what the web server runs at once; each may hold one connection
KEPT_OPEN = 8  # the rest of the forty are opened for a rush and closed after it
BUSY_MS = 5000  # how long one writer waits for another
WRITERS = 0x57657374  # the number of the lock that PostgreSQL's writers share

ADDRESSES = "expected a file, sqlite:///file or postgresql://user@host/name"


def database_url(where: str | Path) -> URL:
    """Return the address of a database, given as a path or as a URL.

    Raises ``BadInput`` for anything but a SQLite file or PostgreSQL. What came
    is not repeated, for it may hold a password.
    """
    if isinstance(where, Path) or "://" not in where:
        return URL.create("sqlite", database=str(Path(where).absolute()))
    try:
        url = make_url(where)
    except ArgumentError:
        raise BadInput(f"The address of the database cannot be read; {ADDRESSES}.") from None
    if url.get_backend_name() == "sqlite":
        return _file_url(url)
    if url.get_backend_name() == "postgresql":
        return url.set(drivername="postgresql+psycopg")
    raise BadInput(f"Westering keeps its sites in SQLite or PostgreSQL; {ADDRESSES}.")


def _file_url(url: URL) -> URL:
    # In memory each connection would see a database of its own.
    if url.query or not url.database or url.database.startswith((":memory:", "file:")):
        raise BadInput(f"A SQLite database has to be a plain file; {ADDRESSES}.")
    return database_url(Path(url.database))


def make_engine(url: str | Path | URL) -> Engine:
    """Return an engine whose writers wait for each other before they read.

    A transaction that reads first and writes later is refused at once by
    SQLite when another has written in between, and silently overwrites on
    PostgreSQL. So a writing transaction takes the one write lock as its first
    act (see ``writing``); readers wait for nobody.

    The pool has a connection for each of the server's threads: a smaller one
    would make threads that hold a connection wait for threads that want one.
    """
    url = url if isinstance(url, URL) else database_url(url)
    engine = _create_engine(url)
    if engine.dialect.name == "sqlite":
        event.listen(engine, "connect", _set_up_connection)
    event.listen(engine, "begin", _begin)
    return engine


def _create_engine(url: URL) -> Engine:
    try:
        return create_engine(url, pool_size=KEPT_OPEN, max_overflow=THREADS - KEPT_OPEN, pool_pre_ping=True)
    except ModuleNotFoundError as error:
        message = "PostgreSQL is reached through psycopg: install Westering with its extra “postgresql”."
        raise WesteringError(message) from error


def _set_up_connection(connection: sqlite3.Connection, _record: Any) -> None:
    connection.isolation_level = None  # we say BEGIN ourselves, in _begin
    connection.execute(f"PRAGMA busy_timeout={BUSY_MS}")
    _turn_on_write_ahead_log(connection)
    connection.execute("PRAGMA synchronous=NORMAL")
    connection.execute("PRAGMA foreign_keys=ON")


def _turn_on_write_ahead_log(connection: sqlite3.Connection) -> None:
    # Two processes that open a new file at once can meet here, and for this
    # one statement SQLite does not wait, whatever busy_timeout says.
    given_up = time.monotonic() + BUSY_MS / 1000
    while True:
        try:
            (mode,) = connection.execute("PRAGMA journal_mode=WAL").fetchone()
            break
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode != sqlite3.SQLITE_BUSY or time.monotonic() > given_up:
                raise
            time.sleep(0.01)
    if mode != "wal":
        raise Unavailable("The disk under the database cannot keep a write-ahead log; use a local disk.")


def _begin(connection: Connection) -> None:
    writes = connection.get_execution_options().get("writes", False)
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")
    elif writes:
        connection.exec_driver_sql(f"SET LOCAL lock_timeout = {BUSY_MS}")
        connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({WRITERS})")


def writing_connection(engine: Engine) -> Connection:
    """Return a connection whose transactions begin by taking the write lock."""
    return engine.execution_options(writes=True).connect()


@contextmanager
def reading(engine: Engine) -> Iterator[Session]:
    """Give a session that sees one state of the database and changes nothing."""
    with told_plainly(), Session(engine) as session, session.begin():
        yield session


@contextmanager
def writing(engine: Engine) -> Iterator[Session]:
    """Give a session that is the only writer, and keep all its changes or none."""
    with told_plainly(), Session(engine.execution_options(writes=True)) as session, session.begin():
        yield session


@contextmanager
def told_plainly() -> Iterator[None]:
    """Turn what a database can fail with into sentences of the one error tree."""
    try:
        yield
    except StaleDataError as error:
        message = "This was changed in between, so nothing was saved. Open it again and repeat the change."
        raise Conflict(message) from error
    except (OperationalError, PoolTimeout) as error:
        message = f"The database does not answer{_reason(error)}. Nothing was changed; try again in a moment."
        raise Unavailable(message) from error
    except DatabaseError as error:
        if type(error) is not DatabaseError:
            raise  # a mistake in the program, not in the file
        message = f"The database cannot be read{_reason(error)}. Restore a backup, or name another file."
        raise WesteringError(message) from error


def _reason(error: Exception) -> str:
    # PostgreSQL's reasons name the server and the user, and guests may read this.
    original = getattr(error, "orig", None)
    return f" ({original})" if isinstance(original, sqlite3.Error) else ""
