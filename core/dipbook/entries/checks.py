"""An entry as typed to a draft of a record, or the findings that say why not. Forms and files both use it.

Bare numbers take the rig's units (or the heading's, for a file). Payload: ``Field.key`` -> SI value or word,
``end_ms``, and ``typed``: field name -> as typed, with the unit that a bare number took.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from dipbook.entries.asked_for import asked_for
from dipbook.entries.fields import Given, Values, error, read_fields, suggestion
from dipbook.entries.kinds import BY_NAME, KINDS, Kind
from dipbook.entries.plausible import amounts, doubtful
from dipbook.entries.rules import RULES
from dipbook.entries.rules_of_moves import DONE, RUNNING
from dipbook.findings import Finding
from dipbook.records import Draft, Record
from dipbook.rig.model import Rig

Outcome = tuple[Draft | None, tuple[Finding, ...]]
"""The draft, or None where one of the findings is an error; and the findings."""


class Kept:
    """Stands for "as it was" where None means "no end"."""


KEPT = Kept()


def make(kind: str, typed: Mapping[str, str], *, t_ms: int, end_ms: int | None = None, rig: Rig, author: str = "",
         learned_ms: int, supersedes: str | None = None, reason: str = "", uid: str = "",
         bare: Mapping[str, str] | None = None, offset_min: int = 0) -> Outcome:
    """Check an entry and make its draft.

    kind: a name of ``dipbook.entries.kinds``. typed: field name -> text; blanks count as not given.
    t_ms, end_ms, learned_ms [UTC ms]; whether a time is in the future is the caller's to judge.
    rig: tanks, pumps and the units of bare numbers; bare: field name -> unit of a bare number, before the rig's.
    author: who enters it. reason: why, for a change, a zero, a void or the watch.
    supersedes: uid of the record that this one replaces (needs ``reason``); uid: "" for the store to give one.
    offset_min: the rig's UTC offset in force [min].
    Returns (draft, findings); the draft is None when a finding is an error. A finding's ``column`` is a field name.
    """
    known = BY_NAME.get(kind)
    if known is None:
        names = [k.name for k in KINDS]
        return None, (error(f"{kind!r} is no kind of entry{suggestion(kind, names)}", "kind", "unknown_kind"),)
    values, findings = read_fields(known, typed, rig, bare or {})
    if reason and known.name in ("zero", "void", "watch") and "reason" not in values.si:
        values.put("reason", "reason", reason, reason)
    return _finish(known, values, findings, t_ms=t_ms, end_ms=end_ms, rig=rig, author=author, learned_ms=learned_ms,
                   supersedes=supersedes, reason=reason, uid=uid, offset_min=offset_min)


def correct(record: Record | Draft, typed: Mapping[str, str], *, t_ms: int | None = None,
            end_ms: int | Kept | None = KEPT, rig: Rig, author: str, learned_ms: int, reason: str, uid: str = "",
            bare: Mapping[str, str] | None = None, offset_min: int | None = None) -> Outcome:
    """A draft that replaces ``record``, with the fields of ``typed`` changed and all else kept.

    record: an entry with its uid. typed: the changed fields only. t_ms, end_ms: None and KEPT keep the record's.
    rig, author, learned_ms, uid, bare, offset_min: as in ``make``; reason: why, needed. A void can't be corrected.
    """
    known = BY_NAME.get(record.kind)
    if known is None or known.name == "void":
        return None, (error(f"a {record.kind} can't be corrected: void it and enter it again", "kind",
                             "not_correctable"),)
    changes, findings = read_fields(known, typed, rig, bare or {})
    values = Values.of_payload(known, record.payload)
    if changes.si.keys() & {"mass_kg", "density_kg_m3"} and "mass_kg" in values.si:
        values.drop("volume", "volume_m3")  # it followed from the mass
    if known.name == "boat" and "volume" not in values.typed:
        values.drop("volume", "volume_m3")  # it followed from the sticks
    values.update(changes)
    end = record.payload.get("end_ms") if isinstance(end_ms, Kept) else end_ms
    return _finish(known, values, findings, t_ms=record.t_ms if t_ms is None else t_ms, end_ms=end, rig=rig,
                   author=author, learned_ms=learned_ms, supersedes=record.uid, reason=reason, uid=uid,
                   offset_min=record.offset_min if offset_min is None else offset_min)


def with_end(record: Record, end_ms: int, typed: Mapping[str, str], *, rig: Rig, author: str, learned_ms: int,
             reason: str = "stopped", uid: str = "") -> Outcome:
    """A draft that replaces a running transfer or discard by one that has ended.

    record: the running one. end_ms: when it stopped [UTC ms]. typed: what is known now, a ``volume`` as a rule; it
    takes the place of the rate that the entry was started with. Without one the rate has to be known:
    volume = rate × time.
    rig, author, learned_ms, uid: as in ``make``; reason: why the record is replaced.
    """
    known = BY_NAME.get(record.kind)
    if known is None or record.payload.get("state") != RUNNING:
        return None, (error("this entry isn't running: there is nothing to stop", "state", "not_running"),)
    changes, findings = read_fields(known, typed, rig, {})
    values = Values.of_payload(known, record.payload)
    if "volume_m3" in changes.si and "rate_m3_s" not in changes.si:
        values.drop("rate", "rate_m3_s")
    values.update(changes)
    if "state" not in changes.si:
        values.put("state", "state", DONE, DONE)
    return _finish(known, values, findings, t_ms=record.t_ms, end_ms=end_ms, rig=rig, author=author,
                   learned_ms=learned_ms, supersedes=record.uid, reason=reason, uid=uid,
                   offset_min=record.offset_min)


def strike(record: Record | Draft, *, t_ms: int | None = None, author: str, learned_ms: int, reason: str,
           uid: str = "") -> Outcome:
    """A void that strikes out ``record``, an entry or a round with its uid.

    t_ms: when it is struck out [UTC ms], None for the record's own time. author: who does it; learned_ms: when it is
    entered [UTC ms]; reason: why, needed; uid: as in ``make``.
    """
    findings = []
    if not reason.strip():
        findings.append(error("say why it is struck out", "reason", "no_reason"))
    if record.kind == "void" and record.supersedes:
        findings.append(error("a struck-out entry can't be brought back: enter it again", "kind", "void_of_void"))
    if findings:
        return None, tuple(findings)
    return Draft("void", record.t_ms if t_ms is None else t_ms, learned_ms, author=author.strip(), payload={},
                 supersedes=record.uid, reason=reason.strip(), uid=uid, offset_min=record.offset_min), ()


def _finish(kind: Kind, values: Values, findings: list[Finding], *, t_ms: int, end_ms: int | None, rig: Rig,
            author: str, learned_ms: int, supersedes: str | None, reason: str, uid: str,
            offset_min: int) -> Outcome:
    """Check the whole and build the draft."""
    findings = list(findings)
    findings.extend(_missing(kind, values, end_ms, {f.column for f in findings if f.severity == "error"}))
    told = {f.column for f in findings if f.severity == "error"}
    findings.extend(_end(kind, values, t_ms, end_ms, supersedes))
    rule = RULES.get(kind.name)
    findings.extend(f for f in (rule(Given(values, t_ms, end_ms, supersedes, rig)) if rule else ())
                    if not told & ({f.column} | ({"volume", "rate"} if f.code == "rate_without_end" else set())))
    if not any(f.severity == "error" for f in findings):
        end_ms, more = amounts(kind, values, t_ms, end_ms, rig)
        findings.extend(more)
        findings.extend(doubtful(kind, values, rig))
    if supersedes and not reason.strip():
        findings.append(error("say why the entry is changed", "reason", "no_reason"))
    if any(f.severity == "error" for f in findings):
        return None, tuple(findings)
    payload: dict[str, Any] = {**values.si, "end_ms": end_ms, "typed": dict(values.typed)}
    said = reason.strip() or str(values.si.get("reason", ""))
    return Draft(kind.name, t_ms, learned_ms, author=author.strip(), payload=payload, supersedes=supersedes,
                 reason=said, uid=uid, offset_min=offset_min), tuple(findings)


def _missing(kind: Kind, values: Values, end_ms: int | None, unread: set[str]) -> list[Finding]:
    """Findings on groups of fields of which none is given. unread: fields given but refused already."""
    given = set(values.names)
    if end_ms is not None:
        given.add("end")
    missing = []
    for group in kind.needs:
        if unread & {name for choice in group for name in choice.split("+")}:
            continue
        if not any(all(name in given for name in choice.split("+")) for choice in group):
            missing.append(error(asked_for(kind, group), group[0].split("+")[0], "missing"))
    return missing


def _end(kind: Kind, values: Values, t_ms: int, end_ms: int | None, supersedes: str | None) -> list[Finding]:
    if end_ms is None:
        return []
    if not kind.lasts or (kind.name == "void" and supersedes):
        return [error(f"{_a(kind.name)} has no end", "end", "no_end_here")]
    if end_ms < t_ms:
        return [error("the end is before the start", "end", "end_before_start")]
    if values.si.get("state") == RUNNING:
        return [error("it can't be running and have an end: leave the end out, or write done", "end",
                       "running_with_end")]
    return []


def _a(name: str) -> str:
    """A kind's name with its article."""
    return f"{'an' if name[0] in 'aeiou' else 'a'} {name}"
