"""Shoots, what was shared of them, the links that open it, and the log of the day."""

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects.postgresql import JSONB

revision = "0004"
down_revision = "0003"

DOCUMENT = sa.JSON().with_variant(JSONB(), "postgresql")
INSTANT = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Make the tables."""
    make_shoots()
    make_revisions()
    make_links()
    make_log()


def make_shoots() -> None:
    """One row for each shoot, with its wishes."""
    op.create_table(
        "shoots",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("slug", sa.Text, nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("document", DOCUMENT, nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("changed_utc", INSTANT, nullable=False),
        sa.UniqueConstraint("slug", name="uq_shoots_slug"),
    )


def make_revisions() -> None:
    """One row for each time that a shoot was shared."""
    op.create_table(
        "shoot_revisions",
        sa.Column("shoot_id", sa.Integer, nullable=False),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("made_utc", INSTANT, nullable=False),
        sa.Column("couple", DOCUMENT, nullable=False),
        sa.Column("crew", DOCUMENT, nullable=False),
        sa.PrimaryKeyConstraint("shoot_id", "number", name="pk_shoot_revisions"),
        _of_a_shoot("shoot_revisions"),
    )


def make_links() -> None:
    """One row for each link; its token itself is not kept."""
    op.create_table(
        "shoot_links",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("shoot_id", sa.Integer, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("token_sha256", sa.Text, nullable=False),
        sa.Column("language", sa.Text, nullable=False),
        sa.Column("made_utc", INSTANT, nullable=False),
        sa.Column("ends_utc", INSTANT, nullable=False),
        sa.Column("withdrawn_utc", INSTANT),
        sa.Column("opened_utc", INSTANT),
        sa.UniqueConstraint("token_sha256", name="uq_shoot_links_token_sha256"),
        _of_a_shoot("shoot_links"),
    )


def make_log() -> None:
    """One row for each thing that happened on the day."""
    op.create_table(
        "shoot_log",
        sa.Column("shoot_id", sa.Integer, nullable=False),
        sa.Column("uid", sa.Text, nullable=False),
        sa.Column("slot", sa.Text, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("at_utc", INSTANT, nullable=False),
        sa.Column("told", DOCUMENT, nullable=False),
        sa.Column("device", sa.Text, nullable=False),
        sa.Column("received_utc", INSTANT, nullable=False),
        sa.PrimaryKeyConstraint("shoot_id", "uid", name="pk_shoot_log"),
        _of_a_shoot("shoot_log"),
    )


def _of_a_shoot(table: str) -> sa.ForeignKeyConstraint:
    name = f"fk_{table}_shoot_id_shoots"
    return sa.ForeignKeyConstraint(["shoot_id"], ["shoots.id"], name=name, ondelete="CASCADE")
