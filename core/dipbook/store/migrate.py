"""Bringing an older log up to date. Alembic is imported here and only when there is something to do."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Engine

from dipbook.errors import StoreError
from dipbook.findings import Finding
from dipbook.store import backup, schema, sqlite
from dipbook.store.failures import in_words

SCRIPTS = Path(__file__).parent / "migrations"


def upgrade(engine: Engine, path: Path, revision: str) -> Finding:
    """Copy the log beside itself, then bring its schema to the newest revision, all or nothing.

    engine: open for writing, with the lock held. path: the file. revision: the one it has now. Returns a note
    that names the copy. Raises StoreError if it fails; the log is then as it was.
    """
    head = schema.REVISIONS[-1]
    copy = _free_name(path.with_name(f"{path.name}.schema-{revision}"))
    backup.backup(engine, path, copy)
    kept = f"The log is as it was, and a copy of it is at {copy}."
    engine.dispose()
    # A rebuilt table is dropped and renamed, which foreign keys would take for the loss of its rows.
    loose = sqlite.engine(path, "write", foreign_keys=False)
    try:
        with (in_words(path, f"Bringing the log from schema {revision} to {head}", kept),
              loose.connect() as connection, connection.execution_options(writes=True).begin()):
            _run(connection, head)
            torn = sqlite.loose_rows(connection)
            if torn:
                raise StoreError(f"Bringing the log to schema {head} would have torn it ({torn[0]}): {path}. "
                                 f"{kept} Go on with the version that made it and report this.")
    finally:
        loose.dispose()
    return Finding(f"The log was brought from schema {revision} to {head}. As it was, it is kept at {copy}.",
                   code="upgraded", severity="note", file=path.name)


def _run(connection: object, head: str) -> None:
    from alembic import command
    from alembic.config import Config
    from alembic.util import CommandError

    config = Config()
    config.set_main_option("script_location", str(SCRIPTS).replace("%", "%%"))
    config.attributes["connection"] = connection
    try:
        command.upgrade(config, head)
    except CommandError as error:
        raise StoreError(f"The log can't be brought up to date: {error}. It is as it was. "
                         "Go on with the version that made it and report this.") from error


def _free_name(path: Path) -> Path:
    n, free = 1, path
    while free.exists():
        n += 1
        free = path.with_name(f"{path.name}-{n}")
    return free
