"""The writer's thread: nothing put is lost, doubled or stored out of order, whatever the disk does."""

from __future__ import annotations

import threading
from collections.abc import Iterator, Sequence
from random import Random

import pytest
from PySide6.QtCore import QCoreApplication

from dipbook.errors import StoreError
from dipbook.records import Draft, Record, numbered
from dipbook_app.writer import Writer


class Disk:
    """Stores what it is given in a list; fails when told to; can be held up at its door."""

    def __init__(self) -> None:
        self.stored: list[str] = []
        self.fails: Iterator[bool] = iter(())
        self.error: Exception = StoreError("The disk is full. Nothing of it was stored.")
        self.open = threading.Event()
        self.open.set()
        self.asked = threading.Event()
        self.threads: set[int] = set()

    def append(self, drafts: Sequence[Draft]) -> tuple[Record, ...]:
        self.threads.add(threading.get_ident())
        self.asked.set()
        assert self.open.wait(20)
        if next(self.fails, False):
            raise self.error
        self.stored += [d.reason for d in drafts]
        return numbered(tuple(drafts))


def draft(name: object) -> Draft:
    return Draft("remark", 0, 0, reason=str(name))


def turn(writer: Writer) -> None:
    """One turn of the window's thread, the outcome of what the writing thread is at having come in."""
    job = writer._job
    if job is not None:
        job.exception()
        while writer._job is job:        # its outcome comes as an event, posted just after it has ended
            QCoreApplication.processEvents()
    QCoreApplication.processEvents()


@pytest.fixture
def disk(qapp: object) -> Disk:
    return Disk()


def test_what_is_put_while_a_batch_is_under_way_is_stored_after_it_and_once(disk: Disk) -> None:
    writer = Writer(disk.append)
    disk.open.clear()
    writer.put([draft("a")])
    assert disk.asked.wait(20)
    writer.put([draft("b")])
    writer.put([draft("c")])
    assert writer.waiting == 3
    disk.open.set()
    while writer.waiting:
        turn(writer)
    assert disk.stored == ["a", "b", "c"]
    assert disk.threads
    assert threading.get_ident() not in disk.threads
    assert writer.close() == 0


def test_ten_thousand_drafts_with_a_disk_that_fails_now_and_then_come_out_whole_and_in_order(disk: Disk) -> None:
    random = Random(7)
    disk.fails = (random.random() < 0.3 for _ in iter(int, 1))
    writer = Writer(disk.append)
    told: list[int] = []
    failures: list[str] = []
    writer.stored.connect(lambda records: told.append(len(records)))
    writer.failed.connect(failures.append)
    n = 0
    while n < 10_000:
        some = random.randrange(1, 20)
        writer.put([draft(i) for i in range(n, n + some)])
        n += some
        for _ in range(random.randrange(3)):
            random.choice([QCoreApplication.processEvents, writer.go_on])()
    while writer.waiting:
        turn(writer)
        writer.go_on()
    assert disk.stored == [str(i) for i in range(n)]
    assert sum(told) == n
    assert failures
    assert writer.close() == 0


def test_a_failed_batch_is_kept_said_in_words_and_stored_at_the_next_try(disk: Disk) -> None:
    disk.fails = iter([True, False])
    writer = Writer(disk.append)
    failures: list[str] = []
    writer.failed.connect(failures.append)
    writer.put([draft("a")])
    turn(writer)
    assert failures == ["The disk is full. Nothing of it was stored."]
    assert writer.waiting == 1
    writer.go_on()
    turn(writer)
    assert (disk.stored, writer.waiting) == (["a"], 0)
    writer.close()


def test_a_bug_in_the_store_loses_no_draft_and_is_said(disk: Disk) -> None:
    disk.fails, disk.error = iter([True, False]), TypeError("no such thing")
    writer = Writer(disk.append)
    failures: list[str] = []
    writer.failed.connect(failures.append)
    writer.put([draft("a")])
    turn(writer)
    assert "TypeError: no such thing" in failures[0]
    writer.go_on()
    turn(writer)
    assert disk.stored == ["a"]
    writer.close()


@pytest.mark.parametrize(("fails", "lost"), [([False, False], 0), ([True, False], 0), ([True, True], 2)])
def test_closing_stores_what_waits_or_says_how_much_was_lost(disk: Disk, fails: list[bool], lost: int) -> None:
    disk.fails = iter(fails)
    writer = Writer(disk.append)
    disk.open.clear()
    writer.put([draft("a")])
    writer.put([draft("b")])
    disk.open.set()
    assert writer.close() == lost
    assert len(disk.stored) == 2 - lost
    writer.put([draft("c")])                     # too late: kept, never stored, no crash
    QCoreApplication.processEvents()
    assert len(disk.stored) == 2 - lost
