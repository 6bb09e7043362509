"""What limits stood when: from the rig texts of a log, through changes, withdrawals and corrections."""

from __future__ import annotations

from dataclasses import replace

import pytest

from app.real_desks import GAIN, OVERDUE, rig_text
from builders import BBL
from dipbook.books import build
from dipbook.composing import resuming
from dipbook.limit_record import Approved, approval, approved, changes, differences, history
from dipbook.records import RIG, Draft, Record, numbered
from dipbook.rig.document import parse, with_limits
from dipbook.rig.stepwise import one_by_one

T0, MIN = 1_772_352_900_000, 60_000
HIGH = """
[[limit]]
name = "high"
kind = "high"
on = "Suction"
activity = "any"
value = "8 ft"
deadband = "3 in"
shelve = "20 min"
set_by = "Test"
reason = "test value"
since = "2026-03-01"
"""
TEXT = rig_text(GAIN, OVERDUE, HIGH)
RIG_ = parse(TEXT).rig


def adopted(text: str, at_min: float, *, by: str = "Test", why: str = "test", supersedes: str | None = None,
            learned_min: float | None = None) -> Draft:
    at = T0 + round(at_min * MIN)
    return Draft(RIG, at, at if learned_min is None else T0 + round(learned_min * MIN), author=by, reason=why,
                 supersedes=supersedes, payload={"text": text, "digest": "", "effective": "change"})


def gain(value_bbl: float, text: str = TEXT, **more: object) -> str:
    limits = parse(text).rig.limits
    return with_limits(text, tuple(replace(x, value=value_bbl * BBL, as_typed=f"{value_bbl:g} bbl", **more)  # type: ignore[arg-type]
                                   if x.name == "gain" else x for x in limits))


def told(records: tuple[Record, ...]) -> list[tuple[float, str, str, str, tuple[str, ...]]]:
    return [((x.at_ms - T0) / MIN, x.name, x.by, x.reason, x.words) for x in changes(history(records), RIG_)]


def test_every_value_of_a_limit_with_who_why_and_from_when() -> None:
    tight = gain(4, set_by="A. Pusher", reason="tight hole")
    gone = with_limits(tight, tuple(x for x in parse(tight).rig.limits if x.name != "gain"))
    records = numbered([adopted(TEXT, 0), adopted(tight, 10, by="A. Pusher", why="tight hole"),
                        adopted(gone, 20, by="B. Pusher", why="rig move"),
                        adopted(gain(6), 30, by="C. Pusher", why="drilling again")], 1)
    stood = history(records)["gain"]
    assert [round(x.limit.value / BBL, 6) for x in stood] == [5, 4, 6]
    assert [((x.from_ms - T0) / MIN, None if x.until_ms is None else (x.until_ms - T0) / MIN, x.withdrawn) for x in stood] == [
        (0, 10, False), (10, 20, True), (30, None, False)]
    assert (stood[1].by, stood[1].reason, stood[1].ended_by, stood[1].ended_reason) == (
        "A. Pusher", "tight hole", "B. Pusher", "rig move")
    mine = [x for x in told(records) if x[1] == "gain"]
    assert mine == [
        (0, "gain", "Test", "test", ("Limit gain added: gain on active, any, 5 bbl, set by Test",)),
        (10, "gain", "A. Pusher", "tight hole", ("Limit gain: 5 bbl → 4 bbl",)),
        (20, "gain", "B. Pusher", "rig move", ("Limit gain removed (was 4 bbl)",)),
        (30, "gain", "C. Pusher", "drilling again", ("Limit gain added: gain on active, any, 6 bbl, set by Test",))]
    assert [x[0] for x in told(records) if x[1] != "gain"] == [0, 0], "the others were never touched"


def test_a_rig_text_that_changes_no_limit_is_no_change_of_limits() -> None:
    other = TEXT.replace('name = "Invented 2"', 'name = "Invented 3"')
    assert len(told(numbered([adopted(TEXT, 0), adopted(other, 5)], 1))) == 3


def test_several_limits_at_one_time_are_one_record_each_and_a_correction_keeps_their_place() -> None:
    limits = tuple(replace(x, value=x.value / 2, as_typed="") for x in RIG_.limits)
    texts = one_by_one(TEXT, limits)
    assert len(texts) == 3
    assert [sum(a != b for a, b in zip(parse(x).rig.limits, parse(y).rig.limits, strict=True))
            for x, y in zip((TEXT, *texts), texts, strict=False)] == [1, 1, 1]
    assert parse(texts[-1]).rig.limits[2].shelve_ms == 20 * MIN, "what isn't changed is carried"
    first = numbered([adopted(TEXT, 0), *(adopted(text, 10, by="A", why="b") for text in texts)], 1)
    assert [(x[0], x[1]) for x in told(first)][3:] == [(10, "gain"), (10, "overdue"), (10, "high")]
    # The rig's name is corrected, as far back as the log goes: each text keeps the limits that it had.
    named = [text.replace('name = "Invented 2"', 'name = "Invented 3"') for text in (TEXT, *texts)]
    corrected = [adopted(text, (r.t_ms - T0) / MIN, supersedes=r.uid, learned_min=30)
                 for text, r in zip(named, first, strict=True)]
    records = (*first, *numbered(corrected, 5))
    assert told(records) == told(first), "a correction of the rig's name changed no limit"
    books = build(records)
    assert books.rig.name == "Invented 3"
    assert {x.name: x.value for x in books.rig.limits} == {x.name: pytest.approx(x.value) for x in limits}
    stood = resuming.limits_stood(books)
    assert [[x.value for _, x in stood[limit.name]] for limit in RIG_.limits] == [
        [limit.value, pytest.approx(limit.value / 2)] for limit in RIG_.limits]


def test_one_by_one_ends_at_what_was_asked_and_refuses_the_whole_for_one() -> None:
    assert one_by_one(TEXT, RIG_.limits) == ()
    gone = tuple(x for x in RIG_.limits if x.name != "overdue")
    new = replace(RIG_.limits[0], name="loss", kind="loss")
    texts = one_by_one(TEXT, (*gone, new))
    assert [[x.name for x in parse(text).rig.limits] for text in texts] == [["gain", "high"], ["gain", "high", "loss"]]
    impossible = tuple(replace(x, value=900.0, as_typed="") if x.name == "high" else replace(x, value=x.value / 2, as_typed="")
                       for x in RIG_.limits)
    with pytest.raises(Exception, match="brim"):
        one_by_one(TEXT, impossible)


def entry(at_min: float, **more: object) -> Draft:
    at = T0 + round(at_min * MIN)
    return Draft("limits approved", at, at, author="R. Moe", payload={"approved_by": "A. Pusher", "remark": "programme"},
                 **more)  # type: ignore[arg-type]


def of_then(records: tuple[Record, ...], at_min: float) -> Approved | None:
    found = approval(records, T0 + round(at_min * MIN))
    return None if found is None else approved(found, history(records))


def test_the_approved_set_is_compared_limit_by_limit() -> None:
    tight = gain(4)
    loose = with_limits(tight, (*(x for x in parse(tight).rig.limits if x.name != "overdue"),
                                replace(RIG_.limits[0], name="loss", kind="loss")))
    records = numbered([adopted(TEXT, 0), entry(1), adopted(tight, 10, by="A", why="tight hole"),
                        adopted(loose, 20, by="B", why="other"), entry(30)], 1)
    assert of_then(records[:1], 60) is None, "nobody has approved a set"
    assert of_then(records, 0.5) is None, "nor had anybody before it was"
    then = of_then(records, 29)
    assert then is not None
    assert (then.by, then.logged_by, then.note, then.limits) == ("A. Pusher", "R. Moe", "programme", RIG_.limits)
    found = differences(then, parse(loose).rig.limits, RIG_, history(records))
    assert [(x.name, x.how, x.by, x.reason) for x in found] == [
        ("gain", "different", "A", "tight hole"), ("overdue", "missing", "B", "other"), ("loss", "extra", "B", "other")]
    assert found[0].words == ("Limit gain: 5 bbl → 4 bbl",)
    assert found[1].words == ("Limit overdue removed (was 35 min)",)
    assert (found[0].at_ms, found[1].at_ms) == (T0 + 10 * MIN, T0 + 20 * MIN)
    anew = of_then(records, 30)
    assert anew is not None
    assert differences(anew, parse(loose).rig.limits, RIG_, history(records)) == ()
    assert len(differences(anew, parse(tight).rig.limits, RIG_, history(records))) == 2


def test_an_approval_logged_late_is_of_the_limits_of_its_own_time() -> None:
    records = numbered([adopted(TEXT, 0), adopted(gain(4), 10), entry(5), entry(10)], 1)
    assert [x.value / BBL for x in of_then(records, 9).limits if x.name == "gain"] == [pytest.approx(5)]  # type: ignore[union-attr]
    assert [x.value / BBL for x in of_then(records, 10).limits if x.name == "gain"] == [pytest.approx(4)]  # type: ignore[union-attr]
    before = numbered([adopted(TEXT, 0), entry(-5)], 1)
    assert of_then(before, 1).limits == (), "there was no log then: nothing is made up"  # type: ignore[union-attr]


def test_who_set_it_why_and_how_it_was_typed_are_no_difference() -> None:
    other = tuple(replace(x, set_by="Z", reason="z", since="z", as_typed="") for x in RIG_.limits)
    then = of_then(numbered([adopted(TEXT, 0), entry(1)], 1), 5)
    assert then is not None
    assert differences(then, other, RIG_, {}) == ()
    for change in ({"deadband": 0.0}, {"growth": None}, {"after_readings": 2}, {"activity": "tripping"}, {"kind": "loss"}):
        changed = (replace(RIG_.limits[0], **change), *RIG_.limits[1:])  # type: ignore[arg-type]
        assert [x.how for x in differences(then, changed, RIG_, {})] == ["different"], change
    longer = (*RIG_.limits[:2], replace(RIG_.limits[2], shelve_ms=60 * MIN))
    assert [x.words for x in differences(then, longer, RIG_, {})] == [("Limit high, may be shelved for: 20 min → 60 min",)]
