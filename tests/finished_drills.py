"""Finished drills for tests: a run's files as the log of somebody who was at the watch, with what they did. Invented."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from dipbook import checking, practising, store
from dipbook.drill import Scenario
from dipbook.drill.record import Act
from dipbook.drill_folder import FinishedDrill, write_drill
from dipbook.records import RIG, SAMPLES, WARNING, Block, Draft

DEMO_RIG = Path(__file__).parents[1] / "demo_data" / "rig-larkspur.toml"
MINUTE = 60_000
DONE_MS = 1_769_000_000_000


def drafts_of(checked: checking.Checked, *late: Draft) -> list[Draft]:
    """Each reading, entry and warning learned at its own time; late: others, with a time of their own."""
    first = checked.books.records[0]
    drafts = [Draft(RIG, first.t_ms, first.t_ms - 1, payload=first.payload), *late]
    rows: dict[int, list[Block]] = {}
    for r in checked.books.records:
        if r.kind == SAMPLES:
            for b in r.blocks:
                for t, v in zip(b.t_ms, b.v, strict=True):
                    rows.setdefault(int(t), []).append(Block(b.channel, np.array([t]), np.array([v])))
        elif r.kind != RIG:
            drafts.append(Draft(r.kind, r.t_ms, r.t_ms, payload=r.payload))
    drafts += [Draft(SAMPLES, t, t, payload={"source": "test"}, blocks=tuple(blocks)) for t, blocks in rows.items()]
    drafts += [Draft(WARNING, w.time, w.learned, payload=w.payload()) for w in checked.warnings]
    return sorted(drafts, key=lambda d: d.learned_ms)


def finish(folder: Path, name: str, acts: tuple[Act, ...] = (), *, seed: int = 1, trainee: str = "T. Berg (invented)",
           target: str = "", late: tuple[Draft, ...] = (), done_ms: int = DONE_MS, sealed: bool = True) -> Path:
    """A finished drill in a folder. name: of a scenario; target: its table, in place of none."""
    text = practising.find(name).read_text(encoding="utf-8") + target
    folder.mkdir(parents=True)
    own = folder / "scenario-with-target.toml"
    own.write_text(text, encoding="utf-8")
    done = practising.run(own, seed, DEMO_RIG)
    own.unlink()
    practising.write(done, folder / "run")
    checked = checking.check(folder / "run" / "rig.toml", folder / "run" / "readings.csv", folder / "run" / "entries.csv")
    for path in (folder / "run").iterdir():
        path.unlink()
    (folder / "run").rmdir()
    with store.open(folder / "log.dipbook", "drill", station="drill") as log:
        log.append(drafts_of(checked, *late))
    session, scenario = done.session, done.scenario
    write_drill(folder, _finished(scenario, name, text, done.rig.text, seed, sealed, trainee, session, acts, done_ms))
    return folder


def _finished(scenario: Scenario, name: str, text: str, rig: str, seed: int, sealed: bool, trainee: str, session: object,
              acts: tuple[Act, ...], done_ms: int) -> FinishedDrill:
    return FinishedDrill(name, scenario.name, scenario.trains, text, rig, seed, sealed, trainee, "I. Voss (invented)",
                         "sensors", session.begin_ms, session.t_ms, done_ms, 60_000, "the trainee ended it",  # type: ignore[attr-defined]
                         session.kinds, tuple(session.truths), acts)  # type: ignore[attr-defined]


TARGET = '\n[target]\nwithin = "10 min"\nvolume = "5 bbl"\nset_by = "Company man (invented)"\nreason = "house rule"\n'
