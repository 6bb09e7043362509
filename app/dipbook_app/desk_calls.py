"""Calls that wait for a word: an answer to what was said, and mud that was announced and is then moved, or isn't.

Each replaces the record of the call, with who and why; both stay visible. Nothing here moves mud.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from dipbook.entries import checks
from dipbook.entries.checks import Outcome
from dipbook.entries.fields import error
from dipbook.entries.kinds import KINDS
from dipbook.records import Record
from dipbook.rig.model import Rig

NOTICE = "about to move mud"
ANSWERED, CALLED_OFF, MOVED = "answered", "called off", "moved"
OVER = (CALLED_OFF, MOVED)
"""States of a notice that is no longer waited for."""
ANSWERABLE = frozenset(kind.name for kind in KINDS if any(field.name == "answer" for field in kind.fields))
"""Kinds of entry to which an answer is given later."""


@dataclass(frozen=True, slots=True)
class At:
    """rig: in force when the call was made. author: who logs what became of it, needed. now_ms: when [UTC ms]."""

    rig: Rig
    author: str
    now_ms: int


def answered(record: Record, at: At, answer: str) -> Outcome:
    """The record of a call with its answer. record: of an ANSWERABLE kind. answer: in words, needed."""
    if record.kind not in ANSWERABLE:
        return None, (error(f"a {record.kind} has no answer", "answer", "not_here"),)
    if not answer.strip():
        return None, (error("say what the answer was", "answer", "missing"),)
    typed = {"answer": answer.strip()}
    if record.kind == NOTICE:
        typed["state"] = ANSWERED
    return _replaced(record, at, typed, ANSWERED)


def called_off(record: Record, at: At, why: str) -> Outcome:
    """A notice whose mud isn't moved after all. why: in words, "" for none."""
    return _ended(record, at, CALLED_OFF, why.strip() or CALLED_OFF)


def moved(record: Record, at: At) -> Outcome:
    """A notice whose mud is being moved now."""
    return _ended(record, at, MOVED, "started")


def find(records: Sequence[Record], uid: str) -> Record | None:
    """The record called ``uid``, None if there is none."""
    return next((r for r in records if r.uid == uid), None)


def _ended(record: Record, at: At, state: str, reason: str) -> Outcome:
    if record.kind != NOTICE:
        return None, (error(f"a {record.kind} announces no mud", "state", "not_here"),)
    return _replaced(record, at, {"state": state}, reason)


def _replaced(record: Record, at: At, typed: dict[str, str], reason: str) -> Outcome:
    findings = []
    if not at.author.strip():
        findings.append(error("say who logs this", "by", "no_author"))
    if record.kind == NOTICE and (state := record.payload.get("state")) in OVER:
        findings.append(error(f"this was {state} already", "state", "over"))
    if findings:
        return None, tuple(findings)
    return checks.correct(record, typed, rig=at.rig, author=at.author, learned_ms=at.now_ms, reason=reason)
