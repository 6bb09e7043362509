"""What happens in a drill, and what the crew log of it, or don't."""

from __future__ import annotations

from collections.abc import Callable
from math import inf

from dipbook.drill.ground import Breathing, Formation, Thief
from dipbook.drill.influx import GAS, Fluid
from dipbook.drill.pits import ACTIVE, EQUIPMENT, OUTSIDE
from dipbook.drill.scenario import Item
from dipbook.drill.session import Happening, Session, Stream
from dipbook.errors import DrillError


def plan(session: Session, events: tuple[Item, ...]) -> None:
    """Put what is to happen into a session, and when. events: as drawn."""
    session.kinds = tuple(item.kind for item in events)
    for n, item in enumerate(events):
        name = f"{item.kind} {n + 1}" if sum(e.kind == item.kind for e in events) > 1 else item.kind
        at = round(item.number("at") * 1000.0) if "at" in item.values else None
        deep = session.well.hole_m + item.number_or("drilled", 0.0)
        begin = BEGINS[item.kind]
        session.waiting.append(Happening(_bound(begin, item, name), at, deep))
        end = ENDS.get(item.kind)
        if end is not None and at is not None and "lasts" in item.values:
            until = at + round(item.number("lasts") * 1000.0)
            session.waiting.append(Happening(_bound(end, item, name), until))


def _bound(do: Callable[[Session, Item, str], str], item: Item, name: str) -> Callable[[Session], str]:
    return lambda session: do(session, item, name)


def _depth(session: Session, item: Item) -> float:
    return item.number_or("depth", session.well.hole_m)


def _over(item: Item) -> float:
    return item.number("over") if "over" in item.values else -item.number("under")


def _kick(session: Session, item: Item, name: str) -> str:
    fluid = Fluid(item.word("fluid", GAS), item.number_or("weight", 0.0), item.number_or("z", 1.0),
                  item.number("out_below") if "out_below" in item.values else None, item.number_or("swelling", 0.0))
    session.well.formations.append(Formation(
        _depth(session, item), _over(item), item.number("flow") / item.number("flow_at"), fluid,
        item.number_or("at_most", inf), name))
    return f"{name}: the formation is open"


def _loss(session: Session, item: Item, name: str) -> str:
    session.well.thieves.append(Thief(_depth(session, item), _over(item), item.number("flow") / item.number("flow_at"),
                                      name))
    return f"{name}: the formation is open"


def _ballooning(session: Session, item: Item, name: str) -> str:
    friction = session.well.manner.friction_pa
    if friction <= 0.0:
        raise DrillError("Ballooning comes of the friction of circulating, and this scenario has none: set friction in "
                         "[well]. Nothing was written.")
    session.well.breathing.append(Breathing(_depth(session, item), item.number("volume") / friction,
                                            item.number("time"), name))
    return f"{name}: the hole begins to take mud"


def _moved(session: Session, item: Item, source: str, target: str, volume: float) -> int | None:
    """Start moving a volume; how long that takes [ms], None for at once."""
    ms = round(item.number_or("over", 0.0) * 1000.0)
    if ms == 0:
        session.pits.move(source, target, volume)
        return None
    session.streams.append(Stream(source, target, volume / (ms / 1000.0), session.now_ms + ms))
    return ms


def _said(item: Item) -> str:
    return "" if item.yes("logged") else " (not logged)"


def _transfer(session: Session, item: Item, name: str) -> str:
    source, target, volume = item.word("from"), item.word("to"), item.number("volume")
    ms = _moved(session, item, source, target, volume)
    if item.yes("logged"):
        session.log("transfer", for_ms=ms, from_=source, to=target, volume=item.number_or("logged_volume", volume))
    return f"{name} begins: {source} to {target}{_said(item)}"


def _addition(session: Session, item: Item, name: str) -> str:
    solid = "mass" in item.values
    volume = item.number("mass") / item.number("density") if solid else item.number("volume")
    ms = _moved(session, item, OUTSIDE, item.word("to"), volume)
    if item.yes("logged") and solid:
        session.log("addition", for_ms=ms, to=item.word("to"), mass=item.number("mass"), density=item.number("density"))
    elif item.yes("logged"):
        session.log("addition", for_ms=ms, to=item.word("to"), volume=volume)
    return f"{name} begins: to {item.word('to')}{_said(item)}"


def _dump(session: Session, item: Item, name: str) -> str:
    ms = _moved(session, item, item.word("from"), OUTSIDE, item.number("volume"))
    if item.yes("logged"):
        session.log("discard", for_ms=ms, from_=item.word("from"), volume=item.number("volume"))
    return f"{name} begins: from {item.word('from')}{_said(item)}"


def _outflow(session: Session, item: Item, name: str) -> str:
    source = item.word("from", ACTIVE)
    session.streams.append(Stream(source, OUTSIDE, item.number("rate"), _until(session, item)))
    if item.yes("logged"):
        session.log("rate in force", rate=item.number("rate"), state="on", from_=source, remark=item.word("what"))
    return f"{name} begins: {item.word('what')} from {source}{_said(item)}"


def _inflow(session: Session, item: Item, name: str) -> str:
    target = item.word("to", ACTIVE)
    session.streams.append(Stream(OUTSIDE, target, item.number("rate"), _until(session, item)))
    if item.yes("logged"):
        session.log("rate in force", rate=item.number("rate"), state="on", to=target, remark=item.word("what"))
    return f"{name} begins: {item.word('what')} to {target}{_said(item)}"


def _flow_ends(session: Session, item: Item, name: str) -> str:
    if item.yes("logged"):
        side = "from" if item.kind == "outflow" else "to"
        session.log("rate in force", {side: item.word(side, ACTIVE)}, state="off", remark=item.word("what"))
    return f"{name} ends"


def _until(session: Session, item: Item) -> int | None:
    return session.now_ms + round(item.number("lasts") * 1000.0) if "lasts" in item.values else None


def _wrong_valve(session: Session, item: Item, name: str) -> str:
    session.pits.diverted[item.word("to")] = item.number("share")
    return f"{name}: part of the returns goes to {item.word('to')} (not logged)"


def _valve_righted(session: Session, item: Item, name: str) -> str:
    session.pits.diverted.pop(item.word("to"), None)
    return f"{name} ends"


def _equipment(session: Session, item: Item, name: str) -> str:
    piece = next(e for e in session.rig.equipment if e.name == item.word("name"))
    if piece.fills_s > 0.0:
        session.streams.append(Stream(ACTIVE, EQUIPMENT, piece.holds_m3 / piece.fills_s,
                                      session.now_ms + round(piece.fills_s * 1000.0)))
    else:
        session.pits.move(ACTIVE, EQUIPMENT, piece.holds_m3)
    if item.yes("logged"):
        session.log("equipment", equipment=piece.name, state="on")
    return f"{name}: {piece.name} is started{_said(item)}"


def _stuck(session: Session, item: Item, name: str) -> str:
    session.gauges.stuck[item.word("tank")] = float("nan")
    return f"{name}: {item.word('tank')}"


def _free_again(session: Session, item: Item, name: str) -> str:
    session.gauges.stuck.pop(item.word("tank"), None)
    return f"{name} ends"


def _drifting(session: Session, item: Item, name: str) -> str:
    rate = item.number("rate") * (1.0 if item.word("way", "up") == "up" else -1.0)
    session.gauges.drifts[item.word("tank")] = (session.now_ms / 1000.0, rate)
    return f"{name}: {item.word('tank')}"


def _drift_ends(session: Session, item: Item, name: str) -> str:
    session.gauges.drifts.pop(item.word("tank"), None)
    return f"{name} ends"


def _agitator(session: Session, item: Item, name: str) -> str:
    session.gauges.ripples[item.word("tank")] = item.number("ripple")
    return f"{name}: {item.word('tank')}"


def _agitator_ends(session: Session, item: Item, name: str) -> str:
    session.gauges.ripples.pop(item.word("tank"), None)
    return f"{name} ends"


BEGINS: dict[str, Callable[[Session, Item, str], str]] = {
    "kick": _kick, "loss": _loss, "ballooning": _ballooning, "transfer": _transfer, "addition": _addition,
    "dump": _dump, "outflow": _outflow, "inflow": _inflow, "wrong valve": _wrong_valve, "equipment": _equipment,
    "stuck gauge": _stuck, "drifting gauge": _drifting, "agitator": _agitator}
ENDS: dict[str, Callable[[Session, Item, str], str]] = {
    "outflow": _flow_ends, "inflow": _flow_ends, "wrong valve": _valve_righted, "stuck gauge": _free_again,
    "drifting gauge": _drift_ends, "agitator": _agitator_ends}
