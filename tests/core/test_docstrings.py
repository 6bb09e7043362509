"""Every function that a room of core offers says what it does and names each of its arguments."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

CORE = Path(__file__).parents[2] / "core" / "dipbook"
APP = CORE.parents[1] / "app" / "dipbook_app"
UNIT_ENDINGS = re.compile(r"_(m3_s|m3_m|kg_m3|m3|m2|m|s|ms|kg|si)$")
"""``level_m`` is named by "level" as well: the unit then stands in brackets."""

Function = ast.FunctionDef | ast.AsyncFunctionDef


def tree_of(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def imported(path: Path) -> Iterator[tuple[str, str]]:
    """What a file imports from dipbook: (module, name)."""
    for node in ast.walk(tree_of(path)):
        if isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] == "dipbook":
            yield from ((str(node.module), alias.name) for alias in node.names)


def dotted(path: Path) -> str:
    parts = path.relative_to(CORE.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def room_of(module: str) -> str:
    return ".".join(module.split(".")[:2])


def used_elsewhere() -> tuple[set[tuple[str, str]], set[str]]:
    """What one room or the app takes from another room: names of modules, and modules as a whole.

    What a room's __init__ hands on counts as taken.
    """
    modules = {dotted(path) for path in CORE.rglob("*.py")}
    names: set[tuple[str, str]] = set()
    wholes = {module for module in modules if module.count(".") == 1}
    for path in [*CORE.rglob("*.py"), *APP.rglob("*.py")]:
        here = dotted(path) if path.is_relative_to(CORE) else "app"
        for module, name in imported(path):
            if room_of(module) == room_of(here) and path.name != "__init__.py":
                continue
            if f"{module}.{name}" in modules:
                wholes.add(f"{module}.{name}")
            else:
                names.add((module, name))
    return names, wholes


def public_functions() -> Iterator[tuple[str, Function]]:
    """Functions, and methods of classes, that a room offers to others; those within a room are its own affair."""
    names, wholes = used_elsewhere()
    for path in sorted(CORE.rglob("*.py")):
        module = dotted(path)
        for node in tree_of(path).body:
            name = getattr(node, "name", "_")
            if name.startswith("_") or (module not in wholes and (module, name) not in names):
                continue
            if isinstance(node, Function):
                yield f"{module}.{name}", node
            elif isinstance(node, ast.ClassDef):
                for method in node.body:
                    if isinstance(method, Function) and not method.name.startswith("_"):
                        yield f"{module}.{name}.{method.name}", method


def is_overload(function: Function) -> bool:
    return any(getattr(d, "id", getattr(d, "attr", "")) == "overload" for d in function.decorator_list)


FUNCTIONS = [(name, function) for name, function in public_functions() if not is_overload(function)]


def arguments(function: Function) -> list[str]:
    """Names of a function's arguments, without self and cls."""
    a = function.args
    every = [*a.posonlyargs, *a.args, *([a.vararg] if a.vararg else []), *a.kwonlyargs, *([a.kwarg] if a.kwarg else [])]
    return [arg.arg for arg in every if arg.arg not in ("self", "cls")]


def names(docstring: str, argument: str) -> bool:
    """True if a docstring names an argument, with or without the unit at its end."""
    said = {argument, UNIT_ENDINGS.sub("", argument)}
    return any(re.search(rf"(?<![A-Za-z0-9_]){re.escape(word)}(?![A-Za-z0-9_])", docstring, re.IGNORECASE) for word in said)


@pytest.mark.parametrize("function", [f for _, f in FUNCTIONS], ids=[name for name, _ in FUNCTIONS])
def test_a_public_function_names_its_arguments_in_its_docstring(function: Function) -> None:
    docstring = ast.get_docstring(function)
    assert docstring, "it has no docstring"
    missing = [argument for argument in arguments(function) if not names(docstring, argument)]
    assert not missing, f"its docstring doesn't name {', '.join(missing)}"


def test_the_walk_finds_functions_and_a_missing_name() -> None:
    assert len(FUNCTIONS) > 50
    assert any(name == "dipbook.quantities.reading.read" for name, _ in FUNCTIONS)
    assert names("level_m: above the bottom [m]", "level_m")
    assert names("Volume at a level [m].", "level_m")
    assert not names("levels of the tank", "level_m")
    assert not names("what is written", "unit")
