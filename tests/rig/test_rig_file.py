"""A rig file that is right: what it means, in SI, and what it leaves open."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

import pytest

from builders import BBL, BBL_FT, FT, GAL, IN
from dipbook.entries.kinds import ACTIVITIES as ENTRY_ACTIVITIES
from dipbook.limits import ACTIVITIES
from dipbook.rig.document import parse, read
from dipbook.rig.locating import locate
from dipbook.tanks.shapes import Box, Strapping, VerticalCylinder

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "demo_data" / "rig-larkspur.toml"

SMALL = """\
rig = { name = "Small (invented)", invented = true }
zone = "Etc/GMT+6"
[units]
level = "in"
volume = "bbl"
length = "ft"
[[tank]]
name = "Suction"
role = "suction"
active = true
gauge = "up"
[tank.shape]
kind = "box"
length = 30
width = 8
height = 9
"""
"""The least that a rig file can say."""


def doc_example() -> str:
    """The complete example of docs/rig-file.md."""
    page = (ROOT / "docs" / "rig-file.md").read_text(encoding="utf-8")
    (example,) = re.findall(r"^```toml\n(.*?)^```$", page, re.DOTALL | re.MULTILINE)
    return example


def codes(text: str) -> set[str]:
    return {finding.code for finding in parse(text).findings}


def test_the_demo_rig_reads_without_a_finding():
    document = read(DEMO)
    assert document.findings == ()
    assert document.name == "rig-larkspur.toml"
    assert document.text == DEMO.read_bytes().decode("utf-8")
    assert document.digest == hashlib.sha256(DEMO.read_bytes()).hexdigest()


def test_the_demo_rig_is_what_it_says():
    rig = read(DEMO).rig
    assert rig.invented
    assert "invented" in rig.name
    assert [tank.name for tank in rig.tanks] == ["Sand Trap", "Settling", "Degasser", "Desander", "Suction",
                                                 "Reserve 1", "Reserve 2", "Slug", "Trip"]
    kinds = {type(tank.shape) for tank in rig.tanks}
    assert kinds == {Box, Strapping, VerticalCylinder}
    assert [tank.name for tank in rig.tanks if tank.gauge == "down"] == ["Suction"]
    usual = {"Sand Trap": 7, "Settling": 7, "Degasser": 7, "Desander": 7, "Suction": 6.5}
    assert set(usual) == rig.active_at_start
    total = sum(rig.tank(name).volume(level * FT) for name, level in usual.items())
    assert total / BBL == pytest.approx(550, abs=10)
    assert all(limit.set_by == "demo crew (invented)" and "demo" in limit.reason for limit in rig.limits)


def test_the_example_in_the_docs_reads():
    document = parse(doc_example())
    rig = document.rig
    assert {tank.name: type(tank.shape) for tank in rig.tanks} == {
        "Settling": Strapping, "Suction": Box, "Trip": VerticalCylinder}
    assert {finding.code for finding in document.findings} == {"limit_not_watched"}
    assert [limit.watched for limit in rig.limits] == [True, True, True, False]


def test_sizes_come_out_in_si():
    rig = parse(doc_example()).rig
    suction = rig.tank("Suction")
    assert isinstance(suction.shape, Box)
    assert (suction.shape.length, suction.shape.width, suction.shape.height) == pytest.approx((30 * FT, 8 * FT, 9 * FT))
    assert suction.mark_m == pytest.approx(9 * FT)
    assert suction.dip_error_m == pytest.approx(IN / 4)
    assert suction.heel_m == pytest.approx(6 * IN)
    assert suction.brim_m == pytest.approx(8.5 * FT)
    assert suction.fresh_for_ms == 20 * 60_000
    settling = rig.tank("Settling")
    assert isinstance(settling.shape, Strapping)
    assert settling.shape.levels == pytest.approx((0, 24 * IN, 60 * IN, 96 * IN))
    assert settling.shape.volumes == pytest.approx((0, 25.6 * BBL, 76.9 * BBL, 128.2 * BBL))
    assert (settling.offset_m, settling.internals_m3) == (pytest.approx(IN), pytest.approx(BBL))
    trip = rig.tank("Trip")
    assert isinstance(trip.shape, VerticalCylinder)
    assert (trip.shape.diameter, trip.shape.height) == pytest.approx((5 * FT, 10 * FT))
    assert trip.heel_m == pytest.approx(4 * IN)
    assert rig.hole is not None
    assert rig.hole.capacity == pytest.approx(0.1458 * BBL_FT)
    assert rig.hole.annulus_m3 == pytest.approx(250 * BBL)
    assert (rig.hole.lag_ms, rig.hole.carried_off) == (90 * 60_000, 1.0)
    assert rig.pipe is not None
    assert (rig.pipe.steel, rig.pipe.bore) == (pytest.approx(0.00759 * BBL_FT), pytest.approx(0.01776 * BBL_FT))
    assert (rig.pipe.stand_m, rig.pipe.float_closed) == (pytest.approx(93 * FT), True)
    assert rig.drain_back is not None
    assert rig.drain_back.at == ((pytest.approx(300 * GAL / 60), pytest.approx(8 * BBL)),
                                 (pytest.approx(600 * GAL / 60), pytest.approx(12 * BBL)))
    assert rig.drain_back.falling_s is None
    assert rig.drain_back.curve[-1] == (pytest.approx(240), pytest.approx(12 * BBL))


def test_pump_outputs_are_typed_or_follow_from_the_measures():
    # The field forms 0.000243 D² S η and 0.000162 (2 D² − d²) S η (bbl, in; Lapeyrouse, ch. 1, from memory), to 0.1 %.
    outputs = {pump.name: pump.output_m3 / BBL for pump in parse(doc_example()).rig.pumps}
    assert outputs["1"] == pytest.approx(0.102)
    assert outputs["2"] == pytest.approx(0.000243 * 36 * 12 * 0.97, rel=1e-3)
    assert outputs["3"] == pytest.approx(0.000162 * (2 * 36 - 6.25) * 16 * 0.9, rel=1e-3)


def test_limits_come_out_in_si():
    gain, high, overdue, later = parse(doc_example()).rig.limits
    assert (gain.kind, gain.on, gain.activity, gain.value_is) == ("gain", "active", "any", "volume")
    assert (gain.value, gain.deadband, gain.growth) == (pytest.approx(5 * BBL), pytest.approx(2 * BBL),
                                                        pytest.approx(2 * BBL))
    assert (gain.after_readings, gain.after_ms, gain.as_typed) == (1, 0, "5 bbl")
    assert (high.value_is, high.value, high.deadband) == ("level", pytest.approx(8 * FT), pytest.approx(2 * IN))
    assert high.since == "2026-01-05"
    assert (overdue.value_is, overdue.value, overdue.activity) == ("duration", 1800.0, "any")
    assert not later.watched
    assert later.value != later.value  # no value: nothing can be compared with it
    assert later.as_typed == "automatic, c = 7.5, ceiling 5 bbl"


def test_the_least_file_reads_and_says_what_it_leaves_open():
    assert codes(SMALL) == {"no_limits", "no_dip_error", "no_fresh_for", "no_brim", "no_order", "no_hole", "no_pipe",
                            "no_drain_back", "no_pumps", "no_density_unit"}
    assert parse(SMALL).rig.limits == ()


def test_findings_stand_at_their_line_and_tank():
    (finding,) = [one for one in parse(SMALL, "small.toml").findings if one.code == "no_dip_error"]
    assert (finding.file, finding.line, finding.tank) == ("small.toml", 7, "Suction")


@pytest.mark.parametrize(("left_out", "code"), [
    ('float = "closed"\n', "no_float"),
    ('carried_off = 1\n', "no_carried_off"),
    ('porosity = 0\n', "no_porosity"),
    ('mud_on_cuttings = 0\n', "no_mud_on_cuttings"),
    ('annulus = "250 bbl"\nlag = "90 min"\n', "no_lag"),
    ('capacity = "0.1458 bbl/ft"\n', "no_capacity"),
    ('growth = "2 bbl"\n', "no_growth"),
    ('brim = "7 ft"\n', "no_brim"),
])
def test_what_is_left_out_is_a_finding(left_out, code):
    text = doc_example()
    assert code not in codes(text)
    assert code in codes(text.replace(left_out, "", 1))


@pytest.mark.parametrize(("old", "new", "code"), [
    ('after = "1 reading"', 'after = "2 readings"', "delayed_limit"),
    ('after = "1 reading"', 'after = "15 s"', "delayed_limit"),
    ('deadband = "2 bbl"', 'deadband = "0 bbl"', "no_deadband"),
    ('brim = "7 ft"', 'brim = "9"', "low_brim"),
    ('kind = "gain"', 'kind = "rate"', "limit_not_watched"),
    ('["0 in", "0 bbl"], ', "", "strapping_starts_high"),
    ('["60 in", "76.9 bbl"], ', '["36 in", "98 bbl"], ["60 in", "127.5 bbl"], ', "strapping_kink"),
])
def test_what_looks_doubtful_is_a_finding(old, new, code):
    text = doc_example().replace('name = "gain by itself"\nkind = "gain"\non = "active"\nautomatic = { c = 7.5, '
                                 'ceiling = "5 bbl" }', 'name = "loss"\nkind = "loss"\non = "active"\nvalue = 5\n'
                                 'deadband = 1')
    assert old in text
    assert code not in codes(text)
    assert code in codes(text.replace(old, new, 1))


def test_a_delay_is_readings_or_a_time():
    text = doc_example()
    two = parse(text.replace('"1 reading"', '"2 readings"', 1)).rig.limits[0]
    time = parse(text.replace('"1 reading"', '"15 s"', 1)).rig.limits[0]
    assert (two.after_readings, two.after_ms) == (2, 0)
    assert (time.after_readings, time.after_ms) == (0, 15_000)


def test_an_overdue_limit_may_be_on_one_tank():
    text = doc_example().replace('kind = "overdue"\non = "active"', 'kind = "overdue"\non = "Trip"')
    assert parse(text).rig.limits[2].on == "Trip"


def test_a_low_limit_above_the_high_one_is_a_finding():
    low = ('[[limit]]\nname = "Suction low"\nkind = "low"\non = "Suction"\nvalue = "8 ft 1 in"\ndeadband = "1 in"\n'
           'set_by = "x"\nreason = "x"\nsince = "x"\n')
    assert "low_above_high" in codes(doc_example() + low)


def test_bare_numbers_in_limits_take_the_volume_unit_and_say_so():
    text = doc_example().replace('value = "5 bbl"', "value = 5", 1).replace('deadband = "2 bbl"', "deadband = 2.5", 1)
    gain = parse(text).rig.limits[0]
    assert (gain.value, gain.deadband) == (pytest.approx(5 * BBL), pytest.approx(2.5 * BBL))
    assert gain.as_typed == "5 bbl"


def test_a_decimal_comma_is_for_texts_and_a_point_for_bare_numbers():
    text = SMALL.replace("[units]", 'decimal = ","\n[units]').replace("length = 30", 'length = "30,5 ft"')
    rig = parse(text.replace("width = 8", "width = 8.5")).rig
    shape = rig.tanks[0].shape
    assert isinstance(shape, Box)
    assert (shape.length, shape.width) == (pytest.approx(30.5 * FT), pytest.approx(8.5 * FT))
    assert rig.decimal == ","


def test_tanks_come_in_gauging_order_and_those_without_one_last():
    second = SMALL[SMALL.index("[[tank]]"):].replace("Suction", "Settling").replace("active = true",
                                                                                  "active = true\norder = 4")
    third = second.replace("Settling", "Trip").replace("order = 4", "order = 2")
    assert [tank.name for tank in parse(SMALL + second + third).rig.tanks] == ["Trip", "Settling", "Suction"]


def test_feet_and_inches_are_a_unit_of_level():
    text = SMALL.replace('level = "in"', 'level = "ft in"').replace('gauge = "up"', "gauge = \"down\"\nmark = '''9' 3 1/2\"'''")
    rig = parse(text).rig
    assert rig.units["level"] == "ft in"
    assert rig.tanks[0].mark_m == pytest.approx(111.5 * IN)


def test_a_limit_knows_the_same_activities_as_an_entry():
    assert ACTIVITIES == ENTRY_ACTIVITIES


def test_keys_are_located_in_every_way_toml_writes_them():
    text = ('a.b = 1 # "x" = 2\n"q\\u0041 z" = """two\n] lines\\" """\n[t]\nx = [\n  [1, 2], # ]\n  ["]", "#"],\n]\n'
            "y = { k = 'v}', l = [3] }\n[[r]]\nn = 1979-05-27 07:32:00\n[r.s]\nm = 2\n[[r]]\nn = '''''x'''''\n[r.s]\nm = 3\n")
    places = locate(text)
    lines = {("a", "b"): 1, ("qA z",): 2, ("t",): 4, ("t", "x"): 5, ("t", "x", 0): 6, ("t", "x", 1, 1): 7,
             ("t", "y", "k"): 9, ("t", "y", "l", 0): 9, ("r", 0, "n"): 11, ("r", 0, "s", "m"): 13, ("r", 1): 14,
             ("r", 1, "n"): 15, ("r", 1, "s"): 16, ("r", 1, "s", "m"): 17}
    assert {path: places.line(path) for path in lines} == lines
    assert places.line(("t", "x", 1, 9)) == 7  # what isn't there is where its holder is
    assert places.line(("nothing",)) == 1
    span = places.values["r", 0, "n"]
    assert text[span.start:span.end] == "1979-05-27 07:32:00"
