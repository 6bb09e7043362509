"""Published slugs: the length of dry pipe asked for is what the books make of the slug, and what comes back is printed.

And planned: how heavy a slug must be, and what it adds below, by dipbook.mud.slugs.
"""

from __future__ import annotations

from typing import Any

import pytest

from dipbook import balance
from dipbook.mud import slugs, tapered
from dipbook.quantities import from_unit, to_unit
from dipbook.quantities.factors import FOOT, PSI
from dipbook.trips import pressure
from ledgers import RIG, booked, dips, entry, in_bbl, minutes
from published.rows import ROWS

USED = ("S02", "S03", "S04", "S06", "S07", "S08", "S09", "S10")
FT, POUND_PER_SQUARE_INCH = float(FOOT), float(PSI)


def ppg(value: float) -> float:
    """A density [lb/gal] in kg/m3."""
    return from_unit(value, "lbm/gal[US]")


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


# --- planned


def test_the_planned_slugs_are_those_of_the_sources() -> None:
    # S02, S03 exact: 12.2 × 184/(13.2 − 12.2) = 2244.8 ft × 0.01422 = 31.92 bbl, printed 32.0 after its rounding of psi.
    # S10: 0.016 × 200 × 10/1.5 = 21.333 bbl.
    for key, mud, slug, bore, by_hand in (("S02", 12.2, 13.2, 0.01422, 31.921), ("S10", 10.0, 11.5, 0.016, 21.333)):
        planned = slugs.volume_for(number(ROWS[key], "Ldry") * FT, ppg(slug), ppg(mud), from_unit(bore, "bbl/ft"))
        assert to_unit(planned, "bbl") == pytest.approx(by_hand, abs=0.001)
        assert to_unit(planned, "bbl") == pytest.approx(needed(ROWS[key], bore), rel=1e-9)
        at_rest = tapered.volume_drying(number(ROWS[key], "Ldry") * FT, ppg(slug), ppg(mud),
                                        (tapered.Bore("pipe", from_unit(bore, "bbl/ft")),))
        assert at_rest.slug_m3 == pytest.approx(planned, rel=1e-9)
    assert ROWS["S03"].published_value == pytest.approx(31.921, rel=0.0025)
    assert ROWS["S10"].agrees(21.333)


def test_the_weight_of_25_barrels_that_dry_184_ft_is_the_published_one() -> None:
    # S07: 25/0.01422 = 1758.1 ft of slug; 12.2 (1 + 184/1758.1) = 13.477 lb/gal, printed 13.5.
    row = ROWS["S07"]
    heavy = slugs.density_for(number(row, "Ldry") * FT, from_unit(number(row, "V"), "bbl"), ppg(number(row, "mw")),
                              from_unit(number(row, "cap"), "bbl/ft"))
    assert row.agrees(to_unit(heavy, "lbm/gal[US]"))
    assert to_unit(heavy, "lbm/gal[US]") == pytest.approx(13.477, abs=0.0005)


def test_the_pressure_of_a_slug_in_the_annulus_by_the_source_s_constant_and_by_exact_geometry() -> None:
    # S06: 641.5 ft × 1.0 × 0.052 = 33.358, printed 33.4; exact × 0.0519481 = 33.325 psi.
    row = ROWS["S06"]
    assert row.grade == "C"
    assert row.agrees(0.052 * number(row, "h") * number(row, "dW"))
    annulus = from_unit(0.0504, "bbl/ft")  # any: the height alone counts
    exact = slugs.annulus_pressure(number(row, "h") * FT * annulus, ppg(12.2 + number(row, "dW")), ppg(12.2), annulus)
    assert not row.agrees(exact / POUND_PER_SQUARE_INCH), "0.052 isn't ours"
    assert exact / POUND_PER_SQUARE_INCH == pytest.approx(row.published_value, rel=0.0025)
    assert exact / POUND_PER_SQUARE_INCH == pytest.approx(33.325, abs=0.0005)


def test_the_pressure_of_200_ft_of_mud_is_the_published_one() -> None:
    # S08: 10 × 200 × 0.0519481 = 103.896 psi, printed 104.
    row = ROWS["S08"]
    assert row.agrees(pressure(number(row, "Ldry") * FT, ppg(number(row, "mw"))) / POUND_PER_SQUARE_INCH)


def test_a_foot_of_slug_against_a_foot_of_mud_is_the_published_difference() -> None:
    # S09: (11.5 − 10) × 0.0519481 = 0.07792 psi/ft, printed 0.078. A foot of slug in an annulus of any size.
    row = ROWS["S09"]
    a_foot = slugs.annulus_pressure(FT * 0.02, ppg(number(row, "sw")), ppg(number(row, "mw")), 0.02)
    assert row.agrees(a_foot / POUND_PER_SQUARE_INCH)
