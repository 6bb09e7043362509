"""The debrief: what was done, shown and so, and what could have been seen when. Everything in it is invented."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from drilled import MINUTE, RIG, run
from hypothesis import given, settings
from hypothesis import strategies as st

from builders import BBL
from dipbook import balance, debriefing, practising
from dipbook.books import build
from dipbook.debrief.shown import shown, then
from dipbook.debrief.told import About, Debrief, at_surface, debrief, recognised, signs_of
from dipbook.drill.record import Act, Sign, Truth
from dipbook.drill.score import Target, score
from dipbook.drill_folder import read_truths
from dipbook.records import RIG as RIG_KIND
from dipbook.records import SAMPLES, Block, Draft, Record, numbered

KICK = """
[gauges]
every = "1 min"
[[work]]
does = "circulating"
for = "90 min"
[[event]]
kind = "kick"
at = "20 min"
over = "60 psi"
flow = "0.5 bbl/min"
flow_at = "60 psi"
fluid = "water"
weight = "8.8 lbm/gal[US]"
"""
ABOUT = About("d1", "A kick", "kick.toml", "a test", 1, "Trainee (invented)", "Instructor (invented)", "", 0, 1, None,
              "Larkspur")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    to = tmp_path_factory.mktemp("drill") / "run"
    practising.write(practising.run(practising.find("kick-drilling-slow"), 1, RIG), to)
    return to


@pytest.fixture(scope="module")
def unwatched(folder: Path) -> Debrief:
    return debriefing.of_files(folder)


def as_learned(folder: Path, *late: Draft) -> tuple[Record, ...]:
    """A run's files as a log that learned each reading at its time, with entries that came late."""
    books = build(debriefing.of_files(folder).records)
    drafts = [Draft(RIG_KIND, books.records[0].t_ms, books.records[0].t_ms - 1, payload=books.records[0].payload), *late]
    rows: dict[int, list[Block]] = {}
    for r in books.records:
        if r.kind == SAMPLES:
            for b in r.blocks:
                for t, v in zip(b.t_ms, b.v, strict=True):
                    rows.setdefault(int(t), []).append(Block(b.channel, np.array([t]), np.array([v])))
        elif r.kind != RIG_KIND:
            drafts.append(Draft(r.kind, r.t_ms, r.t_ms, payload=r.payload))
    drafts += [Draft(SAMPLES, t, t, payload={"source": "test"}, blocks=tuple(blocks)) for t, blocks in rows.items()]
    return numbered(sorted(drafts, key=lambda d: d.learned_ms))


def test_a_drill_that_nobody_watched_says_that_every_sign_was_missed(unwatched: Debrief) -> None:
    assert [s.event for s in unwatched.missed] == ["kick"]
    (seen,) = unwatched.seeable
    assert (seen.acted_ms, seen.behind_ms, seen.answer.what, seen.answer.missed) == (None, None, "", True)
    assert unwatched.score.flow_checks == 0
    assert unwatched.acts == ()
    assert recognised(unwatched, seen.sign) is None


def test_the_signs_are_read_from_the_truth_as_the_session_had_them(folder: Path) -> None:
    done = practising.run(practising.find("ballooning-look-alike"), 1, RIG)
    assert signs_of(done.session.truths) == tuple(done.session.signs)
    read = read_truths(folder / "truth.csv")
    assert [s.event for s in signs_of(read)] == ["kick"]


def test_gauges_can_show_it_once_what_came_in_is_their_plus_minus(unwatched: Debrief) -> None:
    """Worked out from the files alone: the truth's column against the balance's own uncertainty, k = 2."""
    (seen,) = unwatched.seeable
    books = build(unwatched.records)
    b = balance.at(books, books.readings.end_ms)
    truth, t = unwatched.truth, unwatched.truth.t_ms
    came = np.array([truth.influx_m3[np.searchsorted(t, x, side="right") - 1] for x in b.t_ms])  # water: no swelling
    enough = np.flatnonzero((came >= 2 * b.u_m3) & (b.t_ms >= seen.sign.from_ms))
    assert seen.gauges_ms == b.t_ms[enough[0]]
    assert came[enough[0] - 1] < 2 * b.u_m3[enough[0] - 1]
    gain = next(p for p in seen.passed if p.limit.name == "gain")
    over = np.flatnonzero((b.difference_m3 >= gain.limit.value) & (b.t_ms >= seen.sign.from_ms))
    assert gain.t_ms == b.t_ms[over[0]]
    assert gain.value == pytest.approx(b.difference_m3[over[0]])
    assert seen.first_ms == min(seen.gauges_ms, gain.t_ms)
    assert [w.name for w in seen.warned] == [p.limit.name for p in seen.passed]


def test_a_loss_passes_limits_on_losses_and_none_on_gains(tmp_path: Path) -> None:
    practising.write(practising.run(practising.find("partial-loss"), 1, RIG), tmp_path / "run")
    (seen,) = debriefing.of_files(tmp_path / "run").seeable
    assert {p.limit.kind for p in seen.passed} == {"loss"}


def test_gas_that_mud_has_dissolved_is_seen_for_the_room_that_it_takes() -> None:
    truths = [Truth(0, 0.0, 0.0, 0.0, 0.0), Truth(10, 3.0, 1.0, 0.5, 0.9)]
    curve = debrief(_rig_only(), truths, (), ABOUT).truth
    assert at_surface(curve, "gain").tolist() == pytest.approx([0.0, 0.9])
    assert at_surface(curve, "loss").tolist() == [0.0, 1.0]
    assert at_surface(curve, "look").tolist() == [0.0, 0.5]
    assert curve.surface_m3.tolist() == pytest.approx([0.0, 0.4])


def _rig_only() -> tuple[Record, ...]:
    return numbered([Draft(RIG_KIND, 0, 0, payload={"text": RIG.read_text(encoding="utf-8"), "effective": "change"})])


def test_with_acts_it_says_how_far_they_were_behind_what_could_be_seen(folder: Path, unwatched: Debrief) -> None:
    truths = read_truths(folder / "truth.csv")
    (missed,) = unwatched.seeable
    assert missed.gauges_ms is not None
    at = missed.gauges_ms + 4 * MINUTE
    acts = (Act(at + MINUTE, "shut-in"), Act(at, "flow check", "flowing"), Act(at - MINUTE, "told driller", "gain"))
    told = debrief(unwatched.records, truths, acts, unwatched.about, events=("kick",),
                   target=Target(3 * MINUTE, 5.0, "Test", "test"), in_time=True)
    (seen,) = told.seeable
    assert seen.acted_ms == at
    assert seen.behind_ms == at - seen.first_ms
    assert (seen.answer.in_time, seen.answer.in_volume) == (False, True)
    assert [a.kind for a in told.acts] == ["told driller", "flow check", "shut-in"]
    assert recognised(told, seen.sign) == told.acts[0]
    assert told.score.false_calls_ms == ()


@pytest.mark.parametrize("name", ["kick-connection", "partial-loss", "ballooning", "kick-drilling-slow"])
def test_what_was_so_lies_under_what_was_shown(name: str, tmp_path: Path) -> None:
    """Nothing else goes wrong in these: the truth at surface is the difference without its noise, also once water of
    the formation has come out at the top. Noise is told from the readings before anything began."""
    practising.write(practising.run(practising.find(name), 1, RIG), tmp_path / "run")
    told = debriefing.of_files(tmp_path / "run")
    read, truth = told.shown, told.truth
    was = truth.surface_m3[np.searchsorted(truth.t_ms, read.t_ms, side="right") - 1]
    off = read.difference_m3 - was
    assert np.abs(off).max() < 6 * read.u_m3.max() + 2 * BBL       # the lines as they drain and fill, a step at a time
    assert abs(off[-5:].mean()) < 4 * read.u_m3.max()
    assert np.abs(was).max() > 4 * BBL


def test_what_came_late_changes_what_is_known_and_not_what_was_shown(folder: Path, unwatched: Debrief) -> None:
    ends = unwatched.shown.t_ms
    at, learned = int(ends[60]), int(ends[90])
    late = Draft("addition", at + 1, learned - 1, payload={"to": "Suction", "volume_m3": 5 * BBL})
    records = as_learned(folder, late)
    read, before = shown(records), unwatched.shown
    assert read.late == 29                              # of the readings after it and before it was known
    assert read.difference_m3[:90] == pytest.approx(before.difference_m3[:90], nan_ok=True)
    assert read.difference_m3[90:] == pytest.approx(before.difference_m3[90:] - 5 * BBL)
    known = balance.at(build(records), ends[60:90])
    assert known.difference_m3[1:] == pytest.approx(before.difference_m3[61:90] - 5 * BBL)   # not what was shown
    just_before, just_after = then(records, read, learned - 2), then(records, read, learned)
    assert just_before.difference_m3 == pytest.approx(before.difference_m3[:90], nan_ok=True)
    assert just_after.difference_m3[61:] == pytest.approx(before.difference_m3[61:91] - 5 * BBL)


def test_without_late_entries_nothing_is_asked_anew(folder: Path, unwatched: Debrief) -> None:
    read = shown(as_learned(folder))
    assert read.late == 0
    assert read.difference_m3 == pytest.approx(unwatched.shown.difference_m3, nan_ok=True)
    assert [(b.limit.name, b.t_ms) for b in read.beyond] == [(b.limit.name, b.t_ms) for b in unwatched.shown.beyond]


def test_each_reading_is_what_the_books_of_its_moment_say(folder: Path) -> None:
    """The shortcut held against the long way: the books built for each reading alone."""
    out = as_learned(folder)
    a, b = (int(out[n].learned_ms) for n in (120, 260))
    extra = (Draft("transfer", a - 1, b - 1, payload={"from": "Reserve 1", "to": "Suction", "volume_m3": 1.0}),
             Draft("discard", a + 1, a + 40 * MINUTE, payload={"from": "Suction", "volume_m3": 0.4}))
    records = as_learned(folder, *extra)
    read = shown(records)
    for n in range(0, len(read.t_ms), 7):
        books = build([r for r in records if r.learned_ms <= read.learned_ms[n]])
        assert read.difference_m3[n] == pytest.approx(balance.at(books, read.t_ms[n:n + 1]).difference_m3[0], nan_ok=True)


ACTS = st.lists(st.builds(
    Act, st.integers(0, 120).map(lambda n: n * MINUTE), st.sampled_from(["told driller", "shut-in", "flow check", "pumps off"]),
    st.sampled_from(["", "flowing", "static"])), max_size=6)
CHECKS = st.lists(st.builds(Act, st.integers(0, 120).map(lambda n: n * MINUTE), st.just("flow check"),
                            st.sampled_from(["", "flowing", "static"])), min_size=1, max_size=4)
SIGNS = (Sign("gain", "kick", 30 * MINUTE), Sign("look", "ballooning", 50 * MINUTE), Sign("loss", "loss", 70 * MINUTE))
TRUTHS = [Truth(n * MINUTE, max(0.0, 0.1 * (n - 30)), max(0.0, 0.1 * (n - 70)), 0.0, 0.0) for n in range(121)]


@settings(max_examples=150, deadline=None)
@given(ACTS, CHECKS, st.sampled_from([Target(), Target(5 * MINUTE, 0.5, "T", "t"), Target(None, 1.0, "T", "t")]))
def test_more_flow_checks_never_make_anything_worse(acts: list[Act], more: list[Act], target: Target) -> None:
    before, after = (score(SIGNS, TRUTHS, x, (0, 120 * MINUTE), target=target) for x in (acts, [*acts, *more]))
    assert len(after.missed) <= len(before.missed)
    assert len(after.false_calls_ms) <= len(before.false_calls_ms)
    for a, b in zip(before.answers, after.answers, strict=True):
        if a.after_ms is not None:
            assert b.after_ms is not None
            assert b.after_ms <= a.after_ms
            assert b.volume_m3 <= a.volume_m3
        for was, now in ((a.in_time, b.in_time), (a.in_volume, b.in_volume)):
            assert was is not True or now is True
    r, s = before.rates, after.rates
    assert (s.hits, s.misses) >= (r.hits, 0)
    assert s.false_alarms <= r.false_alarms


def test_a_scenario_drawn_from_two_kicks_tells_each_apart() -> None:
    once = KICK.replace('for = "90 min"', 'for = "26 min"')
    again = KICK[KICK.index("[[event]]"):].replace('at = "20 min"', 'at = "23 min"')
    body = once + again
    done = run(body)
    assert [s.event for s in signs_of(done.truths)] == ["kick 1", "kick 2"]


def test_the_same_files_have_the_same_id_and_others_another(folder: Path, tmp_path: Path) -> None:
    about = debriefing.of_files(folder).about
    assert about.ident == debriefing.ident_of(folder / "truth.csv")
    (tmp_path / "x").write_bytes(b"other")
    assert debriefing.ident_of(tmp_path / "x") != about.ident
    assert replace(about, ident="") != about
