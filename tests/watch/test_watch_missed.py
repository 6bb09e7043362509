"""Ways in which a warning could be missed, each as a history. Limit 5 bbl, deadband 2 bbl, unless said otherwise.

The rules are ours: nothing is loosened by inference, tightening acts at once, what is learned late sounds now.
"""

from dataclasses import replace

import pytest
from histories import act, at, bbl, brief, evidence, gain, live, loss, many, overdue, shown, table

from dipbook import watch


def doing(w, time, activity, since=None):
    return watch.step(w, watch.Doing(0, at(time), activity, at(since or time)))


# --- an activity logged after the last reading --------------------------------------------------------------------------


def test_a_stricter_activity_logged_after_the_reading_judges_the_last_value_at_once():
    w = watch.start((gain(2, deadband=1, name="flow check", activity="static"), loss(2, activity="static")), 1)
    w, _ = live(w, "01:00", diff="3")
    w, out = doing(w, "01:03", "static")
    assert [(tr.name, tr.state, tr.time, tr.learned, tr.cause, tr.sounds) for tr in out] == [
        ("flow check", "raised", at("01:03"), at("01:03"), "activity: static", True)]
    again, out = live(w, "01:00", "01:04", diff="3", cause="a remark")
    assert out == ()
    assert shown(again, "flow check") == "raised"


def test_a_round_falls_due_by_the_limit_of_an_activity_that_began_after_the_last_round():
    w = watch.start((overdue(60), overdue(10, name="static overdue", activity="static")), 1)
    w, _ = live(w, "01:00", diff="0")
    w, out = doing(w, "01:03", "static")
    assert (out, watch.next_deadline(w)) == ((), at("01:10"))
    w, _ = live(w, "01:00", "01:05", diff="0", cause="a remark")
    assert watch.next_deadline(w) == at("01:10"), "a reading looked at again doesn't bring its activity back"
    _, out = watch.step(w, watch.Advance(at("01:20")))
    assert [(tr.name, tr.time) for tr in out] == [("static overdue", at("01:10"))]


def test_what_is_due_already_by_the_new_activity_is_overdue_now():
    w = watch.start((overdue(10, activity="static"),), 1)
    w, _ = live(w, "01:00", diff="0")
    _, out = doing(w, "01:40", "static")
    assert [(tr.state, tr.time, tr.value) for tr in out] == [("raised", at("01:40"), 2400)]


def test_an_activity_that_ends_loosens_nothing_before_the_next_reading():
    slow = gain(after_readings=0, after_ms=15_000, activity="drilling")
    w = watch.start((slow, overdue(10, activity="drilling")), 1)
    w, _ = live(w, "01:00:00", diff="6")
    w, out = doing(w, "01:00:05", "connection")
    assert out == ()
    w, out = watch.step(w, watch.Advance(at("01:30")))
    assert [(tr.name, tr.time) for tr in out] == [("gain", at("01:00:15")), ("overdue", at("01:10"))]
    w, out = live(w, "01:40", diff="6", activity="connection")
    assert shown(w) == "raised"


def test_an_activity_struck_out_is_no_longer_what_the_rig_does():
    w = watch.start((overdue(10, activity="static"),), 1)
    w, _ = live(w, "01:00", diff="0")
    w, _ = doing(w, "01:03", "static")
    w, _ = doing(w, "01:04", "drilling", "00:10")
    assert watch.next_deadline(w) is None


def test_counting_readings_goes_on_across_the_entry_of_an_activity():
    w = watch.start((gain(after_readings=2),), 1)
    w, _ = live(w, "01:00", diff="6")
    w, out = doing(w, "01:05", "static")
    assert out == ()
    _, out = live(w, "01:10", diff="6", activity="static")
    assert brief(out) == ["gain raised"]


# --- late readings, after limits were edited -----------------------------------------------------------------------------


@pytest.mark.parametrize("edit", [
    lambda x: replace(x, reason="worded anew", set_by="T. Pusher"),
    lambda x: replace(x, deadband=bbl(1), growth=None),
    lambda x: replace(x, value=bbl(4)),
    lambda x: replace(x, value=bbl(8)),
])
@pytest.mark.parametrize("restarted", [False, True])
def test_a_late_gain_raises_though_its_limit_was_edited_between(edit, restarted):
    """A round of 01:30 keyed at 02:30 shows 12 bbl. A limit of 5 stood then; at 02:00 somebody edited it."""
    w = watch.start((gain(),), 1)
    w, _ = live(w, "01:00", diff="0")
    w, _ = live(w, "01:50", diff="0")
    w, out = watch.step(w, watch.LimitsChanged(2, at("02:00"), (edit(gain()),), 2))
    assert out == ()
    if restarted:
        w = watch.resume(w.limits, 2, [], evidence(table("time | diff\n01:00 | 0\n01:50 | 0")),
                         stood={"gain": ((None, gain()), (at("02:00"), edit(gain())))})
    w, out = live(w, "01:30", "02:30", diff="12")
    assert brief(out) == ["gain raised", "gain over"]
    assert shown(w) == "over"


@pytest.mark.parametrize("restarted", [False, True])
def test_a_limit_loosened_before_a_gain_was_keyed_does_not_hide_it(restarted):
    """Set to 20 bbl at 02:00 for taking mud; the round of 01:30 with 12 bbl was keyed at 02:30. It stands on the 5 bbl
    of its time until somebody closes it; from then on 20 bbl count."""
    loose = gain(20, deadband=2)
    w = watch.start((gain(),), 1)
    w, _ = live(w, "01:00", diff="0")
    w, _ = live(w, "01:50", diff="0")
    w, _ = watch.step(w, watch.LimitsChanged(2, at("02:00"), (loose,), 2))
    if restarted:
        w = watch.resume((loose,), 2, [], evidence(table("time | diff\n01:00 | 0\n01:50 | 0")),
                         stood={"gain": ((None, gain()), (at("02:00"), loose))})
    w, out = live(w, "01:30", "02:30", diff="12")
    assert [(tr.state, tr.limit) for tr in out] == [("raised", bbl(5)), ("over", bbl(5))]
    w, _ = act(w, "acknowledge", "02:31")
    w, _ = act(w, "close", "02:32", "a slug that came back")
    w, out = live(w, "02:40", diff="12")
    assert out == ()
    assert w.slots[0].limit.value == bbl(20)


def test_a_late_reading_that_passed_no_limit_of_its_time_raises_none():
    w = watch.start((gain(),), 1)
    w, _ = live(w, "01:00", diff="0")
    w, _ = live(w, "01:50", diff="0")
    w, _ = watch.step(w, watch.LimitsChanged(2, at("02:00"), (gain(3),), 2))
    _, out = live(w, "01:30", "02:30", diff="4")
    assert out == ()


# --- late readings, while a warning is acknowledged ----------------------------------------------------------------------


def test_another_excursion_of_the_past_sounds_while_the_warning_is_acknowledged_and_stands():
    w = watch.start((gain(),), 1)
    w, _ = live(w, "00:10", diff="0")
    w, _ = live(w, "00:45", diff="0")
    w, _ = live(w, "01:00", diff="6")
    w, _ = act(w, "acknowledge", "01:01")
    w, out = many(w, "01:10", "time | diff\n00:30 | 30\n00:45 | 0\n01:00 | 6")
    assert [(tr.event, tr.state, tr.time, tr.sounds) for tr in out] == [("REA", "raised", at("00:30"), True)]
    assert shown(w) == "raised"
    w, _ = act(w, "acknowledge", "01:11")
    _, out = many(w, "01:20", "time | diff\n00:30 | 30\n00:45 | 0\n01:00 | 6")
    assert out == (), "it has sounded"


# --- sound ---------------------------------------------------------------------------------------------------------------


def test_a_clock_set_back_does_not_draw_a_silence_out():
    w = watch.start((gain(),), 1)
    w, _ = live(w, "10:00", diff="6")
    w, _ = watch.step(w, watch.Act("silence", at_ms=at("10:01:00")))
    assert not watch.sounding(w, at("10:01:29"))
    assert watch.sounding(w, at("09:01:05"))


# --- gaps ----------------------------------------------------------------------------------------------------------------


def test_a_short_gap_before_a_round_is_due_postpones_nothing():
    """A computer that sleeps for a minute every twenty: the round is due all the same."""
    w, _ = live(watch.start((overdue(),), 1), "01:00", diff="0")
    for a, b in (("01:10", "01:11"), ("01:28", "01:29")):
        w, _ = watch.step(w, watch.Unwatched(at(a), at(b)))
        assert watch.next_deadline(w) == at("01:30")
    _, out = watch.step(w, watch.Advance(at("01:40")))
    assert [tr.time for tr in out] == [at("01:30")]


def test_a_gap_over_the_deadline_gives_a_whole_interval_and_a_later_short_one_nothing_more():
    w, _ = live(watch.start((overdue(),), 1), "01:00", diff="0")
    w, _ = watch.step(w, watch.Unwatched(at("01:20"), at("03:00")))
    w, _ = watch.step(w, watch.Unwatched(at("03:10"), at("03:11")))
    assert watch.next_deadline(w) == at("03:30")
    again = watch.resume(w.limits, 1, [], evidence(table("time | diff\n01:00 | 0")),
                         unwatched=[(at("01:20"), at("03:00")), (at("03:10"), at("03:11"))])
    assert watch.next_deadline(again) == at("03:30")
