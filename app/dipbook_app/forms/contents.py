"""What the tanks hold by the log, for an entry's form to ask about a move that they can't give or take."""

from __future__ import annotations

from collections.abc import Iterable

from dipbook.entries.plausible import Held
from dipbook.findings import Finding
from dipbook.records import Record
from dipbook.situation import Situation
from dipbook_app.forms.form import sentence

KEEP = "Enter or Save again keeps it."


def contents(situation: Situation, corrected: Record | None = None) -> dict[str, Held]:
    """Tank -> what it holds by its last dip and what was logged since. corrected: an entry to leave out of that."""
    found = {}
    for view in situation.tanks:
        if view.volume_m3 is None or view.t_ms is None:
            continue
        since = view.booked_m3
        if corrected is not None and corrected.t_ms > view.t_ms:
            moved = float(corrected.payload.get("volume_m3") or 0.0)
            since += moved * ((corrected.payload.get("from") == view.name) - (corrected.payload.get("to") == view.name))
        holds = view.volume_m3 + since
        found[view.name] = Held(view.t_ms, holds, situation.rig.tank(view.name).capacity_m3 - holds)
    return found


def asked_words(doubts: Iterable[Finding]) -> str:
    """Doubts in words that say what keeps the entry."""
    return " ".join(["Not saved yet.", *(sentence(doubt.what) for doubt in doubts), KEEP])
