"""The crew at work: what they do in turn, and what they log of it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from math import ceil

from dipbook.drill.pits import ACTIVE
from dipbook.drill.record import TripRow
from dipbook.drill.scenario import Item
from dipbook.drill.session import Session, Spell
from dipbook.errors import DrillError

REFILLED_BELOW, REFILLED_TO, EMPTIED_ABOVE, EMPTIED_TO = 0.25, 0.8, 0.85, 0.3
"""Shares of what the trip tank holds at which the crew fill it, pulling, and empty it, running in (no source)."""
NEAR_M = 1e-6


def program(session: Session, work: Sequence[Item]) -> Iterator[Spell]:
    """Spell after spell of the crew's work. session: that they act on. work: as drawn."""
    for n, item in enumerate(work):
        yield from DOES[item.kind](session, item)
        following = work[n + 1].kind if n + 1 < len(work) else ""
        if item.kind == "trip in" or (item.kind in ("trip out", "out of hole") and following not in
                                      ("trip in", "trip out", "out of hole")):
            _trip_ends(session)


def _ms(seconds: float) -> int:
    return round(seconds * 1000.0)


def _circulating(session: Session, item: Item) -> Iterator[Spell]:
    session.log("activity", activity=item.kind)
    session.pump(item.number_or("flow", session.well.asked_m3_s))
    yield Spell(_ms(item.number("for")))


def _static(session: Session, item: Item) -> Iterator[Spell]:
    session.log("activity", activity="static")
    session.pump(0.0)
    yield Spell(_ms(item.number("for")))


def _drilling(session: Session, item: Item) -> Iterator[Spell]:
    well, left = session.well, _ms(item.number("for"))
    session.log("activity", activity="drilling")
    session.pump(item.number_or("flow", well.asked_m3_s))
    while left > 0:
        if well.bore.above_m <= NEAR_M:
            for spell in _connection(session, item):
                yield spell
                left -= spell.for_ms
            continue
        ms = ceil(well.bore.above_m / item.number("rate") * 1000.0)
        if ms <= left:
            yield Spell(ms, well.bore.above_m / (ms / 1000.0), True)
            well.bore.above_m = 0.0
        else:
            yield Spell(left, item.number("rate"), True)
        left -= ms


def _connection(session: Session, item: Item) -> Iterator[Spell]:
    """Pumps off, a stand on top and filled, pumps on."""
    well, flow = session.well, session.well.asked_m3_s
    stand = _stand(session)
    session.log("activity", activity="connection")
    session.log("depth", hole_depth=well.hole_m, bit_depth=well.bore.bit_m)
    session.pump(0.0)
    filling = item.number_or("filling", 0.0)
    yield Spell(max(1, _ms(item.number("connection") - filling)))
    well.add_stand(stand)
    if filling > 0.0:
        volume = well.bore.capacity_m3 - well.bore.held_m3
        session.log("stand filled", length=stand)
        yield Spell(_ms(filling), fill_m3_s=volume / filling)
    else:
        well.fill_pipe(ACTIVE)
        session.log("stand filled", length=stand)
    session.pump(flow)
    session.log("activity", activity="drilling")


def _slug(session: Session, item: Item) -> Iterator[Spell]:
    """A slug is pumped from its tank, and falls."""
    well, volume, flow = session.well, item.number("volume"), item.number("flow")
    ms, falls = ceil(volume / flow * 1000.0), item.number("return")
    session.log("activity", activity="circulating")
    session.pump(volume / (ms / 1000.0))
    session.log("slug", for_ms=ms, from_=item.word("from"), volume=volume, density=item.number("density"),
                mud_density=well.column.mud_kg_m3, return_=falls)
    well.draws, well.draws_kg_m3 = item.word("from"), item.number("density")
    yield Spell(ms)
    well.draws, well.draws_kg_m3 = ACTIVE, 0.0
    session.pump(0.0)
    session.log("activity", activity="static")
    well.open_top, well.lets_in = True, False
    yield Spell(_ms(falls))


def _trip_out(session: Session, item: Item) -> Iterator[Spell]:
    well, pulled = session.well, item.word("pulled", "dry")
    values: dict[str, float | str] = {"direction": "out", "pulled": pulled}
    if pulled == "bucket":
        values["returned"] = 100.0 * item.number_or("returned", 0.0)
    tank = _trip_begins(session, values)
    well.plugged, well.lets_in = pulled != "dry", False
    share = item.number_or("returned", 0.0) if pulled == "bucket" else 0.0
    stands = 0
    _row(session, "fill", stands, tank, out=True)
    while well.bore.bit_m > item.number("to") + NEAR_M:
        length = min(_stand(session), well.bore.bit_m - item.number("to"))
        yield _pipe(length, -item.number("speed"))
        well.rack_stand(length, tank, share)
        well.bore.above_m = 0.0
        yield Spell(_ms(item.number("slips")), read=False)
        stands += 1
        _row(session, "stand", stands, tank, out=True)
        yield from _kept_in_range(session, item, stands, tank, out=True)


def _trip_in(session: Session, item: Item) -> Iterator[Spell]:
    well, open_ = session.well, item.word("float") == "open"
    tank = _trip_begins(session, {"direction": "in", "float": item.word("float", "closed")})
    well.plugged, well.lets_in = False, open_
    stands = 0
    _row(session, "fill", stands, tank, out=False)
    while well.bore.bit_m < item.number("to") - NEAR_M:
        length = min(_stand(session), item.number("to") - well.bore.bit_m)
        well.add_stand(length)
        yield _pipe(length, item.number("speed"))
        well.bore.above_m = 0.0
        yield Spell(_ms(item.number("slips")), read=False)
        stands += 1
        _row(session, "stand", stands, tank, out=False)
        yield from _kept_in_range(session, item, stands, tank, out=False)


def _out_of_hole(session: Session, item: Item) -> Iterator[Spell]:
    session.log("activity", activity="out of hole")
    yield Spell(_ms(item.number("for")))


def _pipe(length_m: float, speed_m_s: float) -> Spell:
    """A stand moved, in whole milliseconds."""
    ms = ceil(length_m / abs(speed_m_s) * 1000.0)
    return Spell(ms, length_m / (ms / 1000.0) * (1.0 if speed_m_s > 0.0 else -1.0), read=False)


def _trip_begins(session: Session, values: dict[str, float | str]) -> str:
    well = session.well
    tank = next((t.name for t in session.rig.tanks if t.role == "trip"), "")
    if not tank:
        raise DrillError("The rig file has no tank with the role trip: a trip can't be run on it. Nothing was written.")
    session.pump(0.0)
    session.log("activity", activity="tripping")
    session.log("trip", values, bit_depth=well.bore.bit_m, trip_tank=tank, density_in=well.column.mud_kg_m3)
    session.pits.route = well.tops_up = tank
    well.open_top = True
    return tank


def _trip_ends(session: Session) -> None:
    well = session.well
    session.log("trip end")
    session.pits.route, well.tops_up = ACTIVE, ""
    well.open_top = well.plugged = well.lets_in = False


def _row(session: Session, kind: str, stand: int, tank: str, *, out: bool, source: str = "") -> None:
    """The gauges are read, and the trip's sheet has a row of it; where somebody walks, the trip tank's alone."""
    dips = session.read((tank,) if session.walk_ms else ()).dips
    session.trip_rows.append(TripRow(session.t_ms, kind, stand, session.well.bore.bit_m, tank, dips.get(tank), source,
                                     out))


def _kept_in_range(session: Session, item: Item, stand: int, tank: str, *, out: bool) -> Iterator[Spell]:
    """The trip tank is filled, or emptied, before it runs empty or over."""
    holds, has, other = session.rig.tank(tank).capacity_m3, session.pits.volumes[tank], item.word("refill_from")
    if out and has < REFILLED_BELOW * holds:
        moved = REFILLED_TO * holds - has
        source, target = other, tank
    elif not out and has > EMPTIED_ABOVE * holds:
        moved = has - EMPTIED_TO * holds
        source, target = tank, other
    else:
        return
    yield Spell(30_000, read=False)         # the level of the stand was read before
    session.log("transfer", from_=source, to=target, volume=moved)
    session.pits.move(source, target, moved)
    yield Spell(30_000, read=False)
    _row(session, "refill", stand, tank, out=out, source=other)


def _stand(session: Session) -> float:
    pipe = session.rig.pipe
    if pipe is None:
        raise DrillError("The rig file has no [pipe] with the length of a stand: a drill can't be run on it. Nothing "
                         "was written.")
    return pipe.stand_m


DOES: dict[str, Callable[[Session, Item], Iterator[Spell]]] = {
    "drilling": _drilling, "circulating": _circulating, "static": _static, "mixing": _circulating, "slug": _slug,
    "trip out": _trip_out, "out of hole": _out_of_hole, "trip in": _trip_in}
