"""The kinds of entry as data: fields, what they need, and the words shown. Forms, files and checks read this table."""

from __future__ import annotations

from dataclasses import dataclass

from dipbook.limits import ACTIVITIES as ACTIVITIES

ACTIVE = "active"
"""In ``from`` and ``to`` of a rate in force: the active system as a whole."""
FLOW_LINE = "flow line"
"""In ``tank`` of a line-up change: where the returns go; ``to`` is "active", a tank, or "none"."""
NOWHERE = "none"


@dataclass(frozen=True, slots=True)
class Field:
    """One field of an entry.

    name: column in the entries file. key: key in the record's payload (SI).
    dimension: "volume", "rate", "mass", "density", "length", "frequency" (strokes a minute), "flow",
    "tank", "tank or active", "state", "activity", "pump", "text".
    label: word on the form. choices: for "state".
    """

    name: str
    key: str
    dimension: str
    label: str
    choices: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of entry.

    name: in files and records. label: on the screen. fields: in the form's order.
    needs: groups of field names; of each group at least one must be given (a "+" joins fields needed together).
    lasts: True if it may have an end. help: one sentence for the form.
    """

    name: str
    label: str
    fields: tuple[Field, ...]
    needs: tuple[tuple[str, ...], ...]
    lasts: bool
    help: str


FROM = Field("from", "from", "tank", "From")
TO = Field("to", "to", "tank", "To")
VOLUME = Field("volume", "volume_m3", "volume", "Volume")
RATE = Field("rate", "rate_m3_s", "rate", "Rate")
MASS = Field("mass", "mass_kg", "mass", "Mass")
DENSITY = Field("density", "density_kg_m3", "density", "Density of what is added")
TANK = Field("tank", "tank", "tank", "Tank")
RUNNING = Field("state", "state", "state", "State", ("done", "running"))
ON_OFF = Field("state", "state", "state", "State", ("on", "off"))
IN_OUT = Field("state", "state", "state", "State", ("in", "out"))
PUMP = Field("pump", "pump", "pump", "Pump")
SPM = Field("spm", "spm", "frequency", "Strokes a minute")
FLOW = Field("flow", "flow_m3_s", "flow", "Flow, all pumps")
ACTIVITY = Field("activity", "activity", "activity", "Activity")
HOLE_DEPTH = Field("hole depth", "hole_depth_m", "length", "Hole depth (measured)")
BIT_DEPTH = Field("bit depth", "bit_depth_m", "length", "Bit depth (measured)")
LENGTH = Field("length", "length_m", "length", "Length")
FULL_PIPE = Field("length", "length_m", "length", "Full pipe above the rotary")
REMARK = Field("remark", "remark", "text", "Remark")
REASON = Field("reason", "reason", "text", "Why")

KINDS: tuple[Kind, ...] = (
    Kind("transfer", "Transfer", (FROM, TO, VOLUME, RATE, RUNNING, REMARK),
         (("from",), ("to",), ("volume", "rate+end", "state")), True,
         "Mud moved from one tank to another. Start it as running and stop it when the valve closes."),
    Kind("addition", "Addition", (TO, VOLUME, MASS, DENSITY, REMARK), (("to",), ("volume", "mass+density")), True,
         "Mud, water or solids put into a tank from outside: a volume, or a mass and the density of the solid."),
    Kind("discard", "Discard", (FROM, VOLUME, RATE, RUNNING, REMARK), (("from",), ("volume", "rate")), True,
         "Mud dumped or lost from a tank, on purpose or known."),
    Kind("line-up", "Line-up change", (TANK, IN_OUT, TO, REMARK), (("tank",), ("state", "to")), False,
         "A tank joins or leaves the active system, or the flow line is turned to another tank."),
    Kind("pumps", "Pumps", (ON_OFF, PUMP, SPM, FLOW, REMARK), (("state",),), False,
         "Pumps on or off, or a change of rate."),
    Kind("depth", "Depth", (HOLE_DEPTH, BIT_DEPTH, REMARK), (("hole depth", "bit depth"),), False,
         "Measured depth of hole and bit. It holds until the next one: log it with each round."),
    Kind("stand filled", "Stand filled", (LENGTH, REMARK), (), False,
         "A new stand was made up and filled with mud."),
    Kind("activity", "Activity", (ACTIVITY, REMARK), (("activity",),), False,
         "What the rig is doing. It chooses the limits that apply; unknown takes the strictest."),
    Kind("rate in force", "Rate in force", (RATE, ON_OFF, Field("from", "from", "tank or active", "From"),
                                            Field("to", "to", "tank or active", "To"), REMARK),
         (("state",), ("from", "to")), False,
         "A steady loss or gain that is known: surface loss, rain, a water valve. The remark names it."),
    Kind("zero", "Zero the difference", (FULL_PIPE, REASON), (("reason",),), False,
         "Start the books anew from the dips now. What was unexplained is written off, with your name."),
    Kind("remark", "Remark", (REMARK,), (("remark",),), False, "Anything worth keeping."),
    Kind("void", "Void", (TANK, REASON), (("reason",),), True,
         "Strike out an entry, or a tank's readings over a time. Both stay visible."),
    Kind("watch", "Watch on or off", (ON_OFF, REASON), (("state",),), False,
         "Off: nobody is watching this log, overdue rounds are not counted. It is shown as not watched."),
)

BY_NAME = {kind.name: kind for kind in KINDS}
ENTRY_KINDS = frozenset(BY_NAME)
