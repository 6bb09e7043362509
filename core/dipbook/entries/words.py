"""Every record of the log as one line of words, for the Log page, marks and reports."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from dipbook import records
from dipbook.entries.kinds import ACTIVE, BY_NAME, FLOW_LINE, NOWHERE
from dipbook.quantities import write, write_level
from dipbook.records import Dip, Record

LABELS: Mapping[str, str] = {
    records.RIG: "Rig",
    records.ROUND: "Round",
    records.SAMPLES: "Readings",
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


class _Pen:
    """Writes the values of one record in the crew's units."""

    def __init__(self, record: Record, units: Mapping[str, str], zone: str, decimal: str) -> None:
        self.record = record
        self.units = units
        self.zone = ZoneInfo(zone)
        self.decimal = decimal

    def clock(self, t_ms: object) -> str:
        """``02:15``, with the date where it differs from the record's own."""
        if not isinstance(t_ms, int | float):
            return "?"
        local = self._local(t_ms)
        same_day = local.date() == self._local(self.record.t_ms).date()
        return local.strftime("%H:%M" if same_day else "%Y-%m-%d %H:%M")

    def text(self, key: str) -> str:
        value = self.record.payload.get(key)
        return "" if value is None else str(value)

    def quantity(self, key: str, name: str, dimension: str) -> str:
        """The value in the rig's unit; as typed where the rig names no unit for the dimension; "" if not given."""
        value = self.record.payload.get(key)
        if value is None:
            return ""
        symbol = self.units.get(dimension) or self._derived(dimension)
        if symbol:
            return write(float(value), symbol, decimal=self.decimal)
        typed = self.record.payload.get("typed")
        if isinstance(typed, Mapping) and typed.get(name):
            return str(typed[name])
        return write(float(value), SI[dimension], decimal=self.decimal)

    def volume(self) -> str:
        return self.quantity("volume_m3", "volume", "volume")

    def rate(self) -> str:
        """As typed where somebody did: a small rate may vanish in the rig's unit."""
        typed = self.record.payload.get("typed")
        if isinstance(typed, Mapping) and typed.get("rate"):
            return str(typed["rate"])
        return self.quantity("rate_m3_s", "rate", "rate")

    def length(self, key: str, name: str) -> str:
        return self.quantity(key, name, "length")

    def dip(self, dip: Dip) -> str:
        """One tank's dip as the person wrote it, else in the rig's units."""
        if dip.unchanged:
            said = "same as before"
        elif dip.as_typed:
            said = dip.as_typed
        elif dip.level_m is not None:
            said = write_level(dip.level_m, self.units["level"], self.decimal)
        elif dip.volume_m3 is not None:
            said = write(dip.volume_m3, self.units["volume"], decimal=self.decimal)
        else:
            said = "?"
        return f"{dip.tank} {said}" + (f" ({dip.flag})" if dip.flag else "")

    def _derived(self, dimension: str) -> str:
        if dimension == "rate" and "volume" in self.units:
            return f"{self.units['volume']}/min"
        return ""

    def _local(self, t_ms: float) -> datetime:
        return datetime.fromtimestamp(t_ms / 1000, UTC).astimezone(self.zone)


SI = {"volume": "m3", "rate": "m3/min", "mass": "kg", "density": "kg/m3", "length": "m", "flow": "m3/min",
      "frequency": "1/min"}
"""Units of last resort: the rig names none and nobody typed one."""


def describe(record: Record, units: Mapping[str, str], zone: str, decimal: str) -> str:
    """What ``record`` says, in one line of words, without its time, kind and author.

    record: any record of the log. units: dimension -> symbol, as in the rig. zone: IANA name. decimal: "." or ",".
    A kind that this version doesn't know is described by its remark, never refused.
    """
    pen = _Pen(record, units, zone, decimal)
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
    pen = _Pen(record, units, zone, decimal)
    return "; ".join(pen.dip(dip) for dip in record.dips if dip.tank == tank)


def _amount(pen: _Pen) -> str:
    """``24.0 bbl``, ``at 2.0 bbl/min`` or "an amount not known", then when it ran to."""
    volume, rate, end = pen.volume(), pen.rate(), pen.record.payload.get("end_ms")
    said = volume
    if rate:
        said = f"{said} at {rate}".strip()
    if not said:
        said = "amount not known yet" if pen.text("state") == "running" and end is None else "amount not given"
    if end is not None and end != pen.record.t_ms:
        said += f", until {pen.clock(end)}"
    elif pen.text("state") == "running":
        said += ", running"
    return said


def _transfer(pen: _Pen) -> str:
    return f"{pen.text('from')} to {pen.text('to')}: {_amount(pen)}"


def _addition(pen: _Pen) -> str:
    amount = _amount(pen)
    mass = pen.quantity("mass_kg", "mass", "mass")
    if mass:
        density = pen.quantity("density_kg_m3", "density", "density")
        solid = f"{mass} of {density}" if density else mass
        end = pen.record.payload.get("end_ms")
        until = f", until {pen.clock(end)}" if end is not None and end != pen.record.t_ms else ""
        amount = f"{pen.volume()}, {solid}{until}" if pen.volume() else f"{solid}{until}"
    return f"To {pen.text('to')}: {amount}"


def _discard(pen: _Pen) -> str:
    return f"From {pen.text('from')}: {_amount(pen)}"


def _line_up(pen: _Pen) -> str:
    tank, state, to = pen.text("tank"), pen.text("state"), pen.text("to")
    if tank == FLOW_LINE:
        where = {NOWHERE: "no returns to the tanks", ACTIVE: "to the active system"}.get(to, f"to {to}")
        return f"Flow line: {where}"
    return f"{tank} {'joins' if state == 'in' else 'leaves'} the active system"


def _pumps(pen: _Pen) -> str:
    pump = pen.text("pump")
    parts = [f"Pump {pump} {pen.text('state')}" if pump else f"Pumps {pen.text('state')}"]
    spm = pen.record.payload.get("spm")
    if spm is not None:
        parts.append(f"{spm:g} strokes a minute")
    flow = pen.quantity("flow_m3_s", "flow", "flow")
    if flow:
        parts.append(flow)
    return ", ".join(parts)


def _depth(pen: _Pen) -> str:
    hole, bit = pen.length("hole_depth_m", "hole depth"), pen.length("bit_depth_m", "bit depth")
    return ", ".join(f"{word} {value}" for word, value in (("Hole", hole), ("Bit", bit)) if value)


def _stand(pen: _Pen) -> str:
    length = pen.length("length_m", "length")
    return f"Stand of {length} filled" if length else "Stand filled"


def _activity(pen: _Pen) -> str:
    activity = pen.text("activity")
    return activity[:1].upper() + activity[1:]


def _rate_in_force(pen: _Pen) -> str:
    source, target = pen.text("from"), pen.text("to")
    where = " ".join(([f"out of {source}"] if source else []) + ([f"into {target}"] if target else []))
    rate = pen.rate()
    return f"{rate} {where}: {pen.text('state')}" if rate else f"{where}: {pen.text('state')}"


def _zero(pen: _Pen) -> str:
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


def _void(pen: _Pen) -> str:
    reason = pen.text("reason") or pen.record.reason
    if pen.record.supersedes:
        what = "Struck out"
    else:
        tank, end = pen.text("tank") or "all tanks", pen.record.payload.get("end_ms")
        what = f"Readings of {tank} struck out from {pen.clock(pen.record.t_ms)}"
        what += f" to {pen.clock(end)}" if end is not None else " on"
    return f"{what}: {reason}" if reason else what


def _watch(pen: _Pen) -> str:
    reason = pen.text("reason")
    return f"Watch {pen.text('state')}" + (f": {reason}" if reason else "")


def _round(pen: _Pen) -> str:
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


def _samples(pen: _Pen) -> str:
    source = pen.text("file") or pen.text("source")
    return f"Readings from {source}" if source else "Readings"


def _rig(pen: _Pen) -> str:
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


def _warning(pen: _Pen) -> str:
    """The words that the watch gave it, else its name and state."""
    said = pen.text("text").rstrip(".")
    if not said:
        said = ": ".join(part for part in (pen.text("name"), pen.text("state").replace("_", ", ")) if part)
    note = pen.text("note")
    return f"{said}. Note: {note}" if note and note not in said else said


def _unwatched(pen: _Pen) -> str:
    payload = pen.record.payload
    span = f"Nobody watched from {pen.clock(payload.get('from_ms'))} to {pen.clock(payload.get('to_ms'))}"
    cause = pen.text("cause")
    return f"{span}: {CAUSES.get(cause, cause)}" if cause else span


def _remark(pen: _Pen) -> str:
    return pen.text("remark")


def _unknown(pen: _Pen) -> str:
    return pen.text("text")


_SAY: Mapping[str, Callable[[_Pen], str]] = {
    "transfer": _transfer,
    "addition": _addition,
    "discard": _discard,
    "line-up": _line_up,
    "pumps": _pumps,
    "depth": _depth,
    "stand filled": _stand,
    "activity": _activity,
    "rate in force": _rate_in_force,
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
