"""The slug that dries a length of pipe, or what a slug dries; by the string of the rig file where it has one."""

from __future__ import annotations

from dipbook.mud import slugs
from dipbook.mud.tapered import Bore, Rest, at_rest, bores, density_drying, volume_drying
from dipbook.rig.model import Rig
from dipbook_app.calculators.calculator import BORE, Answer, Calculator, Given, Input, capacity_unit, listed, told
from dipbook_app.display import shown_words
from dipbook_app.typed_times import clock

HEAVIEST = 2600.0
"""A slug above this weight [kg/m3] is asked about: common practice, no source; barite alone has 4200."""
SLACK = 0.01
"""Depths that differ by less are one [m]."""
TWO_OF = ("density", "dry", "slug")
TOO_MANY = ("Of the slug's weight, the dry length and the volume two give the third: leave the one blank that is to be "
            "worked out")


def _inputs(rig: Rig) -> tuple[Input, ...]:
    blank = "blank: by the string" if rig.string else "" if rig.pipe is None else "blank: the drill pipe's"
    bit = (Input("bit", "Bit depth then", "length", hint="blank: as last logged"),) if rig.string else ()
    return (Input("mud", "Mud weight in the pipe", "density", "mud_density"),
            Input("density", "Slug's weight", "density", "density"), Input("dry", "Dry pipe wanted", "length"),
            Input("slug", "Volume of the slug", "volume", "volume"), *bit,
            Input("bore", "Bore, if only one", BORE, hint=blank or "like 0.0178 bbl/ft, or 4.276 in"))


def _work(given: Given) -> Answer:
    lacking = given.missing(*TWO_OF)
    if not lacking:
        return Answer(wrong={"dry": TOO_MANY})
    if len(lacking) > 1 or not given.has("mud"):
        return Answer(missing=(*given.missing("mud"), *lacking[:-1]))
    pipe, by = _pipe(given)
    if not pipe:
        return Answer(missing=(by,))
    value, mud = given.values, given.values["mud"]
    if lacking == ("slug",):
        rest = volume_drying(value["dry"], value["density"], mud, pipe)
        first = f"Slug needed: {given.volume(rest.slug_m3)}"
    elif lacking == ("dry",):
        rest = at_rest(value["slug"], value["density"], mud, pipe)
        first = f"Dries {given.told(rest.dry_m, 'length')} of pipe"
    else:
        rest = density_drying(value["dry"], value["slug"], mud, pipe)
        first = f"Slug's weight needed: {given.weight(rest.density_kg_m3)}"
    return Answer((first, *_doubts(given, rest), *_also(given, rest, first), by), takes={
        "volume": given.texts["slug"] if given.has("slug") else given.volume(rest.slug_m3),
        "density": given.texts["density"] if given.has("density") else given.weight(rest.density_kg_m3),
        "mud_density": given.texts["mud"]})


def _pipe(given: Given) -> tuple[tuple[Bore, ...], str]:
    """The bores from the top down, and words on where they are from; or none, and the input that would tell."""
    rig, decimal = given.rig, given.rig.decimal
    if given.has("bore"):
        area = given.values["bore"]
        return (Bore("pipe", area),), f"By one bore of {told(area, capacity_unit(rig), decimal)}; vertical pipe."
    if rig.string is not None:
        bit, said = given.values.get("bit", given.situation.bit_depth_m), ""
        if bit is None:
            return (), "bit"
        if not given.has("bit") and given.situation.depth_t_ms is not None:
            said = f" as logged {clock(given.situation.depth_t_ms, rig.zone, now_ms=given.situation.now_ms)}"
        return bores(rig.string, bit), (f"By the string, bit at {given.told(bit, 'length')}{said}; vertical pipe, "
                                        "nothing pumped behind.")
    if rig.pipe is not None:
        return (Bore("drill pipe", rig.pipe.bore),), (
            f"By the drill pipe's bore, {told(rig.pipe.bore, capacity_unit(rig), decimal)}; vertical pipe.")
    return (), "bore"


def _doubts(given: Given, rest: Rest) -> tuple[str, ...]:
    """What looks like a slip: nobody is stopped by it."""
    lines = []
    if rest.density_kg_m3 > HEAVIEST:
        lines.append(f"Is it so heavy? {given.weight(rest.density_kg_m3)} is more than {given.weight(HEAVIEST)}.")
    sections, bit = given.rig.sections, given.values.get("bit", given.situation.bit_depth_m)
    ends = [(given.situation.hole_depth_m, "as logged"), (sections.bottom_m if sections else None, "by its sections")]
    by_string = given.rig.string is not None and not given.has("bore")
    deeper = [f"Is the bit so deep? The hole ends at {given.told(depth, 'length')} {how}." for depth, how in ends
              if by_string and bit is not None and depth is not None and bit > depth + SLACK]
    lines += deeper[:1]
    return tuple(lines)


def _also(given: Given, rest: Rest, first: str) -> tuple[str, ...]:
    """What else the slug does."""
    lines = []
    parts = [f"{given.told(length, 'length')} of {name}" for name, length in rest.through]
    if len(parts) > 1:
        lines.append(f"Dry: {listed(parts)}.")
    elif not first.startswith("Dries"):
        lines.append(f"Dries {given.told(rest.dry_m, 'length')}.")
    plain_m3 = slugs.gain(rest.slug_m3, rest.density_kg_m3, given.values["mud"])
    back, plain = given.volume(rest.back_m3), given.volume(plain_m3)
    lines.append(f"{back} more comes back than is pumped.")
    if back != plain:
        bore = "narrower" if rest.back_m3 > plain_m3 else "wider"
        lines.append(f"It reaches a {bore} bore: in pipe of one bore {plain} would come back. The books go through the "
                     "string too, once the bit depth is logged.")
    return tuple(shown_words(line) for line in lines)


SLUG = Calculator("Slug", "Two of weight, dry length and volume give the third, while the whole slug is in the pipe.",
                  _inputs, _work)
