"""The terms of the expected volume: one function a term, each a cumulative curve of time.

    E = A0 + ΣIn − ΣOut + ΣJoin − ΣLeave + Δ(d·b) + Δ(c·Ldry) − Δ(c·F) − ΔL(Q, t) − ΔHeq − ε(1−φ)(1+r)·ΔVrock[D(t−lag)]

Sign: + raises the expected volume on surface. A term is a function of the well's state, so nothing counts twice.
"""

from dipbook.terms.bore import bore
from dipbook.terms.cuttings import cuttings
from dipbook.terms.equipment import equipment
from dipbook.terms.lines import lines
from dipbook.terms.lineup import lineup
from dipbook.terms.moved import moved
from dipbook.terms.steel import steel
from dipbook.terms.system import System
from dipbook.terms.trip import trip

__all__ = ["System", "bore", "cuttings", "equipment", "lines", "lineup", "moved", "steel", "trip"]
