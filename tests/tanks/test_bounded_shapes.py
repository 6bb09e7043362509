"""Shapes with sloped and round walls against integration of their slices, fluids, and their own inverse and slope."""

from __future__ import annotations

from itertools import pairwise
from math import pi, sqrt

import numpy as np
import pytest
from fluids.geometry import TANK, V_horiz_ellipsoidal, V_horiz_torispherical, V_vertical_torispherical
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.integrate import quad

from dipbook.tanks.bounded import Bounded
from dipbook.tanks.cylinders import HorizontalCylinder, less_sine
from dipbook.tanks.heads import Dish, Head
from dipbook.tanks.shapes import Box, VerticalCylinder
from dipbook.tanks.sloped import Frustum, Hopper, VBottom
from dipbook.tanks.stacked import Compartments, Stack

SIZES = st.floats(0.2, 10.0)
LITTLE = st.one_of(st.just(0.0), st.floats(0.01, 5.0))
SHARES = st.floats(1e-6, 1.0)


@st.composite
def heads(draw: st.DrawFn, diameter: float, forms: tuple[str, ...]) -> Head:
    form = draw(st.sampled_from(forms))
    if form == "ellipsoidal":
        return Head(form, diameter, draw(st.one_of(st.none(), st.floats(0.05, 1.0).map(lambda x: x * diameter))))
    if form == "torispherical":
        crown, knuckle = draw(st.one_of(st.sampled_from([(1.0, 0.06), (0.8, 0.154), (1.0, 0.1), (0.9, 0.0)]),
                                        st.tuples(st.floats(0.55, 2.0), st.floats(0.02, 0.45))))
        return Head(form, diameter, None, crown, knuckle)
    return Head(form, diameter)


@st.composite
def plain(draw: st.DrawFn) -> Bounded:
    kind = draw(st.sampled_from(["lying", "v", "hopper", "frustum", "dish"]))
    if kind == "lying":
        return HorizontalCylinder(draw(SIZES), draw(heads(draw(SIZES), ("flat", "hemispherical", "ellipsoidal",
                                                                         "torispherical"))))
    if kind == "v":
        height, width = draw(SIZES), draw(SIZES)
        return VBottom(draw(SIZES), width, draw(st.floats(0.0, 1.0)) * width, draw(st.floats(0.05, 1.0)) * height, height)
    if kind == "hopper":
        return Hopper(draw(SIZES), draw(SIZES), draw(LITTLE), draw(LITTLE), draw(SIZES))
    if kind == "frustum":
        return Frustum(draw(LITTLE), draw(SIZES), draw(SIZES))
    return Dish(draw(heads(draw(SIZES), ("hemispherical", "ellipsoidal", "torispherical"))))


@st.composite
def shapes(draw: st.DrawFn) -> Bounded:
    made = draw(st.one_of(plain(), st.lists(plain(), min_size=1, max_size=3).map(lambda p: Stack(tuple(p)))))
    if draw(st.booleans()):
        other = draw(plain())
        floor = draw(st.floats(0.0, 0.9)) * made.height
        made = Compartments(((made, 0.0), (other, floor)))
    return made


@given(shapes(), SHARES)
def test_a_level_leads_to_a_volume_and_back(shape: Bounded, share: float) -> None:
    level = share * shape.height
    assert shape.level(shape.volume(level)) == pytest.approx(level, rel=1e-9, abs=2e-8 * shape.height)


@given(plain(), st.floats(1e-3, 0.97))
def test_away_from_a_level_top_the_level_is_found_to_a_thousand_millionth(shape: Bounded, share: float) -> None:
    level = share * shape.height
    assert shape.level(shape.volume(level)) == pytest.approx(level, rel=1e-9)


@given(shapes(), SHARES)
def test_a_volume_leads_to_a_level_and_back(shape: Bounded, share: float) -> None:
    volume = share * shape.volume(shape.height)
    assert shape.volume(shape.level(volume)) == pytest.approx(volume, rel=1e-9)


@given(shapes())
def test_volumes_rise_with_levels_and_levels_with_volumes(shape: Bounded) -> None:
    levels = np.linspace(0.0, shape.height, 400)
    volumes = shape.volume(levels)
    assert volumes[0] == pytest.approx(0.0, abs=1e-12 * volumes[-1])
    assert (np.diff(volumes) > -1e-13 * volumes[-1]).all()
    assert volumes[-1] > 0.0
    back = shape.level(np.linspace(0.0, volumes[-1], 400))
    assert (np.diff(back) > 0.0).all()
    assert back[-1] == shape.height


@given(plain(), st.floats(0.02, 0.98))
def test_the_slope_is_the_derivative_of_the_volume(shape: Bounded, share: float) -> None:
    level, step = share * shape.height, 1e-5 * shape.height
    edges = [shape.slope_height] if isinstance(shape, VBottom) else []
    if isinstance(shape, Dish) and shape.head.form == "torispherical":
        edges = [shape._crown_top]
    if isinstance(shape, HorizontalCylinder) and shape.head.form == "torispherical":
        edges = [shape.head.diameter / 2 + side * shape.head.meets for side in (-1, 1)]
    assume(all(abs(level - edge) > 3 * step for edge in edges))
    rise = (shape.volume(level + step) - shape.volume(level - step)) / (2 * step)
    assert shape.slope(level) == pytest.approx(rise, rel=2e-6, abs=1e-8 * shape.volume(shape.height) / shape.height)


@given(shapes(), SHARES)
def test_the_volume_is_the_integral_of_the_free_surface(shape: Bounded, share: float) -> None:
    """Gauss's rule on many small pieces: the two are worked out apart, in every shape but a stack. A step of the surface inside
    a piece is told to half the piece."""
    u, weight = np.polynomial.legendre.leggauss(6)
    edges = np.linspace(0.0, share * shape.height, 2001)
    at = (edges[:-1, None] + edges[1:, None]) / 2 + np.diff(edges)[:, None] / 2 * u
    total = (shape.slope(at.ravel()).reshape(at.shape) * weight).sum(axis=1) @ np.diff(edges) / 2
    full = shape.volume(shape.height)
    assert shape.volume(share * shape.height) == pytest.approx(total, rel=1e-4, abs=6e-4 * full)


def by_slices(radius_at: object, length: float, depth: float, diameter: float, level: float) -> float:
    """Volume on its side by slices across the axis: each a circle's segment, found by its own angle."""
    big = diameter / 2

    def cut(r: float) -> float:
        h = level - (big - r)
        if h <= 0.0 or r <= 0.0:
            return 0.0
        if h >= 2 * r:
            return pi * r * r
        return r * r * np.arccos((r - h) / r) - (r - h) * sqrt(max(2 * r * h - h * h, 0.0))

    # x = depth sin t: the head's steep end is smoothed away
    head, _ = quad(lambda t: cut(radius_at(depth * np.sin(t))) * depth * np.cos(t), 0.0, pi / 2, limit=500, epsabs=1e-12,
                   epsrel=1e-11)
    return length * cut(big) + 2 * head


def radius_of(head: Head):
    """The radius of a head's slice at a distance from the cylinder's end, from its definition."""
    big = head.diameter / 2

    def radius(x: float) -> float:
        if head.form in ("ellipsoidal", "hemispherical"):
            return big * sqrt(max(1 - (x / head.depth) ** 2, 0.0))
        crown_r, a = head.crown * head.diameter, head.knuckle * head.diameter
        centre = sqrt((crown_r - a) ** 2 - (big - a) ** 2)
        # Crown and knuckle meet on the line through both centres.
        meet = a * centre / (crown_r - a)
        if x <= meet:
            return big - a + sqrt(max(a * a - x * x, 0.0))
        return sqrt(max(crown_r**2 - (x + centre) ** 2, 0.0))

    return radius


@pytest.mark.parametrize("head", [
    Head("hemispherical", 2.4), Head("ellipsoidal", 2.4), Head("ellipsoidal", 2.4, 1.0), Head("torispherical", 2.4),
    Head("torispherical", 2.4, None, 0.8, 0.154), Head("torispherical", 2.4, None, 1.0, 0.1),
    Head("torispherical", 2.4, None, 1.3, 0.3), Head("torispherical", 2.4, None, 0.9, 0.0)], ids=str)
@pytest.mark.parametrize("share", [0.003, 0.04, 0.2, 0.45, 0.5, 0.501, 0.75, 0.97, 1.0])
def test_on_its_side_it_holds_what_its_slices_hold(head: Head, share: float) -> None:
    shape = HorizontalCylinder(5.0, head)
    level = share * head.diameter
    assert shape.volume(level) == pytest.approx(by_slices(radius_of(head), 5.0, head.depth, head.diameter, level), rel=2e-8)


@pytest.mark.parametrize(("crown", "knuckle"), [(1.0, 0.06), (0.8, 0.154), (1.0, 0.1), (2.0, 0.02), (0.55, 0.45)])
def test_the_quadrature_over_the_knuckle_is_good_to_a_million_millionth(crown: float, knuckle: float) -> None:
    """Against adaptive integration of the same head's free surface, piece by piece."""
    head = Head("torispherical", 1.0, None, crown, knuckle)

    def deep(r: float) -> float:
        if r < head.meets:
            return sqrt(head.sphere**2 - r * r) - head.centre
        return sqrt(max(head.torus**2 - (r - 0.5 + head.torus) ** 2, 0.0))

    for level in (0.01, 0.06, 0.2, 0.35, 0.4999):
        c = 0.5 - level
        edge, inner = sqrt(0.25 - c * c), sqrt(max(head.meets**2 - c * c, 0.0))
        exact = sum(quad(lambda s, c=c: 2 * deep(sqrt(c * c + s * s)), a, b, epsabs=1e-14, epsrel=1e-13, limit=400)[0]
                    for a, b in pairwise((0.0, inner, edge)) if b > a)
        volume, area = head.on_its_side(np.array([level]))
        assert area[0] == pytest.approx(exact, rel=1e-8)  # as good as the adaptive rule is at the root in its end
        whole = sum(quad(lambda s, c=c: 2 * s * np.arctan2(s, c) * deep(sqrt(c * c + s * s)), a, b, epsabs=1e-14,
                         epsrel=1e-13, limit=400)[0] for a, b in pairwise((0.0, inner, edge)) if b > a)
        assert volume[0] == pytest.approx(whole, rel=1e-8)


def test_twice_the_slices_change_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    levels = np.linspace(0.001, 0.999, 301)
    for crown, knuckle in ((1.0, 0.06), (0.8, 0.154), (2.0, 0.02), (0.55, 0.45)):
        before = Head("torispherical", 1.0, None, crown, knuckle).on_its_side(levels)
        with monkeypatch.context() as patched:
            patched.setattr("dipbook.tanks.heads.NODES", 96)
            after = Head("torispherical", 1.0, None, crown, knuckle).on_its_side(levels)
        np.testing.assert_allclose(before[0], after[0], rtol=1e-11, atol=1e-13)
        np.testing.assert_allclose(before[1], after[1], rtol=1e-11, atol=1e-13)


@given(st.floats(0.5, 4.0), st.floats(0.5, 10.0), st.floats(0.02, 1.0))
def test_fluids_gives_the_same_for_heads_on_their_side(diameter: float, length: float, share: float) -> None:
    level = share * diameter
    for head, other in (
            (Head("torispherical", diameter), V_horiz_torispherical(diameter, length, 1.0, 0.06, level)),
            (Head("torispherical", diameter, None, 0.8, 0.154), V_horiz_torispherical(diameter, length, 0.8, 0.154, level)),
            (Head("ellipsoidal", diameter), V_horiz_ellipsoidal(diameter, length, diameter / 4, level))):
        assert HorizontalCylinder(length, head).volume(level) == pytest.approx(other, rel=1e-7)


@given(st.floats(0.5, 4.0), st.floats(0.5, 6.0), st.floats(0.02, 1.0))
def test_fluids_gives_the_same_for_dished_and_conical_bottoms(diameter: float, height: float, share: float) -> None:
    dished = Stack((Dish(Head("torispherical", diameter)), VerticalCylinder(diameter, height)))
    level = share * dished.height
    assert dished.volume(level) == pytest.approx(V_vertical_torispherical(diameter, 1.0, 0.06, level), rel=1e-9)
    cone = Stack((Frustum(0.0, diameter, 0.7 * diameter), VerticalCylinder(diameter, height)))
    tank = TANK(D=diameter, L=height, horizontal=False, sideA="conical", sideA_a=0.7 * diameter, sideB=None)
    assert cone.volume(share * cone.height) == pytest.approx(tank.V_from_h(share * cone.height), rel=1e-9)


@given(st.floats(0.1, 0.9), SHARES)
def test_a_stack_of_two_parts_of_a_cone_or_trough_equals_the_whole(cut: float, share: float) -> None:
    whole = Frustum(0.5, 3.0, 4.0)
    between = 0.5 + 2.5 * cut
    cones = Stack((Frustum(0.5, between, 4.0 * cut), Frustum(between, 3.0, 4.0 * (1 - cut))))
    trough = VBottom(6.0, 2.4, 0.4, 1.5, 3.0)
    parts = Stack((VBottom(6.0, 2.4, 0.4, 1.5, 1.5), Box(6.0, 2.4, 1.5)))
    for one, other in ((whole, cones), (trough, parts)):
        assert other.volume(share * one.height) == pytest.approx(one.volume(share * one.height), rel=1e-9)
        assert other.level(share * one.volume(one.height)) == pytest.approx(one.level(share * one.volume(one.height)), rel=1e-9)


def test_two_halves_side_by_side_hold_what_the_whole_holds() -> None:
    half, whole = Box(5.0, 1.2, 3.0), Box(5.0, 2.4, 3.0)
    both = Compartments(((half, 0.0), (half, 0.0)))
    for level in (0.0, 0.4, 2.9, 3.0):
        assert both.volume(level) == pytest.approx(whole.volume(level))


def test_a_higher_floor_counts_from_where_it_begins() -> None:
    tank = Compartments(((Box(2.0, 1.0, 3.0), 0.0), (Box(4.0, 1.0, 3.0), 0.5)))
    assert tank.height == 3.0
    assert tank.volume(0.5) == pytest.approx(1.0)
    assert tank.volume(1.5) == pytest.approx(2.0 * 1.5 + 4.0 * 1.0)
    assert (tank.slope(0.4), tank.slope(0.5), tank.slope(0.6)) == pytest.approx((2.0, 6.0, 6.0))
    assert tank.level(7.0) == pytest.approx(1.5)
    assert np.isnan(tank.volume(3.01))


@given(shapes())
def test_outside_the_shape_nothing_is_known(shape: Bounded) -> None:
    full = shape.volume(shape.height)
    for level in (-0.01, shape.height * 1.001, float("nan")):
        assert np.isnan(shape.volume(level))
        assert np.isnan(shape.slope(level))
    assert np.isnan(shape.level(full * 1.001))
    assert np.isnan(shape.level(-0.001 * full))


@given(shapes())
def test_rounding_alone_puts_nothing_outside(shape: Bounded) -> None:
    assert shape.volume(shape.height * (1 + 1e-12)) == shape.volume(shape.height)
    assert shape.volume(-1e-13 * shape.height) == pytest.approx(0.0, abs=1e-12)


@given(shapes())
def test_arrays_of_any_form_give_what_scalars_give(shape: Bounded) -> None:
    levels = np.linspace(-0.1, 1.1, 12) * shape.height
    for ask in (shape.volume, shape.slope):
        np.testing.assert_allclose(ask(levels), [ask(float(x)) for x in levels], rtol=1e-12)
        np.testing.assert_array_equal(ask(levels.reshape(3, 4)), ask(levels).reshape(3, 4))
    assert isinstance(shape.volume(0.5 * shape.height), float)
    assert shape.volume(np.array([])).shape == (0,)


@given(st.floats(1e-9, 2 * pi))
def test_a_small_angle_less_its_sine_keeps_its_digits(x: float) -> None:
    terms, term = 0.0, x
    for n in range(1, 40):
        term *= -x * x / ((2 * n) * (2 * n + 1))
        terms -= term
    assert less_sine(np.array([x]))[0] == pytest.approx(terms, rel=1e-12)


@pytest.mark.parametrize(("make", "words"), [
    (lambda: HorizontalCylinder(0.0, Head("flat", 1.0)), "above zero"),
    (lambda: Head("flat", -1.0), "above zero"), (lambda: Head("round", 1.0), "must be one of"),
    (lambda: Head("ellipsoidal", 1.0, 0.0), "above zero"), (lambda: Head("torispherical", 1.0, None, 0.4, 0.1), "crown"),
    (lambda: Head("torispherical", 1.0, None, 1.0, 0.6), "knuckle"), (lambda: Dish(Head("flat", 1.0)), "no dish"),
    (lambda: VBottom(1.0, 1.0, -0.1, 1.0, 1.0), "zero"), (lambda: VBottom(1.0, 1.0, 0.1, 2.0, 1.0), "slope_height"),
    (lambda: Hopper(1.0, 1.0, 0.0, float("nan"), 1.0), "zero"), (lambda: Frustum(0.0, 0.0, 1.0), "above zero"),
    (lambda: Stack(()), "part"), (lambda: Compartments(()), "part"),
    (lambda: Compartments(((Box(1.0, 1.0, 1.0), 0.1),)), "lowest floor"),
    (lambda: Compartments(((Box(1.0, 1.0, 1.0), 0.0), (Box(1.0, 1.0, 1.0), 1.0))), "below the lowest top")])
def test_a_shape_that_cannot_be_is_refused(make: object, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        make()


def test_steps_of_a_stack_are_told_and_none_where_parts_meet() -> None:
    box, narrow = Box(3.0, 2.0, 1.0), Box(3.0, 1.0, 1.0)
    assert Stack((Hopper(3.0, 2.0, 0.0, 0.5, 1.0), box, box)).steps(0.03) == ()
    assert Stack((narrow, box, narrow)).steps(0.03) == (0, 1)
