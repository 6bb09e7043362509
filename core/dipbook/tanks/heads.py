"""Heads that close a cylinder: how deep they are, and what they hold standing (``Dish``) or on their side.

A torispherical head is a part of a sphere, the crown, that runs into a part of a torus, the knuckle, without a break.
Its radii are given as shares of the inside diameter (f, k): 1.0 and 0.06 is the usual flanged and dished head, 1.0 and
0.1 that of DIN 28011, 0.8 and 0.154 that of DIN 28013. A knuckle of 0 makes a plain dish: a part of a sphere.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import asin, cos, isfinite, pi, sin, sqrt
from typing import Any

import numpy as np

from dipbook.tanks.bounded import Bounded, check_sizes
from dipbook.tanks.outlines import ROUND_STEPS, Section, arc

FORMS = ("flat", "hemispherical", "ellipsoidal", "torispherical")
USUAL_CROWN, USUAL_KNUCKLE = 1.0, 0.06
"""Shares of the diameter of the usual flanged and dished head."""
USUAL_ELLIPSE = 0.25
"""Depth of the usual ellipsoidal head, 2:1, as a share of the diameter."""

NODES = 24
"""Slices of the quadrature over the knuckle. Measured against adaptive integration in tests/tanks/test_heads.py."""


@dataclass(frozen=True)
class Head:
    """One head of a cylinder.

    form: one of FORMS. diameter: of the cylinder, inside [m]. ellipse_depth: of an ellipsoidal head [m], or None for
    a quarter of the diameter (2:1). crown, knuckle: radii of a torispherical head as shares of the diameter [-].
    """

    form: str
    diameter: float
    ellipse_depth: float | None = None
    crown: float = USUAL_CROWN
    knuckle: float = USUAL_KNUCKLE

    def __post_init__(self) -> None:
        check_sizes(diameter=self.diameter)
        if self.form not in FORMS:
            raise ValueError(f"a head must be one of {FORMS}, not {self.form!r}")
        if self.ellipse_depth is not None:
            check_sizes(depth=self.ellipse_depth)
        if not (isfinite(self.crown) and self.crown >= 0.5):
            raise ValueError("the crown's radius must be at least half the diameter")
        if not 0.0 <= self.knuckle <= 0.5 or (self.knuckle >= self.crown):
            raise ValueError("the knuckle's radius must be at most half the diameter and smaller than the crown's")

    @cached_property
    def depth(self) -> float:
        """Inside depth, from the end of the cylinder to the crown's middle [m]."""
        if self.form == "flat":
            return 0.0
        if self.form == "hemispherical":
            return self.diameter / 2.0
        if self.form == "ellipsoidal":
            return self.diameter * USUAL_ELLIPSE if self.ellipse_depth is None else self.ellipse_depth
        return self.sphere - self.centre

    @cached_property
    def sphere(self) -> float:
        """Radius of the crown [m]."""
        return self.crown * self.diameter

    @cached_property
    def torus(self) -> float:
        """Radius of the knuckle [m]."""
        return self.knuckle * self.diameter

    @cached_property
    def centre(self) -> float:
        """How far behind the end of the cylinder the crown's centre lies [m]."""
        between = self.sphere - self.torus
        return sqrt(max(between**2 - (self.diameter / 2.0 - self.torus) ** 2, 0.0))

    @cached_property
    def meets(self) -> float:
        """Distance from the axis at which crown and knuckle meet [m]."""
        turn = (self.diameter / 2.0 - self.torus) / (self.sphere - self.torus)
        return self.sphere * min(turn, 1.0)

    def on_its_side(self, h: Any) -> tuple[Any, Any]:
        """What one head holds with the axis level: volume [m3] and area of its free surface [m2].

        h: levels above the lowest line of the cylinder [m], an array within the diameter.
        Ellipsoidal: (2π/3) R² d x²(3 − 2x) with x = h/D, half of an ellipsoid's. Torispherical: by distance r from
        the axis, V = ∫ depth(r) 2 arccos(c/r) r dr from c = R − h to R; in closed form over the crown, by quadrature
        over the knuckle. Above the axis it is the whole less what is missing.
        """
        if self.form == "flat":
            return h * 0.0, h * 0.0
        if self.form != "torispherical":
            d, share = self.diameter, h / self.diameter
            volume = pi / 6.0 * d * d * self.depth * share**2 * (3.0 - 2.0 * share)
            return volume, pi * self.depth * h * (d - h) / d
        c = self.diameter / 2.0 - h
        volume, area = self._lying(np.abs(c))
        return np.where(c >= 0.0, volume, self._whole - volume), area

    @cached_property
    def _whole(self) -> float:
        """What a torispherical head holds [m3]: twice the half below the axis."""
        return 2.0 * float(self._lying(np.zeros(1))[0][0])

    def _lying(self, c: Any) -> tuple[Any, Any]:
        """Volume and free surface of a torispherical head below a plane that passes c [m] from its axis."""
        r = self.diameter / 2.0
        edge = np.sqrt(np.maximum(r * r - c * c, 0.0))
        inner = np.sqrt(np.maximum(self.meets**2 - c * c, 0.0))
        volume, area = self._crown_lying(c, inner)
        if self.torus > 0.0:
            # s runs along the free surface, r² = c² + s²; s = S − (S − s₀)u² takes the root out of the knuckle's end.
            u, weight = np.polynomial.legendre.leggauss(NODES)
            u, weight = (u + 1.0) / 2.0, weight / 2.0
            span = (edge - inner)[:, None]
            to_edge = span * u**2
            s = edge[:, None] - to_edge
            far = np.sqrt(c[:, None] ** 2 + s**2)
            short = to_edge * (2.0 * edge[:, None] - to_edge) / (r + far)  # r − far, without taking away
            deep = np.sqrt(np.maximum(short * (far - r + 2.0 * self.torus), 0.0))
            piece = deep * 2.0 * span * u * weight * 2.0
            area = area + piece.sum(axis=1)
            volume = volume + (piece * s * np.arctan2(s, c[:, None])).sum(axis=1)
        return volume, area

    def _crown_lying(self, c: Any, s: Any) -> tuple[Any, Any]:
        """The crown's share, in closed form. s: half the free surface's width within the crown [m]."""
        p, b = self.sphere, self.centre
        q2 = p * p - c * c
        sine = np.where(q2 > 0.0, s / np.sqrt(np.where(q2 > 0.0, q2, 1.0)), 0.0)
        turn = np.arcsin(np.minimum(sine, 1.0))
        run = np.sqrt(np.maximum(q2 - s * s, 0.0))
        area = q2 * turn + s * run - 2.0 * b * s
        at = self.meets
        end = -((p * p - at * at) ** 1.5) / 3.0 - b * at * at / 2.0
        piece = (p**3 * np.arctan2(p * s, c * run)  # c ρ⁴ ∫ dφ/(c² + q² sin²φ)
                 + c * (c * c - 2.0 * p * p) * turn + c * (q2 * turn / 2.0 - s * run / 2.0))
        volume = 2.0 * np.arctan2(s, c) * end + 2.0 / 3.0 * piece + b * c * s
        return np.where(s > 0.0, volume, 0.0), np.where(s > 0.0, area, 0.0)


@dataclass(frozen=True)
class Dish(Bounded):
    """A head that stands on its crown, as the bottom of a stack. head: which, not a flat one."""

    head: Head

    def __post_init__(self) -> None:
        if self.head.form == "flat":
            raise ValueError("a dish must have a depth above zero: a flat bottom is no dish")

    @property
    def height(self) -> float:
        """Inside height [m]: the head's depth."""
        return self.head.depth

    def outline(self) -> tuple[Section, ...]:
        """The cross-section through the axis."""
        head = self.head
        if head.form != "torispherical":
            return (Section(0.0, arc(head.diameter / 2.0, head.depth)),)
        half, count = head.meets, ROUND_STEPS // 2
        crown = [half * k / count for k in range(count + 1)]
        points = [(x, head.sphere - sqrt(max(head.sphere**2 - x * x, 0.0))) for x in crown]
        if head.torus > 0.0:
            first = asin(min(1.0, half / head.sphere))
            for k in range(1, count + 1):
                turn = first + (pi / 2 - first) * k / count
                points.append((head.diameter / 2 - head.torus * (1 - sin(turn)), head.depth - head.torus * cos(turn)))
        return (Section(0.0, tuple(points)),)

    def _gross(self, h: Any) -> Any:
        head, radius = self.head, self.head.diameter / 2.0
        if head.form != "torispherical":
            return pi * radius**2 * h * h * (3.0 * head.depth - h) / (3.0 * head.depth**2)
        low = np.minimum(h, self._crown_top)
        cap = pi * low * low * (3.0 * head.sphere - low) / 3.0
        return cap + pi * (self._ring(head.depth - low) - self._ring(np.minimum(head.depth - h, head.depth - low)))

    def _ring(self, y: Any) -> Any:
        """∫ r² dy over the knuckle, y being the depth below its end [m]: r = R − a + √(a² − y²)."""
        a = self.head.torus
        if a == 0.0:
            return y * 0.0
        out = self.head.diameter / 2.0 - a
        y = np.minimum(y, a)
        return out * out * y + out * (y * np.sqrt(a * a - y * y) + a * a * np.arcsin(y / a)) + a * a * y - y**3 / 3.0

    def _area(self, h: Any) -> Any:
        head, radius = self.head, self.head.diameter / 2.0
        if head.form != "torispherical":
            return pi * radius**2 * h * (2.0 * head.depth - h) / head.depth**2
        a = head.torus
        y = np.clip(head.depth - h, 0.0, a)
        knuckle = radius - a + np.sqrt(np.maximum(a * a - y * y, 0.0))
        return np.where(h < self._crown_top, pi * h * (2.0 * head.sphere - h), pi * knuckle**2)

    @cached_property
    def _crown_top(self) -> float:
        """Level at which the crown ends [m]."""
        head = self.head
        return head.sphere - sqrt(max(head.sphere**2 - head.meets**2, 0.0))
