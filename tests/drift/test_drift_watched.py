"""Limits on drift in the watch: histories of readings and pumps to warnings. Invented; no source."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from dipbook import watch
from dipbook.alarms.step import back
from dipbook.books import Books, build, learn
from dipbook.drifts import BLOCK, drifts
from dipbook.observations import observe
from dipbook.records import numbered
from drift.drifting_logs import AUTOMATIC, LIMIT, drained, logged, noise, pumps, ramp, samples, times
from ledgers import BBL, MIN, RIG, entry, rig_draft

CREW = {"volume": ("bbl", 1)}


def raised(books: Books) -> list[watch.Transition]:
    made = watch.run(books.rig.limits, observe(books), 1)[1]
    return [w for w in made if w.state == "raised" and w.event == "ACT"]


def test_a_gain_of_a_barrel_a_minute_is_told_within_minutes_and_in_plain_words() -> None:
    t = times(4)
    first, *_ = raised(logged(t, noise(t) + ramp(t, 180, 1.0)))
    assert (first.kind, first.system) == ("drift", "rising")
    assert 181 < first.time / MIN < 185
    said = watch.words(first, CREW)
    assert "bbl above the low at 2" in said         # 180 min after midnight UTC is 21:00 on the rig
    share = first.evidence["facts"]["share"]
    assert f"limit {3.0 * share:.1f} bbl" in said
    assert share == 1.0 or f"({share:g} of the 3.0 bbl set" in said
    assert "about" in said
    assert "flow-check" in said


def test_a_quiet_tour_with_a_slow_surface_loss_says_nothing() -> None:
    t = times(8)
    assert raised(logged(t, noise(t) + ramp(t, 0, -2.0 / 60))) == []


def test_losses_are_told_apart_from_gains() -> None:
    t = times(4)
    found = raised(logged(t, noise(t) + ramp(t, 180, -1.0)))
    assert [w.system for w in found][:1] == ["falling"]
    assert "below the high" in watch.words(found[0], CREW)
    assert "flow-check" not in watch.words(found[0], CREW)


def test_a_slow_gain_is_told_as_large_as_it_is_and_what_counts_beside_it() -> None:
    t = times(3.0)
    up = ramp(t, 60, 0.1, 120) - ramp(t, 125, 0.1, 185)         # 6 bbl/h, half of it let pass
    _, out = watch.run((books := logged(t, up)).rig.limits, observe(books))
    told, over = (next(w for w in out if w.event == event) for event in ("ACT", "RTN"))
    assert told.time / MIN == pytest.approx(93.4, abs=0.1)
    assert watch.words(told, CREW).startswith("Rising: 3.1 bbl above the low at 19:01, 1.5 bbl of it counts, limit 1.5 bbl")
    # It has faded from the sum, and nearly all of it still stands: both are said, and nothing that it had been.
    assert watch.words(over, CREW).startswith("Rising over: now 4.7 bbl above the low at 19:01, 0.7 bbl of it counts")
    assert "had been" not in watch.words(over, CREW)


def test_every_number_of_the_words_has_the_crews_decimal_sign() -> None:
    t = times(3.0)
    for limit in (LIMIT, AUTOMATIC):
        for w in raised(logged(t, noise(t) + ramp(t, 120, 1.0), limit=limit)):
            assert "." not in watch.words(w, CREW, ",")


def test_a_slow_loss_is_told_as_large_as_it_is() -> None:
    t = times(3.0)
    first = raised(logged(t, -ramp(t, 60, 0.15)))[0]
    fallen = 0.15 * (first.time / MIN - 60)
    assert first.evidence["facts"]["of"] / BBL == pytest.approx(fallen, abs=0.4)        # smoothed over 120 s
    assert first.evidence["facts"]["counts"] / BBL == pytest.approx(1.5, abs=0.05)


def test_a_surface_loss_does_not_hide_a_gain_behind_it() -> None:
    # 12 bbl lost in four hours; the difference itself never rises above its zero.
    t = times(5)
    u = noise(t) + ramp(t, 0, -3.0 / 60) + ramp(t, 240, 1.0, 246)
    assert (u < 0.0)[-1]
    found = raised(logged(t, u))
    assert [round(w.time / MIN) for w in found if w.system == "rising"][:1] == [pytest.approx(243, abs=2)]


def test_what_came_in_while_the_pumps_were_off_shows_when_they_have_run_again() -> None:
    offs = [(120.0, 126.0)]
    t = times(4)
    quiet = logged(t, noise(t) + drained(t, offs), *pumps(offs))
    assert raised(quiet) == []
    kicked = logged(t, noise(t) + drained(t, offs) + ramp(t, 121, 1.0, 126), *pumps(offs))
    found = raised(kicked)
    assert [w.system for w in found] == ["rising"]
    assert 126 < found[0].time / MIN < 134      # five minutes settling, one for the mean


def with_band(kick: float, from_min: float = 300.0, to_min: float = 308.0) -> Books:
    """Four good connections accepted and adopted, and a fifth with a kick."""
    offs = [(60.0 * k, 60.0 * k + 8) for k in range(1, 6)]
    t = times(5.5)
    more = noise(t) + drained(t, offs) + ramp(t, from_min, kick, to_min)
    said = [entry("connection", off, state="accepted") for off, _ in offs[:4]]
    return logged(t, more, *pumps(offs), *said, entry("flow-back band", 290, state="adopted", flow=300))


def test_a_kick_as_the_pumps_stop_is_told_while_they_are_off() -> None:
    assert raised(with_band(0.0)) == []
    first, *_ = raised(with_band(2.0))
    assert 300 < first.time / MIN < 304
    said = watch.words(first, CREW)
    assert "more than usual came back by" in said
    assert "after the pumps stopped" in said
    assert "limit 3.9 bbl" in said              # 1.3 times the limit


def test_a_kick_while_the_tanks_settle_is_told_before_they_have() -> None:
    first, *_ = raised(with_band(5.0, 309.0, 320.0))
    assert 309 < first.time / MIN < 312
    assert "after the pumps started" in watch.words(first, CREW)


def test_without_an_accepted_band_the_sums_hold_and_say_why() -> None:
    offs = [(120.0, 126.0)]
    t = times(3)
    of = drifts(logged(t, noise(t) + drained(t, offs), *pumps(offs)))
    at = np.searchsorted(t, np.array([119, 122, 128, 133]) * MIN)
    assert [of.why[i] for i in at] == ["", "Pumps off", "Settling", ""]
    assert of.known[at].tolist() == [True, False, False, True]
    assert np.isfinite(of.gain.worst_m3[at]).all()          # held, never nothing


def test_a_zero_begins_the_sums_anew_and_keeps_the_noise() -> None:
    t = times(5)
    u = noise(t) + ramp(t, 240, 0.5, 244)
    entries = [*pumps([]), entry("zero", 250, length=0, reason="circulated out")]
    of = drifts(logged(t, u, *entries))
    before, after = np.searchsorted(t, np.array([249, 258]) * MIN)
    assert of.gain.worst_m3[before] > 1.5 * BBL
    assert of.gain.worst_m3[after] < 1.2 * BBL
    assert np.isfinite(of.scale_m3[after])
    assert of.learned_s[after] >= of.learned_s[before]


def test_a_limit_that_follows_the_noise_is_told_as_it_is_and_never_above_its_ceiling() -> None:
    t = times(5)
    books = logged(t, noise(t) + ramp(t, 240, 1.0), limit=AUTOMATIC)
    first, *_ = raised(books)
    noise_now = float(drifts(books).scale_m3[np.searchsorted(t, 240 * MIN)])
    limit = 7.5 * noise_now
    assert limit < 2.0 * BBL
    assert first.limit == pytest.approx(5 * BBL)
    assert 240 < first.time / MIN < 243
    facts = first.evidence["facts"]
    assert facts["of"] >= facts["part"] * first.limit - 1e-9
    assert facts["part"] * 5 * BBL == pytest.approx(facts["share"] * limit, rel=0.1)
    assert "7.5 times the noise" in watch.words(first, CREW)


def test_before_the_noise_is_learned_its_ceiling_is_the_limit() -> None:
    t = times(1)
    books = logged(t, noise(t, 0.1) + ramp(t, 30, 1.0), limit=AUTOMATIC)
    first, *_ = raised(books)
    assert 32.5 < first.time / MIN < 35           # the slow pace, at half of it
    assert first.value == pytest.approx(first.evidence["facts"]["of"])
    assert first.evidence["facts"]["counts"] / BBL == pytest.approx(2.5, abs=0.2)
    assert first.held_to == pytest.approx(2.5 * BBL)
    assert first.evidence["facts"]["part"] == pytest.approx(0.5)
    assert "limit 2.5 bbl (0.5 of the 5.0 bbl set)" in watch.words(first, CREW)
    assert "noise" not in watch.words(first, CREW)


def test_by_the_noise_too_it_sounds_again_after_barrels_that_are_there() -> None:
    """Growth of 1 bbl is 1 bbl of what is told, not a barrel of the ceiling that the noise is far below."""
    t = times(5)
    books = logged(t, noise(t, 0.1) + ramp(t, 240, 1.0, 246), limit=AUTOMATIC)
    memory, made = watch.run(books.rig.limits, rows := observe(books).rows(0, int(np.searchsorted(t, 242 * MIN))))
    first = made[-1]
    assert (first.event, first.state) == ("ACT", "raised")
    assert first.evidence["facts"]["part"] < 0.25
    acked, _ = watch.step(memory, watch.Act("acknowledge", first.occurrence, "A. Sample", at_ms=int(rows.t_ms[-1])))
    heard = next(s for s in acked.open_slots()).alarm.sounded
    out = []
    memory = acked
    for n in range(len(rows), int(np.searchsorted(t, 250 * MIN))):
        one = observe(books, n, n + 1)
        memory, more = watch.step(memory, watch.Learned(9, int(one.t_ms[0]), one, replay=True))
        out += [w for w in more if w.system == "rising"]
        memory, _ = watch.step(memory, watch.Act("acknowledge", first.occurrence, "A. Sample", at_ms=int(one.t_ms[0]))) \
            if more and more[-1].state == "raised" else (memory, ())
    told = [heard, *(abs(w.value) for w in out if w.event == "REA")]
    assert 4 <= len(told) - 1 <= 6, "6 bbl came in, the first of them before it was raised"
    assert all(1.0 * BBL - 1e-9 <= b - a < 1.3 * BBL for a, b in pairwise(told))


def test_a_deadband_is_barrels_that_count_and_never_more_than_half_of_what_holds() -> None:
    limit = next(x for x in logged(times(0.1), noise(times(0.1))).rig.limits if x.kind == "drift")       # 3 bbl, over when back by 1
    assert [float(back(limit, part) / BBL) for part in (1.0, 1.6, 0.5, 0.1)] == pytest.approx([2.0, 3.8, 0.75, 0.15])
    wide = replace(limit, deadband=2.4 * BBL)
    assert [float(back(wide, part) / BBL) for part in (1.0, 0.5)] == pytest.approx([0.6, 0.3])
    assert float(back(replace(limit, deadband=0.0), 0.5) / BBL) == pytest.approx(1.5)


@pytest.mark.parametrize("cut", [1, 7, 600])
def test_readings_that_come_bit_by_bit_give_the_same_as_all_at_once(cut: int) -> None:
    offs = [(70.0, 76.0)]
    t = times(1.6, 20.0)
    u = noise(t) + drained(t, offs) + ramp(t, 85, 2.0)
    whole = logged(t, u, *pumps(offs))
    books = build(numbered([rig_draft(RIG + LIMIT, -90), *pumps(offs)]))
    rows = []
    n = 0
    while n < len(t):
        m = min(len(t), n + max(cut, len(t) // 20))
        extra = [samples(t[n:m], u[n:m])] + ([entry("zero", 0, length=0, reason="x")] if n == 0 else [])
        seq = max(r.seq for r in books.records)
        books, _ = learn(books, [replace(r, seq=r.seq + seq) for r in numbered(extra)])
        rows.append(observe(books, n).drift["rising"])
        n = m
    value = np.concatenate([r.value for r in rows])
    known = np.concatenate([r.known for r in rows])
    of = observe(whole).drift["rising"]
    np.testing.assert_array_equal(known, of.known)
    np.testing.assert_allclose(value, of.value, rtol=1e-9, atol=1e-9)


def test_one_more_reading_is_followed_alone_whoever_looks_first(monkeypatch: pytest.MonkeyPatch) -> None:
    from dipbook import drifts as room
    from dipbook.composing.drift_view import drift_view
    t = times(2.0)
    books = logged(t[:-3], noise(t[:-3]))
    drift_view(books)
    observe(books, len(books.readings) - 1)
    followed: list[int] = []
    follow = room.follow
    monkeypatch.setattr(room, "follow", lambda t_ms, *a, **k: followed.append(len(t_ms)) or follow(t_ms, *a, **k))
    for k in (3, 2, 1):
        seq = max(r.seq for r in books.records)
        more = numbered([samples(t[-k:][:1], noise(t)[-k:][:1])])
        books, _ = learn(books, [replace(r, seq=r.seq + seq) for r in more])
        drift_view(books)
        observe(books, len(books.readings) - 1)
    assert sum(followed) == 6                   # two looks at each of three readings


def test_a_correction_of_an_earlier_time_is_followed_from_there() -> None:
    t = times(3)
    u = noise(t)
    books = logged(t, u)
    observe(books)
    seq = max(r.seq for r in books.records)
    late = numbered([entry("transfer", 60, 61, from_="Suction", to="Reserve", volume=4, learned=180)])
    after, touched = learn(books, [replace(r, seq=r.seq + seq) for r in late])
    assert touched == 60 * MIN
    np.testing.assert_allclose(observe(after).drift["rising"].value,
                               observe(build(after.records)).drift["rising"].value, atol=1e-9)


def test_more_than_a_block_of_readings_is_followed_as_one() -> None:
    t = times((BLOCK + 3000) / 3600, 1.0)
    u = noise(t)
    books = logged(t, u)
    whole = drifts(books)
    again = drifts(books, BLOCK + 10)
    np.testing.assert_allclose(again.gain.worst_m3, whole.gain.worst_m3[BLOCK + 10:], atol=1e-12)
    assert again.why == whole.why[BLOCK + 10:]


def test_rounds_by_hand_are_summed_dip_by_dip_however_quickly_they_follow() -> None:
    from ledgers import booked, dips
    inch = 240 / 12 * 1728 / 9702
    books = booked(*pumps([]), dips(0, Settling=60, Suction=60), entry("zero", 0, length=0, reason="x"),
                   *(dips(15 * k, Settling=60, Suction=60 + (0.0 if k < 4 else (k - 3) * 2.5) / inch) for k in range(1, 8)),
                   rig=RIG + LIMIT)
    assert set(drifts(books).pace_s.tolist()) == {900.0}
    first, *_ = raised(books)
    assert first.time / MIN == 75               # 2.5 then 5 bbl above the low, less 3 bbl/h
