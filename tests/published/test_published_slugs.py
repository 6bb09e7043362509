"""Published slugs: the length of dry pipe asked for is what the books make of the slug, and what comes back is printed."""

from __future__ import annotations

from typing import Any

import pytest

from dipbook import balance
from ledgers import RIG, booked, dips, entry, in_bbl, minutes
from published.rows import ROWS

USED = ("S02", "S03", "S04", "S10")


def number(row: Any, key: str) -> float:
    return float(str(row.inputs[key]).split()[0])


def needed(row: Any, bore: float) -> float:
    """Slug [bbl] for a length of dry pipe, by the balance of two columns: c·Ldry·ρm/(ρs − ρm)."""
    light, heavy = number(row, "mw"), number(row, "sw")
    return bore * number(row, "Ldry") * light / (heavy - light)


def comes_back(bore: float, slug: float, light: float, heavy: float) -> float:
    """What the books add for the fall of a slug [bbl], pipe of a bore [bbl/ft]."""
    rig = RIG.replace('bore = "0.01776 bbl/ft"', f'bore = "{bore} bbl/ft"')
    books = booked(entry("pumps", -60, state="on", flow=300), entry("depth", -1, hole=9000, bit=9000),
                   dips(0, Settling=60, Suction=60), entry("zero", 0, length=0, reason="test"),
                   entry("slug", 5, 9, from_="Reserve", volume=slug, density=heavy, mud_density=light, return_=6),
                   entry("pumps", 9, state="off"), rig=rig)
    return float(in_bbl(balance.at(books, minutes(60)).terms["bore"])[0])


def test_the_source_s_rounding_gives_its_slug_and_exact_columns_agree_within_a_quarter_percent() -> None:
    # S02, grade C: 184 ft × 0.052 × 12.2 = 116.7 psi, which the source rounds to 117 and divides by 0.052 psi/ft.
    length, volume = ROWS["S02"], ROWS["S03"]
    assert length.grade == volume.grade == "C"
    assert length.agrees(round(0.052 * 12.2 * 184) / 0.052)
    bore = number(volume, "cap")
    assert volume.agrees(length.published_value * bore)
    assert needed(length, bore) == pytest.approx(volume.published_value, rel=0.0025)


def test_the_books_bring_back_the_published_gain_of_184_ft_of_dry_pipe() -> None:
    row = ROWS["S04"]
    bore, wanted = number(row, "cap"), ROWS["S02"]
    assert wanted.inputs["Ldry"] == row.inputs["Ldry"]
    assert row.agrees(comes_back(bore, needed(wanted, bore), number(wanted, "mw"), number(wanted, "sw")))


def test_a_published_slug_for_200_ft_of_dry_pipe_dries_200_ft_in_the_books() -> None:
    row = ROWS["S10"]
    bore = number(row, "cap")
    slug = needed(row, bore)
    assert row.agrees(slug)
    dried = comes_back(bore, slug, number(row, "mw"), number(row, "sw")) / bore
    assert dried == pytest.approx(number(row, "Ldry"), rel=1e-9)
