"""Inputs that nobody should send and somebody will, and what each has to be answered with: words, never a traceback, never
a part of a file. Invented; no source."""

from __future__ import annotations

import csv
import io
import signal
import unicodedata
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import fields
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pytest
from hypothesis import strategies as st

from builders import two_box_rig
from dipbook import importing, quantities, store
from dipbook.errors import QuantityError, RigFileError, StoreError
from dipbook.exchange import long_files, readings
from dipbook.rig import document
from dipbook.store import rows
from dipbook.store.salvage import salvage
from store.drafts_for_logs import as_plain

RIG = two_box_rig()
NOW = 2_000_000_000_000
STANDS_STILL_S = 60
"""An input that isn't answered after so long never will be: most take a thousandth of a second."""
TOP = Path(__file__).parents[2]
DEMO = (TOP / "demo_data" / "rig-larkspur.toml").read_bytes()
FROZEN = (TOP / "tests" / "store" / "frozen" / "schema-0001.dipbook").read_bytes()

ODD = st.sampled_from([
    "", " ", "same", "=1+1", "@SUM(A1)", "-1", "+5", "1e999", "-1e999", "nan", "inf", "1/0", "0/0", "5' 3\"", "5 ft 12 in", "6O",
    "9" * 400, "0." + "0" * 400 + "1", "½", "٣", "६", "−5", "1,5", "1.5.5", "5 bbl", "60%", "1e5000", "0x10", "1_000", "\x00", "\x1b[31m",
    "\u202e5", "\ufeff", "\u2028", "'", '"', '""', "a\"b", "a,b", "a;b", "..", "../../etc/passwd", "C:\\..\\x", "Suction", "suction",
    "Reserve 1", "active", "transfer", "void", "1", "t1", "NULL", "None", "true", "9223372036854775808", "-9223372036854775809"])
TIMES = st.sampled_from([
    "2026-03-01 02:00", "2026-03-01T02:00:00Z", "2026-03-01T02:00:00.123456789Z", "0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-14:00",
    "2026-02-30 00:00", "2026-03-01 24:00", "2026-12-31T23:59:60Z", "2026-03-01T02:00:00+99:99", "1969-12-31 23:59", "2026-03-01",
    "46082.0833", "2026-03-01 02:00 am", "01/02/2026 03:04", "99999-01-01 00:00", "now"])
CELL = st.one_of(ODD, TIMES, st.integers(-5, 120).map(str), st.text(max_size=10),
                 st.text(alphabet="0123456789'\"/.,-+ infteml%½e", max_size=14))
READINGS_HEAD = st.lists(st.one_of(st.sampled_from([
    "time", "Time", "Suction [in]", "Suction [bbl]", "Settling [in]", "Suction", "Suction [%]", "Nobody [in]", "Suction time", "pump 1 [spm]",
    "bit depth [ft]", "hole depth [ft]", "activity", "flow in [gpm]", "flow out [%]", "date", "Reserve 1 [furlong]"]), CELL), min_size=1, max_size=5)
ENTRIES_HEAD = st.lists(st.one_of(st.sampled_from([
    "time", "end", "kind", "by", "id", "supersedes", "reason", "from", "to", "volume [bbl]", "volume", "remark", "state", "rate [bbl/min]",
    "density [lbm/gal[US]]", "mass [kg]", "tank", "what"]), CELL), min_size=1, max_size=9)
KINDS = st.sampled_from(["transfer", "addition", "discard", "void", "remark", "watch", "pump", "slug", "boat", "trip", "mud check", ""])


GOOD_TIME = st.integers(0, 86_399).map(lambda s: f"2026-03-01 {s // 3600:02}:{s // 60 % 60:02}:{s % 60:02}")
GOOD_LEVEL = st.one_of(st.integers(1, 100).map(str), st.decimals(1, 100, places=2).map(str), st.sampled_from(["5' 3\"", "", "60 1/2"]))
GOOD_READINGS = ("time", {"Suction [in]": GOOD_LEVEL, "Settling [in]": GOOD_LEVEL, "Reserve 1 [bbl]": st.integers(1, 300).map(str)})
_TANK, _BBL = st.sampled_from(["Suction", "Settling", "Reserve 1"]), st.integers(1, 60).map(str)
GOOD_ENTRIES = ("time", {
    "kind": st.sampled_from(["transfer", "transfer", "remark", "discard"]), "by": st.sampled_from(["A", "B"]), "from": _TANK,
    "to": st.sampled_from(["Suction", "Settling"]), "volume [bbl]": _BBL, "remark": st.sampled_from(["", "late"]),
    "id": st.integers(0, 9).map(str), "supersedes": st.sampled_from(["", "", "", "1"]), "reason": st.sampled_from(["", "", "wrong"])})


@st.composite
def nearly_good(draw: st.DrawFn, good: tuple[str, dict[str, st.SearchStrategy[str]]]) -> bytes:
    """A file as a crew writes it, in which at most two cells and a few bytes went wrong."""
    head = [good[0], *good[1]]
    lines = [[draw(GOOD_TIME), *(draw(cell) for cell in good[1].values())] for _ in range(draw(st.integers(1, 4)))]
    for _ in range(draw(st.sampled_from([0, 0, 1, 1, 2]))):
        lines[draw(st.integers(0, len(lines) - 1))][draw(st.integers(0, len(head) - 1))] = draw(CELL)
    sep, end = draw(st.sampled_from(",,,;\t")), draw(st.sampled_from(["\n", "\r\n"]))
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=sep, lineterminator=end).writerows([head, *lines])
    return hit(out.getvalue().encode("utf-8", "replace"), draw(st.one_of(st.just([]), HITS)))


@st.composite
def tables_of(draw: st.DrawFn, heads: st.SearchStrategy[list[str]]) -> bytes:
    """A table more or less: a heading, rows, any separator and line end; then some bytes of it are hit."""
    head = draw(heads)
    if draw(st.booleans()) and "time" not in head:
        head = ["time", *head]
    sep, end = draw(st.sampled_from([",", ",", ";", "\t", "|"])), draw(st.sampled_from(["\n", "\n", "\r\n", "\r"]))
    lines = [draw(st.sampled_from(["", "", "# drill\n", "\ufeff"])) + sep.join(head)]
    for _ in range(draw(st.integers(0, 4))):
        row = [draw(TIMES if "time" in h or h == "end" else KINDS if h == "kind" else CELL) for h in head]
        lines.append(sep.join(row[:len(row) - draw(st.sampled_from([0, 0, 0, 0, 1]))]))
    text = end.join(lines) + draw(st.sampled_from([end, end, ""]))
    code = draw(st.sampled_from(["utf-8", "utf-8", "utf-8", "utf-16", "cp1252"]))
    return hit(text.encode(code, "replace"), draw(HITS))


HITS = st.lists(st.tuples(st.floats(0, 1), st.sampled_from(["put", "over", "cut", "twice"]), st.binary(max_size=4)), max_size=3).filter(
    lambda hits: len(hits) != 1)
"""None, two or three: where (as a share of the length), how, with what."""


def hit(data: bytes, hits: list[tuple[float, str, bytes]]) -> bytes:
    """The bytes with some of them put in, written over, cut off or doubled."""
    for where, how, what in hits:
        at = int(where * len(data))
        if how == "put":
            data = data[:at] + what + data[at:]
        elif how == "over":
            data = data[:at] + what + data[at + len(what):]
        elif how == "cut":
            data = data[:at]
        else:
            data = data[:at] + data[at:at + 40] + data[at:]
    return data


def _book() -> bytes:
    book = openpyxl.Workbook()
    for row in (["time", "Suction [in]"], ["2026-03-01 02:00", 60.25], ["2026-03-01 02:15", 60.5]):
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


BOOK = _book()


@st.composite
def workbooks(draw: st.DrawFn) -> bytes:
    """A workbook whose bytes are hit outside, or inside one of its parts, which is then packed again, under any name."""
    hits = draw(HITS)
    if draw(st.booleans()):
        return hit(BOOK, hits)
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(BOOK)) as packed, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as again:
        chosen = draw(st.sampled_from(packed.namelist()))
        for name in packed.namelist():
            part = packed.read(name)
            again.writestr(draw(st.sampled_from([name, "../" + name])) if name == chosen else name, hit(part, hits) if name == chosen else part)
    return out.getvalue()


@contextmanager
def answered() -> Iterator[None]:
    """Within it, what stands still fails."""
    def still(*_: object) -> None:
        raise AssertionError(f"no answer in {STANDS_STILL_S} s")
    if not hasattr(signal, "setitimer"):
        yield
        return
    before = signal.signal(signal.SIGALRM, still)
    signal.setitimer(signal.ITIMER_REAL, STANDS_STILL_S)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)


def assert_plain(*words: str) -> None:
    """Nothing in words that a terminal would obey."""
    for text in words:
        assert not any(unicodedata.category(c) in ("Cc", "Cs") and c != "\n" for c in text), repr(text)


def import_is_whole_or_refused(data: bytes, which: str) -> bool:
    """A file as readings or entries: refused with nothing to add, or all of it can be stored. True if it was taken."""
    file = importing.File("f.csv", data)
    with answered():
        found = importing.read(file if which == "readings" else None, file if which == "entries" else None, RIG, (), now_ms=NOW, author="A")
    for finding in found.findings:
        assert_plain(finding.what, finding.where)
    if not found.ok:
        assert found.drafts == ()
        return False
    assert importing.still_stands(found, ()) == (found.drafts, ())
    for n, draft in enumerate(found.drafts, 1):
        rows.settle(draft, seq=n, uid=draft.uid or str(n), station="s", prev_hash="0")
    return bool(found.drafts)


def both_readers_agree(data: bytes) -> bool:
    """The reader of long files says what the careful one says. True if it read it."""
    with pytest.MonkeyPatch.context() as patch, answered():
        patch.setattr(long_files, "LEAST_BYTES", 0)
        quick = long_files.parse_long(data, "f.csv", RIG)
        patch.setattr(readings, "parse_long", lambda *_: None)
        careful = readings.parse(data, "f.csv", RIG)
    if quick is None:
        return False
    for field in fields(quick):
        if field.name != "series":
            assert getattr(quick, field.name) == getattr(careful, field.name), field.name
    assert [(s.tank, s.what) for s in quick.series] == [(s.tank, s.what) for s in careful.series]
    for one, other in zip(quick.series, careful.series, strict=True):
        np.testing.assert_array_equal(one.t_ms, other.t_ms)
        np.testing.assert_array_equal(one.v, other.v)
    return True


def rig_is_read_or_refused(data: bytes, path: Path) -> bool:
    """A rig file: a rig, or every problem in words. True if it is a rig."""
    path.write_bytes(data)
    try:
        with answered():
            document.read(path)
    except RigFileError as error:
        problems = error.problems
    else:
        return True
    assert problems
    assert_plain(*problems)
    return False


def field_is_read_or_refused(text: str, decimal: str) -> bool:
    """What is typed into a level's field: a number that is one, or words. True if it was read."""
    try:
        with answered():
            dip = quantities.read_dip(text, decimal=decimal, level_unit="in", volume_unit="bbl", percent_of="brim")
    except QuantityError as error:
        assert_plain(str(error))
        return False
    assert dip.as_typed == text
    if dip.kind in ("unchanged", "not gauged"):
        assert np.isnan(dip.value)
    else:
        assert np.isfinite(dip.value)
    return True


def log_is_told_apart(data: bytes, folder: Path, whole: list[tuple[Any, ...]]) -> str:
    """A log's file: refused in words, found out by ``verify``, or all there. Nothing false comes out of it or of its salvage.

    whole: the records that the file held, by ``as_plain``. Returns which of the three it was.
    """
    path, new = folder / "hit.dipbook", folder / "new.dipbook"
    for old in folder.iterdir():
        old.unlink()
    path.write_bytes(data)
    try:
        with answered(), store.open(path, write=False) as log:
            found = log.verify()
            told = "found out" if found else "all there"
            with suppress(StoreError):
                log.records()
            if not found:
                assert [as_plain(r) for r in log.records()] == whole
            for finding in found:
                assert_plain(finding.what)
    except StoreError:
        told = "refused"
    assert path.read_bytes() == data
    try:
        with answered():
            made = salvage(path, new, now_ms=NOW)
    except StoreError:
        assert not new.exists()
        return told
    with store.open(new, write=False) as log:
        assert log.verify() == ()
        there = [as_plain(r) for r in log.records()]
    assert there[:made.as_they_were] == whole[:made.as_they_were]
    known = {r[1]: r for r in whole}
    for r in there[made.as_they_were:]:
        if r[1] in known:  # all but the remark that says what was done
            assert r[2:7] == known[r[1]][2:7]
            assert r[7] == known[r[1]][7]
    return told
