"""How high a gain stands in the annulus of a well shut in and what it weighs, as words for a remark.

It books nothing, and offers no pressure to hold and no weight to kill with: that is the rig's own procedure.
"""

from __future__ import annotations

from math import floor, inf, isfinite, log10

from dipbook.mud.gas import GRAVITY
from dipbook.mud.influx import Standing, density, pieces, standing
from dipbook.quantities import from_unit, to_unit, write
from dipbook.rig.model import Rig
from dipbook_app.calculators.calculator import (
    ANNULUS,
    Answer,
    Calculator,
    Given,
    Input,
    capacity_unit,
    listed,
    told,
    unit_of,
    with_remark,
)
from dipbook_app.display import shown_unit, shown_words
from dipbook_app.typed_times import clock

STEPS = {"psi": 10.0, "bar": 1.0, "kPa": 100.0, "MPa": 0.1, "Pa": 100_000.0}
"""A step of pressure that a gauge may be off by, in each unit: to say what it counts, not what it is."""
OF_THE_WEIGHT = {"pipe": "drill-pipe pressure", "casing": "casing pressure", "mud": "mud weight"}
FIRST = "The rig's own procedures come first."


def _inputs(rig: Rig) -> tuple[Input, ...]:
    described = rig.sections is not None and rig.whole_string is not None
    bit = (Input("bit", "Bit depth then", "length", hint="blank: as last logged"),) if described or rig.survey else ()
    return (Input("gain", "Gain when it was shut in", "volume", "gain"),
            Input("pipe", "Drill-pipe pressure, read", "pressure", "pipe pressure"),
            Input("casing", "Casing pressure, read", "pressure", "casing pressure"),
            Input("mud", "Mud weight in the pipe", "density"), *bit,
            Input("annulus", "Annulus, if of one size", ANNULUS,
                  hint="blank: by hole and string" if described else "like 0.0292 bbl/ft"))


def _work(given: Given) -> Answer:
    if lacking := given.missing("gain"):
        return Answer(missing=lacking)
    where, by = _where(given)
    if where is None:
        return Answer(missing=(by,))
    stands = f"{given.volume(given.values['gain'])} stands {given.told(where.length_m, 'length')} up the annulus"
    lines = [f"Stands {given.told(where.length_m, 'length')} up the annulus"]
    weight, doubt = _weight(given, where)
    remark = f"What came in, worked out as it was read and not booked: {stands}"
    if weight:
        lines.append(f"By the pressures it would weigh {weight}, if they are at rest and no float is in the way.")
        remark += (f"; with {given.told(given.values['pipe'], 'pressure')} on the pipe, "
                   f"{given.told(given.values['casing'], 'pressure')} on the casing and mud of "
                   f"{given.weight(given.values['mud'])} it would weigh {weight}")
    return Answer((*lines, doubt, by, FIRST), takes=with_remark(given, remark))


def _where(given: Given) -> tuple[Standing | None, str]:
    """Where it stands, and words on the annulus that it was counted in; or None, and the input that would tell."""
    rig, situation, gain = given.rig, given.situation, given.values["gain"]
    bit = given.values.get("bit", situation.bit_depth_m)
    if given.has("annulus"):
        size = given.values["annulus"]
        if rig.survey is not None and bit is None:
            return None, "bit"
        found = (standing(gain, ((inf, size),)) if rig.survey is None or bit is None
                 else standing(gain, ((inf, size),), bit, survey=rig.survey))
        return found, (f"One piece from the bit up in {told(size, capacity_unit(rig), rig.decimal)}"
                       f"{_path(rig)}.")
    if rig.sections is None or rig.whole_string is None:
        return None, "annulus"
    if bit is None:
        return None, "bit"
    bottom = bit if situation.hole_depth_m is None else situation.hole_depth_m
    found = standing(gain, pieces(rig.sections, rig.whole_string, bit, bottom), bit, bottom, rig.survey)
    logged = ""
    if not given.has("bit") and situation.depth_t_ms is not None:
        logged = f" as logged {clock(situation.depth_t_ms, rig.zone, now_ms=situation.now_ms)}"
    what = "string" if rig.string is not None else "drill pipe alone, no collars described"
    return found, (f"One piece from {given.told(bottom, 'length')} up by hole and {what}, bit at "
                   f"{given.told(bit, 'length')}{logged}{_path(rig)}.")


def _path(rig: Rig) -> str:
    return "" if rig.survey is not None else "; vertical hole"


def _weight(given: Given, where: Standing) -> tuple[str, str]:
    """What it weighs and its gradient, "" where that can't be told; and what it hangs on, or what would tell."""
    if lacking := given.missing("pipe", "casing", "mud"):
        return "", f"For what it weighs: {listed(OF_THE_WEIGHT[name] for name in lacking)}."
    high = where.above_bit_m
    if high == 0.0:
        return "", "All of it is below the bit: the pressures tell nothing of its weight."
    if not isfinite(high):
        return "", "Its height isn't known below the survey: the pressures tell nothing of its weight."
    mud = given.values["mud"]
    found = density(mud, given.values["pipe"], given.values["casing"], high)
    unit = unit_of("pressure", given.rig)
    step = from_unit(STEPS[unit], unit)
    return f"{_about(found, given)}, {_gradient(found, given.rig)}", (
        f"{STEPS[unit]:g} {shown_unit(unit)} between them counts {_about(step / (GRAVITY * high), given)}, a tenth "
        f"of the gain {_about(abs(mud - found) / 10.0, given)}.")


def _about(density_kg_m3: float, given: Given) -> str:
    """A weight to no more than a balance is read to: it isn't known better."""
    return shown_words(write(density_kg_m3, unit_of("density", given.rig), decimal=given.rig.decimal))


def _gradient(density_kg_m3: float, rig: Rig) -> str:
    """A weight as pressure for a length, in the rig's units and to two figures: it isn't known better."""
    pressure, length = unit_of("pressure", rig), rig.units.get("length", "m")
    value = to_unit(density_kg_m3 * GRAVITY * from_unit(1.0, length), pressure)
    digits = max(0, 1 - floor(log10(value)))
    return f"{value:.{digits}f}".replace(".", rig.decimal) + f" {shown_unit(pressure)}/{shown_unit(length)}"


CAME_IN = Calculator("What came in", "A remark on what the crew measured: nothing is booked by it. The rig's own "
                     "well-control procedures come first.", _inputs, _work)
