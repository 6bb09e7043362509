"""Every record in words. The values are small round ones in the units of the test rig, so the words are plain to see."""

from __future__ import annotations

from typing import Any

import pytest

from builders import METRIC_UNITS, OILFIELD_UNITS, two_box_rig
from dipbook import records
from dipbook.entries.checks import make, strike
from dipbook.entries.kinds import KINDS
from dipbook.entries.words import LABELS, describe
from dipbook.records import Dip, Draft, Record, numbered
from entries.tour_cases import TOUR, tour_rig

ZONE = "Etc/GMT+6"
T = 1_772_352_900_000  # 2026-03-01 02:15 on the rig
MIN = 60_000
RIG = two_box_rig()


def entry(kind: str, typed: dict[str, str], end_ms: int | None = None, **other: Any) -> Record:
    draft, found = make(kind, typed, t_ms=T, end_ms=end_ms, rig=RIG, author="R. Moe", learned_ms=T, **other)
    assert draft is not None, found
    return numbered((draft,))[0]


def said(record: Record) -> str:
    return describe(record, OILFIELD_UNITS, ZONE, ".")


@pytest.mark.parametrize(("kind", "typed", "end", "words"), [
    ("transfer", {"from": "Reserve 1", "to": "Suction", "volume": "24"}, 15, "Reserve 1 to Suction: 24.0 bbl, until 02:30"),
    ("transfer", {"from": "Reserve 1", "to": "Suction", "state": "running"}, None,
     "Reserve 1 to Suction: amount not known yet, running"),
    ("transfer", {"from": "Reserve 1", "to": "Suction", "state": "running", "rate": "2 bbl/min"}, None,
     "Reserve 1 to Suction: at 2 bbl/min, running"),
    ("addition", {"to": "Suction", "volume": "10", "remark": "water."}, None, "To Suction: 10.0 bbl. water"),
    ("addition", {"to": "Suction", "volume": "10", "material": "base oil"}, None, "To Suction: base oil, 10.0 bbl"),
    ("addition", {"to": "Suction", "mass": "5000 lbm", "density": "35"}, 1440,
     "To Suction: 3.4 bbl, 5000 lbm of 35.0 lbm/gal[US], until 2026-03-02 02:15"),
    ("discard", {"from": "Settling", "volume": "12 bbl"}, None, "From Settling: 12.0 bbl"),
    ("line-up", {"tank": "Reserve 1", "state": "in"}, None, "Reserve 1 joins the active system"),
    ("line-up", {"tank": "Suction", "state": "out"}, None, "Suction leaves the active system"),
    ("line-up", {"tank": "flow line", "to": "none"}, None, "Flow line: no returns to the tanks"),
    ("line-up", {"tank": "flow line", "to": "Reserve 1"}, None, "Flow line: to Reserve 1"),
    ("pumps", {"state": "off"}, None, "Pumps off"),
    ("pumps", {"state": "on", "pump": "1", "spm": "70", "flow": "300"}, None,
     "Pump 1 on, 70 strokes a minute, 300 gal[US]/min"),
    ("depth", {"hole depth": "9500"}, None, "Hole 9500.0 ft"),
    ("stand filled", {}, None, "Stand of 93.0 ft filled"),
    ("activity", {"activity": "well control"}, None, "Well control"),
    ("rate in force", {"rate": "2 bbl/h", "state": "on", "from": "active", "remark": "shakers"}, None,
     "2 bbl/h out of active: on. shakers"),
    ("zero", {"reason": "start of tour", "length": "40 ft"}, None,
     "Difference set to zero, 40.0 ft of full pipe above the rotary, reason: start of tour"),
    ("remark", {"remark": "Gas 120 units"}, None, "Gas 120 units"),
    ("void", {"tank": "Suction", "reason": "float stuck"}, 5, "Readings of Suction struck out from 02:15 to 02:20: float stuck"),
    ("watch", {"state": "off", "reason": "rig move"}, None, "Watch off: rig move")])
def test_an_entry_in_words(kind: str, typed: dict[str, str], end: int | None, words: str) -> None:
    assert said(entry(kind, typed, None if end is None else T + end * MIN)) == words


SAID = [
    "From Reserve 1: 20.0 bbl of 12.0 lbm/gal[US] into mud of 10.0 lbm/gal[US], until 02:20, falls back over 10 min",
    "Sweep from Reserve 1: 30.0 bbl of 11.0 lbm/gal[US], until 02:25",
    "Spacer from Reserve 1: 30.0 bbl",
    "To Reserve 1: 5.5 bbl more from 2495.5 kg of sodium chloride in 62.9 bbl, until 02:45",
    "To Reserve 1: 1.2 bbl more from 500 kg of potassium chloride in 62.9 bbl with 3 % in it",
    "Settled solids from Settling: 138.9 bbl, stick 5' 3\" before, 24 in after, until 02:18",
    "Boat to Reserve 1: 286.8 bbl, stick 10 in before, 90 1/2 in after, ticket 290.0 bbl, hose 4.0 bbl, until 03:15",
    "Reserve 1 to the boat: 285.0 bbl, stick 90 in before, 10 in after, hose 0.0 bbl",
    "Boat to Reserve 1: 300.0 bbl",
    "Reserve 1 to Suction, 30.0 bbl, told D. Example, no answer yet",
    "To Suction, told D. Example, answer: go ahead",
    "To Suction, told D. Example, called off",
    "Gate 1 opened",
    "Desander on, holds 6.0 bbl",
    "Returns bypass the screens",
    "Mud in 10.2 lbm/gal[US], 104 degF; out 10.2 lbm/gal[US], 113 degF",
    "Background gas 2.5 %",
    "Gas 0 %",
    "Drills at 90 ft/h, before at 30 ft/h, hole 9500.0 ft, told D. Example, answer: flow check",
    "Flow out 300 gal[US]/min, paddle 45 %, steady",
    "Flow out 0 gal[US]/min, paddle 0 %",
    "Flow check at the shoe, 3 min: static, 0.4; 0.2; 0.1 bbl, falling, seen by A. Example",
    "Flow check: losing, -0.5, -, 0.0 bbl, seen by A. Example",
    "Well shut in, gain 8.0 bbl, drill pipe 0 psi, casing 400 psi, told T. Example",
    "Well opened, casing 0 psi",
    "Well shut in, gain 0.0 bbl",
    "To D. Example: gain of 5 bbl. Answer: stopping the pumps",
    "Suction: stick 60 in, sensor 5' 0 1/4\": the sensor shows 1/4 in, 0.9 bbl, more",
    "A pit drill begins: the float of Suction is raised by 6 in. T. Example consents, A. Example runs it, not announced. "
    "Target 5 min, set by T. Example. weekly",
    "A pit drill begins: the float of Suction is raised by 10 in. T. Example consents, A. Example runs it",
    "Pit drill: recognised, D. Example",
    "The pit drill is called off by T. Example: returns rose",
    "Float proved back by D. Example. Suction: stick 60 in, sensor 60 in, the same",
    "Trip 3, out from 9000.0 ft, pulled with a bucket that gives back 80 %, 5 19.50 NC50, bit change, mud in 12.0 lbm/gal[US], "
    "bottoms-up not circulated: losses, gas 1.5 %",
    "Trip in from 0.0 ft, self-filling float, 13 3/8 casing 61",
    "Trip ended, joints against the tally: 104 of 104, signed by A. Example",
    "Trip ended",
    "Decided by T. Example: flow check",
    "A. Example to B. Example. pit 2 leaks",
    "Limits, as they were set, approved by T. Example. programme"]


@pytest.mark.parametrize(("case", "words"), list(zip(TOUR, SAID, strict=True)), ids=[kind for kind, *_ in TOUR])
def test_an_entry_of_a_tour_in_words(case: tuple[str, dict[str, str], float | None, dict[str, Any]], words: str) -> None:
    kind, typed, minutes, _ = case
    rig = tour_rig()
    draft, found = make(kind, typed, t_ms=T, end_ms=None if minutes is None else T + round(minutes * MIN), rig=rig, learned_ms=T)
    assert draft is not None, found
    assert describe(numbered((draft,))[0], rig.units, ZONE, ".") == words
    assert "safe" not in words.casefold(), "no words say that a well is safe"


def test_what_nobody_typed_is_said_in_the_crews_units_and_nothing_is_lost() -> None:
    payload = {"readings_m3": [0.05, None, -0.004], "result": "losing", "seen_by": "A", "end_ms": T + 90_000, "place": "at bottom"}
    assert describe(numbered((Draft("flow check", T, T, "", payload),))[0], METRIC_UNITS, ZONE, ",") == (
        "Flow check at bottom, 1,5 min: losing, 0,050; -; −0,004 m3, seen by A")
    check = {"tank": "Suction", "stick_m": 1.5, "sensor_m": 1.48, "difference_m": -0.02, "difference_m3": None}
    assert describe(numbered((Draft("stick check", T, T, "", check),))[0], METRIC_UNITS, ZONE, ",") == (
        "Suction: stick 150,0 cm, sensor 148,0 cm: the sensor shows 2,0 cm less")
    same = {**check, "sensor_m": 1.5, "difference_m": 0.0, "difference_m3": 0.0}
    assert describe(numbered((Draft("stick check", T, T, "", same),))[0], METRIC_UNITS, ZONE, ",").endswith("sensor 150,0 cm, the same")


@pytest.mark.parametrize("kind", [kind.name for kind in KINDS])
def test_an_empty_payload_of_any_kind_is_described_and_never_raises(kind: str) -> None:
    assert isinstance(said(numbered((Draft(kind, T, T, "", {}),))[0]), str)


def test_a_correction_and_a_strike_say_why() -> None:
    first = entry("discard", {"from": "Settling", "volume": "12 bbl"})
    again = entry("discard", {"from": "Settling", "volume": "13 bbl"}, supersedes=first.uid, reason="misread")
    assert said(again) == "From Settling: 13.0 bbl. Reason: misread"
    draft, _ = strike(first, author="X", learned_ms=T, reason="twice")
    assert draft is not None
    assert said(numbered((draft,))[0]) == "Struck out: twice"


def test_a_round_in_words() -> None:
    dips = (Dip("Settling", T, "5' 3\"", level_m=1.6), Dip("Suction", T, "=", level_m=1.5, unchanged=True),
            Dip("Reserve 1", T, "", level_m=60 * 0.0254, flag="foam"), Dip("Pill", T, "", volume_m3=1.58987294928))
    draft = Draft(records.ROUND, T, T, "R. Moe", {"start_ms": T - 10 * MIN, "end_ms": T, "observer": "J. Ek",
                                                  "remark": "rain", "complete": False}, dips)
    assert said(numbered((draft,))[0]) == (
        "4 tanks gauged 02:05 to 02:15 by J. Ek, not all tanks: Settling 5' 3\"; Suction same as before; "
        "Reserve 1 60 in (foam); Pill 10.0 bbl. rain")


def test_a_row_of_a_trip_in_words() -> None:
    dips = (Dip("Suction", T, "99 1/4 in", level_m=2.52),)
    row = Draft(records.TRIP_ROW, T, T, "R. Moe", {"what": "stand", "stand": 12, "bit_depth_m": 8907 * 0.3048, "strokes": 7.0,
                                                   "remark": "tight"}, dips)
    assert said(numbered((row,))[0]) == "Stand 12, bit 8907.0 ft, Suction 99 1/4 in, 7 strokes. tight"
    refill = Draft(records.TRIP_ROW, T, T, "R. Moe", {"what": "refill", "from": "Reserve 1"}, dips)
    assert said(numbered((refill,))[0]) == "Refill, Suction 99 1/4 in, from Reserve 1"
    assert said(numbered((Draft(records.TRIP_ROW, T, T, "R. Moe", {"what": "fill"}, dips),))[0]) == (
        "Reading, no pipe moved, Suction 99 1/4 in")


@pytest.mark.parametrize(("kind", "payload", "words"), [
    (records.RIG, {"effective": "change", "text": "rig = 1"}, "The rig's description changed"),
    (records.RIG, {"effective": "correction"}, "The rig's description corrected"),
    (records.SAMPLES, {"file": "readings.csv", "source": "import"}, "Readings from readings.csv"),
    (records.UNWATCHED, {"from_ms": T - 90 * MIN, "to_ms": T, "cause": "crashed"},
     "Nobody watched from 00:45 to 02:15: the program stopped without warning"),
    ("something new", {"remark": "as it says"}, "as it says"), ("something new", {}, "")])
def test_other_records_in_words(kind: str, payload: dict[str, Any], words: str) -> None:
    assert said(numbered((Draft(kind, T, T, "", payload),))[0]) == words


@pytest.mark.parametrize(("payload", "words"), [
    ({"name": "gain", "state": "raised", "text": "Gain 6.1 bbl, limit 5.0 bbl."}, "Gain 6.1 bbl, limit 5.0 bbl"),
    ({"name": "gain", "state": "closed", "text": "Gain closed by R. Moe: boat", "note": "boat"},
     "Gain closed by R. Moe: boat"),
    ({"name": "gain", "state": "over_acknowledged", "note": "boat"}, "gain: over, acknowledged. Note: boat")])
def test_a_warning_is_told_in_the_words_of_the_watch(payload: dict[str, Any], words: str) -> None:
    assert said(numbered((Draft(records.WARNING, T, T, "", payload),))[0]) == words


def test_the_crews_units_and_comma_are_used() -> None:
    record = entry("transfer", {"from": "Reserve 1", "to": "Suction", "volume": "24 bbl"})
    assert describe(record, METRIC_UNITS, ZONE, ",") == "Reserve 1 to Suction: 3,82 m3"


def test_every_kind_has_a_label() -> None:
    assert {kind.name for kind in KINDS} <= set(LABELS)
    assert {records.RIG, records.ROUND, records.SAMPLES, records.WARNING, records.UNWATCHED, records.TRIP_ROW} <= set(LABELS)
