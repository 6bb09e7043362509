"""Rounds after all that were gathered: put behind what is there, so that none of it is worked out again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, replace
from typing import Any

import numpy as np

from dipbook.books.samples import Gathered, Raw, Readings, Samples, raw_of_dip, through_geometry
from dipbook.records import ROUND, Record
from dipbook.rig.model import Rig


def with_rounds(before: Gathered, records: Sequence[Record], rigs: Sequence[tuple[int, Rig]]) -> Gathered | None:
    """What ``gather`` would give with these records too; None where it has to be asked: for one that isn't a round,
    that tells of a time before the newest reading or of a tank not gauged till then, or of which there is
    something to say.

    before: what was gathered. records: learned since, that count. rigs: (in force from [UTC ms], rig), by time.
    """
    made = before
    for r in sorted(records, key=lambda r: (r.t_ms, r.seq)):
        more = _with_round(made, r, rigs) if r.kind == ROUND and r.dips else None
        if more is None:
            return None
        made = more
    return made


def _with_round(before: Gathered, r: Record, rigs: Sequence[tuple[int, Rig]]) -> Gathered | None:
    times = [d.t_ms for d in r.dips]
    newest = int(before.readings.end_ms[-1]) if len(before.readings) else 2**62
    if min(times) <= newest or len({d.tank for d in r.dips}) < len(times):
        return None
    samples, last = dict(before.samples), dict(before.last)
    for d in r.dips:
        if d.tank not in samples or d.flag or int(samples[d.tank].t_ms[-1]) >= d.t_ms:
            return None
        more = _with_dip(samples[d.tank], last[d.tank], d.tank, raw_of_dip(r, d, before.rows), rigs)
        if more is None:
            return None
        samples[d.tank], last[d.tank] = more
    old = before.readings
    readings = Readings(np.append(old.start_ms, min(times)), np.append(old.end_ms, max(times)),
                        np.append(old.seq, r.seq))
    return replace(before, samples=samples, readings=readings, last=last, rows=before.rows + 1)


def _with_dip(old: Samples, last: Raw, tank: str, raw: Raw, rigs: Sequence[tuple[int, Rig]],
              ) -> tuple[Samples, Raw] | None:
    """A tank's samples with one dip more; the one before it has a neighbour by now, which tells how fast it changed."""
    pair, findings, newest = through_geometry(tank, (last, raw), rigs, ())
    flagged = old.flag is not None and old.flag[-1] != ""
    if pair is None or newest is None or len(pair) != 2 or findings or pair.flag is not None or flagged:
        return None
    made: dict[str, Any] = {f.name: _behind(getattr(old, f.name), getattr(pair, f.name)) for f in fields(Samples)}
    made["base"] = np.arange(len(old) + 1)
    made["u_m3"][-2] = np.fmax(pair.u_m3[0], old.u_m3[-1])
    return Samples(**made), newest


def _behind(old: Any, pair: Any) -> Any:
    """A column with its newest value behind it."""
    if old is None:
        return None
    return (*old, "") if isinstance(old, tuple) else np.append(old, pair[1:])
