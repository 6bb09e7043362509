"""Between records and the rows of the tables: plain types in, the same record out."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from sqlalchemy import Row

from dipbook.errors import StoreError
from dipbook.records import Dip, Draft, Record
from dipbook.store import blocks, chain
from dipbook.store.blocks import Packed

INT64 = 2**63
DIP_NUMBERS = ("level_m", "volume_m3", "resolution_m")


@dataclass(frozen=True, slots=True)
class Settled:
    """A record ready to be written, and its samples as they go to the disk."""

    record: Record
    packed: tuple[Packed, ...]

    def record_row(self) -> dict[str, Any]:
        """The row of the table ``record``."""
        r = self.record
        return {"seq": r.seq, "uid": r.uid, "station": r.station, "kind": r.kind, "t_ms": r.t_ms,
                "learned_ms": r.learned_ms, "offset_min": r.offset_min, "author": r.author,
                "supersedes": r.supersedes, "reason": r.reason, "payload": dict(r.payload),
                "payload_version": r.payload_version, "prev_hash": r.prev_hash, "hash": r.hash}

    def dip_rows(self) -> list[dict[str, Any]]:
        """The rows of the table ``dip``."""
        return [{"record_seq": self.record.seq, "place": place, "tank": d.tank, "t_ms": d.t_ms,
                 "t_half_ms": d.t_half_ms, "as_typed": d.as_typed, "level_m": d.level_m,
                 "volume_m3": d.volume_m3, "resolution_m": d.resolution_m, "flag": d.flag,
                 "unchanged": d.unchanged} for place, d in enumerate(self.record.dips)]

    def block_rows(self) -> list[dict[str, Any]]:
        """The rows of the table ``block``."""
        return [{"source_seq": self.record.seq, "place": place, "channel": p.channel, "t0": p.t0, "t1": p.t1,
                 "n": p.n, "t": p.t, "v": p.v, "codec": p.codec, "sha256": p.sha256}
                for place, p in enumerate(self.packed)]


def settle(draft: Draft, *, seq: int, uid: str, station: str, prev_hash: str) -> Settled:
    """Number and seal a draft, with every value made plain.

    numpy's numbers are converted here: sqlite3 would bind them as bytes. Raises StoreError, naming the
    field, for what can't be kept: not a number, a broken text, samples out of order.
    """
    place = f"This {draft.kind} can't be stored"
    whole = blocks.whole(draft.blocks)
    packed = tuple(p for block in whole for p in blocks.pack(block))
    payload = plain(draft.payload, f"{place}: payload")
    if not isinstance(payload, dict):
        raise StoreError(f"{place}: its payload is not a table of names and values. Nothing was stored.")
    record = Record(
        seq=seq, uid=_text(uid, place, "uid"), kind=_text(draft.kind, place, "kind"),
        t_ms=_whole(draft.t_ms, place, "t_ms"), learned_ms=_whole(draft.learned_ms, place, "learned_ms"),
        author=_text(draft.author, place, "author"), payload=payload,
        dips=tuple(_dip(d, f"{place}: dip of {d.tank}") for d in draft.dips), blocks=whole,
        supersedes=None if draft.supersedes is None else _text(draft.supersedes, place, "supersedes"),
        reason=_text(draft.reason, place, "reason"), offset_min=_whole(draft.offset_min, place, "offset_min"),
        station=_text(station, place, "station"),
        payload_version=_whole(draft.payload_version, place, "payload_version"), prev_hash=prev_hash,
    )
    sealed = replace(record, hash=chain.record_hash(record, [p.sha256 for p in packed]))
    return Settled(sealed, packed)


def _dip(dip: Dip, place: str) -> Dip:
    numbers = {name: _number(getattr(dip, name), place, name) for name in DIP_NUMBERS}
    return Dip(tank=_text(dip.tank, place, "tank"), t_ms=_whole(dip.t_ms, place, "t_ms"),
               as_typed=_text(dip.as_typed, place, "as_typed"),
               t_half_ms=_whole(dip.t_half_ms, place, "t_half_ms"),
               flag=_text(dip.flag, place, "flag"), unchanged=bool(dip.unchanged), **numbers)


def _text(value: Any, place: str, name: str) -> str:
    if not isinstance(value, str):
        raise StoreError(f"{place}: {name} is not a text. Nothing was stored.")
    try:
        value.encode()
    except UnicodeEncodeError:
        raise StoreError(f"{place}: {name} holds half a character that no file can keep. Type it again. "
                         "Nothing was stored.") from None
    return str(value)


def _whole(value: Any, place: str, name: str) -> int:
    if isinstance(value, bool) or not isinstance(value, (int, np.integer)) \
            or not -INT64 <= int(value) < INT64:
        raise StoreError(f"{place}: {name} is not a whole number that fits ({value!r}). Nothing was stored.")
    return int(value)


def _number(value: Any, place: str, name: str) -> float | None:
    if value is None:
        return None
    if isinstance(value, (bool, np.bool_)) or not isinstance(value, (int, float, np.integer, np.floating)) \
            or not math.isfinite(value):
        raise StoreError(f"{place}: {name} is not a number ({value!r}). Nothing was stored.")
    return float(value) + 0.0  # SQLite keeps no minus on a zero; the seal must be over what is read back


def plain(value: Any, place: str) -> Any:
    """Plain JSON of a payload: numpy's numbers and arrays, tuples and mappings converted.

    place: where it stands, for the message. Raises StoreError for what JSON can't hold, NaN among it.
    """
    if value is None or isinstance(value, (bool, np.bool_)):
        return None if value is None else bool(value)
    if isinstance(value, str):
        return _text(value, place, "a text")
    if isinstance(value, (int, np.integer)):
        return int(value)
    if isinstance(value, (float, np.floating)):
        if not math.isfinite(value):
            raise StoreError(f"{place} is not a number ({float(value)!r}). Nothing was stored.")
        return float(value)
    if isinstance(value, Mapping):
        return {_text(key, place, "a name"): plain(item, f"{place}.{key}") for key, item in value.items()}
    if isinstance(value, (list, tuple, np.ndarray)):
        items = value.tolist() if isinstance(value, np.ndarray) else value
        return [plain(item, f"{place}[{n}]") for n, item in enumerate(items)]
    raise StoreError(f"{place} is a {type(value).__name__}, which no log can hold. Nothing was stored.")


def record_of(row: Row[Any], payload: Mapping[str, Any], dips: Sequence[Dip]) -> Record:
    """The record of a row of the table ``record``, without its blocks. payload: of this row, decoded."""
    return Record(seq=row.seq, uid=row.uid, kind=row.kind, t_ms=row.t_ms, learned_ms=row.learned_ms,
                  author=row.author, payload=payload, dips=tuple(dips), supersedes=row.supersedes,
                  reason=row.reason, offset_min=row.offset_min, station=row.station,
                  payload_version=row.payload_version, prev_hash=row.prev_hash, hash=row.hash)


def dip_of(row: Row[Any]) -> Dip:
    """The dip of a row of the table ``dip``."""
    return Dip(tank=row.tank, t_ms=row.t_ms, as_typed=row.as_typed, level_m=row.level_m,
               volume_m3=row.volume_m3, t_half_ms=row.t_half_ms, resolution_m=row.resolution_m,
               flag=row.flag, unchanged=row.unchanged)


def packed_of(row: Row[Any]) -> Packed:
    """The packed block of a row of the table ``block``."""
    at = row._mapping  # a Row has a method t of its own
    return Packed(*(at[name] for name in ("channel", "t0", "t1", "n", "t", "v", "codec", "sha256")))
