"""Instants keep their zone, and PostgreSQL gets its own kind of JSON."""

from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.exc import StatementError
from sqlalchemy.schema import CreateTable

from app.storage.engine import writing
from app.storage.store import Store
from app.storage.tables import Base, ChosenFrameRow, UtcDateTime, in_utc

NAIVE = datetime(2027, 9, 18, 18, 30)


def ddl(table: str, dialect: object) -> str:
    return str(CreateTable(Base.metadata.tables[table]).compile(dialect=dialect))


@pytest.mark.parametrize(
    ("table", "column"), [("sites", "document"), ("grounds", "laying"), ("settings", "value")]
)
def test_documents_are_jsonb_on_postgresql_and_json_on_sqlite(table, column):
    assert f"{column} JSONB NOT NULL" in ddl(table, postgresql.dialect())
    assert f"{column} JSON NOT NULL" in ddl(table, sqlite.dialect())


@pytest.mark.parametrize(("table", "column"), [("sites", "updated_utc"), ("chosen_frames", "instant_utc")])
def test_postgresql_keeps_instants_with_their_zone(table, column):
    assert f"{column} TIMESTAMP WITH TIME ZONE NOT NULL" in ddl(table, postgresql.dialect())


def test_a_time_without_a_zone_is_refused():
    with pytest.raises(ValueError, match="2027-09-18 18:30:00 has no time zone"):
        in_utc(NAIVE)


def test_a_time_without_a_zone_is_refused_even_by_the_table(store: Store):
    store.add_site({"name": "Quay"})
    frame = ChosenFrameRow(site_id=1, setup_id="a", instant_utc=NAIVE)
    with pytest.raises(StatementError, match="has no time zone"), writing(store._engine) as session:
        session.add(frame)


@given(st.datetimes(datetime(1950, 1, 1), datetime(2100, 1, 1)), st.integers(-14 * 60, 14 * 60))
def test_an_instant_comes_back_from_sqlite_as_the_same_instant_in_utc(wall_clock, offset_min):
    instant = wall_clock.replace(tzinfo=timezone(timedelta(minutes=offset_min)))
    column = UtcDateTime()
    kept = column.process_bind_param(instant, sqlite.dialect()).replace(tzinfo=None)  # as SQLite keeps it
    back = column.process_result_value(kept, sqlite.dialect())
    assert back == instant
    assert back.tzinfo is UTC


def test_an_instant_comes_back_from_postgresql_in_utc_whatever_zone_the_server_uses():
    told = datetime(2027, 9, 18, 20, 30, tzinfo=timezone(timedelta(hours=2)))
    back = UtcDateTime().process_result_value(told, postgresql.dialect())
    assert (back, back.tzinfo) == (datetime(2027, 9, 18, 18, 30, tzinfo=UTC), UTC)
