"""Small errors put into core's rooms one at a time: how many of them the rooms' own tests find.

    python tests/bench/mutants.py [--most N] [--seed S] [ROOM ...]          (all of ROOMS, 40 errors a room, seed 1)

Works on a copy of the checkout's commit, never on the checkout. Each error is one change of one place: a comparison turned, a
sign, a sum for a difference, a product for a quotient, and for or, a number that is one more, the smaller for the larger. Of a room
with more places a sample is drawn by the seed. An error that the tests find ends them; one that doesn't end in a minute counts as
found too. Before the first the room's tests run as they are, and must pass. Prints every error that wasn't found.
"""

from __future__ import annotations

import argparse
import ast
import copy
import os
import random
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

TOP = Path(__file__).resolve().parents[2]
ROOMS = {
    "quantities": ("tests/quantities",), "tanks": ("tests/tanks",), "alarms": ("tests/alarms", "tests/watch"),
    "trips": ("tests/trips",), "terms": ("tests/balance", "tests/published"), "balance": ("tests/balance", "tests/published"),
}
"""Room of core, or file -> the tests that concern it."""
LONGEST_S = 60
TURNED: dict[type[ast.AST], type[ast.AST]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq, ast.Add: ast.Sub,
    ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.And: ast.Or, ast.Or: ast.And, ast.Is: ast.IsNot, ast.IsNot: ast.Is}
OTHER = {"min": "max", "max": "min", "minimum": "maximum", "maximum": "minimum", "fmin": "fmax", "fmax": "fmin"}


def places(tree: ast.AST) -> Iterator[int]:
    """Numbers, in the order of a walk, of the nodes that can be changed. tree: of a module."""
    for n, node in enumerate(ast.walk(tree)):
        if changed(copy.copy(node)) is not None:
            yield n


def changed(node: ast.AST) -> str | None:
    """Change a node in place and say how; None where there is nothing to change."""
    if isinstance(node, ast.Compare) and len(node.ops) == 1 and type(node.ops[0]) in TURNED:
        return _turn(node, "ops", [TURNED[type(node.ops[0])]()])
    if isinstance(node, (ast.BinOp, ast.BoolOp, ast.AugAssign)) and type(node.op) in TURNED:
        if isinstance(node, ast.BinOp) and any(isinstance(x, (ast.Constant, ast.JoinedStr)) and not isinstance(
                getattr(x, "value", ""), (int, float)) for x in (node.left, node.right)):
            return None                                     # a text put together
        return _turn(node, "op", TURNED[type(node.op)]())
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        return _turn(node, "op", ast.UAdd())
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
        return _turn(node, "operand", ast.UnaryOp(ast.Not(), node.operand))
    if isinstance(node, ast.Constant) and type(node.value) in (int, float):
        return _turn(node, "value", node.value + 1)
    if isinstance(node, ast.Name) and node.id in OTHER:
        return _turn(node, "id", OTHER[node.id])
    if isinstance(node, ast.Attribute) and node.attr in OTHER:
        return _turn(node, "attr", OTHER[node.attr])
    return None


def _turn(node: ast.AST, field: str, value: object) -> str:
    before = getattr(node, field)
    setattr(node, field, value)

    def name(x: object) -> str:
        return name(x[0]) if isinstance(x, list) else type(x).__name__ if isinstance(x, ast.AST) else repr(x)
    return f"{name(before)} -> {name(value)}"


def with_error(source: str, place: int) -> tuple[str, str]:
    """(the source with one error, where and what). source: of a module. place: of ``places``."""
    tree = ast.parse(source)
    node = next(node for n, node in enumerate(ast.walk(tree)) if n == place)
    line = getattr(node, "lineno", 0)
    what = changed(node)
    return ast.unparse(tree), f"line {line}: {what}"


def found(copy_of: Path, tests: tuple[str, ...]) -> bool:
    """True if the tests fail, or don't end. copy_of: the checkout to run them in."""
    surroundings = os.environ | {"PYTHONDONTWRITEBYTECODE": "1", "QT_QPA_PLATFORM": "offscreen"}
    try:
        done = subprocess.run([sys.executable, "-m", "pytest", "-x", "-q", "-n0", "-p", "no:cacheprovider", *tests], cwd=copy_of,
                              env=surroundings, capture_output=True, timeout=LONGEST_S, check=False)
    except subprocess.TimeoutExpired:
        return True
    return done.returncode != 0


def main() -> int:
    """Try a sample of each room, and print the score."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--most", type=int, default=40)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("rooms", nargs="*", default=list(ROOMS))
    given = asked.parse_args()
    with tempfile.TemporaryDirectory() as temporary:
        place = Path(temporary) / "copy"
        subprocess.run(["git", "clone", "-q", str(TOP), str(place)], check=True)
        for room in given.rooms:
            base = place / "core" / "dipbook"
            files = sorted((base / room).rglob("*.py")) if (base / room).is_dir() else [base / f"{room}.py"]
            every = [(file, n) for file in files for n in places(ast.parse(file.read_text(encoding="utf-8")))]
            sample = random.Random(given.seed).sample(every, min(given.most, len(every)))
            if found(place, ROOMS[room]):
                raise SystemExit(f"{room}: its tests don't pass as they are")
            left = []
            for file, n in sample:
                source = file.read_text(encoding="utf-8")
                mutant, what = with_error(source, n)
                file.write_text(mutant, encoding="utf-8")
                if not found(place, ROOMS[room]):
                    left.append(f"    {file.relative_to(base)}, {what}")
                file.write_text(source, encoding="utf-8")
            sys.stdout.write(f"{room}: {len(sample) - len(left)} of {len(sample)} found, of {len(every)} places\n")
            sys.stdout.write("".join(f"{line}\n" for line in left))
            sys.stdout.flush()
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
