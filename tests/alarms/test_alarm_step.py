"""One warning, one step. Deadband on return only, delay beyond the whole time: OPC UA Part 9."""

import pytest

from dipbook.alarms import AlarmState, RefusedError
from dipbook.alarms.step import Sample, apply, beyond, clear, read
from dipbook.errors import EntryError
from dipbook.limits import Limit


def limit(kind="gain", **kw):
    fields = {"name": kind, "kind": kind, "on": "active", "activity": "any", "value": 5.0, "value_is": "volume",
              "deadband": 2.0, "growth": 2.0, "after_readings": 1, "after_ms": 0, "set_by": "", "reason": "", "since": ""}
    return Limit(**{**fields, **kw})


RAISED = AlarmState(code="UNACK", active=True, occurrence="a", raised_t=0, learned=0, sounded=5.0, worst=5.0)


@pytest.mark.parametrize(("kind", "value", "is_beyond", "is_clear"), [
    ("gain", 5.0, True, False), ("gain", 4.999, False, False), ("gain", 3.001, False, False), ("gain", 3.0, False, True),
    ("gain", -9.0, False, True), ("loss", -5.0, True, False), ("loss", -4.999, False, False),
    ("loss", -3.0, False, True), ("loss", 9.0, False, True),
    ("high", 5.0, True, False), ("high", 3.0, False, True), ("low", 5.0, True, False), ("low", 4.0, True, False),
    ("low", 6.999, False, False), ("low", 7.0, False, True),
])
def test_a_limit_is_passed_at_its_value_and_over_a_deadband_back(kind, value, is_beyond, is_clear):
    measure = value * (-1 if kind in ("loss", "low") else 1)
    assert bool(beyond(limit(kind), measure)) is is_beyond
    assert bool(clear(limit(kind), measure)) is is_clear


def test_without_a_deadband_a_reading_at_the_limit_still_stands():
    assert beyond(limit(deadband=0.0), 5.0)
    assert not clear(limit(deadband=0.0), 5.0)
    assert clear(limit(deadband=0.0), 4.9)


def test_a_limit_in_barrels_is_met_exactly_in_spite_of_rounding():
    bbl = 0.158987294928
    assert beyond(limit(value=5 * bbl), (407.3 - 402.3) * bbl)
    assert clear(limit(value=5 * bbl, deadband=2 * bbl), 3 * bbl)


@pytest.mark.parametrize(("code", "latching_kind", "to"), [
    ("UNACK", "gain", "LUNAK"), ("UNACK", "high", "RTNUN"), ("ACKED", "loss", "LACKD"), ("ACKED", "high", "NORM")])
def test_the_end_of_the_condition_latches_gain_and_loss_only(code, latching_kind, to):
    state = AlarmState(code=code, active=True, occurrence="a", acked=code == "ACKED")
    assert apply(state, "RTN", limit(latching_kind), t_ms=1, learned=1).code == to


def test_a_refusal_says_why_and_carries_state_and_event():
    with pytest.raises(RefusedError, match="condition still stands") as e:
        apply(RAISED, "RST", limit(), t_ms=1, learned=1)
    assert (e.value.state, e.value.event) == ("UNACK", "RST")
    assert isinstance(e.value, EntryError)
    over = AlarmState(code="LUNAK", occurrence="a")
    with pytest.raises(RefusedError, match="nobody has acknowledged"):
        apply(over, "RST", limit(), t_ms=1, learned=1)
    with pytest.raises(RefusedError, match="acknowledged already"):
        apply(AlarmState(code="ACKED", active=True), "ACK", limit(), t_ms=1, learned=1)
    with pytest.raises(RefusedError, match="closed already"):
        apply(AlarmState(), "RST", limit(), t_ms=1, learned=1)
    with pytest.raises(RefusedError, match=r"can.t be\. Its sound"):
        apply(RAISED, "SHV", limit(), t_ms=1, learned=1)


def test_raising_again_keeps_the_occurrence_unless_it_had_ended_without_latching():
    latched = AlarmState(code="LACKD", occurrence="a", raised_t=7, learned=8, sounded=5.0, worst=6.0, acked=True)
    again = apply(latched, "ACT", limit(), t_ms=9, learned=9, measure=5.5, occurrence="b")
    assert (again.occurrence, again.raised_t, again.worst, again.sounded, again.acked) == ("a", 7, 6.0, 5.5, False)
    ended = AlarmState(code="RTNUN", occurrence="a", raised_t=7, worst=6.0)
    fresh = apply(ended, "ACT", limit("high"), t_ms=9, learned=9, measure=5.5, occurrence="b")
    assert (fresh.occurrence, fresh.raised_t, fresh.worst) == ("b", 9, 5.5)


def test_consecutive_readings_are_counted_and_one_inside_starts_anew():
    three = limit(after_readings=3)
    state, events = AlarmState(), []
    for t, value in enumerate((5, 6, 4.9, 5, 5, 5)):
        state, event = read(state, three, Sample(t, value))
        events.append(event)
    assert events == [None, None, None, None, None, "ACT"]
    held, _ = read(AlarmState(run=2, beyond_since=0), three, Sample(9, 1.0, partial=True))
    assert held.run == 2
    again, _ = read(AlarmState(run=2, beyond_since=0), three, Sample(9, 6.0), counts=False)
    assert again.run == 2
    off, _ = read(AlarmState(run=2, beyond_since=0), three, Sample(9, 6.0), applies=False)
    assert off.run == 0
