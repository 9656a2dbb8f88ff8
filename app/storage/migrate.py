"""Brings a database of any earlier layout up to the newest."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Lock

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine, inspect

from app.errors import WesteringError
from app.storage.engine import told_plainly, writing_connection

APPLICATION_ID = int.from_bytes(b"West")  # marks a SQLite file as ours

_ONE_AT_A_TIME = Lock()  # alembic keeps the running migration in a global


def migrate(engine: Engine) -> None:
    """Bring the database to the newest layout; all of it, or nothing.

    The write lock is taken first, so of two processes that start together one
    migrates and the other finds it done. Raises ``WesteringError`` for a
    database that is newer than this program, or is not Westering's.
    """
    with _ONE_AT_A_TIME, told_plainly(), _alone(engine) as connection:
        _claim(connection)
        for layout in MigrationContext.configure(connection).get_current_heads():
            refuse_unknown(layout)
        config = _config()
        config.attributes["connection"] = connection
        command.upgrade(config, "head")


def refuse_unknown(layout: str) -> None:
    """Raise ``WesteringError`` for a layout that this program cannot have made."""
    known = {script.revision for script in ScriptDirectory.from_config(_config()).walk_revisions()}
    if layout not in known:
        raise WesteringError(
            f"The database has layout “{layout}”, which this Westering does not know: a newer one wrote it. "
            "Install the newer Westering, or restore a backup made before it."
        )


def _config() -> Config:
    config = Config()
    folder = str(Path(__file__).parent / "migrations")
    config.set_main_option("script_location", folder.replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    return config


@contextmanager
def _alone(engine: Engine) -> Iterator[Connection]:
    # To alter a table in SQLite is to drop and refill it, and the drop would
    # delete what refers to its rows. The setting can only be changed outside a
    # transaction, and the connection is not used again.
    with writing_connection(engine) as connection:
        if engine.dialect.name == "sqlite":
            connection.detach()
            connection.connection.cursor().execute("PRAGMA foreign_keys=OFF")
        with connection.begin():
            yield connection
            _refuse_dangling(connection)


def _refuse_dangling(connection: Connection) -> None:
    if connection.dialect.name != "sqlite":
        return
    dangling = connection.exec_driver_sql("PRAGMA foreign_key_check").first()
    if dangling:
        message = f"The table “{dangling[0]}” refers to rows that do not exist, so nothing was changed."
        raise WesteringError(f"{message} Restore a backup.")


def _claim(connection: Connection) -> None:
    if connection.dialect.name != "sqlite":
        return
    (mark,) = connection.exec_driver_sql("PRAGMA application_id").one()
    if mark == APPLICATION_ID:
        return
    if mark or inspect(connection).get_table_names():
        name = Path(connection.engine.url.database or "").name
        raise WesteringError(f"“{name}” is a database of some other program; name another file.")
    connection.exec_driver_sql(f"PRAGMA application_id={APPLICATION_ID}")
