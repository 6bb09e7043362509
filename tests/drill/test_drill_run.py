"""A drill beside a log: the same seed and the same acts give the same records, and acts are what a score is made of."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import pytest
from drilled import RIG

from dipbook import drill_run, practising
from dipbook.drill.flow_line import looks
from dipbook.drill.pace import LONG_MS, Pace
from dipbook.drill.score import FLOWING, of_session
from dipbook.drill_run import Choice, DrillRun
from dipbook.entries.kinds import FLOW_CHECK_RESULTS
from dipbook.invented import is_marked
from dipbook.records import RIG as RIG_KIND
from dipbook.records import Draft

MINUTE = 60


def begun(scenario: str = "kick-drilling-fast", seed: int = 3, **more: str) -> DrillRun:
    path = practising.find(scenario)
    read, doc = practising.load(path, RIG)
    return drill_run.begin(Choice(scenario, seed, trainee="A trainee", **more), read, path.read_text(encoding="utf-8"), doc)  # type: ignore[arg-type]


def run(drill: DrillRun, seconds: int, acts: dict[int, Callable[[], object]] | None = None) -> list[Draft]:
    """Seconds of a drill, an act at the beginning of some of them."""
    found: list[Draft] = []
    for second in range(seconds):
        for at, act in (acts or {}).items():
            if at == second:
                act()
        learned = drill.step()
        found += [*learned.drafts, *learned.after]
    return found


def plain(drafts: list[Draft]) -> list[tuple[object, ...]]:
    return [(d.kind, d.t_ms, d.learned_ms, d.author, repr(d.payload), tuple((b.channel, b.t_ms.tolist(), b.v.tolist()) for b in d.blocks))
            for d in drafts]


@cache
def worked(*, flow_check: bool) -> DrillRun:
    """The fast kick of seed 3, which begins at 43.5 min: told, checked and shut in."""
    drill = begun()
    run(drill, 55 * MINUTE, {
        45 * MINUTE: lambda: drill.tell_driller("the gain"), 46 * MINUTE: drill.flow_check if flow_check else drill.pumps_off,
        49 * MINUTE: lambda: drill.seen(FLOWING), 49 * MINUTE + 10: drill.space_out, 49 * MINUTE + 20: drill.pumps_off,
        50 * MINUTE: drill.shut_the_well_in, 51 * MINUTE: lambda: drill.note("shut in"), 54 * MINUTE: lambda: drill.name("kick")})
    return drill


def test_the_same_seed_and_the_same_acts_give_the_same_records() -> None:
    every = []
    for _ in range(2):
        drill = begun("kick-connection")
        acts = {20 * MINUTE + 7: drill.flow_check, 23 * MINUTE: drill.go_on, 30 * MINUTE: lambda drill=drill: drill.note("x")}
        every.append((plain([*drill.begun(), *run(drill, 60 * MINUTE, acts)]), drill.acts, drill.session.truths))
    assert every[0] == every[1]
    other = begun("kick-connection", 4)
    assert plain([*other.begun(), *run(other, 60 * MINUTE)]) != every[0][0]


def test_a_log_begins_with_the_rig_marked_as_a_drills() -> None:
    first, *rest = begun().begun()
    assert first.kind == RIG_KIND
    assert is_marked(str(first.payload["text"]))
    assert [d.kind for d in rest] == ["pumps", "depth", "zero"]
    assert all("invented" in d.author for d in (first, *rest))


def test_readings_come_when_they_are_taken_and_nothing_is_learned_before_it_happens() -> None:
    drill = begun("unlogged-transfer")
    drill.begun()
    drafts = run(drill, 20 * MINUTE)
    assert sum(d.kind == "samples" for d in drafts) == 20 + 1        # the first at once
    assert all(d.t_ms <= d.learned_ms < d.t_ms + 2000 for d in drafts)


def test_what_was_done_is_scored_as_the_procedure_it_is() -> None:
    drill = worked(flow_check=True)
    made = of_session(drill.session, drill.acts, drill.scenario)
    answer = made.answers[0]
    assert (answer.what, answer.called, answer.missed) == ("flow check", True, False)
    assert answer.after_ms is not None
    assert 2 * 60_000 < answer.after_ms < 3 * 60_000
    assert [(s.what, s.in_turn) for s in answer.steps] == [("told driller", True), ("space out", True), ("pumps off", True), ("logged", True)]
    assert made.false_calls_ms == ()
    assert [(n.text, n.right) for n in made.names] == [("kick", True)]
    assert drill.acts[1].text == FLOWING


def test_the_words_of_a_flow_that_was_seen_are_one_in_log_and_score() -> None:
    assert FLOWING in FLOW_CHECK_RESULTS


def test_the_influx_goes_on_through_a_flow_check_and_ends_with_the_shut_in() -> None:
    drill = worked(flow_check=True)
    at = {t.event: t for t in drill.session.truths if t.event in ("flow check", "shut in")}
    assert at["shut in"].influx_m3 > at["flow check"].influx_m3 + 0.5
    assert drill.session.truths[-1].influx_m3 == at["shut in"].influx_m3
    assert drill.shut_in


def test_a_flow_check_begins_ambiguous_and_the_flow_line_tells_in_the_end() -> None:
    """Lines drain back at first, whether the well flows or not; then it dies away, or it doesn't."""
    seen = {}
    for scenario in ("nothing", "kick-drilling-fast"):
        drill = begun(scenario)
        run(drill, 46 * MINUTE)
        drill.flow_check()
        run(drill, 20)
        first = drill.at_the_flow_line()
        run(drill, 15 * MINUTE)
        seen[scenario] = (first, drill.at_the_flow_line())
    assert seen["nothing"][0] == seen["kick-drilling-fast"][0] == looks(1.0)
    assert seen["nothing"][1] == looks(0.0)
    assert seen["kick-drilling-fast"][1] != looks(0.0)


def test_the_crew_go_on_where_they_were_stopped() -> None:
    drill = begun("nothing")
    run(drill, 5 * MINUTE)
    drill.flow_check()
    assert drill.watched
    run(drill, 5 * MINUTE)
    hole = drill.session.well.hole_m
    drill.go_on()
    assert not drill.watched
    run(drill, 5 * MINUTE)
    assert drill.session.well.hole_m > hole + 1.0


def test_a_round_by_hand_costs_the_time_to_walk_it() -> None:
    drill = begun("stuck-float", mode="dips")
    assert not any(d.kind == "samples" for d in run(drill, 10 * MINUTE))
    assert drill.walk() == ""
    assert drill.walk() == "A round is being walked already."
    begun_ms, tanks, found = drill.t_ms, drill.doc.rig.tanks, []
    while not found:
        found += drill.step().rounds
    walked = (len(tanks) - 1) * drill.session.walk_ms
    assert found[0].start_ms == begun_ms
    assert [d.t_ms for d in found[0].dips] == [begun_ms + n * drill.session.walk_ms for n in range(len(tanks))]
    assert found[0].end_ms == begun_ms + walked <= drill.t_ms < begun_ms + walked + 2000
    drill.walk(short=True)
    found.clear()
    while not found:
        found += drill.step().rounds
    assert {d.tank for d in found[0].dips} == {t.name for t in tanks if t.role in ("suction", "trip")}


def test_a_drill_by_hand_has_a_round_from_before_it_began() -> None:
    drill = begun("nothing", mode="dips")
    first = drill.step().rounds
    assert len(first) == 1
    assert len(first[0].dips) == len(drill.doc.rig.tanks)
    assert first[0].end_ms == drill.session.begin_ms


def test_a_stick_does_not_stand_still_with_the_sensor() -> None:
    """The gauge of the drifting-gauge drill drifts for a sensor, and for no stick."""
    level = {}
    for mode in ("sensors", "dips"):
        drill = begun("drifting-gauge", mode=mode)
        run(drill, 150 * MINUTE)
        tank = next(iter(drill.session.gauges.drifts))
        reading = drill.session.read((tank,), walked=False)
        truth = drill.doc.rig.tank(tank).level(drill.session.pits.volumes[tank])
        level[mode] = abs(drill.doc.rig.tank(tank).level_of_dip(reading.dips[tank]) - float(truth))
    assert level["dips"] < 0.02
    assert level["sensors"] > 0.05


def test_rows_of_a_trip_come_before_its_end() -> None:
    drill = begun("swabbed-trip", 2)
    last = []
    while not drill.over:
        learned = drill.step()
        if learned.trip_rows or learned.after:
            last.append(learned)
    assert last[-1].trip_rows
    assert [d.kind for d in last[-1].after] == ["trip end"]


def test_what_is_finished_is_what_was_done() -> None:
    drill = worked(flow_check=True)
    done = drill.finished("the trainee ended it", 5)
    assert (done.scenario, done.seed, done.trainee, done.mode) == ("kick-drilling-fast", 3, "A trainee", "sensors")
    assert done.acts == tuple(drill.acts)
    assert done.events == ("kick",)
    assert done.ended_ms - done.began_ms == 55 * 60_000


def slow(pace: Pace, minutes: int, signs: Callable[[int], int] = lambda _: 0) -> list[bool]:
    return [not pace.may_run(s * 1000, signs(s), True) for s in range(minutes * MINUTE)]


@pytest.mark.parametrize("seed", range(6))
def test_what_happens_is_run_at_the_clocks_speed_and_so_are_other_times(seed: int) -> None:
    at = 70 * 60_000
    with_it = slow(Pace(seed, (at,)), 240)
    assert all(with_it[at // 1000:at // 1000 + LONG_MS[0] // 1000])
    without = slow(Pace(seed), 240)
    assert 0.1 < sum(without) / len(without) < 0.8


def test_slow_stretches_for_nothing_do_not_depend_on_what_happens() -> None:
    without = slow(Pace(5), 240)
    with_it = slow(Pace(5, (70 * 60_000,)), 240)
    assert all(b for a, b in zip(without, with_it, strict=True) if a)


def test_a_sign_that_begins_slows_it_at_once() -> None:
    pace = Pace(1)
    quiet = slow(Pace(1), 240)
    begins = next(s for s in range(1000, len(quiet)) if not any(quiet[s:s + 200]))
    assert all(slow(pace, 240, lambda s: int(s >= begins))[begins:begins + LONG_MS[0] // 1000])
