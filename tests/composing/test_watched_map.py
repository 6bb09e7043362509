"""The map of what is watched: histories, and how each limit stands after them. Times in minutes, boxes of 3.562 bbl an inch."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from composing.kept_logs import Kept, limit_text
from dipbook import composing, watch
from dipbook.limits import KINDS, TOOK_LESS, TOOK_MORE
from dipbook.situation_of_warnings import ASIDE, IN_PART, NOBODY, NOT_BY_US, NOT_NOW, NOT_TOLD, WATCHED
from dipbook.watch import state as watch_state
from ledgers import MIN, RIG, dips, entry, spread
from tripped import LIMITS, begins, row, start

GAIN, LOSS = limit_text("gain", "5 bbl"), limit_text("loss", "6 bbl")
HIGH = limit_text("high", "80 in", "Suction", shelve="30 min")
OVERDUE = limit_text("overdue", "35 min")
FLOW_BACK = limit_text("flow_back", "2 bbl")
NO_DRAIN = RIG[:RIG.index("[drain_back]")]


def begun(*limits: str, rig: str = RIG) -> Kept:
    """Zeroed on a round of all tanks."""
    return Kept(*limits, rig=rig).add(dips(0, Settling=60, Suction=60, Reserve=60, Trip=60), entry("zero", 0),
                                      entry("activity", 0, activity="drilling"))


def pumping(*limits: str, rig: str = RIG) -> Kept:
    """The same with the pumps on, and read again."""
    return begun(*limits, rig=rig).add(entry("pumps", 1, state="on", flow=300), dips(10, Settling=60, Suction=60))


def off(minute: float) -> Any:
    return entry("watch", minute, state="off", reason="rig move")


Row = tuple[Callable[[], Kept], str, str, str, str]
TABLE: dict[str, Row] = {
    "nobody set one": (lambda: begun(GAIN), "loss", "active", NOBODY, ""),
    "another system's isn't this one's": (lambda: begun(limit_text("gain", "5 bbl", "all surface")), "gain", "active", NOBODY, ""),
    "set and read": (lambda: begun(GAIN), "gain", "active", WATCHED, ""),
    "set, and nothing read yet": (lambda: Kept(GAIN), "gain", "active", NOT_TOLD, "nothing was read"),
    "a tank was left out of the last round": (
        lambda: begun(GAIN).add(dips(10, Suction=60)), "gain", "active", IN_PART, "partial"),
    "gauged again it is whole": (
        lambda: begun(GAIN).add(dips(10, Suction=60), dips(12, Settling=60, Suction=60)), "gain", "active", WATCHED, ""),
    "all dips are older than they count": (
        lambda: begun(GAIN).pass_to(41), "gain", "active", NOT_TOLD, "stale: Settling, Suction"),
    "just not yet": (lambda: begun(GAIN).pass_to(40), "gain", "active", WATCHED, ""),
    "some of all surface are older": (
        lambda: begun(limit_text("gain", "5 bbl", "all surface")).add(dips(39, Settling=60, Suction=60, Reserve=60)).pass_to(41),
        "gain", "all surface", IN_PART, "partial"),
    "one dip of a round is older than it counts, the other isn't": (
        lambda: Kept(GAIN).add(spread(0, 3, Settling=60, Suction=60), entry("zero", 3)).pass_to(41), "gain", "active", IN_PART,
        "stale: Settling gauged"),
    "for another activity": (
        lambda: begun(limit_text("gain", "5 bbl", activity="static")), "gain", "active", NOT_NOW,
        "while static; the rig is said to be drilling"),
    "once that activity is logged": (
        lambda: begun(limit_text("gain", "5 bbl", activity="static")).add(entry("activity", 5, activity="static")),
        "gain", "active", WATCHED, ""),
    "an activity nobody said takes every limit": (
        lambda: Kept(limit_text("gain", "5 bbl", activity="static")).add(dips(0, Settling=60, Suction=60), entry("zero", 0)),
        "gain", "active", WATCHED, ""),
    "tripping without a trip": (
        lambda: begun(GAIN).add(entry("activity", 5, activity="tripping")), "gain", "active", NOT_TOLD, "without a trip in the log"),
    "no returns": (
        lambda: begun(GAIN).add(entry("line-up", 5, tank="flow line", to="none")), "gain", "active", NOT_TOLD, "no returns"),
    "the watch is off": (lambda: begun(GAIN).add(off(5)), "gain", "active", NOT_TOLD, "nobody watches now"),
    "an overdue one is off too": (lambda: begun(OVERDUE).add(off(5)), "overdue", "active", NOT_TOLD, "nobody watches now"),
    "the watch goes on": (
        lambda: begun(GAIN).add(off(5), entry("watch", 6, state="on", reason="x")), "gain", "active", WATCHED, ""),
    "out of service": (
        lambda: begun(GAIN).act(5, "out of service", limit="gain", instead="stick"), "gain", "active", ASIDE, "out of service"),
    "shelved": (
        lambda: begun(HIGH).act(5, "shelve", limit="high", until_ms=20 * MIN), "high", "Suction", ASIDE, "shelved"),
    "its time on the shelf is up": (
        lambda: begun(HIGH).act(5, "shelve", limit="high", until_ms=20 * MIN).pass_to(20), "high", "Suction", WATCHED, ""),
    "back in service": (
        lambda: begun(GAIN).act(5, "out of service", limit="gain", instead="x").act(6, "back in service", limit="gain"),
        "gain", "active", WATCHED, ""),
    "a tank read": (lambda: begun(HIGH), "high", "Suction", WATCHED, ""),
    "a tank never gauged": (lambda: Kept(HIGH).add(dips(0, Settling=60)), "high", "Suction", NOT_TOLD, "never gauged"),
    "a tank's dip too old": (lambda: begun(HIGH).pass_to(41), "high", "Suction", NOT_TOLD, "stale"),
    "a tank left out of the last round, its dip fresh": (
        lambda: begun(HIGH).add(dips(10, Settling=60)), "high", "Suction", WATCHED, "not in the last round"),
    "a tank past its table": (
        lambda: begun(HIGH, rig=PAST).add(dips(10, Settling=60, Suction=104)), "high", "Suction", IN_PART, "outside its shape or table"),
    "rounds": (lambda: begun(OVERDUE), "overdue", "active", WATCHED, "due"),
    "rounds on another system are the same rounds": (
        lambda: begun(limit_text("overdue", "35 min", "all surface")), "overdue", "active", WATCHED, "due"),
    "a tank's own rounds": (lambda: begun(limit_text("overdue", "35 min", "Suction")), "overdue", "Suction", WATCHED, "due"),
    "a round that is overdue": (lambda: begun(OVERDUE).pass_to(36), "overdue", "active", WATCHED, "was due"),
    "trips, with none under way": (lambda: Kept(rig=LIMITS).add(*start()), "trip_total", TOOK_LESS, NOT_NOW, "no trip is under way"),
    "a trip whose first row isn't read": (
        lambda: Kept(rig=LIMITS).add(*start(), begins(5)), "trip_total", TOOK_LESS, NOT_TOLD, "no row of this trip"),
    "a trip with rows": (
        lambda: Kept(rig=LIMITS).add(*start(), begins(5), row(10, "fill", Trip=90), row(15, bit=8907, stand=1, Trip=89.8)),
        "trip_total", TOOK_MORE, WATCHED, ""),
    "a trip's row without a level": (
        lambda: Kept(rig=LIMITS).add(*start(), begins(5), row(10, "fill", Trip=90), row(15, bit=8907, stand=1, Trip=89.8),
                                     row(20, bit=8814, stand=2)),
        "trip_last_n", TOOK_LESS, WATCHED, ""),
    "a trip that has ended": (
        lambda: Kept(rig=LIMITS).add(*start(), begins(5), row(10, "fill", Trip=90), entry("trip end", 20)),
        "trip_total", TOOK_LESS, NOT_NOW, "no trip is under way"),
    "flow-back with nothing accepted, the lines known": (
        lambda: pumping(FLOW_BACK), "flow_back", "active", IN_PART, "only what comes back above all that the lines hold"),
    "flow-back compared with nothing": (
        lambda: pumping(FLOW_BACK, rig=NO_DRAIN), "flow_back", "active", NOT_TOLD, "compared with nothing"),
}
PAST = RIG.replace('''[tank.shape]
kind = "box"
length = "30 ft"
width = "8 ft"
height = "9 ft"
''', '''[tank.shape]
kind = "strapping"
table = [["6 in", "10 bbl"], ["50 in", "170 bbl"], ["100 in", "350 bbl"]]
''').replace('brim = "9 ft"', 'brim = "100 in"')


@pytest.mark.parametrize(("history", "kind", "on", "state", "why"), TABLE.values(), ids=TABLE.keys())
def test_how_a_limit_stands(history: Callable[[], Kept], kind: str, on: str, state: str, why: str) -> None:
    found, said = history().state(kind, on)
    assert found == state, said
    assert why in said
    assert bool(why) or not said


def test_a_reading_that_could_not_be_told_is_said_with_when_it_was_last_known() -> None:
    log = begun(GAIN).add(dips(10, Settling=60, Suction=60))
    sample = log.memory.last["difference", "active"]
    log.memory = replace(log.memory, last={("difference", "active"): replace(sample, t_ms=0)})
    (found,) = log.cell("gain").limits
    assert (found.state, found.t_ms) == (NOT_TOLD, 0)
    assert found.why.endswith("last known")


def test_a_tighter_one_set_aside_stands_behind_what_still_watches() -> None:
    log = begun(GAIN, limit_text("gain", "3 bbl", name="tight")).act(5, "out of service", limit="tight", instead="stick")
    cell = log.cell("gain")
    assert [(w.limit.name, w.state) for w in cell.limits] == [("gain", WATCHED), ("tight", ASIDE)]


def test_of_two_in_force_the_tighter_is_told_first_also_where_less_is_tighter() -> None:
    log = begun(limit_text("gain", "9 bbl", name="wide"), GAIN, limit_text("low", "20 in", "Suction", name="deep"),
                limit_text("low", "30 in", "Suction"))
    assert [w.limit.name for w in log.cell("gain").limits] == ["gain", "wide"]
    assert [w.limit.name for w in log.cell("low", "Suction").limits] == ["low", "deep"]


def test_an_open_warning_is_on_its_cell_and_a_withdrawn_limit_says_so() -> None:
    log = begun(GAIN).add(dips(10, Settling=60, Suction=62))
    (found,) = log.cell("gain").limits
    assert (found.state, found.warns) == (WATCHED, "raised")
    log.limits(12)
    (found,) = log.cell("gain").limits
    assert (found.state, found.warns) == (NOT_NOW, "raised")
    assert found.why.startswith("withdrawn")
    log.act(13, "acknowledge", "gain").add(dips(20, Settling=60, Suction=60)).act(21, "close", "gain")
    assert log.cell("gain").limits == ()


def test_what_is_set_aside_names_no_open_warning_of_its_own() -> None:
    log = begun(GAIN).act(5, "out of service", limit="gain", instead="x").add(dips(10, Settling=60, Suction=62))
    (found,) = log.cell("gain").limits
    assert (found.state, found.warns) == (ASIDE, "")


def test_the_things_are_the_rigs_and_a_kind_is_only_where_it_can_be() -> None:
    shown = begun(GAIN).map()
    assert [g.name for g in shown.groups] == ["systems", "rounds", "trips", "tanks"]
    by_name = {g.name: g for g in shown.groups}
    assert [row.on for row in by_name["systems"].rows] == ["active", "all surface", "watched"]
    assert by_name["systems"].rows[2].now == "active"
    assert sorted(row.on for row in by_name["tanks"].rows) == ["Reserve", "Settling", "Suction", "Trip"]
    assert [row.on for row in by_name["trips"].rows] == [TOOK_LESS, TOOK_MORE]
    can = {(c.kind, c.on): c.possible for g in shown.groups for row in g.rows for c in row.cells}
    assert can["flow_back", "active"]
    assert not can["flow_back", "all surface"]
    assert can["high", "Suction"]
    assert {kind for kind, _ in can} == set(KINDS), "every kind that is watched has its place"
    assert shown.others == ()


def test_a_new_kind_of_limit_appears_by_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    for module in (sys.modules["dipbook.composing.watched_map"], watch_state):
        monkeypatch.setattr(module, "KINDS", (*KINDS, "rate"))
    log = begun(GAIN)
    assert log.cell("rate", "active").possible
    assert log.cell("rate", "active").state == NOBODY
    limit = replace(log.books.rig.limits[0], name="fast", kind="rate")
    log.memory, _ = watch.step(log.memory, watch.LimitsChanged(9, 2 * MIN, (limit,), 2))
    assert log.cell("rate", "active").state == WATCHED, "by what the watch was given of its channel"


def test_a_kind_that_this_version_does_not_watch_is_said_and_no_cell_hides_it() -> None:
    shown = begun(GAIN, limit_text("rate", "3 bbl/min")).map()
    (found,) = shown.others
    assert (found.limit.kind, found.state) == ("rate", NOT_BY_US)
    assert "does not watch" in found.why


def test_both_sides_of_drift_stand_in_one_cell_of_the_active_system() -> None:
    log = begun(limit_text("drift", "3 bbl"), GAIN)
    for minute in range(5, 60, 5):
        log.add(dips(minute, Settling=60, Suction=60))
    cell = log.cell("drift", "active")
    assert [(w.limit.on, w.state) for w in cell.limits] == [("rising", WATCHED), ("falling", WATCHED)]
    assert log.map().others == ()
    assert not log.cell("drift", "all surface").possible


def test_drift_that_holds_is_watched_in_part_and_says_why() -> None:
    log = begun(limit_text("drift", "3 bbl")).add(entry("pumps", 1, state="on", flow=300))
    for minute in range(5, 60, 5):
        log.add(dips(minute, Settling=60, Suction=60))
    log.add(entry("pumps", 57, state="off"), dips(60, Settling=60, Suction=60))
    assert log.situation.drift is not None
    assert log.situation.drift.why
    state, why = log.state("drift")
    assert state == IN_PART, why
    assert why.startswith(f"its sums hold, {log.situation.drift.why.lower()}")


def test_asking_changes_nothing() -> None:
    log = begun(GAIN, HIGH, OVERDUE).add(dips(10, Settling=60, Suction=62))
    before, records = log.memory, log.records
    assert log.map() == log.map()
    assert (log.memory, log.records) == (before, records)
    assert composing.watched_map(log.books, log.memory, log.situation) == log.map()
