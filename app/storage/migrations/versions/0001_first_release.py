"""The layout of the first release: sites, chosen frames, grounds, settings."""

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects.postgresql import JSONB

revision = "0001"
down_revision = None

DOCUMENT = sa.JSON().with_variant(JSONB(), "postgresql")
INSTANT = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Make the tables."""
    make_sites()
    make_chosen_frames()
    make_grounds()
    make_settings()


def make_sites() -> None:
    """One row for each site, with its site file."""
    op.create_table(
        "sites",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("slug", sa.Text, nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("document", DOCUMENT, nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("created_utc", INSTANT, nullable=False),
        sa.Column("updated_utc", INSTANT, nullable=False),
        sa.UniqueConstraint("slug", name="uq_sites_slug"),
    )


def make_chosen_frames() -> None:
    """One row for each frame ringed on a contact sheet."""
    op.create_table(
        "chosen_frames",
        sa.Column("site_id", sa.Integer, _site("chosen_frames"), primary_key=True),
        sa.Column("setup_id", sa.Text, primary_key=True),
        sa.Column("instant_utc", INSTANT, primary_key=True),
    )


def make_grounds() -> None:
    """What a site's plan is drawn on, at most one row for each site."""
    op.create_table(
        "grounds",
        sa.Column("site_id", sa.Integer, _site("grounds"), primary_key=True),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("picture", sa.LargeBinary),
        sa.Column("media_type", sa.Text),
        sa.Column("width_px", sa.Integer),
        sa.Column("height_px", sa.Integer),
        sa.Column("laying", DOCUMENT, nullable=False),
        sa.Column("tiles_url", sa.Text),
        sa.Column("attribution", sa.Text),
        sa.Column("max_zoom", sa.Integer),
        sa.Column("version", sa.Integer, nullable=False),
        sa.CheckConstraint("kind IN ('blank', 'picture', 'tiles')", name=op.f("ck_grounds_kind")),
    )


def make_settings() -> None:
    """Single values that belong to the whole installation."""
    op.create_table(
        "settings",
        sa.Column("key", sa.Text, primary_key=True),
        sa.Column("value", DOCUMENT, nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
    )


def _site(table: str) -> sa.ForeignKey:
    return sa.ForeignKey("sites.id", ondelete="CASCADE", name=f"fk_{table}_site_id_sites")
