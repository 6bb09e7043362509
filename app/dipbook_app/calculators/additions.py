"""What to put into a tank for a weight: a solid, a liquid, or another mud."""

from __future__ import annotations

from dipbook.mud.mixing import liquid_for, liquid_in, mixed, solid_for, start_for
from dipbook.quantities import read
from dipbook.rig.model import Rig
from dipbook_app.calculators.calculator import Answer, Calculator, Given, Input, either, told, unit_of

POUNDS = ("lbm", "ton[US]", "ton[UK]")
NOT_BOTH = "Give the mud to begin with or the mud in the end, not both"
START = Input("start", "Mud to begin with", "volume")
FINAL = Input("final", "or: mud in the end", "volume")
NOW = Input("mud", "Its weight now", "density")
WANTED = Input("wanted", "Weight wanted", "density")


def _solid_inputs(_rig: Rig) -> tuple[Input, ...]:
    return (START, FINAL, NOW, WANTED, Input("solid", "Density of the solid", "density", "density"),
            Input("sack", "One sack holds", "mass", hint="if it comes in sacks"))


def _solid(given: Given) -> Answer:
    asked = either(given, "start", "final", NOT_BOTH)
    lacking = given.missing("mud", "wanted", "solid")
    if asked is not None and asked.wrong:
        return asked
    if asked is not None or lacking:
        return Answer(missing=(*(asked.missing if asked else ()), *lacking))
    value = given.values
    weights = value["mud"], value["wanted"], value["solid"]
    start = value["start"] if given.has("start") else start_for(value["final"], *weights)
    mass = solid_for(start, *weights)
    lines = [f"Solid needed: {_mass(given, mass)}", f"{given.volume(mass / value['solid'])} more, "
             f"{given.volume(start + mass / value['solid'])} in the end."]
    if given.has("final"):
        lines.insert(1, f"Begin with {given.volume(start)}.")
    if given.has("sack"):
        if value["sack"] <= 0.0:
            return Answer(wrong={"sack": "it must be more than nothing"})
        lines.append(f"{given.number(mass / value['sack'], 1)} sacks of {given.texts['sack']}.")
    return Answer(tuple(lines), takes={"mass": _mass(given, mass), "density": given.texts["solid"], "volume": ""})


def _mass(given: Given, mass_kg: float) -> str:
    """In the unit of the sack, where one is typed."""
    unit = unit_of("mass", given.rig)
    if given.has("sack"):
        typed = read(given.texts["sack"], "mass", decimal=given.rig.decimal).unit
        unit = "lbm" if typed in POUNDS else "kg"
    return told(mass_kg, unit, given.rig.decimal)


def _liquid_inputs(_rig: Rig) -> tuple[Input, ...]:
    return (START, FINAL, NOW, WANTED, Input("liquid", "Weight of what goes in", "density", "density", unless="mass"))


def _liquid(given: Given) -> Answer:
    asked = either(given, "start", "final", NOT_BOTH)
    lacking = given.missing("mud", "wanted", "liquid")
    if asked is not None and asked.wrong:
        return asked
    if asked is not None or lacking:
        return Answer(missing=(*(asked.missing if asked else ()), *lacking))
    value = given.values
    weights = value["mud"], value["wanted"], value["liquid"]
    if given.has("start"):
        needed, start = liquid_for(value["start"], *weights), value["start"]
    else:
        needed = liquid_in(value["final"], *weights)
        start = value["final"] - needed
    begin = () if given.has("start") else (f"Begin with {given.volume(start)}.",)
    return Answer((f"Liquid needed: {given.volume(needed)}", *begin, f"{given.volume(start + needed)} in the end."),
                  takes={"volume": given.volume(needed), "density": given.texts["liquid"], "mass": ""})


def _mud_inputs(_rig: Rig) -> tuple[Input, ...]:
    return (Input("first", "First mud, in the tank", "volume"), Input("first_weight", "Weight of the first", "density"),
            Input("second", "Second mud, goes in", "volume", "volume"),
            Input("second_weight", "Weight of the second", "density", "density", unless="mass"))


def _muds(given: Given) -> Answer:
    if lacking := given.missing("first", "first_weight", "second", "second_weight"):
        return Answer(missing=lacking)
    value = given.values
    volume, weight = mixed(value["first"], value["first_weight"], value["second"], value["second_weight"])
    return Answer((f"Together {given.volume(volume)} of {given.weight(weight)}",),
                  takes={"volume": given.texts["second"], "density": given.texts["second_weight"], "mass": ""})


SOLID = Calculator("Solid", "Mass that weights mud up. What goes in adds its own volume.", _solid_inputs, _solid)
LIQUID = Calculator("Liquid", "Water, base oil or another mud that brings mud to a weight. Volumes add up.",
                    _liquid_inputs, _liquid)
TWO_MUDS = Calculator("Two muds", "What two muds make together. Volumes add up.", _mud_inputs, _muds)
