"""Words of the entries that move mud, or say that it will be moved."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from dipbook.entries.kinds import SETTLED
from dipbook.entries.pen import Pen


def _amount(pen: Pen) -> str:
    """``24.0 bbl``, ``at 2.0 bbl/min`` or "an amount not known", then when it ran to."""
    volume, rate, end = pen.volume(), pen.rate(), pen.record.payload.get("end_ms")
    said = volume
    if rate:
        said = f"{said} at {rate}".strip()
    if not said:
        said = "amount not known yet" if pen.text("state") == "running" and end is None else "amount not given"
    if until := pen.until():
        said += until
    elif pen.text("state") == "running":
        said += ", running"
    return said


def _transfer(pen: Pen) -> str:
    return f"{pen.text('from')} to {pen.text('to')}: {_amount(pen)}"


def _addition(pen: Pen) -> str:
    amount = _amount(pen)
    mass = pen.quantity("mass_kg", "mass", "mass")
    if mass:
        density = pen.quantity("density_kg_m3", "density", "density")
        solid = f"{mass} of {density}" if density else mass
        amount = f"{pen.volume()}, {solid}{pen.until()}" if pen.volume() else f"{solid}{pen.until()}"
    material = pen.text("material")
    return f"To {pen.text('to')}: {f'{material}, ' if material else ''}{amount}"


def _discard(pen: Pen) -> str:
    return f"From {pen.text('from')}: {_amount(pen)}"


def _rate_in_force(pen: Pen) -> str:
    source, target = pen.text("from"), pen.text("to")
    where = " ".join(([f"out of {source}"] if source else []) + ([f"into {target}"] if target else []))
    what = pen.text("what")
    said = " ".join(part for part in (what[:1].upper() + what[1:], pen.rate(), where) if part)
    return f"{said}: {pen.text('state')}"


def _slug(pen: Pen) -> str:
    slug, mud = (pen.quantity(key, name, "density") for key, name in (("density_kg_m3", "density"),
                                                                     ("mud_density_kg_m3", "mud_density")))
    said = f"From {pen.text('from')}: {pen.volume()} of {slug} into mud of {mud}{pen.until()}"
    over = pen.quantity("return_s", "return", "duration")
    return f"{said}, falls back over {over}" if over else said


def _pill(pen: Pen) -> str:
    what = pen.text("what") or "pill"
    density = pen.quantity("density_kg_m3", "density", "density")
    said = f"{what[:1].upper()}{what[1:]} from {pen.text('from')}: {pen.volume()}"
    return said + (f" of {density}" if density else "") + pen.until()


def _salt(pen: Pen) -> str:
    mass, into = pen.quantity("mass_kg", "mass", "mass"), pen.quantity("into_m3", "into", "volume")
    had = pen.percent("had_percent")
    said = f"To {pen.text('to')}: {pen.volume()} more from {mass} of {pen.text('salt')} in {into}"
    return said + (f" with {had} in it" if had and pen.record.payload["had_percent"] else "") + pen.until()


def _trap_dump(pen: Pen) -> str:
    what = "Mud" if pen.text("what") != SETTLED else "Settled solids"
    return f"{what} from {pen.text('from')}: {pen.volume()}, {_sticks(pen)}{pen.until()}"


def _boat(pen: Pen) -> str:
    source, target = pen.text("from"), pen.text("to")
    said = f"Boat to {target}: {pen.volume()}" if target else f"{source} to the boat: {pen.volume()}"
    if sticks := _sticks(pen):
        said += f", {sticks}"
    for key, word in (("ticket_m3", "ticket"), ("hose_m3", "hose")):
        if value := pen.quantity(key, word, "volume"):
            said += f", {word} {value}"
    return said + pen.until()


def _sticks(pen: Pen) -> str:
    before, after = pen.level("before_m", "before"), pen.level("after_m", "after")
    return f"stick {before} before, {after} after" if before and after else ""


def _notice(pen: Pen) -> str:
    source, target, state = pen.text("from"), pen.text("to"), pen.text("state")
    where = f"{source} to {target}" if source and target else f"from {source}" if source else f"to {target}"
    volume = f", {pen.volume()}" if pen.volume() else ""
    said = f"{where[:1].upper()}{where[1:]}{volume}{pen.told()}"
    if state == "announced" and not pen.text("answer"):
        return f"{said}, no answer yet"
    return f"{said}, {state}" if state in ("moved", "called off") else said


SAY: Mapping[str, Callable[[Pen], str]] = {
    "transfer": _transfer, "addition": _addition, "discard": _discard, "slug": _slug, "pill": _pill, "salt": _salt,
    "trap dump": _trap_dump, "boat": _boat, "about to move mud": _notice, "rate in force": _rate_in_force}
"""Kind -> its words."""
