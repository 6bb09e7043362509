"""Every record of the log as one line of words, for the Log page, marks and reports."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping

from dipbook import records
from dipbook.entries.kinds import ACTIVE, BY_NAME, FLOW_LINE, NOWHERE
from dipbook.entries.pen import SI as SI
from dipbook.entries.pen import Pen
from dipbook.entries.words_of_checks import SAY as CHECKS
from dipbook.entries.words_of_moves import SAY as MOVES
from dipbook.entries.words_of_trips import SAY as TRIPS
from dipbook.records import Record

LABELS: Mapping[str, str] = {
    records.RIG: "Rig",
    records.ROUND: "Round",
    records.SAMPLES: "Readings",
    records.TRIP_ROW: "Trip row",
    records.WARNING: "Warning",
    records.UNWATCHED: "Not watched",
} | {kind.name: kind.label for kind in BY_NAME.values()}
"""Kind of record -> the word for it on the screen."""

STOPPED = "stopped"
"""Reason of a record that ends a running entry."""
FIRST = 1
"""Order of the record with which a log begins: the rig that it was made for."""
_KEPT_BY_THE_RECORD = re.compile(r"Limit .*, (set by|reason|since): ")

CAUSES: Mapping[str, str] = {
    "closed": "the program was closed",
    "crashed": "the program stopped without warning",
    "clock step": "the computer's clock was changed",
    "off": "the watch was switched off",
}


def describe(record: Record, units: Mapping[str, str], zone: str, decimal: str) -> str:
    """What ``record`` says, in one line of words, without its time, kind and author.

    record: any record of the log. units: dimension -> symbol, as in the rig. zone: IANA name. decimal: "." or ",".
    A kind that this version doesn't know is described by its remark, never refused.
    """
    pen = Pen(record, units, zone, decimal)
    words = _SAY.get(record.kind, _unknown)(pen)
    remark = pen.text("remark")
    parts = [words] if words else []
    if remark and remark not in words:
        parts.append(remark)
    if record.reason and record.reason not in words and not stopped(record):
        parts.append(f"Reason: {record.reason}")
    return ". ".join(part.rstrip(".") for part in parts)


def stopped(record: Record) -> bool:
    """True if ``record`` is the end of what was running: it replaces the start and corrects nothing."""
    return (record.supersedes is not None and record.reason == STOPPED and record.payload.get("end_ms") is not None
            and record.payload.get("state") == "done")


def dip_words(record: Record, tank: str, units: Mapping[str, str], zone: str, decimal: str) -> str:
    """What ``record`` says of one tank's dip: ``Suction 78 3/4 in``; "" if it holds none.

    tank: its name. units, zone, decimal: as in describe.
    """
    pen = Pen(record, units, zone, decimal)
    return "; ".join(pen.dip(dip) for dip in record.dips if dip.tank == tank)


def _line_up(pen: Pen) -> str:
    tank, state, to = pen.text("tank"), pen.text("state"), pen.text("to")
    if tank == FLOW_LINE:
        where = {NOWHERE: "no returns to the tanks", ACTIVE: "to the active system"}.get(to, f"to {to}")
        return f"Flow line: {where}"
    return f"{tank} {'joins' if state == 'in' else 'leaves'} the active system"


def _pumps(pen: Pen) -> str:
    pump = pen.text("pump")
    parts = [f"Pump {pump} {pen.text('state')}" if pump else f"Pumps {pen.text('state')}"]
    spm = pen.record.payload.get("spm")
    if spm is not None:
        parts.append(f"{spm:g} strokes a minute")
    flow = pen.quantity("flow_m3_s", "flow", "flow")
    if flow:
        parts.append(flow)
    return ", ".join(parts)


def _depth(pen: Pen) -> str:
    hole, bit = pen.length("hole_depth_m", "hole depth"), pen.length("bit_depth_m", "bit depth")
    return ", ".join(f"{word} {value}" for word, value in (("Hole", hole), ("Bit", bit)) if value)


def _stand(pen: Pen) -> str:
    length = pen.length("length_m", "length")
    return f"Stand of {length} filled" if length else "Stand filled"


def _activity(pen: Pen) -> str:
    activity = pen.text("activity")
    return activity[:1].upper() + activity[1:]


def _zero(pen: Pen) -> str:
    length = pen.length("length_m", "length")
    parts = ["Difference set to zero"]
    written_off = pen.quantity("written_off_m3", "", "volume")
    if written_off:
        parts.append(f"written off {written_off}")
    if length:
        parts.append(f"{length} of full pipe above the rotary")
    if pen.text("reason"):
        parts.append(f"reason: {pen.text('reason')}")
    return ", ".join(parts)


def _void(pen: Pen) -> str:
    reason = pen.text("reason") or pen.record.reason
    if pen.record.supersedes:
        what = "Struck out"
    else:
        tank, end = pen.text("tank") or "all tanks", pen.record.payload.get("end_ms")
        what = f"Readings of {tank} struck out from {pen.clock(pen.record.t_ms)}"
        what += f" to {pen.clock(end)}" if end is not None else " on"
    return f"{what}: {reason}" if reason else what


def _watch(pen: Pen) -> str:
    reason = pen.text("reason")
    return f"Watch {pen.text('state')}" + (f": {reason}" if reason else "")


def _round(pen: Pen) -> str:
    record = pen.record
    start, end = record.payload.get("start_ms", record.t_ms), record.payload.get("end_ms", record.t_ms)
    count = len(record.dips)
    when = f"{pen.clock(start)} to {pen.clock(end)}" if start != end else f"at {pen.clock(end)}"
    said = f"{count} {'tank' if count == 1 else 'tanks'} gauged {when}"
    observer = pen.text("observer")
    if observer and observer != record.author:
        said += f" by {observer}"
    if record.payload.get("complete") is False:
        said += ", not all tanks"
    dips = "; ".join(pen.dip(dip) for dip in record.dips)
    return f"{said}: {dips}" if dips else said


def _samples(pen: Pen) -> str:
    source = pen.text("file") or pen.text("source")
    said = f"Readings from {source}" if source else "Readings"
    left_out = pen.record.payload.get("left_out")
    count = left_out.get("count") if isinstance(left_out, Mapping) else None
    return f"{said}, {count} {'row' if count == 1 else 'rows'} left out" if count else said


def _rig(pen: Pen) -> str:
    """What differs, without who, why and since when, which the record itself says; of the first, the rig's name."""
    changes = pen.record.payload.get("changes")
    if changes is None:
        if pen.record.seq == FIRST and (name := _rig_name(pen.text("text"))):
            return f"Rig adopted: {name}"
        return {"change": "The rig's description changed", "correction": "The rig's description corrected"}.get(
            pen.text("effective"), "The rig's description")
    said = [str(change) for change in changes]
    said = [change for change in said if not _KEPT_BY_THE_RECORD.match(change)] or said
    if not said:
        return "The rig file was adopted anew; nothing in it differs"
    words = ". ".join(said)
    return f"Was always so: {words}" if pen.text("effective") == "correction" else words


def _rig_name(text: str) -> str:
    """Name of the rig of a rig file's text; "" where it can't be read."""
    try:
        return str(tomllib.loads(text)["rig"]["name"])
    except (tomllib.TOMLDecodeError, KeyError, TypeError):
        return ""


def _warning(pen: Pen) -> str:
    """The words that the watch gave it, else its name and state."""
    said = pen.text("text").rstrip(".")
    if not said:
        said = ": ".join(part for part in (pen.text("name"), pen.text("state").replace("_", ", ")) if part)
    note = pen.text("note")
    return f"{said}. Note: {note}" if note and note not in said else said


def _unwatched(pen: Pen) -> str:
    payload = pen.record.payload
    span = f"Nobody watched from {pen.clock(payload.get('from_ms'))} to {pen.clock(payload.get('to_ms'))}"
    cause = pen.text("cause")
    return f"{span}: {CAUSES.get(cause, cause)}" if cause else span


def _remark(pen: Pen) -> str:
    return pen.text("remark")


def _unknown(pen: Pen) -> str:
    return pen.text("text")


_SAY: Mapping[str, Callable[[Pen], str]] = {
    **MOVES,
    **CHECKS,
    **TRIPS,
    "line-up": _line_up,
    "pumps": _pumps,
    "depth": _depth,
    "stand filled": _stand,
    "activity": _activity,
    "zero": _zero,
    "remark": _remark,
    "void": _void,
    "watch": _watch,
    records.ROUND: _round,
    records.SAMPLES: _samples,
    records.RIG: _rig,
    records.WARNING: _warning,
    records.UNWATCHED: _unwatched,
}
