"""The demo's trips as a log of its own: out, back in, and out again, with an influx that the sheet shows. Invented.

Made of the trip files of the demo folder, moved to end just now, in the middle of the last trip.
"""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from dipbook import store
from dipbook.entries import checks, trip_rows
from dipbook.entries.dipping import Before
from dipbook.exchange import readings as readings_file
from dipbook.exchange import trip_file
from dipbook.quantities import write, write_level
from dipbook.records import RIG, ROUND, Dip, Draft
from dipbook.rig import document
from dipbook.rig.model import Rig
from dipbook.trips import Row
from dipbook.trips.rows import PIPE_FILLED, REFILL
from dipbook_app import alive
from dipbook_app.demo import CREW, ENDED_AGO, MINUTE, STATION, folder, journal, moved

OTHER_TANK = "Reserve 1"
"""Where the trip tank is filled from where a file doesn't say."""
LAST_STAND = 37
"""Of the last trip: there it stands now."""
BETWEEN = 25 * MINUTE
"""From the end of one trip to the beginning of the next [ms]."""
ROUND_EVERY = 28 * MINUTE
"""All tanks are gauged again after so long, between two stands [ms]."""
MUD = "10.4 lbm/gal[US]"
TRIPS: tuple[tuple[str, dict[str, str]], ...] = (
    ("clean", {"direction": "out", "pulled": "dry", "number": "1", "purpose": "bit change",
               "bottoms-up": "circulated"}),
    ("in", {"direction": "in", "float": "closed", "number": "2", "purpose": "bit change"}),
    ("swabbed", {"direction": "out", "pulled": "dry", "number": "3", "purpose": "logging",
                 "bottoms-up": "not circulated", "not circulated because": "short of time", "gas": "0.8"}))
"""File and what is said of each trip when it begins."""


def make_log(now_ms: int, into: Path | None = None) -> Path:
    """Write the log, its last row a few minutes before ``now_ms`` [UTC ms], and return its path.

    into: a folder; a fresh temporary one by default.
    """
    into = Path(tempfile.mkdtemp(prefix="dipbook-demo-")) if into is None else into
    path = into / "larkspur-trips-demo.dipbook"
    data = folder()
    doc = document.read(data / "rig-larkspur.toml")
    files = [(_rows(data / f"larkspur-trip-{name}.csv", doc.rig), said) for name, said in TRIPS]
    drafts = _history(files, doc.rig, (data / "larkspur-readings.csv").read_bytes())
    shift = now_ms - ENDED_AGO - drafts[-1].t_ms
    drafts = [moved(d, shift) for d in drafts]
    start = drafts[0].t_ms - MINUTE
    rig = Draft(RIG, start, start, author=CREW, reason="demo rig",
                payload={"text": doc.text, "digest": doc.digest, "effective": "change"})
    with store.open(path, station=STATION) as log:
        log.append(sorted([rig, *drafts, *journal([rig, *drafts], doc.rig)], key=lambda d: d.learned_ms))
    alive.note(path, now_ms, closed=True)
    return path


def _rows(path: Path, rig: Rig) -> Sequence[Row]:
    rows = trip_file.parse(path.read_bytes(), path.name, rig).rows
    last = next((n for n, r in enumerate(rows) if r.stand == LAST_STAND), len(rows))
    return rows[:last + 1] if "swabbed" in path.stem else rows


def _history(files: Sequence[tuple[Sequence[Row], dict[str, str]]], rig: Rig, readings: bytes) -> list[Draft]:
    """All the drafts by time, each trip after the one before."""
    first = files[0][0][0].t_ms - 20 * MINUTE
    drafts = [_first_round(first, rig, readings),
              _entry("zero", first, rig, reason="before the trips (demo)", length="0 ft"),
              _entry("depth", first, rig, **{"hole depth": "9765", "bit depth": "9765"}),
              _entry("pumps", first, rig, state="off")]
    end = gauged = first
    string = rig.whole_string
    assert string is not None
    bore = string.bore
    held = {d.tank: _holds(d, rig) for d in drafts[0].dips}
    for n, (rows, said) in enumerate(files):
        shift = 0 if n == 0 else end + BETWEEN - rows[0].t_ms
        begins = rows[0].t_ms + shift - 5 * MINUTE
        dry_from = rows[0].bit_m
        bit = write(rows[0].bit_m, "ft", digits=0)
        drafts += _evened(rows[0], begins - 2 * MINUTE, rig, held)
        if n == 2:
            drafts.append(_entry("flow check", begins, rig, place="off bottom", readings="0; 0; 0", result="static",
                                 **{"seen by": CREW}))
        drafts.append(_entry("trip", begins + MINUTE, rig, **{"bit depth": bit, "density in": MUD, **said}))
        for row in rows:
            filled = bore(row.bit_m) - bore(dry_from) if row.kind == PIPE_FILLED else 0.0
            dry_from = row.bit_m if filled else dry_from
            drafts.append(_row(row, row.t_ms + shift, rig, held, filled))
            if row.t_ms + shift - gauged >= ROUND_EVERY:
                gauged = row.t_ms + shift + MINUTE
                drafts.append(_round(gauged, rig, held))
        end = drafts[-1].t_ms
        if n < len(files) - 1:
            drafts.append(_entry("trip end", end + MINUTE, rig, signed=CREW))
    return drafts


def _evened(row: Row, t_ms: int, rig: Rig, held: dict[str, float]) -> list[Draft]:
    """The trip tank brought to the level that a trip starts from. row: its first. held: as of ``_row``."""
    ((name, level),) = row.levels_m.items()
    more = float(rig.tank(name).volume(level)) - held[name]
    if abs(more) < 1e-6:
        return []
    source, target = (OTHER_TANK, name) if more > 0.0 else (name, OTHER_TANK)
    held[name] += more
    held[OTHER_TANK] -= more
    return [_entry("transfer", t_ms, rig, **{"from": source, "to": target, "volume": f"{abs(more):.6f} m3"})]


def _first_round(t_ms: int, rig: Rig, readings: bytes) -> Draft:
    file = readings_file.parse(readings, "larkspur-readings.csv", rig)
    dips = tuple(Dip(s.tank, t_ms, write_level(float(s.v[0]), "in", "."), float(s.v[0])) for s in file.series)
    dips = tuple(replace(d, level_m=2.54, as_typed="100 in") if d.tank == "Trip" else d for d in dips)
    return Draft(ROUND, t_ms, t_ms, author=CREW, dips=dips,
                 payload={"observer": CREW, "start_ms": t_ms, "end_ms": t_ms, "remark": ""})


def _round(t_ms: int, rig: Rig, held: dict[str, float]) -> Draft:
    """Every tank at what it holds [m3], to a quarter of an inch."""
    dips = []
    for name, volume in held.items():
        tank = rig.tank(name)
        inches = round(float(tank.dip_of_level(tank.level(volume))) / 0.0254 * 8) / 8
        dips.append(Dip(name, t_ms, write_level(inches * 0.0254, "in", "."), inches * 0.0254))
    return Draft(ROUND, t_ms, t_ms, author=CREW, dips=tuple(dips),
                 payload={"observer": CREW, "start_ms": t_ms, "end_ms": t_ms, "remark": ""})


def _holds(dip: Dip, rig: Rig) -> float:
    tank = rig.tank(dip.tank)
    return float(tank.volume(tank.level_of_dip(dip.level_m or 0.0)))


def _entry(kind: str, t_ms: int, rig: Rig, **typed: str) -> Draft:
    end = t_ms + 3 * MINUTE if kind == "flow check" else None
    draft, findings = checks.make(kind, typed, t_ms=t_ms, end_ms=end, rig=rig, author=CREW, learned_ms=t_ms)
    if draft is None:
        raise ValueError(f"the demo's {kind}: {findings}")
    return draft


def _row(row: Row, t_ms: int, rig: Rig, held: dict[str, float], filled_m3: float) -> Draft:
    """A row of a file as a person would have typed it. held: tank -> what it holds [m3], kept up to date. filled_m3:
    into the pipe by this row."""
    typed = {"stand": str(row.stand), "bit depth": write(row.bit_m, "ft", digits=0), "remark": row.remark,
             "from": row.source or (OTHER_TANK if row.kind == REFILL else "")}
    levels = {name: write_level(float(rig.tank(name).dip_of_level(level)), "in", ".")
              for name, level in row.levels_m.items()}
    before = {name: Before(volume_m3=held[name]) for name in levels}
    draft, findings = trip_rows.make(row.kind, typed, levels, t_ms=t_ms, rig=rig, author=CREW, learned_ms=t_ms,
                                     before=before, tanks=tuple(levels))
    if draft is None:
        raise ValueError(f"the demo's row at {t_ms}: {findings}")
    was = dict(held)
    held.update({d.tank: _holds(d, rig) for d in draft.dips})
    if row.kind == REFILL:
        held[OTHER_TANK] -= sum(held[name] - was[name] for name in levels)
    elif row.source:
        held[row.source] -= filled_m3
    return draft
