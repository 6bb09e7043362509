"""Reads a strapping table of a rig file. The bounds on sizes only catch slips (common practice, no source)."""

from __future__ import annotations

from dipbook.rig.locating import Path
from dipbook.rig.reading import TableReader, shown
from dipbook.tanks.shapes import Strapping

KINK = 3.0
"""A strapping interval whose area is this many times both its neighbours', or a third, is shown as doubtful."""
HIGHEST_M, LARGEST_M3 = 15.0, 2000.0
"""A level and a volume above these are slips."""


def read_strapping(shape: TableReader) -> Strapping | None:
    """A strapping table, or None with problems. shape: reader of the [tank.shape] table."""
    if shape.take("file") is not None:
        both = shape.has("table")
        shape.take("table")
        shape.problem("file", "is set beside a table; expected one of them" if both else
                      "names a table in another file, which is read with the rig file from its folder only; this text "
                      "stands alone, so expected the rows as table")
        return None
    rows = shape.take("table", needed='rows of level and volume, like [["0 in", "0 bbl"], ["12 in", "42.7 bbl"]]')
    if rows is None:
        return None
    if not isinstance(rows, list) or len(rows) < 2:
        shape.problem("table", "isn't a strapping table; expected two rows or more of [level, volume]")
        return None
    levels: list[float] = []
    volumes: list[float] = []
    sound = True
    for n, row in enumerate(rows):
        at: Path = (*shape.path, "table", n)
        if not isinstance(row, list) or len(row) != 2:
            alone = shown(row[0]) if isinstance(row, list) and len(row) == 1 else shown(row)
            shape.report.problem(at, f"{alone} isn't a row of level and volume; expected rows like "
                                     '[["12 in", "42.7 bbl"]]')
            sound = False
            continue
        level = shape.measure(row[0], at, "length", 0.0, HIGHEST_M, "level", zero=True)
        volume = shape.measure(row[1], at, "volume", 0.0, LARGEST_M3, "volume", zero=True)
        if level is None or volume is None:
            sound = False
            continue
        for what, value, earlier in (("level", level, levels), ("volume", volume, volumes)):
            if earlier and value <= earlier[-1]:
                shape.report.problem(at, f"{shown(row[0 if what == 'level' else 1])} doesn't rise; expected a {what} "
                                         "above that of the row before")
                sound = False
        levels.append(level)
        volumes.append(volume)
    if not sound:
        return None
    _strapping_findings(shape, levels, volumes)
    return Strapping(tuple(levels), tuple(volumes))


def _strapping_findings(shape: TableReader, levels: list[float], volumes: list[float]) -> None:
    tank = shape.report.titles.get(shape.path[:2], "")
    if levels[0] > 0:
        shape.report.finding((*shape.path, "table", 0), "strapping_starts_high",
                             f"The strapping table of {tank} doesn't start at the bottom: below its first row the "
                             "volume is unknown.", tank=tank)
    areas = [(v1 - v0) / (h1 - h0) for h0, h1, v0, v1 in
             zip(levels[:-1], levels[1:], volumes[:-1], volumes[1:], strict=True)]
    for n in range(1, len(areas) - 1):
        ratios = areas[n] / areas[n - 1], areas[n] / areas[n + 1]
        if min(ratios) > KINK or max(ratios) < 1 / KINK:
            shape.report.finding((*shape.path, "table", n + 1), "strapping_kink",
                                 f"The strapping table of {tank} has one interval, up to row {n + 2}, that doesn't fit "
                                 "those around it: a slip in typing?", tank=tank)
