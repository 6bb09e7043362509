"""Nothing of a training drill goes into the log of a watch, and nothing of a real well into that of a drill."""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path

import openpyxl
import pytest

from app.real_desks import GAIN, NOW, rig_text
from dipbook import importing, practising, store
from dipbook.drill_folder import marked
from dipbook.errors import StoreError
from dipbook.importing import File
from dipbook.invented import MARK, is_marked, is_marked_file
from dipbook.records import RIG, Draft, numbered
from dipbook.rig import document

MIN = 60_000
RIG_NOW = document.parse(rig_text(GAIN)).rig
RIG_DRAFT = Draft(RIG, NOW - 600 * MIN, NOW - 600 * MIN, payload={"text": rig_text(GAIN), "effective": "change"})
READINGS = File("readings.csv", b"time,Settling [in],Suction [in]\n2026-03-01T08:00:00Z,60,60\n2026-03-01T08:10:00Z,,60\n")
ENTRIES = File("entries.csv", b"time,kind,from,to,volume\n2026-03-01T07:40:00Z,transfer,Reserve 1,Suction,5 bbl\n")
DRILL_LOG = replace(RIG_DRAFT, payload={"text": marked(rig_text(GAIN)), "effective": "change"})
DEMO_RIG = Path(__file__).parents[2] / "demo_data" / "rig-larkspur.toml"


def read(readings: File | None, entries: File | None, draft: Draft = RIG_DRAFT) -> importing.Importable:
    return importing.read(readings, entries, RIG_NOW, numbered([draft]), now_ms=NOW, author="R. Moe")


def as_workbook(data: bytes) -> bytes:
    book, out = openpyxl.Workbook(), io.BytesIO()
    for line in data.decode().splitlines():
        book.active.append(line.split(","))     # as a spreadsheet opens a CSV file
    book.save(out)
    return out.getvalue()


MARKED = f"{MARK}\r\n".encode() + READINGS.data
FORMS = {"as written": MARKED, "with a mark of its encoding": b"\xef\xbb\xbf" + MARKED, "utf-16": MARKED.decode().encode("utf-16"),
         "saved by a spreadsheet": f'"{MARK}",,\r\n'.encode() + READINGS.data,
         "with semicolons": f"{MARK.replace(',', ';')}\r\n".encode() + READINGS.data.replace(b",", b";"),
         "as a workbook": as_workbook(MARKED)}


@pytest.mark.parametrize("form", FORMS)
def test_readings_of_a_drill_are_refused_by_the_log_of_a_watch(form: str) -> None:
    found = read(File("readings.csv", FORMS[form]), None)
    assert [(f.code, f.severity, f.file) for f in found.findings] == [("drill", "error", "readings.csv")]
    assert "training drill" in found.findings[0].what
    assert found.drafts == ()


def test_entries_of_a_drill_are_refused_too_and_nothing_of_the_other_file_is_added() -> None:
    found = read(READINGS, File("entries.csv", f"{MARK}\r\n".encode() + ENTRIES.data))
    assert [(f.code, f.file) for f in found.findings] == [("drill", "entries.csv")]
    assert found.drafts == ()


def test_a_drills_log_takes_its_own_files_and_no_others() -> None:
    assert read(File("readings.csv", MARKED), None, DRILL_LOG).ok
    found = read(READINGS, None, DRILL_LOG)
    assert [f.code for f in found.findings] == ["drill"]
    assert "real well" in found.findings[0].what




def test_every_file_that_a_drill_writes_is_known_as_one(tmp_path: Path) -> None:
    written = practising.write(practising.run(practising.find("swabbed-trip"), 1, DEMO_RIG), tmp_path)
    assert {p.name for p in written} == {"rig.toml", "readings.csv", "entries.csv", "truth.csv", "trip-out.csv"}
    assert all(is_marked_file(p.read_bytes()) for p in written)


def test_a_real_file_and_the_demo_rig_carry_no_mark() -> None:
    assert not importing.is_of_drill(READINGS)
    assert not is_marked(DEMO_RIG.read_text(encoding="utf-8"))


@pytest.mark.parametrize(("role", "text", "says"), [
    ("watch", marked(rig_text(GAIN)), "training drill: it doesn't belong in the log of a watch"),
    ("drill", rig_text(GAIN), "isn't a drill's, and this log is")])
def test_the_store_takes_no_rig_of_the_other_sort(tmp_path: Path, role: str, text: str, says: str) -> None:
    with store.open(tmp_path / "log.dipbook", role) as opened:
        with pytest.raises(StoreError, match=says):
            opened.append([replace(RIG_DRAFT, payload={"text": text})])
        assert opened.last_seq == 0
        other = rig_text(GAIN) if role == "watch" else marked(rig_text(GAIN))
        assert opened.append([replace(RIG_DRAFT, payload={"text": other})])[0].kind == RIG


@pytest.mark.parametrize("role", ["watch", "drill"])
def test_who_asks_the_header_is_told_the_role(tmp_path: Path, role: str) -> None:
    store.open(tmp_path / "log.dipbook", role).close()
    for write in (True, False):
        with store.open(tmp_path / "log.dipbook", None, write=write) as opened:
            assert opened.role == role
    with store.open(tmp_path / "new.dipbook", None) as made:
        assert made.role == "watch"
