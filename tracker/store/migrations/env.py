"""Alembic's entry: runs the migrations on the connection it is handed."""

from alembic import context

from tracker.store.tables import METADATA

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=METADATA,
    compare_type=True,
    compare_server_default=False,
)
with context.begin_transaction():
    context.run_migrations()
