"""The chain of hashes: each record is sealed over its content and over the record before it.

It makes tampering visible; it does not prevent it. Whoever can rewrite the whole file can rewrite the
whole chain, so a copy of the last hash kept elsewhere (a printed report, a backup) is what proves the rest.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from typing import Any

from dipbook.records import Record


def canonical(value: Any) -> str:
    """One text for one value: keys sorted, no spaces, ASCII, shortest floats that read back the same.

    value: plain JSON values. Raises ValueError for NaN and infinity, TypeError for what isn't JSON.
    """
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=True, allow_nan=False)


def digest(value: Any) -> str:
    """sha256 of the canonical text of a plain JSON value, in hex."""
    return hashlib.sha256(canonical(value).encode("ascii")).hexdigest()


def first_link(header: Mapping[str, str]) -> str:
    """What the first record is chained to: the digest of the log's header (the rows of ``meta``)."""
    return digest(dict(header))


def record_hash(record: Record, block_digests: Sequence[str]) -> str:
    """Seal one record.

    record: with seq and prev_hash set; its ``hash`` and ``blocks`` are not looked at.
    block_digests: sha256 of its blocks as stored, in their order.

    The fields are named one by one. A field added in a later version must be left out here where it has
    its default, or every older record would seem altered.
    """
    return digest({
        "seq": record.seq, "uid": record.uid, "station": record.station, "kind": record.kind,
        "t_ms": record.t_ms, "learned_ms": record.learned_ms, "offset_min": record.offset_min,
        "author": record.author, "supersedes": record.supersedes, "reason": record.reason,
        "payload": dict(record.payload), "payload_version": record.payload_version,
        "prev_hash": record.prev_hash,
        "dips": [
            [d.tank, d.t_ms, d.t_half_ms, d.as_typed, d.level_m, d.volume_m3, d.resolution_m,
             d.flag, d.unchanged]
            for d in record.dips
        ],
        "blocks": list(block_digests),
    })
