"""What stands on a blank dip sheet, in words, and how it falls into pages. No Qt."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

from dipbook.rig.model import Rig
from dipbook.situation import TankView
from dipbook.tanks.gauging import UNREAD
from dipbook.tanks.tank import Tank
from dipbook_app.display import DisplayUnits

T = TypeVar("T")
MOST_ROUNDS = 48
"""As many as half-hour rounds in a day."""
ROUNDS_A_PAGE = 8
TANKS_A_PAGE = 10
"""So that a cell has room for a time by hand below the second reading."""
ENTRIES_A_PAGE = 16
KEYED_LATER = ("This sheet is keyed in later with its true times: Round page, Catch up. Write the time of each round, "
               "or of each dip, as it was.")
ENTRIES_LATER = "These entries are keyed in later with their true times: Log page, Add entry."
HOW_TO = ("Wipe, dip, read twice. A dash is “not gauged”, = is “gauged, the same”. Write “over brim” or “below stick” "
          "if so, F for foam, A for a running agitator.")
ENTRIES_HOW_TO = ("One line an entry, when it happens. Units with the numbers. Of a move: the volume, or the rate with "
                  "start and end; of dry stuff the mass; of a slug or pill its weight.")


@dataclass(frozen=True, slots=True)
class SheetRow:
    """One tank. how: it is gauged; heel, brim: what the stick reads there; last, when: its last stick; all in words."""

    name: str
    how: str
    heel: str
    brim: str
    last: str = ""
    when: str = ""


@dataclass(frozen=True, slots=True)
class SheetPage:
    """One page. rows: of tanks, and the numbers of the rounds (first, last); without rows a page for entries."""

    rows: tuple[SheetRow, ...] = ()
    first: int = 0
    last: int = 0


@dataclass(frozen=True, slots=True)
class DipSheet:
    """A blank sheet. rig: its name; invented: the rig is; zone: in words; unit: of a bare number; pages: in order.
    drill: of a training drill.
    """

    rig: str
    invented: bool
    zone: str
    unit: str
    pages: tuple[SheetPage, ...]
    drill: bool = False


def dip_sheet(rig: Rig, *, rounds: int = ROUNDS_A_PAGE, views: Sequence[TankView] = (), now_ms: int | None = None,
              unit_set: str = "", drill: bool = False) -> DipSheet:
    """A blank sheet for a rig.

    rounds: how many it has room for, 1 to MOST_ROUNDS. views: the tanks as the log has them, for their last sticks;
    none for a rig alone. now_ms: for the zone's offset in force [UTC ms]. unit_set: as on the screen. drill: of a
    training drill. Raises ValueError for another number of rounds.
    """
    if not 1 <= rounds <= MOST_ROUNDS:
        raise ValueError(f"A sheet has room for 1 to {MOST_ROUNDS} rounds.")
    units = DisplayUnits(rig, unit_set)
    known = {view.name: view for view in views}
    rows = [_row(tank, units, known) for tank in rig.tanks]
    columns = _parts(range(1, rounds + 1), ROUNDS_A_PAGE)
    pages = [SheetPage(part, column[0], column[-1]) for column in columns for part in _parts(rows, TANKS_A_PAGE)]
    zone = rig.zone if now_ms is None else f"{rig.zone}, {units.offset(now_ms)}"
    unit = units.dip_units["level"] or units.volume_unit
    return DipSheet(rig.name, rig.invented, zone, unit, (*pages, SheetPage()), drill)


def _parts(things: Sequence[T], most: int) -> list[tuple[T, ...]]:
    """Tanks or rounds in parts of about one length, none longer than fits a page."""
    count = -(-len(things) // most) or 1
    each = -(-len(things) // count) or 1
    return [tuple(things[i:i + each]) for i in range(0, len(things), each)]


def _row(tank: Tank, units: DisplayUnits, known: Mapping[str, TankView]) -> SheetRow:
    low, high = (units.level(float(tank.dip_of_level(level))) for level in (tank.heel_m, tank.top_m))
    heel, brim = f"{'heel' if tank.heel_m else 'bottom'} {low}", f"{'top' if tank.brim_m is None else 'brim'} {high}"
    how = "down, from the mark" if tank.gauge == "down" else \
        f"up, from the {'gauge point' if tank.offset_m else 'bottom'}"
    view = known.get(tank.name)
    if view is None or view.t_ms is None:
        return SheetRow(tank.name, how, heel, brim)
    last = view.flag if view.flag in UNREAD else units.volume(view.volume_m3) if view.level_m is None else \
        units.level(float(tank.dip_of_level(view.level_m)))
    then = units.local(view.t_ms)  # with its day: paper lies about
    return SheetRow(tank.name, how, heel, brim, last, f"{then.day} {then:%b %H:%M}")
