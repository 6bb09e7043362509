"""Sums that help to fill in an entry: what each asks for, and its answer by dipbook.mud, in the crew's units."""

from __future__ import annotations

from collections.abc import Mapping

from dipbook_app.calculators.additions import LIQUID, SOLID, TWO_MUDS
from dipbook_app.calculators.annotations import GAS_CUT, GAS_CUT_READING, WARMED
from dipbook_app.calculators.calculator import Answer, Calculator, Given, Input, answer, as_read, hint, value_of
from dipbook_app.calculators.salt import by_table
from dipbook_app.calculators.slug import SLUG

OF_KIND: Mapping[str, tuple[Calculator, ...]] = {
    "slug": (SLUG,), "addition": (SOLID, LIQUID, TWO_MUDS), "mud check": (GAS_CUT, WARMED), "gas": (GAS_CUT_READING,)}
"""Kind of entry -> the calculators of its form."""
ASKS: Mapping[str, str] = {"slug": "Work out the slug", "addition": "Work out what to add",
                           "mud check": "Work out gas-cut or warmed mud", "gas": "Work out gas-cut mud"}
"""Kind of entry -> words on the key that opens them."""

__all__ = ["ASKS", "OF_KIND", "Answer", "Calculator", "Given", "Input", "answer", "as_read", "by_table",
           "hint", "value_of"]
