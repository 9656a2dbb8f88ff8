"""Who has come in by the owner's door, and who tried in vain."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"

INSTANT = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Make the tables of sessions and of wrong tries."""
    op.create_table(
        "sessions",
        sa.Column("token_sha256", sa.Text, primary_key=True),
        sa.Column("opened_utc", INSTANT, nullable=False),
        sa.Column("ends_utc", INSTANT, nullable=False),
    )
    op.create_table(
        "wrong_tries",
        sa.Column("who", sa.Text, primary_key=True),
        sa.Column("count", sa.Integer, nullable=False),
        sa.Column("last_utc", INSTANT, nullable=False),
    )
