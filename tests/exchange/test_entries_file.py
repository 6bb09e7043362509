"""Entries files: one row, one entry; corrections and voids by id; the order of rows doesn't matter."""

from __future__ import annotations

import random
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builders import BBL, GAL, two_box_rig
from dipbook.entries import checks
from dipbook.entries.kinds import KINDS
from dipbook.exchange import entries, times
from dipbook.exchange.entries import EntriesFile
from dipbook.exchange.entries_written import written
from dipbook.findings import Finding
from dipbook.records import Draft, Record, numbered
from entries.test_entry_checks import GOOD
from entries.tour_cases import TOUR, tour_rig

RIG = two_box_rig()
LB = 0.45359237
MIN = 60_000


def at(clock: str) -> int:
    return times.parse(f"2026-03-01 {clock}", RIG.zone)


def read(text: str, **other: Any) -> EntriesFile:
    return entries.parse(text.encode("utf-8"), "e.csv", RIG, **other)


def drafts(text: str, **other: Any) -> tuple[Draft, ...]:
    file = read(text, **other)
    assert file.ok, file.findings
    return file.drafts


def refused(text: str, **other: Any) -> Finding:
    file = read(text, **other)
    assert not file.ok
    assert file.drafts == ()
    errors = [f for f in file.findings if f.severity == "error"]
    assert len(errors) == 1, errors
    assert errors[0].file == "e.csv"
    return errors[0]


BASE = "time,end,kind,by,id,supersedes,reason,from,to,volume [bbl]\n"
T1 = "2026-03-01 02:40,2026-03-01 02:52,transfer,A,t1,,,Reserve 1,Suction,24\n"


def test_a_row_becomes_a_draft() -> None:
    (draft,) = drafts(BASE + T1)
    assert (draft.kind, draft.uid, draft.author, draft.t_ms, draft.learned_ms, draft.offset_min) == (
        "transfer", "t1", "A", at("02:40"), at("02:40"), -360)
    assert draft.payload["volume_m3"] == pytest.approx(24 * BBL)
    assert draft.payload["end_ms"] == at("02:52")
    assert draft.payload["typed"]["volume"] == "24 bbl"


def test_columns_may_be_any_in_any_order_and_case_with_units_in_either_place() -> None:
    (draft,) = drafts("Kind;density [lbm/gal[US]];TO;time;mass\naddition;35;suction;2026-03-01T09:10:00Z;5000 lbm\n")
    assert draft.payload["volume_m3"] == pytest.approx(5000 / 35 * GAL)
    assert draft.payload["mass_kg"] == pytest.approx(5000 * LB)
    assert draft.t_ms == at("03:10")


def test_an_import_into_a_log_is_learned_when_it_is_imported() -> None:
    (draft,) = drafts(BASE + T1, learned_ms=at("09:00"))
    assert (draft.t_ms, draft.learned_ms) == (at("02:40"), at("09:00"))


def test_a_remark_may_stand_under_reason() -> None:
    (draft,) = drafts("time,kind,reason\n2026-03-01 02:40,remark,screens changed\n")
    assert draft.payload["remark"] == "screens changed"


@pytest.mark.parametrize(("text", "line", "column", "said"), [
    ("time,kind,volum\n2026-03-01 02:40,remark,x\n", 1, "volum", "did you mean volume?"),
    ("time,kind,volume [ft]\n2026-03-01 02:40,remark,\n", 1, "volume [ft]", ""),
    ("time,kind,remark [ft]\n2026-03-01 02:40,remark,x\n", 1, "remark [ft]", "no unit"),
    ("time,volume,volume [bbl],kind\n2026-03-01 02:40,1,1,remark\n", 1, "volume [bbl]", "twice"),
    ("time,remark\n2026-03-01 02:40,x\n", 1, "", "kind"),
    ("time,kind,remark\n2026-03-01 02:40,dump,x\n", 2, "kind", "transfer, addition, discard"),
    ("time,kind,remark\n2026-03-01 02:40,,x\n", 2, "kind", "needs a kind"),
    ("time,kind,remark\n2026-03-01 02:40,remark,x\n,remark,y\n", 3, "time", "needs a time"),
    ("time,kind,remark\n2026-03-01 02:40,remark,x\n25:00,remark,y\n", 3, "time", "not a time"),
    ("time,end,kind,remark\n2026-03-01 02:40,late,remark,y\n", 2, "end", "not a time"),
    (BASE + T1.replace("Suction", "Suctoin"), 2, "to", "did you mean Suction?"),
    (BASE + T1.replace(",24\n", ",lots\n"), 2, "volume", "number"),
    (BASE + T1.replace(",24\n", ",-24\n"), 2, "volume", "below zero"),
    (BASE + T1.replace(",24\n", ",nan\n"), 2, "volume", "not a number"),
    (BASE + T1.replace("02:52", "02:30"), 2, "end", "before the start"),
    (BASE + T1 + T1, 3, "id", "line 2"),
    (BASE + T1[:-5], 2, "", "cut short"),
    (BASE + T1 + "2026-03-01 02:40,,correction,A,c1,t9,why,,,22\n", 3, "supersedes", "no entry with the id"),
    (BASE + T1 + "2026-03-01 02:40,,correction,A,c1,,why,,,22\n", 3, "supersedes", "needs `supersedes`"),
    (BASE + T1 + "2026-03-01 02:40,,correction,A,c1,t1,,,,22\n", 3, "reason", "say why"),
    (BASE + T1 + "2026-03-01 02:40,,void,A,c1,t1,,,,\n", 3, "reason", "say why"),
    (BASE + T1 + "2026-03-01 02:40,,void,A,c1,t1,why,,,22\n", 3, "volume", "only supersedes"),
    (BASE + T1 + "2026-03-01 02:40,,discard,A,c1,t1,why,Suction,,22\n", 3, "kind", "can't replace"),
    (BASE + "2026-03-01 02:40,,correction,A,a,b,why,,,22\n2026-03-01 02:40,,correction,A,b,a,why,,,22\n", 2,
     "supersedes", "circle"),
])
def test_what_cannot_be_read_is_refused_with_its_place(text: str, line: int, column: str, said: str) -> None:
    error = refused(text)
    assert (error.line, error.column) == (line, column), error.what
    assert said in error.what
    assert f"e.csv, line {line}" in error.where


def test_every_bad_row_is_told_at_once() -> None:
    file = read(BASE + T1.replace("Suction", "Pit 9") + T1.replace("t1", "t2").replace(",24", ",x") + T1.replace("t1", "t3"))
    assert [(f.line, f.column) for f in file.findings] == [(2, "to"), (3, "volume")]
    assert file.drafts == ()


def test_a_correction_changes_the_cells_that_it_fills() -> None:
    first, second = drafts(BASE + T1 + ",,correction,B,c1,t1,wrong stick,,,22\n")
    assert (second.kind, second.supersedes, second.uid, second.reason, second.author) == ("transfer", "t1", "c1", "wrong stick", "B")
    assert second.t_ms == first.t_ms
    assert second.payload["volume_m3"] == pytest.approx(22 * BBL)
    assert second.payload["end_ms"] == first.payload["end_ms"]
    assert second.payload["from"] == "Reserve 1"


def test_corrections_of_corrections_follow_in_any_order_of_rows() -> None:
    text = (BASE + ",,correction,B,c2,c1,again,,Settling,\n" + ",,correction,B,c1,t1,wrong stick,,,22\n" + T1)
    found = drafts(text)
    assert [d.uid for d in found] == ["t1", "c1", "c2"]
    assert found[2].payload["volume_m3"] == pytest.approx(22 * BBL)
    assert found[2].payload["to"] == "Settling"
    error = refused(BASE + T1 + ",,correction,B,c1,t1,x,,,22\n" + ",,correction,B,c2,t1,y,,,23\n")
    assert (error.line, error.column) == (4, "supersedes")


def test_a_correction_to_an_earlier_time_still_follows_what_it_corrects() -> None:
    found = drafts(BASE + "2026-03-01 01:00,2026-03-01 01:12,correction,B,c1,t1,clock,,,\n" + T1)
    assert [(d.uid, d.t_ms) for d in found] == [("t1", at("02:40")), ("c1", at("01:00"))]
    assert found[1].learned_ms == at("02:40"), "it can't be known before what it corrects"


def test_a_void_strikes_an_entry_at_its_own_time() -> None:
    found = drafts(BASE + T1 + "2026-03-01 05:00,,void,B,,t1,another well,,,\n")
    assert (found[1].kind, found[1].supersedes, found[1].t_ms, found[1].learned_ms, dict(found[1].payload)) == (
        "void", "t1", at("05:00"), at("05:00"), {})


def test_a_void_of_readings_has_a_tank_and_an_end() -> None:
    (draft,) = drafts("time,end,kind,tank,reason\n2026-03-01 02:00,2026-03-01 02:30,void,Suction,sludge\n")
    assert draft.supersedes is None
    assert draft.payload["tank"] == "Suction"
    assert draft.payload["end_ms"] == at("02:30")


def test_a_whole_row_may_replace_another() -> None:
    found = drafts(BASE + T1 + T1.replace("t1,,", "t2,t1,wrong tank").replace("Suction,24", "Settling,20"))
    assert (found[1].supersedes, found[1].payload["to"]) == ("t1", "Settling")


def test_an_entry_of_the_log_may_be_superseded_but_only_once() -> None:
    log = {r.uid: r for r in numbered(drafts(BASE + T1))}
    row = BASE + ",,correction,B,c1,t1,wrong stick,,,22\n"
    (draft,) = drafts(row, known=log)
    assert draft.supersedes == "t1"
    log = {r.uid: r for r in numbered([*drafts(BASE + T1), draft])}
    assert drafts(row, known=log) == (draft,), "the same file again is the same"
    assert refused(row.replace("c1", "c9"), known=log).code == "twice"


def test_the_same_file_twice_adds_nothing() -> None:
    text = "time,kind,remark\n2026-03-01 02:40,remark,x\n2026-03-01 02:40,remark,x\n2026-03-01 02:41,remark,y\n"
    first = read(text)
    assert len({d.uid for d in first.drafts}) == 3, "two alike rows are two entries"
    log = {r.uid: r for r in numbered(first.drafts)}
    new, findings = entries.sift(read(text), log)
    assert new == ()
    assert [f.severity for f in findings] == ["note"]
    longer = read(text + "2026-03-01 02:42,remark,z\n")
    assert [d.payload["remark"] for d in entries.sift(longer, log)[0]] == ["z"]


def test_an_id_that_the_log_has_for_another_entry_is_refused() -> None:
    log = {r.uid: r for r in numbered(drafts(BASE + T1))}
    new, findings = entries.sift(read(BASE + T1.replace(",24", ",25")), log)
    assert new == ()
    assert [(f.code, f.severity) for f in findings] == [("id_taken", "error")]


def test_a_long_chain_of_corrections_is_followed() -> None:
    rows = [f",,correction,B,c{i},{f'c{i - 1}' if i else 't1'},again,,,{20 + i / 1000}\n" for i in range(3000)]
    found = drafts(BASE + "".join(reversed(rows)) + T1)
    assert [d.uid for d in found] == ["t1", *(f"c{i}" for i in range(3000))]
    assert found[-1].payload["volume_m3"] == pytest.approx(22.999 * BBL)


MANY = [T1, ",,correction,B,c2,c1,again,,Settling,\n", ",,correction,B,c1,t1,wrong stick,,,22\n",
        "2026-03-01 02:40,,discard,A,,,,Suction,,5\n", "2026-03-01 02:40,,discard,A,,,,Suction,,5\n",
        "2026-03-01 02:40,,discard,A,,,,Suction,,4\n", "2026-03-01 02:10,,addition,A,,,,,Suction,7\n",
        "2026-03-01 06:00,,void,A,,c2,why,,,\n"]


@given(st.randoms(use_true_random=False))
def test_the_order_of_rows_does_not_matter(chance: random.Random) -> None:
    shuffled = list(MANY)
    chance.shuffle(shuffled)
    assert drafts(BASE + "".join(shuffled)) == drafts(BASE + "".join(MANY))


@given(st.text(max_size=200))
def test_no_text_whatever_raises(text: str) -> None:
    for before in ("", BASE, BASE + T1, "time,kind,remark,volume\n2026-03-01 02:00,remark,"):
        read(before + text.encode("utf-8", "replace").decode("utf-8"))


def of_a_tour() -> tuple[Record, ...]:
    """A record of every good entry, of every kind."""
    drafts = []
    for n, (kind, typed, minutes, _) in enumerate([*GOOD, *TOUR]):
        t = at("02:00") + n * MIN
        draft, findings = checks.make(kind, typed, t_ms=t, end_ms=None if minutes is None else t + round(minutes * MIN),
                                      rig=tour_rig(), learned_ms=t, author="A. Sample")
        assert draft is not None, findings
        drafts.append(draft)
    return numbered(drafts)


def read_back(records: tuple[Record, ...]) -> dict[str, Draft]:
    file = entries.parse(written(records, "."), "e.csv", tour_rig())
    assert file.ok, [(f.line, f.column, f.what) for f in file.findings if f.severity == "error"]
    return {d.uid: d for d in file.drafts}


def test_every_kind_is_written_and_read_back_the_same() -> None:
    records = of_a_tour()
    assert {r.kind for r in records} == {kind.name for kind in KINDS}
    back = read_back(records)
    for record in records:
        draft = back[record.uid]
        assert (draft.kind, draft.t_ms, draft.author, draft.supersedes, draft.reason) == (
            record.kind, record.t_ms, record.author, record.supersedes, record.reason)
        assert ({k: v for k, v in draft.payload.items() if k != "typed"}
                == {k: v for k, v in record.payload.items() if k != "typed"}), record.kind


def test_what_nobody_typed_is_written_exactly() -> None:
    records = of_a_tour()
    bare = tuple(Record(r.seq, r.uid, r.kind, r.t_ms, r.learned_ms, r.author, {**r.payload, "typed": {}}, reason=r.reason)
                 for r in records)
    back = read_back(bare)
    for record in records:
        for key, value in record.payload.items():
            if isinstance(value, float):
                assert back[record.uid].payload[key] == pytest.approx(value, rel=1e-15, abs=1e-15), (record.kind, key)
            elif key != "typed":
                assert back[record.uid].payload[key] == value, (record.kind, key)


def test_corrections_and_strikes_are_written_after_what_they_change() -> None:
    first = of_a_tour()[0]
    again, _ = checks.correct(first, {"remark": "=late"}, rig=tour_rig(), author="B", learned_ms=at("05:00"), reason="-r")
    assert again is not None
    strike, _ = checks.strike(numbered([again], 100)[0], t_ms=at("06:00"), author="C", learned_ms=at("06:00"), reason="twice")
    assert strike is not None
    records = (first, *numbered([again, strike], 100))
    back = read_back(records)
    assert [back[r.uid].supersedes for r in records] == [None, first.uid, "r100"]
    assert back["r100"].payload["remark"] == "=late", "guarded in the file, and as it was when it is read"
    assert (back["r100"].reason, back["r101"].reason) == ("-r", "twice")


def test_a_void_of_a_round_is_left_out() -> None:
    void = Record(9, "v", "void", at("05:00"), at("05:00"), "A", {}, supersedes="a round", reason="r")
    assert read_back((*of_a_tour()[:1], void)).keys() == {"r1"}


@pytest.mark.parametrize(("heading", "cell", "key", "value"), [
    ("gas [%]", "2.5", "gas_percent", 2.5), ("gas", "2.5 %", "gas_percent", 2.5)])
def test_a_percentage_may_have_its_sign_in_the_heading(heading: str, cell: str, key: str, value: float) -> None:
    (draft,) = drafts(f"time,kind,{heading}\n2026-03-01 02:40,gas,{cell}\n")
    assert draft.payload[key] == value


def test_units_of_the_new_columns_stand_in_the_heading() -> None:
    text = ("time;kind;readings [m3];result;seen by;casing pressure [kPa];state;speed [m/h];stick [cm];sensor [cm];tank;temperature in [degC]\n"
            "2026-03-01 02:40;flow check;0.4, 0.2;static;A;;;;;;;\n2026-03-01 02:41;shut-in;;;;300;shut in;;;;;\n"
            "2026-03-01 02:42;drilling break;;;;;;18;;;;\n2026-03-01 02:43;stick check;;;;;;;150;151;Suction;\n"
            "2026-03-01 02:44;mud check;;;;;;;;;;40\n")
    flow, shut, broke, stick, mud = drafts(text)
    assert flow.payload["readings_m3"] == [0.4, 0.2]
    assert shut.payload["casing_pressure_pa"] == 300_000.0
    assert broke.payload["speed_m_s"] == 0.005
    assert (stick.payload["stick_m"], stick.payload["sensor_m"]) == (1.5, 1.51)
    assert mud.payload["temperature_in_k"] == pytest.approx(313.15)


@pytest.mark.parametrize(("heading", "said"), [("gas [bbl]", "no unit"), ("volume [%]", "%"), ("readings [ft]", "no unit of volume"),
                                               ("seen by [m]", "no unit")])
def test_a_wrong_unit_of_a_new_column_is_refused(heading: str, said: str) -> None:
    error = refused(f"time,kind,{heading}\n2026-03-01 02:40,gas,1\n")
    assert (error.line, error.column) == (1, heading)
    assert said in error.what
