"""Make the demo tour of Larkspur 7: readings and entries of one invented night, from a seeded simulation.

    python demo_data/make_tour.py

Nothing here is real: rig, well, crew and numbers are made up. The mud is moved by plain arithmetic, ten seconds at a
time, and not by Dipbook's books, so that what the books then say of the tour can be checked against ``TRUTH``.

The night, rig time (UTC−6): drilling 12¼ in hole, connections, a transfer that is logged, barite, a dump, a
transfer of 20 bbl at 00:40 that nobody logs, and from 04:10 a slow gain of 0.08 bbl/min.
"""

from __future__ import annotations

import csv
import math
from datetime import datetime, timedelta, timezone
from pathlib import Path
from random import Random

SEED = 20260105
HERE = Path(__file__).parent
ZONE = timezone(timedelta(hours=-6))
START = datetime(2026, 1, 5, 18, 0, tzinfo=ZONE)
STEP = 10                                                   # s
INCH_OF_BOX = 1728 / 9702 / 12                              # bbl per ft² of floor and inch of level

# name, floor [ft²], gauged down from [in] or None, offset of the gauge point [in], start level [in]
TANKS = {
    "Sand Trap": (80.0, None, 0.0, 84.0), "Settling": (None, None, 0.0, 80.0), "Degasser": (64.0, None, 0.0, 78.0),
    "Desander": (64.0, None, 0.0, 76.0), "Suction": (160.0, 108.0, 0.0, 82.0), "Reserve 1": (240.0, None, 0.0, 71.0),
    "Reserve 2": (240.0, None, 0.0, 88.0), "Slug": (48.0, None, 1.0, 40.0), "Trip": (math.pi * 25 / 4, None, 0.0, 66.0),
}
PER_INCH = {n: (17.0975 / 12 if a is None else a * INCH_OF_BOX) for n, (a, *_) in TANKS.items()}
PER_INCH["Suction"] *= 1 - 1.5 / (160 * 108 * INCH_OF_BOX)  # two agitators displace 1.5 bbl over the height

HOLE, STEEL, BORE, STAND = 0.1458, 0.00759, 0.01776, 93.0   # bbl/ft and ft, as in the rig file
ANNULUS, FLOW = 900.0, 800 / 42                             # bbl, bbl/min
LINES, FALLING, RISING = 14 + (20 - 14) * (800 - 600) / (1000 - 600), 60.0, 40.0
LOSS = 0.6 / 60                                             # bbl/min, surface loss, booked as a rate in force

GAIN_FROM, GAIN = 10 * 60 + 10, 0.08                        # min after START, bbl/min
TRUTH = {"unlogged_transfer_bbl": 20.0, "unlogged_from_min": 400, "unlogged_to_min": 412,
         "gain_from_min": GAIN_FROM, "gain_bbl_per_min": GAIN}


def clock(minute: float) -> str:
    """Rig time of a minute after the tour's start."""
    return (START + timedelta(minutes=minute)).isoformat(timespec="seconds")


class Night:
    """The simulation: volumes by tank [bbl], the well's state, and what the crew logged."""

    def __init__(self) -> None:
        self.random = Random(SEED)
        self.volume = {n: TANKS[n][3] * PER_INCH[n] for n in TANKS}
        self.hole = 9176.0
        self.above = STAND                                  # full pipe above the rotary [ft]
        self.lines, self.pumped, self.cut = LINES, 0.0, []
        self.on = True
        self.entries: list[dict[str, str]] = []
        self.readings: list[list[str]] = []
        self.connection_at: float | None = None

    def log(self, minute: float, kind: str, **fields: str) -> None:
        self.entries.append({"time": clock(minute), "kind": kind, "by": "R. Example (invented)",
                             **{k.replace("_", " ").strip(): v for k, v in fields.items()}})

    def step(self, minute: float) -> None:
        """Ten seconds of the well. ``minute`` after the start; negative before it."""
        dt = STEP / 60
        suction = 0.0
        goal, tau = (LINES, RISING) if self.on else (0.0, FALLING)
        change = (goal - self.lines) * (1 - math.exp(-STEP / tau))
        self.lines += change
        suction -= change
        if self.on:
            self.pumped += FLOW * dt
            made = min(self.rate(minute) * dt / 60, self.above)
            self.hole += made
            self.above -= made
            suction += (STEEL + BORE) * made
            self.cut.append((self.pumped + ANNULUS, HOLE * made))
        while self.cut and self.cut[0][0] <= self.pumped:
            suction -= self.cut.pop(0)[1]
        suction -= LOSS * dt
        if minute >= GAIN_FROM:
            suction += GAIN * dt
        self.volume["Suction"] += suction
        self.moves(minute, dt)
        self.connection(minute)

    def rate(self, minute: float) -> float:
        """Feet an hour."""
        return 46 + 8 * math.sin(minute / 47)

    def moves(self, minute: float, dt: float) -> None:
        """Mud moved between tanks, in and out, logged or not."""
        def ramp(start: float, end: float, volume: float) -> float:
            return volume * dt / (end - start) if start <= minute < end else 0.0

        self.pass_on("Reserve 1", "Suction", ramp(90, 102, 25))
        self.pass_on("Reserve 1", "Suction", ramp(300, 315, 30))
        self.pass_on("Reserve 2", "Suction", ramp(400, 412, 20))          # nobody logs this one
        self.volume["Suction"] += ramp(190, 210, 5000 / (42 * 35.0))      # 50 sacks of barite
        dumped = ramp(260, 264, 12)
        self.volume["Suction"] -= dumped                                   # the trap refills over its weir

    def pass_on(self, source: str, target: str, volume: float) -> None:
        self.volume[source] -= volume
        self.volume[target] += volume

    def connection(self, minute: float) -> None:
        if self.connection_at is None and self.above <= 1e-9:
            self.connection_at = minute
            self.on = False
            if minute >= -80:
                self.depth(minute)
                self.log(minute, "pumps", state="off")
                self.log(minute, "activity", activity="connection")
        elif self.connection_at is not None and self.above == 0 and minute >= self.connection_at + 4:
            self.above = STAND
            self.volume["Suction"] -= BORE * STAND
            if minute >= -80:
                self.log(minute, "stand filled", length="93 ft")
        elif self.connection_at is not None and minute >= self.connection_at + 6:
            self.on, self.connection_at = True, None
            if minute >= -80:
                self.log(minute, "pumps", state="on", flow="800 gal[US]/min")
                self.log(minute, "activity", activity="drilling")

    def depth(self, minute: float) -> None:
        self.log(minute, "depth", hole_depth=f"{self.hole:.1f} ft", bit_depth=f"{self.hole:.1f} ft")

    def gauge(self, minute: float) -> None:
        """One round: every tank's stick to the nearest quarter inch, the mud's surface never quite still."""
        row = [clock(minute)]
        for name, (_, mark, offset, _) in TANKS.items():
            level = self.volume[name] / PER_INCH[name] + self.random.uniform(-0.12, 0.12)
            if name == "Settling":                       # the strapping table: 25.65 bbl at 24 in, level floor above
                level = 24 + (self.volume[name] - (25.65 - 24 * PER_INCH[name]) - 24 * PER_INCH[name]) / PER_INCH[name]
                level += self.random.uniform(-0.12, 0.12)
            stick = mark - level if mark is not None else level - offset
            row.append(f"{round(stick * 4) / 4:.2f}")
        self.readings.append(row)


def make() -> Night:
    """Run the night."""
    night = Night()
    # the strapped tank's gauge starts where its table says
    night.volume["Settling"] = 25.65 + (80 - 24) * 17.0975 / 12
    night.log(-85, "activity", activity="drilling", remark="12 1/4 in hole")
    night.log(-85, "pumps", state="on", flow="800 gal[US]/min")
    night.log(-80, "rate in force", rate="0.6 bbl/h", state="on", from_="active",
              remark="surface loss, as agreed")
    for second in range(-80 * 60, 12 * 3600 + 1, STEP):
        minute = second / 60
        if second % 600 == 0:
            night.depth(minute)
        if second == 0:
            night.log(0, "zero", length=f"{night.above:.1f} ft", reason="start of tour")
        if second >= 0 and second % 1800 == 0:
            night.gauge(minute)
        night.step(minute)
    night.log(90, "transfer", from_="Reserve 1", to="Suction", volume="25 bbl", end=clock(102))
    night.log(190, "addition", to="Suction", mass="5000 lbm", density="35 lbm/gal[US]", end=clock(210),
              remark="barite, 50 sacks")
    night.log(260, "discard", from_="Sand Trap", volume="12 bbl", end=clock(264), remark="sand trap dumped")
    night.log(300, "transfer", from_="Reserve 1", to="Suction", volume="30 bbl", end=clock(315))
    night.log(385, "remark", remark="Crew change in the pump room")
    night.log(500, "remark", remark="Shaker screens changed")
    return night


def write(night: Night, folder: Path = HERE) -> None:
    """Write the two files."""
    columns = ["time", "end", "kind", "by", "from", "to", "volume", "rate", "mass", "density", "state", "flow",
               "activity", "hole depth", "bit depth", "length", "reason", "remark"]
    with (folder / "larkspur-entries.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, columns, restval="", lineterminator="\r\n")
        writer.writeheader()
        writer.writerows(sorted(night.entries, key=lambda e: e["time"]))
    with (folder / "larkspur-readings.csv").open("w", newline="", encoding="utf-8") as file:
        plain = csv.writer(file, lineterminator="\r\n")
        plain.writerow(["time", *(f"{n} [in]" for n in TANKS)])
        plain.writerows(night.readings)


if __name__ == "__main__":
    write(make())
    print("Wrote larkspur-readings.csv and larkspur-entries.csv")
