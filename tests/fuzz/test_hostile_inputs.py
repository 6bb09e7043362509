"""Hostile files and fields, a few hundred here and 100,000 as a soak: no traceback, none stands still, no part of a file
is taken for the whole.

    python -m pytest -n0 -s -m slow tests/fuzz
"""

from __future__ import annotations

import shutil
import sys
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, seed, settings
from hypothesis import strategies as st

from dipbook import store
from fuzz import hostile
from store.drafts_for_logs import as_plain

PART = 2_500
"""Inputs of one run of hypothesis: it remembers each."""


def of_readings(tmp: Path) -> tuple[st.SearchStrategy[Any], Callable[[Any], str]]:
    def answer(data: bytes) -> str:
        taken = hostile.import_is_whole_or_refused(data, "readings")
        return ("taken" if taken else "not taken") + (", also by the reader of long files" if hostile.both_readers_agree(data) else "")
    return hostile.tables_of(hostile.READINGS_HEAD) | hostile.nearly_good(hostile.GOOD_READINGS), answer


def of_long_readings(tmp: Path) -> tuple[st.SearchStrategy[Any], Callable[[Any], str]]:
    """Plain but for a cell now and then: what the reader of long files is for."""
    cell = st.one_of(st.integers(0, 108).map(str), st.decimals(0, 108, places=2).map(str), hostile.ODD.filter(lambda c: len(c) < 5))
    row = st.tuples(st.integers(0, 86_399), st.tuples(cell, cell) | st.tuples(st.just("60"), st.just("61.25")))
    stamp = st.sampled_from(["T{:02}:{:02}:{:02}Z", " {:02}:{:02}:{:02}", "T{:02}:{:02}:{:02}-06:00", "T{:02}:{:02}:{:02}.250Z"])

    def text(form: str, day: int, rows: list[tuple[int, tuple[str, str]]]) -> bytes:
        return ("time,Suction [in],Settling [bbl]\n" + "".join(
            f"2026-03-{day:02}{form.format(s // 3600, s // 60 % 60, s % 60)},{a},{b}\n" for s, (a, b) in rows)).encode()

    def answer(data: bytes) -> str:
        return "read" if hostile.both_readers_agree(data) else "left to the careful one"
    return st.builds(text, stamp, st.integers(1, 32), st.lists(row, min_size=1, max_size=4)), answer


def of_entries(tmp: Path) -> tuple[st.SearchStrategy[Any], Callable[[Any], str]]:
    return (hostile.tables_of(hostile.ENTRIES_HEAD) | hostile.nearly_good(hostile.GOOD_ENTRIES),
            lambda data: "taken" if hostile.import_is_whole_or_refused(data, "entries") else "not taken")


def of_workbooks(tmp: Path) -> tuple[st.SearchStrategy[Any], Callable[[Any], str]]:
    return hostile.workbooks(), lambda data: "taken" if hostile.import_is_whole_or_refused(data, "readings") else "not taken"


def of_rigs(tmp: Path) -> tuple[st.SearchStrategy[Any], Callable[[Any], str]]:
    return hostile.HITS, lambda hits: (
        "a rig" if hostile.rig_is_read_or_refused(hostile.hit(hostile.DEMO, hits), tmp / "rig.toml") else "refused")


def of_fields(tmp: Path) -> tuple[st.SearchStrategy[Any], Callable[[Any], str]]:
    return (st.tuples(hostile.CELL, st.sampled_from(".,")),
            lambda typed: "read" if hostile.field_is_read_or_refused(*typed) else "refused")


def of_logs(tmp: Path) -> tuple[st.SearchStrategy[Any], Callable[[Any], str]]:
    folder = tmp / "logs"
    folder.mkdir()
    shutil.copy(tmp / "whole.dipbook", folder / "whole.dipbook")
    with store.open(folder / "whole.dipbook", write=False) as log:
        whole = [as_plain(r) for r in log.records()]
    return hostile.HITS, lambda hits: hostile.log_is_told_apart(hostile.hit(hostile.FROZEN, hits), folder, whole)


INPUTS = {"readings": (of_readings, 30_000), "long readings": (of_long_readings, 10_000), "entries": (of_entries, 25_000),
          "workbooks": (of_workbooks, 2_500), "rig files": (of_rigs, 5_000), "a level's field": (of_fields, 25_000),
          "logs": (of_logs, 2_500)}
"""What -> how it is made and answered, how many of it the soak takes."""


def run(what: str, tmp: Path, count: int, part: int) -> Counter[str]:
    made, answers = INPUTS[what][0](tmp), Counter[str]()

    @seed(part)
    @settings(max_examples=count, deadline=None, database=None, suppress_health_check=list(HealthCheck))
    @given(made[0])
    def one(given_: Any) -> None:
        answers[made[1](given_)] += 1
    one()
    return answers


@pytest.fixture
def tmp(tmp_path: Path) -> Path:
    (tmp_path / "whole.dipbook").write_bytes(hostile.FROZEN)
    return tmp_path


@pytest.mark.parametrize("what", INPUTS)
def test_some_hostile_inputs_are_answered(what: str, tmp: Path) -> None:
    run(what, tmp, 25 if what in ("rig files", "logs") else 60, 0)


def test_the_soak_is_of_a_hundred_thousand() -> None:
    assert sum(count for _, count in INPUTS.values()) == 100_000


@pytest.mark.slow
@pytest.mark.parametrize("what", INPUTS)
def test_a_hundred_thousand_hostile_inputs_are_answered(what: str, tmp: Path) -> None:
    """Both kinds of answer have to come, or the inputs are not near enough to what they imitate, or too near."""
    answers, count = Counter[str](), INPUTS[what][1]
    for part in range(count // PART):
        (tmp / f"{part}").mkdir()
        shutil.copy(tmp / "whole.dipbook", tmp / f"{part}")
        answers += run(what, tmp / f"{part}", PART, part)
    sys.stdout.write(f"\n{what}: {dict(answers.most_common())}\n")
    assert sum(answers.values()) >= count
    assert len(answers) > 1
    assert all(n > count / 200 for n in answers.values())
