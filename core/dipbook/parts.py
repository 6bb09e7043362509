"""What a figure rests on: the vocabulary in which it is asked for and told.

A figure is named, never carried: its parts are worked out from the books when somebody asks, and by nothing else.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot

SUM, SQUARES, NONE = "sum", "squares", "none"
"""How the parts that count make the figure: added, or the root of their squares' sum; or not by adding, see formula."""
ENTRY, READING, WORKED_OUT, GIVEN = "entry", "reading", "worked out", "given"
"""What a part is: an entry of the crew, a reading, worked out from others, or given by the rig file or a catalogue."""
VOLUME, SIGNED, U, LEVEL, LENGTH, FLOW, RATE, DENSITY, CAPACITY, PRESSURE, HOURS, COUNT, SHARE, WORDS = (
    "volume", "signed", "u", "level", "length", "flow", "rate", "density", "capacity", "pressure", "hours", "count",
    "share", "words")
"""What a value measures: volumes [m3], one with its sign, a standard uncertainty of a volume (k = 1) [m3], a stick or a
level [m], a length or depth [m], a flow or a rate [m3/s], a density [kg/m3], a volume for a length [m3/m], a pressure
[Pa], hours [h], a number, a share [-], nothing but words."""


@dataclass(frozen=True, slots=True)
class Figure:
    """A number on a page. name: which (see ``dipbook.composing.parts``). of: the system, tank, trip row or connection
    that it is of. what: which of that one's. at: a minute, or a place in a list. t_ms: at the reading that ended then
    [UTC ms]; None: as the pages show it now."""

    name: str
    of: str = ""
    what: str = ""
    at: float = 0.0
    t_ms: int | None = None


@dataclass(frozen=True, slots=True)
class Part:
    """One part. label: words. value: SI, by ``dimension``, None unknown or words alone. t_ms: when [UTC ms], None
    where it has no time. uid: of the record that it comes from, "" for none. kind: of ENTRY, READING, WORKED_OUT or
    GIVEN. counts: it is among those that make the figure. note: more words. follow: the figure that it is itself.
    """

    label: str
    value: float | None
    dimension: str = SIGNED
    t_ms: int | None = None
    uid: str = ""
    kind: str = WORKED_OUT
    counts: bool = True
    note: str = ""
    follow: Figure | None = None


@dataclass(frozen=True, slots=True)
class Parts:
    """What a figure rests on. figure: asked for. title: what it is. formula: in words. value: the figure itself, as the
    books have it, SI, None unknown; dimension. parts. how: of SUM, SQUARES, NONE. note: what else is to be known.
    t_ms: what it holds for [UTC ms]. fine: volumes of the size of one stand. kinds: of the entries that it follows
    from, () for all."""

    figure: Figure
    title: str
    formula: str
    value: float | None
    dimension: str
    parts: tuple[Part, ...]
    how: str = SUM
    note: str = ""
    t_ms: int | None = None
    fine: bool = False
    kinds: tuple[str, ...] = ()

    @property
    def sum(self) -> float | None:
        """What the parts that count come to; None where one of them isn't known, or they aren't added."""
        counted = [p.value for p in self.parts if p.counts]
        known = [value for value in counted if value is not None]
        if self.how == NONE or len(known) < len(counted):
            return None
        return hypot(*known) if self.how == SQUARES else float(sum(known))
