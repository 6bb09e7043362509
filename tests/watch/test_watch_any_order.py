"""Anything in any order: late, repeated, struck and imported readings, acts, edits, gaps. What must hold all the same."""

import numpy as np
from histories import T0, bbl, gain, high, loss, overdue
from hypothesis import given, settings
from hypothesis import strategies as st

from dipbook import watch
from dipbook.alarms import allowed, code_of, outcome
from dipbook.alarms.step import beyond, side
from dipbook.errors import EntryError

START = (gain(5), loss(5), gain(4, name="slow", after_readings=0, after_ms=15_000),
         gain(3, name="two", after_readings=2, activity="tripping"), high("A", 2.0), overdue(1))
OTHERS = (
    (gain(3), loss(5, deadband=4), high("A", 2.5), overdue(0.5)),
    (gain(50), high("A", 1.0), high("B", 1.0)),
    (), START,
)
READING = st.tuples(st.integers(0, 60), st.sampled_from([-9, -5, 0, 2.9, 3, 3.5, 4.9, 5, 7, 12, None]),
                    st.booleans(), st.booleans(), st.sampled_from([None, 0.5, 1.96, 2.0, 2.6]),
                    st.sampled_from(["drilling", "tripping", "unknown"]))
EVENT = st.one_of(
    st.tuples(st.just("learn"), st.lists(READING, max_size=6), st.sampled_from(["", "batch", "struck"])),
    st.tuples(st.just("act"), st.sampled_from(["acknowledge", "close", "silence"]), st.integers(0, 5)),
    st.tuples(st.just("limits"), st.integers(0, 3), st.just(0)),
    st.tuples(st.just("advance"), st.integers(1, 90), st.just(0)),
    st.tuples(st.just("doing"), st.sampled_from(["drilling", "tripping"]), st.just(0)),
    st.tuples(st.just("gap"), st.sampled_from(["off", "on", "past"]), st.integers(0, 60)),
)


def rows_of(readings):
    by_time = {r[0]: r for r in readings}
    rows = [by_time[k] for k in sorted(by_time)]
    return watch.Evidence(
        [T0 + r[0] * 1000 for r in rows],
        difference={"active": [np.nan if r[1] is None else bbl(r[1]) for r in rows]},
        partial={"active": [r[2] for r in rows]}, level={"A": [np.nan if r[4] is None else r[4] for r in rows]},
        complete=[r[3] for r in rows], activity=tuple(r[5] for r in rows))


def event_of(made, w, now, number):
    what, first, second = made
    if what == "learn":
        ev = rows_of(first)
        return watch.Learned(number, now, ev, batch=second == "batch",
                             struck_from_ms=(int(ev.t_ms[0]) if len(ev) else T0 + 20_000) if second == "struck" else None)
    if what == "act":
        slots = w.open_slots()
        occurrence = slots[second % len(slots)].alarm.occurrence if slots else ""
        return watch.Act(first, occurrence, "J. Ortiz", "note", now)
    if what == "limits":
        return watch.LimitsChanged(number, now, OTHERS[first], number)
    if what == "doing":
        return watch.Doing(number, now, first, now)
    if what == "gap":
        return {"off": watch.Unwatched(now), "on": watch.WatchedAgain(now),
                "past": watch.Unwatched(now - second * 500, now)}[first]
    return watch.Advance(now)


def play(events):
    """Yields (before, event, after, transitions), time going on a second and more with each event."""
    w, now = watch.start(START, 1), T0 + 61_000
    for number, made in enumerate(events, 2):
        now += 1000 * (made[1] if made[0] == "advance" else 1)
        event = event_of(made, w, now, number)
        try:
            after, out = watch.step(w, event)
        except EntryError:
            continue
        yield w, event, after, out
        w = after


@given(st.lists(EVENT, max_size=25))
@settings(max_examples=120, deadline=None)
def test_every_line_of_the_journal_is_a_move_of_the_table_and_follows_the_one_before(events):
    journal = []
    states = {}
    for _, _, _, out in play(events):
        journal += out
    assert [tr.learned for tr in journal] == sorted(tr.learned for tr in journal)
    for tr in journal:
        assert tr.time <= tr.learned
        latching = tr.kind in ("gain", "loss")
        assert tr.from_state == states.get(tr.occurrence, "closed")
        if tr.event != "EDIT" and not (tr.state == "closed" and tr.event == "ACT"):
            code = code_of(tr.from_state, latching)
            assert outcome(code, tr.event, latching) == code_of(tr.state, latching)
        states[tr.occurrence] = tr.state
        assert watch.from_payload(tr.payload()) == tr


@given(st.lists(EVENT, max_size=25))
@settings(max_examples=120, deadline=None)
def test_no_warning_of_gain_or_loss_ends_without_a_person(events):
    for before, event, after, out in play(events):
        if not isinstance(event, watch.Act):
            gone = [s for s in before.open_slots() if s.limit.latching
                    and s.alarm.occurrence not in {x.alarm.occurrence for x in after.open_slots()}]
            assert gone == []
        for tr in out:
            if tr.state == "closed" and tr.kind in ("gain", "loss"):
                assert (tr.event, tr.by, tr.note) == ("RST", "J. Ortiz", "note")


@given(st.lists(EVENT, max_size=25))
@settings(max_examples=200, deadline=None)
def test_a_last_reading_beyond_a_limit_is_never_without_a_warning(events):
    for _, event, after, _ in play(events):
        if not isinstance(event, watch.Learned):
            continue
        for slot in after.slots:
            channel = ("level", slot.limit.on) if slot.limit.kind == "high" else ("difference", "active")
            sample = after.last.get(channel)
            if slot.limit.name not in ("gain", "loss", "A high") or sample is None:
                continue
            if beyond(slot.limit, side(slot.limit) * sample.value):
                assert slot.alarm.active


@given(st.lists(EVENT, max_size=25))
@settings(max_examples=120, deadline=None)
def test_the_journal_alone_brings_the_open_warnings_back(events):
    journal, last = [], watch.start(START, 1)
    for _, _, after, out in play(events):
        journal += out
        last = after
    again = watch.resume(last.limits, last.revision, [tr.payload() for tr in journal])
    assert {(s.limit.name, s.alarm.occurrence, s.alarm.code, s.limit.value) for s in again.open_slots()} == {
        (s.limit.name, s.alarm.occurrence, s.alarm.code, s.limit.value) for s in last.open_slots()}
    assert again.spans == last.spans
    for slot in again.open_slots():
        assert set(allowed(slot.alarm.code, slot.limit.latching)) <= {"acknowledge", "close", "out of service"}


@given(st.lists(EVENT, max_size=15), st.lists(st.integers(0, 400), max_size=30))
@settings(max_examples=120, deadline=None)
def test_ticks_between_change_nothing_whatever_happens(events, ticks):
    def told(extra):
        w, now, out = watch.start(START, 1), T0 + 61_000, []
        pending = sorted(T0 + 61_000 + 1000 * s + 500 for s in extra)
        for number, made in enumerate(events, 2):
            now += 1000 * (made[1] if made[0] == "advance" else 1)
            while pending and pending[0] < now:
                w, more = watch.step(w, watch.Advance(pending.pop(0)))
                out += more
            try:
                w, more = watch.step(w, event_of(made, w, now, number))
            except EntryError:
                w, more = watch.step(w, watch.Advance(now - 1))
            out += more
        w, more = watch.step(w, watch.Advance(now + 300_000))
        return [(tr.name, tr.state, tr.event, tr.time, tr.learned, tr.value) for tr in (*out, *more)], w.slots

    assert told(ticks) == told([])
