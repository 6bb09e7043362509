"""What holds for any history: speed changes nothing, ticks change nothing, a restart changes nothing."""

import dataclasses

import numpy as np
from histories import T0, act, bbl, evidence, gain, high, live, loss, low, overdue
from hypothesis import given, settings
from hypothesis import strategies as st

from dipbook import watch
from dipbook.errors import EntryError

LIMITS = (
    gain(5), loss(5), gain(3, deadband=0, name="two", after_readings=2), gain(4, name="slow", after_readings=0, after_ms=15_000),
    gain(2, deadband=1, name="tripping", activity="tripping", on="all surface"), high("A", 2.0), low("A", 1.0),
    high("B", 1.5, 0.0, name="B slow", after_readings=0, after_ms=20_000, activity="drilling"), overdue(0.5),
    overdue(0.5, name="overdue trip", activity="tripping"), overdue(0.4, name="B overdue", on="B"),
)

ROW = st.tuples(
    st.integers(1, 25),                                                     # seconds since the row before
    st.sampled_from([-8, -5, -3, 0, 2, 2.9, 3, 3.5, 4, 5, 6, 7, 9, None]),  # difference, bbl
    st.sampled_from([0, 0, 0, 1]),                                          # partial
    st.sampled_from([1, 1, 1, 0]),                                          # watched
    st.sampled_from([None, 0.5, 1.0, 1.04, 1.5, 1.96, 2.0, 2.5]),           # level of A
    st.sampled_from([None, 1.0, 1.5, 1.6]),                                 # level of B
    st.booleans(),                                                          # complete
    st.sampled_from(["drilling", "tripping", "unknown", "static"]),
)


def columns(rows):
    t = T0 + np.cumsum([r[0] for r in rows]) * 1000
    diff = np.array([np.nan if r[1] is None else bbl(r[1]) for r in rows], dtype=float)
    return watch.Evidence(
        t, difference={"active": diff, "all surface": -diff}, u={"active": np.full(len(rows), 0.1)},
        partial={"active": [bool(r[2]) for r in rows]}, watched={"active": [bool(r[3]) for r in rows]},
        level={k: [np.nan if r[i] is None else r[i] for r in rows] for k, i in (("A", 4), ("B", 5))},
        complete=[r[6] for r in rows], activity=tuple(r[7] for r in rows))


def one(ev, i, **kw):
    return watch.Learned(0, int(ev.t_ms[i]), ev.rows(i, i + 1), **kw)


def try_step(w, event):
    """An act that is refused leaves the watch as it was."""
    try:
        return watch.step(w, event)
    except EntryError:
        return w, ()


def acts(w, action, at_ms):
    """The act on every warning that is open, each refused or done."""
    out = ()
    for slot in w.open_slots():
        w, made = try_step(w, watch.Act(action, slot.alarm.occurrence, "J. Ortiz", "note", at_ms))
        out += made
    return w, out


@given(st.lists(ROW, min_size=1, max_size=40))
@settings(max_examples=60, deadline=None)
def test_running_over_all_rows_at_once_is_stepping_each(rows):
    ev = columns(rows)
    fast, fast_out = watch.run(LIMITS, ev, 3)
    for replay in (True, False):
        w, out = watch.start(LIMITS, 3), ()
        for i in range(len(ev)):
            w, made = watch.step(w, one(ev, i, replay=replay))
            out += made
        assert [tr.payload() for tr in out] == [tr.payload() for tr in fast_out]
        assert w == fast


@given(st.lists(ROW, min_size=2, max_size=40), st.integers(0, 40),
       st.lists(st.sampled_from(["acknowledge", "close", ""]), max_size=40))
@settings(max_examples=60, deadline=None)
def test_running_on_from_any_state_is_stepping_each(rows, split, deeds):
    ev = columns(rows)
    split = min(split, len(ev) - 1)
    w = watch.start(LIMITS, 3)
    for i in range(split):
        w, _ = watch.step(w, one(ev, i))
        w, _ = acts(w, deeds[i] if i < len(deeds) else "", int(ev.t_ms[i]))
    fast, fast_out = watch.step(w, watch.Learned(0, int(ev.t_ms[-1]), ev.rows(split, len(ev)), replay=True))
    out = ()
    for i in range(split, len(ev)):
        w, made = watch.step(w, one(ev, i))
        out += made
    assert [tr.payload() for tr in out] == [tr.payload() for tr in fast_out]
    assert w.slots == fast.slots
    assert w.spans == fast.spans


def plain(limit_bbl, deadband_bbl, rows):
    """An independent oracle: one gain limit, nobody acts. Yields (row, state) where the state changes."""
    state, sign = "closed", []
    for i, (_, diff, partial, watched, *_rest) in enumerate(rows):
        if diff is None or not watched:
            continue
        if diff >= limit_bbl and state in ("closed", "over"):
            state = "raised"
            sign.append((i, state))
        elif diff <= limit_bbl - deadband_bbl and not partial and state == "raised":
            state = "over"
            sign.append((i, state))
    return sign


@given(st.lists(ROW, min_size=1, max_size=60))
@settings(max_examples=60, deadline=None)
def test_a_gain_follows_its_definition_to_the_letter(rows):
    ev = columns(rows)
    _, out = watch.run((gain(5),), ev)
    row_of = {int(t): i for i, t in enumerate(ev.t_ms)}
    assert [(row_of[tr.time], tr.state) for tr in out] == plain(5, 2, rows)


@given(st.lists(ROW, min_size=1, max_size=25), st.lists(st.integers(0, 700), max_size=60),
       st.lists(st.sampled_from(["acknowledge", "close", ""]), max_size=25))
@settings(max_examples=60, deadline=None)
def test_how_often_time_is_told_changes_nothing(rows, ticks, deeds):
    ev = columns(rows)
    end = int(ev.t_ms[-1]) + 60_000

    def play(times):
        w, out = watch.start(LIMITS, 3), ()
        pending = sorted(times)
        for i in range(len(ev)):
            now = int(ev.t_ms[i])
            while pending and pending[0] < now:
                w, made = watch.step(w, watch.Advance(pending.pop(0)))
                out += made
            w, made = watch.step(w, one(ev, i))
            out += made
            w, made = acts(w, deeds[i] if i < len(deeds) else "", now)
            out += made
        for tick in [p for p in pending if p < end] + [end]:
            w, made = watch.step(w, watch.Advance(tick))
            out += made
        return w, [tr.payload() for tr in out]

    assert play([T0 + 1000 * s for s in ticks]) == play([])
    exact = []
    w = watch.start(LIMITS, 3)
    for i in range(len(ev)):
        w, _ = watch.step(w, one(ev, i))
        exact.append(watch.next_deadline(w))
    assert play([d for d in exact if d is not None]) == play([])


@given(st.lists(ROW, min_size=2, max_size=25), st.integers(1, 24),
       st.lists(st.sampled_from(["acknowledge", "close", "", ""]), max_size=25))
@settings(max_examples=60, deadline=None)
def test_a_restart_at_any_point_changes_nothing_and_sounds_nothing_again(rows, cut, deeds):
    ev = columns(rows)
    cut = min(cut, len(ev) - 1)
    w, journal = watch.start(LIMITS, 3), []
    for i in range(cut):
        w, made = watch.step(w, one(ev, i))
        journal += made
        w, made = acts(w, deeds[i] if i < len(deeds) else "", int(ev.t_ms[i]))
        journal += made
    again = watch.resume(LIMITS, 3, [tr.payload() for tr in journal], ev.rows(0, cut), began_ms=w.began)
    assert again.slots == w.slots
    assert again.spans == w.spans
    assert dataclasses.replace(again, now=w.now) == w
    _, out = watch.step(again, watch.Learned(0, int(ev.t_ms[cut - 1]), ev.rows(cut - 1, cut), cause="restart"))
    assert [tr for tr in out if tr.sounds] == [], "the last reading told once more"
    for i in range(cut, len(ev)):
        w, one_out = watch.step(w, one(ev, i))
        again, two_out = watch.step(again, one(ev, i))
        assert [tr.payload() for tr in one_out] == [tr.payload() for tr in two_out]


@given(st.lists(ROW, min_size=1, max_size=30))
@settings(max_examples=60, deadline=None)
def test_telling_the_same_readings_again_sounds_nothing(rows):
    ev = columns(rows)
    once, _ = watch.run((gain(5), loss(5), high("A", 2.0)), ev)
    later = int(ev.t_ms[-1]) + 5_000
    for batch in (False, True):
        _, out = watch.step(once, watch.Learned(0, later, ev, batch=batch))
        assert out == ()


@given(st.lists(ROW, min_size=1, max_size=30))
@settings(max_examples=60, deadline=None)
def test_an_import_sounds_at_most_once_a_limit_and_if_anything_was_beyond(rows):
    ev = columns(rows)
    _, each = watch.run(LIMITS, ev)
    _, out = watch.step(watch.start(LIMITS), watch.Learned(0, int(ev.t_ms[-1]) + 1, ev, batch=True))
    sounded = [tr.name for tr in out if tr.sounds and tr.kind != "overdue"]
    assert len(sounded) == len(set(sounded))
    assert {tr.name for tr in each if tr.sounds and tr.kind != "overdue"} <= set(sounded)


def test_a_crash_that_lost_a_warning_raises_it_after_the_restart():
    w = watch.start((gain(),), 1)
    w, _ = live(w, "01:00", diff="6")
    tail = evidence([{"time": "01:00", "diff": "6"}])
    again = watch.resume((gain(),), 1, [], tail)
    assert not again.open_slots()
    again, out = watch.step(again, watch.Learned(0, T0 + 3_700_000, tail, cause="restart"))
    assert [(tr.state, tr.occurrence) for tr in out] == [("raised", w.slots[0].alarm.occurrence)]


def test_a_restart_keeps_a_looser_or_removed_limit_waiting_and_takes_a_tighter_one():
    w = watch.start((gain(5),), 1)
    w, one_out = live(w, "01:00", diff="6")
    w, two_out = act(w, "acknowledge", "01:01")
    payloads = [tr.payload() for tr in (*one_out, *two_out)]
    tail = evidence([{"time": "01:00", "diff": "6"}])
    for limits, stands_on in (((gain(50),), 5), ((), 5), ((gain(3),), 3)):
        again = watch.resume(limits, 2, payloads, tail)
        assert [s.limit.value for s in again.open_slots()] == [bbl(stands_on)]
        assert not watch.sounding(again, T0)


def test_twelve_hours_at_one_hertz_leave_a_journal_in_order():
    n = 43_200
    rng = np.random.default_rng(7)
    diff = np.cumsum(rng.normal(0, 0.02, n))
    levels = {f"T{i}": 1.0 + np.cumsum(rng.normal(0, 0.002, n)) for i in range(12)}
    ev = watch.Evidence(T0 + np.arange(n) * 1000, difference={"active": diff, "all surface": diff}, level=levels,
                        complete=np.ones(n, bool), activity=("drilling",) * n)
    limits = (gain(), loss(), overdue(), gain(3, name="slow", after_ms=15_000, after_readings=0),
              *(high(k, 1.1) for k in levels), *(low(k, 0.9) for k in levels))
    _, out = watch.run(limits, ev)
    assert len(out) > 20
    assert [tr.learned for tr in out] == sorted(tr.learned for tr in out)
