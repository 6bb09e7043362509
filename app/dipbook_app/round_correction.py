"""A saved round opened to be corrected: what it said, and which of its dips stay as they are."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from dipbook.entries.dipping import UNREAD_WORDS, Before, bare_unit, labelled, read_row
from dipbook.quantities import FEET_INCHES, to_unit
from dipbook.records import Dip, Record
from dipbook.rig.model import Rig
from dipbook.situation import Situation
from dipbook.tanks.gauging import UNREAD
from dipbook_app.display import DisplayUnits
from dipbook_app.round_times import Exact
from dipbook_app.typed_times import clock

SAME = "same"


@dataclass(frozen=True, slots=True)
class Correction:
    """record: the round to be corrected. start, end: its times as filled in. contents: tank -> what is filled in on its
    row. dips: tank -> its dip. befores: tank -> that dip, for what is typed in its place to be compared with.
    volumes: tank -> what the dip made [m3].
    """

    record: Record
    start: Exact
    end: Exact
    contents: Mapping[str, Mapping[str, str]]
    dips: Mapping[str, Dip]
    befores: Mapping[str, Before]
    volumes: Mapping[str, float]

    def kept(self, tank: str, content: Mapping[str, str]) -> Dip | None:
        """The dip of a tank as it was logged, if ``content`` of its row is as it was filled in."""
        return self.dips.get(tank) if dict(content) == dict(self.contents.get(tank, {})) else None


def correction_of(record: Record, rig: Rig, now_ms: int) -> Correction:
    """A correction of a round, begun with what it said. rig: the log's; now_ms: the desk's clock [UTC ms]."""
    start, end = (int(record.payload.get(key, record.t_ms)) for key in ("start_ms", "end_ms"))
    contents: dict[str, dict[str, str]] = {}
    befores: dict[str, Before] = {}
    volumes: dict[str, float] = {}
    dips = {dip.tank: dip for dip in record.dips if any(tank.name == dip.tank for tank in rig.tanks)}
    for name, dip in dips.items():
        tank = rig.tank(name)
        if dip.level_m is None and dip.volume_m3 is None:  # below the stick: nothing to compare with
            befores[name] = Before()
        else:
            level = float(tank.level(dip.volume_m3) if dip.level_m is None else tank.level_of_dip(dip.level_m))
            befores[name] = Before(level_m=level)
            volumes[name] = float(tank.volume(level)) if dip.volume_m3 is None else dip.volume_m3
        content = {"stick": _text(dip, rig, befores[name])}
        contents[name] = content | ({"flag": dip.flag} if dip.flag and not _unread(dip) else {})
    return Correction(record, Exact(clock(start, rig.zone, now_ms=now_ms), start),
                      Exact(clock(end, rig.zone, now_ms=now_ms), end), contents, dips, befores, volumes)


def correction_content(correction: Correction | None) -> dict[str, Any]:
    """What the page is filled with when a correction begins, in the form of a draft."""
    if correction is None:
        return {}
    record = correction.record
    return {
        "start": [correction.start.text, correction.start.t_ms], "last_ms": None,
        "head": {"from": correction.start.text, "to": correction.end.text,
                 "observer": str(record.payload.get("observer") or "")},
        "columns": {"flag": True} if any(dip.flag for dip in correction.dips.values()) else {},
        "remark": str(record.payload.get("remark") or ""),
        "rows": {tank: dict(content) for tank, content in correction.contents.items()}}


def logged_words(correction: Correction, tank: str, situation: Situation, units: DisplayUnits) -> tuple[str, str]:
    """What the round that is corrected says of a tank, and when."""
    dip = correction.dips.get(tank)
    if dip is None:
        return "not gauged then", ""
    if _unread(dip):
        return dip.flag, units.time_near(dip.t_ms, situation.now_ms)
    level = units.volume(dip.volume_m3) if dip.level_m is None else units.level(dip.level_m)
    return level, units.time_near(dip.t_ms, situation.now_ms)


def timed(dip: Dip, t_ms: int, t_half_ms: int) -> Dip:
    """The same dip at another time [UTC ms], ± t_half_ms."""
    return replace(dip, t_ms=t_ms, t_half_ms=t_half_ms)


def _text(dip: Dip, rig: Rig, before: Before) -> str:
    """As it was typed, where that says what the log holds (two readings make a mean); else the value with its unit."""
    if dip.unchanged:
        return SAME
    if _unread(dip):
        return dip.flag
    row = read_row(rig.tank(dip.tank), rig, before, dip.as_typed, t_ms=dip.t_ms)
    again = row.dip
    if again is not None and _close(again.level_m, dip.level_m) and _close(again.volume_m3, dip.volume_m3):
        return labelled(dip.as_typed, bare_unit(rig.units))
    if dip.level_m is None:
        value, unit = dip.volume_m3 or 0.0, rig.units.get("volume", "m3")
    else:
        value, unit = dip.level_m, rig.units.get("level", "m")
    unit = "in" if unit == FEET_INCHES else unit
    return f"{to_unit(value, unit):.6g} {unit}".replace(".", rig.decimal, 1)


def _unread(dip: Dip) -> bool:
    """True for a dip that is nothing but over the brim or below the stick."""
    return dip.flag in UNREAD and UNREAD_WORDS.get(" ".join(dip.as_typed.split()).casefold()) == dip.flag


def _close(a: float | None, b: float | None) -> bool:
    return a is b if a is None or b is None else abs(a - b) < 1e-9
