"""Entries as typed: what stands, what is refused and why. Factors by definition (NIST SP 811, Appendix B)."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from builders import BBL, FT, GAL, METRIC_UNITS, two_box_rig
from dipbook.entries import checks
from dipbook.entries.kinds import KINDS
from dipbook.entries.plausible import Held, beyond_dips
from dipbook.findings import Finding
from dipbook.records import Draft, Record, numbered
from entries.tour_cases import TOUR

T = 1_772_352_900_000
MIN = 60_000
LB = 0.45359237
RIG = two_box_rig()


def make(kind: str, typed: dict[str, str], minutes: float | None = None, **other: Any) -> checks.Outcome:
    end = None if minutes is None else T + round(minutes * MIN)
    options: dict[str, Any] = {"rig": RIG, "learned_ms": T, "author": "A. Sample", **other}
    return checks.make(kind, typed, t_ms=T, end_ms=end, **options)


def made(kind: str, typed: dict[str, str], minutes: float | None = None, **other: Any) -> Draft:
    draft, findings = make(kind, typed, minutes, **other)
    assert draft is not None, findings
    return draft


def refused(kind: str, typed: dict[str, str], minutes: float | None = None, **other: Any) -> Finding:
    draft, findings = make(kind, typed, minutes, **other)
    assert draft is None
    errors = [f for f in findings if f.severity == "error"]
    assert len(errors) == 1, errors
    return errors[0]


def test_a_transfer_holds_si_values_the_end_and_what_was_typed() -> None:
    draft = made("transfer", {"from": "reserve 1", "to": "Suction", "volume": "24", "remark": " new mud "}, 12)
    assert draft.kind == "transfer"
    assert draft.t_ms == T
    assert draft.author == "A. Sample"
    assert draft.payload == {
        "from": "Reserve 1", "to": "Suction", "volume_m3": pytest.approx(24 * BBL, rel=1e-14), "remark": "new mud",
        "end_ms": T + 12 * MIN,
        "typed": {"from": "reserve 1", "to": "Suction", "volume": "24 bbl", "remark": "new mud"}}


def test_bare_numbers_take_the_rigs_units_and_its_decimal_mark() -> None:
    metric = two_box_rig(units=METRIC_UNITS, decimal=",")
    draft = made("transfer", {"from": "Reserve 1", "to": "Suction", "volume": "3,5"}, rig=metric)
    assert draft.payload["volume_m3"] == 3.5
    assert draft.payload["typed"]["volume"] == "3,5 m3"
    assert refused("transfer", {"from": "Reserve 1", "to": "Suction", "volume": "3.5"}, rig=metric).column == "volume"


def test_a_headings_unit_goes_before_the_rigs_and_a_written_one_before_both() -> None:
    draft = made("transfer", {"from": "Reserve 1", "to": "Suction", "volume": "3"}, bare={"volume": "m3"})
    assert draft.payload["volume_m3"] == 3.0
    draft = made("transfer", {"from": "Reserve 1", "to": "Suction", "volume": "3 bbl"}, bare={"volume": "m3"})
    assert draft.payload["volume_m3"] == pytest.approx(3 * BBL, rel=1e-14)


GOOD: list[tuple[str, dict[str, str], float | None, dict[str, Any]]] = [
    ("transfer", {"from": "Settling", "to": "Suction", "rate": "2 bbl/min"}, 10, {"rate_m3_s": 2 * BBL / 60}),
    ("transfer", {"from": "Settling", "to": "Suction", "state": "running"}, None, {"state": "running"}),
    ("transfer", {"from": "Settling", "to": "Suction", "state": "Running", "rate": "84"}, None,
     {"state": "running", "rate_m3_s": 84 * GAL / 60}),
    ("addition", {"to": "Suction", "volume": "10 bbl"}, None, {"volume_m3": 10 * BBL}),
    ("addition", {"to": "Suction", "volume": "10 bbl", "material": "base oil"}, None, {"volume_m3": 10 * BBL, "material": "base oil"}),
    ("addition", {"to": "Suction", "mass": "5000 lbm", "density": "35"}, 20,
     {"mass_kg": 5000 * LB, "density_kg_m3": 35 * LB / GAL, "volume_m3": 5000 / 35 * GAL}),
    ("discard", {"from": "Settling", "volume": "15"}, None, {"volume_m3": 15 * BBL}),
    ("discard", {"from": "Settling", "rate": "1 bbl/min", "state": "running"}, None, {"rate_m3_s": BBL / 60}),
    ("line-up", {"tank": "Reserve 1", "state": "in"}, None, {"tank": "Reserve 1", "state": "in"}),
    ("line-up", {"tank": "flow line", "to": "none"}, None, {"tank": "flow line", "to": "none"}),
    ("line-up", {"tank": "Flow line", "to": "active"}, None, {"tank": "flow line", "to": "active"}),
    ("line-up", {"tank": "flow line", "to": "reserve 1"}, None, {"to": "Reserve 1"}),
    ("pumps", {"state": "off"}, None, {"state": "off"}),
    ("pumps", {"state": "on", "spm": "70"}, None, {"pump": "1", "spm": 70.0}),
    ("pumps", {"state": "on", "flow": "300"}, None, {"flow_m3_s": 300 * GAL / 60}),
    ("pumps", {"state": "off", "flow": "0"}, None, {"flow_m3_s": 0.0}),
    ("depth", {"bit depth": "9000"}, None, {"bit_depth_m": 9000 * FT}),
    ("stand filled", {}, None, {"length_m": 93 * FT}),
    ("stand filled", {"length": "31 ft"}, None, {"length_m": 31 * FT}),
    ("activity", {"activity": "Drilling"}, None, {"activity": "drilling"}),
    ("rate in force", {"rate": "2 bbl/h", "state": "on", "to": "active", "remark": "rain"}, None,
     {"to": "active", "rate_m3_s": 2 * BBL / 3600}),
    ("rate in force", {"state": "off", "from": "Suction"}, None, {"from": "Suction", "state": "off"}),
    ("zero", {"reason": "start of the tour", "length": "0"}, None, {"reason": "start of the tour", "length_m": 0.0}),
    ("remark", {"remark": "screens changed"}, None, {"remark": "screens changed"}),
    ("void", {"tank": "Suction", "reason": "sludge"}, 30, {"tank": "Suction"}),
    ("watch", {"state": "off", "reason": "rig move"}, None, {"state": "off"}),
    ("handover confirmed", {"leaving": "R. Moe", "confirmed": "Line-up"}, None, {"confirmed": "Line-up"}),
    ("connection", {"state": "accepted", "remark": "as usual"}, None, {"state": "accepted"}),
    ("connection", {"state": "Not accepted"}, None, {"state": "not accepted"}),
    ("flow-back band", {"state": "adopted", "flow": "300"}, None, {"state": "adopted", "flow_m3_s": 300 * GAL / 60}),
    ("flow-back band", {"state": "withdrawn", "flow": "300"}, None, {"state": "withdrawn"}),
]


@pytest.mark.parametrize(("kind", "typed", "minutes", "payload"), GOOD)
def test_good_entries_stand(kind: str, typed: dict[str, str], minutes: float | None, payload: dict[str, Any]) -> None:
    draft = made(kind, typed, minutes)
    for key, value in payload.items():
        expected = pytest.approx(value, rel=1e-12) if isinstance(value, float) else value
        assert draft.payload[key] == expected, key


def test_every_kind_has_a_good_entry_here() -> None:
    assert {kind for kind, *_ in GOOD} | {kind for kind, *_ in TOUR} == {kind.name for kind in KINDS}


@pytest.mark.parametrize(("kind", "typed", "minutes", "column", "code"), [
    ("transfer", {"to": "Suction", "volume": "5"}, None, "from", "missing"),
    ("transfer", {"from": "Settling", "volume": "5"}, None, "to", "missing"),
    ("transfer", {"from": "Settling", "to": "Suction"}, None, "volume", "missing"),
    ("transfer", {"from": "Settling", "to": "Suction", "state": "done"}, None, "volume", "missing"),
    ("transfer", {"from": "Settling", "to": "Suction", "rate": "5"}, None, "volume", "missing"),
    ("transfer", {"from": "Suction", "to": "suction", "volume": "5"}, None, "to", "same_tank"),
    ("transfer", {"from": "Suctoin", "to": "Settling", "volume": "5"}, None, "from", "unknown_tank"),
    ("transfer", {"from": "Suction", "to": "Settling", "volume": "-5"}, None, "volume", "unreadable"),
    ("transfer", {"from": "Suction", "to": "Settling", "volume": "nan"}, None, "volume", "unreadable"),
    ("transfer", {"from": "Suction", "to": "Settling", "volume": "some"}, None, "volume", "unreadable"),
    ("transfer", {"from": "Suction", "to": "Settling", "volume": "5 ft"}, None, "volume", "unreadable"),
    ("transfer", {"from": "Suction", "to": "Settling", "volume": "0"}, None, "volume", "zero"),
    ("transfer", {"from": "Suction", "to": "Settling", "volume": "900000 m3"}, None, "volume", "absurd"),
    ("transfer", {"from": "Suction", "to": "Settling", "volume": "5"}, -1, "end", "end_before_start"),
    ("transfer", {"from": "Suction", "to": "Settling", "state": "running"}, 5, "end", "running_with_end"),
    ("transfer", {"from": "Suction", "to": "Settling", "state": "running", "volume": "5"}, None, "volume",
     "running_with_volume"),
    ("transfer", {"from": "Suction", "to": "Settling", "volume": "5", "mass": "5 kg"}, None, "mass", "not_here"),
    ("discard", {"from": "Suction", "rate": "5"}, None, "end", "rate_without_end"),
    ("addition", {"to": "Suction", "mass": "5000 lbm"}, None, "volume", "missing"),
    ("addition", {"to": "Suction", "mass": "5000", "density": "35"}, None, "mass", "unreadable"),
    ("addition", {"to": "Suction", "mass": "5000 lbm", "density": "4.2 kg/m3"}, None, "density", "absurd"),
    ("line-up", {"tank": "Reserve 1"}, None, "state", "missing"),
    ("line-up", {"tank": "Reserve 1", "to": "active"}, None, "to", "not_here"),
    ("line-up", {"tank": "flow line", "state": "in"}, None, "to", "missing"),
    ("line-up", {"tank": "flow line", "state": "in", "to": "none"}, None, "state", "not_here"),
    ("line-up", {"tank": "Reserve 1", "state": "joined"}, None, "state", "unknown_state"),
    ("pumps", {"state": "off", "flow": "300"}, None, "flow", "state_against_rate"),
    ("pumps", {"state": "on", "spm": "0"}, None, "spm", "state_against_rate"),
    ("pumps", {"state": "on", "spm": "70", "pump": "9"}, None, "pump", "unknown_pump"),
    ("depth", {}, None, "hole depth", "missing"),
    ("depth", {"bit depth": "900000"}, None, "bit depth", "absurd"),
    ("depth", {"bit depth": "9000"}, 5, "end", "no_end_here"),
    ("activity", {"activity": "driling"}, None, "activity", "unknown_activity"),
    ("rate in force", {"state": "on", "to": "active"}, None, "rate", "missing"),
    ("rate in force", {"state": "on", "rate": "5"}, None, "from", "missing"),
    ("zero", {}, None, "reason", "missing"),
    ("remark", {}, None, "remark", "missing"),
    ("void", {"tank": "Suction", "reason": "sludge"}, None, "end", "missing"),
    ("void", {"tank": "Suction"}, 5, "reason", "missing"),
    ("dump", {"from": "Suction"}, None, "kind", "unknown_kind"),
])
def test_what_cannot_stand_is_refused_at_its_field(kind: str, typed: dict[str, str], minutes: float | None,
                                                   column: str, code: str) -> None:
    error = refused(kind, typed, minutes)
    assert (error.column, error.code) == (column, code), error.what


def test_an_unknown_tank_is_answered_with_the_nearest_or_with_all() -> None:
    assert "did you mean Suction?" in refused("discard", {"from": "Suctoin", "volume": "5"}).what
    assert "Settling, Suction, Reserve 1" in refused("discard", {"from": "Zzz", "volume": "5"}).what


def test_volume_and_rate_have_to_agree_with_the_duration() -> None:
    typed = {"from": "Reserve 1", "to": "Suction", "volume": "24", "rate": "2 bbl/min"}
    assert refused("transfer", typed, 30).code == "disagree"
    assert made("transfer", typed, 12).payload["end_ms"] == T + 12 * MIN
    assert made("transfer", typed, 12.9).payload["end_ms"] == T + round(12.9 * MIN), "times are to the minute"


def test_volume_and_rate_without_an_end_give_it_with_a_note() -> None:
    draft, findings = make("transfer", {"from": "Reserve 1", "to": "Suction", "volume": "24", "rate": "2 bbl/min"})
    assert draft is not None
    assert draft.payload["end_ms"] == T + 12 * MIN
    assert [(f.code, f.severity) for f in findings] == [("end_from_rate", "note")]


def test_a_volume_that_its_mass_and_density_deny_is_refused() -> None:
    typed = {"to": "Suction", "mass": "5000 lbm", "density": "35 lbm/gal[US]"}  # 142.9 gal, 3.40 bbl
    assert refused("addition", {**typed, "volume": "5 bbl"}).code == "disagree"
    assert made("addition", {**typed, "volume": "3.4 bbl"}).payload["volume_m3"] == pytest.approx(3.4 * BBL)


@pytest.mark.parametrize("kind", ["transfer", "discard", "addition"])
def test_more_than_the_tank_can_hold_is_refused_in_the_rigs_units(kind: str) -> None:
    tanks = {"transfer": {"from": "Reserve 1", "to": "Suction"}, "discard": {"from": "Suction"},
             "addition": {"to": "Suction"}}[kind]
    found = refused(kind, {**tanks, "volume": "400"})
    assert (found.code, found.column) == ("more_than_tank", "volume")
    # 30 x 8 x 9 ft are 2160 ft3, and a barrel is 5.6146 ft3: 384.7 bbl.
    assert "holds (400.0 bbl against 384.7 bbl)" in found.what
    assert made(kind, {**tanks, "volume": "384"}).payload["volume_m3"] == pytest.approx(384 * BBL)


@pytest.mark.parametrize(("volume", "codes"), [
    ("80", []), ("100", []), ("110", ["Reserve 1"]), ("160", ["Reserve 1", "Suction"])])
def test_a_move_beyond_the_last_dips_is_doubted_in_the_rigs_units(volume: str, codes: list[str]) -> None:
    held = {"Reserve 1": Held(0, 100 * BBL, 250 * BBL), "Suction": Held(0, 200 * BBL, 150 * BBL)}
    draft = made("transfer", {"from": "Reserve 1", "to": "Suction", "volume": volume})
    found = beyond_dips(draft, held, RIG)
    assert [f.tank for f in found] == codes
    if codes:
        assert found[0].what == f"more than Reserve 1 holds ({volume}.0 bbl against 100.0 bbl by its last dip)"


def test_a_move_before_the_dip_or_of_a_tank_never_gauged_is_not_doubted() -> None:
    draft = made("transfer", {"from": "Reserve 1", "to": "Suction", "volume": "300"})
    assert beyond_dips(draft, {"Reserve 1": Held(draft.t_ms, 1 * BBL, 1 * BBL), "Suction": Held()}, RIG) == ()


def test_strokes_need_a_pump_where_there_are_several() -> None:
    two = replace(RIG, pumps=(*RIG.pumps, replace(RIG.pumps[0], name="2")))
    assert refused("pumps", {"state": "on", "spm": "70"}, rig=two).column == "pump"


def test_a_stand_without_a_length_is_refused_where_the_rig_has_none() -> None:
    assert refused("stand filled", {}, rig=replace(RIG, pipe=None)).column == "length"


def test_a_change_needs_a_reason() -> None:
    assert refused("remark", {"remark": "x"}, supersedes="r1").code == "no_reason"


def transfer(typed: dict[str, str] | None = None, minutes: float | None = 12) -> Record:
    draft = made("transfer", typed or {"from": "Reserve 1", "to": "Suction", "volume": "24"}, minutes)
    return numbered([draft])[0]


def test_a_correction_changes_its_fields_and_keeps_the_rest() -> None:
    draft, findings = checks.correct(transfer(), {"volume": "22"}, rig=RIG, author="B", learned_ms=T + MIN,
                                     reason="wrong stick")
    assert draft is not None, findings
    assert (draft.kind, draft.supersedes, draft.t_ms, draft.reason) == ("transfer", "r1", T, "wrong stick")
    assert draft.payload == {**transfer().payload, "volume_m3": pytest.approx(22 * BBL),
                             "typed": {**transfer().payload["typed"], "volume": "22 bbl"}}


def test_a_correction_stands_on_the_values_not_on_units_that_have_changed_since() -> None:
    metric = two_box_rig(units=METRIC_UNITS)
    draft, _ = checks.correct(transfer(), {"remark": "late"}, rig=metric, author="B", learned_ms=T, reason="r")
    assert draft is not None
    assert draft.payload["volume_m3"] == pytest.approx(24 * BBL)


def test_a_corrected_mass_gives_its_volume_anew() -> None:
    record = numbered([made("addition", {"to": "Suction", "mass": "5000 lbm", "density": "35"})])[0]
    draft, findings = checks.correct(record, {"mass": "7000 lbm"}, rig=RIG, author="B", learned_ms=T, reason="r")
    assert draft is not None, findings
    assert draft.payload["volume_m3"] == pytest.approx(7000 / 35 * GAL)


def test_a_correction_may_take_the_end_away_or_move_it() -> None:
    draft, _ = checks.correct(transfer(), {}, end_ms=None, rig=RIG, author="B", learned_ms=T, reason="r")
    assert draft is not None
    assert draft.payload["end_ms"] is None
    draft, findings = checks.correct(transfer(), {}, end_ms=T - 1, rig=RIG, author="B", learned_ms=T, reason="r")
    assert draft is None
    assert findings[0].code == "end_before_start"


def test_a_running_transfer_is_stopped_with_its_volume() -> None:
    running = transfer({"from": "Reserve 1", "to": "Suction", "state": "running", "rate": "3 bbl/min"}, None)
    draft, findings = checks.with_end(running, T + 10 * MIN, {"volume": "24"}, rig=RIG, author="B",
                                      learned_ms=T + 10 * MIN)
    assert draft is not None, findings
    assert draft.supersedes == "r1"
    assert draft.payload["volume_m3"] == pytest.approx(24 * BBL)
    assert draft.payload["end_ms"] == T + 10 * MIN
    assert draft.payload["state"] == "done"
    assert "rate_m3_s" not in draft.payload, "the measured volume takes the place of the rate it was started with"


def test_a_running_transfer_is_stopped_by_its_rate_and_not_without_one() -> None:
    running = transfer({"from": "Reserve 1", "to": "Suction", "state": "running", "rate": "3 bbl/min"}, None)
    draft, _ = checks.with_end(running, T + 10 * MIN, {}, rig=RIG, author="B", learned_ms=T)
    assert draft is not None
    assert draft.payload["rate_m3_s"] == pytest.approx(3 * BBL / 60)
    unknown = transfer({"from": "Reserve 1", "to": "Suction", "state": "running"}, None)
    draft, findings = checks.with_end(unknown, T + 10 * MIN, {}, rig=RIG, author="B", learned_ms=T)
    assert draft is None
    assert findings[0].column == "volume"
    draft, findings = checks.with_end(transfer(), T + 10 * MIN, {}, rig=RIG, author="B", learned_ms=T)
    assert draft is None
    assert findings[0].code == "not_running"


def test_an_entry_is_struck_out_with_a_reason_only() -> None:
    draft, _ = checks.strike(transfer(), author="B", learned_ms=T, reason="another well")
    assert draft is not None
    assert (draft.kind, draft.supersedes, dict(draft.payload)) == ("void", "r1", {})
    assert checks.strike(transfer(), author="B", learned_ms=T, reason=" ")[1][0].code == "no_reason"
    void = numbered([draft])[0]
    assert checks.strike(void, author="B", learned_ms=T, reason="x")[1][0].code == "void_of_void"
    assert checks.correct(void, {}, rig=RIG, author="B", learned_ms=T, reason="x")[1][0].code == "not_correctable"
