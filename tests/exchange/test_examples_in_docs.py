"""The examples of docs/files.md are read as a crew's files would be."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from builders import BBL, IN, two_box_rig
from dipbook.entries.kinds import KINDS
from dipbook.exchange import any_file, entries, readings, sheets, tables, times
from dipbook.exchange.mapping import MEANINGS
from dipbook.exchange.mapping_file import from_text
from dipbook.mud import NAMES, most_percent
from entries.tour_cases import FLOOR, tour_rig

PAGE = (Path(__file__).parents[2] / "docs" / "files.md").read_text(encoding="utf-8")
RIG = two_box_rig()
TOUR_RIG = tour_rig()


def example(name: str) -> bytes:
    found = re.findall(rf"<!-- example: {name} -->\n```(?:csv|toml)\n(.*?)```", PAGE, re.DOTALL)
    assert len(found) == 1
    return str(found[0]).encode("utf-8")


def test_the_readings_example_is_read() -> None:
    file = readings.parse(example("readings"), "readings.csv", RIG)
    assert file.ok, file.findings
    assert not file.findings
    found = {(s.tank, s.what): s for s in file.series}
    assert found["Suction", "level"].v == pytest.approx([60.25 * IN, 60.5 * IN, 60.75 * IN])
    start = times.parse("2026-03-01 02:00", RIG.zone)
    assert found["Suction", "level"].t_ms.tolist() == [start + m * 60_000 for m in (4, 33, 64)]
    assert found["Settling", "level"].v == pytest.approx([63.5 * IN] * 3)
    assert found["Reserve 1", "volume"].v == pytest.approx([212 * BBL] * 2)
    assert {e.kind for e in file.entries} == {"depth", "pumps", "activity"}


@pytest.mark.parametrize(("name", "mapping"), [("another form", "mapping"),
                                                ("one dip a row", "mapping of one dip a row")])
def test_the_examples_of_other_forms_are_read_by_their_mappings(name: str, mapping: str) -> None:
    assert not any_file.take(example(name), "r.csv", RIG).file.ok
    taken = any_file.take(example(name), "r.csv", RIG, from_text(example(mapping).decode("utf-8"), "m.toml"))
    assert taken.file.ok, taken.file.findings
    found = {(s.tank, s.what): s for s in taken.file.series}
    assert found["Suction", "level"].v == pytest.approx([1.505, 1.5125])
    assert found["Settling", "volume"].v[0] == pytest.approx(33.70)
    assert found["Suction", "level"].t_ms[0] == times.parse("2026-04-03 02:00", RIG.zone)


def test_the_page_tells_every_meaning_and_the_limits() -> None:
    for meaning in MEANINGS:
        assert f"`{meaning}`" in PAGE
    assert f"{sheets.MOST_CELLS:,} cells" in PAGE
    assert f"{sheets.MOST_BYTES // 1_000_000} MB" in PAGE
    assert f"{tables.LONGEST_LINE:,} characters" in PAGE
    assert any_file.LINES_KEPT == 10


def test_the_entries_example_is_read() -> None:
    file = entries.parse(example("entries"), "entries.csv", RIG)
    assert file.ok, file.findings
    assert not file.findings
    assert len(file.drafts) == 10
    corrected = next(d for d in file.drafts if d.uid == "t2")
    assert corrected.payload["volume_m3"] == pytest.approx(22 * BBL)


def test_the_example_of_a_tour_is_read() -> None:
    file = entries.parse(example("entries of a tour"), "entries.csv", TOUR_RIG)
    assert file.ok, file.findings
    assert {f.code for f in file.findings} == {"by_sticks"}, "a note on the dump's volume and nothing else"
    found = {d.kind: d.payload for d in file.drafts}
    assert list(found) == ["about to move mud", "valve", "slug", "flow check", "trap dump", "boat", "stick check"]
    assert found["about to move mud"]["state"] == "answered"
    assert found["flow check"]["readings_m3"] == [pytest.approx(0.4 * BBL), pytest.approx(0.2 * BBL), None]
    assert found["trap dump"]["volume_m3"] == pytest.approx(23.5 * IN * FLOOR)
    assert found["boat"]["volume_m3"] == pytest.approx(80 * IN * FLOOR)
    assert found["stick check"]["difference_m"] == pytest.approx(0.25 * IN)


def test_the_page_says_where_the_tables_of_salt_end() -> None:
    said = re.search(r"\((\d+) % by weight of sodium, (\d+) % of potassium, (\d+) % of\s+calcium chloride\)", PAGE)
    assert said is not None
    assert [float(each) for each in said.groups()] == [most_percent(salt) for salt in NAMES]
    assert all(f"`{salt}`" in PAGE for salt in NAMES)


def test_the_page_tells_every_kind_and_column() -> None:
    for kind in KINDS:
        assert f"| `{kind.name}` |" in PAGE
    for column in entries.COLUMNS:
        assert f"`{column}`" in PAGE


def test_the_times_of_the_page_mean_what_it_says() -> None:
    expected = times.parse("2026-03-01T08:15:00Z", None)
    for text in ("2026-03-01T02:15:00-06:00", "2026-03-01 02:15"):
        assert f"`{text}`" in PAGE
        assert times.parse(text, "Etc/GMT+6") == expected
