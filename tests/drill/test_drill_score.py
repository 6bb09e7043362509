"""The score: procedure first, naming second and untimed, a flow check never against anybody."""

from __future__ import annotations

import pytest

from dipbook.drill.record import Act, Sign, Truth
from dipbook.drill.score import Target, score
from dipbook.drill.signal_detection import rates, together

MIN = 60_000
KICK = Sign("gain", "kick", 30 * MIN)
TRUTHS = [Truth(n * MIN, max(0.0, 0.1 * (n - 30)), 0.0, 0.0, 0.0) for n in range(121)]
SPAN = (0, 120 * MIN)


def of(*acts: Act, signs: tuple[Sign, ...] = (KICK,), **other: object):
    return score(signs, TRUTHS, acts, SPAN, **other)  # type: ignore[arg-type]


def test_a_flow_check_after_it_began_is_an_answer_with_its_time_and_volume() -> None:
    found = of(Act(38 * MIN, "flow check", "flowing"), Act(40 * MIN, "shut-in"))
    (answer,) = found.answers
    assert (answer.what, answer.after_ms, answer.missed) == ("flow check", 8 * MIN, False)
    assert answer.volume_m3 == pytest.approx(0.8)
    assert answer.in_time is None
    assert answer.in_volume is None       # nobody set a target: nothing is met or failed


def test_a_target_is_the_operators() -> None:
    target = Target(within_ms=6 * MIN, volume_m3=1.0, set_by="Test", reason="test")
    (answer,) = of(Act(38 * MIN, "shut-in"), target=target).answers
    assert answer.in_time is False
    assert answer.in_volume is True


def test_flow_checks_never_count_against_anybody() -> None:
    many = [Act(n * MIN, "flow check", "static") for n in range(1, 120, 2)]
    found = of(*many, signs=())
    assert found.flow_checks == len(many)
    assert found.false_calls_ms == ()
    assert found.rates.false_alarms == 0


def test_a_shut_in_on_a_flow_that_was_seen_is_no_false_call_and_one_on_nothing_is() -> None:
    seen = of(Act(10 * MIN, "flow check", "flowing"), Act(12 * MIN, "shut-in"), signs=())
    assert seen.false_calls_ms == ()
    assert of(Act(12 * MIN, "shut-in"), signs=()).false_calls_ms == (12 * MIN,)
    assert of(Act(5 * MIN, "flow check", "flowing"), Act(50 * MIN, "shut-in"), signs=()).false_calls_ms == (50 * MIN,)


def test_a_call_without_a_sign_says_what_it_was() -> None:
    """Driller told and shut in within one second, on a flow that was seen: the telling alone is without a sign."""
    found = of(Act(5 * MIN, "flow check", "flowing"), Act(6 * MIN, "told driller"), Act(6 * MIN, "shut-in"), signs=())
    assert [(a.kind, a.t_ms) for a in found.false_calls] == [("told driller", 6 * MIN)]
    assert found.false_calls_ms == (6 * MIN,)


def test_what_was_missed_is_told_and_a_call_before_it_began_is_no_answer() -> None:
    found = of(Act(10 * MIN, "told driller", "gain"))
    assert found.missed == (KICK,)
    assert found.false_calls_ms == (10 * MIN,)
    assert (found.rates.hits, found.rates.misses, found.rates.false_alarms) == (0, 1, 1)
    assert found.rates.quiet == 14        # of 15 windows of 2 min before the kick


def test_what_is_only_to_be_looked_into_is_never_missed() -> None:
    found = of(signs=(Sign("look", "ballooning", 30 * MIN),))
    assert found.missed == ()
    assert found.rates.hit_rate is None


def test_the_call_is_a_sequence() -> None:
    (answer,) = of(Act(33 * MIN, "told driller"), Act(36 * MIN, "space out"), Act(35 * MIN, "pumps off")).answers
    assert [(s.what, s.in_turn) for s in answer.steps] == [
        ("told driller", True), ("space out", True), ("pumps off", False), ("logged", False)]
    assert answer.called


def test_a_flow_check_or_a_shut_in_stops_the_pumps_too() -> None:
    """The crew's pumps are off in both: nobody has to stop them again, and in either the turn is as it must be."""
    (answer,) = of(Act(33 * MIN, "told driller"), Act(34 * MIN, "flow check"), Act(36 * MIN, "space out")).answers
    assert [(s.what, s.t_ms, s.in_turn) for s in answer.steps[:3]] == [
        ("told driller", 33 * MIN, True), ("space out", 36 * MIN, True), ("pumps off", 34 * MIN, True)]
    (answer,) = of(Act(33 * MIN, "shut-in")).answers
    assert answer.steps[2].t_ms == 33 * MIN
    (answer,) = of(Act(20 * MIN, "flow check")).answers         # before it began: nothing of it
    assert answer.steps[2].t_ms is None


def test_naming_comes_second_and_no_time_counts() -> None:
    early = of(Act(31 * MIN, "named", "kick"), Act(40 * MIN, "flow check"), events=("kick", "stuck gauge"))
    late = of(Act(40 * MIN, "flow check"), Act(119 * MIN, "named", "Kick"), events=("kick", "stuck gauge"))
    assert early.names[0].right is True
    assert late.names[0].right is True
    assert early.answers == late.answers
    assert of(Act(40 * MIN, "named", "ballooning"), events=("kick 1", "kick 2")).names[0].right is False
    assert of(Act(40 * MIN, "named", "nothing"), signs=()).names[0].right is True


# Signal detection: check values worked out from the definitions (standards: 18 hits of 20, 3 false alarms of 40;
# the formulas are in Stanislaw & Todorov 1999; the values were recomputed, they are in no publication that was read).
@pytest.mark.parametrize(("counts", "hit", "false", "d", "c"), [
    ((18, 2, 3, 37), 0.881, 0.085, 2.55, 0.10), ((20, 0, 0, 40), 0.976, 0.012, 4.23, 0.14)])
def test_d_prime_with_the_log_linear_correction(counts: tuple[int, int, int, int], hit: float, false: float, d: float,
                                               c: float) -> None:
    found = rates(*counts)
    assert found.hit_rate == pytest.approx(hit, abs=5e-4)
    assert found.false_rate == pytest.approx(false, abs=5e-4)
    assert found.d_prime == pytest.approx(d, abs=5e-3)
    assert found.bias == pytest.approx(c, abs=5e-3)


def test_d_prime_by_another_way_from_scipy() -> None:
    from scipy.stats import norm
    found = rates(18, 2, 3, 37)
    assert found.d_prime == pytest.approx(norm.ppf(18.5 / 21) - norm.ppf(3.5 / 41), abs=1e-9)


def test_few_trials_give_no_d_prime_and_several_drills_together_may() -> None:
    one = rates(1, 0, 0, 30)
    assert one.d_prime is None
    assert one.hit_rate == pytest.approx(0.75)
    assert rates(10, 0, 1, 8).d_prime is None
    assert together([one] * 9).d_prime is None
    assert together([one] * 10).d_prime is not None
    with pytest.raises(ValueError, match="below nothing"):
        rates(-1, 0, 0, 0)


def test_a_window_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="longer"):
        of(window_ms=0)


def test_a_drill_that_was_worked_is_scored_by_its_own_truth_and_target() -> None:
    from drilled import MINUTE, demo_rig, scenario

    from dipbook.drill import of_session, set_up
    asked = scenario('[target]\nwithin = "5 min"\nvolume = "10 bbl"\nset_by = "Test"\nreason = "test"\n'
                     '[[work]]\ndoes = "circulating"\nfor = "2 h"\n'
                     '[[event]]\nkind = "kick"\nat = "30 min"\nover = "60 psi"\nflow = "1 bbl/min"\nflow_at = "60 psi"\n'
                     'fluid = "water"\nweight = "10 lbm/gal[US]"\n')
    drill = set_up(asked, 1, demo_rig())
    drill.advance(38 * MINUTE)
    acts = [Act(drill.t_ms, "flow check", "flowing"), Act(drill.t_ms + MINUTE, "named", "kick")]
    drill.flow_check()
    drill.advance(40 * MINUTE)
    found = of_session(drill, acts, asked)
    (answer,) = found.answers
    assert answer.volume_m3 == pytest.approx(8 * 0.158987, rel=0.02)
    assert answer.in_time is False
    assert answer.in_volume is True
    assert found.names[0].right is True
    assert (found.rates.hits, found.rates.misses, found.rates.quiet) == (1, 0, 15)
