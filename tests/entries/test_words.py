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
    assert {records.RIG, records.ROUND, records.SAMPLES, records.WARNING, records.UNWATCHED} <= set(LABELS)
