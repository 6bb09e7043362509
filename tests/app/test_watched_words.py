"""The words of the map's cells: each state has its own, with a value where there is one, and never a colour alone."""

from __future__ import annotations

from dataclasses import replace

import pytest
from situations import GAIN, RIG

from dipbook.situation_of_warnings import (
    ASIDE,
    IN_PART,
    NOBODY,
    NOT_BY_US,
    NOT_NOW,
    NOT_TOLD,
    WATCHED,
    WatchedCell,
    WatchedGroup,
    WatchedLimit,
    WatchedMap,
    WatchedRow,
)
from dipbook_app import watched_words as words
from dipbook_app.display import DisplayUnits

UNITS = DisplayUnits(RIG)
NOW = 1_772_352_900_000
SHORT = {WATCHED: "5.0 bbl", IN_PART: "5.0 bbl, in part", NOT_TOLD: "can't be told", ASIDE: "out of service", NOT_NOW: "not now",
         NOT_BY_US: "not watched"}


def cell(state: str, why: str = "", **other: object) -> WatchedCell:
    return WatchedCell("gain", "active", limits=(WatchedLimit(GAIN, state, why, **other),))  # type: ignore[arg-type]


@pytest.mark.parametrize("state", SHORT)
def test_each_state_has_words_and_an_icon_of_its_own(state: str) -> None:
    assert words.cell_words(cell(state, "out of service" if state == ASIDE else "why"), UNITS) == SHORT[state]
    assert len(set(words.ICONS.values())) == len(SHORT)
    assert words.icon_of(cell(state)) == words.ICONS[state]


def test_nobody_and_impossible_are_told_apart() -> None:
    none = WatchedCell("gain", "active")
    assert (none.state, words.cell_words(none, UNITS), words.icon_of(none)) == (NOBODY, "none set", "")
    assert words.cell_words(WatchedCell("flow_back", "watched", possible=False), UNITS) == ""


def test_a_cell_with_room_says_why_and_when() -> None:
    assert words.more_words(cell(NOT_TOLD, "stale: Suction"), UNITS, NOW) == "can't be told: stale: Suction"
    assert words.more_words(cell(NOT_NOW, "while static"), UNITS, NOW) == "not now (5.0 bbl): while static"
    assert words.more_words(cell(ASIDE, "shelved", t_ms=NOW), UNITS, NOW) == "5.0 bbl, shelved until 02:15"
    assert words.more_words(cell(WATCHED), UNITS, NOW) == "5.0 bbl, watched"
    assert words.more_words(cell(WATCHED, warns="raised"), UNITS, NOW) == "5.0 bbl, warns"


def test_what_is_set_aside_behind_another_is_counted_in_the_cell_and_told_below() -> None:
    both = WatchedCell("gain", "active", limits=(WatchedLimit(GAIN, WATCHED), WatchedLimit(
        replace(GAIN, name="tight"), ASIDE, "out of service", NOW)))
    assert words.cell_words(both, UNITS) == "5.0 bbl, 1 set aside"
    said = words.detail(WatchedRow("active", (both,)), both, "systems", UNITS, NOW)
    assert said.startswith("Gain, active system: “gain” 5.0 bbl: watched.")
    assert "“tight” 5.0 bbl: set aside (out of service since 02:15)." in said


def test_a_limit_that_is_not_watched_stands_as_it_was_written() -> None:
    later = replace(GAIN, kind="drift", value=float("nan"), value_is="", as_typed="3 bbl/h", watched=False)
    shown = WatchedMap((WatchedGroup("systems", ("gain",), (WatchedRow("active", (cell(WATCHED),)),)),),
                       (WatchedLimit(later, NOT_BY_US, "this version does not watch it"),))
    assert words.counts(shown) == "1 watched"
    assert words.others(shown, UNITS, NOW).startswith("“gain” 3 bbl/h: not by this version (this version does not watch it).")


def test_the_watched_system_says_which_it_is_now() -> None:
    assert words.row_words(WatchedRow("watched", (), "Trip tank"), "systems") == "Watched: Trip tank"
    assert words.row_words(WatchedRow("watched", (), "not watched"), "systems") == "Watched: none"
    assert words.row_words(WatchedRow("Suction", ()), "tanks") == "Suction"
