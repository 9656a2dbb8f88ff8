"""The heights of the ground around each site."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Make the table of terrains, at most one row for each site."""
    op.create_table(
        "terrains",
        sa.Column("site_id", sa.Integer, _site(), primary_key=True),
        sa.Column("data", sa.LargeBinary, nullable=False),
        sa.Column("source", sa.Text, nullable=False),
        sa.Column("attribution", sa.Text, nullable=False),
        sa.Column("loaded_utc", sa.DateTime(timezone=True), nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
    )


def _site() -> sa.ForeignKey:
    return sa.ForeignKey("sites.id", ondelete="CASCADE", name="fk_terrains_site_id_sites")
