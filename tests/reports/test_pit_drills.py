"""A pit drill on the rig, marked in the log: told beside every warning and changing none, and its record. Invented."""

from __future__ import annotations

import csv
import io
from dataclasses import replace

import pytest

from dipbook import composing, reports, watch
from dipbook.books import Books, build
from dipbook.checking import units_of
from dipbook.debrief.pit_drill_record import of_log
from dipbook.observations import observe
from dipbook.pit_drills import doubts, not_proved, pit_drills, under_way
from dipbook.records import WARNING, Draft, numbered
from dipbook.reports.drill_record import csv_of_record, mark_of
from dipbook.reports.tables_of_drills import pit_drills as table_of
from dipbook.situation import WarningView
from ledgers import BBL, IN, MIN, RIG, dips, entry, rig_draft

LIMIT = '''
[[limit]]
name = "gain"
kind = "gain"
on = "active"
value = "5 bbl"
deadband = "2 bbl"
set_by = "A. Sample"
reason = "invented"
since = "2026-01-01"
[[limit]]
name = "Suction high"
kind = "high"
on = "Suction"
value = "8 ft"
deadband = "3 in"
set_by = "A. Sample"
reason = "invented"
since = "2026-01-01"
'''
ROUNDS = [dips(0, Settling=40, Suction=40), entry("zero", 1, length=0, reason="start"),
          entry("depth", 2, hole_depth_m=2800.0, bit_depth_m=2790.0), entry("activity", 3, activity="drilling"),
          dips(30, Settling=40, Suction=40), dips(60, Settling=40, Suction=42), dips(90, Settling=40, Suction=40)]
BEGINS = entry("pit drill", 50, consent="T. Pusher", tank="Suction", raised_m=2 * IN, run_by="R. Moe", announced="no",
               within_s=300.0, set_by="T. Pusher", remark="weekly")
STEPS = [entry("pit drill step", 52, step="recognised", who="D. Hand"),
         entry("pit drill step", 53, step="driller told", who="D. Hand"),
         entry("pit drill step", 56, step="pumps off", who="D. Driller"),
         entry("pit drill step", 57, step="flow check", who="D. Driller"),
         entry("pit drill step", 59, step="ready to close", who="D. Driller")]
ENDS = entry("pit drill end", 70, state="ended", ended_by="T. Pusher")
PROVED = entry("float proved", 80, tank="Suction", stick_m=40 * IN, sensor_m=40 * IN, difference_m=0.0, proved_by="D. Hand")


def books_of(*more: Draft) -> Books:
    """The books with the journal that the watch wrote, each reading learned at its time."""
    drafts = [rig_draft(RIG + LIMIT, -1), *ROUNDS, *more]
    books = build(numbered(sorted(drafts, key=lambda d: d.learned_ms)))
    evidence, memory = observe(books), watch.start(books.rig.limits, 1)
    said = []
    for n, t in enumerate(evidence.t_ms.tolist()):
        memory, out = watch.step(memory, watch.Learned(n, t, evidence.rows(n, n + 1)))
        said += [Draft(WARNING, w.time, w.learned, payload={**w.payload(), "text": watch.words(w, units_of(books.rig), ".")})
                 for w in out]
    return build(numbered(sorted([*drafts, *said], key=lambda d: d.learned_ms)))


@pytest.fixture(scope="module")
def whole() -> Books:
    return books_of(BEGINS, *STEPS, ENDS, PROVED)


def test_a_drill_is_what_was_logged_of_it(whole: Books) -> None:
    (drill,) = pit_drills(whole.eff.records)
    assert (drill.begun_ms, drill.ended_ms, drill.tank, drill.raised_m) == (50 * MIN, 70 * MIN, "Suction", 2 * IN)
    assert (drill.consent, drill.run_by, drill.announced, drill.within_ms) == ("T. Pusher", "R. Moe", False, 300_000)
    assert [s.step for s in drill.steps] == ["recognised", "driller told", "pumps off", "flow check", "ready to close"]
    assert drill.proved is not None
    drills = (drill,)
    assert [len(under_way(drills, m * MIN)) for m in (49, 50, 69, 70)] == [0, 1, 1, 0]
    assert [len(not_proved(drills, m * MIN)) for m in (69, 70, 79, 80)] == [0, 1, 1, 0]


def test_warnings_are_the_very_same_with_a_drill_marked_and_without(whole: Books) -> None:
    def journal(books: Books) -> list[object]:
        return [(r.t_ms, r.learned_ms, {k: v for k, v in r.payload.items() if k != "seq"}) for r in books.records if r.kind == WARNING]

    assert journal(whole) == journal(books_of())
    assert len(journal(whole)) == 2        # raised by the raised float, and over once it is back
    one, other = (composing.picture(composing.seen(b), 60 * MIN) for b in (whole, books_of()))
    assert one.difference_m3 == other.difference_m3
    assert one.limits_in_force == other.limits_in_force


def test_it_is_told_beside_the_warning_on_its_tank_and_among_what_is_doubted(whole: Books) -> None:
    raised = _view("gain", "active", "")
    on_suction, on_settling = _view("high", "", "Suction"), _view("high", "", "Settling")
    s = composing.picture(composing.seen(whole), 60 * MIN, warnings=(raised, on_suction, on_settling))
    assert s.doubts[0].text.startswith("A pit drill is under way since 18:50: the float of Suction is raised by 2 in")
    assert "No warning is changed by it" in s.doubts[0].text
    assert [bool(w.doubts) for w in s.warnings] == [True, True, False]
    assert s.warnings[0].doubts[0].brief == "pit drill under way since 18:50"
    assert [(w.state, w.value, w.sounding, w.actions) for w in s.warnings] == [
        (w.state, w.value, w.sounding, w.actions) for w in (raised, on_suction, on_settling)]
    assert next(t for t in s.tanks if t.name == "Suction").doubts
    assert not next(t for t in s.tanks if t.name == "Settling").doubts
    after = composing.picture(composing.seen(whole), 75 * MIN)
    assert after.doubts[0].brief == "float not proved back"
    assert "may still read 2 in high" in after.doubts[0].text
    assert not [d for d in composing.picture(composing.seen(whole), 80 * MIN).doubts if d.kind == "pit drill"]
    assert not [d for d in composing.picture(composing.seen(whole), 49 * MIN).doubts if d.kind == "pit drill"]


def _view(kind: str, system: str, tank: str):
    return WarningView("o", kind, kind, system, tank, "raised", True, 60 * MIN, 60 * MIN, 1.0, 1.0, 0.8, "volume", "x", ("acknowledge",))


def test_its_record_has_what_was_noted_and_nothing_else(whole: Books) -> None:
    (record,) = of_log(whole)
    (signal,) = record.signals
    after = {m.key: (None if m.after_ms is None else m.after_ms / MIN, m.who) for m in signal.moments}
    assert after == {"t0": (0.0, ""), "t1": (2.0, "D. Hand"), "t2": (3.0, "D. Hand"), "t3": (6.0, "D. Driller"),
                     "t4": (9.0, "D. Driller"), "t5": (None, "")}
    assert signal.volume_m3 == pytest.approx(30 * 8 / 12 * 2 / 5.614583 * BBL, rel=1e-5)     # 30 × 8 ft by 2 in
    assert signal.warned_ms == 60 * MIN
    assert signal.in_time is False                                       # the flow check after 7 min, against 5
    assert (record.operation, record.bit_m, record.announced, record.consent) == ("drilling", 2790.0, False, "T. Pusher")
    assert record.crew == "D. Hand, D. Driller"
    assert record.proved == "by D. Hand: stick 40 in, sensor 40 in, the same"
    assert mark_of(record) == "DRILL: a pit drill on the rig, not a well-control event. Invented data: no real rig, well or crew"
    (row,) = csv.DictReader(io.StringIO(csv_of_record([record]).decode()))
    assert (row["mark"], row["what"], row["consent"], row["signal tank"]) == ("DRILL", "pit drill on the rig", "T. Pusher", "Suction")
    assert float(row["float raised [m]"]) == pytest.approx(2 * IN, abs=1e-6)
    assert (row["t5 (UTC)"], row["false calls"]) == ("", "")     # nobody noted the one, nobody counts the other


def test_one_that_is_called_off_says_why_and_one_that_goes_on_says_so() -> None:
    off = entry("pit drill end", 58, state="called off", ended_by="D. Driller", remark="returns rose")
    (called,) = of_log(books_of(BEGINS, STEPS[0], off))
    assert called.called_off == "returns rose"
    assert called.signals[0].outcome == "called off: returns rose"
    assert called.proved == ""
    (going,) = of_log(books_of(BEGINS))
    assert (going.ended_ms, going.signals[0].outcome, going.signals[0].in_time) == (None, "under way", None)
    (quiet,) = of_log(books_of(replace(BEGINS, payload={k: v for k, v in BEGINS.payload.items() if k not in ("within_s", "set_by")}), ENDS))
    assert (quiet.within_ms, quiet.signals[0].in_time) == (None, None)
    assert quiet.signals[0].outcome == "no flow check and no shut-in was noted"


def test_what_comes_before_what_is_told_and_never_more() -> None:
    turned = [entry("pit drill step", 55, step="complete", who="D. Driller"), entry("pit drill step", 58, step="flow check", who="D. Driller")]
    (record,) = of_log(books_of(BEGINS, *turned, ENDS))
    assert record.deviations == ("Complete: shut in came before Flow check, or pumps off.",)
    assert record.signals[0].moment("t1").t_ms == 55 * MIN          # the first of any


def test_a_check_and_a_call_that_were_logged_as_such_are_part_of_it() -> None:
    check = entry("flow check", 54, 56, result="static", seen_by="D. Driller")
    (record,) = of_log(books_of(BEGINS, check, ENDS))
    assert record.signals[0].moment("t3").t_ms == 54 * MIN
    assert record.signals[0].in_time is True
    assert record.flow_checks == 1


@pytest.mark.parametrize(("logged", "made", "code"), [
    ([BEGINS], entry("pit drill", 60, tank="Settling"), "drill_under_way"),
    ([BEGINS, ENDS], entry("pit drill", 75, tank="Settling"), "float_not_proved"),
    ([BEGINS, ENDS, PROVED], entry("pit drill", 85, tank="Settling"), None),
    ([], entry("pit drill step", 60, step="recognised"), "no_drill"),
    ([BEGINS], entry("pit drill step", 60, step="recognised"), None),
    ([], entry("pit drill end", 60, state="ended"), "no_drill"),
    ([BEGINS], entry("float proved", 60, tank="Suction"), "drill_under_way"),
    ([], entry("float proved", 60, tank="Suction"), None),
    ([], entry("remark", 60, remark="x"), None)])
def test_what_an_entry_has_against_it_by_the_log(logged: list[Draft], made: Draft, code: str | None) -> None:
    found = doubts(build(numbered([rig_draft(RIG, -1), *logged])).eff.records, made)
    assert [f.code for f in found] == ([] if code is None else [code])
    if made.kind in ("pit drill end", "float proved"):
        assert not any(f.severity == "error" for f in found)     # nothing refuses to say that it is over


def test_the_tour_report_lists_it_and_says_which_warnings_sounded_in_it(whole: Books) -> None:
    made = reports.report(whole, reports.between(0, 120 * MIN), units={"volume": "bbl"})
    by = reports.writing(made)
    table = table_of(made)
    (row,) = table.rows
    said = dict(zip((c.heading for c in table.columns), (reports.on_paper(c, v, by) for c, v in zip(table.columns, row.cells, strict=True)), strict=True))
    assert (said["Began"], said["Ended"], said["Float of"], said["Raised by"]) == ("18:50", "19:10", "Suction", "2 in")
    assert (said["In charge, consented"], said["Run by"], said["Warning sounded"]) == ("T. Pusher", "R. Moe", "19:00")
    assert said["What the crew did, after it began"].startswith("First recognised 2 min 00 s, D. Hand; ")
    assert said["Outcome"] == "answered, target not met"
    assert said["Mark"] == "DRILL"
    assert table.note.startswith("DRILL: a pit drill on the rig")
    warnings = next(t for t in reports.tables(made) if t.name == "warnings")
    assert len(warnings.rows) == 1
    assert "1 of them sounded while a pit drill was under way" in warnings.note
    assert table_of(reports.report(books_of(), reports.between(0, 120 * MIN))).rows == ()
    before = reports.report(whole, reports.between(0, 40 * MIN))
    assert before.pit_drills == ()


def test_a_drill_and_a_float_that_is_not_proved_back_are_handed_over(whole: Books) -> None:
    def pending(to: int) -> list[str]:
        return [x.words for x in reports.report(whole, reports.between(0, to * MIN)).handover if x.group == "Pending"]

    assert pending(60)[0].startswith("A pit drill is under way since 18:50")
    assert "isn't proved back by a dip" in pending(75)[0]
    assert pending(100) == ["No move is announced."]


def test_alarm_figures_say_that_a_drill_is_among_them(whole: Books) -> None:
    span = reports.between(0, 120 * MIN)
    assert "A pit drill was under way" in reports.alarm_figures(whole, span, {"gain": 1}).note
    assert "pit drill" not in reports.alarm_figures(books_of(), span, {"gain": 1}).note
