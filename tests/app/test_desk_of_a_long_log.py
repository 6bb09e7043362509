"""A desk on a log with more samples than it holds is the desk that holds them all: in what it shows, warns of and corrects.

Ten days of two sensed tanks, a reading a minute; invented. "More than it holds" is made small here.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import fields
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QCoreApplication
from PySide6.QtWidgets import QApplication
from real_desks import GAIN, IN, MIN, NOW, OVERDUE, Bench, Hands, bench, make_log, rig_text

from books.test_learning_is_building import assert_alike
from dipbook import importing, long_log, reports, store
from dipbook.books import build
from dipbook.errors import DipbookError
from dipbook.records import SAMPLES, Block, Draft
from dipbook_app import log_books
from dipbook_app.cli.report import report

DAYS, DAY = 10, 24 * 60 * MIN
BEGIN = NOW - DAYS * DAY
FIGURES = ("actual_m3", "expected_m3", "difference_m3", "u_m3", "written_off_m3", "all_surface_difference_m3", "zero_ms", "reading_ms",
           "partial", "held", "watched", "trend", "trend_words", "tanks", "connections", "terms", "drift", "warnings")
pytestmark = pytest.mark.usefixtures("qapp")


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The log: a zero and a connection each twelve hours, transfers, half a day a file, rounds of the reserve tank."""
    path = make_log(tmp_path_factory.mktemp("long") / "long.dipbook", rig_text(GAIN, OVERDUE), BEGIN - DAY)
    chance = np.random.default_rng(1)
    drafts: list[Draft] = []
    for half in range(2 * DAYS):
        t0 = BEGIN + half * DAY // 2
        t = t0 + MIN * np.arange(720, dtype=np.int64)
        drafts.append(Draft(SAMPLES, t0, t0 + DAY // 2, payload={"source": "import", "digest": str(half)}, blocks=tuple(
            Block(f"tank:{tank}:level", t, (60 + chance.normal(0, 0.05, 720)) * IN) for tank in ("Settling", "Suction"))))
        drafts.append(Draft("zero", t0 + 5 * MIN, t0 + 5 * MIN, author="A", payload={"reason": "tour", "length_m": 0.0}))
        drafts.append(Draft("transfer", t0 + 60 * MIN, t0 + 60 * MIN, author="A", payload={
            "from": "Reserve 1", "to": "Suction", "volume_m3": 0.5, "end_ms": t0 + 70 * MIN}))
        drafts += [Draft("pumps", t0 + at * MIN, t0 + at * MIN, author="A", payload={"state": state, "flow_m3_s": 0.03 if state == "on" else None})
                   for at, state in ((10, "on"), (200, "off"), (210, "on"))]
    with store.open(path, station="test") as log:
        log.append(drafts)
    return path


@pytest.fixture
def both(made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[tuple[Bench, Bench]]:
    """A desk that holds what it needs, and one that holds all, on copies of the log."""
    paths = [Path(shutil.copy(made, tmp_path / name)) for name in ("part.dipbook", "all.dipbook")]
    with bench(paths[1], Hands()) as whole:
        monkeypatch.setattr(long_log, "MANY", 5_000)
        with bench(paths[0], Hands()) as part:
            assert whole.desk._books.whole is None
            assert part.desk._books.whole is not None
            yield part, whole


def held(b: Bench) -> int:
    return sum(len(s) for s in b.desk._books.dips.values())


def assert_same(part: Bench, whole: Bench) -> None:
    for name in FIGURES:
        one, other = getattr(part.situation, name), getattr(whole.situation, name)
        if name == "written_off_m3":
            assert one == pytest.approx(other, abs=1e-9)
        elif name == "warnings":
            assert [(w.name, w.state, w.text) for w in one] == [(w.name, w.state, w.text) for w in other]
        else:
            assert_alike(one, other, name)


def step(b: Bench, inches: float) -> None:
    b.hands.pass_(5)
    b.round(settling=60 + inches)


def test_it_shows_warns_and_corrects_as_one_that_holds_all(both: tuple[Bench, Bench]) -> None:
    part, whole = both
    assert held(part) < held(whole) / 4
    assert part.situation.actual_m3 is not None
    assert_same(part, whole)
    for b in both:
        step(b, 4)
    assert part.states().get("gain") == "raised"
    assert_same(part, whole)
    begin = part.desk._books.whole[-1][0]
    for b in both:          # an entry of a day and a half ago: it has to look farther back
        found = b.desk.log_entry("addition", {"to": "Suction", "volume": "9 bbl"}, t_ms=NOW - 3 * DAY // 2, end_ms=NOW - 3 * DAY // 2 + 9 * MIN, author="A")
        assert not [f for f in found if f.severity == "error"]
        b.settle()
    assert part.desk._books.whole[-1][0] < begin - 5 * 60 * MIN
    assert_same(part, whole)
    assert len({r.seq for r in part.situation.records}) == len(part.situation.records) == len(whole.situation.records)
    assert not part.failed
    for b in both:          # and one of nine: its figures count, the hours then aren't judged again, and that is said
        b.desk.log_entry("addition", {"to": "Suction", "volume": "9 bbl"}, t_ms=NOW - 9 * DAY, end_ms=NOW - 9 * DAY + 9 * MIN, author="A")
        b.settle()
    QCoreApplication.processEvents()
    assert part.failed[-1].startswith("Saved, and the figures of now count with it.")
    assert_same(part, whole)


def test_what_it_no_longer_needs_is_let_go(both: tuple[Bench, Bench], monkeypatch: pytest.MonkeyPatch) -> None:
    _, whole = both
    before = held(whole)
    monkeypatch.setattr(log_books.long_log, "MANY", 5_000)
    step(whole, 0)
    whole.desk._look_at_gauges()
    assert held(whole) < before / 4
    step(whole, 4)
    assert whole.states().get("gain") == "raised"


def test_a_day_of_the_past_is_reviewed_as_if_all_were_held_and_too_much_is_refused(
        both: tuple[Bench, Bench], monkeypatch: pytest.MonkeyPatch) -> None:
    part, whole = both
    span = reports.Span(NOW - 6 * DAY, NOW - 5 * DAY)
    one, other = (reports.report(b.desk.books_apart().over(span), span) for b in both)
    tables = [reports.tables(r) for r in (one, other)]
    for a, b in zip(*tables, strict=True):
        assert_alike(a, b, a.title)
    assert_alike(one.trend, other.trend, "trend")
    said: list[str] = []
    few, many = part.desk.books_apart().overview(said.append), whole.desk.books_apart().overview(said.append)
    assert few is not None
    assert many is not None
    assert (few.raised, few.from_ms // DAY, few.to_ms // DAY) == (many.raised, many.from_ms // DAY, many.to_ms // DAY)
    assert np.isfinite(few.difference_m3).sum() > 1_000, "and of the ten days each ten minutes"
    monkeypatch.setattr(log_books, "MOST", 4_000)
    with pytest.raises(DipbookError, match=r"0 million readings. Choose one of 1\.4 days or less"):
        part.desk.books_apart().over(reports.Span(NOW - 6 * DAY, NOW - 4 * DAY))


def test_a_file_of_last_week_is_compared_with_what_is_on_the_disk(both: tuple[Bench, Bench], tmp_path: Path) -> None:
    t0 = NOW - 6 * DAY
    file = tmp_path / "last week.csv"
    with store.open(both[1].path, write=False) as log:
        t, v = log.series("tank:Suction:level", t0, t0 + 30 * MIN)
    v = v.copy()
    v[3] += IN
    rows = [f"{datetime.fromtimestamp(a / 1000, UTC):%Y-%m-%dT%H:%M:%SZ},{x / IN!r}" for a, x in zip(t.tolist(), v.tolist(), strict=True)]
    file.write_text("\n".join(["time,Suction [in]", *rows, f"{datetime.fromtimestamp((t0 + 30_500) / 1000, UTC):%Y-%m-%dT%H:%M:%SZ},60"]) + "\n")
    looked = [importing.read(importing.load(file), None, b.situation.rig, b.situation.records, now_ms=NOW, author="A", held=b.desk.held())
              for b in both]
    assert both[0].desk.held() is not None
    assert both[1].desk.held() is None
    assert [(c.items, c.new, c.differing) for f in looked for c in f.counts] == [(32, 2, 1)] * 2
    assert (both[0].situation.all_samples, both[1].situation.all_samples) == (False, True)


def test_the_report_of_a_tour_is_that_of_the_whole_log(made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, qapp: QApplication) -> None:
    written = []
    for many in (long_log.MANY, 5_000):
        monkeypatch.setattr(long_log, "MANY", many)
        folder = tmp_path / str(many)
        report(made, tmp_path / f"{many}.pdf", from_="2026-02-24 06:00", until="2026-02-24 18:00", csv=folder)
        written.append({p.name: p.read_bytes() for p in sorted(folder.iterdir())})
    assert written[0] == written[1]
    assert len(written[0]) > 3


def test_the_records_are_all_there(made: Path) -> None:
    """That the history above is what it is taken for."""
    with store.open(made, write=False) as log:
        books = build(log.records())
        bare = log.records(samples=False)
        assert not any(r.blocks for r in bare)
        assert [tuple(getattr(a, f.name) for f in fields(a) if f.name != "blocks") for a in bare] == [
            tuple(getattr(b, f.name) for f in fields(b) if f.name != "blocks") for b in books.records]
        assert log.extent() == (DAYS * 1440 * 2, NOW - MIN)
        assert log.extent(NOW - DAY, NOW)[0] == pytest.approx(2 * 1440, abs=4 * 60)
        spans = [(NOW - 3 * DAY, NOW - 3 * DAY + 30 * MIN), (NOW - 5 * DAY, NOW - 5 * DAY)]
        from dipbook.some_samples import only
        for some, r in zip(log.with_samples(bare, spans), books.records, strict=True):
            assert_alike(some.blocks, only(r, spans).blocks)
