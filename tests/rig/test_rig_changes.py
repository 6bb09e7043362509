"""What changed between two rigs, in words."""

from __future__ import annotations

from pathlib import Path

import pytest

from dipbook.rig.changes import difference_in_words
from dipbook.rig.document import parse

TEXT = (Path(__file__).parents[2] / "demo_data" / "rig-larkspur.toml").read_text(encoding="utf-8")
OLD = parse(TEXT).rig
AUTOMATIC = ('\n[[limit]]\nname = "own"\nkind = "gain"\non = "active"\nautomatic = { c = 7.5, ceiling = "5 bbl" }\n'
             'set_by = "x"\nreason = "x"\nsince = "x"\n')


def test_the_same_rig_has_no_difference():
    assert difference_in_words(OLD, parse(TEXT).rig) == ()


def test_comments_and_ways_of_writing_are_no_difference():
    new = parse("# more\n" + TEXT.replace('"9 ft"', '"108 in"').replace('"5 bbl"', '"5.0 bbl"')).rig
    assert difference_in_words(OLD, new) == ()


@pytest.mark.parametrize(("old", "new", "words"), [
    ('value = "5 bbl"', 'value = "4 bbl"', ("Limit gain: 5 bbl → 4 bbl",)),
    ('after = "1 reading"', 'after = "15 s"', ("Limit gain, warns after: 1 reading → 15 s",)),
    ('growth = "2 bbl"\n', "", ("Limit gain, sounds again after: 2 bbl → not set",)),
    ('deadband = "2 bbl"', 'deadband = "1.5 bbl"', ("Limit gain, over when back by: 2 bbl → 1.5 bbl",)),
    ('reason = "demo value, not advice"', 'reason = "calm"', ("Limit gain, reason: demo value, not advice → calm",)),
    ('value = "8 ft"', 'value = "95 in"', ("Limit Suction high: 8 ft → 95 in",)),
    ('value = "35 min"', 'value = "40 min"', ("Limit round overdue: 35 min → 40 min",)),
    ('["6 in", "4.81 bbl"]', '["6 in", "4.91 bbl"]', ("Tank Settling re-strapped (12 rows, to 145.34 bbl)",)),
    ('length = "20 ft"', 'length = "21 ft"',
     ("Tank Suction, shape: box 20 ft × 8 ft × 9 ft → box 21 ft × 8 ft × 9 ft",)),
    ('diameter = "5 ft"', 'diameter = "5.1 ft"',
     ("Tank Trip, shape: vertical cylinder 5 ft × 10 ft → vertical cylinder 5.1 ft × 10 ft",)),
    ('mark = "9 ft"', 'mark = "9 ft 1 in"', ("Tank Suction, mark: 108 in → 109 in",)),
    ('offset = "1 in" ', 'offset = "2 in" ', ("Tank Slug, offset: 1 in → 2 in",)),
    ('dip_error = "1/8 in"\n', "", ("Tank Trip, dip error: 0.125 in → not set",)),
    ('heel = "10 in"', 'heel = "11 in"', ("Tank Suction, heel: 10 in → 11 in",)),
    ('internals = "1.5 bbl"', 'internals = "2 bbl"', ("Tank Suction, internals: 1.5 bbl → 2 bbl",)),
    ('percent_of = "volume"', 'percent_of = "level"', ("Tank Settling, percentages are of: volume → level",)),
    ('role = "slug"', 'role = "pill"', ("Tank Slug, role: slug → pill",)),
    ("order = 9", "order = 10", ("Tank Trip, gauging order: 9 → 10",)),
    ('output = "0.1018 bbl"', 'output = "0.1 bbl"', ("Pump 1, output a stroke: 0.1018 bbl → 0.1 bbl",)),
    ('capacity = "0.1458 bbl/ft"', 'capacity = "0.07 bbl/ft"', ("Hole, capacity: 0.1458 bbl/ft → 0.07 bbl/ft",)),
    ("carried_off = 1 ", "carried_off = 0.9 ", ("Hole, share of cuttings carried off: 1 → 0.9",)),
    ('annulus = "900 bbl"', 'lag = "37 min"', ("Hole, annulus: 900 bbl → not set", "Hole, lag: not set → 37 min")),
    ('float = "closed"', 'float = "open"', ("Pipe, float: closed → open",)),
    ('"14 bbl"', '"13 bbl"', ("Drain-back, volumes at flow changed (3 → 3 rows)",)),
    ('falling = "60 s"', 'falling = "50 s"', ("Drain-back, falling: 1 min → 50 s",)),
    ('zone = "Etc/GMT+6"', 'zone = "Etc/GMT+5"', ("Time zone: Etc/GMT+6 → Etc/GMT+5",)),
    ('flow = "gal[US]/min"', 'flow = "bbl/min"', ("Unit of flow: gal[US]/min → bbl/min",)),
    ("invented = true", "invented = false", ("Marked as invented: yes → no",)),
])
def test_a_change_is_said_in_words(old, new, words):
    assert old in TEXT
    assert difference_in_words(OLD, parse(TEXT.replace(old, new, 1)).rig) == words


def test_what_comes_and_goes_is_named():
    new = parse(TEXT.replace('name = "Reserve 2"', 'name = "Premix"').replace('name = "loss"', 'name = "losses"')
                .replace('name = "2"', 'name = "3"').replace('role = "reserve"', 'role = "premix"')).rig
    words = difference_in_words(OLD, new)
    assert "Tank Reserve 2 removed" in words
    # 30 × 8 × 8.5 ft is 2040 ft3; a barrel is 5.614583 ft3 (9702 in3, exact).
    assert "Tank Premix added (premix, 363.3395 bbl to the brim)" in words
    assert "Pump 2 removed" in words
    assert any(one.startswith("Pump 3 added (0.1") for one in words)
    assert "Limit loss removed (was 6 bbl)" in words
    assert "Limit losses added: loss on active, any, 6 bbl, set by demo crew (invented)" in words


def test_sections_that_come_and_go_are_named():
    pipe = TEXT[TEXT.index("[pipe]"):TEXT.index("[[string]]")]
    drain = TEXT[TEXT.index("[drain_back]"):TEXT.index("# ---- crew")]
    without = parse(TEXT.replace(pipe, "").replace(drain, "")).rig
    assert difference_in_words(OLD, without) == ("Pipe removed", "Drain-back removed")
    assert difference_in_words(without, OLD) == ("Pipe added", "Drain-back added")


def test_a_limit_that_is_not_watched_shows_its_changes_too():
    old, new = parse(TEXT + AUTOMATIC).rig, parse(TEXT + AUTOMATIC.replace("7.5", "6")).rig
    assert difference_in_words(old, parse(TEXT + AUTOMATIC).rig) == ()
    assert difference_in_words(old, new) == (
        "Limit own: automatic, c = 7.5, ceiling 5 bbl → automatic, c = 6, ceiling 5 bbl",)
