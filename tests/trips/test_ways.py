"""What the hole should take for pipe pulled dry, wet and with a bucket, and run closed, open and self-filling."""

from __future__ import annotations

from math import inf, isnan, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dipbook.quantities import from_unit, to_unit
from dipbook.quantities.factors import FOOT
from dipbook.trips import Expected, Way, expected
from dipbook.trips.ways import IN_WAYS, OUT_WAYS
from dipbook.well import Part, String

FT = float(FOOT)


def part(name: str, steel: float, bore: float, length: float = inf) -> Part:
    """A part by its steel and bore [bbl/ft] and its length [ft]."""
    return Part(name, "drill pipe", from_unit(steel, "bbl/ft"), from_unit(bore, "bbl/ft"), length * FT)


COLLARS, PIPE = part("collars", 0.0545, 0.0077, 600), part("pipe", 0.0076, 0.0178)
STRING = String((COLLARS, PIPE))


def take(from_ft: float, to_ft: float, way: Way, string: String = STRING) -> float:
    """What the hole takes, where that is known [bbl]."""
    found = expected(string, from_ft * FT, to_ft * FT, way)
    assert found.least_m3 == found.most_m3
    return to_unit(found.mean_m3, "bbl")


@pytest.mark.parametrize(("way", "by_hand"), [
    (Way("dry"), 0.76),                      # 100 × 0.0076
    (Way("wet"), 2.54),                      # 100 × (0.0076 + 0.0178)
    (Way("bucket", returned=0.0), 2.54),     # nothing comes back: wet
    (Way("bucket", returned=0.8), 1.116),    # 100 × (0.0076 + 0.2 × 0.0178) = 0.76 + 0.356
    (Way("bucket", returned=1.0), 0.76),     # all of it: dry
], ids=["dry", "wet", "bucket none", "bucket 0.8", "bucket all"])
def test_a_hundred_feet_of_pipe_pulled(way: Way, by_hand: float) -> None:
    assert take(9000, 8900, way) == pytest.approx(by_hand, rel=1e-9)


@pytest.mark.parametrize(("way", "by_hand"), [(Way(running="closed"), -2.54), (Way(running="open"), -0.76)], ids=["closed", "open"])
def test_a_hundred_feet_of_pipe_run_gives_back(way: Way, by_hand: float) -> None:
    assert take(8900, 9000, way) == pytest.approx(by_hand, rel=1e-9)


def test_a_self_filling_float_lies_between_closed_and_open_and_both_bounds_are_given() -> None:
    # −2.54 if it stayed shut, −0.76 if the pipe filled itself: −1.65 between.
    found = expected(STRING, 8900 * FT, 9000 * FT, Way(running="self-filling"))
    assert to_unit(found.least_m3, "bbl") == pytest.approx(-2.54, rel=1e-9)
    assert to_unit(found.most_m3, "bbl") == pytest.approx(-0.76, rel=1e-9)
    assert to_unit(found.mean_m3, "bbl") == pytest.approx(-1.65, rel=1e-9)


def test_the_share_a_bucket_returns_counts_for_a_bucket_alone() -> None:
    assert take(9000, 8900, Way("dry", returned=0.8)) == take(9000, 8900, Way("dry"))
    assert take(9000, 8900, Way("wet", returned=0.8)) == take(9000, 8900, Way("wet"))


def test_how_pipe_is_run_doesnt_count_while_it_is_pulled_nor_the_other_way_round() -> None:
    for running in IN_WAYS:
        assert take(9000, 8900, Way("wet", running)) == pytest.approx(2.54, rel=1e-9)
    for out in OUT_WAYS:
        assert take(8900, 9000, Way(out, "open")) == pytest.approx(-0.76, rel=1e-9)


def test_collars_count_when_they_come_out_of_the_hole() -> None:
    # Bit from 700 to 600 ft: the pipe above the collars leaves, 100 × 0.0076; from 600 to 500: collars, 100 × 0.0545 = 5.45;
    # from 650 to 550: half and half, 0.38 + 2.725 = 3.105; wet 3.105 + 0.89 + 0.385 = 4.380.
    assert take(700, 600, Way()) == pytest.approx(0.76, rel=1e-9)
    assert take(600, 500, Way()) == pytest.approx(5.45, rel=1e-9)
    assert take(650, 550, Way()) == pytest.approx(3.105, rel=1e-9)
    assert take(650, 550, Way("wet")) == pytest.approx(4.380, rel=1e-9)


def test_all_of_a_string_out() -> None:
    # 600 × 0.0545 + 8400 × 0.0076 = 32.70 + 63.84 = 96.54; its bore 600 × 0.0077 + 8400 × 0.0178 = 4.62 + 149.52 = 154.14.
    assert take(9000, 0, Way("dry")) == pytest.approx(96.54, rel=1e-9)
    assert take(9000, 0, Way("wet")) == pytest.approx(96.54 + 154.14, rel=1e-9)


def test_no_move_takes_nothing() -> None:
    for out in OUT_WAYS:
        for running in IN_WAYS:
            assert take(5000, 5000, Way(out, running)) == 0.0


@pytest.mark.parametrize(("start", "end"), [(9000, 700), (700, 9000), (nan, 500), (500, nan), (inf, 500)])
@pytest.mark.parametrize("running", IN_WAYS)
def test_a_string_too_short_or_a_depth_unknown_is_unknown_and_never_nothing(start: float, end: float, running: str) -> None:
    found = expected(String((COLLARS, part("pipe", 0.0076, 0.0178, 200))), start * FT, end * FT, Way("dry", running))
    assert isnan(found.least_m3)
    assert isnan(found.most_m3)
    assert isnan(found.mean_m3)


def test_what_a_move_is_called() -> None:
    way = Way("bucket", "self-filling", 0.5)
    assert way.name(100.0, 90.0) == "bucket"
    assert way.name(90.0, 100.0) == "self-filling float"


@pytest.mark.parametrize("odd", [{"out": "soaked"}, {"running": "ajar"}, {"out": "closed"}])
def test_no_other_ways(odd: dict[str, str]) -> None:
    with pytest.raises(ValueError, match="dry, wet or with a bucket, and run closed, open or self-filling"):
        Way(**odd)


@pytest.mark.parametrize("share", [-0.01, 1.01, nan, 80.0])
def test_a_bucket_returns_a_share(share: float) -> None:
    with pytest.raises(ValueError, match="from 0 to 1"):
        Way("bucket", returned=share)


# --- whatever the string

SIZES = st.tuples(st.floats(1e-4, 0.05), st.floats(0.0, 0.05), st.floats(1.0, 1000.0))
STRINGS = st.lists(SIZES, min_size=1, max_size=4)
DEPTHS = st.tuples(st.floats(0.0, 5000.0), st.floats(0.0, 5000.0), st.floats(0.0, 1.0))
SHARES = st.floats(0.0, 1.0)


def tapered(sizes: list[tuple[float, float, float]]) -> String:
    """Parts with lengths, and as much of the last one as is needed above them."""
    parts = [Part(str(n), "drill pipe", *size) for n, size in enumerate(sizes)]
    return String((*parts, Part("top", "drill pipe", *sizes[-1][:2])))


def known(found: Expected) -> float:
    assert found.least_m3 == found.most_m3
    return found.mean_m3


def close(value: float) -> object:
    return pytest.approx(value, rel=1e-9, abs=1e-7)


@given(STRINGS, DEPTHS)
def test_wet_less_dry_is_the_bore_of_what_came_out(sizes: list[tuple[float, float, float]], depths: tuple[float, float, float]) -> None:
    string, (top, bottom) = tapered(sizes), sorted(depths[:2])
    wet, dry = (known(expected(string, bottom, top, Way(out))) for out in ("wet", "dry"))
    assert wet - dry == close(string.bore(bottom, top))
    assert dry == close(string.steel(bottom, top))


@given(STRINGS, DEPTHS, SHARES)
def test_a_bucket_lies_between_wet_and_dry_by_its_share(
        sizes: list[tuple[float, float, float]], depths: tuple[float, float, float], share: float) -> None:
    string, (top, bottom) = tapered(sizes), sorted(depths[:2])
    bucket = known(expected(string, bottom, top, Way("bucket", returned=share)))
    assert bucket == close(string.steel(bottom, top) + (1.0 - share) * string.bore(bottom, top))


@given(STRINGS, DEPTHS)
def test_out_dry_and_back_in_open_is_nothing_in_all(sizes: list[tuple[float, float, float]], depths: tuple[float, float, float]) -> None:
    string, (top, bottom) = tapered(sizes), sorted(depths[:2])
    way = Way("dry", "open")
    assert known(expected(string, bottom, top, way)) + known(expected(string, top, bottom, way)) == close(0.0)


@given(STRINGS, DEPTHS)
def test_out_dry_and_back_in_closed_and_then_filled_is_nothing_in_all(
        sizes: list[tuple[float, float, float]], depths: tuple[float, float, float]) -> None:
    # In closed it gives its bore back as well, which is empty; filling the pipe takes just that.
    string, (top, bottom) = tapered(sizes), sorted(depths[:2])
    way = Way("dry", "closed")
    both = known(expected(string, bottom, top, way)) + known(expected(string, top, bottom, way))
    assert both + string.bore(bottom, top) == close(0.0)


@given(STRINGS, DEPTHS)
def test_out_wet_and_back_in_closed_is_nothing_and_filling_it_takes_what_was_spilled(
        sizes: list[tuple[float, float, float]], depths: tuple[float, float, float]) -> None:
    # Full before, so the hole and the pipe are again as they were once the pipe is filled: what that takes was lost with the
    # pipe when it was pulled, wet less dry.
    string, (top, bottom) = tapered(sizes), sorted(depths[:2])
    way = Way("wet", "closed")
    both = known(expected(string, bottom, top, way)) + known(expected(string, top, bottom, way))
    assert both == close(0.0)
    spilled = known(expected(string, bottom, top, way)) - known(expected(string, bottom, top, Way("dry")))
    assert both + string.bore(bottom, top) == close(spilled)


@given(STRINGS, DEPTHS, st.sampled_from(OUT_WAYS), st.sampled_from(IN_WAYS), SHARES)
def test_in_two_steps_as_in_one(sizes: list[tuple[float, float, float]], depths: tuple[float, float, float], out: str, running: str,
                                share: float) -> None:
    string, (start, end, cut), way = tapered(sizes), depths, Way(out, running, share)
    between = start + cut * (end - start)
    one = expected(string, start, end, way)
    two = [expected(string, a, b, way) for a, b in ((start, between), (between, end))]
    assert one.least_m3 == close(sum(e.least_m3 for e in two))
    assert one.most_m3 == close(sum(e.most_m3 for e in two))


@given(STRINGS, DEPTHS)
def test_a_tapered_string_takes_what_its_parts_take_each_for_itself(
        sizes: list[tuple[float, float, float]], depths: tuple[float, float, float]) -> None:
    string, (top, bottom) = tapered(sizes), sorted(depths[:2])
    alone = 0.0
    begin = 0.0
    for p in string.parts:  # each part from where it begins above the bit, as a string of its own
        end = begin + p.length_m
        a, b = (min(max(x, begin), end) - begin for x in (top, bottom))
        alone += known(expected(String((Part(p.name, p.kind, p.steel_m2, p.bore_m2),)), b, a, Way("wet")))
        begin = end
    assert known(expected(string, bottom, top, Way("wet"))) == close(alone)


@given(STRINGS, DEPTHS)
def test_the_bounds_of_a_self_filling_float_are_closed_and_open(
        sizes: list[tuple[float, float, float]], depths: tuple[float, float, float]) -> None:
    string, (top, bottom) = tapered(sizes), sorted(depths[:2])
    found = expected(string, top, bottom, Way(running="self-filling"))
    if top == bottom:
        assert found == Expected(0.0, 0.0)
        return
    assert found.least_m3 == known(expected(string, top, bottom, Way(running="closed")))
    assert found.most_m3 == known(expected(string, top, bottom, Way(running="open")))
    assert found.least_m3 <= found.mean_m3 <= found.most_m3
