"""What verifies of a damaged log comes out of it: as it was up to the damage, sealed anew after it, the rest named."""

from __future__ import annotations

import random
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from dipbook import store
from dipbook.errors import StoreBusyError, StoreDamagedError, StoreError
from dipbook.records import Draft, Record
from dipbook.store.salvage import Salvaged, salvage
from store.drafts_for_logs import T0, a_round, as_plain, remark, samples

NOW = T0 + 10**9
Written = tuple[Path, tuple[Record, ...]]


@pytest.fixture(scope="module")
def made_once(tmp_path_factory: pytest.TempPathFactory) -> Written:
    """A log of 242 records: rounds, remarks, samples of hours, corrections and a strike."""
    path = tmp_path_factory.mktemp("made") / "well.log"
    with store.open(path, created_ms=5) as log:
        log.append([draft for n in range(60) for draft in [
            a_round(n * 10**6, uid=f"round {n}"), samples(n * 10**7, seconds=4_000, uid=f"samples {n}"),
                        remark(n, uid=f"remark {n}"), remark(n, uid=f"corrected {n}", supersedes=f"remark {n}", reason="wrong")]])
        log.append([Draft("void", T0, T0, "Ada", supersedes="round 3", reason="twice", uid="strike"), remark(99)])
        records = log.records()
    return path, records


@pytest.fixture
def written(made_once: Written, path: Path) -> Written:
    """A copy of it to damage."""
    shutil.copy(made_once[0], path)
    return path, made_once[1]


def done(path: Path) -> Salvaged:
    before = path.read_bytes()
    made = salvage(path, path.with_name("new.dipbook"), now_ms=NOW)
    assert path.read_bytes() == before, "the damaged log is left alone"
    left = sorted(p.name for p in path.parent.iterdir())
    assert [name for name in left if name.startswith(".")] == []
    return made


def came(path: Path, made: Salvaged, records: tuple[Record, ...]) -> None:
    """The new log holds together, and each of its records is one that was written, or the remark at its end."""
    with store.open(path.with_name("new.dipbook"), create=False) as log:
        assert log.verify() == ()
        *there, said = log.records()
        assert (said.kind, said.t_ms, said.payload["salvaged_from"]) == ("remark", NOW, path.name)
        assert list(made.left_out) == said.payload["left_out"]
        assert len(there) == made.as_they_were + made.anew
        assert [as_plain(r) for r in there[:made.as_they_were]] == [as_plain(r) for r in records[:made.as_they_were]]
        by_uid = {r.uid: r for r in records}
        for r in there[made.as_they_were:]:
            was = by_uid[r.uid]
            assert (r.kind, r.t_ms, r.learned_ms, r.author, dict(r.payload), r.dips) == (
                was.kind, was.t_ms, was.learned_ms, was.author, dict(was.payload), was.dips)
        assert [row[2] for row in said.payload["anew"]] == [by_uid[r.uid].hash for r in there[made.as_they_were:]]
        gone = len(records) - len(there)
        assert bool(made.left_out) == (gone > 0 or any("block" in words for words in made.left_out))
        log.append([remark(1)])  # and can be gone on with


def test_a_sound_log_comes_out_as_it_was(written: Written) -> None:
    path, records = written
    made = done(path)
    assert made == Salvaged(242, 0, ())
    came(path, made, records)


def test_records_after_an_altered_one_are_sealed_anew(written: Written) -> None:
    path, records = written
    with closing(sqlite3.connect(path)) as raw:
        raw.executescript("DROP TRIGGER record_no_update; UPDATE record SET author = 'Eve' WHERE uid = 'remark 10'")
    made = done(path)
    assert (made.as_they_were, made.anew) == (42, 199)
    assert made.left_out == ("record 43 (remark) is not what was written",
                             "record 44 (remark) corrected one that is not there: it stands by itself now")
    came(path, made, records)


def test_a_strike_of_a_record_that_is_lost_is_left_out_and_named(written: Written) -> None:
    path, records = written
    with closing(sqlite3.connect(path)) as raw:
        raw.executescript("DROP TRIGGER record_no_update; UPDATE record SET author = 'Eve' WHERE uid = 'round 3'")
    made = done(path)
    assert made.left_out[1] == "record 241 (void) corrected one that is not there: it is left out"
    came(path, made, records)


def test_of_a_record_with_a_damaged_block_the_other_blocks_stay(written: Written) -> None:
    path, records = written
    with closing(sqlite3.connect(path)) as raw:
        raw.executescript("DROP TRIGGER block_no_update; UPDATE block SET v = x'00' WHERE source_seq = 2 AND place = 0")
    made = done(path)
    assert (made.as_they_were, made.anew) == (1, 241)
    assert len(made.left_out) == 1
    assert "is damaged" in made.left_out[0]
    came(path, made, records)
    with store.open(path.with_name("new.dipbook"), write=False) as log:
        kept = sum(len(b.t_ms) for b in log.records()[1].blocks)
        assert 0 < kept < 4_000


@pytest.mark.parametrize("keep", [0.95, 0.7, 0.4])
def test_a_log_that_was_cut_off_gives_what_lies_before_the_cut(written: Written, keep: float) -> None:
    path, records = written
    content = path.read_bytes()
    path.write_bytes(content[:int(len(content) * keep)])
    with pytest.raises(StoreDamagedError):
        store.open(path)
    made = done(path)
    assert made.as_they_were + made.anew > 242 * keep * 0.5
    assert made.left_out
    came(path, made, records)


@pytest.mark.parametrize("seed", range(12))
def test_whatever_pages_rot_nothing_false_comes_out(written: Written, seed: int) -> None:
    """Pages at random but the first, where the tables are written down: without it there is no telling what was what."""
    path, records = written
    content, pick = bytearray(path.read_bytes()), random.Random(seed)
    for _ in range(pick.choice((1, 1, 3))):
        page = pick.randrange(1, len(content) // 4096)
        content[page * 4096:(page + 1) * 4096] = pick.choice((bytes(4096), pick.randbytes(4096)))
    path.write_bytes(content)
    came(path, done(path), records)


@pytest.mark.parametrize("content", [b"", b"\x00" * 8192, b"depth,volume\n" * 900])
def test_what_is_no_log_is_refused_in_words(path: Path, content: bytes) -> None:
    path.write_bytes(content)
    with pytest.raises(StoreDamagedError, match="nothing was made"):
        salvage(path, path.with_name("new.dipbook"), now_ms=NOW)
    assert sorted(p.name for p in path.parent.iterdir()) in ([path.name], [path.name, f"{path.name}.lock"])


def test_a_file_is_never_replaced_and_an_open_log_never_salvaged(log: store.Store, path: Path) -> None:
    with pytest.raises(StoreBusyError, match="Another Dipbook has this log open"):
        salvage(path, path.with_name("new.dipbook"), now_ms=NOW)
    log.close()
    path.with_name("new.dipbook").write_bytes(b"mine")
    with pytest.raises(StoreError, match="Choose another name"):
        salvage(path, path.with_name("new.dipbook"), now_ms=NOW)
    assert path.with_name("new.dipbook").read_bytes() == b"mine"
