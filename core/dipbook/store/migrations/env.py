"""Runs revisions on a connection given by dipbook.store.migrate, inside its transaction.

The append-only triggers are off while a revision runs (it may fill a new column) and are made anew after
it: rebuilding a table drops its triggers without a word.
"""

from __future__ import annotations

from alembic import context

from dipbook.store import schema, sqlite

connection = context.config.attributes["connection"]
context.configure(connection=connection, target_metadata=schema.metadata, render_as_batch=True,
                  transactional_ddl=True)
with context.begin_transaction():
    sqlite.drop_triggers(connection)
    context.run_migrations()
    sqlite.create_triggers(connection)
