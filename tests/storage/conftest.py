"""Stores to test: in a file, and in PostgreSQL where WESTERING_TEST_POSTGRESQL names a database.

Each PostgreSQL test gets a schema of its own, which is dropped after it; nothing else is touched.
"""

import os
import secrets
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import make_url, text

from app.storage.engine import make_engine, writing
from app.storage.store import Store

POSTGRESQL = os.environ.get("WESTERING_TEST_POSTGRESQL")


@pytest.fixture
def database(tmp_path: Path) -> Path:
    """Where a SQLite store goes; nothing is there yet."""
    return tmp_path / "data" / "westering.sqlite"


@pytest.fixture(params=["sqlite", "postgresql"] if POSTGRESQL else ["sqlite"])
def address(request: pytest.FixtureRequest) -> Iterator[str]:
    """The path or URL of an empty database, of every kind that is at hand."""
    if request.param == "sqlite":
        yield str(request.getfixturevalue("database"))
        return
    schema = f"westering_test_{secrets.token_hex(6)}"
    engine = make_engine(POSTGRESQL)
    with writing(engine) as session:
        session.execute(text(f"CREATE SCHEMA {schema}"))
    url = make_url(POSTGRESQL).update_query_dict({"options": f"-csearch_path={schema}"})
    yield url.render_as_string(hide_password=False)
    with writing(engine) as session:
        session.execute(text(f"DROP SCHEMA {schema} CASCADE"))
    engine.dispose()


@pytest.fixture
def store(address: str) -> Iterator[Store]:
    """An empty store, of every kind that is at hand."""
    with Store(address) as opened:
        yield opened


@pytest.fixture
def file_store(database: Path) -> Iterator[Store]:
    """An empty store in a file, for what only files have."""
    with Store(database) as opened:
        yield opened
