"""Make the measured tour: 12 tanks, 12 hours at 1 Hz, about 150 entries, 10 limits. Everything in it is invented.

    python tests/bench/tour.py FOLDER [HOURS]

Seeded: the same files each time. A slow gain begins in the last hour, so that warnings are raised.
"""

from __future__ import annotations

import sys
from datetime import datetime, timedelta, timezone
from pathlib import Path

import numpy as np

ZONE = timezone(timedelta(hours=-6))
START = datetime(2026, 1, 5, 18, tzinfo=ZONE)
ACTIVE = ("Sand Trap", "Settling", "Degasser", "Desander", "Desilter", "Mixing", "Intermediate", "Suction")
RESERVE = ("Reserve 1", "Reserve 2", "Slug", "Trip")
ROLES = {name: name.lower() for name in (*ACTIVE, "Slug", "Trip")} | {"Mixing": "premix"}
BBL_PER_IN = 30 * 8 / 12 / 5.614583
"""Each tank is a box of 30 ft × 8 ft [bbl/in]."""
GAUGED_EACH = 900
"""In partial.csv the Intermediate tank is gauged by hand, once in so many seconds; the rest have sensors."""
HEAD = """rig = { name = "Measured rig (invented)", invented = true }
zone = "Etc/GMT+6"
decimal = "."
[units]
level = "in"
volume = "bbl"
length = "ft"
density = "lbm/gal[US]"
flow = "gal[US]/min"
[[pump]]
name = "1"
output = "0.1018 bbl"
[hole]
capacity = "0.1458 bbl/ft"
annulus = "900 bbl"
carried_off = 1
porosity = 0
mud_on_cuttings = 0
[pipe]
steel = "0.00759 bbl/ft"
bore = "0.01776 bbl/ft"
stand = "93 ft"
float = "closed"
[drain_back]
at = [["300 gal[US]/min", "8 bbl"], ["600 gal[US]/min", "14 bbl"], ["1000 gal[US]/min", "20 bbl"]]
falling = "60 s"
rising = "40 s"
"""
TANK = """[[tank]]
name = "{name}"
role = "{role}"
active = {active}
order = {order}
gauge = "up"
dip_error = "1/4 in"
brim = "8 ft 6 in"
percent_of = "level"
fresh_for = "40 min"
[tank.shape]
{shape}
"""
BOX = 'kind = "box"\nlength = "30 ft"\nwidth = "8 ft"\nheight = "9 ft"'
STRAPPED = 'kind = "strapping"\ntable = [' + ", ".join(
    f'["{i} in", "{i * BBL_PER_IN:.4f} bbl"]' for i in range(0, 109, 2)) + "]"
LIMIT = """[[limit]]
name = "{name}"
kind = "{kind}"
on = "{on}"
activity = "any"
value = "{value}"
deadband = "{deadband}"
{growth}after = "{after}"
set_by = "Test"
reason = "test value"
since = "2026-01-05 06:00"
"""
OVERDUE = """[[limit]]
name = "round overdue"
kind = "overdue"
on = "active"
activity = "any"
value = "35 min"
set_by = "Test"
reason = "test value"
since = "2026-01-05 06:00"
"""


def rig_text() -> str:
    """The rig file: 12 tanks, one of them strapped, and 10 limits."""
    tanks = [TANK.format(name=name, role=ROLES.get(name, "reserve"), order=i,
                         active=str(name in ACTIVE).lower(), shape=STRAPPED if name == "Settling" else BOX)
             for i, name in enumerate((*ACTIVE, *RESERVE), 1)]
    limits = [LIMIT.format(name=f"{on} {kind}", kind=kind, on=on, value=value, deadband="2 bbl", growth='growth = "5 bbl"\n',
                           after="1 reading")
              for on, value in (("active", "15 bbl"), ("all surface", "20 bbl")) for kind in ("gain", "loss")]
    limits += [LIMIT.format(name=f"{tank} {kind}", kind=kind, on=tank, value=value, deadband="2 in", growth="",
                           after="1 reading")
               for tank in ("Suction", "Settling") for kind, value in (("high", "8 ft"), ("low", "2 ft"))]
    limits.append(LIMIT.format(name="Trip high", kind="high", on="Trip", value="290 bbl", deadband="5 bbl",
                               growth="", after="1 reading"))
    return HEAD + "".join(tanks) + "".join(limits) + OVERDUE


def stamp(second: float) -> str:
    """A time of the tour as RFC 3339."""
    return (START + timedelta(seconds=second)).isoformat()


def entries(hours: float) -> list[dict[str, str]]:
    """What the crew logged, by time: 12 and a half lines an hour."""
    end = hours * 3600
    rows = [{"time": stamp(-1800), "kind": "activity", "activity": "drilling"},
            {"time": stamp(-1800), "kind": "pumps", "state": "on", "flow": "600 gal[US]/min"},
            {"time": stamp(0), "kind": "zero", "reason": "start of tour", "length": "30 ft"}]
    rows += [{"time": stamp(s), "kind": "depth", "hole depth": f"{9200 + s / 90:.1f} ft",
              "bit depth": f"{9200 + s / 90:.1f} ft"} for s in np.arange(0, end, 600).tolist()]
    for s in np.arange(1800, end, 3600).tolist():       # a connection each hour, then a transfer, an addition, a dump
        rows += [{"time": stamp(s), "kind": "activity", "activity": "connection"},
                 {"time": stamp(s), "kind": "pumps", "state": "off"},
                 {"time": stamp(s + 240), "kind": "pumps", "state": "on", "flow": "600 gal[US]/min"},
                 {"time": stamp(s + 240), "kind": "activity", "activity": "drilling"},
                 {"time": stamp(s + 600), "end": stamp(s + 900), "kind": "transfer", "from": "Reserve 1",
                  "to": "Suction", "volume": "6 bbl"}]
        if (s // 3600) % 2 == 0:
            rows += [{"time": stamp(s + 900), "end": stamp(s + 1200), "kind": "addition", "to": "Mixing",
                      "volume": "3 bbl"},
                     {"time": stamp(s + 1200), "end": stamp(s + 1260), "kind": "discard", "from": "Sand Trap",
                      "volume": "3 bbl"}]
    return rows


def levels(hours: float) -> dict[str, np.ndarray]:
    """The levels that a sensor on each tank gives [in], following the entries near enough."""
    t = np.arange(0, hours * 3600, 1.0)
    draw = np.random.default_rng(7)
    found = {name: np.full(len(t), 60.0) + draw.normal(0, 0.02, len(t)) for name in (*ACTIVE, *RESERVE)}

    def move(tank: str, start: float, end: float, volume: float) -> None:
        found[tank] += np.interp(t, (start, end), (0, volume / BBL_PER_IN))

    drilled = t / 90 * 0.1458
    found["Intermediate"] -= drilled / BBL_PER_IN       # cuttings carried off
    for s in np.arange(1800, hours * 3600, 3600).tolist():
        move("Settling", s, s + 60, 14)                 # drains back, and is pumped away again
        move("Settling", s + 240, s + 280, -14)
        move("Reserve 1", s + 600, s + 900, -6)
        move("Suction", s + 600, s + 900, 6)
        if (s // 3600) % 2 == 0:
            move("Mixing", s + 900, s + 1200, 3)
            move("Sand Trap", s + 1200, s + 1260, -3)
    move("Degasser", hours * 3600 - 3600, hours * 3600, 40)
    return found


def make(folder: Path, hours: float = 12.0) -> tuple[Path, Path, Path]:
    """Write the rig, the readings, the entries and partial.csv into a folder; returns the paths of the first three."""
    folder.mkdir(parents=True, exist_ok=True)
    rig, readings, logged = (folder / name for name in ("rig.toml", "readings.csv", "entries.csv"))
    rig.write_text(rig_text(), encoding="utf-8")
    columns = levels(hours)
    texts = [[f"{x:.2f}" for x in column.tolist()] for column in columns.values()]
    times = [stamp(s) for s in range(len(texts[0]))]
    lines = [",".join(("time", *(f"{name} [in]" for name in columns)))]
    lines += [",".join(cells) for cells in zip(times, *texts, strict=True)]
    readings.write_text("\n".join(lines) + "\n", encoding="utf-8")
    lines[1:] = [",".join((*line.split(",")[:7], line.split(",")[7] if i % GAUGED_EACH == 0 else "", *line.split(",")[8:]))
                 for i, line in enumerate(lines[1:])]
    (folder / "partial.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    names = ("time", "end", "kind", "from", "to", "volume", "state", "flow", "activity", "hole depth", "bit depth",
             "length", "reason")
    rows = [",".join(names), *(",".join(row.get(name, "") for name in names) for row in entries(hours))]
    logged.write_text("\n".join(rows) + "\n", encoding="utf-8")
    return rig, readings, logged


if __name__ == "__main__":
    made = make(Path(sys.argv[1]), float(sys.argv[2]) if len(sys.argv) > 2 else 12.0)
    sys.stdout.write("\n".join(str(path) for path in made) + "\n")
