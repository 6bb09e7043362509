"""The demo: the invented rig's night, moved to end just now, as a log of its own in a fresh folder."""

from __future__ import annotations

import tempfile
import uuid
from collections.abc import Sequence
from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import numpy as np

from dipbook import store, watch
from dipbook.books import build
from dipbook.checking import units_of
from dipbook.exchange import entries as entries_file
from dipbook.exchange import readings as readings_file
from dipbook.observations import observe
from dipbook.quantities import write_number
from dipbook.records import RIG, ROUND, WARNING, Dip, Draft, numbered
from dipbook.rig import document
from dipbook.rig.model import Rig
from dipbook_app import alive

MINUTE = 60_000
ENDED_AGO = 4 * MINUTE
"""The night's last round was this long ago [ms]."""
ACKNOWLEDGED_AFTER = 3 * MINUTE
SAID_AFTER = 12 * MINUTE
"""A connection is accepted so long after its pumps stopped [ms]."""
STATION = "demo"
"""Who writes the demo's records: by it a demo's log is known."""
CREW = "R. Example (invented)"


def folder() -> Path:
    """Where the demo's files are: in the package, or beside a checkout."""
    inside = Path(str(files("dipbook_app"))) / "data" / "demo"
    return inside if inside.is_dir() else Path(__file__).parents[2] / "demo_data"


def make_log(now_ms: int, into: Path | None = None, *, connections: bool = False) -> Path:
    """Write the demo's log, its night ending a few minutes before ``now_ms`` [UTC ms], and return its path.

    into: a folder; a fresh temporary one by default. connections: the day of fifteen connections with sensors, instead
    of the night of rounds by hand.
    """
    into = Path(tempfile.mkdtemp(prefix="dipbook-demo-")) if into is None else into
    path = into / f"larkspur-{'connections' if connections else 'demo'}.dipbook"
    drafts = _day(now_ms) if connections else _night(now_ms)
    with store.open(path, station=STATION) as log:
        log.append(drafts)
    alive.note(path, now_ms, closed=True)  # the demo crew watched until now
    return path


def _night(now_ms: int) -> list[Draft]:
    data = folder()
    doc = document.read(data / "rig-larkspur.toml")
    readings = readings_file.parse((data / "larkspur-readings.csv").read_bytes(), "larkspur-readings.csv", doc.rig)
    entries = entries_file.parse((data / "larkspur-entries.csv").read_bytes(), "larkspur-entries.csv", doc.rig)
    last = int(readings.row_times()[-1])
    shift = (now_ms - ENDED_AGO - last) // MINUTE * MINUTE
    drafts = [*_rounds(readings, doc.rig), *entries.drafts]
    drafts = [moved(d, shift) for d in drafts]
    start = min(d.t_ms for d in drafts) - MINUTE
    rig = Draft(RIG, start, start, author=CREW, payload={"text": doc.text, "digest": doc.digest, "effective": "change"},
                reason="demo rig")
    drafts = [rig, *sorted(drafts, key=lambda d: d.learned_ms)]
    return sorted([*drafts, *journal(drafts, doc.rig)], key=lambda d: d.learned_ms)


def _day(now_ms: int) -> list[Draft]:
    """The day of connections: each reading learned at its own time, what was said of a connection after it."""
    data = folder()
    doc = document.read(data / "rig-larkspur-connections.toml")
    name = "larkspur-connections-readings.csv"
    readings = readings_file.parse((data / name).read_bytes(), name, doc.rig)
    name = "larkspur-connections-entries.csv"
    entries = entries_file.parse((data / name).read_bytes(), name, doc.rig)
    shift = (now_ms - ENDED_AGO - int(readings.row_times()[-1])) // MINUTE * MINUTE
    sensed, logged = readings_file.to_draft(readings, 0)
    drafts = [moved(d, shift) for d in (sensed, *logged, *entries.drafts)]
    drafts = [replace(d, learned_ms=d.t_ms + SAID_AFTER) if d.kind == "connection" else d for d in drafts]
    start = min(d.t_ms for d in drafts) - MINUTE
    rig = Draft(RIG, start, start, author=CREW, payload={"text": doc.text, "digest": doc.digest, "effective": "change"},
                reason="demo rig")
    drafts = [rig, *sorted(drafts, key=lambda d: d.learned_ms)]
    return sorted([*drafts, *journal(drafts, doc.rig)], key=lambda d: d.learned_ms)


def _rounds(readings: readings_file.ReadingsFile, rig: Rig) -> list[Draft]:
    """The file's rows as rounds keyed by hand, learned as they were made."""
    by_time: dict[int, list[Dip]] = {}
    unit = rig.units["level"]
    for tank in rig.tanks:
        for series in readings.series:
            if series.tank == tank.name:
                for t, v in zip(series.t_ms.tolist(), np.asarray(series.v).tolist(), strict=True):
                    typed = f"{write_number(v, unit, digits=2, decimal=rig.decimal)} {unit}"
                    by_time.setdefault(t, []).append(Dip(tank.name, t, typed, v))
    return [Draft(ROUND, t, t, author=CREW, dips=tuple(dips),
                  payload={"observer": CREW, "start_ms": t, "end_ms": t, "remark": ""})
            for t, dips in sorted(by_time.items())]


def moved(d: Draft, shift: int) -> Draft:
    """A draft at another time, as another record. d: the draft. shift: later by so much [ms]."""
    payload = {**d.payload}
    for key in ("end_ms", "start_ms"):
        if payload.get(key) is not None:
            payload[key] = payload[key] + shift
    # Other times, other records: their own ids, so that the demo's files can be imported beside them.
    uid = str(uuid.uuid5(uuid.NAMESPACE_OID, f"{d.uid}:{shift}")) if d.uid else ""
    return replace(d, t_ms=d.t_ms + shift, learned_ms=d.t_ms + shift, payload=payload, uid=uid,
                   dips=tuple(replace(x, t_ms=x.t_ms + shift) for x in d.dips),
                   blocks=tuple(replace(x, t_ms=x.t_ms + shift) for x in d.blocks))


def journal(drafts: Sequence[Draft], rig: Rig) -> list[Draft]:
    """The warnings of a demo's log: each reading learned at its time; the first warning acknowledged after three
    minutes. drafts: of the log; rig: with its limits."""
    books = build(numbered(list(drafts)))
    evidence = observe(books)
    memory = watch.start(rig.limits, 1)
    made: list[watch.Transition] = []
    act: watch.Act | None = None
    for i, t in enumerate([*evidence.t_ms.tolist(), None]):
        if act is not None and not any(w.by for w in made) and (t is None or t > act.at_ms):
            memory, out = watch.step(memory, act)
            made += out
        if t is None:
            break
        memory, out = watch.step(memory, watch.Learned(i, t, evidence.rows(i, i + 1)))
        made += out
        raised = [w for w in out if w.state == "raised"]
        if raised and act is None:
            act = watch.Act("acknowledge", raised[0].occurrence, by=CREW, at_ms=t + ACKNOWLEDGED_AFTER)
    units = units_of(rig)
    return [Draft(WARNING, w.time, w.learned, author=w.by,
                  payload={**w.payload(), "text": watch.words(w, units, rig.decimal)}) for w in made]
