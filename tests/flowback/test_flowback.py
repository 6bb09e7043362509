"""Curves of connections from the books, by hand: 20 bbl of lines that drain with τ = 60 s, so 20 (1 − e^(−t/60))."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from dipbook import balance, checking
from dipbook.flowback import Connection, envelope, excess, find, stopped_s
from dipbook.records import Draft
from flowback.connections import INCH, START, connection, drained
from ledgers import BBL, GPM, RIG, booked, dips, entry, minutes


def found(*parts: list[Draft], rig: str = RIG) -> tuple[Connection, ...]:
    return find(booked(*START, *(d for part in parts for d in part), rig=rig))


def test_the_curve_is_what_came_back_and_not_what_the_rig_file_expects() -> None:
    (one,) = found(connection(30))
    assert one.s[[0, 2, 6]].tolist() == [0, 60, 180]
    assert one.back_m3 / BBL == pytest.approx([drained(s) for s in one.s], abs=1e-6)
    assert one.at(60) / BBL == pytest.approx(12.642, abs=1e-3)      # 20 (1 − 1/e)
    assert (one.flow_m3_s / GPM, one.lines_m3 / BBL) == pytest.approx((300, 20))
    assert math.isnan(one.at(3600))
    slow = RIG.replace('falling = "60 s"', 'falling = "240 s"')     # booked otherwise: the curve stays what came back
    (other,) = found(connection(30), rig=slow)
    assert other.back_m3 == pytest.approx(one.back_m3, abs=1e-9)


def test_what_is_logged_meanwhile_is_taken_out() -> None:
    (one,) = found(connection(30, moved=15))
    assert one.back_m3 / BBL == pytest.approx([drained(s) for s in one.s], abs=1e-6)


def test_its_uncertainty_is_that_of_the_readings_at_both_ends() -> None:
    (one,) = found(connection(30))
    assert one.u_m3[0] == pytest.approx(0.0)
    assert one.u_m3[4] / BBL == pytest.approx(math.sqrt(4) * INCH / 4 / math.sqrt(3), rel=1e-6)
    books = booked(*START, *connection(30))
    t = minutes(30, 32)
    assert balance.u_of_change(books, int(t[0]), np.array([t[1], t[1]])) == pytest.approx(
        [balance.u_of_change(books, int(t[0]), int(t[1]))] * 2)


def test_too_few_readings_a_long_stop_and_an_old_reading_before_it_make_no_curve() -> None:
    assert found([entry("pumps", 30, state="off"), entry("pumps", 40, state="on", flow=300), dips(29.5, Settling=60, Suction=60),
                  dips(35, Settling=60, Suction=64)]) == ()
    assert found(connection(30, lasts=50)) == ()
    late = [d for d in connection(30) if d.kind != "round" or d.t_ms > minutes(30)[0]]
    assert found(late) == (), "the last reading before it is half an hour old"
    (runs,) = found(connection(30)[:1] + connection(30)[2:])
    assert runs.on_ms is None, "the pumps are still off"


def test_a_partial_reading_is_no_point_of_a_curve() -> None:
    whole = connection(30)
    (one,) = found([*whole, dips(32.2, Suction=90)])
    assert 132.0 not in one.s.tolist()


def band_and_now(kick: float, *earlier: float) -> tuple[Any, Connection]:
    """Earlier connections an hour apart, each with a constant extra [bbl/min], then the one that is looked at."""
    parts = [connection(60 * k + 30, kick=extra) for k, extra in enumerate(earlier)]
    *accepted, now = found(*parts, connection(60 * len(earlier) + 30, kick=kick))
    return envelope(accepted, now), now


def test_the_excess_over_accepted_ones_is_the_influx() -> None:
    band, now = band_and_now(0.5, -0.02, 0.0, 0.02)
    assert (band.count, band.capped) == (3, True), "0.02 bbl/min of them is more than the lines hold"
    over = {e.minute: e.above_m3 / BBL for e in excess(now, band)}
    assert over[1.0] == pytest.approx(0.5 - 0.02, abs=1e-6)
    assert over[5.0] == pytest.approx(5 * (0.5 - 0.02), abs=1e-6)
    assert over[10.0] == pytest.approx(drained(600) + 5.0 - 20.0, abs=1e-6), "explained is at most what the lines hold"
    clean, same = band_and_now(0.0, -0.02, 0.0, 0.02)
    assert all(e.above_m3 <= 0.0 for e in excess(same, clean))


def test_fewer_than_three_or_of_another_flow_are_no_band() -> None:
    band, now = band_and_now(0.5, 0.0, 0.0)
    assert excess(now, band) == ()
    *accepted, last = found(*(connection(60 * k + 30) for k in range(4)))
    other = [Connection(c.off_ms, c.on_ms, c.flow_m3_s * 1.2, c.hole_m, c.s, c.back_m3, c.u_m3, c.lines_m3) for c in accepted]
    assert envelope(other, last).count == 0
    assert envelope([*accepted, last], last).count == 3, "it isn't compared with itself"


def test_an_influx_learnt_with_the_curves_is_not_explained_beyond_the_lines() -> None:
    """Three connections that each gave 2 bbl/min too much, accepted by mistake: the fourth like them still stands out."""
    band, now = band_and_now(2.0, 2.0, 2.0, 2.0)
    assert band.capped
    assert max(e.above_m3 for e in excess(now, band)) / BBL == pytest.approx(drained(600) + 20 - 20, abs=1e-6)


def test_when_the_flow_had_died_away() -> None:
    (clean,) = found(connection(30))
    limit = 0.2 * BBL / 60          # 0.2 bbl/min; 20/60 e^(−t/60) bbl/s falls below it from about 276 s on
    assert stopped_s(clean, limit) == pytest.approx(300, abs=31)
    (flows,) = found(connection(30, kick=0.5))
    assert math.isnan(stopped_s(flows, limit))


def test_a_check_tells_of_its_connections(tmp_path: Any) -> None:
    """From the pump column of a readings file, 30 s apart: pumps off at 02:30, on again at 02:42."""
    rows = ["time,Settling [in],Suction [in],flow in"]
    for s in range(0, 3600, 30):
        off = 1800 <= s < 2520
        since = s - 1800 if off else 0 if s < 1800 else None
        back = drained(since) if since is not None else 20 * (1 - (1 - math.exp(-12)) * (1 - math.exp(-(s - 2520) / 40)))
        rows.append(f"2026-03-01 02:{s // 60:02}:{s % 60:02},60,{60 + back / INCH:.5f},{0 if off else 300}")
    (tmp_path / "rig.toml").write_text(RIG, encoding="utf-8")
    (tmp_path / "r.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    done = checking.check(tmp_path / "rig.toml", tmp_path / "r.csv")
    (line,) = [x for x in checking.lines(done) if x["type"] == "connection"]
    assert (line["time"], line["until"]) == ("2026-03-01T08:30:00.000Z", "2026-03-01T08:42:00.000Z")
    assert line["back"][0]["minute"] == 1.0
    assert line["back"][0]["back_m3"] / BBL == pytest.approx(drained(60), abs=0.01)
    assert line["lines_m3"] / BBL == pytest.approx(20)
    (said,) = [text for text in checking.text_lines(done) if "came back" in text]
    assert said.startswith("2026-03-01 02:30:00  pumps off, came back [bbl]: 12.6 after 1 min, 17.3 after 2 min")
