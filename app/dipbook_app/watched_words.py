"""What the map of what is watched says: a cell in a few words with its icon, and all of it for the chosen one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from dipbook.limits import FALLING, RISING, TOOK_LESS, TOOK_MORE, TRIP_KINDS, Limit, kind_words, noise_words
from dipbook.situation import AsideView
from dipbook.situation_of_warnings import (
    ASIDE,
    IN_PART,
    NOBODY,
    NOT_BY_US,
    NOT_NOW,
    NOT_TOLD,
    WATCHED,
    WatchedCell,
    WatchedLimit,
    WatchedMap,
    WatchedRow,
)
from dipbook.trips import LAST_N
from dipbook_app import aside_words
from dipbook_app import urgency as urgencies
from dipbook_app.display import DisplayUnits
from dipbook_app.forms.form import sentence

ICONS: Mapping[str, str] = {
    WATCHED: "mdi6.eye-outline", IN_PART: "mdi6.circle-half-full", NOT_TOLD: "mdi6.help-circle-outline",
    ASIDE: "mdi6.pause-circle-outline", NOT_NOW: "mdi6.clock-outline", NOT_BY_US: "mdi6.eye-off-outline"}
"""Icon of each state; where nobody set a limit there is none."""
WARNS_ICON = "mdi6.bell-ring-outline"
GROUPS = {"systems": "Systems", "rounds": "Rounds", "trips": "Trips", "tanks": "Tanks"}
ROWS = {"active": "Active system", "all surface": "All surface", TOOK_LESS: "Hole took less",
        TOOK_MORE: "Hole took more"}
KINDS = {TRIP_KINDS[0]: f"Last {LAST_N} stands", TRIP_KINDS[1]: "In all"}
SIDES = (RISING, FALLING)
NONE_SET = "none set"
COUNTED = {WATCHED: "watched", IN_PART: "watched in part", NOT_TOLD: "can't be told now", ASIDE: "set aside",
           NOT_NOW: "not in force now", NOT_BY_US: "not watched by this version", NOBODY: "with none set"}
"""What is said of so many of each state, in this order."""


def row_words(row: WatchedRow, group: str) -> str:
    """What a row is of: ``Watched: Reserve 1``."""
    if group == "rounds":
        return "All active tanks"
    if row.on == "watched":
        return "Watched: none" if row.now == "not watched" else f"Watched: {row.now}" if row.now else "Watched"
    return ROWS.get(row.on, row.on)


def column_words(kind: str) -> str:
    """The heading over a kind."""
    words = KINDS.get(kind, kind_words(kind))
    return words[:1].upper() + words[1:]


def amount(limit: Limit, units: DisplayUnits) -> str:
    """A limit's value as the crew reads it; as it was written where it isn't watched."""
    if not limit.watched:
        return limit.as_typed
    if limit.times_noise is not None:
        return noise_words(limit.times_noise, units.volume(limit.value), units.decimal)
    if limit.value_is == "level":
        return units.level(limit.value)
    if limit.value_is == "duration":
        return units.span(round(limit.value * 1000))
    return units.volume(limit.value)


def cell_words(cell: WatchedCell, units: DisplayUnits) -> str:
    """How a cell stands, in a few words; "" where no limit can be."""
    if not cell.possible:
        return ""
    if not cell.limits:
        return NONE_SET
    first = cell.limits[0]
    value = amount(first.limit, units)
    said = {WATCHED: value, IN_PART: f"{value}, in part", NOT_TOLD: "can't be told", NOT_NOW: "not now",
            NOT_BY_US: "not watched", ASIDE: first.why}[first.state]
    if first.warns and first.state in (WATCHED, IN_PART, NOT_TOLD):
        said = f"{value}, warns"
    aside = len({w.limit.name for w in cell.limits[1:] if w.state == ASIDE} - {first.limit.name})
    return f"{said}, {aside} set aside" if aside else said


def tight_words(cell: WatchedCell, units: DisplayUnits) -> str:
    """The same in the fewest words, for a cell that hasn't the room: of a limit by the noise only how often that."""
    said = cell_words(cell, units)
    first = cell.limits[0].limit if cell.limits else None
    if first is None or first.times_noise is None:
        return said
    return said.replace(amount(first, units), f"{first.times_noise:g} × noise".replace(".", units.decimal))


def more_words(cell: WatchedCell, units: DisplayUnits, now_ms: int) -> str:
    """The same with why, for a cell that has the room."""
    if not cell.possible or not cell.limits:
        return cell_words(cell, units)
    first = cell.limits[0]
    when = "" if first.t_ms is None else f" {units.time_near(first.t_ms, now_ms)}"
    why = f"{first.why}{_till(first)}{when}" if first.why else ""
    short = cell_words(cell, units)
    if first.state == ASIDE:
        return f"{amount(first.limit, units)}, {short}{_till(first)}{when}"
    if first.state == NOT_NOW:
        return f"{short} ({amount(first.limit, units)}): {why}"
    return f"{short}: {why}" if why else f"{short}, {first.state}" if not first.warns else short


def icon_of(cell: WatchedCell) -> str:
    """Name of a cell's icon, "" for none."""
    if not cell.limits:
        return ""
    return WARNS_ICON if cell.limits[0].warns else ICONS[cell.state]


def detail(row: WatchedRow, cell: WatchedCell, group: str, units: DisplayUnits, now_ms: int,
           aside: Sequence[AsideView] = ()) -> str:
    """All of a cell in words. aside: of what is set aside who, why, since when, and what is watched instead."""
    on = row_words(row, group)
    head = f"{column_words(cell.kind)}, {on[:1].lower() + on[1:] if row.on in ROWS or group == 'rounds' else on}"
    if not cell.possible:
        return f"{head}: there is no such limit."
    if not cell.limits:
        return f"{head}: nobody set a limit. Nothing is watched here (Ctrl+5, Ins sets one)."
    return f"{head}: " + " ".join(_one(w, units, now_ms, side=w.limit.on in SIDES, aside=aside) for w in cell.limits)


def others(view: WatchedMap, units: DisplayUnits, now_ms: int) -> str:
    """Limits in the rig file that nothing watches, "" for none."""
    return " ".join(_one(w, units, now_ms) for w in view.others)


def counts(view: WatchedMap) -> str:
    """How many cells stand how."""
    found: dict[str, int] = {}
    for cell in (c for g in view.groups for row in g.rows for c in row.cells if c.possible):
        found[cell.state] = found.get(cell.state, 0) + 1
    return ", ".join(f"{found[state]} {words}" for state, words in COUNTED.items() if state in found)


def _one(w: WatchedLimit, units: DisplayUnits, now_ms: int, *, side: bool = False,
         aside: Sequence[AsideView] = ()) -> str:
    """side: it is one of two sides of a limit that stand in the same cell. aside: how those set aside are."""
    limit = w.limit
    of = f", {limit.on}" if side else ""
    put = next((x for x in aside if x.name == limit.name and (x.tank or x.system) == limit.on), None)
    if w.state == ASIDE and put is not None:
        return f"“{limit.name}” {amount(limit, units)}{of}: {aside_words.how(put, units, now_ms)}"
    when = "" if w.t_ms is None else f" {units.time_near(w.t_ms, now_ms)}"
    why = f" ({w.why}{_till(w)}{when})" if w.why else ""
    warns = f" Its warning is open: {urgencies.BRIEF_WORDS.get(w.warns, w.warns)}." if w.warns else ""
    return (f"“{limit.name}” {amount(limit, units)}{of}: {w.state}{why}.{warns} Set by {limit.set_by}, {limit.since}: "
            f"{sentence(limit.reason)}")


def _till(w: WatchedLimit) -> str:
    return {"shelved": " until", "out of service": " since"}.get(w.why, "") if w.state == ASIDE else ""
