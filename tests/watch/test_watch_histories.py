"""Histories of readings and the state after each. Limit 5 bbl, deadband 2 bbl, unless said otherwise.

Sources: states of ANSI/ISA-18.2-2016 and IEC 62682 (latched ones from memory); deadband, delay and bad quality as OPC UA
Part 9 has them; that unknown and partial readings never end a warning is ours.
"""

import dataclasses

import pytest
from histories import act, at, bbl, brief, evidence, gain, high, live, loss, low, many, shown, table

from dipbook import watch
from dipbook.errors import EntryError

HISTORIES = {
    "just below, exactly at the limit": ((gain(),), """
        time  | diff  | state
        01:00 | 4.99  | closed
        01:10 | 5     | raised"""),
    "deadband from above: over at limit less deadband, not before": ((gain(),), """
        time  | diff  | state
        01:00 | 6     | raised
        01:10 | 4     | raised
        01:20 | 3.01  | raised
        01:30 | 3     | over"""),
    "deadband from below: doesn't raise": ((gain(),), """
        time  | diff  | state
        01:00 | 1     | closed
        01:10 | 4.5   | closed
        01:20 | 3.5   | closed"""),
    "unknown holds, the sensor comes back inside": ((gain(),), """
        time  | diff  | state
        01:00 | ?     | closed
        01:10 | 6     | raised
        01:20 | ?     | raised
        01:30 | ?     | raised
        01:40 | 1     | over"""),
    "unknown isn't taken for healthy before, comes back beyond": ((gain(),), """
        time  | diff  | state
        01:00 | 1     | closed
        01:10 | ?     | closed
        01:20 | 8     | raised"""),
    "partial raises and doesn't clear": ((gain(),), """
        time  | diff  | state
        01:00 | ~5.5  | raised
        01:10 | ~0    | raised
        01:20 | 0     | over"""),
    "not watched holds both ways": ((gain(),), """
        time  | diff  | state
        01:00 | x     | closed
        01:10 | 6     | raised
        01:20 | x     | raised
        01:30 | 0     | over"""),
    "over and not acknowledged, raised again: the same warning": ((gain(),), """
        time  | diff  | state
        01:00 | 6     | raised
        01:10 | 1     | over
        01:20 | 5     | raised"""),
    "two readings in a row": ((gain(after_readings=2),), """
        time  | diff  | state
        01:00 | 6     | closed
        01:10 | 4     | closed
        01:20 | 6     | closed
        01:30 | ?     | closed
        01:40 | 5     | raised"""),
    "acknowledged while it stands, then over, then closed": ((gain(),), """
        time  | diff  | does                       | state
        01:00 | 6     |                            | raised
        01:05 |       | acknowledge                | acknowledged
        01:10 | 4     |                            | acknowledged
        01:20 | 2     |                            | over_acknowledged
        01:25 |       | close pit gate leaked      | closed
        01:30 | 6     |                            | raised"""),
    "over before anyone acknowledges": ((gain(),), """
        time  | diff  | does                       | state
        01:00 | 6     |                            | raised
        01:10 | 2     |                            | over
        01:15 |       | acknowledge                | over_acknowledged
        01:20 | 2     |                            | over_acknowledged
        01:25 |       | close looked at it         | closed"""),
    "growth sounds again, less doesn't": ((gain(),), """
        time  | diff  | does                       | state
        01:00 | 5.4   |                            | raised
        01:05 |       | acknowledge                | acknowledged
        01:10 | 7.3   |                            | acknowledged
        01:20 | 7.4   |                            | raised
        01:25 |       | acknowledge                | acknowledged
        01:30 | 9.3   |                            | acknowledged
        01:40 | 9.4   |                            | raised"""),
    "growth counts from the worst that sounded": ((gain(),), """
        time  | diff  | does                       | state
        01:00 | 5.4   |                            | raised
        01:10 | 9     |                            | raised
        01:15 |       | acknowledge                | acknowledged
        01:20 | 7.1   |                            | acknowledged
        01:30 | 10.9  |                            | acknowledged
        01:40 | ~11   |                            | raised"""),
    "a gain that fell and grows again sounds again, long before it is back where it was": ((gain(),), """
        time  | diff  | does                       | state
        01:00 | 24.9  |                            | raised
        01:05 |       | acknowledge                | acknowledged
        01:10 | 6.9   |                            | acknowledged
        01:20 | 10.8  |                            | acknowledged
        01:30 | 10.9  |                            | raised"""),
    "no growth step, no second sound": ((gain(growth=None),), """
        time  | diff  | does                       | state
        01:00 | 5.4   |                            | raised
        01:05 |       | acknowledge                | acknowledged
        01:10 | 50    |                            | acknowledged"""),
    "beyond again after over and acknowledged": ((gain(),), """
        time  | diff  | does                       | state
        01:00 | 9     |                            | raised
        01:05 |       | acknowledge                | acknowledged
        01:10 | 1     |                            | over_acknowledged
        01:20 | 4.9   |                            | over_acknowledged
        01:30 | 5     |                            | raised"""),
    "growth after over doesn't wait for a second reading": ((gain(after_readings=2),), """
        time  | diff  | does                       | state
        01:00 | 9     |                            | closed
        01:01 | 9     |                            | raised
        01:05 |       | acknowledge                | acknowledged
        01:10 | 1     |                            | over_acknowledged
        01:20 | 6     |                            | over_acknowledged
        01:22 | 1     |                            | over_acknowledged
        01:30 | 11    |                            | raised"""),
}


@pytest.mark.parametrize("name", HISTORIES)
def test_a_history_leads_to_its_states(name):
    limits, text = HISTORIES[name]
    w = watch.start(limits, 1)
    for row in table(text):
        if row.get("does"):
            action, _, note = row["does"].partition(" ")
            w, _ = act(w, action, row["time"], note)
        else:
            w, _ = live(w, row["time"], diff=row["diff"])
        assert shown(w) == row["state"], row


def test_a_loss_is_the_mirror_of_a_gain():
    w = watch.start((gain(), loss()), 1)
    states = []
    for minute, diff in enumerate(("-4.99", "-5", "-4", "-3", "5")):
        w, _ = live(w, f"01:0{minute}", diff=diff)
        states.append((shown(w), shown(w, "loss")))
    assert states == [("closed", "closed"), ("closed", "raised"), ("closed", "raised"), ("closed", "over"),
                      ("raised", "over")]


@pytest.mark.parametrize(("limit", "levels", "states"), [
    (high("Suction", 2.0), "1.99 2.0 1.96 1.95", "closed raised raised over"),
    (low("Suction", 1.0), "1.01 1.0 1.04 1.05", "closed raised raised over"),
    (high("Suction", 2.0), "2.1 ? 1.0", "raised raised over"),
    (high("Suction", 2.0), "2.1 1.0 2.0", "raised over raised"),
])
def test_high_and_low_are_looked_at_with_each_dip(limit, levels, states):
    w = watch.start((limit,), 1)
    seen = []
    for minute, level in enumerate(levels.split()):
        w, _ = live(w, f"01:0{minute}", Suction=level)
        seen.append(shown(w, limit.name))
    assert seen == states.split()


def test_a_high_level_closes_by_itself_once_acknowledged_and_over_in_either_order():
    for order in ("ack first", "over first"):
        w = watch.start((high("Suction", 2.0),), 1)
        w, _ = live(w, "01:00", Suction="2.1")
        if order == "ack first":
            w, _ = act(w, "acknowledge", "01:01")
            w, out = live(w, "01:02", Suction="1.0")
        else:
            w, _ = live(w, "01:01", Suction="1.0")
            w, out = act(w, "acknowledge", "01:02")
        assert brief(out) == ["Suction high closed"]
        assert not w.open_slots()


def test_a_level_that_is_high_again_before_anyone_looked_is_a_new_warning_and_the_old_one_ends():
    """ISA-18.2: from returned and unacknowledged, a new occurrence."""
    w = watch.start((high("Suction", 2.0),), 1)
    w, first = live(w, "01:00", Suction="2.1")
    w, _ = live(w, "01:01", Suction="1.0")
    w, out = live(w, "01:02", Suction="2.2")
    assert brief(out) == ["Suction high closed", "Suction high raised"]
    assert out[0].occurrence == first[0].occurrence != out[1].occurrence
    assert out[1].sounds
    assert not out[0].sounds


def test_a_delay_is_up_at_its_exact_instant_and_only_if_beyond_all_the_while():
    slow = gain(after_readings=0, after_ms=15_000)
    w = watch.start((slow,), 1)
    w, _ = live(w, "01:00:00", diff="6")
    assert watch.next_deadline(w) == at("01:00:15")
    back, out = live(w, "01:00:14", diff="4.9")
    assert watch.next_deadline(back) is None
    w, out = watch.step(w, watch.Advance(at("01:00:40")))
    assert [(tr.time, tr.learned, tr.state) for tr in out] == [(at("01:00:15"), at("01:00:15"), "raised")]
    assert watch.next_deadline(w) is None


def test_closing_is_refused_while_it_stands_unacknowledged_or_without_a_note():
    w = watch.start((gain(),), 1)
    w, _ = live(w, "01:00", diff="6")
    with pytest.raises(watch.RefusedError, match="condition still stands"):
        act(w, "close", "01:01", "note")
    acked, _ = act(w, "acknowledge", "01:01")
    with pytest.raises(watch.RefusedError, match="condition still stands"):
        act(acked, "close", "01:02", "note")
    over, _ = live(w, "01:10", diff="0")
    with pytest.raises(watch.RefusedError, match="nobody has acknowledged"):
        act(over, "close", "01:11", "note")
    done, _ = act(over, "acknowledge", "01:11")
    for note in ("", "   "):
        with pytest.raises(watch.RefusedError, match="write a note"):
            act(done, "close", "01:12", note)
    with pytest.raises(EntryError, match="closed already"):
        watch.step(done, watch.Act("acknowledge", "no such", at_ms=at("01:12")))
    with pytest.raises(EntryError, match="shelve"):
        act(done, "shelve", "01:12")


def test_sound_goes_on_until_acknowledged_and_silence_lasts_thirty_seconds():
    """IMO MSC.302(87): sound may be silenced for 30 s."""
    w = watch.start((gain(), high("Suction", 2.0)), 1)
    assert not watch.sounding(w, at("00:00"))
    w, _ = live(w, "01:00", diff="6", Suction="1")
    assert watch.sounding(w, at("01:00"))
    w, out = watch.step(w, watch.Act("silence", at_ms=at("01:00:10")))
    assert out == ()
    assert not watch.sounding(w, at("01:00:39"))
    assert watch.sounding(w, at("01:00:40"))
    w, _ = watch.step(w, watch.Act("silence", at_ms=at("01:01:00")))
    w, _ = live(w, "01:01:05", diff="6", Suction="2.5")
    assert watch.sounding(w, at("01:01:06")), "a new warning isn't covered by a silence given before it"
    w, _ = act(w, "acknowledge", "01:02", which=0)
    assert watch.sounding(w, at("01:02"))
    w, _ = act(w, "acknowledge", "01:02", which=1)
    assert not watch.sounding(w, at("01:02"))


def test_a_warning_that_is_over_but_unacknowledged_still_sounds():
    w = watch.start((gain(),), 1)
    w, _ = live(w, "01:00", diff="6")
    w, out = live(w, "01:10", diff="0")
    assert not out[0].sounds
    assert watch.sounding(w, at("01:10"))


def test_a_limit_counts_for_its_activity_and_the_strictest_counts_while_unknown():
    w0 = watch.start((gain(3, name="tripping", activity="tripping"), gain(8, name="any")), 1)
    for activity, raised in (("drilling", []), ("tripping", ["tripping raised"]), ("unknown", ["tripping raised"])):
        _, out = live(w0, "01:00", diff="4", activity=activity)
        assert brief(out) == raised


def test_a_change_of_activity_neither_ends_nor_loosens_what_stands():
    w = watch.start((gain(3, deadband=1, name="tripping", activity="tripping"),), 1)
    w, _ = live(w, "01:00", diff="4", activity="tripping")
    w, out = live(w, "01:10", diff="3.5", activity="drilling")
    assert (out, shown(w, "tripping")) == ((), "raised")
    w, _ = live(w, "01:20", diff="1.9", activity="drilling")
    w, _ = act(w, "acknowledge", "01:21")
    w, _ = act(w, "close", "01:22", "ok")
    w, out = live(w, "01:30", diff="9", activity="drilling")
    assert out == ()


def test_an_activity_logged_after_the_reading_tightens_at_once():
    w = watch.start((gain(3, name="tripping", activity="tripping"),), 1)
    w, _ = live(w, "01:00", diff="4", activity="drilling")
    _, out = live(w, "01:00", "01:03", diff="4", activity="tripping", cause="activity logged")
    assert [(tr.state, tr.learned, tr.cause) for tr in out] == [("raised", at("01:03"), "activity logged")]


def test_limits_that_nothing_watches_are_listed_with_why():
    from_file = (gain(), high("Suction", 2.0), high("Nowhere", 2.0), gain(name="tank", on="Suction"))
    later = dataclasses.replace(gain(), kind="rate", name="rate", watched=False)
    said = watch.not_watched((*from_file, later), ("Suction",))
    assert [limit.name for limit, _ in said] == ["Nowhere high", "tank", "rate"]
    w = watch.start((later,), 1)
    assert w.slots == ()


def test_all_surface_is_watched_by_its_own_limit():
    ev = watch.Evidence([at("01:00")], difference={"active": [bbl(9)], "all surface": [bbl(3)]}, activity=("static",))
    _, out = watch.run((gain(3, name="tight", on="all surface"), gain(10)), ev)
    assert [(tr.name, tr.system) for tr in out] == [("tight", "all surface")]


def test_evidence_that_does_not_fit_together_is_refused():
    with pytest.raises(ValueError, match="must rise"):
        watch.Evidence([2, 1])
    with pytest.raises(ValueError, match="difference of active"):
        watch.Evidence([1, 2], difference={"active": [1.0]})
    with pytest.raises(ValueError, match="activity"):
        watch.Evidence([1, 2], activity=("static",))
    ev = evidence(table("time | diff\n01:00 | 1\n01:10 | ?"))
    assert len(ev.rows(1, 2)) == 1


def test_many_readings_learned_at_once_are_stepped_one_by_one():
    w = watch.start((gain(),), 1)
    w, out = many(w, "02:00", "time | diff\n01:00 | 6\n01:10 | 1\n01:20 | 7")
    assert [(tr.state, tr.time, tr.learned) for tr in out] == [
        ("raised", at("01:00"), at("02:00")), ("over", at("01:10"), at("02:00")), ("raised", at("01:20"), at("02:00"))]
