"""Measure how early gains and losses are told, and how often falsely, on a simulated rig floor.

    python tests/bench/detect.py --smoke                  # under a minute: 60 quiet tours, 30 runs a cell
    python tests/bench/detect.py                          # 400 and 150
    python tests/bench/detect.py --full                   # 1500 and 600
    python tests/bench/detect.py --only quiet connections # some of: quiet grid connections learned blind dips levels

Same numbers each time: the seeds are fixed. Volumes are barrels in the well when the alarm sounds.
"""

from __future__ import annotations

import argparse
import os
import sys
import time

import paths

from bench.detection import jobs, learned, levels, report, scenarios

SCENARIOS = {"quiet": scenarios.quiet, "grid": scenarios.grid, "connections": scenarios.connections,
             "learned": learned.learned, "blind": learned.blind, "dips": learned.dips, "levels": levels.levels}
SIZES = {"smoke": scenarios.Size(60, 30), "usual": scenarios.Size(400, 150), "full": scenarios.Size(1500, 600)}


def main() -> int:
    """Run what is asked for and print tables, then goals."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    size = asked.add_mutually_exclusive_group()
    for name in ("smoke", "full"):
        size.add_argument(f"--{name}", dest="size", action="store_const", const=name, default="usual")
    asked.add_argument("--only", nargs="+", choices=tuple(SCENARIOS), default=tuple(SCENARIOS))
    asked.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    told = asked.parse_args()
    began = time.time()
    chosen = SIZES[told.size]
    sys.stdout.write(f"{chosen.tours} quiet tours, {chosen.runs} runs a cell, seeds [20250, cell, "
                     f"replicate], {told.workers} processes.\n")
    found = []
    with jobs.Pool(told.workers) as pool:
        for name in told.only:
            for table in SCENARIOS[name](pool, chosen):
                sys.stdout.write("\n".join(report.lines(table)) + "\n")
                sys.stdout.flush()
                found += table.goals
    sys.stdout.write("\n".join(report.goals(found)) + "\n")
    sys.stdout.write(f"\nTook {time.time() - began:.0f} s.\n")
    return 0


if __name__ == "__main__":
    assert paths.FOLDERS
    raise SystemExit(main())
