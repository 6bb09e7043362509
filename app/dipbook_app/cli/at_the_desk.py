"""Commands that write to a log without a window: a desk is opened on it, so that what they raise is in the log too."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from dipbook import importing, store
from dipbook.cautions import CAUTION
from dipbook.errors import DipbookError, StoreError
from dipbook.exchange.foreign import NOTHING_SAID
from dipbook.exchange.mapping import Mapping
from dipbook.exchange.times import rig_time
from dipbook.findings import Finding
from dipbook.rig import document
from dipbook.rig.changes import difference_in_words
from dipbook.situation import Situation, WarningView
from dipbook_app.cli import other_forms

if TYPE_CHECKING:
    from dipbook_app.desk import Desk

DONE, REFUSED = 0, 2
NOTHING_DIFFERENT = "This is what the log has already: nothing was changed."


def add(log: Path, readings: Path | None, entries: Path | None, by: str, *, said: Mapping = NOTHING_SAID,
        good_rows_only: bool = False, save_mapping: Path | None = None) -> int:
    """Add files to a log, all or nothing. Returns 0 if they are in the log now, 2 if refused.

    by: who adds them. said: of readings of another form; good_rows_only: leave out rows that can't be read;
    save_mapping: where to write what the columns are, also where the file is refused.
    """
    if readings is None and entries is None:
        raise DipbookError("Nothing to add: give --readings, --entries or both.")
    if not by.strip():
        raise DipbookError("Say who adds the files: --by NAME.")
    with _desk(log) as desk:
        before = desk.situation.warnings
        files = [importing.load(path) if path is not None else None for path in (readings, entries)]
        found = importing.read(files[0], files[1], desk.situation.rig, desk.situation.records, now_ms=desk.now_ms(),
                               author=by.strip(), said=said, good_rows_only=good_rows_only, held=desk.held())
        if save_mapping is not None and readings is not None:
            other_forms.save(found.other, save_mapping)
        told: list[str] = []
        desk.said.connect(told.append)
        findings = desk.add(found)
        if _say_findings(findings):
            if any(f.code == "asked" for f in findings):
                print(other_forms.HOW, file=sys.stderr)
            if found.could_leave_out:
                print(f"--good-rows-only would leave out {found.could_leave_out} "
                      f"{'row' if found.could_leave_out == 1 else 'rows'}.", file=sys.stderr)
            print("Nothing was added.", file=sys.stderr)
            return REFUSED
        for count in found.counts:
            things = "dips" if count.what == "readings" else "entries"
            print(f"{count.name}: {count.rows} rows, {count.items} {things}, {count.new} new")
        for words in told:
            print(words)
        _say_raised(before, desk.situation)
    return DONE


def adopt(log: Path, rig: Path, by: str, reason: str, *, correction: bool) -> int:
    """Adopt a rig file. by, reason: who and why. correction: it was always so. Returns 0 if adopted, 2 if refused."""
    doc = document.read(rig)
    with _desk(log) as desk:
        differences = difference_in_words(desk.situation.rig, doc.rig)
        if not differences:
            print(NOTHING_DIFFERENT)
            return DONE
        for words in differences:
            print(words)
        before = desk.situation.warnings
        findings = desk.adopt_rig(doc.text, author=by, reason=reason,
                                  effective="correction" if correction else "change")
        if _say_findings(findings):
            print("Nothing was adopted.", file=sys.stderr)
            return REFUSED
        print(f"Adopted {rig.name} as a {'correction: it was always so' if correction else 'change, from now on'}.")
        _say_raised(before, desk.situation)
    return DONE


def _say_raised(before: Sequence[WarningView], now: Situation) -> None:
    """Say what was raised, or raised again, and the caution with it."""
    waited = {w.occurrence for w in before if w.sounding}
    raised = [w for w in now.warnings if w.sounding and w.occurrence not in waited]
    for warning in raised:
        print(f"{rig_time(warning.raised_ms, now.rig.zone, seconds=True)[:19]}  RAISED  {warning.name}: {warning.text}")
    if raised:
        print(f"\n{CAUTION}")


def _say_findings(findings: tuple[Finding, ...]) -> bool:
    """Say what was found; True if an error is among it."""
    wrong = False
    for finding in findings:
        words = f"{finding.where}: {finding.what}" if finding.where else finding.what
        error = finding.severity == "error"
        wrong |= error
        print(words, file=sys.stderr) if error else print(f"finding  {words}")
    return wrong


@contextmanager
def _desk(log: Path) -> Iterator[Desk]:
    """A desk on a log, with nothing but this command at work. What it wrote is on the disk when it is left."""
    try:
        from PySide6.QtCore import QCoreApplication

        from dipbook_app.clock import Clock
        from dipbook_app.desk import Desk
        from dipbook_app.drilling import beginning
    except ImportError as error:
        raise DipbookError(f"Qt can't be loaded ({error}). README names what it needs.") from None
    app = QCoreApplication.instance() or QCoreApplication(["dipbook"])
    opened = store.open(log, None, station="desk", create=False)
    try:
        if beginning.in_window(opened):
            raise DipbookError("This is the log of a drill that was done in the window: it takes nothing more. Nothing "
                               "was changed.")
        desk = Desk(opened, Clock(), ticking=False)
    except BaseException:
        opened.close()
        raise
    try:
        yield desk
    finally:
        lost = desk.close()
        words = desk.situation.store_text
        desk.deleteLater()
        app.processEvents()
    if lost:
        raise StoreError(f"{lost} records of the watch could not be stored in {log}: {words}")
