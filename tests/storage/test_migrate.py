"""From nothing to the newest layout, once, however many begin; and never from a newer one."""

import sqlite3
import subprocess
import sys
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.operations import Operations
from alembic.runtime.migration import MigrationContext
from sqlalchemy import Column, Text, inspect, text

from app.errors import WesteringError
from app.storage.engine import make_engine, reading, writing
from app.storage.migrate import APPLICATION_ID, _alone, _config, migrate
from app.storage.store import Store
from app.storage.tables import Base

TOP = Path(__file__).parents[2]
FIRST_RELEASE = (
    """INSERT INTO sites (id, slug, name, document, version, created_utc, updated_utc) VALUES
    (1, 'quay', 'Quay', '{"name": "Quay", "features": []}', 3, '2027-01-02 03:04:05', '2027-01-02 03:04:05')""",
    "INSERT INTO chosen_frames VALUES (1, 'arch', '2027-09-18 18:48:00.000000')",
    "INSERT INTO grounds (site_id, kind, laying, version) VALUES (1, 'blank', '[]', 2)",
    "INSERT INTO settings VALUES ('paper', '\"glare\"', 1)",
)
SUNSET = datetime(2027, 9, 18, 18, 48, tzinfo=UTC)


def test_an_empty_database_gets_every_table(store: Store):
    names = set(inspect(store._engine).get_table_names())
    assert names == {"alembic_version", *Base.metadata.tables} and {"sites", "settings", "sessions"} <= names


def test_the_migrations_lead_to_exactly_the_tables_the_program_uses(store: Store):
    with store._engine.connect() as connection:
        assert compare_metadata(MigrationContext.configure(connection), Base.metadata) == []


def test_a_migrated_database_is_left_as_it_is(address: str):
    with Store(address) as store:
        store.add_site({"name": "Quay"})
        migrate(store._engine)
    with Store(address) as store:
        assert [site.slug for site in store.sites()] == ["quay"]


def test_a_new_file_is_marked_as_ours(file_store: Store):
    with reading(file_store._engine) as session:
        assert session.scalar(text("PRAGMA application_id")) == APPLICATION_ID


def test_a_database_of_a_newer_program_is_refused(address: str):
    with Store(address) as store, writing(store._engine) as session:
        session.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    with pytest.raises(WesteringError, match="“9999”.*Install the newer Westering, or restore a backup"):
        Store(address)


def test_a_database_of_another_program_is_refused_and_not_touched(tmp_path: Path):
    path = tmp_path / "other.sqlite"
    with closing(sqlite3.connect(path)) as other:
        other.execute("CREATE TABLE songs (title)")
    with pytest.raises(WesteringError, match="“other.sqlite” is a database of some other program"):
        Store(path)
    with closing(sqlite3.connect(path)) as other:
        assert other.execute("SELECT name FROM sqlite_master").fetchall() == [("songs",)]


def test_a_migration_that_leaves_rows_without_their_site_is_undone(file_store: Store):
    with closing(sqlite3.connect(file_store.path)) as other:
        other.execute("INSERT INTO chosen_frames VALUES (77, 'a', '2027-09-18 18:30:00.000000')")
        other.commit()
    with pytest.raises(WesteringError, match="“chosen_frames” refers to rows that do not exist"):
        migrate(file_store._engine)


def test_a_database_of_the_first_release_keeps_what_it_holds_and_gains_a_table_of_terrains(address: str):
    if "://" not in address:
        Path(address).parent.mkdir()
    engine = make_engine(address)
    with writing(engine) as session:
        config = _config()
        config.attributes["connection"] = session.connection()
        command.upgrade(config, "0001")
        for statement in FIRST_RELEASE:
            session.execute(text(statement))
        if engine.dialect.name == "sqlite":
            session.execute(text(f"PRAGMA application_id={APPLICATION_ID}"))
        assert "terrains" not in inspect(session.connection()).get_table_names()
    engine.dispose()
    with Store(address) as store:
        assert store.site("quay").document == {"name": "Quay", "features": []}
        assert store.chosen_frames("quay", "arch") == {SUNSET}
        assert (store.ground("quay").kind, store.ground("quay").version) == ("blank", 2)
        assert store.setting("paper") == "glare"
        assert store.terrain("quay") is None
        assert store.save_terrain("quay", b"hills", "a file", "", 0).version == 1


def test_altering_the_table_of_sites_keeps_what_refers_to_them(file_store: Store):
    """SQLite alters by dropping and refilling; with foreign keys on, the drop took every ring along."""
    file_store.add_site({"name": "Quay"})
    file_store.choose_frame("quay", "arch", SUNSET, True)
    with _alone(file_store._engine) as connection:
        change = Operations(MigrationContext.configure(connection))
        with change.batch_alter_table("sites", recreate="always") as sites:
            sites.add_column(Column("notes", Text))
    assert file_store.chosen_frames("quay", "arch") == {SUNSET}


def test_foreign_keys_are_on_again_after_a_migration(file_store: Store):
    with writing(file_store._engine) as session:
        assert session.scalar(text("PRAGMA foreign_keys")) == 1


def test_processes_that_start_together_migrate_once(address: str):
    """Without waiting for the write-ahead log, one in ten of these died with "database is locked"."""
    script = "import sys; from app.storage.store import Store; Store(sys.argv[1]).close()"
    command = [sys.executable, "-c", script, address]
    started = [subprocess.Popen(command, cwd=TOP, stderr=subprocess.PIPE, text=True) for _ in range(4)]
    told = [process.communicate(timeout=30)[1] for process in started]
    assert [process.returncode for process in started] == [0, 0, 0, 0], told
    engine = make_engine(address)
    with reading(engine) as session:
        assert session.scalars(text("SELECT version_num FROM alembic_version")).all() == ["0005"]
    engine.dispose()
