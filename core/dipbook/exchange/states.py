"""Columns of depth, pumps, flow and activity to entries: one wherever the value changes."""

from __future__ import annotations

import json
import uuid
from collections.abc import Mapping
from typing import Any

import numpy as np

from dipbook.exchange import times
from dipbook.exchange.headings import Column
from dipbook.records import Draft
from dipbook.rig.model import Rig

_NAMESPACE = uuid.uuid5(uuid.NAMESPACE_URL, "tag:dipbook,2026:exchange")

KEYS = {"bit depth": "bit_depth_m", "hole depth": "hole_depth_m", "pump": "spm", "flow in": "flow_m3_s"}
"""What a column is -> its key in an entry's payload."""


def uid_of(content: str) -> str:
    """A record's uid that follows from its content."""
    return str(uuid.uuid5(_NAMESPACE, content))


def entries_of(states: Mapping[Column, tuple[Any, Any]], rig: Rig) -> tuple[Draft, ...]:
    """Entries for the columns that are no tanks.

    states: column -> (t_ms int64 rising, values: SI floats or words), blanks left out; rig: for the zone.
    Returns drafts by time, learned at their own time.
    """
    payloads: list[tuple[int, str, dict[str, Any]]] = []
    depths: dict[int, dict[str, Any]] = {}
    for c, (t_ms, values) in states.items():
        for i in _changes(values).tolist():
            t, value = int(t_ms[i]), values[i]
            if c.what in ("bit depth", "hole depth"):
                depths.setdefault(t, {})[KEYS[c.what]] = float(value)
            elif c.what == "activity":
                payloads.append((t, "activity", {"activity": str(value)}))
            else:
                pump = {"pump": c.name} if c.what == "pump" else {}
                payloads.append((t, "pumps", {"state": "on" if value > 0 else "off", **pump,
                                              KEYS[c.what]: float(value)}))
    payloads.extend((t, "depth", depth) for t, depth in depths.items())
    drafts = []
    shifts: dict[int, int] = {}
    for t, kind, fields in payloads:
        quarter = t // 900_000
        if quarter not in shifts:
            shifts[quarter] = times.offset_min(t, rig.zone)
        uid = uid_of(f"{kind}:{t}:{json.dumps(fields, sort_keys=True)}")
        drafts.append(Draft(kind, t, t, payload={**fields, "end_ms": None, "typed": {}}, uid=uid,
                            offset_min=shifts[quarter]))
    return tuple(sorted(drafts, key=lambda d: (d.t_ms, d.kind, d.uid)))


def _changes(values: Any) -> Any:
    """Indices of the first value and of each that differs from the one before."""
    if not len(values):
        return np.array([], dtype=int)
    return np.flatnonzero(np.concatenate(([True], values[1:] != values[:-1])))
