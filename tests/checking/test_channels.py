"""The table of each limit's value against it. Histories are invented."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest

from dipbook import channels, watch
from dipbook.exchange.times import rfc3339
from dipbook.observations import observe
from dipbook_app.cli import main
from drift.drifting_logs import AUTOMATIC, LIMIT, logged, noise, ramp, times
from ledgers import RIG, booked, dips, entry

GAIN = """
[[limit]]
name = "=gain"
kind = "gain"
on = "active"
activity = "drilling"
value = "5 bbl"
deadband = "1 bbl"
set_by = "A. Sample"
reason = "invented"
since = "2026-01-05"
[[limit]]
name = "low"
kind = "low"
on = "Suction"
value = "50 in"
deadband = "1 in"
set_by = "A. Sample"
reason = "invented"
since = "2026-01-05"
"""
DEMO = Path(__file__).parents[2] / "demo_data"


def rows(table: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(table.decode("utf-8"))))


def test_values_are_in_the_rigs_units_beside_the_limit_of_the_moment() -> None:
    books = booked(entry("activity", -5, activity="drilling"), dips(0, Settling=60, Suction=60), entry("zero", 0, length=0, reason="x"),
                   dips(30, Settling=60, Suction=61), entry("activity", 40, activity="circulating"), dips(60, Settling=60, Suction=40), rig=RIG + GAIN)
    found = rows(channels.table(books))
    inch = 240 / 12 * 1728 / 9702
    gain = [r for r in found if r["kind"] == "gain"]
    assert [r["limit"] for r in gain] == ["'=gain"] * 3         # no formula in a spreadsheet
    assert [float(r["value"]) for r in gain] == pytest.approx([0, inch, -20 * inch], abs=1e-3)
    assert [r["in force"] for r in gain] == ["yes", "yes", "no"]
    assert float(gain[1]["of the limit"]) == pytest.approx(inch / 5, abs=1e-3)
    low = [r for r in found if r["kind"] == "low"]
    assert [float(r["value"]) for r in low] == [60, 61, 40]
    assert [r["beyond"] for r in low] == ["no", "no", "yes"]
    assert {r["unit"] for r in low} == {"in"}
    assert {r["of the limit"] for r in low} == {""}


@pytest.mark.parametrize("limit", [LIMIT, AUTOMATIC])
def test_the_first_row_beyond_of_drift_is_the_warning(limit: str) -> None:
    t = times(2.2)
    books = logged(t, noise(t) + ramp(t, 120, 1.0), limit=limit)
    raised = next(w for w in watch.run(books.rig.limits, observe(books), 1)[1] if w.state == "raised")
    first = next(r for r in rows(channels.table(books)) if r["beyond"] == "yes")
    assert float(first["of the limit"]) >= 1.0
    assert float(first["value"]) >= float(first["limit value"])
    assert first["held against"].startswith("above the low at ")
    assert first["on"] == "rising"
    for r in rows(channels.table(books)):
        # What counts of the value, held against the limit of the moment: the table says the same of both its sides.
        assert abs(float(r["counts"])) / float(r["limit value"]) == pytest.approx(float(r["of the limit"]), rel=1e-3, abs=2e-4)
        assert abs(float(r["counts"])) <= abs(float(r["value"])) + 1e-4
        assert not any(cell.startswith("-0.0") and float(cell) == 0 for cell in (r["value"], r["counts"], r["of the limit"]))
        assert r["rig time"][17:19] == r["time"][17:19], "to the second"
    assert first["time"] == rfc3339(raised.evidence["t"])


def test_check_writes_the_table_beside_its_lines(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "channels.csv"
    arguments = [*map(str, (DEMO / "rig-larkspur.toml", DEMO / "larkspur-readings.csv")), "--entries",
                 str(DEMO / "larkspur-entries.csv")]
    assert main(["check", *arguments, "--channels", str(out)]) == 1
    said = capsys.readouterr().out
    found = rows(out.read_bytes())
    assert "RAISED  gain: Gain 20.3 bbl" in said
    beyond = next(r for r in found if r["limit"] == "gain" and r["beyond"] == "yes")
    assert float(beyond["value"]) == pytest.approx(20.3, abs=0.05)
    assert beyond["rig time"].startswith("2026-01-06 01:00")
    assert main(["check", *arguments, "--channels", str(tmp_path / "no" / "out.csv")]) == 2
    assert "can't be read or written" in capsys.readouterr().err
