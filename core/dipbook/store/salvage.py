"""What verifies of a damaged log, into a new one. The damaged file is copied first and never written to.

Records from the first on, as long as each is what was written and follows the one before, go over as they are, with
their numbers and seals. After the first that doesn't, what is still what was written goes over as new records, sealed
anew, and a remark at the end says which. What can't be read, or isn't what was written, is left out and named.
"""

from __future__ import annotations

import json
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, suppress
from dataclasses import dataclass
from pathlib import Path

from dipbook.errors import StoreDamagedError, StoreError
from dipbook.records import Block, Dip, Draft, Record
from dipbook.store import blocks, chain, opening, schema
from dipbook.store.blocks import Packed
from dipbook.store.failures import in_words
from dipbook.store.rows import Settled
from dipbook.store.store import Store

KEPT = "The damaged log is as it was; nothing was made."
LEAST_ROW = 16
"""A row takes at least so many bytes of a file (our choice, well below any): bounds the numbers that are asked for."""
NUMBERS = 2_000_000
"""Rows of a table that are asked for at most where the file doesn't say how many there are (our choice)."""
UNREADABLE = (sqlite3.DatabaseError, UnicodeDecodeError)
"""What reading a damaged table raises: the second, of a text that is no text any more."""


@dataclass(frozen=True, slots=True)
class Salvaged:
    """What came of it. as_they_were: records with number and seal; anew: records sealed anew; left_out: words on each
    that isn't in the new log, in order."""

    as_they_were: int
    anew: int
    left_out: tuple[str, ...]


@dataclass(slots=True)
class _Found:
    """One record that is what was written. packed: its blocks; good: those that are what was sealed; lost: words on
    the others."""

    record: Record
    packed: tuple[Packed, ...]
    good: tuple[Packed, ...]
    lost: list[str]

    @property
    def whole(self) -> bool:
        """True if nothing of it is lost."""
        return not self.lost

    def blocks(self) -> tuple[Block, ...]:
        """Its samples, as far as they are good."""
        return blocks.joined([blocks.unpack(one) for one in self.good])


def salvage(path: Path, target: Path, *, now_ms: int) -> Salvaged:
    """Make a new log at ``target`` of what verifies in the log at ``path``.

    path: the damaged log, open in no program. target: must not exist. now_ms: the clock [UTC ms], for the remark at the
    end. Raises StoreError: nothing is left under the target's name then.
    """
    path, target = path.absolute(), target.absolute()
    with in_words(path, "Salvaging the log", KEPT):
        if not path.is_file():
            raise StoreError(f"There is no log at {path}. {KEPT} Check the path.")
        if target.exists():
            raise StoreError(f"There is a file of that name already: {target}. {KEPT} Choose another name.")
        lock = opening.locked(path)
        try:
            with tempfile.TemporaryDirectory(dir=target.parent, prefix=f".{target.name}.", suffix=".part") as folder:
                return _into(path, target, Path(folder), now_ms)
        finally:
            lock.release()


def _into(path: Path, target: Path, folder: Path, now_ms: int) -> Salvaged:
    copy, made = folder / "damaged", folder / "made"
    for end in ("", "-wal"):
        if path.with_name(f"{path.name}{end}").exists():
            shutil.copyfile(path.with_name(f"{path.name}{end}"), folder / f"damaged{end}")
    left_out: list[str] = []
    with closing(_open(copy)) as raw:
        header = _header(raw, path)
        found = list(_records(raw, copy.stat().st_size, left_out))
    if not found:
        raise StoreDamagedError(f"No record of this log is what was written: {path}. {KEPT} Go on from a backup.")
    link, unbroken = chain.first_link(header), 0
    for one in found:
        if not one.whole or one.record.seq != unbroken + 1 or one.record.prev_hash != link:
            break
        link, unbroken = one.record.hash, unbroken + 1
    opening.make(made, header)
    with opening.open(made, header["role"], station="salvage") as log:
        log.take_over([Settled(one.record, one.packed) for one in found[:unbroken]])
        anew = _add(log, found[unbroken:], {one.record.uid for one in found[:unbroken]}, left_out)
        log.append([_remark(path, unbroken, anew, left_out, now_ms)])
        wrong = log.verify()
        if wrong:
            raise StoreDamagedError(f"What was salvaged doesn't hold together ({wrong[0].what}): {path}. {KEPT} "
                                    "Report this.")
        log.backup(target)
    return Salvaged(unbroken, len(anew), tuple(left_out))


def _open(copy: Path) -> sqlite3.Connection:
    raw = sqlite3.connect(copy, isolation_level=None)
    raw.row_factory = sqlite3.Row
    raw.execute("PRAGMA writable_schema = ON")  # a file that was cut off is read as far as it goes; it is a copy
    return raw


def _header(raw: sqlite3.Connection, path: Path) -> dict[str, str]:
    try:
        header = {str(key): str(value) for key, value in raw.execute("SELECT key, value FROM meta NOT INDEXED")}
    except (sqlite3.Error, UnicodeDecodeError) as error:
        raise StoreDamagedError(f"The beginning of this log can't be read ({error}): {path}. {KEPT} "
                                "Go on from a backup.") from error
    with suppress(sqlite3.Error, UnicodeDecodeError):  # if it can't be read, the tables' own columns will tell
        revision = raw.execute("SELECT version_num FROM alembic_version NOT INDEXED").fetchone()
        if revision is not None and revision[0] != schema.REVISIONS[-1]:
            raise StoreError(f"This log is of another version ({revision[0]}): {path}. {KEPT} "
                             "Salvage it with the version that wrote it.")
    if header.get("format") != schema.FORMAT or header.get("role") not in schema.ROLES:
        raise StoreDamagedError(f"The header of this log can't be read, or this is no log: {path}. {KEPT} "
                                "Go on from a backup.")
    return header


def _rows(raw: sqlite3.Connection, table: str, most: int) -> Iterator[sqlite3.Row]:
    """Every row that can be read, in order of rowid: where a stretch can't be, its halves are tried."""
    stretches = [(1, most)]
    while stretches:
        low, high = stretches.pop()
        at = low
        try:
            for row in raw.execute(f"SELECT rowid AS at, * FROM {table} NOT INDEXED WHERE rowid BETWEEN ? AND ? "
                                   "ORDER BY rowid", (low, high)):
                at = row["at"] + 1
                yield row
        except UNREADABLE:
            if at == high:
                continue
            middle = (at + high) // 2
            stretches += [(middle + 1, high), (at, middle)]


def _most(raw: sqlite3.Connection, table: str, size: int) -> int:
    try:
        return int(raw.execute(f"SELECT max(rowid) FROM {table}").fetchone()[0] or 0)
    except UNREADABLE:
        return min(size // LEAST_ROW, NUMBERS)


def _records(raw: sqlite3.Connection, size: int, left_out: list[str]) -> Iterator[_Found]:
    dips: dict[int, list[sqlite3.Row]] = {}
    for row in _rows(raw, "dip", _most(raw, "dip", size)):
        dips.setdefault(row["record_seq"], []).append(row)
    packed: dict[int, list[sqlite3.Row]] = {}
    for row in _rows(raw, "block", _most(raw, "block", size)):
        packed.setdefault(row["source_seq"], []).append(row)
    before, last = 0, _last(raw)
    for row in _rows(raw, "record", max(_most(raw, "record", size), last)):
        _gap(left_out, before, row["seq"])
        before = row["seq"]
        found = _one(row, sorted(dips.get(before, []), key=lambda r: r["place"]),
                     sorted(packed.get(before, []), key=lambda r: r["place"]))
        if found is None:
            left_out.append(f"record {before} ({row['kind']}) is not what was written")
            continue
        left_out += [f"record {before}: {words}" for words in found.lost]
        yield found
    _gap(left_out, before, last + 1)


def _gap(left_out: list[str], before: int, seq: int) -> None:
    if seq > before + 1:
        left_out.append(f"record {before + 1} can't be read" if seq == before + 2
                        else f"records {before + 1} to {seq - 1} can't be read")


def _last(raw: sqlite3.Connection) -> int:
    try:
        return int(raw.execute("SELECT seq FROM log_head").fetchone()[0])
    except (*UNREADABLE, TypeError, ValueError):
        return 0


def _one(row: sqlite3.Row, dip_rows: list[sqlite3.Row], block_rows: list[sqlite3.Row]) -> _Found | None:
    """A record that is what was written, with those of its blocks that are; else None."""
    try:
        dips = tuple(Dip(**{name: r[name] for name in DIP_FIELDS} | {"unchanged": bool(r["unchanged"])})
                     for r in dip_rows)
        record = Record(**{name: row[name] for name in RECORD_FIELDS}, payload=json.loads(row["payload"]), dips=dips)
        if chain.record_hash(record, [r["sha256"] for r in block_rows]) != record.hash:
            return None
    except (ValueError, TypeError):
        return None
    good: list[Packed] = []
    lost: list[str] = []
    packed = tuple(Packed(*(r[name] for name in BLOCK_FIELDS)) for r in block_rows)
    for one in packed:
        try:
            blocks.unpack(one)
        except StoreDamagedError:
            lost.append(f"a block of {one.n} samples of {one.channel} is damaged")
        else:
            good.append(one)
    return _Found(record, packed, tuple(good), lost)


DIP_FIELDS = ("tank", "t_ms", "as_typed", "level_m", "volume_m3", "t_half_ms", "resolution_m", "flag")
RECORD_FIELDS = ("seq", "uid", "station", "kind", "t_ms", "learned_ms", "offset_min", "author", "supersedes", "reason",
                 "payload_version", "prev_hash", "hash")
BLOCK_FIELDS = ("channel", "t0", "t1", "n", "t", "v", "codec", "sha256")


def _add(log: Store, found: list[_Found], there: set[str], left_out: list[str]) -> list[tuple[int, int, str]]:
    """Seal anew what came after the break: (number it had, number it has, seal it had) of each."""
    drafts: list[tuple[Record, Draft]] = []
    for one in found:
        r = one.record
        supersedes = r.supersedes if r.supersedes in there else None
        if r.supersedes is not None and supersedes is None:
            left_out.append(f"record {r.seq} ({r.kind}) corrected one that is not there"
                            + (": it is left out" if r.kind == "void" else ": it stands by itself now"))
            if r.kind == "void":
                continue
        there.add(r.uid)
        drafts.append((r, Draft(kind=r.kind, t_ms=r.t_ms, learned_ms=r.learned_ms, author=r.author, payload=r.payload,
                                dips=r.dips, blocks=one.blocks(), supersedes=supersedes, reason=r.reason, uid=r.uid,
                                offset_min=r.offset_min, payload_version=r.payload_version)))
    done = log.append([draft for _, draft in drafts])
    return [(r.seq, new.seq, r.hash) for (r, _), new in zip(drafts, done, strict=True)]


def _remark(path: Path, unbroken: int, anew: list[tuple[int, int, str]], left_out: list[str], now_ms: int) -> Draft:
    said = f"This log was salvaged from {path.name}: {unbroken} records as they were"
    if anew:
        said += f", {len(anew)} sealed anew"
    said += f"; {len(left_out)} things are missing." if left_out else "; nothing is missing."
    return Draft("remark", now_ms, now_ms, "Dipbook", payload={
        "remark": said, "salvaged_from": path.name, "anew": [list(row) for row in anew], "left_out": list(left_out)})
