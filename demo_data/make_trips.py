"""Make the demo trips of Larkspur 7: two trips out of one invented hole, one clean and one that swabs.

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
STARTS = {"clean": datetime(2026, 1, 7, 2, 0, tzinfo=ZONE), "swabbed": datetime(2026, 1, 9, 22, 30, tzinfo=ZONE)}
STAND, BOTTOM = 93.0, 9765.0                                # ft
STRING = ((600.0, 0.0545), (900.0, 0.01795), (math.inf, 0.00759))     # ft from the bit up, steel in bbl/ft
PER_INCH = math.pi * 25 / 4 * 1728 / 9702 / 12              # bbl per inch of the trip tank, 5 ft across
FULL, REFILL_AT, STICK = 100.0, 24.0, 8                     # in, in, readings in eighths of an inch
STANDS, SLOWEST = 104, 5                                    # stands pulled, minutes a stand
SWABBED = {"from_stand": 20, "stands": 12, "bbl": 4.0}
"""Of the second trip: so much came in, evenly over so many stands."""


def steel_above(bit: float, length: float) -> float:
    """Steel [bbl] of the length [ft] of string that stands highest in the hole with the bit at a depth [ft]."""
    total, above = 0.0, 0.0
    for part, steel in STRING:
        low, high = max(above, bit - length), min(above + part, bit)
        total += max(0.0, high - low) * steel
        above += part
    return total


def trip(name: str) -> list[list[str]]:
    """The rows of one trip file."""
    random, now = Random(f"larkspur {name}"), STARTS[name]
    level, bit = FULL, BOTTOM
    rows: list[list[str]] = []

    def note(kind: str, stand: int, remark: str = "") -> None:
        read = round(level * STICK) / STICK
        whole, part = divmod(round(read * STICK), STICK)
        stick = f"{whole} {part}/{STICK}" if part else f"{whole}"
        rows.append([now.isoformat(timespec="seconds"), kind, str(stand), f"{bit:.0f}", stick, remark])

    note("stand", 0, "off bottom, flow check static")
    for stand in range(1, STANDS + 1):
        now += timedelta(minutes=random.randint(3, SLOWEST))
        took = steel_above(bit, STAND)
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


def main() -> None:
    """Write both files beside this one."""
    for name in STARTS:
        with (HERE / f"larkspur-trip-{name}.csv").open("w", newline="", encoding="utf-8") as file:
            writer = csv.writer(file, lineterminator="\n")
            writer.writerow(["time", "kind", "stand", "bit depth [ft]", "Trip [in]", "remark"])
            writer.writerows(trip(name))


if __name__ == "__main__":
    main()
