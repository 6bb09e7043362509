"""The string, from the bit up: what of it is in the hole at a bit depth, and the three volumes of that."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, isfinite, isnan

from dipbook.tubulars import Tubular
from dipbook.well.hole import Hole, Section


@dataclass(frozen=True, slots=True)
class Part:
    """A length of the string of one kind. name; kind: of tubulars.KINDS. steel_m2, bore_m2: for a length [m3/m].
    length_m: [m]; inf for the pipe at the top, of which there is as much as is needed.
    """

    name: str
    kind: str
    steel_m2: float
    bore_m2: float
    length_m: float = inf

    def __post_init__(self) -> None:
        if not (self.steel_m2 > 0.0 and self.bore_m2 >= 0.0 and self.length_m > 0.0
                and isfinite(self.steel_m2) and isfinite(self.bore_m2)):
            raise ValueError(f"{self.name}: steel and length must be above zero, and its bore not below it")

    @property
    def closed_m2(self) -> float:
        """Steel and bore for a length [m3/m]."""
        return self.steel_m2 + self.bore_m2


def of(tubular: Tubular, length_m: float = inf, *, steel_m2: float | None = None, bore_m2: float | None = None) -> Part:
    """A part made of a tubular. length_m: [m]. steel_m2, bore_m2: of the pipe's own data sheet, which goes first, or
    None for the catalogue's [m3/m]. tubular: of the catalogue.
    """
    return Part(tubular.name, tubular.kind, tubular.steel_m2 if steel_m2 is None else steel_m2,
                tubular.bore_m2 if bore_m2 is None else bore_m2, length_m)


@dataclass(frozen=True)
class String:
    """Parts from the bit up. Volumes are sums over them, as tapered as they are."""

    parts: tuple[Part, ...]

    def __post_init__(self) -> None:
        if any(not isfinite(p.length_m) for p in self.parts[:-1]):
            raise ValueError("only the part at the top may be without a length")

    @property
    def length_m(self) -> float:
        """Of all its parts [m]; inf where the top one has no length."""
        return sum(p.length_m for p in self.parts)

    def spans(self, from_m: float, to_m: float) -> Sequence[tuple[Part, float]]:
        """(part, length [m]) between two distances above the bit [m]. from_m, to_m: the lower one first."""
        found: list[tuple[Part, float]] = []
        begin = 0.0
        for p in self.parts:
            end = begin + p.length_m
            length = min(to_m, end) - max(from_m, begin)
            if length > 0.0:
                found.append((p, length))
            begin = end
        return found

    def steel(self, bit_m: float, from_m: float = 0.0) -> float:
        """Steel of what is in the hole [m3]. bit_m: bit depth [m]; from_m: only above this distance from the bit [m].

        NaN where the string is shorter than that, or a depth is unknown.
        """
        return self._sum(from_m, bit_m, "steel_m2")

    def bore(self, bit_m: float, from_m: float = 0.0) -> float:
        """What the bore of that holds [m3]. bit_m, from_m: as of ``steel``."""
        return self._sum(from_m, bit_m, "bore_m2")

    def closed(self, bit_m: float, from_m: float = 0.0) -> float:
        """Steel and bore of that [m3]. bit_m, from_m: as of ``steel``."""
        return self.steel(bit_m, from_m) + self.bore(bit_m, from_m)

    def at(self, bit_m: float, depth_m: float) -> Part | None:
        """The part at a depth, None where there is none. bit_m: bit depth; depth_m: measured depth [m]."""
        found = self.spans(bit_m - depth_m, bit_m - depth_m + 1e-9)
        return found[0][0] if found and depth_m <= bit_m else None

    def _sum(self, from_m: float, to_m: float, what: str) -> float:
        if isnan(from_m) or not to_m <= self.length_m + 1e-6:
            return float("nan")
        return float(sum(getattr(p, what) * length for p, length in self.spans(from_m, to_m)))


def annulus(hole: Hole, string: String, bit_m: float) -> tuple[tuple[Section, float], ...]:
    """Mud between hole and string, by section from the rotary down [m3]: the hole's volume less steel and bore.

    hole: its sections. string: in it. bit_m: bit depth [m]. Below the bit: ``hole.volume(bit_m, hole.bottom_m)``.
    NaN in every section where the bit is below the hole, the string too short to reach it, or the depth unknown. Below
    zero where pipe is wider than the hole: nothing is clamped.
    """
    if not bit_m <= min(hole.bottom_m, string.length_m) + 1e-6:
        return tuple((section, float("nan")) for section in hole.sections)
    found: list[tuple[Section, float]] = []
    for section, a, b in hole.between(0.0, bit_m):
        inside = sum(p.closed_m2 * length for p, length in string.spans(bit_m - b, bit_m - a))
        found.append((section, section.capacity_m2 * (b - a) - inside))
    return tuple(found)
