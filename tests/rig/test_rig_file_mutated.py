"""Whatever happens to a rig file, the answer is a rig or a RigFileError, and every problem has its place."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from dipbook.errors import RigFileError
from dipbook.rig.document import RigDocument, parse, read, with_limits

DEMO = (Path(__file__).parents[2] / "demo_data" / "rig-larkspur.toml").read_text(encoding="utf-8")
EXTRA = ('\n[[limit]]\nname = "own"\nkind = "gain"\non = "active"\nautomatic = { c = 7.5, ceiling = "5 bbl" }\n'
         'set_by = "x"\nreason = "x"\nsince = "x"\n')
LINES = (DEMO + EXTRA).splitlines(keepends=True)

VALUES = st.one_of(
    st.sampled_from(['""', '"x"', "0", "-1", "1e308", "-0.0", "nan", "inf", "true", "[]", "{}", "[[1, 2]]", '[["1 in"]]',
                     "{ kind = 3 }", '"0 in"', '"1e9 ft"', '"5 bbl"', '"9 ft"', '"1/0 in"', '"-3 bbl"', '"12"', '"% in"',
                     "1979-05-27", "07:32:00", "1979-05-27 07:32:00", "0x" + "f" * 400, "'''a\nb'''", '"\\u0000"',
                     '"active"', '"gain"', '"drift"', '"strapping"', '"stack"', '"overdue"', '"99999999999999999999 d"']),
    st.text(max_size=12).map(lambda text: '"' + text.replace("\\", "").replace('"', "") + '"'),
    st.text(max_size=8),
)
EDITS = st.lists(st.tuples(st.sampled_from(["drop", "twice", "value", "cut", "swap", "key"]),
                           st.integers(0, len(LINES) - 1), VALUES), min_size=1, max_size=4)


def mutated(edits: list[tuple[str, int, str]]) -> str:
    lines = list(LINES)
    for how, n, value in edits:
        line = lines[n]
        if how == "drop":
            lines[n] = ""
        elif how == "twice":
            lines[n] = line * 2
        elif how == "cut":
            lines[n] = line[:len(line) // 2]
        elif how == "swap":
            lines[n], lines[n - 1] = lines[n - 1], line
        elif "=" in line:
            key, old = line.split("=", 1)
            lines[n] = f"{key}= {value}\n" if how == "value" else f"{key.strip()}x ={old}"
    return "".join(lines)


def answered(make: Callable[[], RigDocument]) -> tuple[RigDocument | None, tuple[str, ...]]:
    """The document or the problems; any other exception fails the test."""
    try:
        return make(), ()
    except RigFileError as error:
        return None, error.problems


@settings(max_examples=400, deadline=None)
@given(EDITS)
def test_a_damaged_file_is_a_rig_or_a_list_of_problems_with_their_lines(edits):
    text = mutated(edits)
    document, problems = answered(lambda: parse(text))
    if document is not None:
        assert document.text == text
        assert with_limits(text, document.rig.limits) == text
        return
    assert problems
    for problem in problems:
        line = re.match(r"rig\.toml, line (\d+)[,:]", problem)
        assert line is not None, problem
        assert 1 <= int(line[1]) <= text.count("\n") + 1, problem
        assert problem.isprintable()


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=200))
def test_any_text_at_all_is_answered(text):
    document, problems = answered(lambda: parse(text))
    assert document is None
    assert problems


@settings(max_examples=100, deadline=None)
@given(st.integers(0, len(DEMO.encode()) - 1), st.binary(max_size=4))
def test_bytes_put_anywhere_are_answered(tmp_path_factory, at, put):
    raw = DEMO.encode()
    path = tmp_path_factory.getbasetemp() / "mutated.toml"
    path.write_bytes(raw[:at] + put + raw[at + 1:])
    document, problems = answered(lambda: read(path))
    assert (document is None) == bool(problems)
