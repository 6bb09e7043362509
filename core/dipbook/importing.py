"""Files to what the log doesn't hold yet: drafts, what they hold in figures, and what is wrong. Nothing is stored here.

Two steps, so that a person sees what is in a file before it is added: ``read`` looks at files and at the log's records;
``still_stands`` asks, when it is to be added, whether what was read still fits the log.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from dipbook.books.effective import Effective, effective
from dipbook.entries.words import LABELS
from dipbook.errors import ImportFileError
from dipbook.exchange import any_file, sheets
from dipbook.exchange import entries as entries_file
from dipbook.exchange import readings as readings_file
from dipbook.exchange.foreign import NOTHING_SAID, Foreign
from dipbook.exchange.mapping import Mapping as ColumnMapping
from dipbook.exchange.mapping_file import as_text
from dipbook.findings import Finding
from dipbook.invented import is_drill, is_marked, is_marked_file
from dipbook.records import SAMPLES, WARNING, Draft, Record
from dipbook.rig.model import Rig

FUTURE_MS = 90_000
"""How far ahead of the desk's clock a time may lie: clocks differ by a little."""
LARGEST = 500_000_000
"""A file of more bytes than this is refused: it is something else (our choice, no source)."""
ROWS_SHOWN = 6
"""First rows of a file that are shown as they are read."""
Held = Callable[[int, int], Sequence[Record]]
"""The records of a log with all their samples of a span, from and to [UTC ms]."""
NOTHING_NEW = "Nothing new: these files are in the log already."


@dataclass(frozen=True, slots=True)
class File:
    """A file as it lies on the disk. name: for messages; data: its bytes."""

    name: str
    data: bytes


@dataclass(frozen=True, slots=True)
class Count:
    """What one file holds. what: "readings" or "entries". rows: of the file. tanks: those gauged in it.

    kinds: entry's label -> how many. first_ms, last_ms: the time it spans [UTC ms], None where it holds nothing.
    items: dips or entries in it; new: those the log hasn't got; differing: dips of a tank and time for which the log
    holds another value.
    """

    name: str
    what: str
    rows: int = 0
    tanks: tuple[str, ...] = ()
    kinds: Mapping[str, int] | None = None
    first_ms: int | None = None
    last_ms: int | None = None
    items: int = 0
    new: int = 0
    differing: int = 0


@dataclass(frozen=True, slots=True)
class FirstRow:
    """One of the first rows as it is read. t_ms: its time [UTC ms]; dips: (tank, "level" [m, in the tank's own datum]
    or "volume" [m3], value)."""

    t_ms: int
    dips: tuple[tuple[str, str, float], ...]


@dataclass(frozen=True, slots=True)
class Importable:
    """What files would add. drafts: what the log hasn't got yet, () where a finding is an error. counts: of each file
    that could be read. findings: by file and line. seq: the last record that was known.

    other: how the readings file was looked at where it is of another form, else None. first: its first times as read.
    could_leave_out: rows without which it could be added, 0 for none; left_out: those that were left out.
    """

    drafts: tuple[Draft, ...]
    findings: tuple[Finding, ...]
    counts: tuple[Count, ...]
    seq: int
    other: Foreign | None = None
    first: tuple[FirstRow, ...] = ()
    could_leave_out: int = 0
    left_out: int = 0

    @property
    def ok(self) -> bool:
        """True if nothing in it is an error."""
        return not any(f.severity == "error" for f in self.findings)


def load(path: Path) -> File:
    """The file at ``path``. Raises ImportFileError if it can't be opened or is far too large."""
    try:
        if path.is_dir():
            raise ImportFileError(f"The file can't be opened (it is a folder): {path}.")
        size = path.stat().st_size
        if size > LARGEST:
            raise ImportFileError(f"{path.name}: has {size / 1e6:.0f} MB, more than the {LARGEST / 1e6:.0f} MB that "
                                  "are read at once. Cut it into parts.")
        return File(path.name, path.read_bytes())
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise ImportFileError(f"The file can't be opened ({why}): {path}.") from None


def read(readings: File | None, entries: File | None, rig: Rig, records: Sequence[Record], *, now_ms: int, author: str,
         step: Callable[[str], None] = lambda words: None, said: ColumnMapping = NOTHING_SAID,
         good_rows_only: bool = False, held: Held | None = None) -> Importable:
    """Look at a readings file and an entries file, None for none, beside what the log holds.

    rig: the log's. records: all of the log. now_ms: when they are imported [UTC ms]; no time may lie after it. author:
    who imports. step: told in words what is being done; what it raises ends the work. said: what is said of a readings
    file of another form. good_rows_only: True to leave out the rows of it that can't be read. held: gives the records
    of the log with all their samples of a span, where ``records`` lacks some.
    Never raises for what is in the files: see ``findings`` and ``ok``.
    """
    known = {r.uid: r for r in records}
    eff = effective(records)
    drafts: list[Draft] = []
    findings: list[Finding] = []
    counts: list[Count] = []
    taken: any_file.Taken | None = None
    if strange := [f for f in (_strange(file, records) for file in (readings, entries) if file is not None) if f]:
        return Importable((), tuple(strange), (), max((r.seq for r in records), default=0))
    if readings is not None:
        step(f"Reading {readings.name} …")
        taken = any_file.take(readings.data, readings.name, rig, said, good_rows_only=good_rows_only)
        file = taken.file
        findings += file.findings
        if file.ok:
            step(f"Comparing {readings.name} with the log …")
            made, found, count = _readings(taken, known, eff if held is None else _of_span(file, held), now_ms, author)
            drafts += made
            findings += found
            counts.append(count)
    if entries is not None:
        step(f"Reading {entries.name} …")
        parsed = entries_file.parse(entries.data, entries.name, rig, learned_ms=now_ms, known=known)
        findings += parsed.findings
        if parsed.ok:
            new, odd = entries_file.sift(parsed, known)
            drafts += new
            findings += odd
            counts.append(_entries_count(parsed, new))
    late = next((d for d in drafts if latest_of(d) > now_ms + FUTURE_MS), None)
    if late is not None:
        findings.append(Finding("A time in this file lies in the future: check the file and this computer's clock.",
                                code="future", severity="error", t_ms=latest_of(late), kept=False))
    ok = not any(f.severity == "error" for f in findings)
    made_of = Importable(tuple(drafts) if ok else (), tuple(findings), tuple(counts),
                         max((r.seq for r in records), default=0))
    if taken is None:
        return made_of
    return replace(made_of, other=taken.other, first=_first(taken.file), could_leave_out=taken.could_leave_out,
                   left_out=taken.left_out.count if taken.left_out else 0)


def _strange(file: File, records: Sequence[Record]) -> Finding | None:
    """Why a file doesn't belong in the log: a drill's in that of a watch, or the other way; None where it does."""
    drill = is_drill(records)
    if is_of_drill(file) == drill:
        return None
    what = ("this file carries no drill's mark, and this log is a drill's: nothing of the real well belongs in it"
            if drill else "this file comes from a training drill (its first line says so): nothing of a drill goes "
                          "into the log of a watch")
    return Finding(what, code="drill", severity="error", file=file.name, line=1, kept=False)


def is_of_drill(file: File) -> bool:
    """True if a file comes from a training drill. file: as loaded, a table or a workbook."""
    if not sheets.is_workbook(file.data):
        return is_marked_file(file.data)
    return any(is_marked(",".join(cell for row in sheet.rows[:ROWS_SHOWN] for cell in row))
               for sheet in sheets.load(file.data, file.name)[0])


def still_stands(read_before: Importable, records: Sequence[Record]) -> tuple[tuple[Draft, ...], tuple[Finding, ...]]:
    """What of files that were read some time ago can be added to the log as it is now.

    read_before: from ``read``; records: all of the log now. Returns (drafts that are still new, findings): an error
    among them means that the log has changed so that the files have to be read again.
    """
    later = [r for r in records if r.seq > read_before.seq and r.kind != WARNING]
    if not later:
        return read_before.drafts, ()
    if any(r.kind == "rig" for r in later):
        return (), (_again("The rig's description changed meanwhile: look at the files again."),)
    known = {r.uid for r in later}
    replaced = {r.supersedes for r in later if r.supersedes}
    if any(d.supersedes in replaced for d in read_before.drafts if d.supersedes):
        return (), (_again("An entry that a file corrects was corrected meanwhile: look at the files again."),)
    return tuple(d for d in read_before.drafts if d.uid not in known), ()


def _again(what: str) -> Finding:
    return Finding(what, code="meanwhile", severity="error", kept=False)


def _first(file: readings_file.ReadingsFile) -> tuple[FirstRow, ...]:
    """The first times of a file with what was gauged then."""
    heads = {int(t) for s in file.series for t in s.t_ms[:ROWS_SHOWN]}
    times = sorted(heads)[:ROWS_SHOWN]
    rows: dict[int, list[tuple[str, str, float]]] = {t: [] for t in times}
    for s in file.series:
        for t, v in zip(s.t_ms[:ROWS_SHOWN].tolist(), s.v[:ROWS_SHOWN].tolist(), strict=True):
            if t in rows:
                rows[t].append((s.tank, s.what, v))
    return tuple(FirstRow(t, tuple(dips)) for t, dips in rows.items())


def draft_of(taken: any_file.Taken, learned_ms: int, author: str = "") -> tuple[Draft, tuple[Draft, ...]]:
    """The records of a readings file of any form; that of its samples tells how it was read and what was left out.

    taken: whose file is ``ok``; learned_ms: when it is imported [UTC ms]; author: who imports it.
    """
    samples, logged = readings_file.to_draft(taken.file, learned_ms, author)
    more: dict[str, Any] = {}
    if taken.other is not None:
        more["read_as"] = as_text(taken.other.mapping)
    if taken.left_out is not None:
        more["left_out"] = {"count": taken.left_out.count, "digest": taken.file.digest, "rows": [
            {"line": line, "text": text, "why": why} for line, text, why in taken.left_out.lines]}
    return (replace(samples, payload={**samples.payload, **more}) if more else samples), logged


def _readings(taken: any_file.Taken, known: Mapping[str, Record], eff: Effective, now_ms: int, author: str,
              ) -> tuple[list[Draft], list[Finding], Count]:
    file = taken.file
    samples, logged = draft_of(taken, now_ms, author)
    findings: list[Finding] = []
    if samples.uid in eff.superseded:
        findings.append(Finding(
            f"{file.name} was added before and struck out: its readings are not added again.", code="struck_before",
            severity="note", file=file.name, kept=False))
    drafts = [d for d in (samples, *logged) if d.uid not in known]
    count = _readings_count(file, eff)
    if samples.uid in known:
        count = replace(count, new=0, differing=0)
    if count.differing:
        findings.append(Finding(
            f"{count.differing} of the readings differ from what the log holds of the same tank and time; the file's "
            "count from now on, the others stay in the log", code="differs", severity="warning", file=file.name))
    return drafts, findings, count


def _of_span(file: readings_file.ReadingsFile, held: Held) -> Effective:
    """What counts in the log, with its samples of the time of a file."""
    times = [int(t) for s in file.series for t in (*s.t_ms[:1], *s.t_ms[-1:])]
    return effective(held(min(times, default=0), max(times, default=0)))


def _readings_count(file: readings_file.ReadingsFile, eff: Effective) -> Count:
    """The file's dips, and how many of them the log holds already."""
    held = _held(eff)
    items = new = differing = 0
    for series in file.series:
        t = np.asarray(series.t_ms, dtype=np.int64)
        items += len(t)
        same_time, same = np.zeros(len(t), dtype=bool), np.zeros(len(t), dtype=bool)
        for times, values in held.get(f"tank:{series.tank}:{series.what}", []):
            at = np.clip(np.searchsorted(times, t), 0, len(times) - 1)
            here = times[at] == t
            same_time |= here
            same |= here & np.isclose(values[at], series.v, rtol=0.0, atol=1e-9)
        new += int((~same).sum())
        differing += int((same_time & ~same).sum())
    spans = [(int(s.t_ms[0]), int(s.t_ms[-1])) for s in file.series if len(s.t_ms)]
    return Count(file.name, "readings", file.rows, tuple(dict.fromkeys(s.tank for s in file.series)), None,
                 min((a for a, _ in spans), default=None), max((b for _, b in spans), default=None), items, new,
                 differing)


def _held(eff: Effective) -> dict[str, list[tuple[Any, Any]]]:
    """channel -> (times, rising; values) of what was imported and of what was gauged in rounds."""
    held: dict[str, list[tuple[Any, Any]]] = {}
    rounds: dict[str, list[tuple[int, float]]] = {}
    for record in eff.records:
        for block in record.blocks if record.kind == SAMPLES else ():
            if len(block.t_ms):
                held.setdefault(block.channel, []).append(
                    (np.asarray(block.t_ms, dtype=np.int64), np.asarray(block.v, dtype=float)))
        for dip in record.dips:
            for what, value in (("level", dip.level_m), ("volume", dip.volume_m3)):
                if value is not None:
                    rounds.setdefault(f"tank:{dip.tank}:{what}", []).append((dip.t_ms, value))
    for channel, dips in rounds.items():
        dips.sort()
        held.setdefault(channel, []).append(
            (np.array([t for t, _ in dips], dtype=np.int64), np.array([v for _, v in dips], dtype=float)))
    return held


def _entries_count(file: entries_file.EntriesFile, new: Sequence[Draft]) -> Count:
    kinds = Counter(LABELS.get(d.kind, d.kind) for d in file.drafts)
    return Count(file.name, "entries", len(file.drafts), (), dict(sorted(kinds.items())),
                 min((d.t_ms for d in file.drafts), default=None), max((d.t_ms for d in file.drafts), default=None),
                 len(file.drafts), len(new))


def latest_of(draft: Draft) -> int:
    """The latest time that a draft speaks of: its own, its end, its dips and samples [UTC ms]."""
    times = [draft.t_ms, *(d.t_ms for d in draft.dips), *(int(b.t_ms[-1]) for b in draft.blocks if len(b.t_ms))]
    end = draft.payload.get("end_ms")
    return max([*times, *([int(end)] if isinstance(end, int) else [])])
