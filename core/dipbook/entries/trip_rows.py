"""A row of a trip's sheet as typed to a draft of a record, or the findings that say why not."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from math import inf
from typing import Any

from dipbook import quantities
from dipbook.entries.dipping import Before, read_row
from dipbook.entries.fields import error, match, suggestion
from dipbook.errors import QuantityError
from dipbook.findings import Finding
from dipbook.records import TRIP_ROW, Dip, Draft
from dipbook.rig.model import Rig
from dipbook.tanks.tank import Tank
from dipbook.trips.rows import FILL, FLOW_CHECK, KINDS, PIPE_FILLED, REFILL, STAND

MOST_STANDS, MOST_STROKES = 10_000, 1_000_000
"""Numbers from these on are taken for slips of the key (our choice, no source)."""


@dataclass
class _Read:
    payload: dict[str, Any] = field(default_factory=dict)
    typed: dict[str, str] = field(default_factory=dict)
    dips: list[Dip] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)

    def put(self, key: str, value: Any, name: str, text: str) -> None:
        self.payload[key], self.typed[name] = value, text


def make(what: str, typed: Mapping[str, str], levels: Mapping[str, str], *, t_ms: int, rig: Rig, author: str,
         learned_ms: int, before: Mapping[str, Before], units: Mapping[str, str] | None = None,
         tanks: Collection[str], deepest_m: float = inf, supersedes: str | None = None, reason: str = "",
         offset_min: int = 0) -> tuple[Draft | None, tuple[Finding, ...]]:
    """Check a row and make its draft.

    what: of trips.sheet.KINDS. typed: "stand", "bit depth", "strokes", "from", "remark" -> text, blanks not given.
    levels: tank -> what the stick says. t_ms, learned_ms [UTC ms]. rig: tanks, and the units of bare numbers. author:
    who enters it. before: what the log knows of the tanks. units: of bare numbers where the screen shows others.
    tanks: the trip tanks, and the one that the trip began with. deepest_m: the string's length [m]. supersedes: uid of
    the row that it corrects, then with a reason. offset_min: the rig's UTC offset in force [min].
    Returns (draft, findings), the draft None where a finding is an error; a finding's column is a name of ``typed`` or
    a tank.
    """
    if what not in KINDS:
        return None, (error(f"{what!r} is no kind of row{suggestion(what, KINDS)}", "kind", "unknown_kind"),)
    read = _Read({"what": what})
    shown = {**rig.units, **(units or {})}
    _numbers(read, typed, rig, shown)
    for name, text in levels.items():
        tank = next((t for t in rig.tanks if t.name == name), None)
        if tank is None:
            read.findings.append(error(f"the rig has no tank called {name}", name, "unknown_tank"))
            continue
        if name not in tanks and text.strip():
            read.findings.append(error(f"{name} is no trip tank: its level is for a round. The trip's are "
                                       f"{', '.join(tanks) or 'none'}", name, "no_trip_tank"))
            continue
        row = read_row(tank, rig, before.get(name, Before()), text, t_ms=t_ms, units=shown)
        if row.error:
            read.findings.append(error(row.error, name, "unreadable"))
        elif row.dip is not None:
            read.dips.append(row.dip)
            read.findings += [Finding(doubt, code="doubt", column=name, tank=name) for doubt in row.doubts]
    if read.payload.get("bit_depth_m", 0.0) > deepest_m + 1e-6:
        longest = quantities.write(deepest_m, shown.get("length", "m"), decimal=rig.decimal)
        read.findings.append(error(f"deeper than the string is long, {longest}: check the depth, or the string in the "
                                   "rig file", "bit depth", "too_deep"))
    if not any(f.severity == "error" for f in read.findings):
        read.findings += _whole(read, what, rig, before)
    if supersedes and not reason.strip():
        read.findings.append(error("say why the row is corrected", "reason", "no_reason"))
    if any(f.severity == "error" for f in read.findings):
        return None, tuple(read.findings)
    payload = {**read.payload, "typed": read.typed}
    return Draft(TRIP_ROW, t_ms, learned_ms, author=author.strip(), payload=payload, dips=tuple(read.dips),
                 supersedes=supersedes, reason=reason.strip(), offset_min=offset_min), tuple(read.findings)


def _numbers(read: _Read, typed: Mapping[str, str], rig: Rig, units: Mapping[str, str]) -> None:
    """The fields that aren't levels."""
    for name, text in ((name, text.strip()) for name, text in typed.items()):
        try:
            if not text:
                continue
            if name == "stand":
                read.put("stand", _count(text, MOST_STANDS, "the number of a stand"), name, text)
            elif name == "strokes":
                read.put("strokes", float(_count(text, MOST_STROKES, "a count of strokes")), name, text)
            elif name == "bit depth":
                found = quantities.read(text, "length", decimal=rig.decimal, bare=units.get("length"))
                said = text if any(c.isalpha() or c in "'\"′″" for c in text) else f"{text} {found.unit}"
                read.put("bit_depth_m", found.value, name, said)
            elif name == "from":
                tank = match(text, [t.name for t in rig.tanks])
                if tank is None:
                    raise QuantityError(f"there is no tank {text!r}{suggestion(text, [t.name for t in rig.tanks])}")
                read.put("from", tank, name, text)
            elif name == "remark":
                read.payload["remark"] = text
        except QuantityError as refusal:
            read.findings.append(error(str(refusal), name, "unreadable"))


def _count(text: str, most: int, what: str) -> int:
    if not (text.isascii() and text.isdigit() and int(text) < most):
        raise QuantityError(f"{text!r} isn't {what}")
    return int(text)


def _whole(read: _Read, what: str, rig: Rig, before: Mapping[str, Before]) -> list[Finding]:
    """What a row of its kind needs."""
    p, first = read.payload, next((d.tank for d in read.dips), "")
    if what in (REFILL, PIPE_FILLED) and "from" not in p and what == REFILL:
        return [error("say which tank it was filled from, or emptied to: what moved is booked there", "from",
                      "missing")]
    if what != REFILL and what != PIPE_FILLED and "from" in p:
        return [error("nothing was filled from a tank by this row: leave it out", "from", "not_here")]
    if what in (STAND, FILL, FLOW_CHECK) and not read.dips and "strokes" not in p and "bit_depth_m" not in p:
        return [error("give the trip tank's level, the strokes, or the bit depth: this says nothing yet", "level",
                      "nothing")]
    if what != REFILL:
        return []
    if not read.dips:
        return [error("give the trip tank's level after it was filled or emptied", "level", "missing")]
    if p["from"] in {d.tank for d in read.dips}:
        return [error(f"{p['from']} was filled from itself: name the other tank", "from", "same_tank")]
    return _risen(read, rig.tank(first), before.get(first, Before()))


def _risen(read: _Read, tank: Tank, was: Before) -> list[Finding]:
    """Which way mud was moved: the tank rose or fell, by more than what was logged. How much, the books work out."""
    dip = read.dips[0]
    volume = dip.volume_m3 if dip.volume_m3 is not None else float(tank.volume(tank.level_of_dip(dip.level_m or 0.0)))
    if was.volume_m3 is None:
        return [Finding(f"{tank.name} wasn't gauged before: what was moved isn't known, and isn't booked",
                        code="refill_unknown", column=tank.name, tank=tank.name)]
    rose, other = volume - was.volume_m3 - was.booked_m3, read.payload["from"]
    if not abs(rose) > 0.0:
        return [error(f"{tank.name} stands as it stood, or as a transfer logged meanwhile left it: nothing more was "
                      "moved. Check the level, or log a reading", tank.name, "no_change")]
    read.payload |= {"to": tank.name} if rose > 0.0 else {"from": tank.name, "to": other}
    return [] if rose > 0.0 else [Finding(f"{tank.name} fell: it is booked as emptied to {other}", code="emptied",
                                          column=tank.name, tank=tank.name)]
