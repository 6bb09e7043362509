"""Samples are packed an hour at a time, small, and checked when read."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from sqlalchemy import select

from dipbook import store
from dipbook.errors import StoreDamagedError
from dipbook.records import Block
from dipbook.store import blocks
from dipbook.store.blocks import Packed
from dipbook.store.schema import block as block_table
from store.drafts_for_logs import samples


def whole_hours() -> Block:
    t = np.arange(3 * 3600, dtype=np.int64) * 1000 + 5 * blocks.HOUR_MS
    return blocks.whole([Block("tank:A:level", t, np.round(np.sin(t / 1e6), 3))])[0]


def test_a_run_is_split_at_the_hours_and_joined_again() -> None:
    run = whole_hours()
    pieces = blocks.pack(run)
    assert [(p.n, p.t0 % blocks.HOUR_MS, p.t1 - p.t0) for p in pieces] == [(3600, 0, 3_599_000)] * 3
    (back,) = blocks.joined([blocks.unpack(p) for p in pieces])
    assert back.t_ms.tobytes() == run.t_ms.tobytes()
    assert back.v.tobytes() == run.v.tobytes()
    assert not back.v.flags.writeable


def test_no_block_in_the_file_is_longer_than_an_hour(log: store.Store) -> None:
    log.append([samples(1234)])
    with log._engine.connect() as connection:
        spans = connection.execute(select(block_table.c.t0, block_table.c.t1)).all()
    assert len(spans) == 3
    assert all(t0 // blocks.HOUR_MS == t1 // blocks.HOUR_MS for t0, t1 in spans)


def test_the_times_of_a_steady_run_take_next_to_no_room() -> None:
    assert all(p.codec == blocks.ZLIB and len(p.t) < 300 for p in blocks.pack(whole_hours()))


def test_values_that_do_not_shrink_are_kept_as_they_are() -> None:
    (piece,) = blocks.pack(blocks.whole([Block("c", np.array([70_001]), np.array([0.1]))])[0])
    assert piece.codec == blocks.RAW
    assert blocks.unpack(piece).v.tolist() == [0.1]


def test_a_channel_given_in_parts_is_one_channel() -> None:
    (one,) = blocks.whole([Block("c", np.array([1, 2]), np.array([1.0, 2.0])),
                           Block("c", np.array([3]), np.array([3.0])),
                           Block("empty", np.array([]), np.array([]))])
    assert (one.channel, one.t_ms.tolist(), one.v.tolist()) == ("c", [1, 2, 3], [1.0, 2.0, 3.0])


@pytest.mark.parametrize("harm", [
    lambda p: replace(p, channel="tank:B:level"),
    lambda p: replace(p, t0=p.t0 + 1),
    lambda p: replace(p, t0=p.t0 + 1, t1=p.t1 + 1),
    lambda p: replace(p, n=p.n - 1),
    lambda p: replace(p, v=p.v[:-3]),
    lambda p: replace(p, v=p.v[:40] + bytes([p.v[40] ^ 1]) + p.v[41:]),
    lambda p: replace(p, t=b""),
    lambda p: replace(p, codec="unheard of"),
    lambda p: replace(p, codec=blocks.RAW),
    lambda p: replace(p, sha256="0" * 64),
])
def test_a_block_that_is_not_what_was_sealed_is_refused(harm: Callable[[Packed], Packed]) -> None:
    piece = blocks.pack(whole_hours())[0]
    blocks.unpack(piece)
    with pytest.raises(StoreDamagedError, match=r"is damaged.*from a backup"):
        blocks.unpack(harm(piece))
