"""The well: volumes on surface and below, moved through time in steps.

What a step moves adds up: what is pumped, displaced by steel, cut, and what comes in, is lost, grows or is vented, ends
in the tanks, in the hole or outside. ``gap_m3`` says by how much it doesn't, which rounding alone may make.

The books' own terms are not used: the same volumes are found here from the state of the well, by other code.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from dipbook.drill.bore import Bore
from dipbook.drill.column import Column
from dipbook.drill.cuttings import Cuttings
from dipbook.drill.ground import Breathing, Formation, Thief
from dipbook.drill.pits import ACTIVE, Pits
from dipbook.drill.profile import IN_THE_HOLE_M, Profile, profile, vertical_depth
from dipbook.mud.gas import GRAVITY, STANDARD_ATMOSPHERE
from dipbook.rig.model import Rig

FRICTION_POWER = 1.8
"""Friction in the annulus goes with the flow to this power (turbulent flow, common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Manner:
    """How the well departs from what the books take for granted; all nothing: it obeys them.

    friction_pa: in the annulus at reference_m3_s [Pa, m3/s]. spin_up_s: over which the pumps come to their flow.
    return_lag_s: time constant of the flow line. falls_s: of mud that falls in the pipe. gas_slip_m_s: of free gas
    through mud. swab_pa: at swab_m_s, pulling: off the pressure below the bit; running in: on top of it. wider: share
    by which the hole cut is larger than the rig file has it [-].
    """

    friction_pa: float = 0.0
    reference_m3_s: float = 1.0
    spin_up_s: float = 0.0
    return_lag_s: float = 0.0
    falls_s: float = 40.0
    gas_slip_m_s: float = 0.0
    swab_pa: float = 0.0
    swab_m_s: float = 1.0
    wider: float = 0.0


@dataclass(slots=True)
class Well:
    """rig: as described. manner: how it behaves. bore, pits, column, cuttings: their parts of it. hole_m: how deep it
    is [m]. hole_m3: what it would hold without pipe. flow_m3_s: now; asked_m3_s: what the pumps come to. speed_m_s: of
    the bit, + down. drilling: on bottom, the hole goes along with the bit. open_top: the pipe is open at the top.
    plugged: nothing leaves it at the bit. lets_in: mud may come in at the bit. tops_up: the tank that keeps the hole
    full, "" none. shut: the well is shut in. draws: the place that the pumps draw from, of mud of draws_kg_m3.
    """

    rig: Rig
    manner: Manner
    bore: Bore
    pits: Pits
    column: Column
    cuttings: Cuttings
    hole_m: float
    hole_m3: float
    scale: float
    flow_m3_s: float = 0.0
    asked_m3_s: float = 0.0
    speed_m_s: float = 0.0
    drilling: bool = False
    open_top: bool = False
    plugged: bool = False
    lets_in: bool = False
    tops_up: str = ""
    shut: bool = False
    draws: str = ACTIVE
    draws_kg_m3: float = 0.0
    now_s: float = 0.0
    formations: list[Formation] = field(default_factory=list)
    thieves: list[Thief] = field(default_factory=list)
    breathing: list[Breathing] = field(default_factory=list)
    around_m3: float = 0.0
    liquid_out_m3: float = 0.0
    rock_m3: float = 0.0
    wet_lost_m3: float = 0.0
    shape: Profile = field(default_factory=lambda: Profile((), ()))
    shape_at: tuple[float, float] = (-1.0, -1.0)
    began_m3: float = 0.0

    def __post_init__(self) -> None:
        self._reshape()
        self.around_m3 = self.room_m3
        self.began_m3 = self.holds_m3

    @property
    def room_m3(self) -> float:
        """What the hole holds around the pipe as it stands [m3]."""
        return self.hole_m3 - self.bore.string.closed(max(self.bore.bit_m, 0.0))

    @property
    def holds_m3(self) -> float:
        """All mud and rock on surface and below, without what came in [m3]."""
        return self.pits.total_m3 + self.bore.held_m3 + self.around_m3

    @property
    def gap_m3(self) -> float:
        """What doesn't add up [m3], of what was there at the start, came and went; and around the pipe, of the room
        that the hole has. The larger of the two."""
        lost = sum(t.lost_m3 for t in self.thieves) + sum(b.held_m3 for b in self.breathing)
        due = (self.began_m3 + self.pits.in_m3 - self.pits.gone_m3 + self.rock_m3 + self.liquid_out_m3 - lost)
        around = self.around_m3 + self.column.influx_m3 + self.column.empty_m3 - self.room_m3
        return max(abs(self.holds_m3 - due), abs(around))

    @property
    def came_m3(self) -> float:
        """What came in so far, as it came in [m3]."""
        return sum(f.came_m3 for f in self.formations)

    @property
    def lost_m3(self) -> float:
        """What the ground took so far [m3], what it gave back not taken off."""
        return sum(t.lost_m3 for t in self.thieves) + sum(b.lost_m3 for b in self.breathing)

    @property
    def returned_m3(self) -> float:
        """What the ground gave back of it [m3]."""
        return sum(b.returned_m3 for b in self.breathing)

    def excess(self, depth_m: float) -> float:
        """Pressure in the hole over that of its mud column at rest, full and clean [Pa]. depth_m: measured [m]."""
        mud = self.column.mud_kg_m3 * GRAVITY
        deep = vertical_depth(self.column.survey, depth_m)
        still = self.column.pressure(self.shape, depth_m, there_too=True) - STANDARD_ATMOSPHERE - mud * deep
        m = self.manner
        moving = m.friction_pa * (self.flow_m3_s / m.reference_m3_s) ** FRICTION_POWER if self.flow_m3_s else 0.0
        piston = 0.0 if self.drilling or self.bore.bit_m <= IN_THE_HOLE_M else m.swab_pa * self.speed_m_s / m.swab_m_s
        return still + moving + piston

    def step(self, dt_s: float) -> None:
        """Move on by a time [s]."""
        self.now_s += dt_s
        flow = self._spun_up(dt_s)
        room = self.room_m3
        rock = self._moved(dt_s)
        through = self._pumped(flow * dt_s)
        if self.shut:
            self.pits.come_back(0.0, dt_s, self.flow_m3_s, 0.0)
            return
        fell = self._fell(dt_s)
        came = sum(self._flows(f, dt_s) for f in self.formations)
        lost = sum(t.taken(self.excess(t.depth_m), dt_s) for t in self.thieves)
        lost += sum(b.taken(self.excess(b.depth_m), dt_s) for b in self.breathing)
        liquid = self.column.liquid_m3
        grew, vented = self.column.rises(self.shape, through / dt_s, self.bore.bit_m, self.manner.gas_slip_m_s, dt_s)
        liquid -= self.column.liquid_m3
        self.liquid_out_m3 += liquid
        pushed = through + fell + rock + came + grew - lost - (self.room_m3 - room) - vented
        over = pushed - self.column.empty_m3
        self.column.empty_m3 = max(0.0, -over)
        out = max(0.0, over)
        self.around_m3 += through + fell + rock - lost + liquid - out
        self._topped_up()
        off = self.cuttings.pumped(min(through, out))     # with losses less comes up than is pumped
        self.pits.put("", off)
        self.pits.come_back(out - off, dt_s, self.flow_m3_s, self.manner.return_lag_s)

    def unloads(self, dt_s: float, share: float) -> bool:
        """True if within a time [s] what came in would fill more than a share of the hole around the pipe: near the top
        gas grows without bound, and one step could push out more mud than there is."""
        if self.shut or not self.column.parcels:
            return False
        flow = max(self.flow_m3_s, self.asked_m3_s)
        return self.column.would_take(self.shape, flow, self.bore.bit_m, self.manner.gas_slip_m_s, dt_s) \
            > share * self.room_m3

    def _spun_up(self, dt_s: float) -> float:
        """The flow in this step [m3/s], on its way to what is asked."""
        before = self.flow_m3_s
        if self.manner.spin_up_s <= 0.0:
            self.flow_m3_s = self.asked_m3_s
            return self.flow_m3_s
        most = self.manner.reference_m3_s / self.manner.spin_up_s * dt_s
        self.flow_m3_s += max(-most, min(most, self.asked_m3_s - before))
        return (before + self.flow_m3_s) / 2.0

    def _moved(self, dt_s: float) -> float:
        """Move the pipe; returns the rock cut [m3]."""
        far = self.speed_m_s * dt_s
        if not far:
            return 0.0
        self.bore.bit_m += far
        self.bore.above_m -= far
        rock = 0.0
        if self.drilling and self.bore.bit_m > self.hole_m:
            capacity = self.rig.hole.capacity if self.rig.hole is not None else None
            rock = (capacity or 0.0) * (1.0 + self.manner.wider) * (self.bore.bit_m - self.hole_m)
            self.hole_m = self.bore.bit_m
            self.hole_m3 += rock
            self.rock_m3 += rock
            self.cuttings.cut(rock)
        if abs(self.bore.bit_m - self.shape_at[0]) > 1.0:
            self._reshape()
        return rock

    def _reshape(self) -> None:
        self.shape = profile(self.rig, self.bore.string, max(self.bore.bit_m, 0.0), self.hole_m, self.scale)
        self.shape_at = (self.bore.bit_m, self.hole_m)

    def _pumped(self, volume_m3: float) -> float:
        """Mud pumped [m3]; returns what went out at the bit."""
        if volume_m3 <= 0.0:
            return 0.0
        drawn = self.pits.draw(self.draws, volume_m3)
        room = max(0.0, self.bore.capacity_m3 - self.bore.held_m3)
        self.bore.add(drawn, self.draws_kg_m3 or self.column.mud_kg_m3)
        return self.bore.take_below(max(0.0, drawn - room))

    def _fell(self, dt_s: float) -> float:
        """What fell out of the pipe at the bit [m3], below 0 what came in."""
        if not self.open_top or self.plugged or self.flow_m3_s or self.bore.bit_m <= 0.0:
            return 0.0
        outside = self.column.pressure(self.shape, self.bore.bit_m) - STANDARD_ATMOSPHERE
        return self.bore.falls(outside, dt_s, self.manner.falls_s, lets_in=self.lets_in,
                               weight_kg_m3=self.column.mud_kg_m3)

    def _flows(self, f: Formation, dt_s: float) -> float:
        """Room that what a formation gives takes [m3]."""
        if self.hole_m < f.depth_m - 1e-9:
            return 0.0
        excess = self.excess(f.depth_m)
        came = f.gives(excess, dt_s)
        if came <= 0.0:
            return 0.0
        at = STANDARD_ATMOSPHERE + self.column.mud_kg_m3 * GRAVITY * vertical_depth(self.column.survey, f.depth_m)
        return self.column.comes_in(f.fluid, came, f.depth_m, at + excess, self.now_s)

    def _topped_up(self) -> None:
        """The trip tank keeps the hole full, as far as it goes."""
        if self.tops_up and self.column.empty_m3 > 0.0:
            filled = min(self.column.empty_m3, self.pits.volumes[self.tops_up])
            self.pits.volumes[self.tops_up] -= filled
            self.column.empty_m3 -= filled
            self.around_m3 += filled

    def fill_pipe(self, place: str) -> float:
        """Fill the pipe to its top from a place; returns what that took [m3]."""
        took = self.pits.draw(place, max(0.0, self.bore.capacity_m3 - self.bore.held_m3))
        self.bore.add(took, self.column.mud_kg_m3)
        return took

    def add_stand(self, length_m: float) -> None:
        """An empty stand goes on top [m]."""
        self.bore.above_m += length_m

    def rack_stand(self, length_m: float, back: str, share: float) -> None:
        """The stand above the rotary goes to the derrick [m]. What still stands in it drains back into the hole, unless
        the pipe is plugged: then a share of it is put back into a tank, and the rest is gone. back: the tank."""
        self.bore.above_m = max(0.0, self.bore.above_m - length_m)
        stood = self.bore.take_above(max(0.0, self.bore.held_m3 - self.bore.capacity_m3))
        if self.plugged:
            self.pits.put(back, share * stood)
            self.pits.put("", (1.0 - share) * stood)
            return
        over = stood - self.column.empty_m3
        self.column.empty_m3 = max(0.0, -over)
        self.around_m3 += stood - max(0.0, over)
        self.pits.put(self.pits.route, max(0.0, over))
