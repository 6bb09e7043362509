"""Published gas and influx: a volume at another pressure, what gas takes off a column, and what stands in the annulus.

These are sums for a remark: none is booked, and no pressure to hold or weight to kill with is worked out anywhere.
"""

from __future__ import annotations

from math import inf, log, pi, sqrt

import pytest

from dipbook.mud.gas import expanded, gas_cut_loss
from dipbook.mud.influx import density, height
from dipbook.mud.mixing import liquid_in
from dipbook.quantities import from_unit, read, to_unit
from dipbook.quantities.factors import FOOT, PSI, STANDARD_GRAVITY
from dipbook.trips import pressure
from dipbook.well import Hole, Part, Section, String, annulus
from published.rows import ROWS, Row

FT, POUND_PER_SQUARE_INCH, G = float(FOOT), float(PSI), float(STANDARD_GRAVITY)
PPG = from_unit(1.0, "lbm/gal[US]")
ATMOSPHERE_PSI = 14.7


def number(row: Row, key: str) -> float:
    """An input as printed, in the source's own unit."""
    return float(str(row.inputs[key]).split()[0])


def gradient(psi_ft: float) -> float:
    """Pressure per length [psi/ft] as a density [kg/m3]."""
    return psi_ft * POUND_PER_SQUARE_INCH / FT / G


def of_annulus(row: Row, key: str = "cap") -> tuple[tuple[float, float], ...]:
    """An annulus of one size, as long as is needed."""
    return ((inf, from_unit(number(row, key), "bbl/ft")),)


# --- a volume of gas at another pressure


def test_a_barrel_of_gas_from_3000_psi_to_the_atmosphere() -> None:
    # G01: 3000/14.7 = 204.08. Absolute: taken by gauge it would be 3014.7/14.7 = 205.08, which isn't printed.
    row = ROWS["G01"]
    first, then = (number(row, key) * POUND_PER_SQUARE_INCH for key in ("P1", "P2"))
    barrel = from_unit(number(row, "V1"), "bbl")
    assert row.agrees(to_unit(expanded(barrel, first, then), "bbl"))
    assert not row.agrees(to_unit(expanded(barrel, first + then, then), "bbl"))


def test_the_printed_sum_takes_another_pressure_than_the_text_and_ours_takes_the_text_s() -> None:
    # G08, grade C: the text derives 3777 psi, and what is printed is 65.6 × 3795/5253 = 47.39. By 3777 it is 47.17.
    row = ROWS["G08"]
    assert row.grade == "C"
    volume, then = from_unit(number(row, "V1"), "bbl"), number(row, "P2") * POUND_PER_SQUARE_INCH
    assert row.agrees(to_unit(expanded(volume, 3795 * POUND_PER_SQUARE_INCH, then), "bbl"))
    ours = to_unit(expanded(volume, number(row, "P1") * POUND_PER_SQUARE_INCH, then), "bbl")
    assert not row.agrees(ours), "a slip of the source isn't ours"
    assert ours == pytest.approx(47.1676, abs=0.0001)
    # From the other side: back to where it came from.
    back = expanded(from_unit(ours, "bbl"), then, number(row, "P1") * POUND_PER_SQUARE_INCH)
    assert back == pytest.approx(volume, rel=1e-12)


# --- what gas takes off a column


def test_mud_that_was_pushed_out_of_the_annulus_weighed_what_is_printed_by_the_source_s_rounding() -> None:
    # G03, grade C: 0.00981 × 1440 = 14.126 kPa/m; /0.0185 × 2.4 = 1832.6, printed 1833. Exact 1832.22: the gain as a
    # length of annulus, π/4 (0.216² − 0.152²) = 0.0184977 m3/m, and the weight of as much mud.
    row = ROWS["G03"]
    assert row.grade == "C"
    mud, gain = number(row, "mw"), number(row, "gain")
    assert row.agrees(0.00981 * mud / 0.0185 * gain)
    hole, pipe = (read(row.inputs[key], "length").value for key in ("hole", "bha"))
    around = pi / 4 * (hole**2 - pipe**2)
    ours = pressure(height(gain, ((inf, around),)), mud) / 1000
    assert not row.agrees(ours), "9.81 and 0.0185 aren't ours"
    assert ours == pytest.approx(row.published_value, rel=0.0005)
    assert ours == pytest.approx(G * mud * gain / around / 1000, rel=1e-12)


def test_mud_cut_by_half_loses_the_published_share() -> None:
    # G04: n = 1: 14.7 ln(p/14.7) of 2597.4 psi: 75.7 psi, 2.91 %, printed 3.
    row = ROWS["G04"]
    surface = ATMOSPHERE_PSI * POUND_PER_SQUARE_INCH
    lost, whole = gas_cut_loss(number(row, "mw") * PPG, number(row, "depth") * FT, 0.5, surface)
    assert row.agrees(100 * lost / whole)
    assert whole / POUND_PER_SQUARE_INCH == pytest.approx(10 * 5000 * 12 / 231, rel=1e-12)
    bottom = surface + whole - lost
    assert (bottom - surface) + surface * log(bottom / surface) == pytest.approx(whole, rel=1e-12)


# --- what stands in the annulus


def test_the_lengths_of_gas_and_mud_that_weigh_what_was_read() -> None:
    # G06: Hg + Hm = 3000, 0.1 Hg + 0.6 Hm = 1530: Hg = 540. As two fluids in one length, and from the other side: mud
    # all the way would weigh 1800 psi, 270 more; over 540 ft that makes 0.1 psi/ft of what stands there.
    row = ROWS["G06"]
    whole, mud, gas, read_psi = (number(row, key) for key in ("length", "mud", "gas", "dP"))
    assert row.agrees(liquid_in(whole, gradient(mud), gradient(read_psi / whole), gradient(gas)))
    lacks = (mud * whole - read_psi) * POUND_PER_SQUARE_INCH
    found = density(gradient(mud), 0.0, lacks, row.published_value * FT)
    assert found == pytest.approx(gradient(gas), rel=1e-9)


def test_the_volume_of_a_length_of_annulus_and_the_length_of_the_volume() -> None:
    # G07: 540 × 0.1214 = 65.556 bbl, by the well's own annulus, and back.
    row = ROWS["G07"]
    length, around = number(row, "H") * FT, of_annulus(row)[0][1]
    pipe = Part("pipe", "drill pipe", 0.00759 * around, 0.01776 * around)  # any: what is around it counts
    hole = Hole((Section("hole", "open hole", 0.0, length, sqrt(4 / pi * (around + pipe.closed_m2))),))
    ((_, volume),) = annulus(hole, String((pipe,)), length)
    assert row.agrees(to_unit(volume, "bbl"))
    assert height(volume, of_annulus(row)) == pytest.approx(length, rel=1e-12)


def test_a_gain_stands_as_high_as_is_printed() -> None:
    # G09, from memory: 20/0.02914 = 686.3 ft.
    row = ROWS["G09"]
    assert row.agrees(height(from_unit(number(row, "gain"), "bbl"), of_annulus(row)) / FT)


def test_what_came_in_weighs_what_is_printed_by_the_source_s_constant() -> None:
    # G10, grade C, from memory: 15 − 264/(0.052 × 400) = 2.308, printed 2.31; exact, 12/231: 15 − 264 × 231/4800 = 2.295.
    row = ROWS["G10"]
    assert row.grade == "C"
    mud, casing, pipe, high = (number(row, key) for key in ("mw", "sicp", "sidpp", "H"))
    assert row.agrees(mud - (casing - pipe) / (0.052 * high))
    found = density(mud * PPG, pipe * POUND_PER_SQUARE_INCH, casing * POUND_PER_SQUARE_INCH, high * FT)
    assert not row.agrees(found / PPG), "0.052 isn't ours"
    assert found / PPG == pytest.approx(2.295, rel=1e-9)
    # From the other side: the two columns press alike on the bit, at any depth below what came in.
    inside = pressure(10_000 * FT, mud * PPG) + pipe * POUND_PER_SQUARE_INCH
    outside = pressure(9_600 * FT, mud * PPG) + pressure(high * FT, found) + casing * POUND_PER_SQUARE_INCH
    assert inside == pytest.approx(outside, rel=1e-12)


USED = ("G01", "G03", "G04", "G06", "G07", "G08", "G09", "G10")
