"""What is typed in forms and isn't saved, from their drafts: its words, and how each form is opened again."""

from __future__ import annotations

from dataclasses import dataclass

from dipbook.entries.kinds import BY_NAME
from dipbook.situation import Situation
from dipbook_app.drafts import Drafts

ENTRY, CORRECT, STRIKE, STOP, ANSWER, CALL_OFF = "entry", "correct", "strike", "stop", "answer", "call-off"
TRIP = "trip"
TRIP_ROW = "trip row"
"""The draft of the row that is typed on the Trip page."""
RIG = "rig"
"""Changes of the rig's description; the others are forms of the Log page."""
KEY = "F2"
"""Goes to what isn't saved, from any page."""


@dataclass(frozen=True, slots=True)
class Unsaved:
    """One draft of a form. name: of the draft. how: one of the words above; of: a kind, or the uid of a record.

    label: in words. began_ms: when its typing began [UTC ms].
    """

    name: str
    how: str
    of: str
    label: str
    began_ms: int


def draft_name(how: str, of: str, number: int = 1) -> str:
    """The name of a form's draft. how, of: as in Unsaved; number: of several of the same."""
    return f"{how} {of}" if number == 1 else f"{how} {of} #{number}"


def unsaved(drafts: Drafts, situation: Situation) -> tuple[Unsaved, ...]:
    """The drafts of forms that can still be saved, the oldest first. situation: what they are about must still stand.
    """
    found = []
    for name in drafts.names():
        how, _, rest = name.partition(" ")
        of = rest.partition(" #")[0]
        if not _stands(how, of, situation):
            continue
        kept = drafts.get(name) or {}
        label = str(kept.get("label") or (BY_NAME[of].label if of in BY_NAME else how.capitalize()))
        found.append(Unsaved(name, how, of, label, int(kept.get("began_ms", 0))))
    return tuple(sorted(found, key=lambda each: each.began_ms))


def words(waiting: tuple[Unsaved, ...]) -> str:
    """``Not saved: About to move mud. F2``; "" for nothing."""
    if not waiting:
        return ""
    more = f" and {len(waiting) - 1} more" if len(waiting) > 1 else ""
    return f"Not saved: {waiting[0].label}{more}. {KEY}"


def _stands(how: str, of: str, situation: Situation) -> bool:
    if how == RIG:
        return True
    if how == ENTRY:
        return of in BY_NAME
    if how in (CORRECT, STRIKE):
        return of not in situation.superseded and any(record.uid == of for record in situation.records)
    if how == TRIP:
        return situation.trip is not None
    if how == STOP:
        return any(entry.uid == of for entry in situation.running)
    return how in (ANSWER, CALL_OFF) and any(notice.uid == of for notice in situation.notices)
