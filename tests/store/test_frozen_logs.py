"""Logs as each released schema wrote them, frozen: every one opens here, whole, and can be gone on with.

A file here is never made anew. A new schema adds one, by ``Store.backup`` of the program that released it, and its seals
below.
"""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from dipbook import store
from dipbook.records import Record
from dipbook.store import schema
from store.drafts_for_logs import T0, remark

FROZEN = Path(__file__).parent / "frozen"
SEALS = {
    "0001": ("1ad59b3cde535693360154ab1fbb35c2be3b5865e6b560098291033d510c14b4",
             "33be0bc458bc1f6ad6801e7800dbea8e37f56e38a0259f1b74650ff3bbdc2cd0",
             "f067840824e177b2dd01685d87ce2fdc1e029e2fcc415e7cd5e46f2b4dfa5578",
             "20f2802ca3c89e41da207d8ef5e152227f2f72e309c94369dfaf661e80b6ccbc",
             "2fa89f04c985fd5151ce4e0ed327fb58262813cff4136a85b97520eb2770cb86"),
}
"""Schema -> the seals of the frozen log's records, as they were written."""


def test_every_released_schema_has_its_frozen_log() -> None:
    assert sorted(SEALS) == sorted(schema.REVISIONS)
    assert sorted(p.name for p in FROZEN.iterdir()) == [f"schema-{revision}.dipbook" for revision in sorted(SEALS)]


@pytest.mark.parametrize("revision", sorted(SEALS))
def test_a_log_of_that_schema_opens_whole_and_goes_on(revision: str, tmp_path: Path) -> None:
    path = tmp_path / "old.dipbook"
    shutil.copy(FROZEN / f"schema-{revision}.dipbook", path)
    with store.open(path, create=False) as log:
        assert bool(log.remarks) == (revision != schema.REVISIONS[-1])
        assert log.verify() == ()
        records = log.records()
        assert tuple(r.hash for r in records) == SEALS[revision]
        _holds_what_was_written(records)
        assert log.append([remark(20)])[0].seq == len(records) + 1
        assert log.verify() == ()


def _holds_what_was_written(records: tuple[Record, ...]) -> None:
    """Read back by value too: a seal can't tell that a value is read otherwise than it was meant."""
    assert [r.kind for r in records] == ["round", "samples", "remark", "remark", "void"]
    assert [r.supersedes for r in records] == [None, None, None, "remark", "round"]
    assert [(d.tank, d.as_typed, d.level_m, d.volume_m3, d.flag, d.unchanged) for d in records[0].dips] == [
        ("Suction", "5' 3 1/2\"", 1.6129, None, "", False), ("Reserve", "212 bbl", None, 33.7053, "clipped", False),
        ("Pill", "same", None, None, "", True)]
    (block,) = records[1].blocks
    assert (block.channel, len(block.t_ms), int(block.t_ms[0]), int(block.t_ms[-1])) == (
        "tank:Suction:level", 4_000, T0 + 1, T0 + 1 + 3_999_000)
    assert float(block.v[0]) == 2.0
    assert dict(records[3].payload) == {"remark": "number 3"}
    assert (records[4].reason, records[4].offset_min, records[4].author) == ("twice", -360, "Ada")
