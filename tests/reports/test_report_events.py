"""Warnings with who answered when, limits changed, trips, connections, inventory and what is handed over. Invented."""

from __future__ import annotations

from dataclasses import replace

import pytest

from dipbook import reports, watch
from dipbook.books import Books, build
from dipbook.checking import units_of
from dipbook.observations import observe
from dipbook.records import WARNING, Draft, numbered
from dipbook.reports.handover import GROUPS
from flowback.connections import START, connection
from ledgers import BBL, MIN, RIG, booked, dips, entry, rig_draft
from tripped import LIMITS, begins, pulled, start

INCH = 30 * 8 / 12 * 1728 / 231 / 42
GAIN = RIG + '''
[[limit]]
name = "gain"
kind = "gain"
on = "active"
value = "5 bbl"
deadband = "2 bbl"
growth = "2 bbl"
set_by = "A. Sample"
reason = "invented"
since = "2026-01-01"
[[limit]]
name = "Suction high"
kind = "high"
on = "Suction"
value = "8 ft"
deadband = "3 in"
shelve = "30 min"
set_by = "A. Sample"
reason = "invented"
since = "2026-01-01"
'''


def watched(drafts: list[Draft], acts: list[watch.Act], rig: str = GAIN, later: tuple[Draft, ...] = ()) -> Books:
    """The books with the journal that a watch wrote of them: readings learned at their time, and what people did. later:
    what the watch didn't know of."""
    books = build(numbered([rig_draft(rig, -1), *drafts]))
    evidence, memory, made = observe(books), watch.start(books.rig.limits, 1), list[watch.Transition]()
    steps = [(t, i) for i, t in enumerate(evidence.t_ms.tolist())] + [(a.at_ms, a) for a in acts]
    for t, what in sorted(steps, key=lambda s: s[0]):
        if isinstance(what, int):
            event: object = watch.Learned(what, t, evidence.rows(what, what + 1))
        else:
            one = next((s.alarm.occurrence for s in memory.open_slots()), "")
            event = what if what.limit else replace(what, occurrence=one)
        memory, out = watch.step(memory, event)
        made += out
    units = units_of(books.rig)
    said = [Draft(WARNING, w.time, w.learned, author=w.by, payload={**w.payload(), "text": watch.words(w, units, ".")}) for w in made]
    return build(numbered(sorted([rig_draft(rig, -1), *drafts, *said, *later], key=lambda d: d.learned_ms)))


def act(action: str, minute: float, **more: object) -> watch.Act:
    return watch.Act(action, by="J. Sample", at_ms=round(minute * MIN), **more)


KICK = [dips(0, Settling=40, Suction=40), entry("zero", 1, length=0, reason="start"), dips(30, Settling=40, Suction=40),
        dips(60, Settling=42, Suction=40), dips(90, Settling=43, Suction=40), dips(120, Settling=40, Suction=40)]

LEVEL = [d for d in KICK if d.t_ms != 90 * MIN]
"""Without the reading at which it has grown further."""


def test_a_warning_is_told_from_raised_to_closed_with_who_and_how_long() -> None:
    late = entry("transfer", 50, from_="Reserve", to="Settling", volume=2 * INCH, learned=70, uid="late")
    before = entry("addition", 55, to="Settling", volume=0.1, uid="before")
    books = watched([*LEVEL, before], [act("acknowledge", 64), act("close", 130, note="a transfer nobody logged")], later=(late,))
    made = reports.report(books, reports.Span(10 * MIN, 200 * MIN))
    gain, = (w for w in made.warnings.raised if w.name == "gain")
    # The journal was written before the late entry was known: it says what was shown then.
    assert (gain.raised_ms // MIN, gain.learned_ms // MIN) == (60, 60)
    assert (gain.acknowledged_ms // MIN, gain.acknowledged_by, gain.answered_ms) == (64, "J. Sample", 4 * MIN)
    assert (gain.closed_by, gain.note, gain.state) == ("J. Sample", "a transfer nobody logged", "closed")
    assert gain.afterwards == ("late",)


def test_a_warning_that_stood_when_the_span_began_is_in_it_and_a_closed_one_is_not() -> None:
    books = watched(LEVEL, [act("acknowledge", 64), act("close", 130, note="known")])

    def names(a: float, b: float) -> list[tuple[str, str]]:
        made = reports.report(books, reports.Span(round(a * MIN), round(b * MIN)))
        return [(w.name, w.state) for w in made.warnings.raised]
    assert names(0, 59) == []
    assert names(59, 62) == [("gain", "raised")]
    assert names(62, 70) == [("gain", "acknowledged")]
    assert names(125, 128) == [("gain", "over_acknowledged")]
    assert names(125, 140) == [("gain", "closed")]
    assert names(140, 200) == []


def test_growth_sounds_again_and_is_counted() -> None:
    books = watched(KICK, [act("acknowledge", 64)])
    gain, = reports.report(books, reports.Span(0, 100 * MIN)).warnings.raised
    assert gain.sounded == 2
    assert gain.worst / BBL == pytest.approx(3 * INCH)


def test_a_warning_that_nobody_answered_has_no_time_of_answer() -> None:
    gain, = reports.report(watched(KICK, []), reports.Span(0, 100 * MIN)).warnings.raised
    assert (gain.acknowledged_ms, gain.answered_ms, gain.acknowledged_by, gain.state) == (None, None, "", "raised")


def test_an_answer_before_the_question_by_a_clock_set_back_has_no_length() -> None:
    books = watched(KICK, [act("acknowledge", 64)])
    records = [replace(r, learned_ms=r.learned_ms - 30 * MIN, payload={**r.payload, "learned": r.payload["learned"] - 30 * MIN})
               if r.kind == WARNING and r.payload["event"] == "ACK" else r for r in books.records]
    gain, = reports.report(build(records), reports.Span(0, 100 * MIN)).warnings.raised
    assert gain.answered_ms is None
    assert gain.acknowledged_by == "J. Sample"


def test_limits_changed_and_set_aside_are_told_with_who_and_why() -> None:
    looser = rig_draft(GAIN.replace('"5 bbl"', '"9 bbl"'), 40)
    looser = replace(looser, author="T. Sample", reason="rough weather")
    books = watched([*KICK, looser], [act("shelve", 30, limit="Suction high", note="agitator", until_ms=55 * MIN)])
    made = reports.report(books, reports.Span(10 * MIN, 50 * MIN))
    change, = made.warnings.changes
    assert (change.by, change.why) == ("T. Sample", "rough weather")
    aside, = made.warnings.aside
    assert (aside.by, aside.t_ms // MIN) == ("J. Sample", 30)
    assert "shelved" in aside.words
    assert made.warnings.stands_aside == (("Suction high", "shelved"),)
    stands = [(x.group, x.words) for x in made.handover]
    assert ("Not watched", "Limit Suction high is shelved") in stands
    assert [w for g, w in stands if g == "Limits in force"] == ["gain: gain on active, 9 bbl"]
    assert reports.report(books, reports.Span(41 * MIN, 50 * MIN)).warnings.changes == ()


def test_what_stands_at_the_end_is_handed_over() -> None:
    books = watched([*KICK, entry("transfer", 100, from_="Reserve", to="Suction", rate=1, state="running", uid="running"),
                     entry("transfer", 101, from_="Reserve", to="Trip", state="running", uid="unknown"),
                     entry("transfer", 102, 105, from_="Trip", to="Reserve", volume=1, uid="done"),
                     entry("rate in force", 90, from_="active", rate=0.01, state="on", what="surface loss", uid="rate"),
                     entry("about to move mud", 115, from_="Reserve", to="Suction", told="D. Sample", uid="pending"),
                     entry("remark", 50, remark="agitator 2 is noisy", uid="remark"),
                     entry("handover", 125, leaving="A. Sample", arriving="B. Sample", uid="handed"),
                     entry("activity", 80, activity="circulating"), entry("line-up", 85, tank="Trip", state="in")], [])
    made = reports.report(books, reports.Span(10 * MIN, 121 * MIN))
    by_group = {g: [x for x in made.handover if x.group == g] for g in GROUPS}
    assert [x.words.split(",")[0] for x in by_group["Open warnings"]] == ["Gain 7.1 bbl"]
    assert {x.uid for x in by_group["Running"]} == {"running", "unknown"}
    assert "21.0 bbl so far" in next(x.words for x in by_group["Running"] if x.uid == "running")
    assert "its volume isn't known" in next(x.words for x in by_group["Running"] if x.uid == "unknown")
    assert [x.uid for x in by_group["Rates in force"]] == ["rate"]
    assert [x.uid for x in by_group["Pending"]] == ["pending"]
    assert [x.uid for x in by_group["Remarks"]] == ["remark"]
    assert [x.uid for x in by_group["Handed over"]] == ["handed"]
    assert ("Activity: circulating", 80 * MIN) in [(x.words, x.since_ms) for x in by_group["Line-up"]]
    assert ("Trip: in", 85 * MIN) in [(x.words, x.since_ms) for x in by_group["Line-up"]]
    assert len(by_group["Limits in force"]) == 2


def test_where_nothing_stands_that_is_said() -> None:
    made = reports.report(booked(*KICK), reports.Span(10 * MIN, 121 * MIN))
    said = {x.group: x.words for x in made.handover}
    assert said["Open warnings"] == "No warning is open."
    assert said["Limits in force"] == "No limit is in force."
    assert said["Not watched"] == "No limits are set: nothing is being watched"
    assert said["Handed over"] == "No handover was logged."


def test_a_trip_is_a_line_with_what_the_hole_took_in_the_span() -> None:
    taken = 0.70587 - 0.1
    books = booked(*start(), begins(5), *pulled(10, taken), entry("trip end", 70, signed="A. Sample"), rig=LIMITS)
    whole, = reports.report(books, reports.Span(0, 100 * MIN)).trips
    assert (whole.stands, whole.signed, whole.ended_ms) == (10, "A. Sample", 70 * MIN)
    assert whole.expected_m3 / BBL == pytest.approx(7.0587, abs=1e-4)
    assert whole.actual_m3 / BBL == pytest.approx(10 * taken, abs=1e-4)
    assert whole.difference_m3 == pytest.approx(whole.total_m3)
    assert whole.worst_last_m3 / BBL == pytest.approx(0.5, abs=1e-4)
    half, = reports.report(books, reports.Span(0, 36 * MIN)).trips          # five of the ten stands
    assert (half.stands, half.ended_ms, half.signed) == (5, None, "")
    rest, = reports.report(books, reports.Span(36 * MIN, 100 * MIN)).trips
    assert (half.difference_m3 + rest.difference_m3) / BBL == pytest.approx(1.0, abs=1e-4)
    assert rest.total_m3 / BBL == pytest.approx(1.0, abs=1e-4)
    assert reports.report(books, reports.Span(80 * MIN, 100 * MIN)).trips == ()
    # The trip tank's own books: what the hole took is the well's, and the tenth of a barrel a stand isn't explained.
    tank, = (t for t in reports.report(books, reports.Span(12 * MIN, 100 * MIN)).tanks if t.system == "Trip")
    assert tank.unexplained_m3 / BBL == pytest.approx(1.0, abs=1e-3)


def test_each_connection_of_the_span_is_a_line_also_long_ago() -> None:
    books = booked(*START, *connection(10), *connection(40), *connection(70), dips(60 * 60, Settling=60, Suction=60))
    made = reports.report(books, reports.Span(20 * MIN, 75 * MIN))
    assert [c.off_ms // MIN for c in made.connections] == [40, 70]
    first = made.connections[0]
    assert (first.on_ms - first.off_ms, first.minute) == (12 * MIN, 10.0)
    assert first.back_m3 / BBL == pytest.approx(20 * (1 - 2.718281828459045 ** -10), abs=0.02)


def test_the_inventory_is_by_role_at_midnight_and_at_the_end_with_what_was_added() -> None:
    day = 24 * 60
    base = 6 * 60                                            # the rig's midnights: its zone is six hours behind UTC
    books = booked(dips(base + day - 60, Settling=40, Suction=41, Reserve=30), dips(base + day + 60, Settling=50, Suction=41, Reserve=30),
                   entry("addition", base + day, to="Suction", mass=2205, density=35.05, material="Barite", remark="by the hopper"),
                   entry("addition", base + day + 30, to="Suction", mass=1000, density=35.05, remark="barite "),
                   entry("addition", base + day + 40, to="Suction", volume=3, remark="water"),
                   entry("addition", base + day + 400, to="Suction", volume=3, remark="water"))
    made = reports.report(books, reports.Span((base + day - 120) * MIN, (base + day + 120) * MIN))
    (midnight, then), (end, last) = made.inventory.days
    assert (midnight // MIN, end // MIN) == (base + day, base + day + 120)
    assert {h.role: h.volume_m3 / BBL for h in then if h.volume_m3} == pytest.approx(
        {"settling": 40 * INCH, "suction": 41 * INCH, "reserve": 30 * INCH})
    assert {h.role: h.unknown for h in then}["trip"] == ("Trip",)
    assert {h.role: h.volume_m3 / BBL for h in last if h.volume_m3}["settling"] == pytest.approx(50 * INCH)
    barite, water = made.inventory.materials
    assert (barite.what, len(barite.entries)) == ("Barite", 2)
    assert barite.mass_kg == pytest.approx(3205 * 0.45359237)
    assert barite.volume_m3 == pytest.approx(3205 * 0.45359237 / (35.05 * 119.8264273))
    assert (water.mass_kg, water.volume_m3 / BBL) == (None, pytest.approx(3.0))
