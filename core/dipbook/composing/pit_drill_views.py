"""What is told of a pit drill beside what it shows: on its tank, on the warnings, and among what is doubted now.

A warning stays as it is, its value, its state and its sound: only words are added.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from dipbook.books import Books
from dipbook.composing.gauge_views import OF_THE_DIFFERENCE
from dipbook.entries.kinds import PIT_DRILL
from dipbook.exchange.times import clock
from dipbook.limits import TRIP_KINDS
from dipbook.pit_drills import PitDrill, not_proved, pit_drills, under_way
from dipbook.quantities import write_level
from dipbook.situation import GaugeView, TankView, WarningView

KIND = PIT_DRILL
NOTHING_CHANGED = "No warning is changed by it: what is real is acted on as always."


def views(books: Books, now_ms: int) -> tuple[GaugeView, ...]:
    """A line for each pit drill that is under way, and for each float that isn't proved back, the newest first.

    books: of the log. now_ms: the time [UTC ms].
    """
    drills = of_books(books)
    level, zone, decimal = books.rig.units.get("level") or "m", books.rig.zone, books.rig.decimal

    def raised(d: PitDrill) -> str:
        return write_level(d.raised_m, level, decimal)

    found = [GaugeView(KIND, d.tank, d.begun_ms, None, f"pit drill under way since {clock(d.begun_ms, zone)}",
                       f"A pit drill is under way since {clock(d.begun_ms, zone)}: the float of {d.tank} is raised by "
                       f"{raised(d)}, with the consent of {d.consent}. {NOTHING_CHANGED}")
             for d in reversed(under_way(drills, now_ms))]
    found += [GaugeView(KIND, d.tank, d.begun_ms, None, "float not proved back",
                        f"The pit drill of {clock(d.begun_ms, zone)} is over, and the float of {d.tank} isn't proved "
                        f"back by a dip: it may still read {raised(d)} high. {NOTHING_CHANGED}")
              for d in reversed(not_proved(drills, now_ms))]
    return tuple(found)


def of_books(books: Books) -> tuple[PitDrill, ...]:
    """The pit drills of a log, sought once for each change of the books. books: of the log."""
    key = ("pit drills", "")
    if key not in books.worked_out:
        books.worked_out[key] = pit_drills(books.eff.records)
    found: tuple[PitDrill, ...] = books.worked_out[key]
    return found


def on_tanks(tanks: Sequence[TankView], told: Sequence[GaugeView]) -> tuple[TankView, ...]:
    """Tanks with what is told of a drill on them, first. tanks; told: as of ``views``."""
    return tuple(replace(t, doubts=(*own, *t.doubts)) if (own := tuple(v for v in told if v.tank == t.name)) else t
                 for t in tanks)


def on_warnings(warnings: Sequence[WarningView], told: Sequence[GaugeView]) -> tuple[WarningView, ...]:
    """Open warnings with what is told of a drill, first: those on the difference and on trips, and the tank's own.
    warnings; told: as of ``views``."""
    def concerns(w: WarningView, v: GaugeView) -> bool:
        return w.tank == v.tank if w.tank else w.kind in OF_THE_DIFFERENCE or w.kind in TRIP_KINDS

    return tuple(replace(w, doubts=(*own, *w.doubts)) if (own := tuple(v for v in told if concerns(w, v))) else w
                 for w in warnings)
