"""A trainee's drills: by name and date, rates over all of them where the counts allow. Everything in it is invented."""

from __future__ import annotations

from dataclasses import replace

import pytest

from dipbook.debrief.history import ANSWERED, MET, MISSED, NOT_MET, NOTHING, history
from dipbook.debrief.signed_record import MOMENTS, moments, of_debrief
from dipbook.debrief.told import About, debrief
from dipbook.drill.record import Act, Truth
from dipbook.drill.score import Target
from dipbook.drill.signal_detection import rates
from dipbook.records import RIG, Draft, numbered
from finished_drills import DEMO_RIG

MIN = 60_000
ABOUT = About("d1", "A kick", "kick", "a test", 1, "T. Berg", "I. Voss", "sensors", 0, 120 * MIN, 1000, "Larkspur", True)
KICK = tuple(Truth(n * MIN, max(0.0, 0.1 * (n - 30)), 0.0, 0.0, max(0.0, 0.1 * (n - 30)),
                   "kick: begins to flow" if n == 30 else "") for n in range(121))
QUIET = tuple(Truth(n * MIN, 0.0, 0.0, 0.0, 0.0) for n in range(121))
LOG = numbered([Draft(RIG, 0, 0, payload={"text": DEMO_RIG.read_text(encoding="utf-8"), "effective": "change"})])
CHECKED = (Act(38 * MIN, "flow check", "flowing"),)


def drill(acts: tuple[Act, ...] = CHECKED, truths: tuple[Truth, ...] = KICK, target: Target | None = None, **about: object):
    return debrief(LOG, truths, acts, replace(ABOUT, **about), target=target, events=("kick",))  # type: ignore[arg-type]


@pytest.mark.parametrize(("told", "procedure"), [
    (drill(), ANSWERED), (drill(()), MISSED), (drill(truths=QUIET), NOTHING),
    (drill(target=Target(10 * MIN, None, "T", "t")), MET), (drill(target=Target(5 * MIN, 5.0, "T", "t")), NOT_MET)])
def test_how_a_procedure_went_is_told_by_targets_that_somebody_set(told, procedure: str) -> None:
    (trainee,) = history([("a", told)])
    assert trainee.drills[0].procedure == procedure


def test_trainees_stand_by_name_and_drills_by_date_whatever_came_of_them() -> None:
    told = [("late", drill((), done_ms=3000)), ("early", drill(done_ms=1000)), ("other", drill(trainee="a.  hald")),
            ("same", drill(trainee="A. Hald", done_ms=500)), ("none", drill(trainee=""))]
    found = history(told)
    assert [t.name for t in found] == ["", "a. hald", "T. Berg"]
    assert [d.folder for d in found[2].drills] == ["early", "late"]
    assert [d.folder for d in found[1].drills] == ["same", "other"]


def test_rates_are_of_all_drills_together_and_d_prime_only_from_ten_of_both() -> None:
    (few,) = history([(f"d{n}", drill()) for n in range(9)])
    assert (few.rates.hits, few.rates.misses, few.rates.d_prime) == (9, 0, None)
    (enough,) = history([(f"d{n}", drill()) for n in range(10)])
    assert enough.rates == rates(10, 0, 0, 10 * few.drills[0].rates.quiet)
    assert enough.rates.d_prime is not None


def test_a_watch_that_never_calls_has_no_d_prime() -> None:
    """With 13 signals missed and 912 quiet windows the log-linear correction alone would make 1.46 of it."""
    assert rates(0, 13, 0, 912).d_prime is None
    assert rates(1, 12, 0, 912).d_prime is not None
    (trainee,) = history([(f"d{n}", drill(())) for n in range(12)])
    assert (trainee.rates.misses, trainee.rates.d_prime, trainee.rates.bias) == (12, None, None)


def test_a_flow_check_more_never_lowers_what_stands_in_the_list() -> None:
    order = (MISSED, NOT_MET, MET)
    for at in range(0, 120, 10):
        for acts in ((), CHECKED, (Act(55 * MIN, "shut-in"),)):
            target = Target(10 * MIN, 1.0, "T", "t")
            before, after = (history([("a", drill(x, target=target))])[0].drills[0]
                             for x in (acts, (*acts, Act(at * MIN, "flow check", "static"))))
            assert order.index(after.procedure) >= order.index(before.procedure)
            assert after.false_calls <= before.false_calls
            assert len(after.missed) <= len(before.missed)


def test_the_record_has_every_moment_and_those_that_nobody_noted_unknown() -> None:
    record = of_debrief(drill((*CHECKED, Act(36 * MIN, "told driller", "gain"), Act(41 * MIN, "shut-in"))))
    (signal,) = record.signals
    assert [m.key for m in signal.moments] == [key for key, _ in MOMENTS]
    assert [m.after_ms for m in signal.moments] == [0, 6 * MIN, 6 * MIN, 8 * MIN, None, 11 * MIN]
    assert signal.moment("t4").t_ms is None
    assert signal.volume_m3 == pytest.approx(9.0)
    assert signal.rate_m3_s == pytest.approx(0.1 / 60)
    assert (record.announced, record.initiator, record.crew, record.consent) == (False, "I. Voss", "T. Berg", "")
    assert record.deviations == ("kick: not done: space out, logged.",)


def test_the_first_of_each_moment_counts() -> None:
    found = {m.key: m for m in moments(100, [("t3", 300, "B"), ("t3", 200, "A"), ("t5", 400, "C")])}
    assert (found["t3"].t_ms, found["t3"].who, found["t3"].after_ms) == (200, "A", 100)
    assert found["t1"].t_ms is None
