"""An older log is brought up to date, protected as before, with a copy of what it was."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.operations import Operations
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine

from dipbook import store
from dipbook.errors import StoreError
from dipbook.store import migrate, schema, sqlite
from store.drafts_for_logs import a_round, as_plain, remark, samples

NEXT = '''
import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """A column for a later version, by rebuilding the table; and a row touched, as a backfill would."""
    with op.batch_alter_table("record", recreate="always") as batch:
        batch.add_column(sa.Column("shift", sa.Text(), nullable=True))
    op.execute("UPDATE record SET shift = 'night'")
'''


@pytest.fixture
def old(path: Path) -> Path:
    """A log of schema 0001, with something of everything in it."""
    with store.open(path) as log:
        log.append([a_round(0), samples(1), remark(2, uid="x"), remark(3, supersedes="x")])
    return path


@pytest.fixture
def later(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The program one version on: the same scripts and one more. Returns the added revision's file."""
    scripts = tmp_path / "scripts"
    shutil.copytree(migrate.SCRIPTS, scripts, ignore=shutil.ignore_patterns("__pycache__"))
    added = scripts / "versions" / "r0002_shift.py"
    added.write_text(NEXT)
    monkeypatch.setattr(migrate, "SCRIPTS", scripts)
    monkeypatch.setattr(schema, "REVISIONS", (*schema.REVISIONS, "0002"))
    return added


@pytest.fixture
def engine(old: Path) -> Iterator[Engine]:
    made = sqlite.engine(old, "write", foreign_keys=False)
    yield made
    made.dispose()


def differences(connection: Connection) -> list[object]:
    return list(compare_metadata(MigrationContext.configure(connection), schema.metadata))


def tables(connection: Connection) -> dict[str, list[str]]:
    """What the database says its tables are; the order of constraints means nothing."""
    rows = connection.exec_driver_sql("SELECT name, sql FROM sqlite_master WHERE name NOT LIKE 'sqlite_%'")
    return {name: sorted(part.strip(" ,)\n\t") for part in sql.replace('"', "").split("CONSTRAINT"))
            for name, sql in rows}


def test_the_revisions_known_are_the_revisions_shipped() -> None:
    config = Config()
    config.set_main_option("script_location", str(migrate.SCRIPTS).replace("%", "%%"))
    shipped = [s.revision for s in ScriptDirectory.from_config(config).walk_revisions()]
    assert tuple(reversed(shipped)) == schema.REVISIONS


def test_a_new_log_and_one_brought_to_head_equal_the_tables(engine: Engine, tmp_path: Path) -> None:
    with engine.connect() as connection:
        new = tables(connection)
        assert differences(connection) == []
    scratch = sqlite.engine(tmp_path / "from nothing", "new", foreign_keys=False)
    with scratch.connect() as connection, connection.execution_options(writes=True).begin():
        migrate._run(connection, schema.REVISIONS[-1])
        assert differences(connection) == []
        assert tables(connection) == new
        assert sqlite.triggers_wanting(connection) == ()
    scratch.dispose()


def test_the_comparison_would_see_a_difference(engine: Engine) -> None:
    with engine.connect() as connection:
        connection.exec_driver_sql("ALTER TABLE record ADD COLUMN shift TEXT")
        assert len(differences(connection)) == 1


def test_a_table_rebuild_drops_its_triggers_without_a_word(engine: Engine) -> None:
    """Why env.py makes the triggers anew: alembic's rebuild alone leaves the table open."""
    with engine.connect() as connection, connection.execution_options(writes=True).begin():
        assert sqlite.triggers_wanting(connection) == ()
        with Operations(MigrationContext.configure(connection)).batch_alter_table("record", recreate="always"):
            pass
        assert set(sqlite.triggers_wanting(connection)) == {"record_no_update", "record_no_delete",
                                                            "record_no_replace"}


def test_an_older_log_is_brought_up_to_date_and_stays_protected(old: Path, later: Path) -> None:
    with closing(sqlite3.connect(old)) as raw:
        before = raw.execute("SELECT seq, hash FROM record").fetchall()
    with store.open(old) as log:
        (said,) = log.remarks
        assert (said.code, said.severity) == ("upgraded", "note")
        copy = old.with_name("well.log.schema-0001")
        assert str(copy) in said.what
        assert [(r.seq, r.hash) for r in log.records()] == before
        assert log.verify() == ()
        assert log.append([remark(9)])[0].seq == 5
        assert log.verify() == ()
    with closing(sqlite3.connect(old)) as raw:
        assert raw.execute("SELECT version_num FROM alembic_version").fetchone() == ("0002",)
        assert raw.execute("SELECT shift FROM record").fetchall() == [("night",)] * 4 + [(None,)]
        for statement in ("UPDATE record SET shift = 'day'", "DELETE FROM record",
                          "REPLACE INTO record SELECT * FROM record"):
            with pytest.raises(sqlite3.IntegrityError, match="append-only"):
                raw.execute(statement)
    with store.open(old) as log:
        assert log.remarks == ()


def test_the_copy_is_the_log_as_it_was(old: Path, later: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with store.open(old) as log:
        upgraded = log.records()
    monkeypatch.undo()
    with store.open(old.with_name("well.log.schema-0001"), write=False) as copy:
        assert [as_plain(r) for r in copy.records()] == [as_plain(r) for r in upgraded]
        assert copy.verify() == ()


def test_a_revision_that_fails_leaves_the_log_as_it_was(old: Path, later: Path,
                                                        monkeypatch: pytest.MonkeyPatch) -> None:
    later.write_text(NEXT + "    op.execute('UPDATE record SET nonsense = 1')\n")
    for attempt in ("well.log.schema-0001", "well.log.schema-0001-2"):
        with pytest.raises(StoreError, match=r"from schema 0001 to 0002 failed.*The log is as it was, and a copy"):
            store.open(old)
        assert old.with_name(attempt).exists()
    monkeypatch.undo()
    with store.open(old) as log:
        assert len(log.records()) == 4
        assert log.verify() == ()
        assert log.remarks == ()


def test_a_revision_that_tears_records_apart_is_undone(old: Path, later: Path,
                                                       monkeypatch: pytest.MonkeyPatch) -> None:
    later.write_text(NEXT + "    op.execute('DELETE FROM record WHERE seq = 1')\n")
    with pytest.raises(StoreError, match=r"would have torn it.*The log is as it was"):
        store.open(old)
    monkeypatch.undo()
    with store.open(old) as log:
        assert len(log.records()) == 4


def test_a_full_disk_at_the_copy_stops_the_upgrade_before_it_begins(
        old: Path, later: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")
    with monkeypatch.context() as patch:
        patch.setattr(sqlite, "copy_to", full)
        with pytest.raises(StoreError, match="The disk is full"):
            store.open(old)
    with closing(sqlite3.connect(old)) as raw:
        assert raw.execute("SELECT version_num FROM alembic_version").fetchone() == ("0001",)


def test_a_reader_does_not_upgrade(old: Path, later: Path) -> None:
    with pytest.raises(StoreError, match=r"older version \(0001\).*Open it once for writing"):
        store.open(old, write=False)
