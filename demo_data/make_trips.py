"""Make the demo trips of Larkspur 7: out of one invented hole, clean, back in, and out again, this time swabbing.

    python demo_data/make_trips.py

Nothing here is real: rig, well, crew and numbers are made up. The hole takes its steel by plain arithmetic, stand by
stand, and not by Dipbook's sheet, so that what the sheet says can be checked against ``SWABBED``. The trip tank is read
to an eighth of an inch.
"""

from __future__ import annotations

import csv
import math
from datetime import datetime, timedelta, timezone
from pathlib import Path
from random import Random

HERE = Path(__file__).parent
ZONE = timezone(timedelta(hours=-6))
STARTS = {"clean": datetime(2026, 1, 7, 2, 0, tzinfo=ZONE), "in": datetime(2026, 1, 7, 11, 0, tzinfo=ZONE),
          "swabbed": datetime(2026, 1, 9, 22, 30, tzinfo=ZONE)}
STAND, BOTTOM = 93.0, 9765.0                                # ft
STRING = ((600.0, 0.0545, 0.00768), (900.0, 0.01795, 0.00874), (math.inf, 0.00759, 0.01776))
"""Feet from the bit up, steel and bore in bbl/ft."""
PER_INCH = math.pi * 25 / 4 * 1728 / 9702 / 12              # bbl per inch of the trip tank, 5 ft across
FULL, REFILL_AT, LOW, STICK = 100.0, 24.0, 12.0, 8          # in; readings in eighths of an inch
STANDS, SLOWEST = 104, 5                                    # stands pulled, minutes a stand
SWABBED = {"from_stand": 20, "stands": 12, "bbl": 4.0}
"""Of the second trip: so much came in, evenly over so many stands."""


def highest(bit: float, length: float) -> tuple[float, float]:
    """(steel, bore) [bbl] of the length [ft] of string that stands highest in the hole with the bit at a depth [ft]."""
    steel, bore, above = 0.0, 0.0, 0.0
    for part, of_steel, of_bore in STRING:
        reach = max(0.0, min(above + part, bit) - max(above, bit - length))
        steel, bore, above = steel + reach * of_steel, bore + reach * of_bore, above + part
    return steel, bore


def stick(level: float) -> str:
    """A level [in] as the stick says it, in eighths."""
    whole, part = divmod(round(level * STICK), STICK)
    return f"{whole} {part}/{STICK}" if part else f"{whole}"


def trip(name: str) -> list[list[str]]:
    """The rows of one trip file."""
    random, now = Random(f"larkspur {name}"), STARTS[name]
    level, bit = FULL, BOTTOM
    rows: list[list[str]] = []

    def note(kind: str, stand: int, remark: str = "") -> None:
        rows.append([now.isoformat(timespec="seconds"), kind, str(stand), f"{bit:.0f}", stick(level), "", remark])

    note("stand", 0, "off bottom, flow check static")
    for stand in range(1, STANDS + 1):
        now += timedelta(minutes=random.randint(3, SLOWEST))
        took, _ = highest(bit, STAND)
        first = SWABBED["from_stand"]
        if name == "swabbed" and first <= stand < first + SWABBED["stands"]:
            took -= SWABBED["bbl"] / SWABBED["stands"]
        bit -= STAND
        level -= took / PER_INCH
        note("stand", stand, "tight" if name == "swabbed" and stand == first else "")
        if level < REFILL_AT:
            now += timedelta(minutes=4)
            level = FULL
            note("refill", stand)
    return rows


def trip_in() -> list[list[str]]:
    """The rows of the way back in, on a closed float: the pipe is filled from a reserve tank every twenty stands."""
    random, now = Random("larkspur in"), STARTS["in"]
    level, bit = LOW, BOTTOM - STANDS * STAND
    rows: list[list[str]] = []

    def note(kind: str, stand: int, source: str = "", remark: str = "") -> None:
        rows.append([now.isoformat(timespec="seconds"), kind, str(stand), f"{bit:.0f}", stick(level), source, remark])

    note("stand", 0, remark="BHA made up, float tested")
    for stand in range(1, STANDS + 1):
        bit += STAND
        gives = sum(highest(bit, STAND)) / PER_INCH
        if level + gives > FULL:
            now += timedelta(minutes=3)
            bit -= STAND
            level = LOW
            note("refill", stand - 1, "Reserve 1")
            bit += STAND
        now += timedelta(minutes=random.randint(3, SLOWEST))
        level += gives
        note("stand", stand)
        if stand % 20 == 0:
            now += timedelta(minutes=6)
            note("pipe filled", stand, "Reserve 1")
    now += timedelta(minutes=6)
    note("pipe filled", STANDS, "Reserve 1", "bottom tagged")
    return rows


def main() -> None:
    """Write the files beside this one."""
    for name in STARTS:
        with (HERE / f"larkspur-trip-{name}.csv").open("w", newline="", encoding="utf-8") as file:
            writer = csv.writer(file, lineterminator="\n")
            writer.writerow(["time", "kind", "stand", "bit depth [ft]", "Trip [in]", "from", "remark"])
            writer.writerows(trip_in() if name == "in" else trip(name))


if __name__ == "__main__":
    main()
