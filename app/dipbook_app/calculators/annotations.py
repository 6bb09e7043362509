"""Gas in mud and mud that warms, as words for a remark: they book nothing and explain no difference."""

from __future__ import annotations

from dataclasses import replace

from dipbook.mud.apparent import gas_cut, gas_share, warmed
from dipbook.quantities import write
from dipbook.rig.model import Rig
from dipbook_app.calculators.calculator import (
    SHARE,
    Answer,
    Calculator,
    Given,
    Input,
    either,
    with_needs,
    with_remark,
)

NOT_BOTH_OF_GAS = "Give the gas or the weight with it, not both"
GAS_READING_TOO = "To save it, give the gas reading too."
NOT_BOOKED = "An annotation: nothing is booked, and it explains no gain or loss."
IN_SIGHT = "Nothing is booked."
OF_A_CHECK = ("density in", "density out", "temperature in", "temperature out")
A_WEIGHT_TOO = "To save it, give a weight or a temperature too."
"""A remark alone is no mud check."""
FAHRENHEIT, CELSIUS = "degF", "degC"
KELVIN_IN = {FAHRENHEIT: 5.0 / 9.0, CELSIUS: 1.0}


def _gas_inputs(_rig: Rig) -> tuple[Input, ...]:
    return (Input("mud", "Weight without gas", "density", "density in"),
            Input("share", "Gas in it, by volume", SHARE, hint="%"),
            Input("cut", "or: weight with gas", "density", "density out"),
            Input("volume", "Mud without its gas", "volume", hint="if its volume is wanted"))


def _gas_in_a_check(given: Given) -> Answer:
    """As ``_gas``; a weight with gas that a person typed is the mud weight out."""
    found = _gas(given)
    takes = dict(found.takes)
    if takes and given.has("cut"):
        takes["density out"] = given.texts["cut"]
    return with_needs(found, takes, given, OF_A_CHECK, A_WEIGHT_TOO)


def _gas_in_a_reading(given: Given) -> Answer:
    found = _gas(given)
    return with_needs(found, found.takes, given, ("gas",), GAS_READING_TOO)


def _gas(given: Given) -> Answer:
    asked = either(given, "share", "cut", NOT_BOTH_OF_GAS)
    if asked is not None and asked.wrong:
        return asked
    if asked is not None or not given.has("mud"):
        return Answer(missing=(*given.missing("mud"), *(asked.missing if asked else ())))
    value = given.values
    share = value["share"] if given.has("share") else gas_share(value["mud"], value["cut"])
    apparent, cut = gas_cut(value.get("volume", 1.0), value["mud"], share)
    gas = f"{given.number(100.0 * share, 1)} % gas by volume"
    weights = f"{given.weight(cut)} against {given.weight(value['mud'])}"
    lines, words = [gas, f"It weighs {weights}."], f"{gas}, {weights}"
    if given.has("volume"):
        volumes = f"{given.volume(value['volume'])} of mud stands as {given.volume(apparent)}"
        lines.append(f"{volumes}, {given.volume(apparent - value['volume'])} of it gas.")
        words += f"; {volumes}"
    return Answer((*lines, IN_SIGHT), takes=with_remark(given, f"Gas-cut, worked out and not booked: {words}"))


def _warm_inputs(rig: Rig) -> tuple[Input, ...]:
    return (Input("volume", "Mud", "volume"), Input("from", "Temperature then", "temperature"),
            Input("to", "Temperature now", "temperature"),
            Input("per_kelvin", "It grows by, % a degree", SHARE, hint=f"% per {_degree(rig)}, of this mud"))


def _warm(given: Given) -> Answer:
    if lacking := given.missing("volume", "from", "to", "per_kelvin"):
        return Answer(missing=lacking)
    value, degree = given.values, _degree(given.rig)
    change = warmed(value["volume"], value["per_kelvin"] / KELVIN_IN[degree], value["from"], value["to"])
    if change == 0.0:
        return Answer(("No change", IN_SIGHT))
    more = f"{given.volume(abs(change))} {'more' if change > 0 else 'less'}"
    then, now = (write(value[name], degree, decimal=given.rig.decimal) for name in ("from", "to"))
    rate = f"{100.0 * value['per_kelvin']:.4g}".replace(".", given.rig.decimal)
    found = Answer((more, f"From {then} to {now} at {rate} % per {degree}, as typed.", IN_SIGHT), takes=with_remark(
        given, f"{'Warmed' if change > 0 else 'Cooled'}, worked out and not booked: "
               f"{given.volume(value['volume'])} from {then} to {now} at {rate} % per {degree} makes {more}"))
    return with_needs(found, found.takes, given, OF_A_CHECK, A_WEIGHT_TOO)


def _degree(rig: Rig) -> str:
    return FAHRENHEIT if rig.units.get("temperature") == FAHRENHEIT else CELSIUS


GAS_CUT = Calculator("Gas-cut", f"{NOT_BOOKED} Gas at surface is itself a sign.", _gas_inputs,
                     _gas_in_a_check)
GAS_CUT_READING = replace(GAS_CUT, work=_gas_in_a_reading)
WARMED = Calculator("Warmed, cooled", f"{NOT_BOOKED} How much a mud grows is its own: none is assumed.", _warm_inputs,
                    _warm)
