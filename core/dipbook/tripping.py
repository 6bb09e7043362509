"""``dipbook trip``: a rig file and a trip file in, the sheet's lines out.

Limits of kind trip_last_n and trip_total, where the rig file sets them, are told of: a hole that took less than it
should is swab or influx, one that took more is losses; both in the words of the cautions, and neither is decided here.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import isfinite
from pathlib import Path
from typing import Any

from dipbook import posting
from dipbook.composing.trip_holds import LAST, TOTAL, Raised, passed, said
from dipbook.entries.plausible import DENSITIES
from dipbook.errors import ImportFileError, QuantityError
from dipbook.exchange import trip_file
from dipbook.exchange.times import rfc3339, rig_time
from dipbook.findings import Finding
from dipbook.quantities import read, write, written_with
from dipbook.quantities.aliases import shown
from dipbook.rig import document
from dipbook.rig.model import Rig
from dipbook.trips import LAST_N, Line, Row, Way, sheet
from dipbook.trips.ways import BUCKET, CLOSED, DRY, OPEN

WIDTHS = (23, 5, 10, 17, 8, 10, 8, 8, 6)
"""Of the sheet's columns [characters]."""


@dataclass(frozen=True)
class Tripped:
    """What a trip came to. lines: of the sheet. raised: limits passed, by time. findings. rig. last_n: rows summed.
    posted: what is to be posted, where the mud's weight was given.
    """

    rig: Rig
    lines: tuple[Line, ...]
    raised: tuple[Raised, ...]
    findings: tuple[Finding, ...]
    last_n: int
    posted: tuple[posting.Posted, ...] = ()

    @property
    def exit_code(self) -> int:
        """0 nothing raised, 1 raised."""
        return 1 if self.raised else 0


def run(rig_path: Path, trip_path: Path, *, pulled: str | None = None, running: str | None = None,
        returned: float | None = None, last_n: int = LAST_N, mud: str = "") -> Tripped:
    """Work a trip out. rig_path, trip_path: the files. pulled, running, returned: how pipe is moved, as of ``Way``;
    None: pulled dry, and run on the rig file's float, with a finding. last_n: rows summed beside the total.
    mud: the mud's weight as typed, "" for none: for what is to be posted.

    Raises QuantityError for a share returned without a bucket; RigFileError or ImportFileError, with file, line and
    column, for what can't be read, and where the rig file describes neither string nor pipe.
    """
    if returned is not None and pulled != BUCKET:
        raise QuantityError("A share of the pipe's mud comes back from a bucket only: say that the pipe was pulled "
                            "with one too, or leave the share out.")
    doc = document.read(rig_path)
    try:
        data = trip_path.read_bytes()
    except OSError as error:
        raise ImportFileError(f"{trip_path.name}: can't be opened ({error.strerror or error}): {trip_path}") from None
    file = trip_file.parse(data, trip_path.name, doc.rig)
    wrong = [f for f in file.findings if f.severity == "error"]
    if wrong:
        raise ImportFileError("\n".join(f"{f.where}: {f.what}" for f in wrong))
    string = doc.rig.whole_string
    if string is None:
        raise ImportFileError(f"{rig_path.name}: describes neither [[string]] nor [pipe]: what the hole should take "
                              "isn't known. Nothing was worked out.")
    pump = doc.rig.pumps[0].output_m3 if len(doc.rig.pumps) == 1 else float("nan")
    closed = doc.rig.pipe.float_closed if doc.rig.pipe else None
    way = Way(pulled or DRY, running or (OPEN if closed is False else CLOSED), returned or 0.0)
    lines, found = sheet(file.rows, string, way, {name: doc.rig.tank(name) for name in file.tanks},
                         stand_m=doc.rig.pipe.stand_m if doc.rig.pipe else float("nan"), stroke_m3=pump, last_n=last_n)
    fills = posting.posted(doc.rig, way, _density(mud, doc.rig)) if mud else ()
    named = tuple(Finding(f.what, code=f.code, severity=f.severity, file=trip_path.name, line=f.line, t_ms=f.t_ms,
                          kept=f.kept) for f in found)
    told = (*file.findings, *_taken(file.rows, lines, pulled, closed if running is None else running),
            *_share_taken(pulled, returned), *_of_strokes(doc.rig, file.rows, trip_path.name), *named,
            *_nothing(lines), *_unset(doc.rig), *_not_heeded(doc.rig),
            *(posting.findings(doc.rig, fills) if mud else ()))
    return Tripped(doc.rig, lines, passed(doc.rig, lines),
                   tuple(sorted(told, key=lambda f: (f.t_ms is not None, f.t_ms or 0))), last_n, fills)


def _density(text: str, rig: Rig) -> float:
    """A mud's weight as typed [kg/m3]. Raises QuantityError."""
    density = read(text, "density", decimal=rig.decimal, bare=rig.units.get("density")).value
    if not DENSITIES[0] <= density <= DENSITIES[1]:
        raise QuantityError(f"A mud of {shown(text)} can't be right: check the unit.")
    return density


def _taken(rows: Sequence[Row], lines: Sequence[Line], pulled: str | None, running: str | bool | None,
           ) -> tuple[Finding, ...]:
    """Findings on what nobody said of how pipe is moved. running: as asked, or the rig file's float."""
    given = [r.bit_m for r in rows if isfinite(r.bit_m)]
    counted = [*given[:1], *(n.bit_m for n in lines if isfinite(n.bit_m))]  # by stands, where no depth was given
    moves = [b - a for depths in (given, counted) for a, b in pairwise(depths)]
    found: list[Finding] = []
    if pulled is None and any(move < 0.0 for move in moves):
        found.append(Finding("Nobody said how the pipe was pulled: dry is taken, which expects the least. If it was "
                             "pulled wet the hole should have taken its bore too, and an influx hides behind that.",
                             code="way_taken"))
    if running is None and any(move > 0.0 for move in moves):
        found.append(Finding("Neither the rig file nor anybody says whether the float is closed: a closed one is "
                             "taken. If it was open the pipe gave back its steel alone, and an influx hides behind "
                             "that.",
                             code="float_taken"))
    return tuple(found)


def _share_taken(pulled: str | None, returned: float | None) -> tuple[Finding, ...]:
    if pulled != BUCKET or returned is not None:
        return ()
    return (Finding("Nobody said what share of the pipe's mud the bucket gave back: none is taken, as if pulled wet, "
                    "which expects the most. What it did give back shows as more mud on surface.", code="share_taken"),)


def _of_strokes(rig: Rig, rows: Sequence[Row], name: str) -> tuple[Finding, ...]:
    """Where it was filled by strokes and their volume isn't known."""
    first = next((r for r in rows if r.strokes), None)
    if first is None or len(rig.pumps) == 1:
        return ()
    why = "The rig file describes no pump" if not rig.pumps else (
        f"The rig file describes {len(rig.pumps)} pumps, and which of them filled the hole isn't known")
    return (Finding(f"{why}: the volume of strokes isn't known, and rows with strokes are left out of the sums. Work "
                    "the trip out with a rig file that has the pump that filled, and no other.", code="strokes_unknown",
                    file=name, line=first.line),)


def _nothing(lines: tuple[Line, ...]) -> tuple[Finding, ...]:
    if lines:
        return ()
    return (Finding("No row after the first level has one: nothing was worked out, and nothing is warned of. Log the "
                    "trip tank's level with each row, or the strokes in a file without tanks.", code="no_lines"),)


def _unset(rig: Rig) -> tuple[Finding, ...]:
    limits = [limit for limit in rig.limits if limit.kind in (LAST, TOTAL)]
    if limits:
        like = written_with(rig.decimal, "1.5 bbl")
        return tuple(Finding(f"Limit {limit.name} has no volume above 0 as its value"
                             f"{f' ({limit.as_typed})' if limit.as_typed else ''}: it warns of nothing. Give it one in "
                             f"the rig file, like {like}.", code="limit_not_a_volume")
                     for limit in limits if limit.value_is != "volume" or not isfinite(limit.value))
    return (Finding("No limit is set on trips (trip_last_n, trip_total): nothing is warned of here.",
                    code="no_trip_limits"),)


def _not_heeded(rig: Rig) -> tuple[Finding, ...]:
    """What limits on trips ask for and a trip worked out by itself doesn't heed: it warns sooner for it, never later.
    """
    found = []
    for limit in (one for one in rig.limits if one.kind in (LAST, TOTAL)):
        asked = [what for what, there in (
            ("activity", limit.activity not in ("any", "tripping")),
            ("after", limit.after_ms > 0 or limit.after_readings > 1)) if there]
        if asked:
            found.append(Finding(f"Limit {limit.name}: its {' and '.join(asked)} count{'s' if len(asked) == 1 else ''} "
                                 "for nothing here. Every row is held against it, and the first that passes it is "
                                 "told.", code="limit_not_heeded"))
    return tuple(found)


def json_lines(tripped: Tripped) -> Iterator[str]:
    """The contract's lines: findings, what is to be posted, then stand and warning lines by time, then the summary. SI,
    RFC 3339 UTC.

    tripped: what a trip came to.
    """
    def dump(line: dict[str, Any]) -> str:
        return json.dumps(line, ensure_ascii=False, allow_nan=False)

    for f in tripped.findings:
        where = {k: v for k, v in (("file", f.file), ("line", f.line), ("column", f.column), ("tank", f.tank)) if v}
        yield dump({"type": "finding", "time": None if f.t_ms is None else rfc3339(f.t_ms), "where": where,
                    "what": f.what, "kept": f.kept})
    for p in tripped.posted:
        for by, rule in (("own", p.own), ("reference", p.reference)):
            if rule is not None:
                yield dump({"type": "posted", "pipe": p.name, "by": by, "stands": rule.stands,
                            "volume_m3": _plain(rule.volume_m3), "pressure_pa": _plain(rule.pressure_pa),
                            "drop_m": _plain(rule.drop_m), "looser": by == "own" and p.looser})
    waiting = list(tripped.raised)
    for line in tripped.lines:
        yield dump({
            "type": "stand", "time": rfc3339(line.row.t_ms), "stand": line.stand, "bit_depth_m": _plain(line.bit_m),
            "fill_expected_m3": _plain(line.expected_m3), "fill_actual_m3": _plain(line.actual_m3),
            "difference_m3": _plain(line.difference_m3), "last_n_m3": _plain(line.last_n_m3),
            "cumulative_m3": _plain(line.cumulative_m3), "u_m3": _plain(line.u_m3), "state": line.state})
        while waiting and waiting[0].line is line:
            r = waiting.pop(0)
            at = rfc3339(line.row.t_ms)
            yield dump({"type": "warning", "time": at, "learned": at, "name": r.limit.name, "kind": r.limit.kind,
                        "system": "trip", "tank": "", "state": "raised", "value": _plain(r.value_m3),
                        "limit": r.limit.value, "unit": "m3", "text": said(r, tripped.last_n, tripped.rig)})
    last = tripped.lines[-1] if tripped.lines else None
    yield dump({"type": "summary", "rows": len(tripped.lines), "findings": len(tripped.findings),
                "from": rfc3339(tripped.lines[0].row.t_ms) if last else None,
                "to": rfc3339(last.row.t_ms) if last else None,
                "cumulative_m3": _plain(last.cumulative_m3) if last else None,
                "warnings_raised": len(tripped.raised)})


def text_lines(tripped: Tripped) -> Iterator[str]:
    """The sheet for people, in the rig's units. tripped: what a trip came to."""
    rig = tripped.rig
    volume, length = rig.units.get("volume", "m3"), rig.units.get("length", "m")

    def amount(value: float, *, sign: bool = False) -> str:
        return "unknown" if value != value else write(value, volume, digits=2, decimal=rig.decimal,
                                                      sign=sign).removesuffix(f" {volume}")

    for f in tripped.findings:
        yield f"{f.where}: {f.what}" if f.where else f.what
    yield from posting.said(tripped.posted, rig)
    heads = ("time", "stand", f"bit, {length}", f"should take, {volume}", "took", "difference",
             f"last {tripped.last_n}", "in all", "±2u")
    yield "  ".join([*(f"{text:>{width}}" for text, width in zip(heads, WIDTHS, strict=True)), "how"])
    waiting = list(tripped.raised)
    for line in tripped.lines:
        bit = "unknown" if line.bit_m != line.bit_m else write(line.bit_m, length, decimal=rig.decimal).removesuffix(
            f" {length}")
        stand = "" if line.stand is None else str(line.stand)
        sums = (amount(x, sign=True) for x in (line.difference_m3, line.last_n_m3, line.cumulative_m3))
        cells = zip((rig_time(line.row.t_ms, rig.zone), stand, bit, amount(line.expected_m3), amount(line.actual_m3),
                     *sums, amount(2 * line.u_m3)), WIDTHS, strict=True)
        how = f"{line.state}  {line.row.remark}".rstrip()
        yield "  ".join([*(f"{text:>{width}}" for text, width in cells), how])
        while waiting and waiting[0].line is line:
            yield f"WARNING  {said(waiting.pop(0), tripped.last_n, rig)}"
    yield "+ is more mud on surface than expected: the hole took less, or gave back more."


def _plain(value: float) -> float | None:
    """Rounded to 1e-9 m3, None where unknown."""
    return None if value != value else round(value, 9) + 0.0
