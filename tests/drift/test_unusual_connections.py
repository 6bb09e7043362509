"""What came back above the usual, by the books, against the same worked out apart on the detection bench's runs."""

from __future__ import annotations

import numpy as np
import pytest

from bench.detection import connections
from bench.detection.world import Floor, Run, run
from dipbook import flowback
from dipbook.books import Books, build
from dipbook.drifts import BACK_SHARE, drifts
from dipbook.records import Block, Draft, numbered
from drift.drifting_logs import LIMIT
from ledgers import BBL, RIG, entry, rig_draft

ALL = connections.Way("mean", BACK_SHARE, {0.0: -1e9})
"""The bench's mean that also shows what is less than the share that connections differ by."""


def books_of(made: Run, *, lines: float = 100.0) -> Books:
    """The run as a log: every connection accepted, and the band adopted anew after each."""
    t = np.round(made.t_s * 1000).astype(np.int64)
    blocks = (Block("tank:Suction:volume", t, (100.0 + made.read) * BBL), Block("tank:Settling:volume", t, np.full(len(t), 100 * BBL)))
    said: list[Draft] = []
    for off in made.offs:
        a, b = off.off_s / 60, off.on_s / 60
        said += [entry("pumps", a, state="off"), entry("pumps", b, state="on", flow=300),
                 entry("connection", a, state="accepted"), entry("flow-back band", b + 0.1, state="adopted", flow=300)]
    rig = RIG.replace('"20 bbl"', f'"{lines:g} bbl"')
    return build(numbered([rig_draft(rig + LIMIT, -90), entry("pumps", -60, state="on", flow=300),
                           Draft("samples", int(t[0]), int(t[-1]), author="Test", blocks=blocks),
                           entry("zero", 0, length=0, reason="x"), *said]))


@pytest.mark.parametrize(("replicate", "kind", "q"), [(1, "none", 0.0), (2, "pumps-off start", 2.0), (3, "pumps-off start", 10.0)])
def test_the_books_give_what_the_bench_measured(replicate: int, kind: str, q: float) -> None:
    made = run(Floor(connections=True), 77, replicate, 6.0, kind=kind, q=q, onset_s=4.5 * 3600)
    theirs = connections.column(made, ALL)
    books = books_of(made)
    ours = flowback.unusual(books, books.readings.end_ms)
    both = np.isfinite(theirs) & np.isfinite(ours.more_m3)
    assert both.sum() > 300
    off = np.abs(ours.more_m3[both] / BBL / BACK_SHARE - theirs[both])
    # The readings at the very stop and start count in one smoothing and not in the other: that dies away with 15 s.
    assert off[ours.since_s[both] > 75.0].max() < 0.01
    of = drifts(books)
    leads = of.gain.back & both
    assert leads.any() == (q > 0)
    np.testing.assert_allclose(of.gain.worst_m3[leads], ours.more_m3[leads] / BACK_SHARE)


@pytest.mark.parametrize("replicate", range(6))
def test_twenty_barrels_a_minute_from_any_second_are_told_by_twenty_barrels(replicate: int) -> None:
    """The design's goal G6, at a limit of 3.4 bbl (7.5 times the noise of this floor), with the lines' own term left out."""
    for at in np.linspace(4.0, 5.5, 6) * 3600 + 700 * replicate:
        made = run(Floor(connections=True), 78, replicate, at / 3600 + 0.2, kind="at once", q=20.0, onset_s=float(at))
        of = drifts(books_of(made))
        after = np.flatnonzero((made.t_s >= at) & of.known & (of.gain.worst_m3 >= 3.4 * BBL))
        assert len(after)
        assert made.well[after[0]] <= 20.0


def test_what_usually_comes_back_is_never_more_than_the_lines_hold() -> None:
    made = run(Floor(connections=True, share=0.0, sd=0.1), 79, 1, 5.0)
    free, capped = books_of(made), books_of(made, lines=3.0)
    t = free.readings.end_ms
    ours, tight = flowback.unusual(free, t), flowback.unusual(capped, t)
    here = np.isfinite(ours.more_m3) & ours.off
    assert (tight.more_m3[here] >= ours.more_m3[here] - 1e-9).all()
    assert (tight.more_m3[here] - ours.more_m3[here]).max() > 3 * BBL
