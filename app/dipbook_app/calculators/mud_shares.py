"""What to put into a tank for a share: so that drilled solids stay one, or for the oil of an oil mud."""

from __future__ import annotations

from dipbook.mud.drilled_solids import built_for, dilution, dilution_a_volume
from dipbook.mud.mixing import positive
from dipbook.mud.oil_water import mud_share, oil_for, ratio_of, water_for
from dipbook.rig.model import Rig
from dipbook_app.calculators.additions import FINAL, NOT_BOTH, START
from dipbook_app.calculators.calculator import PARTS, SHARE, Answer, Calculator, Given, Input, either, parts


def _solids_inputs(_rig: Rig) -> tuple[Input, ...]:
    return (Input("solids", "Drilled solids left in it", "volume"),
            Input("share", "Solids it may hold", SHARE, hint="%"))


def _solids(given: Given) -> Answer:
    if lacking := given.missing("solids", "share"):
        return Answer(missing=lacking)
    solids, share = given.values["solids"], given.values["share"]
    built = built_for(solids, share)
    goes_in = dilution(built, solids)
    ratio_of = given.number(dilution_a_volume(share), 1)
    return Answer((f"To put in: {given.volume(goes_in)}",
                   f"{ratio_of} volumes for each of solids, {given.volume(built)} built with them.",
                   "Of mud or liquid without drilled solids. Mud that holds that share already needs none."),
                  takes=_takes(given, goes_in))


def _ratio_inputs(_rig: Rig) -> tuple[Input, ...]:
    return (START, FINAL, Input("oil", "Oil in it, by retort", SHARE, hint="% of the mud"),
            Input("water", "Water in it, by retort", SHARE, hint="% of the mud"),
            Input("ratio", "Oil/water wanted", PARTS, hint="like 80/20"))


def _ratio(given: Given) -> Answer:
    asked = either(given, "start", "final", NOT_BOTH)
    lacking = given.missing("oil", "water", "ratio")
    if asked is not None and asked.wrong:
        return asked
    if asked is not None or lacking:
        return Answer(missing=(*(asked.missing if asked else ()), *lacking))
    value, decimal = given.values, given.rig.decimal
    positive(**{name: value[name] for name in ("start", "final") if given.has(name)})
    now = ratio_of(value["oil"], value["water"])
    more_oil = value["ratio"] > now
    for_one = (oil_for if more_oil else water_for)(1.0, value["oil"], value["water"], value["ratio"])
    start = value["start"] if given.has("start") else value["final"] * mud_share(for_one)
    begin = () if given.has("start") else (f"Begin with {given.volume(start)}.",)
    return Answer((f"{'Oil' if more_oil else 'Water'} needed: {given.volume(start * for_one)}", *begin,
                   f"{given.volume(start * (1.0 + for_one))} in the end.",
                   f"From {parts(now, decimal)} to {parts(value['ratio'], decimal)}."),
                  takes=_takes(given, start * for_one))


def _takes(given: Given, volume_m3: float) -> dict[str, str]:
    """The volume; the density that stood beside a mass was the solid's."""
    solid = {"density": ""} if given.entry.get("mass") else {}
    return {"volume": given.volume(volume_m3), "mass": "", **solid}


DRILLED_SOLIDS = Calculator("Drilled solids", "What goes in so that the solids drilled stay a share of the mud. Only "
                            "what the screens and centrifuges left in it counts.", _solids_inputs, _solids)
OIL_WATER = Calculator("Oil/water", "Oil or water that brings an oil mud to another ratio. Of the liquids alone; "
                       "volumes add up.", _ratio_inputs, _ratio)
