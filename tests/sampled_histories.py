"""Histories of a log with sensors, for hypothesis: files of samples, rounds, entries, strike-outs and corrections, four hours
long. Invented; no source."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from hypothesis import strategies as st

from dipbook.records import ROWS, SAMPLES, Block, Draft, Record, numbered
from ledgers import IN, MIN, RIG, dips, entry, rig_draft

TANKS = ("Settling", "Suction", "Reserve", "Trip")
END = 240
"""The histories are so long [min]."""


@st.composite
def sampled(draw: st.DrawFn) -> Draft:
    """A file of samples: tanks at paces of their own, holes in them, now and then one that can't be read."""
    begin = draw(st.integers(0, END - 20))
    blocks: list[Block] = []
    for tank in draw(st.lists(st.sampled_from(TANKS), min_size=1, max_size=4, unique=True)):
        pace = draw(st.sampled_from([1, 1, 1, 2, 7, 45]))
        t = np.arange(begin, min(END, begin + draw(st.integers(20, END))), pace)
        chance = np.random.default_rng(draw(st.integers(0, 99)))
        kept = np.sort(chance.choice(len(t), size=max(1, int(len(t) * draw(st.sampled_from([1.0, 0.9, 0.5])))), replace=False))
        v = (60.0 + chance.normal(0.0, 1.0, len(t)).cumsum() * 0.2) * IN
        if draw(st.booleans()):
            v[chance.random(len(t)) < 0.1] = np.nan
        blocks.append(Block(f"tank:{tank}:level", MIN * t[kept].astype(np.int64), v[kept]))
    if draw(st.booleans()):
        times = np.unique(np.concatenate([b.t_ms for b in blocks]))
        blocks.append(Block(ROWS, times, times - draw(st.sampled_from([0, 20_000])) + 0.0))
    return Draft(SAMPLES, int(min(b.t_ms[0] for b in blocks)), 0, payload={"digest": str(draw(st.integers()))}, blocks=tuple(blocks))


AT = st.integers(0, END)
LEVEL = st.integers(40, 80)
ENTRIES = st.one_of(
    st.builds(lambda m, a, b: dips(m, Settling=a, Suction=b), AT, LEVEL, LEVEL),
    st.builds(lambda m, a: dips(m, Reserve=a), AT, LEVEL),
    st.builds(lambda m, v: entry("transfer", m, **{"from": "Reserve", "to": "Suction", "volume": v}), AT, st.integers(1, 9)),
    st.builds(lambda m, v: entry("addition", m, m + 12, to="Suction", volume=v), AT, st.integers(1, 9)),
    st.builds(lambda m, t, s: entry("line-up", m, tank=t, state=s), AT, st.sampled_from(["Reserve", "Settling", "Trip"]),
              st.sampled_from(["in", "out"])),
    st.builds(lambda m, t: entry("line-up", m, tank="flow line", state=t), AT, st.sampled_from(["active", "Trip", "none"])),
    st.builds(lambda m, s: entry("pumps", m, state=s, **({"flow": 300} if s == "on" else {})), AT, st.sampled_from(["on", "off"])),
    st.builds(lambda m, d: entry("depth", m, hole_depth=9000 + d, bit_depth=9000 + d), AT, st.integers(0, 90)),
    st.builds(lambda m: entry("zero", m, length=0, reason="x"), AT),
    st.builds(lambda m, n, t: Draft("void", m * MIN, (END + 1) * MIN, author="A", reason="stuck",
                                    payload={"tank": t, "end_ms": (m + n) * MIN}), AT, st.integers(0, 30), st.sampled_from(["", *TANKS])))


@st.composite
def histories(draw: st.DrawFn) -> tuple[Record, ...]:
    drafts = [rig_draft(RIG, -90), *draw(st.permutations([*draw(st.lists(sampled(), min_size=1, max_size=3)),
                                                        *draw(st.lists(ENTRIES, max_size=10))]))]
    records = list(numbered(drafts))
    for n, r in enumerate(records):     # some correct an earlier one of the same kind
        same = [x for x in records[1:n] if x.kind == r.kind and r.kind not in ("void", "rig") and
                not any(y.supersedes == x.uid for y in records)]
        if same and draw(st.integers(0, 3)) == 0:
            records[n] = replace(r, supersedes=draw(st.sampled_from(same)).uid, reason="wrong")
    return tuple(records)
