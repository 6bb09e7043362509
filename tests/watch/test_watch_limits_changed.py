"""Limits set, tightened, loosened and removed. An edit is looked at once (ISA-18.2, management of change)."""

import dataclasses

from histories import act, at, bbl, brief, gain, high, live, shown

from dipbook import watch


def change(w, time, *limits, revision=2):
    return watch.step(w, watch.LimitsChanged(9, at(time), limits, revision, by="R. Vance"))


def started(diff="4", *limits):
    w = watch.start(limits or (gain(5),), 1)
    w, _ = live(w, "01:00", diff=diff)
    return w


def close(w, time):
    w, _ = act(w, "acknowledge", time)
    return act(w, "close", time, "looked at")[0]


def test_a_tighter_limit_raises_at_once_at_the_time_of_the_edit():
    _, out = change(started("4"), "01:07", gain(3))
    assert [(tr.state, tr.time, tr.learned, tr.cause, tr.revision, tr.limit) for tr in out] == [
        ("raised", at("01:07"), at("01:07"), "limit changed", 2, bbl(3))]
    assert out[0].evidence["t"] == at("01:00")


def test_a_new_limit_looks_at_the_last_known_value():
    w = watch.start((), 1)
    w, _ = live(w, "01:00", diff="6")
    w, _ = live(w, "01:10", diff="?")
    _, out = change(w, "01:15", gain(5))
    assert brief(out) == ["gain raised"]


def test_an_unwatched_system_is_not_looked_at_by_an_edit():
    w = watch.start((), 1)
    w, _ = live(w, "01:00", diff="6")
    w, _ = live(w, "01:10", diff="x")
    _, out = change(w, "01:15", gain(5))
    assert out == ()


def test_the_last_value_counts_once_toward_readings_in_a_row():
    w, out = change(started("4"), "01:05", gain(3, after_readings=2))
    assert out == ()
    _, out = live(w, "01:10", diff="4")
    assert brief(out) == ["gain raised"]


def test_loosening_waits_until_the_warning_is_closed():
    w = started("6")
    w, out = change(w, "01:05", gain(50))
    assert (out, shown(w)) == ((), "raised")
    w, out = live(w, "01:10", diff="3.5")
    assert out == (), "the deadband of the limit it stands on"
    w, out = live(w, "01:20", diff="3")
    assert [(tr.state, tr.limit, tr.revision) for tr in out] == [("over", bbl(5), 1)]
    w = close(w, "01:25")
    w, out = live(w, "01:30", diff="49")
    assert out == ()
    w, out = live(w, "01:40", diff="50")
    assert [(tr.state, tr.limit, tr.revision) for tr in out] == [("raised", bbl(50), 2)]


def test_removal_waits_until_the_warning_is_closed():
    w = started("6")
    w, out = change(w, "01:05")
    assert (out, shown(w), w.limits) == ((), "raised", ())
    w, out = live(w, "01:10", diff="1")
    assert brief(out) == ["gain over"]
    w = close(w, "01:15")
    assert w.slots == ()
    assert live(w, "01:20", diff="99")[1] == ()


def test_a_removed_limit_that_ends_by_itself_is_gone_too():
    w = watch.start((high("Suction", 2.0),), 1)
    w, _ = live(w, "01:00", Suction="2.2")
    w, _ = act(w, "acknowledge", "01:01")
    w, _ = change(w, "01:05")
    w, out = live(w, "01:10", Suction="1.0")
    assert brief(out) == ["Suction high closed"]
    assert w.slots == ()
    assert live(w, "01:20", Suction="3")[1] == ()


def test_tightening_under_an_open_warning_acts_at_once_and_is_journalled():
    w = started("6")
    w, _ = act(w, "acknowledge", "01:01")
    w, out = change(w, "01:05", gain(3, deadband=1))
    assert [(tr.event, tr.state, tr.from_state, tr.limit, tr.sounds, tr.by) for tr in out] == [
        ("EDIT", "acknowledged", "acknowledged", bbl(3), False, "R. Vance")]
    w, out = live(w, "01:10", diff="2.5")
    assert out == ()
    _, out = live(w, "01:20", diff="2")
    assert brief(out) == ["gain over_acknowledged"]


def test_tightening_raises_again_what_was_over():
    w = started("6")
    w, _ = live(w, "01:10", diff="2.5")
    w, _ = act(w, "acknowledge", "01:11")
    _, out = change(w, "01:15", gain(2))
    assert brief(out) == ["gain over_acknowledged", "gain raised"]
    assert [tr.event for tr in out] == ["EDIT", "ACT"]


def test_tightened_then_loosened_keeps_the_tightest_till_closed():
    w = started("6")
    w, _ = change(w, "01:05", gain(3))
    w, out = change(w, "01:06", gain(9), revision=3)
    assert out == ()
    w, out = live(w, "01:10", diff="2")
    assert out == ()
    _, out = live(w, "01:20", diff="1")
    assert (brief(out), out[0].limit) == (["gain over"], bbl(3))


def test_a_smaller_growth_counts_at_once_and_a_larger_waits():
    for growth, raised in ((1.0, True), (9.0, False)):
        w = started("6")
        w, _ = act(w, "acknowledge", "01:01")
        w, _ = change(w, "01:05", gain(5, growth=growth))
        w, out = live(w, "01:10", diff="7")
        assert bool(out) is raised
    w, out = live(w, "01:20", diff="8")
    assert brief(out) == ["gain raised"]


def test_a_limit_moved_to_another_system_leaves_the_open_warning_where_it_was():
    w = started("6")
    w, out = change(w, "01:05", gain(5, on="all surface"))
    assert out == ()
    assert [s.limit.on for s in w.slots] == ["all surface", "active"]
    _, out = live(w, "01:10", diff="0")
    assert [(tr.state, tr.system) for tr in out] == [("over", "active")]


def test_setting_the_same_limits_again_changes_nothing():
    w = started("6")
    again, out = change(w, "01:05", dataclasses.replace(gain(5), reason="reviewed"))
    assert out == ()
    assert again.slots[0].alarm == w.slots[0].alarm
