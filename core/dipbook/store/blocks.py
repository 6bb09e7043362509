"""Samples packed for the disk: one block is one channel, at most one UTC hour, sealed by a sha256."""

from __future__ import annotations

import hashlib
import zlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from dipbook.errors import StoreDamagedError, StoreError
from dipbook.records import Block

HOUR_MS = 3_600_000
RAW = "i8 steps, f8"
ZLIB = "i8 steps, f8, zlib"
ZLIB_LEVEL = 1  # the times nearly vanish at any level; a higher one costs time and saves little


@dataclass(frozen=True, slots=True)
class Packed:
    """One row of the table ``block`` without its place: see the comments in the schema."""

    channel: str
    t0: int
    t1: int
    n: int
    t: bytes
    v: bytes
    codec: str
    sha256: str


def whole(blocks: Sequence[Block]) -> tuple[Block, ...]:
    """Each channel once, times int64, values float64, both read-only; channels without samples are left out.

    blocks: of one record, in any number per channel. Raises StoreError if lengths differ, if a time is not a
    whole number, or if a channel's times don't rise.
    """
    parts: dict[str, list[tuple[Any, Any]]] = {}
    for block in blocks:
        t, v = np.asarray(block.t_ms), np.asarray(block.v)
        if t.shape != v.shape or t.ndim != 1:
            raise StoreError(f"The samples of {block.channel} don't match: "
                             f"{t.size} times and {v.size} values. Nothing was stored.")
        if t.size and t.dtype.kind not in "iu":
            raise StoreError(f"The times of {block.channel} are not whole milliseconds. Nothing was stored.")
        if v.size and v.dtype.kind not in "iuf":
            raise StoreError(f"The values of {block.channel} are not numbers. Nothing was stored.")
        parts.setdefault(block.channel, []).append((t.astype(np.int64), v.astype(np.float64)))
    return tuple(b for channel, pairs in parts.items() if (b := _joined(channel, pairs)) is not None)


def _joined(channel: str, pairs: Sequence[tuple[Any, Any]]) -> Block | None:
    t = np.concatenate([p[0] for p in pairs])
    v = np.concatenate([p[1] for p in pairs])
    if t.size == 0:
        return None
    if not bool(np.all(t[1:] > t[:-1])):
        raise StoreError(f"The times of {channel} don't rise: two samples at one time, or one out of order. "
                         "Nothing was stored.")
    t.flags.writeable = False
    v.flags.writeable = False
    return Block(channel, t, v)


def pack(block: Block) -> tuple[Packed, ...]:
    """Split a block at the UTC hours and pack each piece. block: as ``whole`` returns it."""
    hours = block.t_ms // HOUR_MS
    cuts = [0, *(np.flatnonzero(hours[1:] != hours[:-1]) + 1).tolist(), len(hours)]
    return tuple(_packed(block.channel, block.t_ms[a:b], block.v[a:b]) for a, b in pairwise(cuts))


def _packed(channel: str, t: Any, v: Any) -> Packed:
    steps = np.diff(t, prepend=t[:1]).astype("<i8").tobytes()
    values = v.astype("<f8").tobytes()
    small = (zlib.compress(steps, ZLIB_LEVEL), zlib.compress(values, ZLIB_LEVEL))
    codec = ZLIB
    if len(small[0]) + len(small[1]) >= len(steps) + len(values):
        small, codec = (steps, values), RAW
    return Packed(channel, int(t[0]), int(t[-1]), len(t), *small, codec, _seal(channel, t, v))


def _seal(channel: str, t: Any, v: Any) -> str:
    """sha256 over the content, not over its packing, so that another packing keeps the chain."""
    sha = hashlib.sha256(f"{channel}\n{len(t)}\n".encode())
    sha.update(t.astype("<i8").tobytes())
    sha.update(v.astype("<f8").tobytes())
    return sha.hexdigest()


def unpack(packed: Packed) -> Block:
    """The samples of one packed block. Raises StoreDamagedError if they aren't what was sealed."""
    try:
        if packed.codec not in (RAW, ZLIB):
            raise ValueError(f"unknown packing {packed.codec!r}")
        zipped = packed.codec == ZLIB
        steps = np.frombuffer(zlib.decompress(packed.t) if zipped else packed.t, dtype="<i8")
        values = np.frombuffer(zlib.decompress(packed.v) if zipped else packed.v, dtype="<f8")
        t = packed.t0 + np.cumsum(steps, dtype=np.int64)
        if not len(t) == len(values) == packed.n or not len(t) or int(t[-1]) != packed.t1:
            raise ValueError("its length or its times disagree with its heading")
        if _seal(packed.channel, t, values) != packed.sha256:
            raise ValueError("its content is not what was sealed")
    except (ValueError, TypeError, zlib.error) as error:
        raise StoreDamagedError(
            f"A block of samples of {packed.channel} is damaged: {error}. Nothing was changed. "
            "Check the log (verify) and take this part from a backup.") from error
    t.flags.writeable = False
    v = values.astype(np.float64)
    v.flags.writeable = False
    return Block(packed.channel, t, v)


def joined(pieces: Iterable[Block]) -> tuple[Block, ...]:
    """Put the pieces of one record together again, each channel once, in the order of their first piece."""
    by_channel: dict[str, list[Block]] = {}
    for piece in pieces:
        by_channel.setdefault(piece.channel, []).append(piece)
    return tuple(
        same[0] if len(same) == 1
        else Block(channel, _sealed_concat([p.t_ms for p in same]), _sealed_concat([p.v for p in same]))
        for channel, same in by_channel.items()
    )


def _sealed_concat(arrays: Sequence[Any]) -> Any:
    array = np.concatenate(arrays)
    array.flags.writeable = False
    return array
