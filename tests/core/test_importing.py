"""What files would add to a log: counted, compared with what is there, refused whole; nothing is stored here."""

from __future__ import annotations

from pathlib import Path

import pytest

from app.real_desks import GAIN, NOW, rig_text
from dipbook import importing
from dipbook.errors import ImportFileError
from dipbook.importing import File
from dipbook.records import RIG, ROUND, Dip, Draft, Record, numbered
from dipbook.rig import document

MIN = 60_000
RIG_NOW = document.parse(rig_text(GAIN)).rig
RIG_DRAFT = Draft(RIG, NOW - 600 * MIN, NOW - 600 * MIN, payload={"text": rig_text(GAIN), "effective": "change"})
READINGS = File("readings.csv", b"time,Settling [in],Suction [in]\n2026-03-01T08:00:00Z,60,60\n"
                                b"2026-03-01T07:30:00Z,60,61\n2026-03-01T08:10:00Z,,60\n")
ENTRIES = File("entries.csv", b"time,kind,id,supersedes,reason,from,to,volume\n"
                              b"2026-03-01T07:40:00Z,transfer,t1,,,Reserve 1,Suction,5 bbl\n"
                              b"2026-03-01T07:45:00Z,transfer,t2,,,Reserve 1,Suction,6 bbl\n")


def read(readings: File | None, entries: File | None, records: tuple[Record, ...]) -> importing.Importable:
    return importing.read(readings, entries, RIG_NOW, records, now_ms=NOW, author="R. Moe")


def log(*drafts: Draft) -> tuple[Record, ...]:
    return numbered([RIG_DRAFT, *drafts])


def test_a_file_is_counted_with_its_tanks_its_span_and_what_is_new() -> None:
    found = read(READINGS, ENTRIES, log())
    assert found.ok
    readings, entries = found.counts
    assert (readings.rows, readings.tanks, readings.items, readings.new) == (3, ("Settling", "Suction"), 5, 5)
    assert readings.last_ms is not None
    assert readings.first_ms is not None
    assert (readings.last_ms - readings.first_ms) == 40 * MIN
    assert (entries.kinds, entries.items, entries.new) == ({"Transfer": 2}, 2, 2)
    assert {d.author for d in found.drafts if d.kind == "samples"} == {"R. Moe"}


def test_what_the_log_has_already_is_told_from_what_is_new() -> None:
    records = log(*read(READINGS, ENTRIES, log()).drafts)
    again = read(READINGS, ENTRIES, records)
    assert again.ok
    assert again.drafts == ()
    assert [c.new for c in again.counts] == [0, 0]
    longer = File("longer.csv", READINGS.data + b"2026-03-01T08:12:00Z,60,60\n")
    found = read(longer, None, records)
    assert [(c.items, c.new, c.differing) for c in found.counts] == [(7, 2, 0)]


def test_a_reading_that_differs_from_the_logs_of_the_same_time_is_said() -> None:
    records = log(*read(READINGS, None, log()).drafts)
    other = File("other.csv", READINGS.data.replace(b"60,61", b"60,62"))
    found = read(other, None, records)
    assert [(c.new, c.differing) for c in found.counts] == [(1, 1)]
    assert "1 of the readings differ" in next(f.what for f in found.findings if f.code == "differs")


def test_a_dip_of_a_round_is_known_too() -> None:
    t = 1_772_352_000_000  # 2026-03-01T08:00:00Z
    dips = (Dip("Settling", t, "60", 60 * 0.0254), Dip("Suction", t, "60", 60 * 0.0254))
    found = read(READINGS, None, log(Draft(ROUND, t, t, payload={"start_ms": t, "end_ms": t}, dips=dips)))
    assert [c.new for c in found.counts] == [3]


def test_one_bad_row_leaves_no_draft_of_either_file() -> None:
    bad = File("entries.csv", ENTRIES.data.replace(b"Suction,6 bbl", b"Sucton,6 bbl"))
    found = read(READINGS, bad, log())
    assert not found.ok
    assert found.drafts == ()
    assert [(f.file, f.line) for f in found.findings if f.severity == "error"] == [("entries.csv", 3)]
    assert [c.what for c in found.counts] == ["readings"]


def test_a_file_read_before_still_stands_unless_the_log_changed_under_it() -> None:
    correction = File("entries.csv", b"time,kind,supersedes,reason,volume\n,correction,t1,misread,7 bbl\n")
    records = log(*read(None, ENTRIES, log()).drafts)
    found = read(None, correction, records)
    assert found.ok, found.findings
    assert importing.still_stands(found, records) == (found.drafts, ())
    n = len(records)
    remark = numbered([Draft("remark", NOW, NOW, payload={"remark": "x"})], n + 1)
    assert importing.still_stands(found, (*records, *remark)) == (found.drafts, ())
    same = numbered(list(found.drafts), n + 1)
    drafts, findings = importing.still_stands(found, (*records, *same))
    assert drafts == ()
    assert findings[0].code == "meanwhile"
    other_rig = numbered([Draft(RIG, NOW, NOW, payload=RIG_DRAFT.payload)], n + 1)
    assert importing.still_stands(found, (*records, *other_rig))[1][0].severity == "error"


def test_the_steps_are_told_and_what_they_raise_ends_the_work() -> None:
    said: list[str] = []
    importing.read(READINGS, ENTRIES, RIG_NOW, log(), now_ms=NOW, author="", step=said.append)
    assert said == ["Reading readings.csv …", "Comparing readings.csv with the log …", "Reading entries.csv …"]

    def stop(words: str) -> None:
        raise KeyError(words)

    with pytest.raises(KeyError):
        importing.read(READINGS, ENTRIES, RIG_NOW, log(), now_ms=NOW, author="", step=stop)


def test_a_file_that_cant_be_opened_is_said_with_its_path(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_bytes(b"x")
    assert importing.load(tmp_path / "a.csv") == File("a.csv", b"x")
    for path in (tmp_path / "none.csv", tmp_path):
        with pytest.raises(ImportFileError, match=r"The file can't be opened \(.*\): "):
            importing.load(path)
