"""Good entries of the kinds of a whole tour, for an invented rig with equipment and valves; factors by definition."""

from __future__ import annotations

from types import MappingProxyType
from typing import Any

from builders import BBL, FT, GAL, IN, OILFIELD_UNITS, gain_limit, two_box_rig
from dipbook.rig.model import Equipment, Rig, Valve

LB = 0.45359237
PPG = LB / GAL
PSI = 6894.757293168361
"""lbf/in2 by definition, NIST SP 811, Appendix B."""
FLOOR = 30 * FT * 8 * FT
"""Floor of every tank of the rig [m2]."""


def tour_rig(**other: Any) -> Rig:
    """The two-box rig with a desander, two valves, a limit, and units of temperature, pressure and speed."""
    fields: dict[str, Any] = {
        "limits": (gain_limit(5.0),),
        "units": MappingProxyType({**OILFIELD_UNITS, "temperature": "degF", "pressure": "psi", "speed": "ft/h"}),
        "equipment": (Equipment("Desander", 5 * BBL, 60.0, 120.0),),
        "valves": (Valve("Gate 1", "gate", "Settling", "Suction"), Valve("Dump valve", "dump", "Settling"))}
    return two_box_rig(**{**fields, **other})


TOUR: list[tuple[str, dict[str, str], float | None, dict[str, Any]]] = [
    ("slug", {"from": "Reserve 1", "volume": "20", "density": "12", "mud_density": "10", "return": "10 min"}, 5,
     {"volume_m3": 20 * BBL, "density_kg_m3": 12 * PPG, "mud_density_kg_m3": 10 * PPG, "return_s": 600.0}),
    ("pill", {"what": "Sweep", "from": "Reserve 1", "volume": "30", "density": "11"}, 10,
     {"what": "sweep", "volume_m3": 30 * BBL, "density_kg_m3": 11 * PPG}),
    ("pill", {"what": "spacer", "from": "Reserve 1", "volume": "30"}, None, {"what": "spacer"}),
    ("salt", {"to": "Reserve 1", "salt": "NaCl", "mass": "2495.5 kg", "into": "10 m3"}, 30,
     {"salt": "sodium chloride", "mass_kg": 2495.5, "into_m3": 10.0, "volume_m3": (9982 + 2495.5) / 1147.8 - 10}),
    ("salt", {"to": "Reserve 1", "salt": "potassium chloride", "mass": "500 kg", "into": "10 m3", "had": "3"}, None,
     {"had_percent": 3.0}),
    ("trap dump", {"from": "Settling", "before": "5' 3\"", "after": "24", "what": "settled solids"}, 3,
     {"before_m": 63 * IN, "after_m": 24 * IN, "volume_m3": 39 * IN * FLOOR}),
    ("boat", {"to": "Reserve 1", "before": "10", "after": "90 1/2", "ticket": "290", "hose": "4"}, 60,
     {"volume_m3": 80.5 * IN * FLOOR, "ticket_m3": 290 * BBL, "hose_m3": 4 * BBL}),
    ("boat", {"from": "Reserve 1", "before": "90 in", "after": "10 in", "hose": "0"}, None,
     {"volume_m3": 80 * IN * FLOOR, "hose_m3": 0.0}),
    ("boat", {"to": "Reserve 1", "volume": "300"}, None, {"volume_m3": 300 * BBL}),
    ("about to move mud", {"from": "Reserve 1", "to": "Suction", "volume": "30", "told": "D. Example"}, None,
     {"state": "announced", "told": "D. Example", "volume_m3": 30 * BBL}),
    ("about to move mud", {"to": "Suction", "told": "D. Example", "answer": "go ahead"}, None,
     {"state": "answered", "answer": "go ahead"}),
    ("about to move mud", {"to": "Suction", "told": "D. Example", "state": "called off"}, None, {"state": "called off"}),
    ("valve", {"valve": "gate 1", "state": "open"}, None, {"valve": "Gate 1", "state": "open"}),
    ("equipment", {"equipment": "desander", "state": "on", "volume": "6"}, None,
     {"equipment": "Desander", "state": "on", "volume_m3": 6 * BBL}),
    ("shakers", {"state": "bypassed"}, None, {"state": "bypassed"}),
    ("mud check", {"density in": "10.2", "density out": "10.2", "temperature in": "104", "temperature out": "45 degC"}, None,
     {"density_in_kg_m3": 10.2 * PPG, "temperature_in_k": (104 + 459.67) / 1.8, "temperature_out_k": 318.15}),
    ("gas", {"gas": "2.5", "what": "background"}, None, {"gas_percent": 2.5, "what": "background"}),
    ("gas", {"gas": "0 %"}, None, {"gas_percent": 0.0}),
    ("drilling break", {"speed before": "30", "speed": "90", "hole depth": "9500", "told": "D. Example", "answer": "flow check"},
     None, {"speed_before_m_s": 30 * FT / 3600, "speed_m_s": 90 * FT / 3600, "hole_depth_m": 9500 * FT}),
    ("return flow", {"flow": "300", "paddle": "45 %", "trend": "steady"}, None,
     {"flow_m3_s": 300 * GAL / 60, "paddle_percent": 45.0, "trend": "steady"}),
    ("return flow", {"paddle": "0", "flow": "0"}, None, {"paddle_percent": 0.0, "flow_m3_s": 0.0}),
    ("flow check", {"place": "the shoe", "readings": "0.4; 0.2; 0.1", "trend": "falling", "result": "static",
                    "seen by": "A. Example"}, 3,
     {"readings_m3": [0.4 * BBL, 0.2 * BBL, 0.1 * BBL], "result": "static", "seen_by": "A. Example"}),
    ("flow check", {"result": "losing", "seen by": "A. Example", "readings": "-0.5, -, 0.0 bbl"}, None,
     {"readings_m3": [-0.5 * BBL, None, 0.0]}),
    ("shut-in", {"state": "shut in", "gain": "8", "pipe pressure": "0", "casing pressure": "400", "told": "T. Example"}, None,
     {"gain_m3": 8 * BBL, "pipe_pressure_pa": 0.0, "casing_pressure_pa": 400 * PSI}),
    ("shut-in", {"state": "opened", "casing pressure": "0 psi"}, None, {"casing_pressure_pa": 0.0}),
    ("shut-in", {"state": "shut in", "gain": "0"}, None, {"gain_m3": 0.0}),
    ("told driller", {"what": "gain of 5 bbl", "told": "D. Example", "answer": "stopping the pumps"}, None,
     {"what": "gain of 5 bbl", "answer": "stopping the pumps"}),
    ("stick check", {"tank": "Suction", "stick": "60", "sensor": "5' 0 1/4\""}, None,
     {"stick_m": 60 * IN, "sensor_m": 60.25 * IN, "difference_m": 0.25 * IN, "difference_m3": 0.25 * IN * FLOOR}),
    ("pit drill", {"consent": "T. Example", "tank": "Suction", "raised": "6 in", "run by": "A. Example", "announced": "no",
                   "within": "5 min", "set by": "T. Example", "remark": "weekly"}, None,
     {"consent": "T. Example", "tank": "Suction", "raised_m": 6 * IN, "run_by": "A. Example", "announced": "no", "within_s": 300.0,
      "set_by": "T. Example"}),
    ("pit drill", {"consent": "T. Example", "tank": "Suction", "raised": "10", "run by": "A. Example"}, None, {"raised_m": 10 * IN}),
    ("pit drill step", {"step": "recognised", "who": "D. Example"}, None, {"step": "recognised", "who": "D. Example"}),
    ("pit drill end", {"state": "called off", "ended by": "T. Example", "remark": "returns rose"}, None,
     {"state": "called off", "ended_by": "T. Example", "remark": "returns rose"}),
    ("float proved", {"tank": "Suction", "stick": "60", "sensor": "60", "proved by": "D. Example"}, None,
     {"stick_m": 60 * IN, "sensor_m": 60 * IN, "difference_m": 0.0, "proved_by": "D. Example"}),
    ("trip", {"direction": "out", "bit depth": "9000", "pulled": "bucket", "returned": "80", "pipe": "5 19.50 nc50", "number": "3",
              "purpose": "bit change", "density in": "12", "bottoms-up": "not circulated", "not circulated because": "losses", "gas": "1.5"}, None,
     {"direction": "out", "bit_depth_m": 9000 * FT, "pulled": "bucket", "returned_percent": 80.0, "pipe": "5 19.50 NC50",
      "density_in_kg_m3": 12 * PPG, "why_not": "losses"}),
    ("trip", {"direction": "in", "bit depth": "0", "float": "self-filling", "pipe": "13 3/8 casing 61"}, None,
     {"direction": "in", "bit_depth_m": 0.0, "float": "self-filling", "pipe": "13 3/8 casing 61"}),
    ("trip end", {"signed": "A. Example", "tally": "104 of 104"}, None, {"signed": "A. Example", "tally": "104 of 104"}),
    ("trip end", {}, None, {}),
    ("trip decision", {"action": "flow check", "decided by": "T. Example"}, None, {"action": "flow check"}),
    ("handover", {"leaving": "A. Example", "arriving": "B. Example", "remark": "pit 2 leaks"}, None,
     {"leaving": "A. Example", "arriving": "B. Example"}),
    ("limits approved", {"approved by": "T. Example", "remark": "programme"}, None,
     {"approved_by": "T. Example", "remark": "programme"}),
]
"""Kind, what is typed, minutes to the end or None, and what the payload holds."""
