"""Limits that are shelved or out of service: followed all the same, back in time, and the same after a restart."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from histories import MIN, at, brief, evidence, gain, high, live, shown, table

from dipbook import watch
from dipbook.errors import EntryError

HIGH = replace(high("A", 2.0), shelve_ms=30 * MIN)


def do(w, action, time, limit="A high", **kw):
    kw = {"note": "agitator", "by": "J. Ortiz", **kw}
    return watch.step(w, watch.Act(action, at_ms=at(time), limit=limit, **kw))


def resumed(w, out, tail=None):
    payloads = [json.loads(json.dumps(t.payload())) for t in out]
    return watch.resume(w.limits, w.revision, payloads, tail)


def state_of(w):
    return [(s.alarm.code, s.alarm.active, s.alarm.occurrence, s.alarm.aside) for s in w.slots]


def test_a_shelf_ends_at_its_time_and_sounds_if_it_still_stands():
    w, o1 = live(watch.start((HIGH,), 1), "01:00", A="2.1")
    w, o2 = do(w, "shelve", "01:01", until_ms=at("01:21"))
    assert not watch.sounding(w, at("01:02"))
    assert watch.next_deadline(w) == at("01:21")
    w, quiet = live(w, "01:10", A="2.2")
    assert not quiet
    w, o3 = watch.step(w, watch.Advance(at("01:21")))
    assert brief(o3) == ["A high raised"]
    assert o3[0].sounds
    assert o3[0].event == "UNS"
    assert watch.sounding(w, at("01:22"))
    assert state_of(resumed(w, (*o1, *o2, *o3))) == state_of(w)


def test_what_comes_and_goes_on_the_shelf_is_written_and_makes_no_sound():
    w, o1 = do(watch.start((HIGH,), 1), "shelve", "01:00", until_ms=at("01:30"))
    w, o2 = live(w, "01:05", A="2.1")
    assert [(t.event, t.state, t.sounds) for t in o2] == [("ACT", "shelved", False)]
    assert state_of(resumed(w, (*o1, *o2))) == state_of(w)
    w, o3 = live(w, "01:10", A="1.0")
    assert [(t.event, t.state) for t in o3] == [("RTN", "shelved")]
    assert state_of(resumed(w, (*o1, *o2, *o3))) == state_of(w)
    w, o4 = do(w, "unshelve", "01:12")
    assert shown(w, "A high") == "closed"
    assert state_of(resumed(w, (*o1, *o2, *o3, *o4))) == state_of(w)


def test_a_shelf_for_one_time_ends_with_the_condition():
    w, _ = live(watch.start((HIGH,), 1), "01:00", A="2.1")
    w, _ = do(w, "shelve", "01:01", once=True)
    assert w.slots[0].alarm.aside.until_ms == at("01:31")
    w, _ = live(w, "01:05", A="1.0")
    assert shown(w, "A high") == "closed"
    _, out = live(w, "01:10", A="2.1")
    assert brief(out) == ["A high raised"]


@pytest.mark.parametrize(("limit", "kw", "words"), [
    (gain(), {"limit": "gain", "until_ms": at("01:10")}, "can't be"),
    (high("A", 2.0), {"until_ms": at("01:10")}, "nobody has set"),
    (HIGH, {"until_ms": at("01:32")}, "30 min at most"), (HIGH, {"until_ms": at("01:00")}, "past"),
    (HIGH, {}, "until when"), (HIGH, {"until_ms": at("01:10"), "note": " "}, "why"),
    (HIGH, {"until_ms": at("01:10"), "by": ""}, "who"),
])
def test_a_shelf_is_refused_in_words(limit, kw, words):
    w = watch.start((limit,), 1)
    with pytest.raises(EntryError, match=words):
        do(w, "shelve", "01:01", **kw)


def test_out_of_service_a_gain_is_followed_and_waits_for_a_person_when_it_is_back():
    w, o1 = do(watch.start((gain(),), 1), "out of service", "01:00", "gain", instead="stick each 5 min by the mud hand")
    w, o2 = live(w, "01:05", diff="6")
    w, o3 = live(w, "01:10", diff="0")
    assert [t.state for t in (*o1, *o2, *o3)] == ["out of service"] * 3
    w, _ = watch.step(w, watch.Advance(at("12:00")))
    assert shown(w) == "out of service", "nothing puts it back by itself"
    w, o4 = do(w, "back in service", "12:01", "gain")
    assert w.slots[0].alarm.code == "LUNAK"
    assert o4[0].sounds
    assert state_of(resumed(w, (*o1, *o2, *o3, *o4))) == state_of(w)


def test_a_gain_that_is_open_is_not_taken_out_of_service_and_nothing_is_without_a_substitute():
    w, _ = live(watch.start((gain(),), 1), "01:00", diff="6")
    with pytest.raises(watch.RefusedError, match="warning is open"):
        do(w, "out of service", "01:01", "gain", instead="stick")
    with pytest.raises(EntryError, match="instead"):
        do(watch.start((gain(),), 1), "out of service", "01:01", "gain")


def test_readings_replayed_together_end_a_shelf_as_one_by_one():
    w, _ = do(watch.start((HIGH,), 1), "shelve", "01:00", until_ms=at("01:20"))
    rows = table("""
        time  | A
        01:05 | 2.1
        01:15 | 2.3
        01:25 | 2.2
        01:30 | 1.0""")
    whole, out = watch.step(w, watch.Learned(0, at("01:30"), evidence(rows), replay=True))
    step, each = w, ()
    for row in rows:
        step, more = watch.step(step, watch.Learned(0, at(row["time"]), evidence([row]), replay=True))
        each += more
    assert state_of(whole) == state_of(step)
    assert [t.payload() for t in out] == [t.payload() for t in each]
    assert [(t.event, t.time) for t in out] == [("ACT", at("01:05")), ("UNS", at("01:20")), ("RTN", at("01:30"))]


def test_a_late_reading_is_followed_on_the_shelf_without_a_sound():
    w, _ = live(watch.start((HIGH,), 1), "01:00", A="1.0")
    w, _ = live(w, "01:30", A="1.0")
    w, _ = do(w, "shelve", "01:31", until_ms=at("01:50"))
    w, out = live(w, "01:15", "01:35", A="2.4")
    assert [(t.event, t.state) for t in out] == [("ACT", "shelved"), ("RTN", "shelved")]
    assert not watch.sounding(w, at("01:36"))
