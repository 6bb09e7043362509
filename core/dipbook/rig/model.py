"""The rig as the engine sees it: frozen, SI. The file it comes from is dipbook.rig.document."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from dipbook.limits import Limit
from dipbook.tanks.tank import Tank

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
    """

    capacity: float | None = None
    annulus_m3: float | None = None
    lag_ms: int | None = None
    carried_off: float | None = None
    porosity: float | None = None
    mud_on_cuttings: float | None = None


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
    """

    at: tuple[tuple[float, float], ...]
    falling_s: float | None
    rising_s: float
    curve: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Rig:
    """A rig as described in its file.

    name; invented: True for demo rigs; zone: IANA name; decimal: "." or ",".
    units: dimension ("level", "volume", "length", "density", "flow") -> unit symbol, for bare numbers and display.
    tanks: in gauging order. pumps, hole, pipe, drain_back: None or () where not described. limits: as set.
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

    def tank(self, name: str) -> Tank:
        """The tank called ``name``. Raises KeyError if there is none."""
        for tank in self.tanks:
            if tank.name == name:
                return tank
        raise KeyError(name)

    @property
    def active_at_start(self) -> frozenset[str]:
        """Names of the tanks that the file says are lined up."""
        return frozenset(t.name for t in self.tanks if t.active)
