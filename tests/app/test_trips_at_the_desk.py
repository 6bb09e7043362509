"""A trip on a real log: begun, logged row by row, warned of, corrected, ended; and after a restart. Invented."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from real_desks import Bench, Hands, bench, make_log, rig_text

from dipbook.entries.kinds import BY_NAME
from dipbook.errors import StoreError
from dipbook.findings import Finding
from dipbook.records import TRIP_ROW
from dipbook_app.forms.prefill import prefilled

BBL = 0.158987294928
INCH = 30 * 8 / 12 / 5.614583333   # bbl an inch
DRY = 93 * 0.00759
TRIP = """
[[tank]]
name = "Trip"
role = "trip"
active = false
order = 4
gauge = "up"
dip_error = "1/4 in"
brim = "9 ft"
[tank.shape]
kind = "box"
length = "30 ft"
width = "8 ft"
height = "9 ft"
[pipe]
steel = "0.00759 bbl/ft"
bore = "0.01776 bbl/ft"
stand = "93 ft"
float = "closed"
"""
LAST = """
[[limit]]
name = "last stands"
kind = "trip_last_n"
on = "active"
activity = "tripping"
value = "1.2 bbl"
deadband = "0.5 bbl"
growth = "1 bbl"
after = "1 reading"
set_by = "Test"
reason = "test value"
since = "2026-03-01"
"""


@pytest.fixture
def tripping(tmp_path: Path, qapp: object) -> Iterator[Bench]:
    with bench(make_log(tmp_path / "log.dipbook", rig_text(TRIP, LAST)), Hands()) as b:
        b.hands.pass_(1)
        b.round()
        assert b.log("trip", direction="out", bit_depth="9000", pulled="dry", number="3") == ()
        yield b


def errors(found: tuple[Finding, ...]) -> list[tuple[str, str]]:
    return [(f.column, f.what) for f in found if f.severity == "error"]


def stands(b: Bench, count: int, taken: float, at: float = 90.0) -> None:
    """A reading, then so many stands, each taking so many bbl."""
    b.hands.pass_(1)
    assert errors(b.desk.save_trip_row("fill", {}, {"Trip": f"{at}"}, author="R. Moe")) == []
    for n in range(1, count + 1):
        b.hands.pass_(5)
        typed = {"stand": str(n), "bit depth": f"{9000 - 93 * n}"}
        assert errors(b.desk.save_trip_row("stand", typed, {"Trip": f"{at - n * taken / INCH:.4f}"}, author="R. Moe")) == []


def test_a_trip_row_by_row(tripping: Bench) -> None:
    stands(tripping, 3, DRY)
    trip = tripping.situation.trip
    assert trip is not None
    assert (trip.title, len(trip.rows), trip.next_stand) == ("Trip 3, out of the hole, dry", 4, 4)
    assert trip.total_m3 / BBL == pytest.approx(0.0, abs=1e-3)
    assert tripping.situation.watched == "Trip"
    assert tripping.situation.bit_depth_m == pytest.approx((9000 - 3 * 93) * 0.3048)
    assert "Saved: stand at" in tripping.said[-1]
    record = tripping.last_of(TRIP_ROW)
    assert (record.author, record.payload["typed"]) == ("R. Moe", {"stand": "3", "bit depth": "8721 ft"})


def test_a_hole_that_takes_less_warns_at_once_and_after_a_restart(tripping: Bench) -> None:
    stands(tripping, 4, DRY - 0.31)
    assert tripping.states() == {"last stands": "raised"}
    (warning,) = tripping.warnings
    assert warning.text.startswith("Trip, last stands: the hole took less (or gave back more) than it should, 1.2 bbl, a sign of swab or influx, limit 1.2 bbl")
    assert warning.sounding
    tripping.desk.acknowledge(warning.occurrence)
    assert tripping.journal() == [("last stands", "ACT", "raised"), ("last stands", "ACK", "acknowledged")]
    tripping.desk.close()
    with bench(tripping.path, tripping.hands) as again:
        assert again.states() == {"last stands": "acknowledged"}
        assert again.situation.trip is not None
        assert again.situation.trip.holds[0].decided == ""
        assert again.journal() == [("last stands", "ACT", "raised"), ("last stands", "ACK", "acknowledged")]


def test_rows_that_can_t_be_stored_warn_too_and_are_no_rows_of_the_trip(tripping: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    stands(tripping, 1, DRY - 0.31)

    def full(_: object) -> None:
        raise StoreError("The disk is full.")

    with monkeypatch.context() as m:
        m.setattr(tripping.desk.store, "append", full)
        for n in (2, 3, 4):
            tripping.hands.pass_(5)
            found = tripping.desk.save_trip_row("stand", {"stand": f"{n}", "bit depth": f"{9000 - 93 * n}"},
                                                {"Trip": f"{90 - n * (DRY - 0.31) / INCH:.4f}"}, author="R. Moe")
            assert [f.code for f in found if f.severity == "error"] == ["store"]
        (w,) = tripping.warnings
        assert (w.name, w.state, w.sounding, w.in_log) == ("last stands", "raised", True, False)
        assert tripping.situation.trip is not None
        assert len(tripping.situation.trip.rows) == 2


def test_the_preview_stores_nothing_and_says_what_the_row_will(tripping: Bench) -> None:
    stands(tripping, 2, DRY)
    tripping.hands.pass_(5)
    before = len(tripping.situation.records)
    typed, levels = {"stand": "3", "bit depth": "8721"}, {"Trip": f"{90 - (2 * DRY + 0.5) / INCH:.4f}"}
    row, found = tripping.desk.trip_preview("stand", typed, levels)
    assert errors(found) == []
    assert row is not None
    assert (row.actual_m3 / BBL, row.difference_m3 / BBL) == pytest.approx((0.5, DRY - 0.5), abs=1e-3)
    assert len(tripping.situation.records) == before
    tripping.desk.save_trip_row("stand", typed, levels)
    assert tripping.situation.trip is not None
    assert tripping.situation.trip.rows[-1].cumulative_m3 == pytest.approx(row.cumulative_m3)


@pytest.mark.parametrize(("what", "typed", "levels", "column", "words"), [
    ("stand", {"stand": "one", "bit depth": "8907"}, {"Trip": "89"}, "stand", "isn't the number of a stand"),
    ("stand", {"stand": "1", "bit depth": "8907 bbl"}, {"Trip": "89"}, "bit depth", "bbl is a volume"),
    ("stand", {"stand": "1", "bit depth": "8907"}, {"Trip": "890"}, "Trip", "More than the tank can hold"),
    ("stand", {"stand": "1"}, {}, "level", "this says nothing yet"),
    ("stand", {"bit depth": "8907", "from": "Reserve 1"}, {"Trip": "89"}, "from", "leave it out"),
    ("stand", {"bit depth": "8907", "strokes": "-3"}, {"Trip": "89"}, "strokes", "isn't a count of strokes"),
    ("refill", {}, {"Trip": "95"}, "from", "say which tank"),
    ("refill", {"from": "Reserve 9"}, {"Trip": "95"}, "from", "there is no tank"),
    ("refill", {"from": "Trip"}, {"Trip": "95"}, "from", "from itself"),
    ("refill", {"from": "Reserve 1"}, {}, "level", "level after it was filled or emptied"),
    ("refill", {"from": "Reserve 1"}, {"Trip": f"{90 - DRY / INCH:.4f}"}, "Trip", "nothing more was moved"),
    ("lift", {}, {"Trip": "80"}, "kind", "is no kind of row")])
def test_what_cant_be_is_refused_at_its_field_and_nothing_is_stored(
        tripping: Bench, what: str, typed: dict[str, str], levels: dict[str, str], column: str, words: str) -> None:
    stands(tripping, 1, DRY)
    before = len(tripping.situation.records)
    tripping.hands.pass_(1)
    (at, said), *_ = errors(tripping.desk.save_trip_row(what, typed, levels))
    assert at == column
    assert words in said
    assert len(tripping.situation.records) == before


def test_a_refill_moves_mud_from_its_tank(tripping: Bench) -> None:
    """5 in of 3.562 bbl: 17.8 bbl out of Reserve 1, and the sheet goes on from the new level."""
    stands(tripping, 2, DRY)
    level = 90 - 2 * DRY / INCH
    tripping.hands.pass_(1)
    assert errors(tripping.desk.save_trip_row("refill", {"from": "reserve 1"}, {"Trip": f"{level + 5:.4f}"})) == []
    reserve = next(t for t in tripping.situation.tanks if t.name == "Reserve 1")
    assert reserve.booked_m3 / BBL == pytest.approx(-5 * INCH, rel=1e-3)
    tripping.hands.pass_(5)
    tripping.desk.save_trip_row("stand", {"stand": "3", "bit depth": "8721"}, {"Trip": f"{level + 5 - DRY / INCH:.4f}"})
    assert tripping.situation.trip is not None
    assert tripping.situation.trip.total_m3 / BBL == pytest.approx(0.0, abs=1e-3)
    assert tripping.warnings == ()


def test_a_trip_tank_that_is_emptied_gives_to_the_other_tank(tripping: Bench) -> None:
    stands(tripping, 2, DRY)
    tripping.hands.pass_(1)
    level = 90 - 2 * DRY / INCH
    found = tripping.desk.save_trip_row("refill", {"from": "Reserve 1"}, {"Trip": f"{level - 5:.4f}"})
    assert errors(found) == []
    assert "it is booked as emptied to Reserve 1" in next(f.what for f in found if f.code == "emptied")
    reserve = next(t for t in tripping.situation.tanks if t.name == "Reserve 1")
    assert reserve.booked_m3 / BBL == pytest.approx(5 * INCH, rel=1e-3)
    assert tripping.situation.trip is not None
    assert tripping.situation.trip.total_m3 / BBL == pytest.approx(0.0, abs=1e-3)


def test_a_row_is_corrected_with_a_reason_and_its_warning_returns(tripping: Bench) -> None:
    stands(tripping, 3, DRY)
    level = 90 - 3 * DRY / INCH
    tripping.hands.pass_(5)
    tripping.desk.save_trip_row("stand", {"stand": "4", "bit depth": "8628"}, {"Trip": f"{level + 0.3:.4f}"})
    assert tripping.states() == {"last stands": "raised"}
    uid, t = tripping.last_of(TRIP_ROW).uid, tripping.last_of(TRIP_ROW).t_ms
    right = {"Trip": f"{level - DRY / INCH:.4f}"}
    assert errors(tripping.desk.save_trip_row("stand", {"stand": "4", "bit depth": "8628"}, right, t_ms=t, supersedes=uid)) == [
        ("reason", "say why the row is corrected")]
    assert errors(tripping.desk.save_trip_row("stand", {"stand": "4", "bit depth": "8628"}, right, t_ms=t, supersedes=uid,
                                              reason="misread")) == []
    assert tripping.states() == {"last stands": "over"}
    assert tripping.situation.trip is not None
    assert (len(tripping.situation.trip.rows), tripping.situation.trip.rows[-1].corrects) == (5, True)
    assert errors(tripping.desk.save_trip_row("stand", {"stand": "4"}, right, t_ms=t, supersedes=uid, reason="again"))[0][1].startswith(
        "This was corrected or struck out meanwhile")


def test_a_row_struck_out_is_gone_from_the_sheet(tripping: Bench) -> None:
    stands(tripping, 3, DRY)
    tripping.hands.pass_(5)
    tripping.desk.save_trip_row("stand", {"stand": "4", "bit depth": "8628"}, {"Trip": f"{90 - (4 * DRY - 1.3) / INCH:.4f}"})
    assert tripping.states() == {"last stands": "raised"}
    found = tripping.desk.void(tripping.last_of(TRIP_ROW).uid, author="R. Moe", reason="wrong trip")
    assert errors(found) == []
    assert tripping.states() == {"last stands": "over"}
    assert tripping.situation.trip is not None
    assert len(tripping.situation.trip.rows) == 4


def test_no_row_without_a_trip_nor_in_the_future(tripping: Bench) -> None:
    assert tripping.log("trip end") == ()
    tripping.hands.pass_(2)
    assert errors(tripping.desk.save_trip_row("stand", {"bit depth": "8907"}, {"Trip": "89"}))[0][1] == "No trip is under way: begin one first."
    ahead = tripping.hands.ms + 3_600_000
    assert errors(tripping.desk.save_trip_row("stand", {"bit depth": "8907"}, {"Trip": "89"}, t_ms=ahead))[0][0] == "time"


def test_the_trip_ends_and_stays_to_be_seen(tripping: Bench) -> None:
    stands(tripping, 2, DRY)
    tripping.hands.pass_(1)
    assert tripping.log("trip end", signed="R. Moe") == ()
    assert tripping.situation.trip is not None
    assert tripping.situation.trip.ended_ms is not None
    assert tripping.situation.watched == "active"


def test_with_the_bit_on_bottom_nothing_runs_in_deeper(tripping: Bench) -> None:
    assert tripping.log("trip end") == ()
    tripping.hands.pass_(1)
    assert tripping.log("depth", hole_depth="9000", bit_depth="9000") == ()
    tripping.hands.pass_(1)
    (refused,) = tripping.log("trip", direction="in", bit_depth="9000", float="closed")
    assert (refused.column, refused.what.split(":")[0]) == ("direction", "by the log the bit is on bottom there")
    assert tripping.log("trip", direction="in", bit_depth="8000", float="closed") == ()


def test_the_form_of_a_trip_begins_with_the_bit_where_the_log_has_it(tripping: Bench) -> None:
    filled = prefilled(BY_NAME["trip"], tripping.situation)
    assert filled == {"trip tank": "Trip", "bit depth": "9000.0 ft"}


def test_a_bare_level_takes_the_unit_of_the_screen(tripping: Bench) -> None:
    tripping.desk.set_units({"level": ("cm", 1), "volume": ("m3", 2), "length": ("m", 1)})
    tripping.hands.pass_(1)
    assert errors(tripping.desk.save_trip_row("fill", {"bit depth": "2743.2"}, {"Trip": "228.6"})) == []
    record = tripping.last_of(TRIP_ROW)
    assert record.dips[0].level_m == pytest.approx(2.286)
    assert record.payload["bit_depth_m"] == pytest.approx(2743.2)
    assert record.payload["typed"]["bit depth"] == "2743.2 m"
