"""Kills a program that writes a log, at random instants, and looks through what it left. Core only; POSIX.

    PYTHONPATH=core:tests python -m store.killing FOLDER --kills 1000 --seed 1

Each child is a process of its own, made by fork so that a thousand take minutes, and ended by SIGKILL. It says on a pipe what
it is about to append, and once ``append`` has returned, with which hashes. Then: all that was acknowledged is there, hash by
hash; what was under way is there whole or not at all; the chain verifies. The last line printed is the figures as JSON.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import shutil
import signal
import sqlite3
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from builders import two_box_rig
from dipbook import importing, store
from dipbook.records import Draft
from dipbook.store import migrate, schema
from store.drafts_for_logs import T0, a_round, remark, samples

LATER = "9999"
NEXT = '''
import sqlalchemy as sa
from alembic import op
revision = "9999"
down_revision = "{head}"
def upgrade() -> None:
    with op.batch_alter_table("record", recreate="always") as batch:
        batch.add_column(sa.Column("shift", sa.Text(), nullable=True))
'''
WORK = ("writing", "writing", "writing", "migrating", "backing up", "making")
FRESH_AFTER = 25
"""Kills that one log takes before the next is begun: to look through it all takes longer as it grows."""
LONGEST_S = {"writing": 0.25, "migrating": 0.25, "backing up": 0.25, "making": 0.2}
"""Longest time until the kill [s], to begin with. What ends by itself before it is killed makes it shorter, what is killed
makes it longer: so on a fast machine and on a slow one about two in five have ended, and kills fall all along the way."""
LONGER, SHORTER = 1.15, 0.8
AIMED = 0.2
"""Share of the copies and the new logs that are killed as their file appears, rather than at any time: the moment between
that and the end is too short to be hit by chance more than once or twice in a thousand."""


class Pipe:
    """What the child says, a line at a time; a line that isn't whole was not said."""

    def __init__(self, handle: int) -> None:
        self.handle = handle

    def say(self, **what: Any) -> None:
        os.write(self.handle, (json.dumps(what) + "\n").encode())


def drafts_for(n: int, pick: random.Random, there: list[str]) -> tuple[str, list[Draft]]:
    """What a desk stores at once. n: makes times and ids; there: ids that can still be corrected."""
    def uid(what: str) -> str:
        return f"{n} {what} {pick.getrandbits(64):x}"
    what = pick.choice(("round", "samples", "import", "correction", "file"))
    t = n * 100_000
    if what == "correction" and there:
        return what, [remark(t, uid=uid("c"), supersedes=there.pop(pick.randrange(len(there))), reason="wrong")]
    if what == "samples":
        return what, [samples(t, seconds=pick.choice((50, 5_000)), uid=uid("s"))]
    if what == "import":
        return what, [samples(t, seconds=20_000, uid=uid("s")), *(remark(t + i, uid=uid(f"e{i}")) for i in range(40))]
    if what == "file":
        rows = "".join(f"2023-03-01T{n // 3600 % 24:02}:{n // 60 % 60:02}:{n % 60:02}.{i:03}Z,{30 + i % 7}\n" for i in range(200))
        read = importing.read(importing.File(f"{n}.csv", f"time,Suction [in]\n{rows}".encode()), None, two_box_rig(), (),
                              now_ms=2 * T0, author="Ada")
        assert read.ok, read.findings
        return what, list(read.drafts)
    return "round", [a_round(t, uid=uid("r")), remark(t, uid=uid("m"))]


def write(path: Path, pipe: Pipe, seed: int) -> None:
    """Append without end."""
    pick = random.Random(seed)
    with store.open(path, station="child") as log:
        pipe.say(ready=log.last_seq)
        there: list[str] = []
        n = log.last_seq * 7
        while True:
            n += 1
            time.sleep(pick.choice((0.0, 0.0, 0.002)))
            what, drafts = drafts_for(n, pick, there)
            pipe.say(about=[d.uid for d in drafts], what=what)
            done = log.append(drafts)
            pipe.say(done=[(r.uid, r.hash) for r in done])
            there += [r.uid for r in done if r.kind == "remark"]


@contextmanager
def later_version(scripts: Path) -> Iterator[None]:
    """Within it, this process is the program of one schema on."""
    if not scripts.exists():
        shutil.copytree(migrate.SCRIPTS, scripts, ignore=shutil.ignore_patterns("__pycache__"))
        (scripts / "versions" / "r9999_shift.py").write_text(NEXT.format(head=schema.REVISIONS[-1]), encoding="utf-8")
    before = migrate.SCRIPTS, schema.REVISIONS
    migrate.SCRIPTS, schema.REVISIONS = scripts, (*schema.REVISIONS, LATER)
    try:
        yield
    finally:
        migrate.SCRIPTS, schema.REVISIONS = before


def forked(work: Callable[[Pipe], None], delay_s: float, appears: Path | None = None) -> tuple[list[dict[str, Any]], bool]:
    """Do the work in a child, kill it after delay_s [s], or once the file ``appears`` if one is given (after a second at
    the latest): what it said, and whether it ran when it was killed."""
    reads, writes = os.pipe()
    pid = os.fork()
    if pid == 0:
        try:
            os.close(reads)
            work(Pipe(writes))
            os._exit(0)
        except BaseException as error:  # noqa: BLE001  the parent has to hear of it
            sys.stderr.write(f"{type(error).__name__}: {error}\n")
            os._exit(1)
    os.close(writes)
    if appears is None:
        time.sleep(delay_s)
    else:
        latest = time.monotonic() + 1.0
        while not appears.exists() and time.monotonic() < latest:
            time.sleep(0.0001)
    os.kill(pid, signal.SIGKILL)
    with os.fdopen(reads, encoding="utf-8") as said:
        lines = [json.loads(line) for line in said.read().splitlines(keepends=True) if line.endswith("\n")]
    status = os.waitpid(pid, 0)[1]
    if os.WIFEXITED(status) and os.WEXITSTATUS(status):
        raise AssertionError("the child failed; its words are above")
    return lines, os.WIFSIGNALED(status)


class Kills:
    """The soak. folder: an empty one."""

    def __init__(self, folder: Path, seed: int) -> None:
        self.folder, self.pick, self.counts = folder, random.Random(seed), Counter[str]()
        self.known: dict[str, str] = {}
        self.began = 0
        self.longest = dict(LONGEST_S)
        self.aimed = False
        self.scripts = folder / "scripts"

    def path(self) -> Path:
        return self.folder / f"log {self.began}.dipbook"

    def once(self, n: int) -> None:
        """One kill and a look through. n: of how many it is."""
        if n % FRESH_AFTER == 0:
            self.began, self.known = n, {}
            with store.open(self.path()) as log:
                self.known = {r.uid: r.hash for r in log.append([a_round(0, uid="first"), samples(1, uid="second")])}
        what = self.pick.choice(WORK)
        delay = self.pick.uniform(0.0, self.longest[what])
        self.aimed = what in ("backing up", "making") and self.pick.random() < AIMED
        ran = {"writing": self.writing, "migrating": self.migrating, "backing up": self.backing_up,
               "making": self.making}[what](delay)
        if what != "writing" and not self.aimed:  # which never ends by itself
            self.longest[what] *= LONGER if ran else SHORTER
        self.counts["kills"] += ran
        self.counts[f"kills while {what}" if ran else f"ended before its kill while {what}"] += 1

    def writing(self, delay: float) -> bool:
        seed = self.pick.getrandbits(32)
        said, ran = forked(lambda pipe: write(self.path(), pipe, seed), delay)
        self.counts["killed while opening"] += not any("ready" in line for line in said)
        about = [line for line in said if "about" in line]
        done = [line for line in said if "done" in line]
        for line in done:
            self.known |= dict(line["done"])
        self.counts["acknowledged records"] += sum(len(line["done"]) for line in done)
        for line in about[:len(done)]:
            self.counts[f"acknowledged: {line['what']}"] += 1
        hanging = about[len(done):]
        assert len(hanging) <= 1
        with store.open(self.path()) as log:
            there = {r.uid: r.hash for r in self.look(log)}
        for line in hanging:
            kept = [uid for uid in line["about"] if uid in there]
            assert kept in ([], line["about"]), f"half of {line} is there: {kept}"
            self.counts["killed within an append"] += 1
            self.counts["killed within an append: there whole" if kept else "killed within an append: not there"] += 1
            self.known |= {uid: there[uid] for uid in kept}
        assert set(there) == set(self.known), "something is there that nobody stored"
        return ran

    def look(self, log: store.Store, *, remarks: bool = False) -> tuple[Any, ...]:
        records = log.records()
        there = {r.uid: r.hash for r in records}
        lost = [uid for uid, seal in self.known.items() if there.get(uid) != seal]
        assert not lost, f"{len(lost)} acknowledged records are not there as they were: {lost[:3]}"
        assert log.verify() == ()
        assert bool(log.remarks) == remarks
        return records

    def migrating(self, delay: float) -> bool:
        """A copy of the log is brought to a later schema; whichever it then has, all of it is there."""
        copy = self.folder / "migrated" / "log.dipbook"
        shutil.rmtree(copy.parent, ignore_errors=True)
        copy.parent.mkdir()
        shutil.copy(self.path(), copy)

        def work(pipe: Pipe) -> None:
            with later_version(self.scripts):
                store.open(copy).close()
            pipe.say(upgraded=True)
        said, ran = forked(work, delay)
        with closing(sqlite3.connect(copy)) as raw:
            reached = raw.execute("SELECT version_num FROM alembic_version").fetchone()[0]
        assert reached == LATER or not said, "an acknowledged upgrade is not there"
        self.counts["killed migrations: at the later schema" if reached == LATER else "killed migrations: as it was"] += ran
        kept = [p for p in copy.parent.glob("log.dipbook.schema-*") if p.suffix != ".lock"]
        assert kept or reached != LATER, "no copy was kept of what it was"
        for path in [*kept, *([copy] if reached != LATER else [])]:
            with store.open(path, write=False) as log:
                self.look(log)
        with later_version(self.scripts), store.open(copy) as log:  # one that was interrupted is brought there now
            self.look(log, remarks=reached != LATER)
        return ran

    def backing_up(self, delay: float) -> bool:
        """A backup under way: the copy is whole or isn't there, and the log is untouched."""
        copy = self.folder / "copies" / "copy.dipbook"
        shutil.rmtree(copy.parent, ignore_errors=True)
        copy.parent.mkdir()

        def work(pipe: Pipe) -> None:
            with store.open(self.path()) as log:
                log.backup(copy)
            pipe.say(copied=True)
        said, ran = forked(work, delay, copy if self.aimed else None)
        assert copy.exists() or not said, "an acknowledged backup is not there"
        self.counts["killed backups: whole" if copy.exists() else "killed backups: none"] += ran
        for path in [self.path(), *([copy] if copy.exists() else [])]:
            with store.open(path) as log:
                self.look(log)
        return ran

    def making(self, delay: float) -> bool:
        """A log being made: it is there whole or not at all, and can be made then."""
        path = self.folder / "made" / "log.dipbook"
        shutil.rmtree(path.parent, ignore_errors=True)
        path.parent.mkdir()

        def work(pipe: Pipe) -> None:
            store.open(path).close()
            pipe.say(made=True)
        said, ran = forked(work, delay, path if self.aimed else None)
        assert path.exists() or not said
        self.counts["killed while making: whole" if path.exists() else "killed while making: not there"] += ran
        with store.open(path) as log:
            assert log.append([remark()])[0].seq == 1
            assert log.verify() == ()
        return ran


def main() -> None:
    asked = argparse.ArgumentParser()
    asked.add_argument("folder", type=Path)
    asked.add_argument("--kills", type=int, default=1000)
    asked.add_argument("--seed", type=int, default=1)
    of = asked.parse_args()
    import alembic.command  # noqa: F401  before the forks, or each child would spend its life importing it

    kills, n = Kills(of.folder, of.seed), 0
    while kills.counts["kills"] < of.kills:
        kills.once(n)
        n += 1
    sys.stdout.write(json.dumps(dict(sorted(kills.counts.items()))) + "\n")


if __name__ == "__main__":
    main()
