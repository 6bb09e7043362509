"""Trips made by hand for the Trip page's tests, and a desk that keeps one by a sum of two lines. All of it invented:
stands of 93 ft that take 0.706 bbl each, a trip tank of 1 bbl an inch that reads to a quarter of an inch."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from desks import MIN, NOW, RecordingDesk
from PySide6.QtCore import Signal

from builders import BBL, FT, IN, box_tank, two_box_rig
from dipbook.errors import QuantityError
from dipbook.findings import Finding
from dipbook.quantities import read
from dipbook.rig.model import Rig
from dipbook.situation import TripHold, TripPrompt, TripRowView, TripView
from dipbook.tanks.shapes import Box

STAND_FT, DUE_BBL, TANK = 93.0, 93 * 0.00759, "Trip tank"
U_BBL = 0.102
FAR_BBL = 1.0
"""A difference of one stand that the stand-in asks about."""


def trip_rig(**other: Any) -> Rig:
    """The two-box rig with a trip tank of 1 bbl an inch."""
    rig = two_box_rig(**other)
    tank = box_tank(TANK, "trip", active=False, order=9, shape=Box(length=BBL / IN, width=1.0, height=120 * IN))
    return replace(rig, tanks=(*rig.tanks, replace(tank, brim_m=None)))


def row(n: int, level: str, took_bbl: float, *, total_bbl: float, last_bbl: float, **other: Any) -> TripRowView:
    """Stand ``n`` of a trip from 9000 ft, four minutes after the one before."""
    made = TripRowView(
        uid=f"row-{n}", t_ms=NOW - 120 * MIN + 4 * n * MIN, what="stand", stand=n, bit_m=(9000 - STAND_FT * n) * FT,
        levels=((TANK, level),), expected_m3=DUE_BBL * BBL, least_m3=DUE_BBL * BBL, most_m3=DUE_BBL * BBL,
        actual_m3=took_bbl * BBL, difference_m3=(DUE_BBL - took_bbl) * BBL, u_m3=U_BBL * BBL, last_n_m3=last_bbl * BBL,
        cumulative_m3=total_bbl * BBL, cumulative_u_m3=U_BBL * BBL, state="dry", pace_ms=4 * MIN, by="R. Moe")
    return replace(made, **other)


def first(level: str = "100") -> TripRowView:
    """The level before the first stand: nothing is worked out yet."""
    return TripRowView(uid="row-0", t_ms=NOW - 124 * MIN, what="fill", bit_m=9000 * FT, levels=((TANK, level),))


def trip(rows: tuple[TripRowView, ...] = (), **other: Any) -> TripView:
    """A trip out of the hole, under way. ``other`` replaces fields."""
    done = sum(r.what == "stand" for r in rows)
    total = next((r.cumulative_m3 for r in reversed(rows) if r.cumulative_m3 is not None), None)
    made = TripView(
        uid="trip-1", begun_ms=NOW - 130 * MIN, ended_ms=None, direction="out", title="Trip 3, out of the hole, dry",
        head=(("Well", "Invented 1"), ("Why", "bit change"), ("Mud weight in", "12.0 lb/gal"), ("Gas", "not said"),
              ("Trip tank", TANK)),
        tanks=(TANK,), rows=rows, last_n=5, total_m3=total, total_u_m3=None if total is None else U_BBL * BBL,
        next_stand=done + 1, next_bit_m=(9000 - STAND_FT * (done + 1)) * FT, next_due_m3=DUE_BBL * BBL,
        next_dip=(TANK, 98.25 * IN) if rows else None,
        prompts=(TripPrompt("off bottom", 9000 * FT, "done", "static"), TripPrompt("at the shoe", 4500 * FT, "ahead"),
                 TripPrompt("before the BHA", 600 * FT, "ahead")),
        posted=("Fill every 5 stands of drill pipe: 3.5 bbl.", "Fill every stand of collars: 5.1 bbl."),
        shoe_m=4500 * FT, next_what="stand" if rows else "fill")
    return replace(made, **other)


def some_rows(count: int = 3) -> tuple[TripRowView, ...]:
    """The first level and stands that take 0.75, 0.50, 0.75, … bbl."""
    rows, level, sums = [first()], 100.0, list[float]()
    for n in range(1, count + 1):
        took = (0.75, 0.5, 0.75)[(n - 1) % 3] if n < 0.7 * count or count < 9 else 0.5
        level -= took
        sums.append(DUE_BBL - took)
        if level < 40:
            level += 50
        rows.append(row(n, f"{level:g}", took, total_bbl=sum(sums), last_bbl=sum(sums[-5:])))
    return tuple(rows)


def long_trip(count: int = 62, **other: Any) -> TripView:
    """A trip well on its way, past the shoe, with the previous one behind it, limits, and an open hold point."""
    rows = some_rows(count)
    shift = 4 * (count - 29) * MIN
    rows = tuple(replace(r, t_ms=r.t_ms - shift) for r in rows)
    if other.get("direction") == "in":
        rows = tuple(_turned(r) for r in rows)
    rows = (*rows[:20], replace(rows[20], corrects=True, remark="read twice"), *rows[21:40],
            replace(rows[40], remark="tight spot, 30 klb over"), *rows[41:])
    before = some_rows(60)
    full = {
        "begun_ms": NOW - shift - 130 * MIN, "limit_total_m3": 6.0 * BBL, "limit_last_m3": 1.5 * BBL,
        "previous": "Trip 2, 28 Feb", "previous_bit_m": tuple(r.bit_m for r in before if r.cumulative_m3 is not None),
        "previous_m3": tuple(0.3 * r.cumulative_m3 for r in before if r.cumulative_m3 is not None),
        "prompts": (TripPrompt("off bottom", 9000 * FT, "done", "static"), TripPrompt("at the shoe", 4500 * FT, "due"),
                    TripPrompt("before the BHA", 600 * FT, "ahead")),
        "holds": (TripHold(NOW - 20 * MIN, "the last 5 rows come to +1.0 bbl and the limit is 1.0 bbl. Stop, watch the "
                                           "well, and log what is decided; follow the rig's own procedures."),),
        "findings": (Finding("No bit depth: counted by stands of the rig's length, upward.", severity="note"),) * 2}
    return trip(rows, **(full | other))


def _turned(one: TripRowView) -> TripRowView:
    """The same the other way: what was taken is given back."""
    volumes = ("expected_m3", "least_m3", "most_m3", "actual_m3", "difference_m3", "last_n_m3", "cumulative_m3")
    return replace(one, **{n: -v for n in volumes if (v := getattr(one, n)) is not None})


class TripDesk(RecordingDesk):
    """Keeps a trip: what a row makes is (level before − level) × 1 bbl against 0.706 bbl a stand."""

    handed_over = Signal(str)

    def __init__(self, path: Path, view: TripView | None, rig: Rig | None = None) -> None:
        super().__init__(path, rig or trip_rig())
        self.view_now = view
        self.show(trip=view)

    def show_trip(self, **changes: Any) -> None:
        """The trip with ``changes``, at a new moment."""
        assert self.view_now is not None
        self.view_now = replace(self.view_now, **changes)
        self.show(trip=self.view_now, now_ms=self.now)

    def set_units(self, units: Any) -> None:
        """Texts of the core stay in the rig's own."""

    def trip_preview(self, what: str, typed: Mapping[str, str], levels: Mapping[str, str], *, t_ms: int | None = None
                     ) -> tuple[TripRowView | None, tuple[Finding, ...]]:
        assert self.view_now is not None
        found: list[Finding] = []
        read_now = self._level(levels, found)
        bit = None
        if typed["bit depth"]:
            try:
                bit = read(typed["bit depth"], "length", bare="ft").value
            except QuantityError as error:
                found.append(Finding(str(error), severity="error", column="bit depth"))
        if what == "refill" and not typed["from"]:
            found.append(Finding("Say which tank it came from.", severity="error", column="from"))
        if typed["from"] and typed["from"] not in [t.name for t in self.situation.rig.tanks]:
            found.append(Finding(f"there is no tank {typed['from']!r}", severity="error", column="from"))
        if any(f.severity == "error" for f in found):
            return None, tuple(found)
        rows = self.view_now.rows
        due = DUE_BBL * BBL if what == "stand" else 0.0
        before = self._level(dict(rows[-1].levels), []) if rows else None
        took = None if read_now is None or before is None else (before - read_now) / IN * BBL
        difference = None if took is None or what == "refill" else due - took
        total = None if difference is None else (self.view_now.total_m3 or 0.0) + difference
        if difference is not None and abs(difference) > FAR_BBL * BBL:
            found.append(Finding("More than a stand can take: check the level.", column=TANK))
        made = TripRowView(
            uid="", t_ms=t_ms or self.now, what=what, stand=int(typed["stand"]) if typed["stand"] else None, bit_m=bit,
            levels=tuple(levels.items()), strokes=float(typed["strokes"]) if typed["strokes"] else None,
            expected_m3=due, least_m3=due, most_m3=due, actual_m3=took, difference_m3=difference,
            u_m3=None if difference is None else U_BBL * BBL, last_n_m3=total, cumulative_m3=total,
            cumulative_u_m3=None if total is None else U_BBL * BBL, state="dry" if what == "stand" else "",
            remark=typed["remark"])
        return made, tuple(found)

    def save_trip_row(self, what: str, typed: Mapping[str, str], levels: Mapping[str, str], *, t_ms: int | None = None,
                      author: str = "", supersedes: str | None = None, reason: str = "") -> tuple[Finding, ...]:
        made, found = self.trip_preview(what, typed, levels, t_ms=t_ms)
        if made is None or self.view_now is None:
            return found
        self.asked.append(("trip row", {"what": what, "typed": dict(typed), "levels": dict(levels), "t_ms": t_ms,
                                        "author": author, "supersedes": supersedes, "reason": reason}))
        if supersedes:
            rows = tuple(replace(made, uid="row-c", corrects=True) if r.uid == supersedes else r
                         for r in self.view_now.rows)
        else:
            rows = (*self.view_now.rows, replace(made, uid=f"new-{len(self.view_now.rows)}"))
        stand = self.view_now.next_stand or 0
        on = 1 if what == "stand" and not supersedes else 0
        self.show_trip(rows=rows, total_m3=made.cumulative_m3, next_stand=stand + on, next_what="stand",
                       next_bit_m=(self.view_now.next_bit_m or 0.0) - on * STAND_FT * FT)
        return found

    def _level(self, levels: Mapping[str, str], found: list[Finding]) -> float | None:
        text = levels.get(TANK, "")
        if not text:
            return None
        try:
            return read(text, "length", bare="in").value
        except QuantityError as error:
            found.append(Finding(str(error), severity="error", column=TANK))
            return None
