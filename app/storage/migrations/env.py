"""Run by alembic inside the transaction that ``app.storage.migrate`` has begun."""

from alembic import context

from app.storage.tables import Base

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Base.metadata,
    render_as_batch=True,  # SQLite alters a table by making it anew
)
with context.begin_transaction():
    context.run_migrations()
