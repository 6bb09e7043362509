"""The product's sums against those of a peer that was written apart from it, on the bench's simulated floor."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from bench.detection import peer, world
from bench.detection.world import Floor
from dipbook.drift import follow, tuning_for

BBL = peer.BBL


@pytest.fixture
def unlearned(monkeypatch):
    """Neither learns the noise, so that the quickest clock's share stays what it is."""
    monkeypatch.setattr(peer, "_scale", lambda t, *_: np.full(len(t), np.nan))


def both(floor: Floor, run: world.Run, tuning=None):
    """Of the product, then of the peer: (gain, loss, scale) [bbl]."""
    t = np.round(run.t_s * 1000.0).astype(np.int64)
    ours = follow(t, run.read * BBL, run.steady, tuning or tuning_for(floor.dt_s))
    theirs = peer.follow(t, run.read * BBL, run.steady, peer.tuning_for(floor.dt_s))
    return [(made.worst_gain_m3 / BBL, made.worst_loss_m3 / BBL, made.scale_m3 / BBL) for made in (ours, theirs)]


@pytest.mark.parametrize("floor", [Floor(), Floor(dt_s=1.0), Floor(dt_s=60.0), Floor(dt_s=900.0, per_dip=0.9, quantum=0.0),
                                   Floor(sd=0.2, tau_s=60.0)], ids=["5 s", "1 s", "60 s", "dips", "60 s noise"])
@pytest.mark.parametrize("replicate", range(3))
def test_the_sums_are_the_peers_without_connections(floor, replicate, unlearned):
    """They begin apart: here the first minute's mean, there the first reading. An hour on that is forgotten."""
    run = world.run(floor, 30, replicate, 8.0, kind="drilling", q=1.0, onset_s=7.5 * 3600.0)
    (gain, loss, _), (gain_of_peer, loss_of_peer, _) = both(floor, run, replace(tuning_for(floor.dt_s), learning=None))
    later = run.t_s > 3600.0
    assert gain[later] == pytest.approx(gain_of_peer[later], abs=1e-6)
    assert loss[later] == pytest.approx(loss_of_peer[later], abs=1e-6)
    assert gain[-1] > 20.0


@pytest.mark.parametrize("floor", [Floor(), Floor(dt_s=1.0), Floor(dt_s=60.0), Floor(share=0.0), Floor(tau_s=60.0)])
def test_the_noise_learned_is_the_peers(floor):
    """Two hours of looks for both, but for the newest twenty minutes, which don't count yet here; so a sixth may lie
    between. Once a gain flows, the peer takes it for noise."""
    run = world.run(floor, 32, 0, 8.0, kind="drilling", q=1.0, onset_s=7.5 * 3600.0)
    (_, _, scale), (_, _, scale_of_peer) = both(floor, run)
    before = int(np.searchsorted(run.t_s, 7.4 * 3600.0))
    if floor.dt_s < 60.0:
        assert scale[before] == pytest.approx(scale_of_peer[before], rel=0.25)
        assert scale[-1] == pytest.approx(scale[before], rel=0.15)
        assert scale_of_peer[-1] > 1.15 * scale_of_peer[before]
    else:
        assert 0.3 < scale[before] < 0.6


@pytest.mark.parametrize("replicate", range(4))
def test_the_sums_are_the_peers_across_connections(replicate, unlearned):
    """The mean they go on from is of a reading more here: up to a sixth of a bbl of noise at each connection."""
    floor = Floor(connections=True)
    run = world.run(floor, 31, replicate, 6.0, kind="drilling", q=0.5, onset_s=5.0 * 3600.0)
    (gain, loss, _), (gain_of_peer, loss_of_peer, _) = both(floor, run, replace(tuning_for(5.0), learning=None))
    later = np.flatnonzero(run.t_s > 3600.0)
    assert np.nanmedian(np.abs(gain - gain_of_peer)[later]) < 0.2
    assert np.nanquantile(np.abs(gain - gain_of_peer)[later], 0.99) < 1.0
    assert np.nanquantile(np.abs(loss - loss_of_peer)[later], 0.99) < 1.0
    assert gain[-1] == pytest.approx(gain_of_peer[-1], rel=0.1)
