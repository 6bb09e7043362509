"""What becomes known later: late dips, corrections, struck rounds, imports. Warnings follow the order of learning."""

from histories import act, at, bbl, brief, evidence, gain, high, live, many, shown, table

from dipbook import watch


def seen(*rows):
    """A watch that saw (time, diff) live."""
    w = watch.start((gain(),), 1)
    for time, diff in rows:
        w, _ = live(w, time, diff=diff)
    return w


def test_a_late_reading_that_was_beyond_raises_now_marked_with_when_it_was():
    w = seen(("01:00", "1"), ("01:30", "1"))
    w, out = live(w, "01:15", "01:40", diff="6")
    assert [(tr.state, tr.time, tr.learned) for tr in out] == [
        ("raised", at("01:15"), at("01:40")), ("over", at("01:30"), at("01:40"))]
    assert out[0].cause == "learned late"
    assert shown(w) == "over", "already over, and still to be acknowledged"
    assert watch.sounding(w, at("01:40"))


def test_a_late_excursion_stays_raised_where_nothing_complete_has_shown_it_over():
    for later in ("4", "~1"):
        w = seen(("01:00", "1"), ("01:30", later))
        w, _ = live(w, "01:15", "01:40", diff="6")
        assert shown(w) == "raised"


def test_a_late_reading_inside_ends_nothing():
    w = seen(("01:00", "1"), ("01:30", "6"))
    w, out = live(w, "01:15", "01:40", diff="0")
    assert (out, shown(w)) == ((), "raised")


def test_the_same_readings_told_again_raise_nothing_twice():
    text = "time | diff\n01:00 | 1\n01:10 | 6\n01:20 | 7\n01:30 | 1\n01:40 | 2"
    w = watch.start((gain(),), 1)
    for row in table(text):
        w, _ = live(w, row["time"], diff=row["diff"])
    again, out = many(w, "01:50", text)
    assert out == ()
    assert again.slots == w.slots
    w, _ = act(w, "acknowledge", "01:51")
    w, _ = act(w, "close", "01:52", "transfer not logged")
    again, out = many(w, "01:55", text)
    assert (out, again.slots) == ((), w.slots)


def test_an_earlier_start_of_an_excursion_that_sounded_is_not_a_new_one():
    w = seen(("01:00", "1"), ("01:10", "6"), ("01:30", "1"))
    w, _ = act(w, "acknowledge", "01:31")
    _, out = many(w, "01:40", "time | diff\n01:00 | 1\n01:05 | 5.5\n01:10 | 6\n01:30 | 1")
    assert out == ()


def test_another_excursion_found_in_the_past_sounds_within_the_open_warning():
    w = seen(("01:00", "1"), ("01:10", "6"), ("01:20", "1"), ("02:00", "1"))
    w, _ = act(w, "acknowledge", "02:01")
    first = w.slots[0].alarm.occurrence
    w, out = live(w, "01:40", "02:10", diff="5.5")
    assert [(tr.state, tr.time, tr.occurrence) for tr in out] == [
        ("raised", at("01:40"), first), ("over", at("02:00"), first)]


def test_a_closed_warning_is_not_touched_by_another_excursion_of_the_past():
    w = seen(("01:00", "6"), ("01:10", "1"), ("02:00", "1"))
    first = w.slots[0].alarm.occurrence
    w, _ = act(w, "acknowledge", "02:01")
    w, _ = act(w, "close", "02:02", "ok")
    _, out = live(w, "01:40", "02:10", diff="5.5")
    assert brief(out) == ["gain raised", "gain over"]
    assert first not in {tr.occurrence for tr in out}


def test_a_correction_that_removes_the_ground_lets_it_return_now_and_says_why():
    w = seen(("01:00", "1"), ("01:10", "6"))
    w, out = live(w, "01:10", "01:25", diff="0.5", cause="transfer entered after the warning")
    assert [(tr.state, tr.time, tr.learned, tr.cause) for tr in out] == [
        ("over", at("01:25"), at("01:25"), "transfer entered after the warning")]
    assert out[0].evidence["t"] == at("01:10")
    assert shown(w) == "over", "an explanation doesn't clear a warning"


def test_a_correction_to_a_partial_balance_does_not_let_it_return():
    w = seen(("01:00", "1"), ("01:10", "6"))
    w, out = live(w, "01:10", "01:25", diff="~0.5")
    assert (out, shown(w)) == ((), "raised")


def test_a_correction_that_shows_the_last_reading_beyond_raises_now():
    w = seen(("01:00", "1"), ("01:10", "1"))
    w, out = live(w, "01:10", "01:25", diff="6", cause="dip corrected")
    assert [(tr.state, tr.time, tr.learned, tr.cause) for tr in out] == [
        ("raised", at("01:10"), at("01:25"), "dip corrected")]


def test_looking_again_at_a_reading_does_not_count_it_twice():
    w = watch.start((gain(after_readings=2),), 1)
    w, _ = live(w, "01:00", diff="6")
    w, out = live(w, "01:00", "01:05", diff="6")
    assert out == ()
    w, out = live(w, "01:10", diff="6")
    assert brief(out) == ["gain raised"]


def test_a_struck_round_no_longer_stands_and_the_one_before_it_does():
    w = watch.start((gain(), high("Suction", 2.0)), 1)
    w, _ = live(w, "01:00", diff="1", Suction="1.0")
    w, _ = live(w, "01:10", diff="60", Suction="5.3")
    assert {shown(w), shown(w, "Suction high")} == {"raised"}
    w, out = live(w, "01:00", "01:15", diff="1", Suction="1.0", cause="round struck", struck="01:10")
    assert {(tr.name, tr.state, tr.time, tr.cause) for tr in out} == {
        ("gain", "over", at("01:15"), "round struck"), ("Suction high", "over", at("01:15"), "round struck")}
    w, out = live(w, "01:12", "01:20", diff="6", Suction="1.0")
    assert brief(out) == ["gain raised"], "a reading after the struck one's time, or before it, is new"


def test_when_the_only_reading_is_struck_the_warning_stands_and_the_next_reading_is_new():
    w = watch.start((gain(), gain(5, name="two", after_readings=2)), 1)
    w, _ = live(w, "01:10", diff="6")
    w, out = watch.step(w, watch.Learned(2, at("01:15"), evidence([]), struck_from_ms=at("01:10")))
    assert (out, w.last, w.last_complete, shown(w)) == ((), {}, None, "raised")
    w, out = live(w, "01:05", "01:20", diff="6")
    assert out == (), "one reading beyond, not two"
    w, out = live(w, "01:07", "01:25", diff="6")
    assert brief(out) == ["two raised"]


def test_a_struck_dip_with_none_before_it_is_forgotten_and_its_warning_stands():
    w = watch.start((high("A", 2.0), high("B", 2.0)), 1)
    w, _ = live(w, "01:10", A="2.5", B="1")
    w, out = live(w, "01:00", "01:15", A="?", B="1", struck="01:10")
    assert (out, shown(w, "A high")) == ((), "raised")
    w, out = live(w, "01:05", "01:20", A="1", B="?")
    assert brief(out) == ["A high over"]


def test_a_past_that_turns_out_worse_by_the_growth_sounds_again():
    w = seen(("01:00", "6"), ("01:20", "6"))
    w, _ = act(w, "acknowledge", "01:21")
    w, out = live(w, "01:10", "01:30", diff="8.1")
    assert [(tr.state, tr.event, tr.time) for tr in out] == [("raised", "REA", at("01:10"))]


def test_an_import_of_yesterday_raises_once_however_often_it_was_beyond():
    rows = "\n".join(f"{h:02}:{m:02} | {6 + h if m == 20 else 0}" for h in range(1, 12) for m in (0, 20, 40))
    w = watch.start((gain(), gain(40, name="huge")), 1)
    w, out = many(w, "20:00", "time | diff\n" + rows, batch=True)
    assert [(tr.state, tr.time, tr.learned) for tr in out] == [
        ("raised", at("01:20"), at("20:00")), ("over", at("11:40"), at("20:00"))]
    assert "11 excursions" in out[0].cause
    assert out[1].worst == bbl(17)
    _, out = many(w, "20:10", "time | diff\n" + rows, batch=True)
    assert out == ()


def test_an_import_that_ends_beyond_stays_raised():
    w, out = many(watch.start((gain(),), 1), "20:00", "time | diff\n01:00 | 6\n02:00 | 0\n03:00 | 6", batch=True)
    assert brief(out) == ["gain raised"]
    assert shown(w) == "raised"


def test_an_import_ends_what_stood_and_sounds_once_more_for_what_came_after():
    w = seen(("01:00", "6"))
    w, _ = act(w, "acknowledge", "01:01")
    w, out = many(w, "20:00", "time | diff\n01:00 | 6\n02:00 | 0\n03:00 | 6\n04:00 | 0\n05:00 | 6\n06:00 | 0", batch=True)
    assert brief(out) == ["gain over_acknowledged", "gain raised", "gain over"]
    assert len({tr.occurrence for tr in out}) == 1


def test_an_import_of_the_past_beside_newer_readings_is_late():
    w = seen(("10:00", "0"))
    w, out = many(w, "20:00", "time | diff\n01:00 | 6\n02:00 | 0\n03:00 | 6", batch=True)
    assert [(tr.state, tr.time) for tr in out] == [("raised", at("01:00")), ("over", at("10:00"))]


def test_a_batch_goes_on_counting_where_it_ends():
    w = watch.start((gain(after_readings=3),), 1)
    w, out = many(w, "02:00", "time | diff\n01:00 | 6\n01:10 | 6", batch=True)
    assert out == ()
    _, out = live(w, "02:10", diff="6")
    assert brief(out) == ["gain raised"]


def test_a_delay_that_was_up_between_late_readings_is_found():
    slow = gain(after_readings=0, after_ms=60_000)
    w = watch.start((slow,), 1)
    w, _ = live(w, "02:00", diff="0")
    _, out = live(w, "01:00", "02:10", diff="6")
    assert [(tr.state, tr.time, tr.learned) for tr in out] == [
        ("raised", at("01:01"), at("02:10")), ("over", at("02:00"), at("02:10"))]


def test_what_was_over_before_a_limit_was_set_did_not_pass_it():
    w = seen(("01:00", "4"), ("02:00", "1"))
    w, _ = watch.step(w, watch.LimitsChanged(2, at("02:30"), (gain(3),), 2))
    _, out = many(w, "02:40", "time | diff\n01:00 | 4\n02:00 | 1")
    assert out == ()
    w, _ = live(w, "03:00", diff="0")
    _, out = live(w, "02:50", "03:10", diff="3.5")
    assert brief(out) == ["gain raised", "gain over"]


def test_each_tank_has_its_own_order_of_time():
    w = watch.start((high("A", 2.0), high("B", 2.0)), 1)
    w, _ = live(w, "01:10", A="1", B="?")
    _, out = live(w, "01:05", "01:12", A="?", B="2.5")
    assert brief(out) == ["B high raised"]


def test_a_correction_never_changes_an_earlier_line_of_the_journal():
    w = watch.start((gain(),), 1)
    journal = []
    for time, learned, diff in (("01:00", "01:00", "6"), ("01:10", "01:10", "7"), ("01:00", "01:20", "0"),
                                ("01:10", "01:30", "0"), ("01:05", "01:40", "9")):
        before = [tr.payload() for tr in journal]
        w, out = live(w, time, learned, diff=diff)
        journal += out
        assert [tr.payload() for tr in journal][:len(before)] == before
    assert [tr.learned for tr in journal] == sorted(tr.learned for tr in journal)
    assert evidence([]).t_ms.size == 0
