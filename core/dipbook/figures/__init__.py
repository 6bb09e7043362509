"""How the warnings did over a span of time, in the figures that ANSI/ISA-18.2-2016 (clause 16.4, tables 5 and 6) and
IEC 62682 name, each with its formula and the published target beside it. Numbers without grades."""

from dipbook.figures.counts import Counts, Flood, count
from dipbook.figures.lines import SAYS, SOURCES, Figure, figures
from dipbook.figures.raisings import Occurrence, Raised, SetAside, occurrences, raisings, resoundings, set_aside

__all__ = ["SAYS", "SOURCES", "Counts", "Figure", "Flood", "Occurrence", "Raised", "SetAside", "count", "figures",
           "occurrences", "raisings", "resoundings", "set_aside"]
