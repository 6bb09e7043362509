"""The note beside the log that says when a desk last watched it: after a crash, nobody watched since then."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from dipbook.errors import StoreError
from dipbook.store.beside import read_json, write_json


@dataclass(frozen=True, slots=True)
class Alive:
    """at_ms: a desk watched then [UTC ms]. closed: it was closed by a person, not stopped."""

    at_ms: int
    closed: bool


def path_of(log: Path) -> Path:
    """Where the note of the log at ``log`` is."""
    return log.with_name(log.name + ".running.json")


def note(log: Path, now_ms: int, *, closed: bool = False) -> None:
    """Write that a desk watches ``log`` at ``now_ms`` [UTC ms]. Raises StoreError."""
    write_json(path_of(log), {"at_ms": now_ms, "closed": closed})


def read(log: Path) -> Alive | None:
    """The note of ``log``, None if there is none that can be read."""
    try:
        said = read_json(path_of(log))
    except StoreError:
        return None
    if not isinstance(said, dict) or not isinstance(said.get("at_ms"), int):
        return None
    return Alive(said["at_ms"], bool(said.get("closed")))
