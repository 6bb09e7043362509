"""The kinds of entry as data: fields, what they need, and the words shown. Forms, files and checks read this table."""

from __future__ import annotations

from dataclasses import dataclass

from dipbook.limits import ACTIVITIES as ACTIVITIES
from dipbook.trips.ways import IN_WAYS, OUT_WAYS

ACTIVE = "active"
"""In ``from`` and ``to`` of a rate in force: the active system as a whole."""
FLOW_LINE = "flow line"
"""In ``tank`` of a line-up change: where the returns go; ``to`` is "active", a tank, or "none"."""
NOWHERE = "none"


@dataclass(frozen=True, slots=True)
class Field:
    """One field of an entry.

    name: column in the entries file. key: key in the record's payload (SI).
    dimension: "volume", "rate", "mass", "density", "length", "frequency" (strokes a minute), "flow", "duration",
    "temperature", "pressure", "speed" (length per time), "percent" (a number of 0 to 100), "level" (what the stick
    says, in the tank's own datum), "minutes" (volumes read minute by minute, a list), "tank", "tank or active", "state"
    (one of the choices), "activity", "pump", "equipment", "valve", "salt", "text".
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
    lasts: True if it may have an end. help: one sentence for the form. group: a key of GROUPS.
    """

    name: str
    label: str
    fields: tuple[Field, ...]
    needs: tuple[tuple[str, ...], ...]
    lasts: bool
    help: str
    group: str = ""


FROM = Field("from", "from", "tank", "From")
TO = Field("to", "to", "tank", "To")
VOLUME = Field("volume", "volume_m3", "volume", "Volume")
RATE = Field("rate", "rate_m3_s", "rate", "Rate")
MASS = Field("mass", "mass_kg", "mass", "Mass")
DENSITY = Field("density", "density_kg_m3", "density", "Density of what is added")
SLUG_DENSITY = Field("density", "density_kg_m3", "density", "Slug's weight")
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
MATERIAL = Field("material", "material", "text", "What it is")
REASON = Field("reason", "reason", "text", "Why")

STATE_OF_NOTICE = Field("state", "state", "state", "State", ("announced", "answered", "called off", "moved"))
TOLD = Field("told", "told", "text", "Who was told")
ANSWER = Field("answer", "answer", "text", "The answer")
WHAT = Field("what", "what", "text", "What")
MUD_DENSITY = Field("mud_density", "mud_density_kg_m3", "density", "Mud weight in the pipe")
RETURN_TIME = Field("return", "return_s", "duration", "It falls back over")
BEFORE = Field("before", "before_m", "level", "Stick before")
AFTER = Field("after", "after_m", "level", "Stick after")
TREND = Field("trend", "trend", "state", "Trend", ("none", "falling", "steady", "rising"))
EQUIPMENT = Field("equipment", "equipment", "equipment", "Equipment")
VALVE = Field("valve", "valve", "valve", "Valve")

PILL_KINDS = ("pill", "sweep", "spacer", "cement")
SETTLED, MUD = "settled solids", "mud"
WATER_VALVE = "water valve"
RATE_KINDS = ("surface loss", "discharge", "rain", "wash-down", WATER_VALVE, "evaporation", "shaker", "underflow",
              "centrifuge", "other")
KEPT_ON_CUTTINGS = ("shaker", "underflow")
"""Rates that take what ``mud_on_cuttings`` (r) books too: either, not both."""
GAS_KINDS = ("background", "connection", "trip", "drilled")
FLOW_CHECK_RESULTS = ("static", "flowing", "losing", "unclear")
ON_SCREENS, BYPASSED = "on screens", "bypassed"
SHUT_IN, OPENED = "shut in", "opened"
OPEN, CLOSED = "open", "closed"
ACCEPTED, NOT_ACCEPTED = "accepted", "not accepted"
ADOPTED, WITHDRAWN = "adopted", "withdrawn"

TRIP, TRIP_END, TRIP_DECISION = "trip", "trip end", "trip decision"
HANDOVER, HANDOVER_CONFIRMED = "handover", "handover confirmed"
LIMITS_APPROVED = "limits approved"
PIT_DRILL, PIT_DRILL_STEP, PIT_DRILL_END, FLOAT_PROVED = (
    "pit drill", "pit drill step", "pit drill end", "float proved")
PIT_DRILL_KINDS = (PIT_DRILL, PIT_DRILL_STEP, PIT_DRILL_END, FLOAT_PROVED)
PIT_DRILL_STEPS = ("recognised", "driller told", "flow check", "pumps off", "ready to close", "complete")
"""What a crew does in a pit drill, in its order."""
ENDED, CALLED_OFF = "ended", "called off"
OUT, IN = "out", "in"
CIRCULATED, NOT_CIRCULATED = "circulated", "not circulated"

GROUPS = {"moves": "Mud moved", "state": "Line-up and equipment", "well": "Well and pumps", "trips": "Trips",
          "checks": "Checks and calls", "book": "The log itself"}
"""Groups of kinds, in the order in which a chooser shows them: key -> words."""

KINDS: tuple[Kind, ...] = (
    Kind("transfer", "Transfer", (FROM, TO, VOLUME, RATE, RUNNING, REMARK),
         (("from",), ("to",), ("volume", "rate+end", "state")), True,
         "Mud moved from one tank to another. Start it as running and stop it when the valve closes.", "moves"),
    Kind("addition", "Addition", (TO, MATERIAL, VOLUME, MASS, DENSITY, REMARK),
         (("to",), ("volume", "mass+density")), True,
         "Mud, water or solids put into a tank from outside: a volume, or a mass and the density of the solid.",
         "moves"),
    Kind("discard", "Discard", (FROM, VOLUME, RATE, RUNNING, REMARK), (("from",), ("volume", "rate")), True,
         "Mud dumped or lost from a tank, on purpose or known.", "moves"),
    Kind("slug", "Slug pumped", (FROM, VOLUME, SLUG_DENSITY, MUD_DENSITY, RETURN_TIME, REMARK),
         (("from",), ("volume",), ("density",), ("mud_density",)), True,
         "Heavy mud pumped into the pipe. What it lifts out comes back to the tanks while it falls.", "moves"),
    Kind("pill", "Pill, sweep or spacer", (Field("what", "what", "state", "What it is", PILL_KINDS), FROM, VOLUME,
                                            Field("density", "density_kg_m3", "density", "Its weight"), REMARK),
         (("what",), ("from",), ("volume",)), True,
         "Pumped into the well from a tank: as much mud comes back. Log a discard only if it is dumped on its return.",
         "moves"),
    Kind("salt", "Salt dissolved", (TO, Field("salt", "salt", "salt", "Salt"), MASS,
                                    Field("into", "into_m3", "volume", "Water or brine it goes into"),
                                    Field("had", "had_percent", "percent", "Salt already in it, % by weight"), REMARK),
         (("to",), ("salt",), ("mass",), ("into",)), True,
         "Salt takes less room dissolved than as grains: the volume follows from a table.", "moves"),
    Kind("trap dump", "Sand trap dumped", (FROM, BEFORE, AFTER, Field("what", "what", "state", "What went",
                                                                      (SETTLED, MUD)), REMARK),
         (("from",), ("before",), ("after",), ("what",)), True,
         "Dumped, by the stick before and after.", "moves"),
    Kind("boat", "Boat", (TO, FROM, BEFORE, AFTER, VOLUME,
                          Field("ticket", "ticket_m3", "volume", "Volume on the ticket"),
                          Field("hose", "hose_m3", "volume", "Left in the hose"), REMARK),
         (("to", "from"), ("before+after", "volume")), True,
         "Mud taken from or given to a boat: booked by this rig's own dips, the ticket is noted beside it.", "moves"),
    Kind("about to move mud", "About to move mud", (FROM, TO, VOLUME, TOLD, ANSWER, STATE_OF_NOTICE, REMARK),
         (("from", "to"), ("told",)), False,
         "Say it before a valve moves, and wait for the answer.", "moves"),
    Kind("valve", "Valve or gate", (VALVE, Field("state", "state", "state", "State", (OPEN, CLOSED)), REMARK),
         (("valve",), ("state",)), False,
         "A gate, dump, suction or water valve was opened or closed.", "state"),
    Kind("equipment", "Equipment", (EQUIPMENT, ON_OFF,
                                    Field("volume", "volume_m3", "volume", "Volume, if measured"), REMARK),
         (("equipment",), ("state",)), False,
         "Solids control, or a line: starting fills it from the tanks once, stopping drains it back.", "state"),
    Kind("shakers", "Shakers", (Field("state", "state", "state", "Returns", (ON_SCREENS, BYPASSED)), REMARK),
         (("state",),), False,
         "While the screens are bypassed no cuttings leave the system.", "state"),
    Kind("mud check", "Mud check", (Field("density in", "density_in_kg_m3", "density", "Mud weight in"),
                                    Field("density out", "density_out_kg_m3", "density", "Mud weight out"),
                                    Field("temperature in", "temperature_in_k", "temperature", "Temperature in"),
                                    Field("temperature out", "temperature_out_k", "temperature", "Temperature out"),
                                    REMARK),
         (("density in", "density out", "temperature in", "temperature out"),), False,
         "Mud weight and temperature, going in and coming out. Nothing is booked by it.", "well"),
    Kind("gas", "Gas", (Field("gas", "gas_percent", "percent", "Gas, %"), Field("what", "what", "state", "What gas",
                                                                               GAS_KINDS), REMARK),
         (("gas",),), False,
         "Gas in the returns. Nothing is booked by it; gas at surface is itself a sign.", "well"),
    Kind("drilling break", "Drilling break", (Field("speed before", "speed_before_m_s", "speed", "Drilled before at"),
                                              Field("speed", "speed_m_s", "speed", "Drills now at"), HOLE_DEPTH, TOLD,
                                              ANSWER, REMARK),
         (("speed",),), False,
         "The rate of penetration changed. Nothing is booked by it.", "well"),
    Kind("return flow", "Return flow", (Field("flow", "flow_m3_s", "flow", "Flow out"),
                                        Field("paddle", "paddle_percent", "percent", "Paddle, %"), TREND, REMARK),
         (("flow", "paddle", "trend"),), False,
         "What the flow line does, as seen or measured. Nothing is booked by it.", "well"),
    Kind("flow check", "Flow check", (Field("place", "place", "text", "Where the bit was"),
                                      Field("readings", "readings_m3", "minutes", "Read minute by minute"), TREND,
                                      Field("result", "result", "state", "Result", FLOW_CHECK_RESULTS),
                                      Field("seen by", "seen_by", "text", "Who watched"), REMARK),
         (("result",), ("seen by",)), True,
         "The pumps are off and the well is watched.", "checks"),
    Kind("shut-in", "Well shut in", (Field("state", "state", "state", "State", (SHUT_IN, OPENED)),
                                     Field("gain", "gain_m3", "volume", "Gain when it was shut in"),
                                     Field("pipe pressure", "pipe_pressure_pa", "pressure", "Drill-pipe pressure"),
                                     Field("casing pressure", "casing_pressure_pa", "pressure", "Casing pressure"),
                                     TOLD, REMARK),
         (("state",),), False,
         "Keeps the gain as it was. Follow the rig's own well-control procedures.", "checks"),
    Kind("connection", "Connection",
         (Field("state", "state", "state", "It is", (ACCEPTED, NOT_ACCEPTED)), REMARK), (("state",),), False,
         "Its time is when the pumps stopped. Only accepted ones are learned from; not accepted takes it back.",
         "checks"),
    Kind("flow-back band", "Flow-back band",
         (Field("state", "state", "state", "It is", (ADOPTED, WITHDRAWN)), FLOW, REMARK), (("state",), ("flow",)),
         False,
         "Adopted from the connections accepted by now, at this flow and in this section; in force from its time.",
         "checks"),
    Kind("told driller", "Told the driller", (WHAT, TOLD, ANSWER, REMARK), (("what",),), False,
         "What was said to the driller, when, and the answer.", "checks"),
    Kind("stick check", "Stick against sensor", (TANK, Field("stick", "stick_m", "level", "The stick says"),
                                                 Field("sensor", "sensor_m", "level", "The sensor says"), REMARK),
         (("tank",), ("stick",), ("sensor",)), False,
         "Once each tour: both at the same moment. Nothing is corrected by it.", "checks"),
    Kind(PIT_DRILL, "Pit drill begins", (
        Field("consent", "consent", "text", "Who is in charge, and consents"), TANK,
        Field("raised", "raised_m", "level", "Its float or gauge is raised by"),
        Field("run by", "run_by", "text", "Who runs it"),
        Field("announced", "announced", "state", "Announced to the crew", ("yes", "no")),
        Field("within", "within_s", "duration", "Target: a flow check or shut-in within"),
        Field("set by", "set_by", "text", "Who set the target"), REMARK),
         (("consent",), ("tank",), ("raised",), ("run by",)), False,
         "A float is raised to see what the crew does. Every warning stays as it is: a real gain breaks in as always.",
         "checks"),
    Kind(PIT_DRILL_STEP, "Pit drill: what the crew did", (
        Field("step", "step", "state", "What was done", PIT_DRILL_STEPS),
        Field("who", "who", "text", "Who did it"), REMARK), (("step",), ("who",)), False,
         "Each with its own time, as it was seen.", "checks"),
    Kind(PIT_DRILL_END, "Pit drill ends", (
        Field("state", "state", "state", "It is", (ENDED, CALLED_OFF)),
        Field("ended by", "ended_by", "text", "Who ends it"), REMARK), (("state",), ("ended by",)), False,
         "Called off for anything real. The float is proved back after it.", "checks"),
    Kind(FLOAT_PROVED, "Float proved back", (TANK, Field("stick", "stick_m", "level", "The stick says"),
                                             Field("sensor", "sensor_m", "level", "The sensor says"),
                                             Field("proved by", "proved_by", "text", "Who dipped it"), REMARK),
         (("tank",), ("stick",), ("sensor",), ("proved by",)), False,
         "After a pit drill: a dip beside what the sensor says, at the same moment.", "checks"),
    Kind(HANDOVER_CONFIRMED, "Handover confirmed", (Field("leaving", "leaving", "text", "Who leaves"),
                                                    Field("confirmed", "confirmed", "text", "Gone through"), REMARK),
         (("leaving",), ("confirmed",)), False,
         "Who leaves has gone through what stands; who takes over signs it with a handover.", "book"),
    Kind(HANDOVER, "Handover", (Field("leaving", "leaving", "text", "Who leaves"),
                                  Field("arriving", "arriving", "text", "Who takes over"), REMARK),
         (("leaving",), ("arriving",)), False,
         "Who handed the watch to whom, and what was said.", "book"),
    Kind(LIMITS_APPROVED, "Limits approved", (Field("approved by", "approved_by", "text", "Who approves them"), REMARK),
         (("approved by",), ("remark",)), False,
         "All limits in force at that time, as they are. What differs later is said at each handover.", "book"),
    Kind("line-up", "Line-up change", (TANK, IN_OUT, TO, REMARK), (("tank",), ("state", "to")), False,
         "A tank joins or leaves the active system, or the flow line is turned to another tank.", "state"),
    Kind("pumps", "Pumps", (ON_OFF, PUMP, SPM, FLOW, REMARK), (("state",),), False,
         "Pumps on or off, or a change of rate.", "well"),
    Kind("depth", "Depth", (HOLE_DEPTH, BIT_DEPTH, REMARK), (("hole depth", "bit depth"),), False,
         "Measured depth of hole and bit. It holds until the next one: log it with each round.", "well"),
    Kind("stand filled", "Stand filled", (LENGTH, REMARK), (), False,
         "A new stand was made up and filled with mud.", "well"),
    Kind("activity", "Activity", (ACTIVITY, REMARK), (("activity",),), False,
         "What the rig is doing. It chooses the limits that apply; unknown takes the strictest.", "well"),
    Kind(TRIP, "Trip begins", (
        Field("direction", "direction", "state", "Out of the hole, or in", (OUT, IN)), BIT_DEPTH,
        Field("trip tank", "tank", "tank", "Trip tank"),
        Field("pulled", "pulled", "state", "Pulled", OUT_WAYS),
        Field("returned", "returned_percent", "percent", "Bucket gives back to the trip tank, %"),
        Field("float", "float", "state", "Run with the float", IN_WAYS),
        Field("pipe", "pipe", "text", "What is run, if not the string"),
        Field("pump", "pump", "pump", "Pump that fills by strokes"),
        Field("number", "number", "text", "Trip number"), Field("purpose", "purpose", "text", "Purpose of the trip"),
        Field("density in", "density_in_kg_m3", "density", "Mud weight in"),
        Field("density out", "density_out_kg_m3", "density", "Mud weight out"),
        Field("bottoms-up", "bottoms_up", "state", "Bottoms-up", (CIRCULATED, NOT_CIRCULATED)),
        Field("not circulated because", "why_not", "text", "If not circulated, why"),
        Field("gas", "gas_percent", "percent", "Gas, %"), REMARK),
         (("direction",), ("bit depth",)), False,
         "From here on the log keeps the trip's sheet, and holds every stand against what the hole should take.",
         "trips"),
    Kind(TRIP_END, "Trip ends", (Field("tally", "tally", "text", "Joints counted, against the tally"),
                                 Field("signed", "signed", "text", "Signed by"), REMARK), (), False,
         "The trip is over: its sheet is closed, and the returns go back to the active system.", "trips"),
    Kind(TRIP_DECISION, "Trip: what was decided", (
        Field("action", "action", "text", "What is done"), Field("decided by", "decided_by", "text", "Who decided"),
        REMARK), (("action",), ("decided by",)), False,
         "The trip stands at a limit: what is done, and who decided. The warning stays until it is closed.", "trips"),
    Kind("rate in force", "Rate in force", (RATE, ON_OFF, Field("from", "from", "tank or active", "From"),
                                            Field("to", "to", "tank or active", "To"),
                                            Field("what", "what", "state", "What it is", RATE_KINDS), REMARK),
         (("state",), ("from", "to")), False,
         "A steady loss or gain that is known: surface loss, rain, a water valve. The remark names it.", "moves"),
    Kind("zero", "Zero the difference", (FULL_PIPE, REASON), (("reason",),), False,
         "Start the books anew from the dips now. What was unexplained is written off, with your name.", "book"),
    Kind("remark", "Remark", (REMARK,), (("remark",),), False, "Anything worth keeping.", "book"),
    Kind("void", "Void", (TANK, REASON), (("reason",),), True,
         "Strike out an entry, or a tank's readings over a time. Both stay visible.", "book"),
    Kind("watch", "Watch on or off", (ON_OFF, REASON), (("state",),), False,
         "Off: nobody is watching this log, overdue rounds are not counted. It is shown as not watched.", "book"),
)

BY_NAME = {kind.name: kind for kind in KINDS}
ENTRY_KINDS = frozenset(BY_NAME)
