"""The Line-up page's words on room, mud, losses, rates and sticks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from dipbook.parts import Figure
from dipbook.situation import FrontView, Situation, TankView
from dipbook_app.display import MINUTE_MS, DisplayUnits

STOCK = {"Room to the brim": Figure("stock", "room"), "Usable, active": Figure("stock", "usable"),
         "Usable, reserve": Figure("stock", "reserve")}
LOSING = {"Rate": Figure("stock", "losing"), "Usable active mud lasts": Figure("stock", "hours")}
"""Name of a row -> its figure."""


@dataclass(frozen=True, slots=True)
class Section:
    """A heading, its rows (name, value), and what is to be said below them. figures: of a row's name or of a note ->
    the figure that it can be followed as."""

    title: str
    rows: tuple[tuple[str, str], ...]
    notes: tuple[str, ...] = ()
    figures: Mapping[str, Figure] = field(default_factory=dict)


def sections(s: Situation, units: DisplayUnits) -> tuple[Section, ...]:
    """Everything beside the board. units: the crew's."""
    return (_stock(s, units), _loss(s, units), _rates(s, units), *_fronts(s, units), _sticks(s, units))


def _fronts(s: Situation, units: DisplayUnits) -> tuple[Section, ...]:
    """Where pills, slugs and bottoms-up are; nothing where there are none."""
    rows = [(f"{f.what.capitalize()}, {units.time_near(f.since_ms, s.now_ms)}", _place(f, units)) for f in s.fronts]
    note = "Leading edge, by what was pumped since, with hole and pipe full and all of it coming back."
    return (Section("Where mud is now", tuple(rows), (note,)),) if rows else ()


def _place(f: FrontView, units: DisplayUnits) -> str:
    if f.to_surface_m3 is None:
        return "unknown: log the flow, the bit depth and the hole's sections"
    where = "" if f.depth_m is None else f"{units.length(f.depth_m)} in the {f.where}, "
    if f.to_bit_m3:
        where += f"{_left(f.to_bit_m3, f.strokes_to_bit, units)} to the bit, "
    lasts = "" if f.ms_to_surface is None else f", {units.span(f.ms_to_surface)}"
    return f"{where}{_left(f.to_surface_m3, f.strokes_to_surface, units)} to surface{lasts}"


def _left(volume_m3: float, strokes: float | None, units: DisplayUnits) -> str:
    return units.volume(volume_m3) + ("" if strokes is None else f" or {strokes:.0f} strokes")


def _stock(s: Situation, units: DisplayUnits) -> Section:
    stock = s.stock
    if stock is None:
        return Section("Stock", (), ("Nothing is known yet: log a round.",))
    rows = [("Room to the brim", units.volume(stock.room_m3))]
    if stock.tightest is not None:
        rows.append(("Least room", f"{stock.tightest[0]}: {units.volume(stock.tightest[1])}"))
    rows.append(("Usable, active", units.volume(stock.usable_active_m3)))
    rows.append(("Usable, reserve", units.volume(stock.usable_reserve_m3)))
    notes = []
    if stock.hole_m3 and stock.usable_active_m3 is not None:
        share = f"{stock.usable_active_m3 / stock.hole_m3:.1f}".replace(".", units.decimal)
        rows.append(("Active against the hole", f"{share} of the hole's volume"))
    elif not stock.hole_m3:
        notes.append("The hole's volume can be given in the rig file.")
    if stock.unknown:
        notes.append(f"Not known: {', '.join(stock.unknown)}.")
    elif not stock.shows_well:
        notes.append("By the dips and what was logged: what the well gave or took since isn't in it.")
    return Section("Stock", tuple(rows), tuple(notes), STOCK)


def _loss(s: Situation, units: DisplayUnits) -> Section:
    stock = s.stock
    if stock is None or stock.loss_rate_m3_s is None or stock.loss_span_ms is None:
        return Section("Losing", (("Rate", "unknown"),),
                       ("It takes complete rounds half an hour apart since the zero, with the returns in the active "
                        "tanks.",))
    over = f"{round(stock.loss_span_ms / MINUTE_MS)} min up to {units.time(s.reading_ms)}"
    if not stock.loss_rate_m3_s:
        return Section("Losing", (("Rate", "none that dips can tell"),), (f"By the {over}.",))
    rows = [("Rate", _an_hour(stock.loss_rate_m3_s, units))]
    if stock.hours_left is not None:
        minutes = round(stock.hours_left * 60)
        rows.append(("Usable active mud lasts", units.span(minutes * MINUTE_MS)))
    return Section("Losing", tuple(rows), (f"If it goes on as in the {over}, rates in force included.",),
                   LOSING)


def _rates(s: Situation, units: DisplayUnits) -> Section:
    rows = []
    for rate in s.rates:
        name = " ".join(w for w in (str(rate.fields.get("what") or ""), rate.label) if w)
        so_far = f"{_an_hour(rate.rate_m3_s, units)}, for {units.span(s.now_ms - rate.since_ms)}"
        rows.append((name, f"{so_far}, {units.volume(rate.volume_m3)} so far"))
    return Section("Rates in force", tuple(rows), () if rows else ("None.",))


def _an_hour(rate_m3_s: float | None, units: DisplayUnits) -> str:
    """By the hour: a loss of a few barrels an hour is nothing by the minute."""
    return units.volume(None) if rate_m3_s is None else f"{units.volume(rate_m3_s * 3600.0)} an hour"


def _sticks(s: Situation, units: DisplayUnits) -> Section:
    """Of the active tanks, and of others that something was booked on since their dip."""
    rows = [(f"{t.tank} after the next stand", units.level(t.dip_m)) for t in s.targets]
    told = [t for t in s.tanks if t.active or t.booked_m3]
    rows += [(f"{t.name} now", units.level(t.should_read_m)) for t in told]
    notes = _not_known([t for t in told if t.should_read_m is None])
    notes += tuple(f"After the stand: {t.why}." for t in s.targets)
    if not s.targets:
        notes += ("After the next stand: not known. It takes drilling as the activity, hole, pipe and cuttings carried "
                  "off in the rig file, one suction tank lined up with the returns, and a dip of it since the line-up "
                  "last changed.",)
    figures = {f"{t.tank} after the next stand": Figure("stick", t.tank, "next stand") for t in s.targets}
    figures |= {f"{t.name} now": Figure("stick", t.name, "now") for t in told if t.should_read_m is not None}
    return Section("Sticks should read", tuple(rows), notes, figures)


def _not_known(tanks: Sequence[TankView]) -> tuple[str, ...]:
    """Why it isn't known what these should read, as far as it can be told."""
    never = [t.name for t in tanks if t.t_ms is None]
    other = [t.name for t in tanks if t.t_ms is not None]
    notes = []
    if other:
        notes.append(f"{_list(other)} not known: a gate is open, the line-up changed, or something since the dip isn't "
                     "in the books.")
    if never:
        notes.append(f"{_list(never)} not known: never gauged.")
    return tuple(notes)


def _list(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
