"""What the books' values do to the watch: a tank read outside its table, the flow line turned, signs, tanks gauged down.

Times are minutes after an invented midnight, volumes in bbl; a box of 8 by 30 ft holds 3.562 bbl an inch.
"""

import pytest

from dipbook import watch
from dipbook.limits import Limit
from dipbook.observations import observe
from ledgers import BBL, IN, RIG, booked, dips, entry, minutes

TABLE = """kind = "strapping"
table = [["6 in", "10 bbl"], ["50 in", "170 bbl"], ["100 in", "350 bbl"]]"""
BOX = """kind = "box"
length = "30 ft"
width = "8 ft"
height = "9 ft\""""


def strapped(tank):
    """The rig with a strapping table for one tank."""
    head, tail = RIG.split(f'name = "{tank}"')
    return head + f'name = "{tank}"' + tail.replace(BOX, TABLE, 1).replace('brim = "9 ft"', 'brim = "100 in"', 1)


def limit(kind, value, on="active", *, value_is="volume", deadband=0.0, **other):
    made = {"name": kind, "kind": kind, "on": on, "activity": "any", "value": value, "value_is": value_is,
            "deadband": deadband, "growth": None, "after_readings": 1, "after_ms": 0, "set_by": "Test",
            "reason": "test", "since": "2026-01-01"}
    return Limit(**{**made, **other})


def told(limits, *drafts, rig=RIG):
    """What comes of each reading at its own time: (state, minute), and the transitions."""
    _, out = watch.run(tuple(limits), observe(booked(*drafts, rig=rig)))
    return [(tr.state, tr.time / 60_000) for tr in out], out


@pytest.mark.parametrize("inches", [101, 140])
def test_a_tank_filled_past_the_end_of_its_table_is_high_by_volume_and_stays_so_until_it_is_known(inches):
    states, out = told(
        [limit("high", 340 * BBL, "Suction", deadband=10 * BBL)],
        dips(0, Suction=60, Settling=60), dips(10, Suction=inches, Settling=60), dips(20, Suction=70, Settling=60),
        rig=strapped("Suction"))
    assert states == [("raised", 10), ("over", 20)]
    assert out[0].value == pytest.approx(350 * BBL)
    assert out[0].text.endswith("(or more: outside the tank's shape or table)")


def test_past_the_table_ends_no_warning_and_below_it_is_low():
    limits = [limit("high", 400 * BBL, "Suction"), limit("low", 12 * BBL, "Suction"),
              limit("low", 5 * BBL, "Suction", name="lower")]
    _, out = told(limits, dips(0, Suction=60, Settling=60), dips(10, Suction=3, Settling=60),
                     dips(20, Suction=104, Settling=60), rig=strapped("Suction"))
    assert [(tr.name, tr.state) for tr in out] == [("low", "raised")], "350 bbl or more doesn't tell of 400"
    assert out[0].text.endswith("(or less: outside the tank's shape or table)")


def test_a_round_that_does_not_tell_what_a_tank_holds_is_not_complete():
    books = booked(dips(0, Suction=60, Settling=60), dips(10, Suction=104, Settling=60), rig=strapped("Suction"))
    seen = observe(books)
    assert seen.complete.tolist() == [True, False]
    assert seen.difference["active"][1] > 0, "it holds at least what the table's end holds"
    assert seen.partial["active"].tolist() == [False, True]


def test_a_gain_on_the_watched_system_does_not_end_by_turning_the_flow_line():
    """8 bbl in the active; then returns to the trip tank, whose own difference begins at 0. Only a zero starts anew."""
    states, _ = told(
        [limit("gain", 5 * BBL, "watched", deadband=2 * BBL)],
        dips(0, Suction=60, Settling=60, Trip=30), entry("zero", 0), dips(10, Suction=62.25, Settling=60, Trip=30),
        entry("line-up", 11, tank="flow line", to="Trip"),
        dips(20, Suction=62.25, Settling=60, Trip=30), entry("line-up", 21, tank="flow line", to="active"),
        dips(30, Suction=60, Settling=60, Trip=30),
        entry("zero", 35), dips(40, Suction=60, Settling=60, Trip=30))
    assert states == [("raised", 10), ("over", 40)]


def test_a_gain_in_the_trip_tank_does_not_end_by_turning_the_flow_line_back():
    states, out = told(
        [limit("gain", 5 * BBL, "watched", deadband=2 * BBL)],
        dips(0, Suction=60, Settling=60, Trip=30), entry("zero", 0), entry("line-up", 5, tank="flow line", to="Trip"),
        dips(10, Suction=60, Settling=60, Trip=32), entry("line-up", 15, tank="flow line", to="active"),
        dips(20, Suction=60, Settling=60, Trip=32))
    assert states == [("raised", 10)]
    assert "the flow line was turned since the zero" in out[0].text


def test_the_flow_line_turned_before_the_zero_holds_nothing():
    states, _ = told(
        [limit("gain", 5 * BBL, "watched", deadband=2 * BBL)],
        dips(0, Suction=60, Settling=60, Trip=30), entry("line-up", 2, tank="flow line", to="Trip"),
        entry("line-up", 4, tank="flow line", to="active"), dips(5, Suction=60, Settling=60, Trip=30),
        entry("zero", 5), dips(10, Suction=62.25, Settling=60, Trip=30), dips(20, Suction=60, Settling=60, Trip=30))
    assert states == [("raised", 10), ("over", 20)]


def test_a_level_limit_on_a_tank_gauged_down_counts_from_the_bottom():
    """Gauged from a mark of 108 in: a stick of 8 in is 100 in of mud."""
    rig = RIG.replace('name = "Suction"\nrole = "suction"\nactive = true\norder = 2\ngauge = "up"',
                      'name = "Suction"\nrole = "suction"\nactive = true\norder = 2\ngauge = "down"\nmark = "108 in"')
    assert 'gauge = "down"' in rig
    limits = [limit("high", 100 * IN, "Suction", value_is="level", deadband=5 * IN),
              limit("low", 20 * IN, "Suction", value_is="level", deadband=5 * IN)]
    _, out = told(limits, dips(0, Suction=48, Settling=60), dips(10, Suction=8, Settling=60),
                     dips(20, Suction=88, Settling=60), dips(30, Suction=48, Settling=60), rig=rig)
    assert [(tr.name, tr.state, round(tr.value / IN)) for tr in out] == [
        ("high", "raised", 100), ("high", "over", 20), ("low", "raised", 20), ("low", "over", 60)]


def test_a_loss_carries_its_sign_in_the_value_and_none_in_the_limit():
    _, out = told([limit("loss", 5 * BBL, deadband=2 * BBL), limit("gain", 5 * BBL)],
                     dips(0, Suction=60, Settling=60), dips(10, Suction=58, Settling=60))
    (tr,) = out
    assert (tr.kind, tr.state, tr.limit) == ("loss", "raised", 5 * BBL)
    assert tr.value == pytest.approx(-2 * 3.562 * BBL, rel=1e-3)
    assert tr.worst == tr.value
    assert tr.text.startswith("Loss 1.13 m3, limit 0.79 m3")
    assert minutes(10) == [tr.time]


# --- nothing that isn't known makes the rest unknown ------------------------------------------------------------------

def test_mud_that_rises_past_the_end_of_a_table_raises_the_gain():
    """Suction rises from 98 to 104 in, its table ends at 100 (350 bbl, 3.6 bbl an inch): 7.2 bbl at least."""
    _, out = told([limit("gain", 5 * BBL)], dips(0, Suction=98, Settling=60), dips(10, Suction=104, Settling=60),
                  rig=strapped("Suction"))
    assert [(tr.state, tr.time / 60_000) for tr in out] == [("raised", 10)]
    assert out[0].value == pytest.approx(2 * 180 / 50 * BBL)


def test_a_gain_shows_while_a_tank_that_joined_was_never_gauged():
    states, _ = told([limit("gain", 5 * BBL)], dips(0, Suction=60, Settling=60),
                     entry("line-up", 5, tank="Trip", state="in"), dips(10, Suction=62, Settling=60))
    assert states == [("raised", 10)]


def test_what_ran_into_a_tank_that_was_never_gauged_is_no_loss():
    moved = entry("transfer", 6, **{"from": "Suction", "to": "Trip"}, volume=2 * 3.5621)
    states, _ = told([limit("loss", 5 * BBL)], dips(0, Suction=60, Settling=60),
                     entry("line-up", 5, tank="Trip", state="in"), moved, dips(10, Suction=58, Settling=60))
    assert states == []


def test_a_limit_on_all_surface_works_without_a_tank_that_nobody_gauges():
    states, _ = told([limit("gain", 5 * BBL, "all surface")], dips(0, Suction=60, Settling=60, Reserve=50),
                     dips(10, Suction=62, Settling=60, Reserve=50))
    assert states == [("raised", 10)]
