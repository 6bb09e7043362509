"""Drills for tests: scenarios as text, run on the demo rig or on small ones. Everything here is invented."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from dipbook import checking, practising
from dipbook.drill import Scenario, Session, set_up
from dipbook.drill.scenario_file import parse
from dipbook.rig import document
from dipbook.rig.model import Rig

RIG = Path(__file__).parents[2] / "demo_data" / "rig-larkspur.toml"
MINUTE = 60_000
HOUR = 60 * MINUTE


@cache
def demo_rig() -> Rig:
    return document.read(RIG).rig


def scenario(body: str, *, start: str = "", rig: Rig | None = None) -> Scenario:
    """A scenario with the tables in ``body``, on bottom at 9000 ft with the pumps at 800 gal/min unless ``start`` says."""
    begin = start or 'hole_depth = "9000 ft"\nabove = "60 ft"\nmud = "10 lbm/gal[US]"\nflow = "800 gal[US]/min"'
    found = parse(f'name = "test"\ntrains = "nothing: a test"\ninvented = true\n[start]\n{begin}\n{body}', "test.toml",
                  rig or demo_rig())
    assert found.scenario is not None, [f"{f.where}: {f.what}" for f in found.findings]
    return found.scenario


def session(body: str, *, start: str = "", seed: int = 1, rig: Rig | None = None, step_ms: int = 5000) -> Session:
    return set_up(scenario(body, start=start, rig=rig), seed, rig or demo_rig(), step_ms=step_ms)


def run(body: str, **other: object) -> Session:
    """A drill run to its end."""
    begun = session(body, **other)  # type: ignore[arg-type]
    begun.advance(practising.MOST_MS, to_the_end=True)
    assert not begun.ended, begun.ended
    return begun


def checked(done: Session, folder: Path, body: str = "") -> checking.Checked:
    """What the watch makes of a drill's files."""
    practising.write(practising.Done(scenario(body) if body else Scenario("", "", "", *([None] * 4)),  # type: ignore[list-item]
                                     1, document.read(RIG), done), folder)
    return checking.check(folder / "rig.toml", folder / "readings.csv", folder / "entries.csv")
