"""The story of an open warning, from histories worked by hand. Times in minutes; an inch of a box is 3.562 bbl."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from composing.kept_logs import Kept, limit_text
from dipbook import composing
from dipbook.books import learn
from dipbook.records import WARNING, Draft, numbered
from dipbook.situation_of_warnings import ACKNOWLEDGED, GREW, OVER, RAISED, WORST
from flowback.connections import START, connection
from ledgers import BBL, IN, MIN, dips, entry, minutes
from tripped import LIMITS, begins, row, start

INCH = 240 / 12 * 1728 / 9702
"""bbl an inch of a box of 8 by 30 ft."""
GAIN = limit_text("gain", "5 bbl", growth="2 bbl")
SURFACE = limit_text("gain", "5 bbl", "all surface", name="surface")
HIGH = limit_text("high", "61.5 in", "Suction")


def begun(*limits: str) -> Kept:
    """Zeroed on a round of all tanks."""
    return Kept(*limits).add(dips(0, Settling=60, Suction=60, Reserve=60, Trip=60), entry("zero", 0))


def gained(*limits: str) -> Kept:
    """2 in more in the suction at 10 min, 3 in at 20 min."""
    return begun(*limits or (GAIN,)).add(dips(10, Settling=60, Suction=62, Reserve=60, Trip=60),
                                         dips(20, Settling=60, Suction=63, Reserve=60, Trip=60))


def test_its_value_is_drawn_at_the_readings_with_the_limit_and_what_happened() -> None:
    log = gained().act(13, "acknowledge", "gain").add(dips(30, Settling=60, Suction=64))
    series = log.story("gain").series
    assert series is not None
    assert series.t_ms.tolist() == minutes(0, 10, 20, 30)
    assert series.value / BBL == pytest.approx([0, 2 * INCH, 3 * INCH, 4 * INCH], abs=1e-6)
    assert [v / BBL for _, v in series.steps] == pytest.approx([5.0])
    assert [(m.what, m.t_ms / MIN) for m in series.marks] == [
        (RAISED, 10), (ACKNOWLEDGED, 13), (GREW, 30), (WORST, 30)]
    assert [m.value / BBL for m in series.marks if m.what in (RAISED, WORST)] == pytest.approx([2 * INCH, 4 * INCH])
    assert (series.from_ms, series.to_ms, series.cut) == (0, 30 * MIN, False)


def test_a_loss_is_drawn_with_its_sign_and_so_is_its_limit() -> None:
    log = begun(limit_text("loss", "5 bbl")).add(dips(10, Settling=60, Suction=57))
    series = log.story("loss").series
    assert series is not None
    assert series.value[-1] / BBL == pytest.approx(-3 * INCH)
    assert [v / BBL for _, v in series.steps] == pytest.approx([-5.0])
    assert next(m for m in series.marks if m.what == WORST).value == series.value[-1]


def test_a_low_level_is_drawn_above_zero_and_its_worst_is_the_lowest() -> None:
    log = begun(limit_text("low", "50 in", "Suction")).add(
        dips(10, Settling=60, Suction=40), dips(20, Settling=60, Suction=45))
    series = log.story("low").series
    assert series is not None
    assert series.value / IN == pytest.approx([60, 40, 45])
    assert [v / IN for _, v in series.steps] == pytest.approx([50])
    assert [m.t_ms / MIN for m in series.marks if m.what == WORST] == [10]


def test_what_was_not_known_or_not_watched_is_a_gap_and_what_was_known_in_part_says_so() -> None:
    log = gained().add(dips(30, Suction=64), entry("activity", 35, activity="tripping"),
                       dips(40, Settling=60, Suction=65))
    series = log.story("gain").series
    assert series is not None
    assert series.partial.tolist() == [False, False, False, True, False]
    assert np.isnan(series.value).tolist() == [False, False, False, False, True]


def test_a_limit_changed_before_the_raise_and_tightened_under_it_is_drawn_as_it_stood() -> None:
    log = begun(limit_text("gain", "9 bbl")).limits(5, limit_text("gain", "5 bbl")).add(
        dips(10, Settling=60, Suction=62)).limits(15, limit_text("gain", "4 bbl"))
    story = log.story("gain")
    assert story.series is not None
    assert [(t / MIN if t > -(2**61) else None, round(v / BBL, 6)) for t, v in story.series.steps] == [
        (-1, 9.0), (5, 5.0), (15, 4.0)]
    assert (story.limit.as_typed, story.limit_since_ms, story.waits) == ("4 bbl", 15 * MIN, None)
    assert [d.event for d in story.done] == ["ACT", "EDIT"]


def test_a_looser_limit_waits_and_is_not_drawn() -> None:
    log = gained(limit_text("gain", "5 bbl")).limits(25, limit_text("gain", "50 bbl", reason="rig move"))
    story = log.story("gain")
    assert story.series is not None
    assert [round(v / BBL, 6) for _, v in story.series.steps] == [5.0]
    assert story.limit.as_typed == "5 bbl"
    assert story.waits is not None
    assert (story.waits.as_typed, story.waits.reason) == ("50 bbl", "rig move")
    assert not story.withdrawn
    log.limits(30)
    assert log.story("gain").withdrawn
    assert log.story("gain").waits is None


def test_how_long_the_last_round_was_ago_rises_and_falls_back() -> None:
    log = begun(limit_text("overdue", "35 min")).add(dips(20, Settling=60, Suction=60), dips(25, Suction=60)).pass_to(60)
    series = log.story("overdue").series
    assert series is not None
    assert (series.t_ms / MIN).tolist() == [0, 20, 20, 60], "a round without Settling is none"
    assert (series.value / 60).tolist() == [0, 20, 0, 40]
    assert [v / 60 for _, v in series.steps] == [35]
    assert log.story("overdue").now is not None
    assert log.story("overdue").now.value == 40 * 60  # type: ignore[union-attr]


def test_a_trips_sum_is_drawn_at_its_rows() -> None:
    log = Kept(rig=LIMITS).add(*start(), begins(5), row(10, "fill", Trip=90),
                               *(row(10 + 5 * n, bit=9000 - 93 * n, stand=n, Trip=90) for n in (1, 2, 3, 4)))
    story = log.story("whole trip")
    assert story.series is not None
    known = np.isfinite(story.series.value)
    assert story.series.value[known][-1] / BBL == pytest.approx(4 * 93 * 0.00759, rel=1e-6), "took nothing"
    assert [v / BBL for _, v in story.series.steps] == pytest.approx([2.5])
    assert {c.name for c in story.channels} == {
        "active", "all surface", "watched", "trip_last_n"}, "watched is the trip tank now"


def test_flow_back_is_drawn_and_what_it_was_held_against_is_said() -> None:
    log = Kept(limit_text("flow_back", "2 bbl")).add(*START, *sorted(
        connection(10, kick=2.0), key=lambda d: (d.learned_ms, d.kind)))
    log.pass_to(21.4)
    story = log.story("flow_back")
    assert story.at_raise is not None
    assert "more than the lines hold" in story.at_raise.said
    assert story.series is not None
    assert next(m for m in story.series.marks if m.what == RAISED).value == story.at_raise.value


def test_drift_tells_the_volume_and_draws_what_is_held_against_the_limit() -> None:
    log = begun(limit_text("drift", "3 bbl"), GAIN, HIGH)
    for n in range(1, 13):
        log.add(dips(5 * n, Settling=60, Suction=60 + max(0.0, n - 6) / 4, Reserve=60 - max(0.0, n - 6) / 4, Trip=60))
    story = log.story("drift")
    view = next(w for w in log.situation.warnings if w.kind == "drift")
    assert (view.system, story.limit.on) == ("rising", "rising")
    assert story.now is not None
    assert story.now.facts["of"] == view.facts["of"]
    assert story.now.said.startswith("above the low at")
    assert story.done[0].of == story.at_raise.facts["of"]  # type: ignore[union-attr]
    assert story.series is not None
    facts = story.now.facts
    assert story.series.of_limit
    assert story.series.value[np.isfinite(story.series.value)][-1] == pytest.approx(
        facts["counts"] / (3.0 * BBL * facts["part"]))
    assert [v for _, v in story.series.steps] == [1.0]
    assert story.now.value == pytest.approx(facts["of"]), "the volume told is one of barrels that are there"
    assert {m.what for m in story.series.marks} >= {RAISED, WORST}
    assert {c.name for c in story.channels} == {"active", "all surface"}
    log.pass_to(101)
    assert {d.on for d in log.story("drift").doubts} == {"Settling", "Suction"}, "it is of the active system"
    other = next(c for c in log.story("gain").channels if c.name == "rising")
    assert other.value == pytest.approx(story.now.facts["of"])
    assert other.said == story.now.said


def test_further_back_than_a_day_it_is_cut_and_says_so() -> None:
    log = gained().add(*(dips(m, Settling=60, Suction=63) for m in range(60, 26 * 60, 30)))
    story = log.story("gain")
    assert story.series is not None
    assert story.series.cut
    assert story.series.from_ms == round(log.now * MIN) - 24 * 60 * MIN
    assert int(story.series.t_ms[0]) >= story.series.from_ms - 30 * MIN


def test_what_it_rests_on_at_the_raise_and_now() -> None:
    log = gained().add(dips(30, Suction=64))
    story = log.story("gain")
    assert story.at_raise is not None
    assert story.now is not None
    assert (story.at_raise.t_ms, story.at_raise.partial) == (10 * MIN, False)
    assert story.at_raise.value == pytest.approx(2 * INCH * BBL)
    assert (story.now.t_ms, story.now.partial) == (30 * MIN, True)
    assert story.now.value == pytest.approx(4 * INCH * BBL)
    assert story.now.u is not None
    assert story.now.u > 0
    assert not story.finer
    assert log.story("gain").limit.set_by == "A. Sample"


def test_a_limit_finer_than_the_dips_says_so() -> None:
    """A quarter of an inch in each of two boxes, twice (with the zero's): u = 0.25 / √3 × 2 × 3.562 bbl ≈ 1.03 bbl."""
    log = begun(limit_text("gain", "1.9 bbl")).add(dips(10, Settling=60, Suction=62))
    story = log.story("gain")
    assert story.now is not None
    assert story.now.u is not None
    assert story.now.u / BBL == pytest.approx(0.25 / 3 ** 0.5 * 2 * INCH, rel=0.5)
    assert story.finer is (2 * story.now.u / BBL > 1.9)
    assert story.finer


@pytest.mark.parametrize(("reserve", "same"), [(60.0, True), (60.1, True), (58.0, False)],
                         ids=["from the well", "from the well, as far as dips can tell", "from the reserve"])
def test_all_surface_says_the_same_of_mud_from_the_well_and_not_of_a_transfer(reserve: float, same: bool) -> None:
    log = begun(GAIN).add(dips(10, Settling=60, Suction=62, Reserve=reserve, Trip=60))
    (other,) = log.story("gain").channels
    assert (other.name, other.same) == ("all surface", same)
    assert other.value / BBL == pytest.approx((2 - (60 - reserve)) * INCH, abs=1e-6)


def test_the_watched_system_is_named_where_it_is_another_and_not_twice() -> None:
    log = begun(limit_text("gain", "5 bbl", "watched", name="flow line")).add(dips(10, Settling=60, Suction=62))
    assert [c.name for c in log.story("flow line").channels] == ["all surface"]
    log.add(entry("line-up", 12, tank="flow line", to="Trip"), dips(20, Settling=60, Suction=62, Trip=62))
    assert {c.name for c in log.story("flow line").channels} == {"active", "all surface"}


def test_other_warnings_of_its_time_are_named_also_those_that_are_closed() -> None:
    log = begun(GAIN, SURFACE, HIGH).add(dips(5, Settling=60, Suction=62),
                                           dips(7, Settling=60, Suction=60, Reserve=60, Trip=60))
    log.act(8, "acknowledge", "gain").act(8, "acknowledge", "surface").act(8, "acknowledge", "high")
    log.act(9, "close", "gain").act(9, "close", "surface")
    assert not log.memory.open_slots()
    log.add(dips(10, Settling=60, Suction=62, Reserve=58))
    story = log.story("gain")
    assert [(w.name, w.state, w.raised_ms / MIN) for w in story.warnings] == [("high", "raised", 10)], "those before are over"
    log.act(12, "acknowledge", "high").add(dips(20, Settling=62, Suction=60, Reserve=58))
    assert [(w.name, w.state) for w in log.story("gain").warnings] == [("high", "closed")]


def test_a_guess_belongs_to_the_warning_whose_way_it_goes() -> None:
    log = begun(GAIN, SURFACE, HIGH, limit_text("loss", "5 bbl"), limit_text("low", "59 in", "Reserve")).add(
        dips(10, Settling=60, Suction=62, Reserve=58, Trip=60))
    assert {s.limit.name for s in log.memory.open_slots()} == {"gain", "high", "low"}
    (hint,) = log.situation.hints
    assert "Reserve fell" in hint.text
    for name in ("gain", "high", "low"):
        assert log.story(name).hints == (hint,), name
    surface = limit_text("gain", "1 bbl", "all surface", name="surface", deadband="0.5 bbl")
    log = begun(limit_text("loss", "5 bbl"), surface).add(dips(10, Settling=60, Suction=58, Reserve=62.5, Trip=60))
    (hint,) = log.situation.hints
    assert log.story("loss").hints == (hint,)
    assert log.story("surface").hints == (), "a transfer doesn't move all surface tanks"
    log = begun(surface, GAIN).add(dips(10, Settling=60, Suction=62.5, Reserve=58, Trip=60))
    (hint,) = log.situation.hints
    assert log.story("gain").hints == (hint,)
    assert log.story("surface").hints == ()


def test_a_guess_about_the_time_before_the_raise_does_not_belong() -> None:
    log = begun(limit_text("gain", "9 bbl")).add(
        dips(10, Settling=60, Suction=62, Reserve=58), dips(20, Settling=60, Suction=63, Reserve=58))
    assert len(log.situation.hints) == 1
    assert log.story("gain").hints == ()


@pytest.mark.parametrize(("history", "found"), [
    (lambda: gained(), []),
    (lambda: gained().add(dips(30, Suction=63)), [("Settling", "not gauged in the last round")]),
    (lambda: gained().pass_to(61), [("Settling", "gauged too long ago to count"), ("Suction", "gauged too long ago to count")]),
], ids=["none", "left out", "stale"])
def test_doubts_of_its_gauges(history: Callable[[], Kept], found: list[tuple[str, str]]) -> None:
    assert sorted((d.on, d.text) for d in history().story("gain").doubts) == found


def test_a_tanks_warning_has_doubts_of_that_tank_alone() -> None:
    log = gained(HIGH).add(dips(30, Settling=60))
    assert [(d.on, d.text) for d in log.story("high").doubts] == [("Suction", "not gauged in the last round")]


def test_a_trips_warning_has_doubts_of_the_trip_tank() -> None:
    log = Kept(rig=LIMITS).add(*start(), begins(5), row(10, "fill", Trip=90),
                               *(row(10 + 5 * n, bit=9000 - 93 * n, stand=n, Trip=90) for n in (1, 2, 3, 4)))
    assert log.story("whole trip").doubts == ()
    log.pass_to(71)
    assert [(d.on, d.text) for d in log.story("whole trip").doubts] == [("Trip", "gauged too long ago to count")]


def test_what_was_done_and_after_how_long() -> None:
    log = gained(GAIN).act(23, "acknowledge", "gain", by="R. Vance", note="shakers looked at")
    log.add(dips(30, Settling=60, Suction=60))
    done = log.story("gain").done
    assert [(d.event, d.state, d.learned_ms / MIN, d.after_ms / MIN) for d in done] == [
        ("ACT", "raised", 10, 0), ("ACK", "acknowledged", 23, 13), ("RTN", "over_acknowledged", 30, 20)]
    assert (done[1].by, done[1].note) == ("R. Vance", "shakers looked at")
    assert all(d.stored for d in done)
    series = log.story("gain").series
    assert series is not None
    assert [m.what for m in series.marks if m.what == OVER] == [OVER]


def test_a_raise_that_the_disk_does_not_have_yet_is_told_and_said_not_to_be_stored() -> None:
    log = gained()
    kept = tuple(r for r in log.records if r.kind != WARNING)
    (d,) = log.story("gain", records=kept).done
    assert (d.event, d.t_ms, d.stored) == ("ACT", 10 * MIN, False)


def test_a_transition_that_cannot_be_read_is_left_aside() -> None:
    log = gained()
    bad = Draft(WARNING, 0, 0, payload={"occurrence": log.occurrence("gain"), "state": "raised"})
    log.books, _ = learn(log.books, numbered([bad], len(log.records) + 1))
    assert [d.event for d in log.story("gain").done] == ["ACT"]


def test_there_is_no_story_of_what_is_closed_or_set_aside() -> None:
    log = gained(HIGH)
    name = log.occurrence("high")
    assert composing.warning_story(log.books, log.memory, log.situation, "no such one") is None
    log.act(22, "out of service", limit="high", instead="stick")
    assert composing.warning_story(log.books, log.memory, log.situation, name) is None


def test_a_late_reading_has_its_own_time_and_when_it_became_known() -> None:
    log = begun(GAIN).add(dips(20, Settling=60, Suction=60))
    late = dips(10, Settling=60, Suction=62)
    log.add(Draft(late.kind, late.t_ms, 25 * MIN, dips=late.dips, payload=late.payload))
    story = log.story("gain")
    first = story.done[0]
    assert (first.t_ms / MIN, first.learned_ms / MIN) == (10, 25)
    assert story.series is not None
    assert story.series.marks[0].t_ms == 10 * MIN
