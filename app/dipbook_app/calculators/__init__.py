"""Sums that help to fill in an entry: what each asks for, and its answer by dipbook.mud, in the crew's units."""

from __future__ import annotations

from collections.abc import Mapping

from dipbook_app.calculators.additions import LIQUID, SOLID, TWO_MUDS
from dipbook_app.calculators.annotations import GAS_CUT, GAS_CUT_READING, WARMED
from dipbook_app.calculators.calculator import Answer, Calculator, Given, Input, answer, as_read, hint, value_of
from dipbook_app.calculators.gas_below import BUBBLE, HEAD_LOST
from dipbook_app.calculators.mud_shares import DRILLED_SOLIDS, OIL_WATER
from dipbook_app.calculators.salt import by_table
from dipbook_app.calculators.shut_in import CAME_IN
from dipbook_app.calculators.slug import SLUG

OF_KIND: Mapping[str, tuple[Calculator, ...]] = {
    "slug": (SLUG,), "addition": (SOLID, LIQUID, TWO_MUDS, DRILLED_SOLIDS, OIL_WATER), "mud check": (GAS_CUT, WARMED),
    "gas": (GAS_CUT_READING, HEAD_LOST, BUBBLE), "shut-in": (CAME_IN,)}
"""Kind of entry -> the calculators of its form."""
ASKS: Mapping[str, str] = {"slug": "Work out the slug", "addition": "Work out what to add",
                           "mud check": "Work out gas-cut or warmed mud", "gas": "Work out gas in the mud",
                           "shut-in": "Work out what came in"}
"""Kind of entry -> words on the key that opens them."""

__all__ = ["ASKS", "OF_KIND", "Answer", "Calculator", "Given", "Input", "answer", "as_read", "by_table",
           "hint", "value_of"]
