"""What the forms that adopt a rig share: the records in force, from when an adoption counts, and what is missing."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from dipbook.errors import DipbookError
from dipbook.findings import Finding
from dipbook.records import RIG, Record
from dipbook.rig import adopting
from dipbook.situation import Situation
from dipbook_app.current import current
from dipbook_app.typed_times import clock

if TYPE_CHECKING:
    from dipbook_app.desk import Desk

CHANGE, CORRECTION = "changed now", "was always so (a correction)"
EFFECTIVE = {CHANGE: "change", CORRECTION: "correction"}
ASKED = (("effective", "Did it change now, or was it always so?"), ("by", "Who adopts it? A name is needed."),
         ("why", "Why? A reason is needed."))
"""The fields that adopting needs, and what to say of each that is blank."""


def in_force(situation: Situation) -> list[Record]:
    """The rig records that count, by time; the last one holds the rig's text in force. situation: now."""
    return sorted((r for r in situation.records if r.kind == RIG and r.uid not in situation.superseded),
                  key=lambda r: (r.t_ms, r.seq))


def reach_words(desk: Desk, text: str) -> str:
    """From when a rig's text would count, as a change and as a correction. desk: of the log."""
    situation = current(desk)
    try:
        start = adopting.corrected(in_force(situation), text)[0][0].t_ms
    except DipbookError as error:
        return f"As a change it counts from now. As a correction it can't stand: {error}"
    since = clock(start, situation.rig.zone, now_ms=desk.now_ms())
    return (f"As a change it counts from now, and the past stays. As a correction it counts from {since} on: "
            "the past is worked out anew, and warnings may follow from that." + _dropped(situation, text, start))


def _dropped(situation: Situation, text: str, start_ms: int) -> str:
    """What a correction that has some tanks no more leaves without one, in words: readings and entries that name them.
    """
    gone = adopting.tanks_gone(situation.rig, text)
    counted = adopting.naming(gone, (r for r in situation.records if r.uid not in situation.superseded), start_ms)
    if not any(counted):
        return ""
    least = "" if situation.all_samples else "at least "
    parts = [f"{least if one == 'reading' else ''}{n} {one if n == 1 else many}" for n, one, many in zip(
        counted, ("reading", "entry"), ("readings", "entries"), strict=True) if n]
    return (f" {' and '.join(parts)} {'names' if sum(counted) == 1 else 'name'} {', '.join(gone)}: what "
            "they say of it counts no more then, for there was no such tank.")


def missing(texts: Iterable[tuple[str, str]]) -> list[Finding]:
    """What of ASKED isn't given. texts: (field, what is typed in it)."""
    given = dict(texts)
    return [refusal(name, words) for name, words in ASKED if not given.get(name)]


def refusal(column: str, words: str) -> Finding:
    """What refuses a form. column: of its field, "" for all of it; words: said there."""
    return Finding(words, code="field", severity="error", column=column, kept=False)
