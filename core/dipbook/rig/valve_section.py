"""Reads the [[valve]] tables of a rig file: gates between tanks, suction, dump and water valves.

A gate may say two things more. ``equalises``: while it is open its two tanks stand at one level. ``isolates``: one of
them leaves the active system when it is closed.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from dipbook.rig.equipment_section import name_of_its_own
from dipbook.rig.model import VALVE_KINDS, Valve
from dipbook.rig.reading import Report, TableReader, Ways, shown
from dipbook.tanks.tank import Tank

SAME_STEP_M = 1e-6
"""Steps that lead around a ring of gates and differ by less agree: the inches were equal, the floats weren't."""


def read_valves(rows: list[dict[str, Any]], tanks: tuple[Tank, ...], tank_names: tuple[str, ...], report: Report,
                ways: Ways) -> tuple[Valve, ...]:
    """Read the [[valve]] tables, in the file's order.

    rows: as they stand. tanks: those that read well; tank_names: all that the file names. report: takes problems and
    findings. ways: how the file writes values.
    """
    found: list[Valve] = []
    names: dict[str, int] = {}
    isolating: dict[str, str] = {}
    by_name = {tank.name: tank for tank in tanks}
    for n, row in enumerate(rows):
        reader = TableReader(row, ("valve", n), report, ways)
        name = name_of_its_own(reader, names, "valve")
        valve = _valve(reader, name or "", by_name, tank_names)
        if valve is None or name is None:
            continue
        if valve.isolates:
            if valve.isolates in isolating:
                reader.problem("isolates", f'"{valve.isolates}" is already isolated by {isolating[valve.isolates]}; '
                                           "expected one gate for it; log a line-up change for the others")
                continue
            isolating[valve.isolates] = name
        if valve.equalises and not _agrees(valve, found):
            reader.problem("step", f"doesn't agree with the gates before it that lead from {valve.tank} to {valve.to} "
                                   "too; expected steps that add up to the same")
            continue
        found.append(valve)
        _against_the_line_up(reader, valve, by_name)
    return tuple(found)


def _valve(reader: TableReader, name: str, tanks: Mapping[str, Tank], tank_names: tuple[str, ...]) -> Valve | None:
    before = len(reader.report.found)
    kind = reader.choice("kind", VALVE_KINDS, "a kind of valve", needed=True)
    tank = reader.choice("tank", tank_names, "a tank of this file", needed=True)
    to = reader.choice("to", tank_names, "a tank of this file")
    is_open = reader.flag("open", needed=True)
    equalises = reader.flag("equalises")
    step = _step(reader, equalises)
    isolates = reader.choice("isolates", tank_names, "a tank of this file")
    reader.end()
    if kind == "gate":
        _gate(reader, tank, to, isolates)
    elif kind is not None:
        for key in ("to", "equalises", "isolates"):
            if reader.has(key):
                reader.problem(key, f'is only for a gate; expected kind = "gate", or no {key}')
    if equalises and step is not None and to is not None and to in tanks and step >= tanks[to].top_m:
        reader.problem("step", f"{shown(reader.table['step'])} is as high as {to} is; expected the height of one "
                               "bottom over the other")
    if len(reader.report.found) > before or kind is None or tank is None or is_open is None:
        return None
    return Valve(name=name, kind=kind, tank=tank, to=to or "", open=is_open, equalises=bool(equalises),
                 step_m=step or 0.0, isolates=isolates or "")


def _gate(reader: TableReader, tank: str | None, to: str | None, isolates: str | None) -> None:
    """What a gate needs: another tank, and to isolate one of the two if any."""
    if not reader.has("to"):
        reader.problem("to", "is missing; expected the tank on the gate's other side")
    elif to is not None and to == tank:
        reader.problem("to", f'"{to}" is the tank of this side; expected the one on the other side')
    elif isolates is not None and tank is not None and to is not None and isolates not in (tank, to):
        reader.problem("isolates", f'"{isolates}" isn\'t at this gate; expected "{tank}" or "{to}"')


def _step(reader: TableReader, equalises: bool | None) -> float | None:
    """How much higher the bottom of ``tank`` is than that of ``to`` [m]; 0 if it isn't given."""
    value = reader.take("step")
    if value is None:
        return 0.0 if not reader.has("step") else None
    if not equalises:
        reader.problem("step", "is only for a gate that equalises; expected equalises = true, or no step")
        return None
    if str(value).strip().startswith(("-", "\N{MINUS SIGN}")):
        reader.problem("step", f"{shown(value)} is below 0: the bottom of tank is the higher one; expected tank and to "
                               "the other way round")
        return None
    return reader.measure(value, (*reader.path, "step"), "length", 0.0, 5.0, "level", zero=True)


def _agrees(valve: Valve, others: list[Valve]) -> bool:
    """True unless the gates of ``others`` already lead from one of its tanks to the other with another step."""
    height = {valve.tank: 0.0}
    todo = [valve.tank]
    while todo:
        here = todo.pop()
        for gate in others:
            if not gate.equalises or here not in (gate.tank, gate.to):
                continue
            there, up = (gate.to, -gate.step_m) if here == gate.tank else (gate.tank, gate.step_m)
            if there not in height:
                height[there] = height[here] + up
                todo.append(there)
    return valve.to not in height or abs(height[valve.to] + valve.step_m) <= SAME_STEP_M


def _against_the_line_up(reader: TableReader, valve: Valve, tanks: Mapping[str, Tank]) -> None:
    """A gate at the start against the tanks that are active at the start."""
    isolated = tanks.get(valve.isolates)
    if isolated is not None and isolated.active and not valve.open:
        reader.problem("open", f"is false and {valve.name} isolates {valve.isolates}, which is active; expected "
                               f"open = true here, or active = false for {valve.isolates}")
        return
    ends = [tanks.get(valve.tank), tanks.get(valve.to)]
    active = {tank.active for tank in ends if tank is not None}
    if not valve.open or len(active) < 2:
        return
    if valve.equalises:
        reader.report.finding(reader.path, "gate_between_systems",
                              f"Valve {valve.name} is open and equalises {valve.tank} and {valve.to}, and only one of "
                              "them is active: mud that runs between them reads as a gain or a loss.", tank=valve.tank)
    elif isolated is not None and not isolated.active:
        reader.report.finding(reader.path, "gate_open_tank_out",
                              f"Valve {valve.name} is open and {valve.isolates}, which it isolates, isn't active: mud "
                              "that runs into it reads as a loss.", tank=valve.isolates)
