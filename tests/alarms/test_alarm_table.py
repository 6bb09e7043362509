"""The lifecycle's table, cell by cell.

Sources: states, events and the non-latched rows of ANSI/ISA-18.2-2016 and IEC 62682, shelving of OPC UA Part 9; the
latched rows (LUNAK, LACKD) from memory; what leaving a shelf does to what latches is ours.
"""

import pytest

from dipbook.alarms import EVENTS, STATES, allowed, as_rows, code_of, outcome
from dipbook.alarms.table import ROWS

# Written out independently of the data: = stays, - refused, L/… for kinds that latch.
EXPECTED = """
State | ACT   | RTN         | ACK   | RST  | SHV   | UNS | SUP+  | SUP- | OOS+  | OOS- | REA
NORM  | UNACK | =           | -     | -    | SHLVD | -   | DSUPR | -    | OOSRV | -    | =
UNACK | =     | RTNUN/LUNAK | ACKED | -    | SHLVD | -   | DSUPR | -    | OOSRV | -    | =
ACKED | =     | NORM/LACKD  | -     | -    | SHLVD | -   | DSUPR | -    | OOSRV | -    | UNACK
RTNUN | UNACK | =           | NORM  | -    | SHLVD | -   | DSUPR | -    | OOSRV | -    | =
LUNAK | UNACK | =           | LACKD | -    | SHLVD | -   | DSUPR | -    | OOSRV | -    | =
LACKD | UNACK | =           | -     | NORM | SHLVD | -   | DSUPR | -    | OOSRV | -    | LUNAK
SHLVD | =     | =           | -     | -    | =     | ?   | DSUPR | -    | OOSRV | -    | =
DSUPR | =     | =           | -     | -    | -     | -   | =     | ?    | OOSRV | -    | =
OOSRV | =     | =           | -     | -    | -     | -   | -     | -    | =     | ?    | =
"""


def _cells():
    lines = [[c.strip() for c in line.split("|")] for line in EXPECTED.strip().splitlines()]
    for row in lines[1:]:
        for event, text in zip(lines[0][1:], row[1:], strict=True):
            for latching in (False, True):
                if latching or row[0] not in ("LUNAK", "LACKD"):
                    yield row[0], event, latching, text.split("/")[-1 if latching else 0]


@pytest.mark.parametrize(("state", "event", "latching", "cell"), list(_cells()))
def test_every_cell_of_the_table_is_as_the_standard_has_it(state, event, latching, cell):
    for active in (False, True):
        got = outcome(state, event, latching, active=active)
        want = {"=": state, "-": None, "?": "UNACK" if active else "NORM"}.get(cell, cell)
        assert got == want


def test_the_table_has_a_cell_for_every_state_and_event():
    assert set(ROWS) == set(STATES)
    assert {len(row) for row in ROWS.values()} == {len(EVENTS)}


@pytest.mark.parametrize(("state", "event"), [("SHLVD", "UNS"), ("DSUPR", "SUP-"), ("OOSRV", "OOS-")])
def test_what_latches_is_not_lost_by_having_been_set_aside(state, event):
    assert outcome(state, event, True, is_open=True, acknowledged=False) == "LUNAK"
    assert outcome(state, event, True, is_open=True, acknowledged=True) == "LACKD"
    assert outcome(state, event, True, is_open=True, active=True, acknowledged=True) == "UNACK"
    assert outcome(state, event, True, is_open=False) == "NORM"
    assert outcome(state, event, False, is_open=True) == "NORM"


def test_a_shelf_for_one_time_ends_with_the_condition():
    """OPC UA Part 9: one-shot shelving."""
    assert outcome("SHLVD", "RTN", False, one_shot=True, is_open=True) == "NORM"
    assert outcome("SHLVD", "RTN", True, one_shot=True, is_open=True) == "LUNAK"
    assert outcome("SHLVD", "RTN", False) == "SHLVD"


@pytest.mark.parametrize("kind", ["gain", "loss", "trip_last_n", "trip_total"])
@pytest.mark.parametrize("state", list(STATES))
def test_gain_loss_and_trip_warnings_can_neither_be_shelved_nor_suppressed(kind, state):
    assert outcome(state, "SHV", True, kind=kind) is None
    assert outcome(state, "SUP+", True, kind=kind) is None


def test_a_high_level_can_be_shelved_and_a_missing_round_cannot():
    assert outcome("UNACK", "SHV", False, kind="high") == "SHLVD"
    assert outcome("UNACK", "SHV", False, kind="overdue") is None


@pytest.mark.parametrize(("state", "latching", "actions"), [
    ("NORM", True, ()), ("UNACK", True, ("acknowledge",)), ("ACKED", True, ()), ("LUNAK", True, ("acknowledge",)),
    ("LACKD", True, ("close",)), ("RTNUN", False, ("acknowledge",)), ("UNACK", False, ("acknowledge",)),
    ("ACKED", False, ()), ("LACKD", False, ()), ("SHLVD", False, ()), ("OOSRV", True, ()),
])
def test_the_buttons_come_from_the_same_table(state, latching, actions):
    assert tuple(x for x in allowed(state, latching) if x in ("acknowledge", "close")) == actions


@pytest.mark.parametrize(("state", "kind", "is_open", "shelvable", "actions"), [
    ("UNACK", "high", True, True, ("acknowledge", "shelve", "out of service")),
    ("UNACK", "high", True, False, ("acknowledge", "out of service")),
    ("UNACK", "gain", True, True, ("acknowledge",)), ("NORM", "gain", False, True, ("out of service",)),
    ("SHLVD", "high", True, True, ("unshelve", "out of service")), ("OOSRV", "gain", True, False, ("back in service",)),
    ("NORM", "drift", False, True, ("out of service",)), ("UNACK", "overdue", True, True, ("acknowledge", "out of service")),
])
def test_a_limit_is_set_aside_only_where_the_table_lets_it(state, kind, is_open, shelvable, actions):
    assert allowed(state, kind == "gain", kind=kind, is_open=is_open, shelvable=shelvable) == actions


def test_the_words_of_the_states_lead_back_to_their_codes():
    for latching in (True, False):
        for code in STATES:
            if code != "RTNUN" and code not in ("LUNAK", "LACKD"):
                assert code_of(STATES[code], latching) == code
    assert code_of("over", True) == "LUNAK"
    assert code_of("over", False) == "RTNUN"
    with pytest.raises(ValueError, match="no state"):
        code_of("gone", True)


def test_the_manual_gets_the_table_as_rows():
    rows = as_rows(True)
    assert rows[0] == ("state", *EVENTS)
    assert dict(zip(rows[0], rows[2], strict=True))["RTN"] == "LUNAK"
    assert not any(row[0] == "LUNAK" for row in as_rows(False))
