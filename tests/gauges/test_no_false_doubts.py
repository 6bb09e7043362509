"""Histories in which nothing is wrong with a gauge, and nothing may be said of one; beside each, what would be."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from dipbook.books import build
from dipbook.gauges import (
    Gauge,
    cleaned,
    clipped,
    doubts,
    drifts,
    gaps,
    isolated,
    missing,
    noisy,
    spikes,
    stuck,
    tilted,
    transfers,
)
from dipbook.records import Block, Draft, numbered
from gauges.sensed import AREA, LIMITS, THREE, columns, gauges, logged
from ledgers import BBL, IN, MIN, dips, entry, rig_draft

EVERY = (stuck, missing, gaps, spikes, clipped, noisy, tilted, transfers)
HOUR = 60 * MIN


def tour(seed: int, *, tau_s: float, sd: float, count: int = 8, hours: int = 12) -> tuple[Any, Any, list[int]]:
    """(times, volumes [bbl], when the pumps changed) of a quiet tour: a connection each hour drains 15 bbl back, a
    slow surface loss, and noise of which six tenths remember tau_s [s]."""
    r = np.random.default_rng(seed)
    t = np.arange(hours * 720) * 5000
    a = float(np.exp(-5.0 / tau_s))
    slow = np.zeros((count, len(t)))
    fresh = r.normal(0.0, (1 - a * a) ** 0.5, slow.shape)
    for k in range(1, len(t)):
        slow[:, k] = a * slow[:, k - 1] + fresh[:, k]
    noise = sd * (0.6**0.5 * slow + 0.4**0.5 * r.normal(0.0, 1.0, slow.shape))
    back, marks = np.zeros(len(t)), []
    for off in range(1800, hours * 3600 - 900, 3600):
        s = t / 1000 - off
        back += 15 * ((1 - np.exp(-np.maximum(s, 0) / 60)) - (1 - np.exp(-np.maximum(s - 300, 0) / 40)))
        marks += [off * 1000, (off + 300) * 1000]
    v = 200.0 + noise + back / count - 1.5 * t / HOUR / count
    return t, np.round(v / 0.1) * 0.1, marks


@pytest.mark.parametrize("tau_s", [10.0, 60.0])
@pytest.mark.parametrize("sd", [0.05, 0.2, 1.0])
def test_a_quiet_tour_with_connections_has_no_doubt(tau_s: float, sd: float) -> None:
    t, v, marks = tour(1, tau_s=tau_s, sd=sd)
    made = [cleaned(Gauge(f"T{k}", t, row * BBL, AREA, top_m3=380 * BBL, flows=k == 0)) for k, row in enumerate(v)]
    assert [d for find in EVERY for d in find(made)] == []
    assert isolated(made, marks) == ()


def test_a_rig_that_is_idle_for_hours_has_none() -> None:
    t, v = columns(480)
    idle = t >= 120 * MIN
    v[:, idle] = v[:, np.flatnonzero(idle)[0]][:, None]
    assert [d for find in EVERY for d in find(gauges(t, v))] == []


@pytest.mark.parametrize("sd", [0.2, 1.0])
def test_one_tank_whose_agitator_is_off_stands_still_while_the_others_only_shake(sd: float) -> None:
    t, v = columns(480, sd_bbl=sd)
    v[1, t >= 120 * MIN] = 200.0
    assert stuck(gauges(t, v)) == (), "one that stands still while nothing moves reads right"
    v[[0, 2]] += np.maximum(t / MIN - 300, 0) / 10
    (d,) = stuck(gauges(t, v))
    assert d.tank == "Suction"
    assert d.known_ms >= 300 * MIN


def test_what_is_logged_on_another_tank_needn_t_show_in_one_behind_a_weir() -> None:
    t, v = columns(120)
    v[0, t >= 30 * MIN] = 200.0
    added = np.clip(t / MIN - 60, 0, 10) * 2
    v[2] += added

    def said(tank: str, at: Any) -> Any:
        return np.clip(np.asarray(at) / MIN - 60, 0, 10) * 2 * BBL if tank == "Reserve" else np.zeros(len(at))

    assert stuck(gauges(t, v), said) == ()
    assert [d.tank for d in stuck(gauges(t, v))] == ["Settling"], "nobody logged it"


def test_a_coarse_gauge_that_has_no_reason_to_leave_its_step_isn_t_stuck() -> None:
    t, v = columns(240, gain=0.01)
    v[0] = np.round((v[0] - v[0].mean() + 200.2) / 2.0) * 2.0
    v[0, :60:2] += 2.0
    assert stuck(gauges(t, v)) == ()


def test_noise_that_returns_with_the_pumps_is_none() -> None:
    t, v = columns(480, sd_bbl=0.05)
    on = (t < 180 * MIN) | (t >= 360 * MIN)
    v[:, on] += np.random.default_rng(5).normal(0.0, 0.4, (3, int(on.sum())))
    made = gauges(t, v)
    assert noisy(made, lambda at: (np.asarray(at) < 180 * MIN) | (np.asarray(at) >= 360 * MIN)) == ()
    assert {d.tank for d in noisy(made)} == {"Settling", "Suction", "Reserve"}, "where nobody logged the pumps"


def test_a_sensor_that_is_slow_or_drops_out_again_and_again_isn_t_missing() -> None:
    t, v = columns(240, step_s=1.0)
    made = gauges(t, v)
    slow = cleaned(Gauge("Reserve", t[::50], v[2, ::50] * BBL, AREA))
    bursts = cleaned(Gauge("Settling", t[t % 60_000 < 20_000], v[0, t % 60_000 < 20_000] * BBL, AREA))
    assert missing([made[1], slow, bursts]) == ()
    cut = (t < 100 * MIN) | (t >= 102 * MIN)
    assert [d.tank for d in missing([made[1], slow, cleaned(Gauge("Settling", t[cut], v[0, cut] * BBL, AREA))])] == ["Settling"]


def test_a_tank_behind_a_weir_that_mud_is_drawn_from_slowly_isn_t_isolated() -> None:
    """It moves by as much as a sixth of what its area would let it, now a little more and now a little less."""
    t, v, marks = tour(3, tau_s=10.0, sd=0.05, count=3)
    drawn = 15 * t / HOUR
    assert isolated(gauges(t, v), marks) == ()
    v[2] = 250.0 - drawn + np.random.default_rng(9).normal(0.0, 0.05, len(t))
    assert isolated(gauges(t, v), marks) == ()
    assert [d.tank for d in isolated(gauges(t, v), marks, moves=0.15, proofs=1)][:1] == ["Reserve"], "any move as proof"


def test_a_step_between_two_rounds_is_no_slow_drift() -> None:
    t = np.arange(20) * 30 * MIN
    d = np.where(t >= 300 * MIN, 10 * BBL, 0.0)
    flat = np.zeros(len(t))
    assert drifts(t, d, flat + 0.1, flat) == ()
    assert len(drifts(t, np.maximum(t / HOUR - 3, 0) * 5 * BBL, flat + 0.1, flat)) == 1


def test_one_row_of_another_age_costs_no_more_than_its_place() -> None:
    t = np.array([0, 586_204, 2**51 - 1])
    assert drifts(t, np.zeros(3), np.zeros(3), np.zeros(3)) == ()


def level_samples(**inches: Any) -> Draft:
    """Samples of levels [in], a value each 5 s."""
    n = len(next(iter(inches.values())))
    t = np.arange(n) * 5000
    blocks = tuple(Block(f"tank:{name}:level", t, np.asarray(x) * IN) for name, x in inches.items())
    return Draft("samples", 0, int(t[-1]), author="Test", blocks=blocks)


def test_an_active_tank_that_is_empty_for_hours_isn_t_at_the_end_of_its_gauge() -> None:
    n = 1440
    wave = 60.0 + np.random.default_rng(2).normal(0, 0.05, (2, n))
    emptied = np.maximum(12.0 - np.arange(n) / 60, 0.0)

    def told(text: str) -> set[tuple[str, str]]:
        books = build(numbered([rig_draft(text, -1), level_samples(Settling=emptied, Suction=wave[0], Reserve=wave[1]),
                                entry("zero", 0, length=0, reason="x")]))
        return {(d.kind, d.tank) for d in doubts(books)}

    assert not [x for x in told(THREE + LIMITS) if x[0] == "clipped"]
    box = 'kind = "box"\nlength = "30 ft"\nwidth = "8 ft"\nheight = "9 ft"'
    table = 'kind = "strapping"\ntable = [["6 in", "21.4 bbl"], ["60 in", "213.7 bbl"], ["108 in", "384.7 bbl"]]'
    assert ("clipped", "Settling") in told((THREE + LIMITS).replace(box, table, 1)), "its table begins at 6 in"


def test_dips_with_foam_and_two_readings_apart_are_said_until_the_next_and_a_clean_dip_isn_t() -> None:
    t, v = columns(60)

    def dip(minute: float, flag: str, apart_in: float) -> Draft:
        made = dips(minute, Trip=60)
        return replace(made, dips=(replace(made.dips[0], flag=flag, resolution_m=apart_in * IN),))

    def told(*more: Draft) -> list[tuple[str, str, int | None]]:
        return [(d.kind, d.said, d.to_ms) for d in doubts(logged(t, v, *more)) if d.tank == "Trip"]

    assert told(dip(10, "", 0.125)) == []
    assert told(dip(10, "foam", 0.125)) == [("flagged", "foam", None)]
    assert told(dip(10, "", 1.0), dip(30, "", 0.125)) == [("readings", "", 30 * MIN)]
