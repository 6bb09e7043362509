"""A round that doesn't come, and times in which nobody watched. Interval 30 min unless said otherwise."""

import pytest
from histories import act, at, brief, evidence, gain, high, live, overdue, shown, table

from dipbook import watch

COMPLETE, PARTIAL = {"round": "yes"}, {"round": "no"}


def advance(w, time):
    return watch.step(w, watch.Advance(at(time)))


def test_it_is_raised_at_the_exact_instant_and_over_at_the_next_complete_round():
    w, _ = live(watch.start((overdue(),), 1), "01:00", **COMPLETE)
    assert watch.next_deadline(w) == at("01:30")
    w, out = advance(w, "01:29")
    assert out == ()
    w, out = advance(w, "02:00")
    assert [(tr.time, tr.learned, tr.value, tr.limit) for tr in out] == [(at("01:30"), at("01:30"), 1800.0, 1800.0)]
    w, out = live(w, "02:05", **PARTIAL)
    assert out == ()
    w, out = live(w, "02:10", **COMPLETE)
    assert brief(out) == ["overdue over"]
    w, out = act(w, "acknowledge", "02:11")
    assert brief(out) == ["overdue closed"]
    assert watch.next_deadline(w) == at("02:40")


def test_a_round_taken_exactly_when_it_is_due_is_in_time():
    _, out = watch.run((overdue(),), evidence(table("time | round\n01:00 | yes\n01:30 | yes\n02:00 | yes")))
    assert out == ()
    _, out = watch.run((overdue(),), evidence(table("time | round\n01:00 | yes\n01:30:01 | yes")))
    assert [(tr.state, tr.time) for tr in out] == [("raised", at("01:30")), ("over", at("01:30:01"))]


def test_partial_rounds_do_not_count_and_the_raise_falls_between_them():
    text = """
        time  | round
        01:00 | yes
        01:20 | no
        01:40 | no
        01:50 | yes"""
    _, out = watch.run((overdue(),), evidence(table(text)))
    assert [(tr.state, tr.time, tr.learned) for tr in out] == [
        ("raised", at("01:30"), at("01:30")), ("over", at("01:50"), at("01:50"))]


def test_a_second_missing_round_is_a_new_warning():
    w, _ = watch.run((overdue(),), evidence(table("time | round\n01:00 | yes\n02:00 | yes")))
    w, out = advance(w, "03:00")
    assert brief(out) == ["overdue closed", "overdue raised"]
    assert out[1].time == at("02:30")


def test_a_round_that_was_keyed_late_counts_from_when_it_was_taken():
    w, _ = live(watch.start((overdue(),), 1), "01:00", **COMPLETE)
    w, _ = advance(w, "01:45")
    w, out = live(w, "01:20", "01:48", **COMPLETE)
    assert brief(out) == ["overdue over"]
    assert out[0].learned == at("01:48")
    assert watch.next_deadline(w) == at("01:50")


def test_a_round_keyed_so_late_that_the_next_is_due_leaves_it_standing():
    w, _ = live(watch.start((overdue(),), 1), "01:00", **COMPLETE)
    w, _ = advance(w, "01:45")
    w, out = live(w, "01:10", "01:48", **COMPLETE)
    assert out == ()
    assert shown(w, "overdue") == "raised"


def test_an_older_round_learned_later_changes_nothing():
    w, _ = live(watch.start((overdue(),), 1), "01:00", **COMPLETE)
    w, out = live(w, "00:40", "01:10", **COMPLETE)
    assert out == ()
    assert watch.next_deadline(w) == at("01:30")


def test_a_rig_that_never_had_a_complete_round_is_overdue_too():
    w, out = watch.run((overdue(),), evidence(table("time | round\n01:00 | no\n01:20 | no")))
    assert out == ()
    _, out = advance(w, "01:30")
    assert brief(out) == ["overdue raised"]
    w, _ = watch.step(watch.start(), watch.LimitsChanged(1, at("06:00"), (overdue(),), 1))
    assert watch.next_deadline(w) == at("06:30")


def test_nothing_falls_due_while_nobody_watches_and_a_whole_interval_follows():
    w, _ = live(watch.start((overdue(),), 1), "01:00", **COMPLETE)
    w, _ = watch.step(w, watch.Unwatched(at("01:10")))
    w, out = advance(w, "04:00")
    assert (out, watch.next_deadline(w)) == ((), None)
    w, _ = watch.step(w, watch.WatchedAgain(at("04:05")))
    assert watch.next_deadline(w) == at("04:35")
    _, out = advance(w, "05:00")
    assert [tr.time for tr in out] == [at("04:35")]


def test_a_gap_learned_afterwards_shifts_the_deadline_and_keeps_what_fell_due_before_it():
    w, _ = live(watch.start((overdue(),), 1), "01:00", **COMPLETE)
    later, out = watch.step(w, watch.Unwatched(at("01:20"), at("03:00")))
    assert out == ()
    assert watch.next_deadline(later) == at("03:30")
    _, out = watch.step(w, watch.Unwatched(at("01:40"), at("03:00")))
    assert [tr.time for tr in out] == [at("01:30")]


def test_a_round_in_the_gap_does_not_shorten_the_interval_after_it():
    w, _ = live(watch.start((overdue(),), 1), "01:00", **COMPLETE)
    w, _ = watch.step(w, watch.Unwatched(at("01:10"), at("02:00")))
    w, _ = live(w, "01:50", "02:01", **COMPLETE)
    assert watch.next_deadline(w) == at("02:30")


def test_a_delay_does_not_end_while_nobody_watches():
    slow = gain(after_readings=0, after_ms=10 * 60_000)
    w, _ = live(watch.start((slow,), 1), "01:00", diff="6")
    w, out = watch.step(w, watch.Unwatched(at("01:05"), at("02:00")))
    assert out == ()
    _, out = advance(w, "02:30")
    assert [tr.time for tr in out] == [at("02:00")]


def test_watching_again_without_a_gap_postpones_nothing():
    w, _ = live(watch.start((overdue(),), 1), "01:00", **COMPLETE)
    w, _ = watch.step(w, watch.WatchedAgain(at("01:25")))
    assert watch.next_deadline(w) == at("01:30")


def test_a_single_tank_may_be_overdue():
    limit = overdue(20, on="Trip", name="trip overdue")
    w = watch.start((limit,), 1)
    w, _ = live(w, "01:00", Trip="1.2", Suction="2")
    w, _ = live(w, "01:10", Trip="?", Suction="2")
    assert watch.next_deadline(w) == at("01:20")
    w, out = advance(w, "01:20")
    assert [(tr.tank, tr.state) for tr in out] == [("Trip", "raised")]
    _, out = live(w, "01:25", Trip="1.2", Suction="2")
    assert brief(out) == ["trip overdue over"]


def test_an_import_of_yesterday_is_overdue_now_and_not_once_for_every_pause():
    w = watch.start((overdue(),), 1)
    ev = evidence(table("time | round\n01:00 | yes\n03:00 | yes\n05:00 | yes"))
    w, out = watch.step(w, watch.Learned(1, at("20:00"), ev, batch=True))
    assert [(tr.state, tr.time, tr.learned) for tr in out] == [("raised", at("20:00"), at("20:00"))]


def test_a_limit_for_an_activity_is_due_in_it_only():
    limit = overdue(30, activity="tripping")
    text = """
        time  | round | activity
        01:00 | yes   | drilling
        02:00 | no    | tripping
        02:10 | yes   | tripping"""
    _, out = watch.run((limit,), evidence(table(text)))
    assert [(tr.state, tr.time) for tr in out] == [("raised", at("02:00")), ("over", at("02:10"))]


@pytest.mark.parametrize("minutes", [5, 30])
def test_a_shorter_interval_set_now_counts_at_once(minutes):
    w, _ = live(watch.start((overdue(60),), 1), "01:00", **COMPLETE)
    w, out = watch.step(w, watch.LimitsChanged(2, at("01:20"), (overdue(minutes),), 2))
    if minutes == 5:
        assert [(tr.time, tr.learned, tr.revision) for tr in out] == [(at("01:20"), at("01:20"), 2)]
    else:
        assert (out, watch.next_deadline(w)) == ((), at("01:30"))


def test_levels_and_rounds_do_not_disturb_each_other():
    w = watch.start((overdue(), high("Suction", 2.0)), 1)
    w, _ = live(w, "01:00", Suction="2.5", **PARTIAL)
    assert shown(w, "Suction high") == "raised"
    assert shown(w, "overdue") == "closed"
