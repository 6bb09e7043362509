"""The rig as the engine sees it: frozen, SI. The file it comes from is dipbook.rig.document."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from dipbook.limits import Limit
from dipbook.tanks.tank import Tank
from dipbook.well import Hole as Sections
from dipbook.well import Part, String, Survey

ROLES = ("sand trap", "settling", "degasser", "desander", "desilter", "intermediate", "suction",
         "reserve", "slug", "pill", "trip", "chemical", "premix")
"""In flow order from the shaker to the suction, then the rest."""


@dataclass(frozen=True, slots=True)
class Pump:
    """One mud pump. name: as in the file; output_m3: volume per stroke (one revolution) [m3]."""

    name: str
    output_m3: float


@dataclass(frozen=True, slots=True)
class Hole:
    """The hole in typed values; None where not set.

    capacity: Ch, hole volume per length [m3/m]. annulus_m3: annular volume, for the lag [m3].
    lag_ms: lag while circulating, when no flow is known [ms] (0 is allowed when typed).
    carried_off: ε, share of the cuttings that leaves the system [-]. porosity: φ [-].
    mud_on_cuttings: r, mud kept on cuttings per volume of cuttings [-]. None for the three: not set.
    volume_m3: mud in the hole with the string in it [m3], to compare the usable mud with.
    """

    capacity: float | None = None
    annulus_m3: float | None = None
    lag_ms: int | None = None
    carried_off: float | None = None
    porosity: float | None = None
    mud_on_cuttings: float | None = None
    volume_m3: float | None = None


@dataclass(frozen=True, slots=True)
class Pipe:
    """The drill pipe in typed values.

    steel: d, steel volume per length [m3/m]. bore: c, bore volume per length [m3/m]. stand_m: Ls [m].
    float_closed: True, False, or None when not set.
    """

    steel: float
    bore: float
    stand_m: float
    float_closed: bool | None = None


@dataclass(frozen=True, slots=True)
class DrainBack:
    """Mud that lines and surface equipment hold at flow: L settles at G(Q).

    at: rows (flow [m3/s], volume [m3]), rising flow, without (0, 0), which is implied.
    falling_s, rising_s: time constants [s]; falling_s None when curve is given.
    curve: rows (seconds after pumps off, volume returned [m3]) from the highest row of ``at``, or ().
    stopped_m3_s: flow back that counts as stopped [m3/s], None where nobody said.
    """

    at: tuple[tuple[float, float], ...]
    falling_s: float | None
    rising_s: float
    curve: tuple[tuple[float, float], ...] = ()
    stopped_m3_s: float | None = None


@dataclass(frozen=True, slots=True)
class Equipment:
    """Solids-control equipment, or a line, that fills once from the active tanks when it starts and drains back.

    name: as in the file. holds_m3: its hold-up [m3]. fills_s, drains_s: how long that takes [s], 0 at once. on: running
    at the start.
    """

    name: str
    holds_m3: float
    fills_s: float = 0.0
    drains_s: float = 0.0
    on: bool = False


VALVE_KINDS = ("gate", "suction", "dump", "water", "other")


@dataclass(frozen=True, slots=True)
class Valve:
    """A valve or gate of the pits, for the line-up board.

    kind: of VALVE_KINDS. tank: at which it sits. to: the other tank of a gate, "" for none. open: at the start.
    equalises: while this gate is open the two tanks stand at one level: one that isn't gauged takes the other's.
    step_m: how much higher the bottom of ``tank`` is than the bottom of ``to`` [m].
    isolates: the tank that leaves the active system when this is closed and joins when it is opened, "" for none.
    """

    name: str
    kind: str
    tank: str
    to: str = ""
    open: bool = False
    equalises: bool = False
    step_m: float = 0.0
    isolates: str = ""


@dataclass(frozen=True, slots=True)
class FillRule:
    """The rig's own rule for filling the hole, pulling out: the smaller where it has both.

    stands: between two fills, None not in the rule. pressure_pa: that may be lost between them [Pa], None the same.
    set_by, reason, since: who set it, why and since when, as written.
    """

    stands: int | None
    pressure_pa: float | None
    set_by: str
    reason: str
    since: str


@dataclass(frozen=True, slots=True)
class Person:
    """One of the crew. name: as it is signed with; role: in the crew's own words, "" where nobody said."""

    name: str
    role: str = ""


@dataclass(frozen=True, slots=True)
class Tour:
    """One shift of the day. code: as a report is asked for by it; start_min: when it begins by the rig's clock
    [minutes after midnight]. It lasts until the next one begins."""

    code: str
    start_min: int


@dataclass(frozen=True, slots=True)
class Rig:
    """A rig as described in its file.

    name; invented: True for demo rigs; zone: IANA name; decimal: "." or ",".
    units: dimension ("level", "volume", "length", "density", "flow", "temperature", "pressure", "speed") -> unit
    symbol, for bare numbers and display.
    tanks: in gauging order. pumps, hole, pipe, drain_back, equipment, valves, string (from the bit up), sections (of
    the hole, from the rotary down), fill_rule, survey (None: taken as vertical): None or () where not described.
    limits: as set. crew: whose names are offered where somebody says who it is. tours: of a day, by their start.
    """

    name: str
    invented: bool
    zone: str
    decimal: str
    units: Mapping[str, str]
    tanks: tuple[Tank, ...]
    pumps: tuple[Pump, ...] = ()
    hole: Hole | None = None
    pipe: Pipe | None = None
    drain_back: DrainBack | None = None
    limits: tuple[Limit, ...] = ()
    equipment: tuple[Equipment, ...] = ()
    valves: tuple[Valve, ...] = ()
    string: String | None = None
    sections: Sections | None = None
    fill_rule: FillRule | None = None
    survey: Survey | None = None
    crew: tuple[Person, ...] = ()
    tours: tuple[Tour, ...] = ()

    def tank(self, name: str) -> Tank:
        """The tank called ``name``. Raises KeyError if there is none."""
        for tank in self.tanks:
            if tank.name == name:
                return tank
        raise KeyError(name)

    @property
    def whole_string(self) -> String | None:
        """The string by its parts, or else its drill pipe alone; None where the file describes neither."""
        if self.string is not None or self.pipe is None:
            return self.string
        return String((Part("drill pipe", "drill pipe", self.pipe.steel, self.pipe.bore),))

    @property
    def active_at_start(self) -> frozenset[str]:
        """Names of the tanks that the file says are lined up."""
        return frozenset(t.name for t in self.tanks if t.active)
