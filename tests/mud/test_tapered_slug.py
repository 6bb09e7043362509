"""Slugs in a string of several bores: by hand, against pipe of one bore, and by weighing both columns."""

from __future__ import annotations

from math import isnan, nan

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from dipbook.mud import slugs
from dipbook.mud.mixing import ImpossibleError
from dipbook.mud.tapered import Bore, at_rest, bores, density_drying, volume_drying
from dipbook.well import Part, String

LIGHT, HEAVY = 1200.0, 1500.0
PIPE, NARROW = Bore("drill pipe", 0.01, 400.0), Bore("heavy-weight", 0.005, 600.0)
TWO = (PIPE, NARROW)


def weighed(pipe: tuple[Bore, ...], dry: float, bottom: float, heavy: float, light: float) -> tuple[float, float]:
    """What both columns weigh down to the bit: inside, and mud alone outside [kg/m2]."""
    length = sum(bore.length_m for bore in pipe)
    return heavy * (bottom - dry) + light * (length - bottom), light * length


def held(pipe: tuple[Bore, ...], depth: float) -> float:
    """What the pipe holds down to a depth [m3], a slice of a metre at a time and the rest."""
    found, begin = 0.0, 0.0
    for bore in pipe:
        found += bore.area_m2 * min(max(depth - begin, 0.0), bore.length_m)
        begin += bore.length_m
    return found


def test_a_slug_that_reaches_into_heavy_weight_by_hand() -> None:
    # 4.5 m3 of 1500 on 1200, a quarter heavier. At 75 m dry: 325 m of drill pipe hold 3.25 m3. To rest at Ldry it needs
    # h = 4 Ldry; h = (400 − Ldry) + (4.5 − 0.01 (400 − Ldry))/0.005 = 400 − Ldry + 100 + 2 Ldry = 500 + Ldry. So
    # Ldry = 500/3 = 166.67 m, h = 666.67 m, down to 833.33 m. Back: 1.6667 m3, where one bore would give 1.125 m3.
    rest = at_rest(4.5, HEAVY, LIGHT, TWO)
    assert rest.dry_m == pytest.approx(500 / 3, rel=1e-9)
    assert rest.bottom_m == pytest.approx(2500 / 3, rel=1e-9)
    assert rest.back_m3 == pytest.approx(5 / 3, rel=1e-9)
    assert slugs.gain(4.5, HEAVY, LIGHT) == pytest.approx(1.125, rel=1e-12)
    assert rest.through == (("drill pipe", pytest.approx(500 / 3)),)


def test_a_dry_length_that_goes_through_two_bores_by_hand() -> None:
    # 50 m of drill pipe, then heavy-weight: 2 m3 are 0.5 + 1.5 m3, 50 + 300 m down; a quarter: from 70 m it takes
    # 2/0.005 = 400 m; 400/4 = 100 m dry: 50 of drill pipe and 50 of heavy-weight, 0.5 + 0.25 m3 back.
    rest = at_rest(2.0, HEAVY, LIGHT, (Bore("drill pipe", 0.01, 50.0), Bore("heavy-weight", 0.005, 600.0)))
    assert rest.dry_m == pytest.approx(100.0, rel=1e-9)
    assert rest.through == (("drill pipe", pytest.approx(50.0)), ("heavy-weight", pytest.approx(50.0)))
    assert rest.back_m3 == pytest.approx(0.75, rel=1e-9)


@given(st.floats(0.1, 50.0), st.floats(900.0, 2300.0), st.floats(1.001, 2.0), st.floats(0.001, 0.05))
def test_pipe_of_one_bore_is_the_plain_formula(volume: float, light: float, share: float, bore: float) -> None:
    pipe = (Bore("pipe", bore),)
    rest = at_rest(volume, light * share, light, pipe)
    assert rest.dry_m == pytest.approx(slugs.dry_length(volume, light * share, light, bore), rel=1e-6)
    assert rest.back_m3 == pytest.approx(slugs.gain(volume, light * share, light), rel=1e-6)
    assert volume_drying(rest.dry_m, light * share, light, pipe).slug_m3 == pytest.approx(volume, rel=1e-6)
    assert density_drying(rest.dry_m, volume, light, pipe).density_kg_m3 == pytest.approx(light * share, rel=1e-6)


pipes = st.lists(st.tuples(st.floats(0.002, 0.03), st.floats(5.0, 2000.0)), min_size=1, max_size=4).map(
    lambda parts: tuple(Bore(str(n), area, length) for n, (area, length) in enumerate(parts)))


@given(pipes, st.floats(0.001, 0.9), st.floats(900.0, 2300.0), st.floats(1.001, 2.0))
def test_both_columns_weigh_the_same_and_the_slug_keeps_its_volume(pipe: tuple[Bore, ...], share: float, light: float,
                                                                   heavier: float) -> None:
    volume = share * held(pipe, 1e9)
    try:
        rest = at_rest(volume, light * heavier, light, pipe)
    except ImpossibleError:
        whole = held(pipe, 1e9)
        length, dry = down_to(pipe, whole), down_to(pipe, whole - volume)
        inside, outside = weighed(pipe, dry, length, light * heavier, light)
        assert inside >= outside * (1 - 1e-9), "with its end at the bit it still falls"
        return
    inside, outside = weighed(pipe, rest.dry_m, rest.bottom_m, light * heavier, light)
    assert inside == pytest.approx(outside, rel=1e-6)
    assert held(pipe, rest.bottom_m) - held(pipe, rest.dry_m) == pytest.approx(volume, rel=1e-6)
    assert rest.back_m3 == pytest.approx(held(pipe, rest.dry_m), rel=1e-6)
    assert sum(length for _, length in rest.through) == pytest.approx(rest.dry_m, rel=1e-6)


@given(pipes, st.floats(0.001, 0.9), st.floats(900.0, 2300.0), st.floats(1.001, 2.0))
def test_it_rests_at_the_first_place_where_it_can(pipe: tuple[Bore, ...], share: float, light: float, heavier: float) -> None:
    volume = share * held(pipe, 1e9)
    try:
        rest = at_rest(volume, light * heavier, light, pipe)
    except ImpossibleError:
        return
    for part in (0.1, 0.5, 0.9, 0.99):
        dry = part * rest.dry_m
        bottom = down_to(pipe, volume + held(pipe, dry))
        inside, outside = weighed(pipe, dry, bottom, light * heavier, light)
        assert inside - outside > -1e-6 * outside, "it still falls there"


def down_to(pipe: tuple[Bore, ...], volume: float) -> float:
    """Down to where the pipe holds a volume, by halving [m]."""
    low, high = 0.0, sum(bore.length_m for bore in pipe)
    for _ in range(100):
        middle = (low + high) / 2
        low, high = (middle, high) if held(pipe, middle) < volume else (low, middle)
    return low


@given(pipes, st.floats(0.001, 0.5), st.floats(900.0, 2300.0), st.floats(1.001, 2.0))
def test_the_three_undo_each_other(pipe: tuple[Bore, ...], share: float, light: float, heavier: float) -> None:
    heavy = light * heavier
    try:
        rest = at_rest(share * held(pipe, 1e9), heavy, light, pipe)
    except ImpossibleError:
        assume(False)
    assert volume_drying(rest.dry_m, heavy, light, pipe).slug_m3 == pytest.approx(rest.slug_m3, rel=1e-5)
    assert density_drying(rest.dry_m, rest.slug_m3, light, pipe).density_kg_m3 == pytest.approx(heavy, rel=1e-5)


def test_the_bores_are_those_that_hang_there_from_the_top() -> None:
    string = String((Part("collars", "collar", 0.03, 0.004, 200.0), Part("heavy-weight", "heavy-weight", 0.01, 0.005, 300.0),
                     Part("drill pipe", "drill pipe", 0.004, 0.01)))
    assert bores(string, 1000.0) == (Bore("drill pipe", 0.01, 500.0), Bore("heavy-weight", 0.005, 300.0), Bore("collars", 0.004, 200.0))
    assert bores(string, 250.0) == (Bore("heavy-weight", 0.005, 50.0), Bore("collars", 0.004, 200.0))


def test_what_cant_be_says_why() -> None:
    solid = String((Part("bar", "collar", 0.03, 0.0, 10.0), Part("pipe", "drill pipe", 0.004, 0.01, 500.0)))
    for work, about, words in (
            (lambda: bores(solid, 100.0), "bore", "has no bore"), (lambda: bores(solid, 600.0), "bit", "shorter than that"),
            (lambda: bores(solid, nan), "bit", "how deep the bit is"), (lambda: bores(solid, 0.0), "bit", "how deep"),
            (lambda: at_rest(3.0, LIGHT, LIGHT, TWO), "density", "nothing falls"),
            (lambda: at_rest(8.0, HEAVY, LIGHT, TWO), "slug", "holds less"),
            (lambda: at_rest(6.5, HEAVY, LIGHT, TWO), "slug", "reach the bit"),
            (lambda: at_rest(0.0, HEAVY, LIGHT, TWO), "slug", "more than nothing"),
            (lambda: volume_drying(300.0, HEAVY, LIGHT, TWO), "dry", "reach the bit"),
            (lambda: volume_drying(75.0, LIGHT, HEAVY, TWO), "density", "nothing falls"),
            (lambda: density_drying(1000.0, 1.0, LIGHT, TWO), "dry", "more than all the pipe"),
            (lambda: density_drying(300.0, 5.0, LIGHT, TWO), "dry", "holds less than the slug")):
        with pytest.raises(ImpossibleError, match=words) as caught:
            work()
        assert caught.value.about == about


def test_a_rest_below_a_nearer_one_is_refused() -> None:
    # A bore a fiftieth as wide below: the slug rests in the drill pipe, but lower down both columns would weigh the same
    # once more. Ldry = 90 m at a quarter needs h = 360 m, down to 450 m: 10 m of drill pipe and 350 m of the narrow one.
    pipe = (Bore("drill pipe", 0.01, 100.0), Bore("narrow", 0.0002, 2000.0))
    slug = 10 * 0.01 + 350 * 0.0002
    first = at_rest(slug, HEAVY, LIGHT, pipe)
    assert first.dry_m == pytest.approx(0.25 * slug / 0.01, rel=1e-9)
    with pytest.raises(ImpossibleError, match="rest before it dries so much"):
        volume_drying(90.0, HEAVY, LIGHT, pipe)
    with pytest.raises(ImpossibleError, match="rest before it dries so much"):
        density_drying(90.0, slug, LIGHT, pipe)


def test_what_isnt_known_stays_unknown() -> None:
    assert isnan(at_rest(nan, HEAVY, LIGHT, TWO).dry_m)
    assert isnan(at_rest(3.0, HEAVY, nan, TWO).back_m3)
    assert isnan(volume_drying(nan, HEAVY, LIGHT, TWO).slug_m3)
    assert isnan(volume_drying(75.0, nan, LIGHT, TWO).slug_m3)
    assert isnan(density_drying(75.0, nan, LIGHT, TWO).density_kg_m3)
