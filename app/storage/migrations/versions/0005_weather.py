"""Forecasts as fetched, services that asked for peace, what was seen of a day, and the checks made of it."""

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects.postgresql import JSONB

revision = "0005"
down_revision = "0004"

DOCUMENT = sa.JSON().with_variant(JSONB(), "postgresql")


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "weather_answers",
        sa.Column("source", sa.Text, nullable=False),
        sa.Column("spot", sa.Text, nullable=False),
        sa.Column("body", sa.Text, nullable=False),
        sa.Column("fetched_utc_s", sa.Double, nullable=False),
        sa.Column("ask_again_utc_s", sa.Double, nullable=False),
        sa.Column("last_modified", sa.Text),
        sa.PrimaryKeyConstraint("source", "spot", name="pk_weather_answers"),
    )
    op.create_table(
        "weather_waits",
        sa.Column("source", sa.Text, primary_key=True),
        sa.Column("until_utc_s", sa.Double, nullable=False),
        sa.Column("times", sa.Integer, nullable=False),
    )
    _make_days()
    _make_checks()


def _make_days() -> None:
    op.create_table(
        "weather_days",
        sa.Column("site_id", sa.Integer, nullable=False),
        sa.Column("day", sa.Text, nullable=False),
        sa.Column("seen", DOCUMENT),
        sa.Column("reports", sa.Text, nullable=False),
        sa.Column("reports_utc_s", sa.Double),
        sa.PrimaryKeyConstraint("site_id", "day", name="pk_weather_days"),
        sa.ForeignKeyConstraint(["site_id"], ["sites.id"], name="fk_weather_days_site_id_sites", ondelete="CASCADE"),
    )


def _make_checks() -> None:
    op.create_table(
        "morning_checks",
        sa.Column("shoot_id", sa.Integer, nullable=False),
        sa.Column("checked_utc_s", sa.Double, nullable=False),
        sa.Column("told", DOCUMENT, nullable=False),
        sa.PrimaryKeyConstraint("shoot_id", "checked_utc_s", name="pk_morning_checks"),
        sa.ForeignKeyConstraint(["shoot_id"], ["shoots.id"], name="fk_morning_checks_shoot_id_shoots", ondelete="CASCADE"),
    )
