"""What the Rig page shows of a tank, a pump and the well while they are being described: numbers from the functions
that the books use, each None until it is known."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import isfinite, pi, sqrt
from typing import Any

from dipbook.pumps import strokes_for
from dipbook.rig.parsing import Checked
from dipbook.rig.sketching import sketched_outputs, sketched_tank
from dipbook.tanks.tank import Tank
from dipbook.tubulars import TubularError, find
from dipbook.well import Hole, Section, String, annulus, bottoms_up, place, surface_to_bit
from dipbook.well.travel import UNKNOWN

QUARTERS = (0.25, 0.5, 0.75, 1.0)
"""Levels of a tank's small table, as shares of the level at which it runs over."""
EVEN = 1e-9
"""Areas that differ by a smaller share are one area."""
SAME_PIPE = 0.001
"""A data sheet that is less far from the catalogue, as a share, is called the same."""


@dataclass(frozen=True, slots=True)
class LevelLine:
    """level_m: above the bottom [m]; volume_m3: held there; area_m2: volume for a unit of level there, None unknown."""

    level_m: float
    volume_m3: float | None
    area_m2: float | None


@dataclass(frozen=True, slots=True)
class TankSketch:
    """A tank while it is being described.

    tank: its shape, brim, heel and internals as far as they read, for a drawing. has_brim, has_heel: whether those were
    given and read. full_m3: held at the brim, or at the top of the shape; usable_m3: of that above the heel. lines: at
    the quarters of its height. even: the same area at every level. Volumes are None where internals don't read.
    """

    tank: Tank
    has_brim: bool
    has_heel: bool
    full_m3: float | None
    usable_m3: float | None
    lines: tuple[LevelLine, ...]
    even: bool


@dataclass(frozen=True, slots=True)
class PumpSketch:
    """Volume per stroke [m3]: typed, by the measures; None where not given or not read. counts_m3: the one that
    counts."""

    typed_m3: float | None
    measured_m3: float | None

    @property
    def counts_m3(self) -> float | None:
        """The typed one goes first."""
        return self.measured_m3 if self.typed_m3 is None else self.typed_m3


@dataclass(frozen=True, slots=True)
class SectionView:
    """One section of the hole. end: what its bottom is: "shoe", "liner top", "riser's end" or "bottom". volume_m3: with
    no pipe in it. annulus_m3: with the string in it, above the bit; None where that isn't known, or below the bit."""

    section: Section
    end: str
    volume_m3: float
    annulus_m3: float | None = None


@dataclass(frozen=True, slots=True)
class PartView:
    """One part of the string. name. outer_m: across what it displaces with its bore closed, tool joints included;
    inner_m: across its bore [m]. length_m: None for the rest of the string. top_m, bottom_m: measured depths with the
    bit where it is [m], None where no bit depth is known or the part isn't in the hole. steel_m2, bore_m2: for a length
    [m3/m]. origin: where those are from, in words."""

    name: str
    outer_m: float
    inner_m: float
    length_m: float | None
    top_m: float | None
    bottom_m: float | None
    steel_m2: float
    bore_m2: float
    origin: str


@dataclass(frozen=True, slots=True)
class StrokesView:
    """Strokes of a pump [-], None unknown. pump: its name. down: from surface to bit; up: from bit to surface."""

    pump: str
    down: float | None
    up: float | None


@dataclass(frozen=True, slots=True)
class WellView:
    """Hole and string, the bit at bit_m [m] (None unknown). sections: from the rotary down; parts: from the bit up.

    hole_m3: with no pipe in it. annulus_m3: in all, up to the bit; below_bit_m3; steel_m3, bore_m3: of what is in the
    hole; to_bit_m3: from surface to bit; bottoms_up_m3: from bit to surface. None unknown. strokes: pump by pump.
    remarks: what keeps something unknown, in words.
    """

    bit_m: float | None
    sections: tuple[SectionView, ...]
    parts: tuple[PartView, ...]
    hole_m3: float | None
    annulus_m3: float | None
    below_bit_m3: float | None
    steel_m3: float | None
    bore_m3: float | None
    to_bit_m3: float | None
    bottoms_up_m3: float | None
    strokes: tuple[StrokesView, ...]
    remarks: tuple[str, ...]


def tank_sketch(checked: Checked, row: int) -> TankSketch | None:
    """The tank of a row of the file, None while its shape doesn't read. checked: the file; row: from 0."""
    found = sketched_tank(checked, row)
    if found is None:
        return None
    tank, told = found.tank, found.told
    lines = tuple(LevelLine(tank.top_m * share, _known(tank.volume(tank.top_m * share)) if told else None,
                            _known(tank.slope(min(tank.top_m * share, tank.shape.height))) if told else None)
                  for share in QUARTERS)
    areas = [line.area_m2 for line in lines]
    known = [area for area in areas if area is not None]
    even = len(known) == len(areas) and max(known) - min(known) <= EVEN * max(known) and _upright(tank)
    full = lines[-1].volume_m3
    heel = _known(tank.volume(tank.heel_m))
    usable = None if full is None or heel is None else full - heel
    return TankSketch(tank, tank.brim_m is not None, tank.heel_m > 0.0, full, usable, lines, even)


def pump_sketch(checked: Checked, row: int) -> PumpSketch:
    """The pump of a row of the file. checked: the file; row: from 0."""
    return PumpSketch(*sketched_outputs(checked, row))


def well_view(checked: Checked, bit_m: float | None) -> WellView:
    """Hole and string as described. checked: the file; bit_m: measured bit depth [m], None unknown.

    Volumes: hole less steel and bore for the annulus, sums over the parts for the string, as in the books
    (``dipbook.well``).
    """
    hole, string = checked.seen.sections, checked.seen.string
    remarks = list(_unread(checked))
    sections = () if hole is None else _sections(hole)
    depth = bit_m
    if depth is not None and hole is not None and depth > hole.bottom_m + 1e-6:
        remarks.append("The bit is deeper than the sections go: describe the hole down to it.")
    if depth is not None and string is not None and depth > string.length_m + 1e-6:
        remarks.append("The bit is deeper than the string is long: give its parts their whole length, or the top one "
                       "none.")
    if depth is None and string is not None:
        remarks.append("The log has no bit depth: type one to see the string in the hole.")
    spaces: float | None = None
    up: float | None = None
    if hole is not None and string is not None and depth is not None:
        up = _known(bottoms_up(hole, string, depth))
        if up is not None and place(0.0, hole, string, depth).where == UNKNOWN:  # a sum over a section wouldn't show it
            remarks.append("A part of the string is wider than the hole that it is in: one of the two isn't so.")
            up = None
        if up is not None:
            by_section = dict(annulus(hole, string, depth))
            sections = tuple(replace(s, annulus_m3=by_section.get(s.section)) for s in sections)
            spaces = sum(by_section.values())
    down = None if string is None or depth is None else _known(surface_to_bit(string, depth))
    pumps = checked.seen.pumps
    return WellView(
        bit_m=depth, sections=sections, parts=_parts(checked, string, depth),
        hole_m3=None if hole is None else _known(hole.volume(0.0, hole.bottom_m)), annulus_m3=spaces,
        below_bit_m3=None if hole is None or depth is None else _known(hole.volume(depth, hole.bottom_m)),
        steel_m3=None if string is None or depth is None else _known(string.steel(depth)),
        bore_m3=None if string is None or depth is None else _known(string.bore(depth)), to_bit_m3=down,
        bottoms_up_m3=up, strokes=tuple(StrokesView(p.name, _strokes(down, p.output_m3), _strokes(up, p.output_m3))
                                        for p in pumps), remarks=tuple(remarks))


def _upright(tank: Tank) -> bool:
    """True if the cross-section is as wide at every level: quarters alone would miss a narrow floor."""
    return all(len({half for half, _ in section.points}) == 1 for section in tank.shape.outline())


def _sections(hole: Hole) -> tuple[SectionView, ...]:
    views = []
    for n, section in enumerate(hole.sections):
        below = hole.sections[n + 1].kind if n + 1 < len(hole.sections) else ""
        end = {"riser": "riser's end", "open hole": "bottom"}.get(section.kind, "shoe")
        views.append(SectionView(section, "liner top" if below == "liner" else end,
                                 hole.volume(section.top_m, section.bottom_m)))
    return tuple(views)


def _parts(checked: Checked, string: String | None, bit_m: float | None) -> tuple[PartView, ...]:
    if string is None:
        return ()
    rows: Sequence[Any] = checked.table.get("string", ())
    views, begin = [], 0.0
    for n, part in enumerate(string.parts):
        end = begin + part.length_m
        inside = bit_m is not None and begin < bit_m
        views.append(PartView(
            name=part.name, outer_m=_across(part.closed_m2), inner_m=_across(part.bore_m2),
            length_m=part.length_m if isfinite(part.length_m) else None,
            top_m=max(bit_m - end, 0.0) if inside and bit_m is not None else None,
            bottom_m=bit_m - begin if inside and bit_m is not None else None,
            steel_m2=part.steel_m2, bore_m2=part.bore_m2, origin=_origin(rows[n], part.steel_m2, part.bore_m2)))
        begin = end
    return tuple(views)


def _origin(row: Any, steel_m2: float, bore_m2: float) -> str:
    """Where a part's steel and bore are from, and how far a data sheet is from the catalogue."""
    called = row.get("pipe")
    own = [what for what in ("steel", "bore") if what in row]
    try:
        known = find(str(called)) if called else None
    except TubularError:
        known = None
    if known is None:
        return "steel and bore by its data sheet"
    if not own:
        return f"by the catalogue: {known.name}"
    said = [f"{what} by its data sheet{_apart(value, listed)}"
            for what, value, listed in (("steel", steel_m2, known.steel_m2), ("bore", bore_m2, known.bore_m2))
            if what in own]
    said += [f"{what} by the catalogue" for what in ("steel", "bore") if what not in own]
    return f"{known.name}: {', '.join(said)}"


def _apart(value: float, listed: float) -> str:
    share = value / listed - 1.0
    if abs(share) < SAME_PIPE:
        return " (as the catalogue)"
    return f" ({abs(100.0 * share):.2g} % {'more' if share > 0.0 else 'less'} than the catalogue)"


def _unread(checked: Checked) -> list[str]:
    """What isn't drawn, because it isn't described or something in it is wrong."""
    words = []
    for key, what, seen in (("section", "hole", checked.seen.sections), ("string", "string", checked.seen.string)):
        if seen is None:
            words.append(f"The {what} is drawn once all its rows can be read." if checked.table.get(key) else
                         f"The rig's description has no {'sections of the hole' if what == 'hole' else 'string'} yet.")
    return words


def _strokes(volume_m3: float | None, output_m3: float) -> float | None:
    return None if volume_m3 is None else strokes_for(volume_m3, output_m3)


def _across(area_m2: float) -> float:
    return sqrt(4.0 * area_m2 / pi)


def _known(value: Any) -> float | None:
    number = float(value)
    return number if isfinite(number) else None
