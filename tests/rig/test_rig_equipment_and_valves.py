"""[[equipment]], [[valve]], the hole's volume and the units that go with the length. Everything here is invented."""

from __future__ import annotations

import pytest

from dipbook.errors import RigFileError
from dipbook.rig.changes import difference_in_words
from dipbook.rig.document import RigDocument, parse, with_limits
from dipbook.rig.model import Equipment, Valve
from ledgers import BBL, IN, RIG

EQUIPMENT = '''
[[equipment]]
name = "Desander pump"
holds = "6 bbl"
filling = "2 min"
draining = "90 s"
on = false
'''
GATE = '''
[[valve]]
name = "Gate 1"
kind = "gate"
tank = "Suction"
to = "Settling"
open = true
equalises = true
step = "6 in"
isolates = "Suction"
'''
DUMP = '''
[[valve]]
name = "Dump 1"
kind = "dump"
tank = "Settling"
open = false
'''


def read(*sections: str, base: str = RIG) -> RigDocument:
    return parse(base + "".join(sections))


def problems(*sections: str, base: str = RIG) -> list[str]:
    with pytest.raises(RigFileError) as found:
        read(*sections, base=base)
    return list(found.value.problems)


def test_equipment_is_read() -> None:
    rig = read(EQUIPMENT, '[[equipment]]\nname = "Degasser"\nholds = 5\non = true\n').rig
    assert rig.equipment == (Equipment("Desander pump", pytest.approx(6 * BBL), 120.0, 90.0, False),
                             Equipment("Degasser", pytest.approx(5 * BBL), 0.0, 0.0, True))


def test_valves_are_read() -> None:
    rig = read(GATE, DUMP).rig
    assert rig.valves == (Valve("Gate 1", "gate", "Suction", "Settling", True, True, pytest.approx(6 * IN), "Suction"),
                          Valve("Dump 1", "dump", "Settling"))


def test_a_rig_without_the_sections_has_none() -> None:
    assert (read().rig.equipment, read().rig.valves) == ((), ())


@pytest.mark.parametrize(("old", "new", "line", "says"), [
    ('name = "Desander pump"\n', "", 2, "equipment.number 1.name: is missing; expected the equipment's name in quotes"),
    ('"Desander pump"', '"Active"', 3, 'equipment.Active.name: "Active" means something else in limits, entries or '
                                       "readings; expected another name for the equipment"),
    ('"Desander pump"', '"A [b]"', 3, "has one of [ ] : \" in it"),
    ('holds = "6 bbl"\n', "", 2, 'equipment.Desander pump.holds: is missing; expected the mud that fills it, like '
                                 '"6 bbl"'),
    ('"6 bbl"', '"0 bbl"', 4, '"0 bbl" isn\'t above 0'),
    ('"6 bbl"', '"6000 bbl"', 4, "is too large to be real"),
    ('"2 min"', "2", 5, '2 has no unit; expected a text with one, like "20 min"'),
    ('"2 min"', '"3 h"', 5, "is too large to be real"),
    ("on = false", 'on = "no"', 7, '"no" isn\'t yes or no; expected true or false, without quotes'),
    ("on = false", "", 2, "is missing; expected true or false"),
    ("draining", "drains", 6, 'isn\'t a key of the rig file here; did you mean "draining"?'),
])
def test_equipment_that_is_wrong_is_refused_with_its_line(old: str, new: str, line: int, says: str) -> None:
    assert old in EQUIPMENT
    (found,) = problems(EQUIPMENT.replace(old, new, 1))
    assert says in found
    assert f"line {RIG.count(chr(10)) + line}, " in found


@pytest.mark.parametrize(("old", "new", "line", "says"), [
    ('kind = "gate"', 'kind = "gait"', 4, 'isn\'t a kind of valve; expected "gate", "suction", "dump", "water" or '
                                          '"other" (did you mean "gate"?)'),
    ('tank = "Suction"', 'tank = "Sucktion"', 5, "isn't a tank of this file"),
    ('to = "Settling"\n', "", 2, "to: is missing; expected the tank on the gate's other side"),
    ('to = "Settling"', 'to = "Suction"', 6, "is the tank of this side; expected the one on the other side"),
    ("open = true\n", "", 2, "open: is missing; expected true or false"),
    ("equalises = true", "equalises = false", 9, "is only for a gate that equalises"),
    ('step = "6 in"', 'step = "-6 in"', 9, "expected tank and to the other way round"),
    ('step = "6 in"', 'step = "9 ft"', 9, "is as high as Settling is"),
    ('isolates = "Suction"', 'isolates = "Trip"', 10, 'isn\'t at this gate; expected "Suction" or "Settling"'),
    ("open = true", "open = false", 7, "is false and Gate 1 isolates Suction, which is active; expected open = true "
                                       "here, or active = false for Suction"),
    ('name = "Gate 1"', 'name = "flow line"', 3, "means something else"),
])
def test_a_gate_that_is_wrong_is_refused_with_its_line(old: str, new: str, line: int, says: str) -> None:
    assert old in GATE
    (found,) = problems(GATE.replace(old, new, 1))
    assert says in found
    assert f"line {RIG.count(chr(10)) + line}, " in found


@pytest.mark.parametrize("key", ['to = "Suction"', "equalises = true", 'isolates = "Settling"'])
def test_what_is_for_a_gate_only_is_refused_elsewhere(key: str) -> None:
    (found,) = problems(DUMP + key + "\n")
    assert 'is only for a gate; expected kind = "gate"' in found


def test_names_are_told_apart_whatever_their_capitals() -> None:
    assert "is already the valve of line" in problems(GATE, DUMP.replace("Dump 1", "GATE 1"))[0]
    assert "is already the equipment of line" in problems(EQUIPMENT, EQUIPMENT.upper().replace(
        "[[EQUIPMENT]]", "[[equipment]]").replace("NAME", "name").replace("HOLDS", "holds").replace("6 BBL", "6 bbl")
        .replace("FILLING", "filling").replace("2 MIN", "2 min").replace("DRAINING", "draining").replace(
            "90 S", "90 s").replace("ON = FALSE", "on = false"))[0]


def test_one_gate_isolates_a_tank() -> None:
    second = GATE.replace("Gate 1", "Gate 2")
    assert problems(GATE, second)[0].endswith('"Suction" is already isolated by Gate 1; expected one gate for it; log '
                                              "a line-up change for the others")


def test_steps_around_a_ring_of_gates_must_agree() -> None:
    def gate(name: str, tank: str, to: str, step: str) -> str:
        return (f'[[valve]]\nname = "{name}"\nkind = "gate"\ntank = "{tank}"\nto = "{to}"\nopen = false\n'
                f'equalises = true\nstep = "{step}"\n')
    ring = gate("A", "Suction", "Settling", "6 in") + gate("B", "Settling", "Trip", "4 in")
    assert len(read(ring, gate("C", "Suction", "Trip", "10 in")).rig.valves) == 3
    assert "doesn't agree with the gates before it" in problems(ring, gate("C", "Suction", "Trip", "9 in"))[0]
    assert "doesn't agree" in problems(ring, gate("C", "Trip", "Suction", "0 in"))[0]


def test_an_open_gate_between_an_active_tank_and_another_is_told() -> None:
    gate = GATE.replace('to = "Settling"', 'to = "Reserve"').replace('isolates = "Suction"\n', "")
    assert "gate_between_systems" in {f.code for f in read(gate).findings}
    assert "gate_between_systems" not in {f.code for f in read(gate.replace("open = true", "open = false")).findings}
    assert "gate_between_systems" not in {f.code for f in read(GATE).findings}
    plain = gate.replace('equalises = true\nstep = "6 in"\n', 'isolates = "Reserve"\n')
    assert "gate_open_tank_out" in {f.code for f in read(plain).findings}


def test_the_sections_must_be_rows_of_tables() -> None:
    assert "expected [[valve]] in double brackets" in problems('[valve]\nname = "Gate"\n')[0]
    assert "expected [[equipment]] in double brackets" in problems('[equipment]\nname = "x"\n')[0]


def test_the_mud_in_the_hole() -> None:
    text = RIG.replace("[hole]\n", '[hole]\nvolume = "1200 bbl"\n')
    hole = parse(text).rig.hole
    assert hole is not None
    assert hole.volume_m3 == pytest.approx(1200 * BBL)
    assert "is too large" in problems(base=text.replace("1200", "120000"))[0]
    before = parse(RIG).rig.hole
    assert before is not None
    assert before.volume_m3 is None


@pytest.mark.parametrize(("length", "units"), [("ft", ("degF", "psi", "ft/h")), ("m", ("degC", "kPa", "m/h"))])
def test_units_that_are_left_out_go_with_the_length(length: str, units: tuple[str, str, str]) -> None:
    rig = parse(RIG.replace('length = "ft"', f'length = "{length}"')).rig
    assert tuple(rig.units[key] for key in ("temperature", "pressure", "speed")) == units


def test_units_that_are_given_are_taken() -> None:
    text = RIG.replace('level = "in"\n', 'level = "in"\ntemperature = "degC"\npressure = "bar"\nspeed = "m/h"\n')
    rig = parse(text).rig
    assert tuple(rig.units[key] for key in ("temperature", "pressure", "speed")) == ("degC", "bar", "m/h")
    assert "is a unit of pressure" in problems(base=text.replace('temperature = "degC"', 'temperature = "psi"'))[0]


def test_every_unit_that_is_left_out_is_one_that_values_can_be_written_in() -> None:
    named = {key: unit for text in (RIG, RIG.replace('length = "ft"', 'length = "m"'))
             for key, unit in parse(text).rig.units.items()}
    assert set(named) == {"level", "volume", "length", "density", "flow", "temperature", "pressure", "speed"}
    for length in ("ft", "m"):
        units = parse(RIG.replace('length = "ft"', f'length = "{length}"')).rig.units
        typed = "".join(f'{key} = "{units[key]}"\n' for key in ("temperature", "pressure", "speed"))
        assert parse(RIG.replace("[units]\n", "[units]\n" + typed).replace(
            'length = "ft"', f'length = "{length}"')).rig.units == units


def test_writing_limits_leaves_the_sections_as_they_are() -> None:
    text = RIG + EQUIPMENT + GATE + "# a remark\n" + DUMP
    limit = parse(text + '[[limit]]\nname = "gain"\nkind = "gain"\non = "active"\nvalue = "5 bbl"\ndeadband = "2 bbl"\n'
                  'set_by = "x"\nreason = "x"\nsince = "x"\n').rig.limits[0]
    new = with_limits(text, (limit,))
    assert new.startswith(text)
    assert parse(new).rig.valves == parse(text).rig.valves
    assert parse(new).rig.equipment == parse(text).rig.equipment
    assert with_limits(new, ()).rstrip() == text.rstrip()


OLD = RIG + EQUIPMENT + GATE + DUMP


@pytest.mark.parametrize(("old", "new", "words"), [
    ('holds = "6 bbl"', 'holds = "7 bbl"', ("Equipment Desander pump, holds: 6 bbl → 7 bbl",)),
    ('filling = "2 min"', 'filling = "1 min"', ("Equipment Desander pump, filling: 2 min → 1 min",)),
    ('draining = "90 s"\n', "", ("Equipment Desander pump, draining: 90 s → 0 s",)),
    ("on = false", "on = true", ("Equipment Desander pump, on at the start: no → yes",)),
    (EQUIPMENT, "", ("Equipment Desander pump removed",)),
    (DUMP, "", ("Valve Dump 1 removed",)),
    ('name = "Dump 1"', 'name = "Dump 2"', ("Valve Dump 1 removed", "Valve Dump 2 added (dump, Settling)")),
    ('kind = "dump"', 'kind = "water"', ("Valve Dump 1, kind: dump → water",)),
    ('step = "6 in"', 'step = "5 in"', ("Valve Gate 1, step: 6 in → 5 in",)),
    ('isolates = "Suction"\n', "", ("Valve Gate 1, isolates: Suction → not set",)),
    ('isolates = "Suction"', 'isolates = "Settling"', ("Valve Gate 1, isolates: Suction → Settling",)),
    ('equalises = true\nstep = "6 in"\n', "", ("Valve Gate 1, equalises: yes → no", "Valve Gate 1, step: 6 in → 0 in")),
    ('[hole]\n', '[hole]\nvolume = "1200 bbl"\n', ("Hole, volume: not set → 1200 bbl",)),
    ('level = "in"\n', 'level = "in"\npressure = "bar"\n', ("Unit of pressure: psi → bar",)),
])
def test_changes_are_told_in_words(old: str, new: str, words: tuple[str, ...]) -> None:
    assert old in OLD
    assert difference_in_words(parse(OLD).rig, parse(OLD.replace(old, new, 1)).rig) == words


def test_what_is_new_is_told_in_words() -> None:
    assert difference_in_words(parse(RIG).rig, parse(OLD).rig) == (
        "Equipment Desander pump added (holds 6 bbl)", "Valve Gate 1 added (gate, Suction to Settling)",
        "Valve Dump 1 added (dump, Settling)")
