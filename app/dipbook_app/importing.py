"""Files to the drafts that the log doesn't hold yet, with what is wrong with them. Nothing is stored here."""

from __future__ import annotations

from pathlib import Path

from dipbook.books import Books
from dipbook.exchange import entries as entries_file
from dipbook.exchange import readings as readings_file
from dipbook.findings import Finding
from dipbook.records import Draft
from dipbook_app.door import FUTURE_MS

Found = tuple[tuple[Draft, ...], tuple[Finding, ...]]


def new_drafts(books: Books, readings: Path | None, entries: Path | None, *, now_ms: int, author: str) -> Found:
    """Drafts of what the files say and the books don't, and the findings; an error among them: store nothing.

    readings, entries: files, None for none. now_ms: when they are imported [UTC ms]; no time may lie after it.
    author: who imports.
    """
    known = {r.uid: r for r in books.records}
    findings: list[Finding] = []
    drafts: list[Draft] = []
    try:
        if readings is not None:
            read = readings_file.parse(readings.read_bytes(), readings.name, books.rig)
            findings += read.findings
            if read.ok:
                samples, logged = readings_file.to_draft(read, now_ms, author)
                drafts += [d for d in (samples, *logged) if d.uid not in known]
                if samples.uid in books.eff.superseded:
                    findings.append(Finding(
                        f"{readings.name} was added before and struck out: its readings are not added again.",
                        code="struck_before", severity="note", file=readings.name, kept=False))
        if entries is not None:
            file = entries_file.parse(entries.read_bytes(), entries.name, books.rig, learned_ms=now_ms, known=known)
            findings += file.findings
            if file.ok:
                new, odd = entries_file.sift(file, known)
                drafts += new
                findings += odd
    except OSError as error:
        findings.append(Finding(f"The file can't be opened ({error.strerror or error}): {error.filename}.",
                                code="unreadable", severity="error", kept=False))
    late = [d for d in drafts if latest_of(d) > now_ms + FUTURE_MS]
    if late:
        findings.append(Finding("A time in this file lies in the future: check the file and this computer's clock.",
                                code="future", severity="error", t_ms=latest_of(late[0]), kept=False))
    return tuple(drafts), tuple(findings)


def latest_of(draft: Draft) -> int:
    """The latest time that a draft speaks of: its own, its end, its dips and samples [UTC ms]."""
    times = [draft.t_ms, *(d.t_ms for d in draft.dips), *(int(b.t_ms[-1]) for b in draft.blocks if len(b.t_ms))]
    end = draft.payload.get("end_ms")
    return max([*times, *([int(end)] if isinstance(end, int) else [])])
