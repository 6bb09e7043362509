"""The record of a drill as tables: what is signed on paper, and one row a signal in a file.

A file of drills never looks like one of a log: its first column says DRILL on every row.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime

from dipbook.debrief.signed_record import MOMENTS, TRAINING, DrillRecord, Moment, Signal
from dipbook.exchange.times import rfc3339, zone_info
from dipbook.exchange.writing import write
from dipbook.quantities import UNKNOWN, write_level, write_number
from dipbook.quantities import write as write_quantity
from dipbook.reports.spans import offset
from dipbook.reports.table import Column, Row, Table

DRILL = "DRILL"
MARKS = {TRAINING: "DRILL: a training drill, not the well. Everything in it is invented"}
ON_THE_RIG = "DRILL: a pit drill on the rig, not a well-control event"
NOT_SET, NOT_SAID, NOT_DONE = "nobody set one", "not said", "not done, or not noted"
HEADER = (
    "mark", "id", "what", "kind", "rig", "done (UTC)", "began (UTC)", "ended (UTC)", "operation", "hole depth [m]",
    "bit depth [m]", "announced", "run by", "consent", "crew", "seed", "target time [s]", "target volume [m3]",
    "target set by", "signal", "signal tank", "signal volume [m3]", "signal rate [m3/s]", "float raised [m]",
    *(f"{key} (UTC)" for key, _ in MOMENTS), *(f"{key} by" for key, _ in MOMENTS if key != "t0"),
    *(f"{key} after [s]" for key, _ in MOMENTS if key != "t0"), "warning sounded (UTC)", "in time", "in volume",
    "outcome", "false calls", "flow checks", "deviations", "float proved back", "called off")


def mark_of(record: DrillRecord) -> str:
    """What every page is marked with. record: of the drill."""
    said = MARKS.get(record.what, ON_THE_RIG)
    return f"{said}. Invented data: no real rig, well or crew" if record.invented and record.what != TRAINING else said


def moment_words(t_ms: int | None, zone: str) -> str:
    """``26 Nov 2026 15:13:05 (UTC−06:00), 21:13:05 UTC``; NOT_DONE where it isn't known. t_ms: [UTC ms]. zone: IANA
    name of the rig's."""
    if t_ms is None:
        return NOT_DONE
    utc = datetime.fromtimestamp(t_ms / 1000, UTC)
    local = utc.astimezone(zone_info(zone))
    return f"{local.day} {local:%b %Y %H:%M:%S} (UTC{offset(t_ms, zone)}), {utc:%H:%M:%S} UTC"


def span_words(ms: int | None) -> str:
    """``9 min 05 s``. ms: [ms]."""
    if ms is None:
        return UNKNOWN
    minutes, seconds = divmod(round(abs(ms) / 1000.0), 60)
    hours, minutes = divmod(minutes, 60)
    sign = "−" if ms < 0 else ""
    return f"{sign}{hours} h {minutes:02d} min {seconds:02d} s" if hours else f"{sign}{minutes} min {seconds:02d} s"


def tables(record: DrillRecord, units: Mapping[str, str], zone: str, decimal: str) -> tuple[Table, ...]:
    """What is signed: the drill, then each signal with its times. record. units: dimension → symbol. zone: IANA name.
    decimal: the crew's sign."""
    two = (Column("What"), Column("Is"))
    rows = [Row(pair) for pair in _about(record, units, zone, decimal)]
    found = [Table("drill", "The drill", two, tuple(rows))]
    for n, signal in enumerate(record.signals, 1):
        of = f" {n}" if len(record.signals) > 1 else ""
        columns = (Column("", ), Column("When"), Column("After the signal began"), Column("Who"))
        lines = tuple(Row((m.words, moment_words(m.t_ms, zone),
                           "" if m.key == "t0" or m.after_ms is None else span_words(m.after_ms), m.who))
                      for m in signal.moments)
        found.append(Table(f"signal{n}", f"Signal{of}: {signal.what}", columns, lines,
                           note=_signal_words(signal, record, units, zone, decimal)))
    if not record.signals:
        found.append(Table("signal", "Signal", two, (), none="The well did nothing in this drill."))
    return tuple(found)


def _about(r: DrillRecord, units: Mapping[str, str], zone: str, decimal: str) -> list[tuple[str, str]]:
    length = units.get("length", "m")

    def depth(value: float | None) -> str:
        return UNKNOWN if value is None else write_quantity(value, length, decimal=decimal)

    announced = NOT_SAID if r.announced is None else "yes" if r.announced else "no"
    target = [span_words(r.within_ms)] if r.within_ms is not None else []
    if r.volume_m3 is not None:
        target.append(f"at most {write_quantity(r.volume_m3, units.get('volume', 'm3'), decimal=decimal)}")
    found = [("Id", r.ident), ("Type", f"{r.what}: {r.kind}" if r.kind else r.what), ("Rig", r.rig),
             *([("Done", moment_words(r.t_ms, zone))] if r.t_ms != r.began_ms else []),
             ("Began, by the drill's clock" if r.what == TRAINING else "Began", moment_words(r.began_ms, zone)),
             ("Ended", "not ended" if r.ended_ms is None else moment_words(r.ended_ms, zone)),
             ("Rig operation", r.operation), ("Hole depth, bit depth", f"{depth(r.hole_m)}, {depth(r.bit_m)}"),
             ("Scenario told beforehand" if r.what == TRAINING else "Announced", announced),
             ("Run by", r.initiator or NOT_SAID)]
    if r.what != TRAINING:
        found.append(("Consent, in charge", r.consent or NOT_SAID))
    found += [("Crew on watch", r.crew or NOT_SAID), ("Target", ", ".join(target) or NOT_SET)]
    if target:
        found.append(("Target set by", r.target_by or NOT_SAID))
    found.append(("Flow checks", f"{r.flow_checks}; none of them counts against anybody"))
    if r.false_calls is not None:
        found.append(("Calls while there was nothing", str(r.false_calls)))
    if r.seed is not None:
        found.append(("Seed", str(r.seed)))
    if r.proved or r.what != TRAINING:
        found.append(("Float proved back", r.proved or "not proved back yet"))
    if r.called_off:
        found.append(("Called off", r.called_off))
    found.append(("Deviations, by the times", " ".join(r.deviations) or "none"))
    return found


def _signal_words(s: Signal, r: DrillRecord, units: Mapping[str, str], zone: str, decimal: str) -> str:
    volume = units.get("volume", "m3")
    said = [f"In: {s.tank}." if s.tank else ""]
    if s.level_m is not None:
        said.append(f"Float raised by {write_level(s.level_m, units.get('level', 'm'), decimal)}.")
    if s.volume_m3 is not None:
        rate = "" if s.rate_m3_s is None else f", {_rate(s.rate_m3_s, volume, decimal)} on the average"
        said.append(f"It came to {write_quantity(s.volume_m3, volume, decimal=decimal)}{rate}.")
    said.append("No warning of the watch sounded for it." if s.warned_ms is None else
                f"A warning of the watch sounded at {moment_words(s.warned_ms, zone)}.")
    said.append(f"Outcome: {s.outcome}.")
    for met, what in ((s.in_time, f"Target time {span_words(r.within_ms)}"), (s.in_volume, "Target volume")):
        if met is not None:
            said.append(f"{what}: {'met' if met else 'not met'}.")
    return " ".join(x for x in said if x)


def _rate(rate_m3_s: float, volume: str, decimal: str) -> str:
    """A rate in the crew's volume a minute: ``0.42 bbl/min``."""
    return f"{write_number(rate_m3_s * 60.0, volume, digits=2, decimal=decimal)} {volume}/min"


def csv_of_record(records: Sequence[DrillRecord]) -> bytes:
    """Drills as a CSV file (RFC 4180): one row a signal, and one for a drill without. SI, times UTC with a Z.

    records: of the drills, in the order in which they are to stand.
    """
    return write(HEADER, [_row(r, s) for r in records for s in (r.signals or (None,))])


def _row(r: DrillRecord, s: Signal | None) -> tuple[str | float | int | None, ...]:
    found = () if s is None else s.moments
    nothing = [Moment(key, None, None, "") for key, _ in MOMENTS] if s is None else found
    later = [m for m in nothing if m.key != "t0"]
    yes = {True: "yes", False: "no", None: None}
    return (DRILL, r.ident, r.what, r.kind, r.rig, rfc3339(r.t_ms), rfc3339(r.began_ms), _utc(r.ended_ms), r.operation,
            _plain(r.hole_m), _plain(r.bit_m), yes[r.announced], r.initiator or None, r.consent or None, r.crew or None,
            r.seed, _seconds(r.within_ms), _plain(r.volume_m3), r.target_by or None,
            *((None,) * 5 if s is None else (s.what, s.tank or None, _plain(s.volume_m3), _plain(s.rate_m3_s, 9),
                                             _plain(s.level_m))),
            *(_utc(m.t_ms) for m in nothing), *(m.who or None for m in later), *(_seconds(m.after_ms) for m in later),
            *((None,) * 4 if s is None else (_utc(s.warned_ms), yes[s.in_time], yes[s.in_volume], s.outcome)),
            r.false_calls, r.flow_checks, " ".join(r.deviations) or None, r.proved or None, r.called_off or None)


def _utc(t_ms: int | None) -> str | None:
    return None if t_ms is None else rfc3339(t_ms)


def _seconds(ms: int | None) -> float | None:
    return None if ms is None else ms / 1000.0


def _plain(value: float | None, digits: int = 6) -> float | None:
    return None if value is None else round(value, digits)

