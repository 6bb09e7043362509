"""The detection bench's own parts: its noise, its world and its lines, before anything is measured with them."""

from __future__ import annotations

import numpy as np
import pytest

from bench.detection import connections, goals, jobs, metrics, reference, report, scenarios, world
from bench.detection.noise import Draws
from bench.detection.world import Floor


def test_normals_are_pinned():
    """Raw integers of PCG64 and Box-Muller: the same on every numpy."""
    assert Draws(1, 1).uniforms(2) == pytest.approx([0.692762699562866, 0.8394272624993695], rel=1e-15)
    assert Draws(1, 1).normals(4) == pytest.approx(
        [0.842336856393839, 0.4500399643991134, 0.15685709092355105, 0.3841027604080071], rel=1e-13)


def test_normals_are_normal_and_wandering_ones_wander():
    draws = Draws(9, 0)
    z = draws.normals(100_001)
    assert len(z) == 100_001
    assert z.mean() == pytest.approx(0.0, abs=0.015)
    assert z.std() == pytest.approx(1.0, abs=0.01)
    w = draws.wandering(200_000, 5.0, 20.0)
    assert w.std() == pytest.approx(1.0, abs=0.02)
    assert np.corrcoef(w[:-1], w[1:])[0, 1] == pytest.approx(np.exp(-0.25), abs=0.01)


def test_other_cells_and_replicates_are_other_noise():
    first = Draws(1, 1).normals(4)
    assert not np.allclose(first, Draws(1, 2).normals(4))
    assert not np.allclose(first, Draws(2, 1).normals(4))


@pytest.mark.parametrize(("q", "expected"), [
    (0.25, 1.577), (0.5, 1.936), (1.0, 2.339), (2.0, 2.750), (5.0, 3.182), (10.0, 3.338), (20.0, 3.333)])
def test_v_kl_is_the_row_worked_out_before(q, expected):
    """Figures of the design, made by another program; they agree with this one's to 0.0024 bbl."""
    assert reference.v_kl(Floor(), q) == pytest.approx(expected, abs=0.0024)


@pytest.mark.parametrize("q", [0.25, 2.0, 20.0])
def test_v_kl_by_the_covariance_itself(q):
    """The second side: whitened by Cholesky of the whole covariance, without a filter."""
    floor, past, n = Floor(), 60, 200
    i = np.arange(past + n)
    covariance = 0.6 * 0.75 * np.exp(-0.25 * np.abs(i[:, None] - i)) + np.eye(past + n) * (0.4 * 0.75 + 3 * 0.01 / 12)
    ramp = np.zeros(past + n)
    ramp[past:] = q / 12.0 * np.arange(1, n + 1)
    w = np.linalg.solve(np.linalg.cholesky(covariance), ramp)[past:]
    told = np.concatenate(([0.0], 0.5 * np.cumsum(w**2)))
    by_hand = q / 12.0 * np.interp(np.log(12 * 3600 / 5), told, np.arange(n + 1))
    assert reference.v_kl(floor, q) == pytest.approx(by_hand, rel=1e-6)


def test_line_is_v_kl_and_what_flows_meanwhile():
    assert reference.line(Floor(), 12.0, lag_s=10.0) == pytest.approx(reference.v_kl(Floor(), 12.0) + 3.0)


def test_surprises_of_the_noise_are_white_and_of_sd_one():
    floor = Floor(loss=False)
    run = world.run(floor, 10, 0, 24.0)
    e = reference.whitened(floor, run.read - run.base)[100:]
    assert e.std() == pytest.approx(1.0, abs=0.03)
    assert np.corrcoef(e[:-1], e[1:])[0, 1] == pytest.approx(0.0, abs=0.04)


@pytest.mark.parametrize("kind", ["drilling", "at once", "pumps-off start", "pumps-off only", "growing", "loss"])
def test_the_world_keeps_every_barrel(kind):
    run = world.run(Floor(connections=True), 11, 3, 10.0, kind=kind, q=1.0, onset_s=8.3 * 3600.0)
    assert run.true == pytest.approx(run.well - run.lost + run.drained)
    assert np.isfinite(run.onset_s)
    assert (run.well[run.t_s <= run.onset_s] == 0).all()
    # What is read is that, in noise of a known size: nothing else comes or goes.
    assert (run.read - run.base - run.true).std() == pytest.approx(np.sqrt(0.75), rel=0.1)
    # Lines that have been filled again hold what they held.
    assert (run.drained[run.steady] == 0).all()
    assert run.drained.max() <= run.drains * max(o.factor for o in run.offs)


def test_kicks_flow_at_their_rate_and_when_they_should():
    drilling = world.run(Floor(connections=True), 12, 0, 8.0, kind="drilling", q=2.0, onset_s=4 * 3600.0)
    assert drilling.well[-1] == pytest.approx(2.0 / 60.0 * (drilling.t_s[-1] - drilling.onset_s))
    assert drilling.steady[np.searchsorted(drilling.t_s, drilling.onset_s)]
    only = world.run(Floor(connections=True), 12, 0, 8.0, kind="pumps-off only", q=2.0, onset_s=4 * 3600.0)
    off_s = sum(o.on_s - o.off_s for o in only.offs if o.off_s >= only.onset_s and o.on_s <= only.t_s[-1])
    assert only.well[-1] == pytest.approx(2.0 / 60.0 * off_s, abs=1e-9) or not only.on[-1]
    assert np.diff(only.well)[only.on[1:] & only.on[:-1]].max() <= 2.0 / 60.0 * 5.0
    lost = world.run(Floor(), 12, 0, 2.0, kind="loss", q=2.0, onset_s=3600.0)
    assert lost.well[-1] == pytest.approx(-120.0)
    with pytest.raises(ValueError, match="no such kind"):
        world.run(Floor(), 12, 0, 1.0, kind="flood")


def test_a_kick_changes_nothing_of_the_noise():
    quiet = world.run(Floor(quantum=0.0), 13, 0, 3.0)
    kicked = world.run(Floor(quantum=0.0), 13, 0, 3.0, kind="drilling", q=1.0, onset_s=3600.0)
    assert kicked.read - quiet.read == pytest.approx(kicked.well, abs=1e-9)


def test_limits_and_rates_by_hand():
    assert metrics.limit_for(range(1, 101), 0.10) == 91
    half = metrics.rate([True, False] * 50)
    assert half.per_tour == pytest.approx(np.log(2.0))
    assert half.se == pytest.approx(0.1)
    assert metrics.rate([False] * 10).per_tour == 0.0
    assert metrics.rate([False] * 10).se > 0.0
    # -ln(1-p) at the two levels is one a tour, and one in fourteen.
    assert -np.log(1.0 - np.array([metrics.TOUR, metrics.WEEK])) == pytest.approx([1.0, 1.0 / 14.0])


def test_alarms_count_from_the_onset_on():
    run = world.run(Floor(), 14, 0, 2.0, kind="drilling", q=6.0, onset_s=3600.0)
    over = run.t_s >= 3660.0
    assert metrics.alarm(run, over, 6.0) == pytest.approx((6.0, 60.0))
    assert metrics.alarm(run, run.t_s >= 3600.0 + 361.0, 6.0) is None          # 36.5 bbl
    assert metrics.alarm(run, over | (run.t_s == 3000.0), 6.0) is False        # ten minutes before
    assert metrics.alarm(run, over | (run.t_s == 2400.0), 6.0) == pytest.approx((6.0, 60.0))
    came = metrics.came([(6.0, 60.0), (8.0, 80.0), None, False])
    assert (came.n, came.mean, came.delay_s, came.missed) == (3, 7.0, 70.0, pytest.approx(1 / 3))


@pytest.mark.parametrize("q", [1.0, 10.0])
def test_nobody_beats_the_one_who_knows_rate_noise_and_baseline(q):
    """At the same level of false alarms, three standard errors allowed: else a number or the bench is wrong."""
    floor, still, tours, runs, alone = Floor(), Floor(loss=False), 30, 40, "clocks alone"
    h = metrics.limit_for([jobs.quiet(jobs.Quiet(floor, 15, i))["gain"] for i in range(tours)], metrics.TOUR)
    top = metrics.limit_for([jobs.best_quiet((still, 16, i, (q,)))[q] for i in range(tours)], metrics.TOUR)
    ours = metrics.came([jobs.kick(jobs.Kick(floor, 17, i, "drilling", q, ((alone, h),)))[alone] for i in range(runs)])
    best = metrics.came([jobs.best_kick((still, 18, i, q, (top,)))[0] for i in range(runs)])
    assert best.missed == ours.missed == 0.0
    assert best.mean <= ours.mean + 3.0 * np.hypot(best.se, ours.se)
    assert 0.6 < best.mean / reference.line(floor, q) < 1.1


def test_connections_tell_of_a_kick_at_pumps_off_and_not_without():
    floor = Floor(connections=True)
    for way in connections.WAYS.values():
        if way.by == "none":
            continue
        kicked = world.run(floor, 19, 0, 8.0, kind="pumps-off start", q=10.0, onset_s=4 * 3600.0)
        first = next(o for o in kicked.offs if o.off_s == kicked.onset_s)
        rows = (kicked.t_s >= first.off_s) & (kicked.t_s < first.on_s)
        assert connections.column(kicked, way)[rows].max() > 10.0
        assert connections.column(world.run(floor, 19, 0, 8.0), way)[rows].max() < 6.0
    assert (connections.column(kicked, connections.WAYS["clocks alone"]) == -np.inf).all()


def test_goals_are_told_as_met_or_not():
    table = scenarios.Table("Title", ("a", "b"), (("1", "2"),))
    assert list(report.lines(table)) == ["\n### Title\n", "| a | b |", "|---|---|", "| 1 | 2 |"]
    assert [goals.Goal("G1", "", 1.0, x, se).met for x, se in ((0.9, 0.0), (1.1, 0.0), (1.1, 0.2), (0.5, 0.1))] == [
        "met", "not met", "not met, within 2 se of it", "met"]
