"""The log, open. Made by ``dipbook.store.open``."""

from __future__ import annotations

import threading
import uuid
from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Any

from filelock import BaseFileLock
from sqlalchemy import Connection, Engine, exists, insert, select, update

from dipbook.errors import StoreDamagedError, StoreError
from dipbook.findings import Finding
from dipbook.invented import is_marked
from dipbook.records import RIG, SAMPLES, Block, Draft, Record
from dipbook.some_samples import Spans
from dipbook.store import backup, chain, place, reading, rows, verify
from dipbook.store.failures import in_words
from dipbook.store.schema import DRILL, block, dip, log_head, record

NOTHING_STORED = "Nothing of it was stored; everything stored before is as it was."
NOTHING_CHANGED = "Nothing was changed."


@dataclass(frozen=True, slots=True)
class Imported:
    """What an import added.

    new: the records added: the import's own, then its entries; empty if the file was there already.
    earlier: the record of the earlier import of the same file, or None.
    """

    new: tuple[Record, ...]
    earlier: Record | None = None


class Store:
    """One log, open for reading, or for writing and reading. Usable from several threads.

    path: the file. role: "watch" or "drill". station: who writes, stamped on each record. writes: False for a
    reader. header: the log's header as written when it was made. remarks: what was found or done while
    opening it (upgraded, protection put back), to be shown once.

    Every method raises StoreError or one of its kinds, with a message that says what happened, what was
    kept and what to do.
    """

    def __init__(self, engine: Engine, path: Path, header: Mapping[str, str], *, station: str,
                 lock: BaseFileLock | None, remarks: tuple[Finding, ...] = ()) -> None:
        self.path = path
        self.role = header["role"]
        self.station = station
        self.writes = lock is not None
        self.header = dict(header)
        self.remarks = remarks
        self._engine = engine
        self._place = place.of(path) if self.writes else None
        self._file_lock = lock
        self._turn = threading.RLock()
        self._open = True

    def __enter__(self) -> Store:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None,
                 trace: TracebackType | None) -> None:
        self.close()

    def close(self) -> None:
        """Let the file go. A second call does nothing."""
        with self._turn:
            self._open = False
            self._engine.dispose()
            if self._file_lock is not None:
                self._file_lock.release()

    # --- writing -----------------------------------------------------------------------------------------

    def append(self, drafts: Sequence[Draft]) -> tuple[Record, ...]:
        """Store drafts, all or none, and return them as records in the same order.

        drafts: in the order in which they became known; a draft without a uid is given one; one may supersede
        an earlier one of the same call. When this returns, they are on the disk. Raises StoreError if a uid
        is there already, if ``supersedes`` names nothing or something superseded before, or if it can't be
        written.
        """
        if not drafts:
            return ()
        with self._turn, self._connected("Saving to the log", NOTHING_STORED, writes=True) as connection:
            return self._add(connection, drafts)

    def append_import(self, manifest: Mapping[str, Any], columns: Sequence[Block], drafts: Sequence[Draft] = (),
                      *, learned_ms: int, author: str = "", offset_min: int = 0) -> Imported:
        """Store one file's samples and entries, all or none. The same file a second time adds nothing.

        manifest: plain values that describe the file; "digest" (of its content) is needed and tells whether
        it is there already; an import that was struck or replaced doesn't count. columns: its samples, one
        block per channel. drafts: its entries. learned_ms: the desk's clock [UTC ms]. author: who imported
        it. offset_min: the rig's offset [min]. The import's own record happens at its first sample, else its
        first entry, else at learned_ms.
        """
        digest = manifest.get("digest")
        if not isinstance(digest, str) or not digest:
            raise StoreError("An import needs the digest of its file. Nothing was stored.")
        times = [int(b.t_ms[0]) for b in columns if len(b.t_ms)] or [d.t_ms for d in drafts] or [learned_ms]
        own = Draft(kind=SAMPLES, t_ms=min(times), learned_ms=learned_ms, author=author, payload=manifest,
                    blocks=tuple(columns), offset_min=offset_min)
        with self._turn, self._connected("The import", NOTHING_STORED, writes=True) as connection:
            earlier = self._import_of(connection, digest)
            if earlier is not None:
                return Imported((), earlier)
            return Imported(self._add(connection, (own, *drafts)))

    def _add(self, connection: Connection, drafts: Sequence[Draft]) -> tuple[Record, ...]:
        _check_rigs(self.role, drafts)
        seq = connection.execute(select(log_head.c.seq).with_for_update()).scalar_one()
        prev_hash = self._last_hash(connection, seq)
        uids = [d.uid or str(uuid.uuid4()) for d in drafts]
        _check_uids(connection, uids)
        _check_supersedes(connection, uids, drafts)
        settled: list[rows.Settled] = []
        for draft, uid in zip(drafts, uids, strict=True):
            settled.append(rows.settle(draft, seq=seq + len(settled) + 1, uid=uid, station=self.station,
                                       prev_hash=prev_hash))
            prev_hash = settled[-1].record.hash
        return self._write(connection, seq, settled)

    def take_over(self, settled: Sequence[rows.Settled]) -> None:
        """Store records of another copy of this log as they are, number and seal included; for ``salvage`` alone.

        settled: in order, the first following this log's last record. Raises StoreError if one doesn't follow.
        """
        with self._turn, self._connected("Salvaging the log", NOTHING_STORED, writes=True) as connection:
            seq = connection.execute(select(log_head.c.seq).with_for_update()).scalar_one()
            link = self._last_hash(connection, seq)
            for n, one in enumerate(settled, seq + 1):
                if (one.record.seq, one.record.prev_hash) != (n, link):
                    raise StoreError(f"Record {one.record.seq} doesn't follow what is there. {NOTHING_STORED}")
                link = one.record.hash
            self._write(connection, seq, settled)

    def _write(self, connection: Connection, seq: int, settled: Sequence[rows.Settled]) -> tuple[Record, ...]:
        for table, table_rows in (
                (record, [s.record_row() for s in settled]),
                (dip, [row for s in settled for row in s.dip_rows()]),
                (block, [row for s in settled for row in s.block_rows()])):
            if table_rows:
                connection.execute(insert(table), table_rows)
        connection.execute(update(log_head).values(seq=seq + len(settled)))
        return tuple(s.record for s in settled)

    def _last_hash(self, connection: Connection, seq: int) -> str:
        if seq == 0:
            return chain.first_link(self.header)
        last = connection.execute(select(record.c.hash).where(record.c.seq == seq)).scalar_one_or_none()
        if last is None:
            raise StoreDamagedError(
                f"The log's last record ({seq}) is missing: {self.path}. {NOTHING_STORED} "
                "Copy the file away as it is, check it (verify) and go on in a new log or from a backup.")
        return str(last)

    def _import_of(self, connection: Connection, digest: str) -> Record | None:
        later = record.alias("later")
        seq = connection.execute(
            select(record.c.seq)
            .where(record.c.kind == SAMPLES, record.c.payload["digest"].as_string() == digest,
                   ~exists().where(later.c.supersedes == record.c.uid))
            .order_by(record.c.seq).limit(1)).scalar_one_or_none()
        if seq is None:
            return None
        return reading.records(connection, after=seq - 1, known_at=seq, span=None, kinds=None,
                               leave_out_damaged=True)[0]

    # --- reading -----------------------------------------------------------------------------------------

    @property
    def last_seq(self) -> int:
        """The number of the newest record, 0 if there is none."""
        with self._reading() as connection:
            return int(connection.execute(select(log_head.c.seq)).scalar_one())

    def records(self, after: int = 0, known_at: int | None = None,
                span: tuple[int, int] | None = None, kinds: Collection[str] | None = None, *,
                leave_out_damaged: bool = False, samples: bool = True) -> tuple[Record, ...]:
        """Records with their dips and samples, in order of seq.

        after: only those with a higher seq. known_at: only those up to this seq, i.e. what was known then.
        span: (t0, t1) [UTC ms], both included: only those that happened then or have a dip or a sample then
        (whole records; samples outside are not cut off). kinds: only these kinds. leave_out_damaged: leave
        out a damaged block of samples instead of raising StoreDamagedError; ``verify`` names it. samples: False for
        records without their samples, which are then not read.
        """
        with self._reading() as connection:
            return reading.records(connection, after=after, known_at=known_at, span=span, kinds=kinds,
                                   leave_out_damaged=leave_out_damaged, samples=samples)

    def with_samples(self, bare: Sequence[Record], spans: Spans, *, leave_out_damaged: bool = False,
                     ) -> tuple[Record, ...]:
        """Records with those of their samples that belong to some spans; no others are read.

        bare: as ``records`` gives them without samples. spans: [UTC ms], see ``dipbook.some_samples``.
        leave_out_damaged: as in ``records``.
        """
        with self._reading() as connection:
            return reading.with_samples(connection, bare, spans, leave_out_damaged)

    def extent(self, from_ms: int = -(2**62), to_ms: int = 2**62) -> tuple[int, int | None]:
        """(how many samples the log holds, the time of the newest [UTC ms], None without one); they aren't read.

        from_ms, to_ms: of a span [UTC ms], to the hour.
        """
        with self._reading() as connection:
            return reading.extent(connection, from_ms, to_ms)

    def series(self, channel: str, t0: int, t1: int, *, known_at: int | None = None) -> tuple[Any, Any]:
        """Samples of one channel: (times int64 [UTC ms], values float64), rising, t0 and t1 included.

        Samples of superseded records are left out; of two at one time the one learned last is given. Samples
        struck over a time by a void are the books' business and are still here. known_at: as in ``records``.
        """
        with self._reading() as connection:
            return reading.series(connection, channel, t0, t1, known_at)

    def verify(self) -> tuple[Finding, ...]:
        """Check the whole log; empty means that nothing is wrong. See ``dipbook.store.verify``.

        It reads everything, on a connection of its own: run it off the screen's thread. Appending goes on meanwhile.
        """
        self._must_be_open()
        return verify.verify(self._engine, self.path.name)

    def backup(self, path: str | Path) -> int:
        """Copy the log as of now into one new file and return the last seq in it.

        path: must not exist yet. The copy is checked, then appears under its name at once or not at all.
        """
        self._must_be_open()
        return backup.backup(self._engine, self.path, Path(path))

    # --- connections -------------------------------------------------------------------------------------

    def _must_be_open(self) -> None:
        if not self._open:
            raise StoreError(f"The log is closed: {self.path}. {NOTHING_CHANGED} Open it again.")

    def _reading(self) -> AbstractContextManager[Connection]:
        return self._connected("Reading the log", NOTHING_CHANGED, writes=False)

    @contextmanager
    def _connected(self, doing: str, kept: str, *, writes: bool) -> Iterator[Connection]:
        """One transaction, its failures put in words: kept as a whole, or undone as a whole."""
        self._must_be_open()
        if writes and not self.writes:
            raise StoreError(f"The log was opened for reading only: {self.path}. {kept} Open it for writing.")
        with (in_words(self.path, doing, kept), self._engine.connect() as connection,
              connection.execution_options(writes=writes).begin()):
            yield connection
            if writes and self._place is not None:
                self._place.must_hold(kept)  # or what is saved would go where nobody finds it; undone before it is kept


def _check_rigs(role: str, drafts: Sequence[Draft]) -> None:
    """A drill's rig stands in no watch's log, and the other way: by it files are told to be of a drill."""
    for draft in drafts:
        if draft.kind == RIG and is_marked(str(draft.payload.get("text", ""))) != (role == DRILL):
            raise StoreError(
                f"This rig file isn't a drill's, and this log is. {NOTHING_STORED}" if role == DRILL else
                f"This rig file comes from a training drill: it doesn't belong in the log of a watch. {NOTHING_STORED} "
                "Adopt the rig's own file.")


def _check_uids(connection: Connection, uids: Sequence[str]) -> None:
    double = next((uid for uid, times in Counter(uids).items() if times > 1), None)
    for n in range(0, len(uids), reading.AT_ONCE):
        double = double or connection.execute(
            select(record.c.uid).where(record.c.uid.in_(uids[n:n + reading.AT_ONCE])).limit(1)).scalar_one_or_none()
    if double is not None:
        raise StoreError(f"A record with the id {double} is in the log already. {NOTHING_STORED} "
                         "If this is the same record, it needn't be stored again.")


def _check_supersedes(connection: Connection, uids: Sequence[str], drafts: Sequence[Draft]) -> None:
    by_draft: dict[str, str] = {}
    earlier: set[str] = set()
    for uid, draft in zip(uids, drafts, strict=True):
        target = draft.supersedes
        if target is not None:
            if target in by_draft:
                raise StoreError(f"Two corrections of one record ({target}) at once. "
                                 f"{NOTHING_STORED} Keep one.")
            by_draft[target] = uid
            if target not in earlier:
                _check_target(connection, target)
        earlier.add(uid)


def _check_target(connection: Connection, target: str) -> None:
    if connection.execute(select(record.c.seq).where(record.c.uid == target)).scalar_one_or_none() is None:
        raise StoreError(f"The record to be corrected ({target}) is not in this log. {NOTHING_STORED}")
    by = connection.execute(
        select(record.c.seq, record.c.author).where(record.c.supersedes == target)).one_or_none()
    if by is not None:
        who = f" by {by.author}" if by.author else ""
        raise StoreError(f"That record has been corrected already{who}, in record {by.seq}. {NOTHING_STORED} "
                         "Look at that one and correct it instead, if it is still wrong.")
