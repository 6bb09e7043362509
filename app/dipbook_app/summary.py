"""A log's state in a few lines of text, without Qt."""

from __future__ import annotations

from pathlib import Path

from dipbook import balance, quantities, store
from dipbook.books import build
from dipbook.cautions import CAUTION
from dipbook.composing import seen
from dipbook.exchange.times import rig_time
from dipbook.records import WARNING


def of_log(path: Path) -> str:
    """Summary of the log at ``path``: the newest balance, what it is made of, and the warnings raised."""
    with store.open(path, None, write=False, create=False) as log:
        books, drill = build(log.records()), log.role == store.DRILL
    rig, shown = books.rig, seen(books)
    unit = rig.units.get("volume", "m3")

    def volume(value: float, sign: bool = False) -> str:
        return quantities.write(None if value != value else value, unit, decimal=rig.decimal, sign=sign)

    lines = ["DRILL: a training drill, not the well."] if drill else []
    lines += [f"{rig.name}: summary of the log {path.name}", ""]
    if shown.active is not None and shown.at_ms is not None:
        b = shown.active
        lines += [f"At {rig_time(shown.at_ms, rig.zone)}", f"  Active      {volume(float(b.actual_m3[0]))}",
                  f"  Expected    {volume(float(b.expected_m3[0]))}",
                  f"  Difference  {volume(float(b.difference_m3[0]), True)} ± {volume(2 * float(b.u_m3[0]))} (2u)"
                  + ("  partial" if b.partial[0] else ""),
                  "  of which explained:"]
        lines += [f"    {name:<10} {volume(float(v[0]), True):>12}" for name, v in b.terms.items() if abs(v[0]) > 1e-9]
    lines.append("")
    raised = [r for r in books.records if r.kind == WARNING and r.payload.get("state") == "raised"]
    lines += [f"Raised {rig_time(r.t_ms, rig.zone)}: {r.payload.get('text', '')}" for r in raised] or ["No warning."]
    lines += [f"Note: {f.what}" for f in balance.findings(books)]
    return "\n".join([*lines, "", CAUTION, ""])
