"""Entries of a whole tour as typed: what stands, what is refused and why. The volumes are worked by hand for boxes of
30 x 8 ft, in which an inch is 30 x 8 / 12 ft3 = 20 ft3, or 3.5620 bbl of 5.614583 ft3."""

from __future__ import annotations

from dataclasses import replace
from math import pi
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builders import BBL, FT, IN, METRIC_UNITS, box_tank
from dipbook.entries import checks
from dipbook.entries.asked_for import asked_for
from dipbook.entries.kinds import BY_NAME, KINDS
from dipbook.entries.words import describe
from dipbook.findings import Finding
from dipbook.records import Draft, Record, numbered
from dipbook.rig.model import Rig
from dipbook.tanks.shapes import Strapping, VerticalCylinder
from entries.tour_cases import FLOOR, TOUR, tour_rig

T = 1_772_352_900_000
MIN = 60_000
RIG = tour_rig()


def make(kind: str, typed: dict[str, str], minutes: float | None = None, rig: Rig = RIG, **other: Any) -> checks.Outcome:
    end = None if minutes is None else T + round(minutes * MIN)
    return checks.make(kind, typed, t_ms=T, end_ms=end, rig=rig, learned_ms=T, author="A. Sample", **other)


def found(kind: str, typed: dict[str, str], minutes: float | None = None, rig: Rig = RIG) -> dict[str, Finding]:
    """Findings of an entry that stands, by their code."""
    draft, findings = make(kind, typed, minutes, rig)
    assert draft is not None, findings
    assert all(f.severity != "error" for f in findings)
    return {f.code: f for f in findings}


def made(kind: str, typed: dict[str, str], minutes: float | None = None, rig: Rig = RIG) -> Draft:
    draft, findings = make(kind, typed, minutes, rig)
    assert draft is not None, findings
    return draft


def refused(kind: str, typed: dict[str, str], minutes: float | None = None, rig: Rig = RIG) -> Finding:
    draft, findings = make(kind, typed, minutes, rig)
    assert draft is None
    errors = [f for f in findings if f.severity == "error"]
    assert len(errors) == 1, errors
    return errors[0]


@pytest.mark.parametrize(("kind", "typed", "minutes", "payload"), TOUR)
def test_good_entries_stand(kind: str, typed: dict[str, str], minutes: float | None, payload: dict[str, Any]) -> None:
    draft = made(kind, typed, minutes)
    for key, value in payload.items():
        got = draft.payload[key]
        if isinstance(value, list):
            assert [v is None for v in got] == [v is None for v in value]
            assert [v for v in got if v is not None] == pytest.approx([v for v in value if v is not None])
        else:
            assert got == (pytest.approx(value, rel=1e-9) if isinstance(value, float) else value), key


@pytest.mark.parametrize(("kind", "typed", "minutes", "payload"), TOUR)
def test_a_correction_of_nothing_but_the_remark_keeps_everything(
        kind: str, typed: dict[str, str], minutes: float | None, payload: dict[str, Any]) -> None:
    (record,) = numbered([made(kind, typed, minutes)])
    again, findings = checks.correct(record, {"remark": "late"}, rig=RIG, author="B", learned_ms=T, reason="r")
    assert again is not None, findings
    kept = {k: v for k, v in record.payload.items() if k not in ("remark", "typed")}
    assert {k: v for k, v in again.payload.items() if k not in ("remark", "typed")} == kept
    assert again.payload["typed"] == {**record.payload["typed"], "remark": "late"}


def test_only_moves_and_flow_checks_may_last() -> None:
    assert {k.name for k in KINDS if k.lasts} == {"transfer", "addition", "discard", "slug", "pill", "salt", "trap dump", "boat",
                                                  "flow check", "void"}


@pytest.mark.parametrize(("kind", "typed", "minutes", "column", "said"), [
    ("slug", {"from": "Suction", "volume": "20", "density": "12"}, None, "mud_density", "say the mud weight in the pipe"),
    ("slug", {"from": "Suction", "volume": "20", "density": "12", "mud_density": "10", "return": "10"}, None, "return",
     "“10” has no unit. Write it, for example 20 min or 15 s."),
    ("slug", {"from": "Suction", "volume": "20", "density": "12", "mud_density": "10", "return": "0 min"}, None, "return",
     "'0 min' is nothing: leave it out"),
    ("slug", {"from": "Suction", "volume": "20", "density": "12", "mud_density": "10 kg/m3"}, None, "mud_density",
     "10 kg/m3 can't be right: check the unit"),
    ("slug", {"from": "Suction", "volume": "20", "density": "12", "mud_density": "10", "return": "9 d"}, None, "return",
     "9 d can't be right: check the unit"),
    ("pill", {"from": "Suction", "volume": "20"}, None, "what", "say what it is"),
    ("pill", {"what": "brew", "from": "Suction", "volume": "20"}, None, "what",
     "there is no state 'brew'; known are pill, sweep, spacer, cement"),
    ("salt", {"to": "Suction", "salt": "sugar", "mass": "50 kg", "into": "10 m3"}, None, "salt",
     "there is no salt 'sugar'; known are sodium chloride, potassium chloride, calcium chloride"),
    ("salt", {"to": "Suction", "salt": "calcium cloride", "mass": "50 kg", "into": "10 m3"}, None, "salt",
     "there is no salt 'calcium cloride': did you mean calcium chloride?"),
    ("salt", {"to": "Suction", "salt": "NaCl", "mass": "5000 kg", "into": "10 m3"}, None, "mass",
     "that would be 33.4 % of sodium chloride by weight, and the table ends at 26 %, near saturation: log here what dissolves, "
     "and the rest as an addition by mass and density"),
    ("salt", {"to": "Suction", "salt": "NaCl", "mass": "50 kg", "into": "10 m3", "had": "30"}, None, "had",
     "the table of sodium chloride ends at 26 % by weight, near saturation: 30 % can't be in it"),
    ("salt", {"to": "Suction", "salt": "NaCl", "mass": "50 kg", "into": "10 m3", "had": "130 %"}, None, "had",
     "“130 %” is outside 0 to 100 %."),
    ("salt", {"to": "Suction", "salt": "NaCl", "mass": "50 kg", "into": "400"}, None, "into",
     "more than Suction holds (400.0 bbl against 384.7 bbl): check the volume and the unit, or log it in parts"),
    ("trap dump", {"from": "Settling", "before": "24", "after": "63", "what": "mud"}, None, "after",
     "nothing was dumped by these sticks: 85.5 bbl before, 224.4 bbl after. Check both, and which is which"),
    ("trap dump", {"from": "Settling", "before": "120", "after": "24", "what": "mud"}, None, "before",
     "more than Settling can hold: at its top the stick reads 108 in. Check the tank and the unit"),
    ("trap dump", {"from": "Settling", "before": "24", "after": "-2", "what": "mud"}, None, "after",
     "below the bottom of Settling: the stick can't read less than 0 in there. Check the tank and the unit"),
    ("trap dump", {"from": "Settling", "before": "24 bbl", "after": "2", "what": "mud"}, None, "before", "bbl is a volume, and a length"),
    ("trap dump", {"from": "Settling", "before": "24", "after": "2"}, None, "what", "say what went"),
    ("boat", {"volume": "30"}, None, "to", "say which tank it goes to, or comes from"),
    ("boat", {"to": "Suction"}, None, "before", "say how much: the stick before and after, or a volume"),
    ("boat", {"to": "Suction", "from": "Settling", "volume": "30"}, None, "from",
     "a boat brings mud or takes it: give the tank under to or under from, not under both"),
    ("boat", {"to": "Suction", "before": "30", "volume": "30"}, None, "after", "the stick before tells nothing without the one after"),
    ("boat", {"to": "Suction", "after": "30", "volume": "30"}, None, "before", "the stick after tells nothing without the one before"),
    ("boat", {"to": "Suction", "before": "30", "after": "20"}, None, "after",
     "by these sticks the tank lost mud: 106.9 bbl before, 71.2 bbl after. Check both, and which is which"),
    ("boat", {"from": "Suction", "before": "20", "after": "30"}, None, "after", "by these sticks the tank gained mud"),
    ("boat", {"to": "Suction", "before": "20", "after": "30", "volume": "40"}, None, "volume",
     "the volume is 40.0 bbl but the sticks make it 35.6 bbl: leave one of them out"),
    ("about to move mud", {"told": "D"}, None, "from", "say which tank it comes from, or goes to"),
    ("about to move mud", {"to": "Suction"}, None, "told", "say who was told"),
    ("about to move mud", {"from": "Suction", "to": "suction", "told": "D"}, None, "to", "from and to are both Suction"),
    ("about to move mud", {"to": "Suction", "told": "D", "state": "answered"}, None, "answer", "say what the answer was"),
    ("about to move mud", {"to": "Suction", "told": "D"}, 5, "end", "an about to move mud has no end"),
    ("valve", {"valve": "Gate 2", "state": "open"}, None, "valve", "there is no valve 'Gate 2': did you mean Gate 1?"),
    ("valve", {"valve": "Gate 1"}, None, "state", "say whether it was opened or closed"),
    ("equipment", {"equipment": "Centrifuge", "state": "on"}, None, "equipment", "there is no equipment 'Centrifuge'; known are Desander"),
    ("shakers", {"state": "off"}, None, "state", "there is no state 'off'; known are on screens, bypassed"),
    ("mud check", {}, None, "density in", "say a mud weight or a temperature, in or out"),
    ("mud check", {"temperature in": "900"}, None, "temperature in", "900 degF can't be right: check the unit"),
    ("mud check", {"density out": "10 lbm/ft3"}, None, "density out", "10 lbm/ft3 can't be right: check the unit"),
    ("gas", {"what": "trip"}, None, "gas", "say how much gas, in %"),
    ("gas", {"gas": "120"}, None, "gas", "“120” is outside 0 to 100 %."),
    ("drilling break", {"speed": "2 min/ft"}, None, "speed", "time per length"),
    ("drilling break", {"speed": "9000 ft/min"}, None, "speed", "9000 ft/min can't be right: check the unit"),
    ("return flow", {}, None, "flow", "say the flow out, the paddle or the trend"),
    ("return flow", {"flow": "-3"}, None, "flow", "below zero"),
    ("flow check", {"result": "static", "seen by": "A"}, None, "readings",
     "say how long the well was watched: an end, or the readings minute by minute"),
    ("flow check", {"result": "static"}, 15, "seen by", "say who watched"),
    ("flow check", {"result": "safe", "seen by": "A"}, 15, "result", "there is no state 'safe'; known are static, flowing, losing, unclear"),
    ("flow check", {"result": "static", "seen by": "A", "readings": "1,250"}, 2, "readings", "Set the readings apart with semicolons."),
    ("flow check", {"result": "static", "seen by": "A", "readings": "900; 800"}, 2, "readings", "so much in a minute can't be right"),
    ("shut-in", {"gain": "8"}, None, "state", "say whether the well was shut in or opened"),
    ("shut-in", {"state": "opened", "gain": "8"}, None, "gain",
     "the gain is the one when it was shut in: leave it out when the well is opened"),
    ("shut-in", {"state": "shut in", "casing pressure": "400 MPa"}, None, "casing pressure", "400 MPa can't be right: check the unit"),
    ("told driller", {"told": "D"}, None, "what", "say what was said"),
    ("stick check", {"tank": "Suction", "stick": "60"}, None, "sensor", "say what the sensor says"),
    ("stick check", {"tank": "Suction", "stick": "-1", "sensor": "3"}, None, "stick", "below the bottom of Suction"),
    ("handover", {"leaving": "A. Example", "arriving": "a.  example"}, None, "arriving", "who leaves and who takes over are both A. Example"),
    ("handover", {"leaving": "A. Example"}, None, "arriving", "say who takes over"),
    ("trip", {"direction": "out", "bit depth": "9000", "pipe": "5 19.50 NC50"}, None, "pulled", "A wet string takes its bore's mud along"),
    ("trip", {"direction": "in", "bit depth": "0", "pipe": "5 19.50 NC50"}, None, "float", "closed, open or self-filling"),
    ("trip", {"direction": "in", "bit depth": "0", "float": "open", "pulled": "dry", "pipe": "5 19.50 NC50"}, None, "pulled",
     "this is for pulling out"),
    ("trip", {"direction": "out", "bit depth": "9000", "pulled": "dry", "float": "open", "pipe": "5 19.50 NC50"}, None, "float",
     "the float is for running in"),
    ("trip", {"direction": "out", "bit depth": "9000", "pulled": "bucket", "pipe": "5 19.50 NC50"}, None, "returned", "what share"),
    ("trip", {"direction": "out", "bit depth": "9000", "pulled": "wet", "returned": "50", "pipe": "5 19.50 NC50"}, None, "returned",
     "comes back from a bucket only"),
    ("trip", {"direction": "out", "bit depth": "9000", "pulled": "dry", "pipe": "9 1/8 pipe"}, None, "pipe", "in the catalogue"),
    ("trip", {"direction": "out", "bit depth": "9000", "pulled": "dry", "pipe": "5 19.50 NC50", "bottoms-up": "not circulated"}, None,
     "not circulated because", "say why bottoms-up wasn't circulated"),
    ("trip", {"bit depth": "9000", "pipe": "5 19.50 NC50"}, None, "direction", "say whether it goes out of the hole or in"),
    ("trip decision", {"action": "flow check"}, None, "decided by", "say who decided"),
])
def test_what_cannot_stand_is_refused_at_its_field_with_what_to_do(kind: str, typed: dict[str, str], minutes: float | None,
                                                                   column: str, said: str) -> None:
    error = refused(kind, typed, minutes)
    assert error.column == column, error.what
    assert said in error.what


def test_what_is_missing_of_any_kind_is_asked_for_in_words_that_hold_no_fields_name() -> None:
    for kind in KINDS:
        for group in kind.needs:
            words = asked_for(kind, group)
            assert words.startswith("say ")
            assert "_" not in words
            assert f"{kind.name} needs" not in words
    _, found = checks.make("transfer", {}, t_ms=0, rig=RIG, learned_ms=0)
    assert [f.what for f in found if f.column in ("from", "to")] == ["say which tank it comes from", "say which tank it goes to"]


def test_what_the_rig_file_does_not_describe_is_said_with_where_to_describe_it() -> None:
    bare = replace(RIG, valves=(), equipment=())
    assert refused("valve", {"valve": "Gate 1", "state": "open"}, rig=bare).what == (
        "the rig file describes no valve: add 'Gate 1' there under [[valve]], and adopt it")
    assert refused("equipment", {"equipment": "Desander", "state": "on"}, rig=bare).what == (
        "the rig file describes no equipment: add 'Desander' there under [[equipment]], and adopt it")


def test_bare_numbers_without_a_unit_of_the_rig_are_refused_with_a_remedy() -> None:
    bare = replace(RIG, units=METRIC_UNITS)
    assert "for example 120 degF or 49 degC" in refused("mud check", {"temperature in": "40"}, rig=bare).what
    assert "for example 250 psi or 1700 kPa" in refused("shut-in", {"state": "shut in", "pipe pressure": "40"}, rig=bare).what
    assert "for example 60 ft/h or 18 m/h" in refused("drilling break", {"speed": "40"}, rig=bare).what


def test_a_decimal_comma_is_used_in_lists_levels_and_percentages() -> None:
    metric = replace(RIG, units=METRIC_UNITS, decimal=",")
    draft = made("flow check", {"readings": "0,05; 0,02", "result": "static", "seen by": "A"}, 2, metric)
    assert draft.payload["readings_m3"] == [0.05, 0.02]
    assert draft.payload["typed"]["readings"] == "0,05; 0,02 m3"
    assert made("gas", {"gas": "2,5"}, rig=metric).payload["gas_percent"] == 2.5
    assert made("stick check", {"tank": "Suction", "stick": "152,4", "sensor": "152,4"}, rig=metric).payload["stick_m"] == 1.524
    assert "semicolons" in refused("flow check", {"readings": "0,05, 0,02", "result": "static", "seen by": "A"}, 2, metric).what


def test_sticks_are_read_in_the_tanks_own_datum() -> None:
    # Down from a mark 110 in above the bottom: 20 in is a level of 90 in, 60 in one of 50 in.
    down = replace(RIG, tanks=(box_tank("Settling", "settling", active=True, order=1, gauge="down", mark_m=110 * IN),))
    typed = {"from": "Settling", "before": "20", "after": "60", "what": "mud"}
    draft = made("trap dump", typed, rig=down)
    assert (draft.payload["before_m"], draft.payload["volume_m3"]) == (pytest.approx(20 * IN), pytest.approx(40 * IN * FLOOR))
    assert "can't read more than 110 in" in refused("trap dump", {**typed, "after": "111"}, rig=down).what
    assert "at its top the stick reads 2 in" in refused("trap dump", {**typed, "before": "1"}, rig=down).what
    assert refused("trap dump", {**typed, "before": "60", "after": "20"}, rig=down).code == "wrong_way"
    # Up from a plate 4 in above the bottom: below zero is still in the tank.
    plate = replace(RIG, tanks=(box_tank("Settling", "settling", active=True, order=1, offset_m=4 * IN),))
    assert made("trap dump", {**typed, "before": "20", "after": "-3"}, rig=plate).payload["volume_m3"] == pytest.approx(23 * IN * FLOOR)
    assert "less than −4 in" in refused("trap dump", {**typed, "before": "20", "after": "-5"}, rig=plate).what


def test_a_dump_of_a_round_tank_is_worked_out_by_its_shape() -> None:
    round_tank = replace(box_tank("Settling", "settling", active=True, order=1), shape=VerticalCylinder(10 * FT, 9 * FT))
    draft = made("trap dump", {"from": "Settling", "before": "50", "after": "20", "what": "mud"}, rig=replace(RIG, tanks=(round_tank,)))
    assert draft.payload["volume_m3"] == pytest.approx(pi / 4 * (10 * FT) ** 2 * 30 * IN)


def test_outside_a_strapping_table_the_volume_is_not_guessed() -> None:
    table = replace(box_tank("Settling", "settling", active=True, order=1), shape=Strapping((0.5, 2.0), (5.0, 20.0)), brim_m=2.0)
    rig = replace(RIG, tanks=(table,))
    said = refused("trap dump", {"from": "Settling", "before": "1.5 m", "after": "0.2 m", "what": "mud"}, rig=rig).what
    assert said == "the table of Settling doesn't reach so far: its volume there isn't known"
    draft = made("stick check", {"tank": "Settling", "stick": "1 m", "sensor": "0.2 m"}, rig=rig)
    assert draft.payload["difference_m3"] is None
    assert draft.payload["difference_m"] == pytest.approx(-0.8)


def test_a_slug_that_is_not_heavier_lets_nothing_fall() -> None:
    typed = {"from": "Suction", "volume": "20", "density": "10", "mud_density": "10", "return": "10 min"}
    assert found("slug", typed)["nothing_falls"].severity == "warning"
    assert "nothing falls" in found("slug", {**typed, "density": "9.5"})["nothing_falls"].what
    assert not found("slug", {**typed, "density": "12"})


def test_a_slug_without_a_time_to_fall_is_booked_at_once_and_says_so() -> None:
    said = found("slug", {"from": "Suction", "volume": "20", "density": "12", "mud_density": "10"})["falls_at_once"]
    assert said.what == "it isn't said over what time the mud falls: what that brings back is booked at once when the slug is in"
    assert said.column == "return"


def test_salt_says_how_much_and_what_the_table_is_of() -> None:
    said = found("salt", {"to": "Reserve 1", "salt": "NaCl", "mass": "2495.5 kg", "into": "10 m3"})["salt_by_table"]
    assert said.severity == "note"
    # 0.87079 m3 are 5.477 bbl.
    assert said.what == ("5.5 bbl more, by the table of sodium chloride in water at 20 °C, and 20.0 % by weight in the end. Of mud "
                         "with solids count only the water as what it goes into")


def test_a_corrected_mass_of_salt_or_stick_gives_the_volume_anew() -> None:
    (salt,) = numbered([made("salt", {"to": "Reserve 1", "salt": "NaCl", "mass": "2495.5 kg", "into": "10 m3"})])
    less, _ = checks.correct(salt, {"mass": "100 kg"}, rig=RIG, author="B", learned_ms=T, reason="r")
    assert less is not None
    assert less.payload["volume_m3"] < salt.payload["volume_m3"] / 20
    (boat,) = numbered([made("boat", {"to": "Reserve 1", "before": "10", "after": "90"})])
    more, findings = checks.correct(boat, {"after": "95"}, rig=RIG, author="B", learned_ms=T, reason="r")
    assert more is not None, findings
    assert more.payload["volume_m3"] == pytest.approx(85 * IN * FLOOR)
    (dump,) = numbered([made("trap dump", {"from": "Settling", "before": "50", "after": "20", "what": "mud"})])
    again, _ = checks.correct(dump, {"before": "60"}, rig=RIG, author="B", learned_ms=T, reason="r")
    assert again is not None
    assert again.payload["volume_m3"] == pytest.approx(40 * IN * FLOOR)


@pytest.mark.parametrize(("ticket", "hose", "apart"), [
    # 80 in are 284.96 bbl. Two dips of ±1/4 in: u = 0.514 bbl each (1/4 in x 3.562 bbl/in / √3), 2u of both 1.454 bbl.
    ("285", "", False), ("286.4", "", False), ("286.6", "", True), ("290.4", "4", False), ("291", "4", True), ("283", "", True)])
def test_a_ticket_is_set_against_the_sticks_their_uncertainty_and_the_hose(ticket: str, hose: str, apart: bool) -> None:
    typed = {"to": "Reserve 1", "before": "10", "after": "90", "ticket": ticket, "hose": hose}
    assert ("ticket_apart" in found("boat", typed)) == apart


def test_a_ticket_apart_says_both_numbers_and_what_is_booked() -> None:
    typed = {"to": "Reserve 1", "before": "10", "after": "90", "ticket": "300", "hose": "4"}
    assert found("boat", typed)["ticket_apart"].what == (
        "the ticket says 300.0 bbl, booked are 285.0 bbl: 15.0 bbl apart, of which 4.0 bbl may be in the hose")
    unknown = replace(RIG, tanks=tuple(replace(t, dip_error_m=None) for t in RIG.tanks))
    assert found("boat", typed, rig=unknown)["ticket_apart"].what.endswith(
        "How far the sticks can be trusted isn't known: no dip error is set")
    assert made("boat", typed).payload["volume_m3"] == pytest.approx(80 * IN * FLOOR), "booked by the sticks, never by the ticket"


def test_a_typed_volume_of_a_boat_may_stand_beside_sticks_that_agree() -> None:
    typed = {"to": "Reserve 1", "before": "10", "after": "90", "volume": "285"}
    assert made("boat", typed).payload["volume_m3"] == pytest.approx(285 * BBL)
    assert "ticket_apart" in found("boat", {"to": "Reserve 1", "volume": "285", "ticket": "290"})


def test_an_announcement_is_answered_by_its_answer() -> None:
    (record,) = numbered([made("about to move mud", {"to": "Suction", "told": "D. Example", "state": "announced"})])
    again, _ = checks.correct(record, {"answer": "wait"}, rig=RIG, author="B", learned_ms=T, reason="answered")
    assert again is not None
    assert again.payload["state"] == "answered"
    assert "state" not in again.payload["typed"]


def test_mud_that_comes_out_lighter_is_a_sign() -> None:
    said = found("mud check", {"density in": "10.2", "density out": "9.8"})["lighter_out"]
    assert said.what == "the mud comes out lighter than it goes in (9.8 lbm/gal[US] against 10.2 lbm/gal[US]): gas or water may be in it"
    assert not found("mud check", {"density in": "10.2", "density out": "10.1"}), "within what was written"
    assert not found("mud check", {"density in": "10.2", "density out": "10.4"})


def test_a_drilling_break_without_a_change_is_doubted() -> None:
    assert "no_change" in found("drilling break", {"speed before": "30", "speed": "30"})
    assert "slower" in found("drilling break", {"speed before": "120", "speed": "40"})
    assert not {"slower", "no_change"} & set(found("drilling break", {"speed before": "40", "speed": "120"}))


@pytest.mark.parametrize(("readings", "minutes", "apart"), [("0.1; 0.1; 0", 3, False), ("0.1; 0.1; 0", 4, False), ("0.1; 0.1; 0", 15, True),
                                                           ("0.1; -; 0; -; 0", 5, False), ("0.1", 5, True)])
def test_readings_are_counted_against_the_minutes(readings: str, minutes: float, apart: bool) -> None:
    codes = found("flow check", {"readings": readings, "result": "unclear", "seen by": "A"}, minutes)
    assert ("minutes_disagree" in codes) == apart


@pytest.mark.parametrize(("readings", "doubted"), [
    ("0.1; 0.2; 0.3; 0.4", True), ("0; 0; 0.5; 0.5", True), ("0.4; 0.2; 0.1; 0", False), ("0.1; 0.1; 0.1; 0.1", False),
    ("0.1; 0.1; 0.2; 0.2", False), ("0; 0.4", True), ("0.4", False), ("-0.4; -0.2; 0; 0.3", True), ("0.1; -; -; 0.4", True)])
def test_static_with_rising_readings_is_doubted(readings: str, doubted: bool) -> None:
    minutes = len(readings.split(";"))
    assert ("rising_static" in found("flow check", {"readings": readings, "result": "static", "seen by": "A"}, minutes)) == doubted
    assert "rising_static" not in found("flow check", {"readings": readings, "result": "flowing", "seen by": "A"}, minutes)


def test_static_with_a_rising_trend_is_doubted() -> None:
    assert "rising_static" in found("flow check", {"trend": "rising", "result": "static", "seen by": "A"}, 15)


def test_the_sensor_is_set_against_the_stick_and_the_dip_error() -> None:
    typed = {"tank": "Suction", "stick": "60", "sensor": "62 1/4"}
    said = found("stick check", typed)["sensor_apart"]
    assert said.what == "the sensor shows 2 1/4 in, 8.0 bbl, more than the stick, beyond the dip error of 1/4 in"
    assert (said.column, said.tank) == ("sensor", "Suction")
    assert "less than the stick" in found("stick check", {**typed, "sensor": "50"})["sensor_apart"].what
    assert not found("stick check", {**typed, "sensor": "60 1/4"})
    unknown = replace(RIG, tanks=tuple(replace(t, dip_error_m=None) for t in RIG.tanks))
    assert "isn't known: no dip error is set" in found("stick check", typed, rig=unknown)["sensor_apart"].what
    assert "sensor_outside" in found("stick check", {**typed, "sensor": "-3"}), "a sensor may read what can't be: that is the point"


def test_the_difference_counts_mud_whichever_way_the_tank_is_gauged() -> None:
    down = replace(RIG, tanks=(box_tank("Suction", "suction", active=True, order=1, gauge="down", mark_m=110 * IN),))
    draft = made("stick check", {"tank": "Suction", "stick": "60", "sensor": "58"}, rig=down)
    assert draft.payload["difference_m"] == pytest.approx(2 * IN)
    assert draft.payload["difference_m3"] == pytest.approx(2 * IN * FLOOR)


FIELDS = [(kind.name, field.name) for kind in KINDS for field in kind.fields]
texts = st.one_of(st.text(max_size=30), st.text(alphabet="0123456789.,;-/'\"% inftbmph", max_size=20),
                  st.sampled_from(["nan", "1e9", "-1", "0", "999999999999999", "5' 13\"", "½", "\u0661", "Suction", "a" * 500]))


@given(st.sampled_from(FIELDS), texts, st.sampled_from([None, 0, 15]))
def test_no_text_in_any_field_raises_and_what_stands_can_be_said(place: tuple[str, str], text: str, minutes: float | None) -> None:
    kind, name = place
    whole = next((dict(typed) for k, typed, _, _ in TOUR if k == kind), {})
    for typed in ({name: text}, {**whole, name: text}):
        draft, findings = make(kind, typed, minutes if BY_NAME[kind].lasts else None)
        assert draft is not None or any(f.severity == "error" for f in findings)
        if draft is not None:
            describe(numbered([draft])[0], RIG.units, RIG.zone, RIG.decimal)


@given(st.sampled_from(FIELDS), texts)
def test_no_text_in_any_field_of_a_correction_raises(place: tuple[str, str], text: str) -> None:
    kind, name = place
    for k, typed, minutes, _ in TOUR:
        if k == kind:
            record: Record = numbered([made(kind, typed, minutes)])[0]
            checks.correct(record, {name: text}, rig=RIG, author="B", learned_ms=T, reason="r")
