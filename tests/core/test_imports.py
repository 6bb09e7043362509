"""Core knows no screen, and its rooms import only downward."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

CORE = Path(__file__).parents[2] / "core" / "dipbook"

FLOORS: tuple[tuple[str, ...], ...] = (
    ("debriefing", "drill_run"),
    ("channels", "checking", "importing", "practising", "reports", "tripping"),
    ("drill_folder",),
    ("long_log",),
    ("composing",),
    ("situation_of_warnings",),
    ("situation",),
    ("exchange", "store"),
    ("debrief",),
    ("drill", "weighing"),
    ("observations", "figures"),
    ("watch",),
    ("alarms",),
    ("gauges",),
    ("drifts",),
    ("hints", "stock", "flowback", "posting", "fronts"),
    ("targets",),
    ("kept_balance",),
    ("balance",),
    ("terms",),
    ("books",),
    ("limit_record", "pit_drills"),
    ("entries",),
    ("rig",),
    ("limits",),
    ("trips",),
    ("mud",),
    ("well",),
    ("pumps", "tubulars"),
    ("tanks",),
    ("drift",),
    ("series", "some_samples", "time_spans"),
    ("quantities",),
    ("invented",),
    ("records",),
    ("findings", "errors", "cautions", "parts"),
)
"""The rooms, top floor first. A room imports from lower floors only; a new room is given its floor here."""

FLOOR = {room: n for n, floor in enumerate(FLOORS) for room in floor}
NO_SCREEN = frozenset({"PySide6", "PySide2", "PyQt5", "PyQt6", "qtpy", "shiboken6", "pyqtgraph", "qtawesome", "dipbook_app"})
FILES = sorted(CORE.rglob("*.py"))


def room_of(path: Path) -> str:
    """The room that a file belongs to; "" for the package's own __init__."""
    parts = path.relative_to(CORE).with_suffix("").parts
    return "" if parts == ("__init__",) else parts[0]


def imports(source: str, package: tuple[str, ...] = ()) -> Iterator[str]:
    """Every module that a source imports, dotted and absolute, wherever in the file it does so.

    ``from dipbook import balance`` counts as dipbook.balance; ``package`` resolves relative imports.
    """
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else ()
            module = ".".join((*base, *((node.module,) if node.module else ())))
            yield from (f"{module}.{alias.name}" for alias in node.names)
        elif isinstance(node, ast.Call) and getattr(node.func, "attr", getattr(node.func, "id", "")) in (
                "import_module", "__import__") and node.args and isinstance(node.args[0], ast.Constant):
            yield str(node.args[0].value)


def of_file(path: Path) -> list[str]:
    package = ("dipbook", *path.relative_to(CORE).parent.parts)
    return list(imports(path.read_text(encoding="utf-8"), package))


def rooms_used(modules: list[str]) -> set[str]:
    """Rooms of core among imported modules; the package's own names (its version) are no room."""
    seconds = {module.split(".")[1] for module in modules if module.startswith("dipbook.")}
    return {second for second in seconds if (CORE / second).is_dir() or (CORE / f"{second}.py").is_file()}


@pytest.mark.parametrize("path", FILES, ids=[p.relative_to(CORE).as_posix() for p in FILES])
def test_a_file_of_core_imports_downward_and_no_screen(path: Path) -> None:
    modules = of_file(path)
    assert not {module.split(".")[0] for module in modules} & NO_SCREEN
    room = room_of(path)
    if not room:
        assert not rooms_used(modules), "the package's __init__ imports no room"
        return
    assert room in FLOOR, f"{room} has no floor: give it one in FLOORS"
    upward = sorted(used for used in rooms_used(modules) - {room} if FLOOR.get(used, -1) <= FLOOR[room])
    assert not upward, f"{room} imports {', '.join(upward)}, which is not below it"


def test_every_room_on_the_list_exists() -> None:
    there = {room_of(path) for path in FILES} - {""}
    assert set(FLOOR) == there


@pytest.mark.parametrize(("source", "found"), [
    ("import PySide6.QtCore", "PySide6.QtCore"),
    ("from dipbook import balance", "dipbook.balance"),
    ("from dipbook.balance import at", "dipbook.balance.at"),
    ("def f():\n    from dipbook.watch import step", "dipbook.watch.step"),
    ("from ..balance import at", "dipbook.balance.at"),
    ("from .. import balance", "dipbook.balance"),
    ("from importlib import import_module\nimport_module('dipbook.watch')", "dipbook.watch"),
])
def test_an_import_is_seen_however_it_is_written(source: str, found: str) -> None:
    assert found in list(imports(source, ("dipbook", "tanks")))
