"""Alembic's entry: runs the migrations on the connection that `storage.migrate` hands over."""

from __future__ import annotations

from alembic import context

from service.storage.tables import Table

connection = context.config.attributes["connection"]
context.configure(
    connection=connection, target_metadata=Table.metadata, render_as_batch=True, transaction_per_migration=True
)
with context.begin_transaction():
    context.run_migrations()
