"""With and without the look at gauges every number and every warning is the very same; the words ride beside them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from dipbook import composing, watch
from dipbook.books import Books
from dipbook.checking import units_of
from dipbook.observations import observe
from gauges.sensed import LIMITS, SUSPECT, columns, logged
from ledgers import MIN, entry

Fault = Callable[[Any, Any], dict[str, Any]]


def nothing(t: Any, v: Any) -> dict[str, Any]:
    return {}


def sticks(t: Any, v: Any) -> dict[str, Any]:
    v[0, t >= 35 * MIN] = v[0, np.flatnonzero(t >= 35 * MIN)[0]]
    return {}


def goes_missing(t: Any, v: Any) -> dict[str, Any]:
    return {"keep": {"Settling": (t < 38 * MIN) | (t > 44 * MIN)}}


def spiking(t: Any, v: Any) -> dict[str, Any]:
    v[1, [460, 500, 530]] -= 9.0
    return {}


def clips(t: Any, v: Any) -> dict[str, Any]:
    top = 8 * 30 * 9 / 5.614583333
    v[0] = np.minimum(v[0] + top - 210 + np.maximum(t / MIN - 20, 0), top)
    return {}


def noise(t: Any, v: Any) -> dict[str, Any]:
    v[2, t >= 40 * MIN] += np.random.default_rng(3).normal(0, 0.8, int((t >= 40 * MIN).sum()))
    return {}


def tilts(t: Any, v: Any) -> dict[str, Any]:
    wave = 3.0 * np.sin(2 * np.pi * t / 23_000) * (t > 20 * MIN)
    v[0] += wave
    v[2] -= wave
    return {}


def gap(t: Any, v: Any) -> dict[str, Any]:
    here = (t < 45 * MIN) | (t > 48 * MIN)
    return {"keep": dict.fromkeys(("Settling", "Suction", "Reserve"), here)}


def jump(t: Any, v: Any) -> dict[str, Any]:
    v[1, t >= 50 * MIN] += 10.0
    return {}


def moved(t: Any, v: Any) -> dict[str, Any]:
    m = np.clip(t / MIN - 30, 0, 8) * 3
    v[0] -= m
    v[2] += m
    return {}


FAULTS = (sticks, goes_missing, spiking, clips, noise, tilts, gap, jump, moved)
KIND = {sticks: "stuck", goes_missing: "missing", spiking: "spiking", clips: "clipped", noise: "noisy", tilts: "tilted",
        gap: "gap", jump: "step", moved: "transfer"}


def books_of(fault: Fault, gain: float, limits: str = LIMITS) -> Books:
    t, v = columns(70, gain=gain, from_min=40)
    more = fault(t, v)
    return logged(t, v, limits=limits, keep=more.get("keep"))


def watched(books: Books) -> tuple[watch.Watch, list[tuple[Any, ...]]]:
    memory, out = watch.run(books.rig.limits, observe(books))
    return memory, [(w.time, w.state, w.value, w.limit) for w in out if w.kind == "gain"]


@pytest.mark.parametrize("gain", [0.0, 1.0, 2.0])
@pytest.mark.parametrize("fault", FAULTS)
def test_the_gain_s_warning_is_raised_at_the_very_same_reading(fault: Fault, gain: float) -> None:
    """A limit on gauges makes the watch look at them; without one nothing of it is in the watch at all."""
    _, without = watched(books_of(fault, gain))
    _, with_it = watched(books_of(fault, gain, LIMITS + SUSPECT))
    assert with_it == without
    if gain:
        assert any(state == "raised" for _, state, _, _ in without)


@pytest.mark.parametrize("gain", [0.0, 1.0])
@pytest.mark.parametrize("fault", FAULTS)
def test_the_doubt_is_said_on_the_tank_and_the_situation_is_else_the_same(fault: Fault, gain: float,
                                                                         monkeypatch: pytest.MonkeyPatch) -> None:
    books = books_of(fault, gain)
    memory, _ = watched(books)
    now = int(books.readings.end_ms[-1])
    open_ = composing.warning_views(memory, books.rig, now, units_of(books.rig))
    with_it = composing.picture(composing.seen(books), now, warnings=open_)
    kind = KIND[fault]
    told = composing.seen(books).doubts
    assert (kind in {d.kind for d in told}) == (fault is not sticks or gain > 0), "one that stands while nothing moves is right"
    books = books_of(fault, gain)
    monkeypatch.setattr("dipbook.gauges.doubts", lambda *_: ())
    without = composing.picture(composing.seen(books), now, warnings=open_)
    for name in ("actual_m3", "expected_m3", "difference_m3", "u_m3", "partial", "hints", "limits_in_force"):
        assert getattr(with_it, name) == getattr(without, name)
    for a, b in zip(with_it.warnings, without.warnings, strict=True):
        assert (a.state, a.sounding, a.value, a.raised_ms, a.text) == (b.state, b.sounding, b.value, b.raised_ms, b.text)
        assert b.doubts == ()
    if with_it.warnings:
        assert kind in {d.kind for d in with_it.warnings[0].doubts}


def test_a_stuck_tank_s_warning_says_the_share_and_what_the_gain_may_be() -> None:
    books = books_of(sticks, 2.0)
    memory, _ = watched(books)
    now = int(books.readings.end_ms[-1])
    s = composing.picture(composing.seen(books), now,
                          warnings=composing.warning_views(memory, books.rig, now, units_of(books.rig)))
    (doubt,) = [d for d in s.warnings[0].doubts if d.kind == "stuck"]
    value = s.warnings[0].value
    assert value is not None
    bbl = value / 0.158987294928
    assert "reads low by its share, 33 % of the active area, if mud spreads by area" in doubt.text
    assert f"The {bbl:.1f} bbl read would be about {bbl * 1.5:.1f} bbl" in doubt.text
    assert doubt.would_be_m3 == pytest.approx(1.5 * value)
    assert [d.brief for t in s.tanks if t.name == "Settling" for d in t.doubts] == ["not moving"]
    assert [x.note for x in s.board if x.name == "Settling"] == ["? not moving"]


def test_a_limit_on_gauges_warns_after_its_delay_and_is_over_with_the_doubt() -> None:
    t, v = columns(70, gain=1.0, from_min=32)
    rows = (t >= 30 * MIN) & (t < 50 * MIN)
    v[0, rows] = v[0, np.flatnonzero(rows)[0]]
    books = logged(t, v, limits=SUSPECT)
    evidence = observe(books)
    assert evidence.suspects is not None
    first = int(evidence.t_ms[np.flatnonzero(evidence.suspects.count["active"] > 0)[0]])
    _, out = watch.run(books.rig.limits, evidence)
    assert [(w.state, w.time) for w in out] == [("raised", first + 2 * MIN), ("over", 50 * MIN)]
    assert out[0].text == "Gauge in doubt: Settling not moving. Called out; nothing is suppressed"
    memory, _ = watch.run(books.rig.limits, evidence.rows(0, int(np.searchsorted(evidence.t_ms, 45 * MIN))))
    assert memory.open_slots()[0].limit.latching is False


def test_a_stick_off_its_sensor_and_foam_are_said_until_the_next() -> None:
    t, v = columns(30)
    books = logged(t, v, entry("stick check", 10, tank="Suction", stick_m=1.5, sensor_m=1.6, difference_m=0.1,
                               difference_m3=2.2))
    (d,) = [d for d in composing.seen(books).doubts if d.kind == "stick"]
    assert (d.tank, d.from_ms, d.to_ms) == ("Suction", 10 * MIN, None)
    again = logged(t, v, entry("stick check", 10, tank="Suction", difference_m=0.1, difference_m3=2.2),
                   entry("stick check", 20, tank="Suction", difference_m=0.0, difference_m3=0.0))
    assert [d.to_ms for d in composing.seen(again).doubts if d.kind == "stick"] == [20 * MIN]
