"""What is handed over at a time, and what has changed since it was confirmed. Invented."""

from __future__ import annotations

from dipbook.books import build
from dipbook.records import numbered
from dipbook.reports import HandoverView, handover_view
from drift.drifting_logs import LIMIT
from ledgers import MIN, RIG, dips, entry, rig_draft

UNITS = {"volume": "bbl"}


def at(minute: float, *more: object) -> HandoverView:
    drafts = [rig_draft(RIG + LIMIT.replace('"drift"', '"gain"'), -90), dips(0, Settling=60, Suction=60),
              entry("zero", 0, length=0, reason="x"), entry("remark", 10, remark="Mud is thick"), *more]
    return handover_view(build(numbered(drafts)), round(minute * MIN), UNITS)


def words(view: HandoverView, group: str) -> list[str]:
    return [x.words for x in view.lines if x.group == group]


CONFIRMED = entry("handover confirmed", 30, leaving="A. Sample", confirmed="Open warnings")


def test_every_group_is_gone_through_even_where_nothing_stands_and_none_of_what_was_signed() -> None:
    view = at(20)
    assert [g for g, _ in view.groups()] == ["Open warnings", "Limits in force", "Not watched", "Line-up", "Running",
                                             "Pending", "Rates in force", "Remarks"]
    assert words(view, "Open warnings") == ["No warning is open."]
    assert len(words(view, "Limits in force")) == 1
    assert "Mud is thick" in words(view, "Remarks")[0]
    assert view.confirmed is None


def test_what_is_new_and_what_is_gone_since_it_was_confirmed_is_told() -> None:
    moving = entry("transfer", 20, **{"from": "Reserve", "to": "Suction", "state": "running"})
    view = at(40, moving, CONFIRMED, entry("remark", 35, remark="Shaker 2 is down"))
    assert view.confirmed is not None
    assert [x.words for x in view.added] == ["Shaker 2 is down"]
    assert view.gone == ()
    quiet = at(40, moving, CONFIRMED)
    assert (quiet.added, quiet.gone) == ((), ()), "what has run so far is no change"


def test_what_was_confirmed_more_than_an_hour_ago_or_is_signed_is_to_be_gone_through_anew() -> None:
    assert at(90, CONFIRMED).confirmed is not None
    assert at(91, CONFIRMED).confirmed is None
    signed = entry("handover", 31, leaving="A. Sample", arriving="B. Sample")
    assert at(40, CONFIRMED, signed).confirmed is None


def test_remarks_are_those_since_the_last_handover() -> None:
    view = at(40, entry("handover", 12, leaving="A. Sample", arriving="B. Sample"))
    assert words(view, "Remarks") == ["No remark was made."]
    assert view.since_ms == 12 * MIN
