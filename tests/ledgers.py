"""Mini-constructors for histories of records, in the crew's units. Times are minutes after an invented midnight."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from dipbook.books import Books, build
from dipbook.records import Dip, Draft, Record, numbered

FT, IN, BBL = 0.3048, 0.0254, 0.158987294928
GPM = 0.003785411784 / 60
MIN = 60_000

RIG = """
rig = { name = "Invented 1", invented = true }
zone = "Etc/GMT+6"
decimal = "."
[units]
level = "in"
volume = "bbl"
length = "ft"
density = "lbm/gal[US]"
flow = "gal[US]/min"
""" + "".join(f"""
[[tank]]
name = "{name}"
role = "{role}"
active = {active}
order = {order}
gauge = "up"
dip_error = "1/4 in"
heel = "6 in"
brim = "9 ft"
fresh_for = "40 min"
[tank.shape]
kind = "box"
length = "30 ft"
width = "8 ft"
height = "9 ft"
""" for order, (name, role, active) in enumerate(
    [("Settling", "settling", "true"), ("Suction", "suction", "true"), ("Reserve", "reserve", "false"),
     ("Trip", "trip", "false")], 1)) + """
[[pump]]
name = "1"
output = "0.102 bbl"
[hole]
capacity = "0.1458 bbl/ft"
annulus = "250 bbl"
carried_off = 1
porosity = 0
mud_on_cuttings = 0
[pipe]
steel = "0.00759 bbl/ft"
bore = "0.01776 bbl/ft"
stand = "93 ft"
float = "closed"
[drain_back]
at = [["300 gal[US]/min", "20 bbl"]]
falling = "60 s"
rising = "40 s"
"""
EQUIPPED = RIG + """
[[equipment]]
name = "Desilter"
holds = "10 bbl"
filling = "4 min"
draining = "5 min"
on = false
[[equipment]]
name = "Degasser"
holds = "6 bbl"
on = true
[[valve]]
name = "Water on Suction"
kind = "water"
tank = "Suction"
open = false
"""
"""The same with a desilter, a degasser that runs from the start, and a water valve."""


def rig_draft(text: str = RIG, minute: float = 0, **other: Any) -> Draft:
    """The rig as adopted."""
    t = round(minute * MIN)
    return Draft("rig", t, t, author="Test", payload={"text": text, "effective": "change"}, **other)


def spread(minute: float, step: float, **inches: float) -> Draft:
    """A round whose dips are ``step`` minutes apart, each with its own time."""
    t0 = round(minute * MIN)
    taken = tuple(Dip(tank, t0 + round(i * step * MIN), f"{x} in", x * IN) for i, (tank, x) in enumerate(inches.items()))
    return Draft("round", taken[-1].t_ms, taken[-1].t_ms, payload={"start_ms": t0, "end_ms": taken[-1].t_ms}, dips=taken)


def dips(minute: float, **inches: float) -> Draft:
    """A round at one instant: tank=level in inches."""
    t = round(minute * MIN)
    return Draft("round", t, t, author="Test", payload={"start_ms": t, "end_ms": t},
                 dips=tuple(Dip(tank, t, f"{x} in", x * IN) for tank, x in inches.items()))


def entry(kind: str, minute: float, end: float | None = None, *, uid: str = "", supersedes: str | None = None,
          learned: float | None = None, **fields: Any) -> Draft:
    """An entry. Fields in crew units: volume, to, from_ …: bbl, ft, gpm, bbl/min, return_ in minutes; see SCALES."""
    t = round(minute * MIN)
    payload: dict[str, Any] = {"end_ms": None if end is None else round(end * MIN)}
    for name, value in fields.items():
        key, factor = SCALES.get(name, (name.rstrip("_"), None))
        payload[key] = value if factor is None else value * factor
    return Draft(kind, t, t if learned is None else round(learned * MIN), author="Test", payload=payload, uid=uid,
                 supersedes=supersedes)


SCALES = {"volume": ("volume_m3", BBL), "rate": ("rate_m3_s", BBL / 60), "flow": ("flow_m3_s", GPM),
          "hole": ("hole_depth_m", FT), "bit": ("bit_depth_m", FT), "length": ("length_m", FT),
          "mass": ("mass_kg", 0.45359237), "density": ("density_kg_m3", 119.8264273),
          "mud_density": ("mud_density_kg_m3", 119.8264273), "return_": ("return_s", 60), "before": ("before_m", IN),
          "after": ("after_m", IN), "ticket": ("ticket_m3", BBL), "hose": ("hose_m3", BBL)}


def history(*drafts: Draft, rig: str = RIG) -> tuple[Record, ...]:
    """The records of a rig adopted at the start and what came after."""
    return numbered([rig_draft(rig, -1), *drafts])


def booked(*drafts: Draft, rig: str = RIG) -> Books:
    """Books of ``history``."""
    return build(history(*drafts, rig=rig))


def minutes(*at: float) -> list[int]:
    """UTC ms of minutes."""
    return [round(m * MIN) for m in at]


def in_bbl(values: Any) -> Sequence[float]:
    """Volumes in barrels."""
    return [float(v) / BBL for v in values]
