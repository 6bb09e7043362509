"""What a posted line for filling rests on: the pipe, the casing, the mud, the rule. A rule's answer, and no sum."""

from __future__ import annotations

from collections.abc import Sequence
from math import isinf

from dipbook import posting
from dipbook.books.trips import Trip
from dipbook.composing.parts_words import Asked
from dipbook.parts import CAPACITY, COUNT, DENSITY, GIVEN, LENGTH, NONE, PRESSURE, VOLUME, WORDS, Figure, Part, Parts
from dipbook.trips.unfilled import CFR_PRESSURE_PA, CFR_STANDS
from dipbook.trips.ways import DRY

OWN, REFERENCE = "own", "reference"


def posted_figures(trip: Trip, fills: Sequence[posting.Posted]) -> tuple[Figure, ...]:
    """The figure of each posted line, in the order of ``posting.said``. trip: of the log. fills: what is posted."""
    return tuple(Figure("posted", trip.head.uid, what, place) for place, p in enumerate(fills)
                 for what in ((OWN, REFERENCE) if p.own is not None else (REFERENCE,)))


def posted(asked: Asked, figure: Figure) -> Parts | None:
    """One posted line. asked: the books and the moment. figure: of the trip's beginning; what: own or reference; at: of
    which kind of pipe, from 0."""
    trip = next((t for t in asked.books.trips if t.head.uid == figure.of), None)
    density = None if trip is None else trip.head.payload.get("density_in_kg_m3")
    if trip is None or density is None:
        return None
    rig = asked.books.rig_at(trip.begun_ms)
    way = trip.way_now(rig)
    found, place = posting.posted(rig, way, float(density)), round(figure.at)
    string = rig.whole_string
    if not 0 <= place < len(found) or string is None or rig.sections is None or rig.pipe is None:
        return None
    line, part = found[place], string.parts[place]
    told = line.own if figure.what == OWN else line.reference
    if told is None:
        return None
    by_rig, head = asked.rig_record(trip.begun_ms), trip.head.uid
    section = rig.sections.sections[0]
    parts = [Part("Volume of those stands", told.volume_m3, VOLUME, counts=False),
             Part("Unfilled the level falls", told.drop_m, LENGTH, counts=False),
             Part("Pressure lost then", told.pressure_pa, PRESSURE, counts=False),
             Part("A stand", rig.pipe.stand_m, LENGTH, None, by_rig, GIVEN, False),
             Part(f"Steel of {line.name}", part.steel_m2, CAPACITY, None, by_rig, GIVEN, False)]
    if way.out != DRY:
        parts.append(Part(f"Bore of {line.name}, which goes with it", part.bore_m2, CAPACITY, None, by_rig, GIVEN,
                          False))
    parts += [Part(f"Inside at surface, {section.name}", section.capacity_m2, CAPACITY, None, by_rig, GIVEN, False),
              Part("Mud weight in", float(density), DENSITY, trip.begun_ms, head, GIVEN, False)]
    if figure.what == OWN and rig.fill_rule is not None:
        parts.append(Part("The rig's own rule", None, WORDS, None, by_rig, GIVEN, False,
                          posting.rule_in_words(rig.fill_rule, rig)))
        pressure, stands = rig.fill_rule.pressure_pa, rig.fill_rule.stands
    else:
        parts.append(Part("The rule", None, WORDS, None, "", GIVEN, False, f"{posting.REFERENCE}, a reference"))
        pressure, stands = CFR_PRESSURE_PA, CFR_STANDS
    if pressure is not None and not isinf(pressure):
        parts.append(Part("Pressure of the rule", pressure, PRESSURE, None, "", GIVEN, False))
    if stands is not None:
        parts.append(Part("Stands of the rule", float(stands), COUNT, None, "", GIVEN, False))
    return Parts(figure, f"Posted for {line.name}", "the smaller of the rule's stands and as many whole stands as lose "
                 "its pressure: Δp × (inside − pipe)/(mud weight × g × pipe) ÷ a stand", float(told.stands), COUNT,
                 tuple(parts), how=NONE, t_ms=trip.begun_ms, fine=True)
