"""What a drill leaves: readings, entries, rows of a trip's sheet, and the truth. Plain data, SI, UTC ms."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

Values = Mapping[str, float | str]


@dataclass(slots=True)
class Reading:
    """t_ms: of the round. bit_m, hole_m: measured depths [m]. dips: tank -> what its gauge says, in its own datum [m];
    None where it can't be read. at_ms: when each was read."""

    t_ms: int
    bit_m: float
    hole_m: float
    dips: dict[str, float | None] = field(default_factory=dict)
    at_ms: dict[str, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Entry:
    """t_ms, end_ms: when; None for an instant. kind: of dipbook.entries. values: field -> what was logged, SI or
    words."""

    t_ms: int
    kind: str
    values: Values
    end_ms: int | None = None


@dataclass(frozen=True, slots=True)
class TripRow:
    """One row of a trip's sheet. kind: "stand", "refill" or "fill". stand: its number. bit_m: after it [m]. tank,
    dip_m: the trip tank and what its gauge says [m]. source: the tank of a refill. out: True out of the hole."""

    t_ms: int
    kind: str
    stand: int
    bit_m: float
    tank: str
    dip_m: float | None
    source: str = ""
    out: bool = True


@dataclass(frozen=True, slots=True)
class Truth:
    """What was so. influx_m3: come in by then, as it came in. loss_m3, returned_m3: taken by the ground and given back,
    never netted. in_hole_m3: room that the influx takes. event: what began or ended then, "" nothing. came_out_m3:
    liquid of the influx that came out at the top and is in the tanks now."""

    t_ms: int
    influx_m3: float
    loss_m3: float
    returned_m3: float
    in_hole_m3: float
    event: str = ""
    came_out_m3: float = 0.0


@dataclass(frozen=True, slots=True)
class Sign:
    """Something that the well did. kind: "gain", "loss" or "look". event: which. from_ms: when it began to flow."""

    kind: str
    event: str
    from_ms: int


@dataclass(frozen=True, slots=True)
class Act:
    """What a trainee did. kind: "flow check", "shut-in", "told driller", "space out", "pumps off", "logged" or "named".
    text: of a flow check its result, of a call or a name what it was called."""

    t_ms: int
    kind: str
    text: str = ""
