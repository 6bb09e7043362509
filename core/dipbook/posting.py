"""What is posted before a trip: how many stands may be pulled between two fills, and what fills the hole then.

The rig's own rule stands first, once the rig file holds one. 30 CFR 250.456(c), five stands or 75 psi, the smaller,
stands beside it as a reference; a rule of the rig's that allows more is shown as looser.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import inf

from dipbook.findings import Finding
from dipbook.quantities import write
from dipbook.rig.model import FillRule, Rig
from dipbook.trips import Allowed, Way, allowed
from dipbook.trips.ways import DRY

REFERENCE = "30 CFR 250.456(c)"


@dataclass(frozen=True, slots=True)
class Posted:
    """What is to be posted for one kind of pipe: name, and what the reference allows between two fills; own: what the
    rig's own rule allows, None where the rig file holds none."""

    name: str
    reference: Allowed
    own: Allowed | None = None

    @property
    def looser(self) -> bool:
        """True if the rig's own rule allows more stands than the reference."""
        return self.own is not None and self.own.stands > self.reference.stands


def posted(rig: Rig, way: Way, density_kg_m3: float) -> tuple[Posted, ...]:
    """Stands between two fills, and the volume that fills then, for each part of the string; () where the rig file
    doesn't describe the hole's sections or a stand.

    rig: as described. way: how pipe is pulled. density_kg_m3: of the mud.
    """
    string = rig.whole_string
    if string is None or rig.sections is None or rig.pipe is None:
        return ()
    inside, rule = rig.sections.sections[0].capacity_m2, rig.fill_rule
    found = []
    for part in string.parts:
        # What a bucket gives back goes to the trip tank, not into the hole that stands unfilled.
        taken = part.steel_m2 if way.out == DRY else part.closed_m2
        if taken >= inside:
            none = Allowed(0, 0.0, "the pressure", 0.0, 0.0)
            found.append(Posted(part.name, none, none if rule else None))
            continue
        of_pipe = rig.pipe.stand_m, taken, inside, density_kg_m3
        own = None if rule is None else allowed(
            *of_pipe, pressure_pa=inf if rule.pressure_pa is None else rule.pressure_pa, stands=rule.stands,
            survey=rig.survey)
        found.append(Posted(part.name, allowed(*of_pipe, survey=rig.survey), own))
    return tuple(found)


def findings(rig: Rig, found: tuple[Posted, ...]) -> tuple[Finding, ...]:
    """What a person should know of it: what couldn't be told, and where no rule or a looser one stands.

    rig: as described. found: what is to be posted.
    """
    if not found:
        return (Finding("What may be pulled between two fills isn't known: that needs the hole's [[section]] and the "
                        "[pipe]'s stand in the rig file.", code="not_posted"),)
    if rig.fill_rule is None:
        return (Finding("The rig file holds no rule of the rig's own for filling ([fill_rule]): only the reference is "
                        "shown.", code="no_fill_rule"),)
    looser = [p.name for p in found if p.looser]
    if not looser:
        return ()
    return (Finding(f"The rig's own rule for filling allows more than {REFERENCE} does, for {', '.join(looser)}.",
                    code="looser_fill_rule"),)


def said(found: tuple[Posted, ...], rig: Rig) -> Iterator[str]:
    """What is to be posted, a line for each kind of pipe and rule. found: that. rig: its units and its rule."""
    for p in found:
        if p.own is not None and rig.fill_rule is not None:
            yield (f"Between two fills, {p.name}: {_fills(p.own, rig)}. The rig's own rule, "
                   f"{rule_in_words(rig.fill_rule, rig)}{': looser than the reference' if p.looser else ''}.")
        yield (f"Between two fills, {p.name}: {_fills(p.reference, rig)}. By {p.reference.by} of {REFERENCE}, a "
               "reference: the rig's own rule goes first.")


def rule_in_words(rule: FillRule, rig: Rig) -> str:
    """``3 stands or 50 psi, the smaller, set by …, since …``. rule: of the rig's own. rig: its units."""
    stands = None if rule.stands is None else _count(rule.stands)
    pressure = None if rule.pressure_pa is None else write(rule.pressure_pa, rig.units.get("pressure", "kPa"),
                                                           decimal=rig.decimal)
    said = f"{stands} or {pressure}, the smaller" if stands and pressure else stands or pressure
    return f"{said}, set by {rule.set_by}, since {rule.since}"


def _fills(a: Allowed, rig: Rig) -> str:
    if not a.stands:
        return "fill it all along"
    def amount(value: float, dimension: str, otherwise: str, digits: int) -> str:
        return write(value, rig.units.get(dimension, otherwise), digits=digits, decimal=rig.decimal)

    falls, lost = amount(a.drop_m, "length", "m", 0), amount(a.pressure_pa, "pressure", "kPa", 0)
    fills = amount(a.volume_m3, "volume", "m3", 2)
    return f"{_count(a.stands)}, {fills}; unfilled the level falls {falls} and {lost} are lost"


def _count(stands: int) -> str:
    return f"{stands} stand{'s' if stands != 1 else ''}"
