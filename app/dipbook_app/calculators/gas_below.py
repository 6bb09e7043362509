"""Gas below the surface, as words for a remark: what a bubble comes to, and what gas all the way down takes off a
column. They book nothing and explain no difference."""

from __future__ import annotations

from dipbook.mud.apparent import gas_share
from dipbook.mud.gas import STANDARD_ATMOSPHERE, at_depth, expanded, gas_cut_loss
from dipbook.rig.model import Rig
from dipbook_app.calculators.annotations import GAS_READING_TOO, NOT_BOOKED, NOT_BOTH_OF_GAS
from dipbook_app.calculators.calculator import (
    FACTOR,
    SHARE,
    Answer,
    Calculator,
    Given,
    Input,
    either,
    with_needs,
    with_remark,
)

Z_FROM, Z_TO = 0.25, 3.0
"""Factors z outside are asked about: common practice, no source; natural gas in wells has about 0.7 to 2."""
IN_SIGHT = "Nothing is booked; the rig's own procedures come first."


def _saved_as_gas(found: Answer, given: Given) -> Answer:
    return with_needs(found, found.takes, given, ("gas",), GAS_READING_TOO)


def _bubble_inputs(_rig: Rig) -> tuple[Input, ...]:
    return (Input("gas", "Gas, there", "volume"), Input("mud", "Mud weight", "density"),
            Input("depth", "Vertical depth there", "length"), Input("from", "or: pressure there", "pressure"),
            Input("to", "Vertical depth then", "length", hint="blank: at surface, open"),
            Input("z_from", "Factor z there", FACTOR, hint="blank: 1, by Boyle"),
            Input("z_to", "Factor z then", FACTOR, hint="blank: 1"))


def _bubble(given: Given) -> Answer:
    asked = either(given, "depth", "from", "Give the depth there or the pressure there, not both")
    if asked is not None and asked.wrong:
        return asked
    lacking = given.missing("gas", *(("mud",) if given.has("depth") or given.has("to") else ()))
    if asked is not None or lacking:
        return Answer(missing=(*lacking, *(asked.missing if asked else ())))
    value = given.values
    there = at_depth(value["mud"], value["depth"]) if given.has("depth") else value["from"] + STANDARD_ATMOSPHERE
    then = at_depth(value["mud"], value["to"]) if given.has("to") else STANDARD_ATMOSPHERE
    z_there, z_then = value.get("z_from", 1.0), value.get("z_to", 1.0)
    volume = given.volume(expanded(value["gas"], there, then, z_there, z_then))
    gauges = [given.told(pressure - STANDARD_ATMOSPHERE, "pressure") for pressure in (there, then)]
    where = f"at {given.told(value['to'], 'length')}" if given.has("to") else "at surface"
    place = f"{given.told(value['depth'], 'length')}, " if given.has("depth") else ""
    factors = [f"{z:.4g}".replace(".", given.rig.decimal) for z in (z_there, z_then)]
    typed = given.has("z_from") or given.has("z_to")
    law = f"with z {factors[0]} there and {factors[1]} then" if typed else "by Boyle's law"
    doubts = [f"Is z {shown}? It seldom is so far from 1." for z, shown in zip((z_there, z_then), factors, strict=True)
              if not Z_FROM <= z <= Z_TO]
    first = f"{given.volume(value['gas'])} at {place}{gauges[0]}"
    return _saved_as_gas(Answer((
        f"{volume} {where}", *doubts, f"From {gauges[0]} to {gauges[1]} by gauge, {law}, at one temperature, mud at "
        "rest; oil mud dissolves gas.", IN_SIGHT), takes=with_remark(
            given, f"Gas, worked out and not booked: {first}, would be {volume} {where}, {law}")), given)


def _head_inputs(_rig: Rig) -> tuple[Input, ...]:
    return (Input("mud", "Weight without gas", "density"), Input("share", "Gas in it, by volume", SHARE, hint="%"),
            Input("cut", "or: weight with gas", "density"), Input("depth", "Vertical depth", "length"))


def _head(given: Given) -> Answer:
    asked = either(given, "share", "cut", NOT_BOTH_OF_GAS)
    if asked is not None and asked.wrong:
        return asked
    lacking = (*given.missing("mud"), *(asked.missing if asked else ()), *given.missing("depth"))
    if lacking:
        return Answer(missing=lacking)
    value = given.values
    share = value["share"] if given.has("share") else gas_share(value["mud"], value["cut"])
    lost, whole = gas_cut_loss(value["mud"], value["depth"], share)
    less, of = given.told(lost, "pressure"), given.told(whole, "pressure")
    percent, gas = given.number(100.0 * lost / whole, 1), given.number(100.0 * share, 1)
    deep = given.told(value["depth"], "length")
    return _saved_as_gas(Answer((
        f"{less} less at {deep}", f"{percent} % of {of}, if gas is spread all the way down as evenly as the {gas} % at "
        "surface. More gas below takes more.", IN_SIGHT), takes=with_remark(
            given, f"Gas-cut, worked out and not booked: {gas} % gas at surface, if spread evenly all the way down, "
                   f"takes {less} of {of} at {deep}, mud {given.weight(value['mud'])}")), given)


BUBBLE = Calculator("Bubble", f"{NOT_BOOKED} What gas below comes to where the pressure is another.", _bubble_inputs,
                    _bubble)
HEAD_LOST = Calculator("Head lost", f"{NOT_BOOKED} Gas at surface is itself a sign, however little it takes.",
                       _head_inputs, _head)
