"""The reconciliation against a plain sum of the raw records, and the rule by which columns add up. Everything invented."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dipbook import balance, reports
from dipbook.quantities import to_unit
from dipbook.records import Draft, Record
from dipbook.reports.adding import digits_of, left_over, shown
from dipbook.reports.reconciliation import everywhere, reconcile
from dipbook.reports.tables_of_volumes import ROUNDING
from ledgers import BBL, MIN, booked, dips, entry, history

INCH = 30 * 8 / 12 * 1728 / 231 / 42
"""A box of 30 x 8 ft by the inch [bbl]: cubic inches in a cubic foot, in a gallon (231, by definition), gallons in a
barrel (42, by definition)."""
TANKS = ("Settling", "Suction", "Reserve", "Trip")
ACTIVE = ("Settling", "Suction")
FLOATS = {"allow_nan": False, "allow_infinity": False}


# --- the rule ---------------------------------------------------------------------------------------------------------

@given(parts=st.lists(st.floats(-3000, 3000, **FLOATS), max_size=20), symbol=st.sampled_from(("bbl", "m3", "gal[US]", "ft3", "L")))
def test_a_column_with_its_rounding_adds_up_to_the_last_digit_shown(parts: list[float], symbol: str) -> None:
    total, digits = sum(parts), digits_of(symbol)
    over = left_over(parts, total, symbol, digits)
    assert sum((shown(p, symbol, digits) for p in (*parts, over)), Decimal(0)) == shown(total, symbol, digits)
    last = Decimal(10) ** -digits
    assert abs(shown(over, symbol, digits)) <= last * (len(parts) + 1) / 2 + last / 1000
    for p in parts:        # no figure is bent: each is its own nearest
        assert abs(shown(p, symbol, digits) - Decimal(float(to_unit(p, symbol)))) <= last / 2 + Decimal("1e-9")


def test_figures_that_add_up_leave_nothing_over() -> None:
    assert left_over([25.0 * BBL, -5.5 * BBL], 19.5 * BBL, "bbl", 1) == 0.0
    assert left_over([0.14 * BBL] * 2, 0.28 * BBL, "bbl", 1) == pytest.approx(0.1 * BBL)      # 0.1 + 0.1 is shown as 0.3


# --- against the raw records --------------------------------------------------------------------------------------------

STEPS = st.lists(st.one_of(
    st.tuples(st.just("round"), st.lists(st.integers(160, 640), min_size=4, max_size=4)),
    st.tuples(st.just("transfer"), st.sampled_from(TANKS), st.sampled_from(TANKS), st.integers(1, 500)),
    st.tuples(st.just("addition"), st.sampled_from(TANKS), st.integers(1, 500)),
    st.tuples(st.just("discard"), st.sampled_from(TANKS), st.integers(1, 500)),
    st.tuples(st.just("zero")),
    st.tuples(st.just("correct"), st.integers(0, 30), st.integers(1, 500)),
), min_size=1, max_size=25)


def told(steps: list[Any]) -> list[Draft]:
    """A round, then a step every ten minutes: eighths of inches, tenths of barrels. A round is read two minutes after."""
    found = [dips(0, **dict.fromkeys(TANKS, 40.0))]
    for n, step in enumerate(steps, 1):
        minute = 10.0 * n
        match step:
            case "round", eighths:
                found.append(dips(minute + 2, **{t: e / 8 for t, e in zip(TANKS, eighths, strict=True)}))
            case "transfer", a, b, v:
                if a != b:
                    found.append(entry("transfer", minute, from_=a, to=b, volume=v / 10, uid=f"u{n}"))
            case "addition", a, v:
                found.append(entry("addition", minute, to=a, volume=v / 10, uid=f"u{n}"))
            case "discard", a, v:
                found.append(entry("discard", minute, from_=a, volume=v / 10, uid=f"u{n}"))
            case "zero",:
                found.append(entry("zero", minute, length=0.0, reason="test", uid=f"u{n}"))
            case "correct", k, v:
                old = next((d for d in found if d.uid == f"u{k}" and d.kind in ("transfer", "addition", "discard")), None)
                if old is not None and not any(d.supersedes == old.uid for d in found):
                    payload = {**old.payload, "volume_m3": v / 10 * BBL}
                    found.append(Draft(old.kind, old.t_ms, round(minute * MIN), author="Test", payload=payload, uid=f"u{n}",
                                       supersedes=old.uid, reason="misread"))
    return found


def raw(records: tuple[Record, ...], tanks: tuple[str, ...], a: int, b: int) -> dict[str, float]:
    """What the records say, by a plain loop [bbl]: no curves, no terms. a, b: ends of readings [UTC ms]."""
    gone = {r.supersedes for r in records}
    levels: dict[int, float] = {}
    sums = {"transfers": 0.0, "additions": 0.0, "discards": 0.0}
    for r in records:
        if r.uid in gone:
            continue
        if r.kind == "round":
            levels[r.t_ms] = sum(float(d.as_typed.split()[0]) for d in r.dips if d.tank in tanks) * INCH
        elif r.kind + "s" in sums and a < r.t_ms <= b:
            v = r.payload["volume_m3"] / BBL
            sums[r.kind + "s"] += v * ((r.payload.get("to") in tanks) - (r.payload.get("from") in tanks))
    return {"opening": levels[a], "closing": levels[b], **sums}


@settings(max_examples=150)
@given(steps=STEPS, ends=st.tuples(st.integers(-1, 26), st.integers(1, 27)))
def test_every_line_is_what_a_plain_sum_of_the_raw_records_says(steps: list[Any], ends: tuple[int, int]) -> None:
    records = history(*told(steps))
    books = booked(*told(steps))
    span = reports.Span(ends[0] * 10 * MIN + MIN, (ends[0] + ends[1]) * 10 * MIN + 5 * MIN)
    rounds = [r.t_ms for r in records if r.kind == "round"]
    before = [t for t in rounds if t <= span.from_ms] or [t for t in rounds if span.holds(t)][:1]
    after = [t for t in rounds if t <= span.to_ms]
    active, surface, tanks = everywhere(books, span)
    for made, names in ((active, ACTIVE), (surface, TANKS), *((t, (t.system,)) for t in tanks)):
        if not before or before[-1] == after[-1]:
            assert made.why
            assert made.closing_m3 is None
            continue
        is_ = raw(records, names, before[-1], after[-1])
        assert (made.opening_ms, made.closing_ms) == (before[-1], after[-1])
        assert made.opening_m3 / BBL == pytest.approx(is_["opening"])
        assert made.closing_m3 / BBL == pytest.approx(is_["closing"])
        terms = {t.name: t.volume_m3 / BBL for t in made.terms}
        # All surface begins at its first dips: they are its line-up, and no part of a span after them.
        assert set(terms) <= {"transfers", "additions", "discards"}
        for name in ("transfers", "additions", "discards"):
            assert terms.get(name, 0.0) == pytest.approx(is_[name], abs=1e-8)
        booked_ = is_["transfers"] + is_["additions"] + is_["discards"]
        assert made.unexplained_m3 / BBL == pytest.approx(is_["closing"] - is_["opening"] - booked_, abs=1e-8)
        for t in made.terms:
            assert sum(e.volume_m3 for e in t.entries) == pytest.approx(t.volume_m3, abs=1e-9)
            assert {e.uid for e in t.entries} <= {r.uid for r in records if r.kind + "s" == t.name}


@settings(max_examples=100)
@given(steps=STEPS, cut=st.integers(1, 24))
def test_spans_put_together_and_zeros_change_nothing_of_what_is_not_explained(steps: list[Any], cut: int) -> None:
    steps = [*steps, ("round", [320, 321, 322, 323])]
    books = booked(*told(steps))
    end = (len(steps) + 1) * 10 * MIN
    cut_ms = min(cut, len(steps)) * 10 * MIN + 5 * MIN
    whole, first, second = (reconcile(books, reports.Span(a, b)) for a, b in ((0, end), (0, cut_ms), (cut_ms, end)))
    parts = [p for p in (first, second) if not p.why]
    if whole.why:
        return
    assert sum(p.unexplained_m3 for p in parts) == pytest.approx(whole.unexplained_m3, abs=1e-9)
    for r in (whole, *parts):       # in + not explained − written off = out
        if r.carried_in_m3 is not None and r.carried_out_m3 is not None:
            written = [z.volume_m3 for z in r.zeros]
            assert r.carried_in_m3 + r.unexplained_m3 - sum(written) == pytest.approx(r.carried_out_m3, abs=1e-9)
    none = ("transfer", "Trip", "Trip", 1)        # a step in which nothing is logged
    without = reconcile(booked(*told([none if s == ("zero",) else s for s in steps])), reports.Span(0, end))
    assert without.unexplained_m3 == pytest.approx(whole.unexplained_m3, abs=1e-9)
    shown_now = balance.at(books, int(books.readings.end_ms[-1]), zeroed_by=end)
    if whole.carried_out_m3 is not None:
        assert whole.carried_out_m3 == pytest.approx(float(shown_now.difference_m3[0]), abs=1e-12)


def test_never_reset_is_the_whole_difference_since_the_first_zero() -> None:
    books = booked(dips(0, Settling=40, Suction=40), entry("zero", 1, length=0, reason="start"),
                   dips(30, Settling=41, Suction=40), entry("zero", 31, length=0, reason="new crew"),
                   dips(60, Settling=43, Suction=40))
    r = reconcile(books, reports.Span(10 * MIN, 70 * MIN))
    assert r.unexplained_m3 / BBL == pytest.approx(3 * INCH)
    assert [z.volume_m3 / BBL for z in r.zeros] == pytest.approx([INCH])
    assert [z.reason for z in r.zeros] == ["new crew"]
    assert r.carried_out_m3 / BBL == pytest.approx(2 * INCH)
    assert r.written_off_m3 / BBL == pytest.approx(INCH)
    assert r.never_reset_m3 / BBL == pytest.approx(3 * INCH)


# --- what is shown ------------------------------------------------------------------------------------------------------

def column(table: reports.Table, heading: str) -> list[tuple[reports.Row, Any]]:
    place = [c.heading for c in table.columns].index(heading)
    return [(row, row.cells[place]) for row in table.rows]


@settings(max_examples=80, deadline=None)
@given(steps=STEPS, unit=st.sampled_from(("bbl", "m3", "gal[US]", "L", "ft3")))
def test_every_table_adds_up_as_it_is_shown(steps: list[Any], unit: str) -> None:
    steps = [*steps, ("round", [300, 301, 302, 303])]
    made = reports.report(booked(*told(steps)), reports.Span(5 * MIN, len(steps) * 10 * MIN + 5 * MIN), units={"volume": unit})
    tables = {t.name: t for t in reports.tables(made)}
    by = reports.writing(made)

    def number(table: reports.Table, heading: str, row: reports.Row) -> Decimal:
        place = [c.heading for c in table.columns].index(heading)
        said = reports.in_file(table.columns[place], row.cells[place], by)
        on = reports.on_paper(table.columns[place], row.cells[place], by)
        assert (said is None) == (on in ("", "unknown"))
        if said is not None:
            assert on.replace("−", "-").lstrip("+") == said       # paper and file show one figure
        return Decimal(said or 0)

    t = tables["reconciliation"]
    for heading in ("Active system", "All surface tanks"):
        got = [number(t, heading, row) for row in t.rows]
        assert sum(got[:-1], Decimal(0)) == got[-1]
    t = tables["difference"]
    got = [number(t, "Volume", row) for row in t.rows]
    out = next(n for n, row in enumerate(t.rows) if row.cells[0] == "Difference carried out")
    if made.active.carried_in_m3 is not None:
        assert sum(got[:out], Decimal(0)) == got[out]
    t = tables["tanks"]
    for row in t.rows:
        *parts, closing = (number(t, h, row) for h in ("Opening", "Logged in", "Logged out", "The well's", "The rest", ROUNDING,
                                                      "Closing"))
        assert sum(parts, Decimal(0)) == closing
    for name, part, total in (("booked", "Volume", "Term's sum"), ("inventory", "Volume", "Sum")):
        t = tables[name]
        groups: dict[Any, list[reports.Row]] = {}
        for row in t.rows:
            groups.setdefault(row.cells[0], []).append(row)
        for rows in groups.values():
            assert sum((number(t, part, r) for r in rows), Decimal(0)) == sum((number(t, total, r) for r in rows), Decimal(0))
