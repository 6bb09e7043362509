"""Make the demo of fifteen connections: readings of sensors and entries of one invented day, from a seeded simulation.

    python demo_data/make_connections.py

Nothing here is real: rig, well, crew and numbers are made up. The mud is moved by the plain arithmetic of make_tour.py,
ten seconds at a time, and not by Dipbook's books.

The day, rig time (UTC−6): fast drilling with a connection every three quarters of an hour. The lines drain a little
differently each time. At the thirteenth the well flows as long as the pumps are off, 0.5 bbl/min: 4 bbl in all, less
than the gain limit. The crew accept the other fourteen, and adopt a band after the sixth.
"""

from __future__ import annotations

import csv
import math
from datetime import datetime
from pathlib import Path

import make_tour
from make_tour import BORE, FALLING, LINES, LOSS, PER_INCH, RISING, STAND, STEEL, STEP, TANKS, ZONE, Night

HERE = Path(__file__).parent
START = datetime(2026, 1, 5, 6, 0, tzinfo=ZONE)
COUNT, FLOWED_LONG, BAND_AFTER = 15, 13, 6
OFF, FILLED = 8, 5                                          # min: pumps off, and when the stand is filled
INFLUX = 0.5                                                # bbl/min while the pumps are off, at the thirteenth
END = 12 * 60
CREW = "R. Example (invented)"
TRUTH = {"connections": COUNT, "flowed_long": FLOWED_LONG, "influx_bbl": INFLUX * OFF}


class Day(Night):
    """The simulation, with sensors and connections that drain differently."""

    def __init__(self) -> None:
        super().__init__()
        self.offs: list[float] = []
        self.gain, self.tau = LINES, FALLING

    def rate(self, minute: float) -> float:
        """Feet an hour: a stand in about forty minutes."""
        return 142 + 6 * math.sin(minute / 47)

    def step(self, minute: float) -> None:
        """Ten seconds of the well. No cuttings: the shakers are bypassed all day."""
        dt = STEP / 60
        goal, tau = (LINES, RISING) if self.on else (LINES - self.gain, self.tau)
        change = (goal - self.lines) * (1 - math.exp(-STEP / tau))
        self.lines += change
        suction = -change - LOSS * dt
        if self.on:
            made = min(self.rate(minute) * dt / 60, self.above)
            self.hole += made
            self.above -= made
            suction += (STEEL + BORE) * made
        elif len(self.offs) == FLOWED_LONG:
            suction += INFLUX * dt
        self.volume["Suction"] += suction
        self.connection(minute)

    def connection(self, minute: float) -> None:
        minute += STEP / 60                                 # what begins now moves mud from the next step on
        if self.on and self.above <= 1e-9 and len(self.offs) < COUNT:
            self.on = False
            self.offs.append(minute)
            self.gain = LINES * self.random.uniform(0.98, 1.0)
            self.tau = FALLING + self.random.uniform(-3, 3)
            self.depth(minute)
            self.log(minute, "pumps", state="off")
            self.log(minute, "activity", activity="connection")
        elif not self.on and self.above == 0 and minute >= self.offs[-1] + FILLED - 1e-9:
            self.above = STAND
            self.volume["Suction"] -= BORE * STAND
            self.log(minute, "stand filled", length="93 ft")
        elif not self.on and minute >= self.offs[-1] + OFF - 1e-9:
            self.on = True
            self.log(minute, "pumps", state="on", flow="800 gal[US]/min")
            self.log(minute, "activity", activity="drilling")

    def sense(self, minute: float) -> None:
        """Every tank's sensor to a hundredth of an inch, the mud's surface never quite still."""
        row = [make_tour.clock(minute)]
        for name, (_, mark, offset, _) in TANKS.items():
            level = self.volume[name] / PER_INCH[name] + (self.random.gauss(0, 0.03) if name == "Suction" else 0.0)
            if name == "Settling":                       # the strapping table: 25.65 bbl at 24 in, level floor above
                level = 24 + (self.volume[name] - 25.65) / PER_INCH[name]
            row.append(f"{mark - level if mark is not None else level - offset:.2f}")
        self.readings.append(row)

    def near_a_connection(self, minute: float) -> bool:
        """From two minutes before one to ten after the pumps are back on."""
        return self.above < 5 or (bool(self.offs) and minute <= self.offs[-1] + OFF + 10)


def make() -> Day:
    """Run the day."""
    make_tour.START = START
    day = Day()
    day.volume["Settling"] = 25.65 + (80 - 24) * PER_INCH["Settling"]
    day.above = 60.0
    day.log(-30, "activity", activity="drilling", remark="12 1/4 in hole, shakers bypassed")
    day.log(-30, "pumps", state="on", flow="800 gal[US]/min")
    day.log(-30, "shakers", state="bypassed")
    day.log(-30, "rate in force", rate="0.6 bbl/h", state="on", from_="active", remark="surface loss, as agreed")
    day.log(0, "zero", length=f"{day.above:.1f} ft", reason="start of tour")
    for second in range(0, END * 60 + 1, STEP):
        minute = second / 60
        if second % 600 == 0:
            day.depth(minute)
        if second % 300 == 0 or day.near_a_connection(minute):
            day.sense(minute)
        day.step(minute)
    for n, off in enumerate(day.offs, 1):
        if n == FLOWED_LONG:
            day.log(off, "connection", state="not accepted", remark="flowed until the pumps were on: flow-checked")
        else:
            day.log(off, "connection", state="accepted")
    day.log(day.offs[BAND_AFTER - 1] + 20, "flow-back band", state="adopted", flow="800 gal[US]/min",
            remark="the first six, looked at with the toolpusher")
    return day


def write_rig(folder: Path = HERE) -> None:
    """The demo rig with a limit on flow-back."""
    text = (HERE / "rig-larkspur.toml").read_text(encoding="utf-8")
    text = text.replace('falling = "60 s"\n',
                        'falling = "60 s"\nstopped = "15 gal[US]/min"   # less counts as stopped\n')
    (folder / "rig-larkspur-connections.toml").write_text(text + """
[[limit]]
name = "flow-back"
kind = "flow_back"          # above the accepted connections
on = "active"
activity = "any"
value = "2 bbl"
deadband = "1 bbl"
growth = "1 bbl"
after = "1 reading"
set_by = "demo crew (invented)"
reason = "demo value, not advice"
since = "2026-01-05 06:00"
""", encoding="utf-8", newline="\n")


def write(day: Day, folder: Path = HERE) -> None:
    """Write readings and entries."""
    columns = ["time", "kind", "by", "from", "rate", "state", "flow", "activity", "hole depth", "bit depth", "length",
               "reason", "remark"]
    with (folder / "larkspur-connections-entries.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, columns, restval="", lineterminator="\r\n")
        writer.writeheader()
        writer.writerows(sorted(day.entries, key=lambda e: e["time"]))
    with (folder / "larkspur-connections-readings.csv").open("w", newline="", encoding="utf-8") as file:
        plain = csv.writer(file, lineterminator="\r\n")
        plain.writerow(["time", *(f"{n} [in]" for n in TANKS)])
        plain.writerows(day.readings)


if __name__ == "__main__":
    write_rig()
    write(make())
    print("Wrote rig-larkspur-connections.toml, larkspur-connections-readings.csv and larkspur-connections-entries.csv")
