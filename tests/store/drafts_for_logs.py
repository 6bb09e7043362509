"""What the tests of the store write into logs."""

from __future__ import annotations

from typing import Any

import numpy as np

from dipbook.records import ROUND, SAMPLES, Block, Dip, Draft, Record

T0 = 1_700_000_000_000


def remark(n: int = 0, **fields: Any) -> Draft:
    return Draft("remark", T0 + n, T0 + n + 1, "Ada", {"remark": f"number {n}"}, **fields)


def a_round(n: int = 0, **fields: Any) -> Draft:
    dips = (Dip("Suction", T0 + n, "5' 3 1/2\"", level_m=1.6129, t_half_ms=30_000, resolution_m=0.003),
            Dip("Reserve", T0 + n, "212 bbl", volume_m3=33.7053, flag="clipped"),
            Dip("Pill", T0 + n, "same", unchanged=True))
    return Draft(ROUND, T0 + n, T0 + n + 1, "Ada", {"observer": "Ada", "complete": True}, dips=dips, **fields)


def samples(n: int = 0, seconds: int = 9_000, channel: str = "tank:Suction:level", **fields: Any) -> Draft:
    t = T0 + n + 1000 * np.arange(seconds, dtype=np.int64)
    v = 2.0 + 0.01 * np.sin(np.arange(seconds) / 60.0)
    return Draft(SAMPLES, T0 + n, T0 + n, payload={"source": "sensor"}, blocks=(Block(channel, t, v),), **fields)


def as_plain(record: Record) -> tuple[Any, ...]:
    """A record as something that == compares, samples down to the last bit."""
    blocks = tuple((b.channel, np.asarray(b.t_ms).tolist(), np.asarray(b.v).tobytes()) for b in record.blocks)
    return (record.seq, record.uid, record.kind, record.t_ms, record.learned_ms, record.author, dict(record.payload),
            record.dips, blocks, record.supersedes, record.reason, record.offset_min, record.station,
            record.payload_version, record.prev_hash, record.hash)
