"""One tank: a shape, how it is gauged, and what it is for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from dipbook.tanks.shapes import Shape


@dataclass(frozen=True, slots=True)
class Tank:
    """A tank as the engine sees it, SI.

    name, role, active (lined up at the start), order (gauging order). shape: inside geometry.
    gauge: "up" (innage: the dip is the level above the gauge point) or "down" (outage from a mark).
    mark_m: height of the mark above the tank's bottom [m], for "down".
    offset_m: height of the gauge point above the bottom [m], for "up" (a datum plate, say).
    dip_error_m: half-width of a dip's error [m], or None when nobody set it (a finding).
    heel_m: level below which the mud can't be drawn [m]; brim_m: level at which it runs over [m].
    percent_of: "level", "volume" or "" (a percentage is refused).
    fresh_for_ms: age at which a dip is stale [ms], or None.
    internals_m3: volume displaced by agitators, coils and the like over the full height [m3]. It is taken as the same
    share of the gross volume at every level: evenly over the height of a tank with upright walls, and in a narrow
    bottom in proportion to the little that it holds.
    """

    name: str
    role: str
    active: bool
    order: int
    shape: Shape
    gauge: str = "up"
    mark_m: float = 0.0
    offset_m: float = 0.0
    dip_error_m: float | None = None
    heel_m: float = 0.0
    brim_m: float | None = None
    percent_of: str = ""
    fresh_for_ms: int | None = None
    internals_m3: float = 0.0

    def level_of_dip(self, dip_m: Any) -> Any:
        """Level above the bottom [m] of a dip [m] in this tank's datum (scalar or array)."""
        return self.mark_m - dip_m if self.gauge == "down" else dip_m + self.offset_m

    def dip_of_level(self, level_m: Any) -> Any:
        """What the stick reads [m] at a level above the bottom [m] (scalar or array)."""
        return self.mark_m - level_m if self.gauge == "down" else level_m - self.offset_m

    def volume(self, level_m: Any) -> Any:
        """Mud volume [m3] at a level above the bottom [m] (scalar or array); never clamped, NaN outside a
        table."""
        return self.shape.volume(level_m) * self._net

    def slope(self, level_m: Any) -> Any:
        """dV/dlevel [m2] at a level above the bottom [m] (scalar or array)."""
        return self.shape.slope(level_m) * self._net

    def level(self, volume_m3: Any) -> Any:
        """Level above the bottom [m] that holds a volume [m3] (scalar or array)."""
        return self.shape.level(volume_m3 / self._net)

    @property
    def top_m(self) -> float:
        """The level at which it runs over [m]: the brim, or the shape's height."""
        return self.brim_m if self.brim_m is not None else self.shape.height

    @property
    def capacity_m3(self) -> float:
        """Volume at the brim [m3]."""
        return float(self.volume(self.top_m))

    @property
    def _net(self) -> float:
        """Share of the gross volume left by the internals [-], the same at every level."""
        if not self.internals_m3:
            return 1.0
        gross = float(self.shape.volume(self.shape.height))
        return 1.0 - self.internals_m3 / gross
