"""The head of a trip's sheet: what was said of the trip, of the well and of its gauging. What nobody said says so."""

from __future__ import annotations

from dipbook.books import Books
from dipbook.books.trips import Trip
from dipbook.composing.trip_prompts import shoe
from dipbook.entries.words import describe
from dipbook.exchange.times import clock, dated
from dipbook.quantities import write, write_number
from dipbook.rig.model import Rig
from dipbook.trips.ways import BUCKET
from dipbook.well import String

NOT_SAID = "not said"
SLUG_MS = 12 * 3_600_000
"""A slug of this long before a trip, at most, is named in its head (our choice, no source)."""


def title(trip: Trip, rig: Rig) -> str:
    """``Trip 3, out of the hole, dry``. trip: of the log, as it is moved now. rig: as it was when it began."""
    way = trip.way_now(rig)
    number = str(trip.head.payload.get("number") or "")
    where = "out of the hole" if trip.out else "into the hole"
    how = way.out if trip.out else f"{way.running} float"
    if trip.out and way.out == BUCKET:
        how = f"bucket, {way.returned * 100:g} % back"
    return ", ".join([f"Trip {number}" if number else "Trip", where, how])


def head(books: Books, trip: Trip, rig: Rig) -> tuple[tuple[str, str], ...]:
    """(label, what was said), in the sheet's order. books: of the log. trip: of it. rig: with the units of words."""
    p = trip.head.payload

    def density(key: str) -> str:
        unit = rig.units.get("density", "kg/m3")
        return NOT_SAID if p.get(key) is None else write(float(p[key]), unit, decimal=rig.decimal)

    bottoms_up = str(p.get("bottoms_up") or NOT_SAID)
    why_not = str(p.get("why_not") or "")
    gas = p.get("gas_percent")
    sections = rig.sections.sections if rig.sections is not None else ()
    shoe_m = shoe(rig)
    return (
        ("Well", rig.name),
        ("Began", f"{dated(trip.begun_ms, rig.zone)} by {trip.head.author or 'nobody named'}"),
        ("Purpose", str(p.get("purpose") or NOT_SAID)),
        ("Mud weight in", density("density_in_kg_m3")), ("Mud weight out", density("density_out_kg_m3")),
        ("Bottoms-up", f"{bottoms_up}: {why_not}" if why_not else bottoms_up),
        ("Gas", NOT_SAID if gas is None else f"{float(gas):g} %".replace(".", rig.decimal)),
        ("Shoe", "not described" if shoe_m is None else _length(shoe_m, rig)),
        ("Inside at surface", _size(sections[0].diameter_m) if sections else "not described"),
        ("Float", _float(trip, rig)), ("Slug", _slug(books, trip, rig)),
        ("Displacements", _displacements(trip, rig)), ("Trip tank", _tank(books, trip, rig)),
        *_end(trip, rig))


def _length(value_m: float, rig: Rig) -> str:
    return write(value_m, rig.units.get("length", "m"), decimal=rig.decimal)


def _size(diameter_m: float) -> str:
    return f"{diameter_m / 0.0254:.3f}".rstrip("0").rstrip(".") + " in"


def _float(trip: Trip, rig: Rig) -> str:
    if not trip.out:
        return trip.way_now(rig).running
    closed = rig.pipe.float_closed if rig.pipe is not None else None
    return "not described" if closed is None else "closed" if closed else "open"


def _slug(books: Books, trip: Trip, rig: Rig) -> str:
    until = trip.end_ms if trip.end_ms is not None else 2**62
    found = [r for r in books.eff.records if r.kind == "slug" and trip.begun_ms - SLUG_MS <= r.t_ms < until]
    if not found:
        return "none in the log"
    return f"{clock(found[-1].t_ms, rig.zone)} {describe(found[-1], rig.units, rig.zone, rig.decimal)}"


def _displacements(trip: Trip, rig: Rig) -> str:
    """Steel and bore of each part, and where they are from."""
    string = trip.string(rig)
    if string is None:
        return "not described"
    per = f"{rig.units.get('volume', 'm3')}/{rig.units.get('length', 'm')}"
    parts = [f"{p.name} steel {_per_length(p.steel_m2, per, rig)}, bore {_per_length(p.bore_m2, per, rig)}"
             for p in string.parts]
    return f"{'; '.join(parts)} {per} ({_from(trip, string, rig)})"


def _per_length(value_m2: float, unit: str, rig: Rig) -> str:
    return write_number(value_m2, unit, digits=5, decimal=rig.decimal)


def _from(trip: Trip, string: String, rig: Rig) -> str:
    if trip.head.payload.get("pipe"):
        return "catalogue"
    return "rig file, [[string]]" if string == rig.string else "rig file, [pipe]"


def _tank(books: Books, trip: Trip, rig: Rig) -> str:
    """Its volume for a unit of level where it stands, and when stick and sensor were last compared."""
    tank = next((t for t in rig.tanks if t.name == trip.tank), None)
    if tank is None:
        return "none: filled by strokes or from another tank"
    unit = rig.units.get("level", "m")
    step = 0.01 if unit == "m" else 0.0254
    middle = tank.shape.height / 2.0
    volume = float(tank.volume(middle + step / 2.0) - tank.volume(middle - step / 2.0))
    per = write(volume, rig.units.get("volume", "m3"), digits=2, decimal=rig.decimal)
    checks = [r for r in books.eff.records if r.kind == "stick check" and r.payload.get("tank") == tank.name
              and r.t_ms <= (trip.end_ms if trip.end_ms is not None else 2**62)]
    checked = f"stick and sensor compared {dated(checks[-1].t_ms, rig.zone)}" if checks else \
        "stick and sensor not compared in this log"
    return f"{tank.name}: {per} for {'1 cm' if unit == 'm' else '1 in'}; {checked}"


def _end(trip: Trip, rig: Rig) -> tuple[tuple[str, str], ...]:
    if trip.end_ms is None:
        return ()
    signed = str(trip.end.payload.get("signed") or NOT_SAID) if trip.end is not None else "ended by another entry"
    tally = str(trip.end.payload.get("tally") or NOT_SAID) if trip.end is not None else NOT_SAID
    return (("Joints against the tally", tally), ("Ended", dated(trip.end_ms, rig.zone)), ("Signed", signed))
