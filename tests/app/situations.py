"""Situations made by hand for the window's tests, and a desk that only remembers. Rig, crew and numbers are invented."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from PySide6.QtCore import QObject, Signal

from builders import BBL, BBL_FT, FT, IN, OILFIELD_UNITS, box_tank
from dipbook.findings import Finding
from dipbook.limits import Limit
from dipbook.rig.model import Hole, Pipe, Pump, Rig
from dipbook.situation import (
    HintView,
    NoticeView,
    RunningEntry,
    ShutInView,
    Situation,
    StockView,
    TankView,
    TermLine,
    Trend,
    WarningView,
)
from dipbook.tanks.shapes import Strapping, VerticalCylinder

NOW_MS = 1_772_352_900_000
"""2026-03-01 08:15:00 UTC, 02:15 on the rig (UTC−06:00)."""
MIN = 60_000

GAIN = Limit(name="gain", kind="gain", on="active", activity="any", value=5 * BBL, value_is="volume",
             deadband=2 * BBL, growth=2 * BBL, after_readings=1, after_ms=0, set_by="J. Moe", reason="invented",
             since="2026-03-01", as_typed="5 bbl")
LOSS = replace(GAIN, name="loss", kind="loss", value=10 * BBL, as_typed="10 bbl")


def rig() -> Rig:
    """Nine tanks: six active boxes of two sizes, a strapped reserve, a pill box, a round trip tank."""
    long, short = 30 * FT, 12 * FT
    settling = box_tank("Settling", "settling", active=True, order=2)
    return Rig(
        name="Heron 3", invented=True, zone="Etc/GMT+6", decimal=".", units={**OILFIELD_UNITS, "level": "ft in"},
        tanks=(
            replace(box_tank("Sand trap", "sand trap", active=True, order=1),
                    shape=replace(settling.shape, length=short, height=6 * FT), brim_m=6 * FT),
            settling,
            box_tank("Degasser", "degasser", active=True, order=3),
            box_tank("Desilter", "desilter", active=True, order=4),
            box_tank("Intermediate", "intermediate", active=True, order=5),
            replace(box_tank("Suction", "suction", active=True, order=6), heel_m=6 * IN),
            replace(box_tank("Reserve 1", "reserve", active=False, order=7), gauge="down", mark_m=9 * FT,
                    shape=Strapping((0.0, 20 * IN, 108 * IN), (0.0, 30 * BBL, 402 * BBL))),
            replace(box_tank("Pill", "pill", active=False, order=8),
                    shape=replace(settling.shape, length=long / 4)),
            replace(box_tank("Trip tank", "trip", active=False, order=9), shape=VerticalCylinder(5 * FT, 12 * FT),
                    brim_m=12 * FT),
        ),
        pumps=(Pump("1", 0.102 * BBL),), hole=Hole(capacity=0.1458 * BBL_FT), limits=(GAIN, LOSS),
        pipe=Pipe(steel=0.00759 * BBL_FT, bore=0.01776 * BBL_FT, stand_m=93 * FT),
    )


RIG = rig()
LEVELS = {"Sand trap": 40, "Settling": 71, "Degasser": 68.5, "Desilter": 66, "Intermediate": 70.25, "Suction": 63.5,
          "Reserve 1": 58, "Pill": 22, "Trip tank": 96}
"""Inches above the bottom."""


def tanks(**changes: dict[str, Any]) -> tuple[TankView, ...]:
    """All tanks a quarter of an hour after their round. changes: by name with _ for a blank."""
    views = []
    for k, tank in enumerate(RIG.tanks):
        level = LEVELS[tank.name] * IN
        view = TankView(
            name=tank.name, role=tank.role, active=tank.active, level_m=level, volume_m3=float(tank.volume(level)),
            u_m3=0.3 * BBL, t_ms=NOW_MS - 12 * MIN + k * 20_000, age_ms=12 * MIN - k * 20_000, stale=False, held=False,
            flag="", previous_level_m=level - (k % 3 - 1) * 2 * IN, previous_t_ms=NOW_MS - 42 * MIN, booked_m3=0.0,
            room_m3=tank.capacity_m3 - float(tank.volume(level)),
            limit_levels=(("high", 100 * IN), ("low", 30 * IN)) if tank.name == "Suction" else ())
        views.append(replace(view, **changes.get(tank.name.replace(" ", "_"), {})))
    return tuple(views)


def trend(last_bbl: float = 1.3, hours: float = 10.0, gap: bool = False) -> Trend:
    """Rounds half an hour apart."""
    n = round(hours * 2)
    t = NOW_MS - 10 * MIN - (np.arange(n)[::-1] * 30 * MIN).astype(np.int64)
    ramp = np.arange(n) / max(1, n - 1)
    expected = (960 + 24 * (ramp > 0.4) - 30 * ramp) * BBL
    difference = (0.6 * np.sin(np.arange(n) * 1.3) + last_bbl * np.maximum(0.0, (ramp - 0.7) / 0.3) ** 2) * BBL
    if gap:
        difference[n // 3: n // 3 + 3] = np.nan
    marks = ((int(t[n // 4]), "transfer", "Transfer Reserve 1 to Suction 24 bbl"),
             (int(t[n // 2]), "pumps", "Pumps off"), (int(t[n // 2]) + 6 * MIN, "pumps", "Pumps on"))
    if last_bbl > 5:
        marks = (*marks, (int(t[-1]), "warning", "GAIN raised"))
    return Trend(t_ms=t, actual=expected + difference, expected=expected, difference=difference,
                 u=np.full(n, 0.45 * BBL), partial=np.arange(n) % 9 == 4, marks=marks)


TERMS = (
    TermLine("transfers", "Transfers", 24.0 * BBL, "1 entry"),
    TermLine("cuttings", "Hole drilled, cuttings out", -21.4 * BBL, "carried off 1, porosity 0"),
    TermLine("lines", "Mud held in lines at flow", -12.0 * BBL, "pumps on since 00:40"),
    TermLine("additions", "Added: barite, water, mud", 6.8 * BBL, "3 entries"),
    TermLine("discards", "Dumped or lost", -5.5 * BBL, "1 entry"),
    TermLine("bore", "Stands filled", -3.3 * BBL, "2 stands"),
    TermLine("rates", "Rates in force", -1.1 * BBL, "surface loss, 3 h old"),
    TermLine("steel", "Steel in the hole", 0.4 * BBL, ""),
)


def quiet(**changes: Any) -> Situation:
    """A healthy watch: nothing open, +1.3 bbl."""
    s = Situation(
        now_ms=NOW_MS, rig=RIG, rig_seq=1, reading_ms=NOW_MS - 10 * MIN, zero_ms=NOW_MS - 495 * MIN, zero_by="J. Moe",
        written_off_m3=0.0, actual_m3=955.3 * BBL, expected_m3=954.0 * BBL, difference_m3=1.3 * BBL, u_m3=0.45 * BBL,
        all_surface_difference_m3=0.9 * BBL, all_surface_u_m3=0.6 * BBL, watched="active",
        watched_note="", partial=False, held=(), not_gauged_m3=0.0, terms=TERMS, tanks=tanks(), warnings=(), hints=(),
        trend=trend(), trend_words=(0.8 * BBL, 30 * MIN), limit_gain=GAIN, limit_loss=LOSS,
        limits_in_force=("gain", "loss"), interval_ms=30 * MIN, next_due_ms=NOW_MS + 18 * MIN,
        unwatched=("no limit on the levels of Settling, Desilter, Intermediate, Reserve 1, Pill and Trip tank",
                   "trips are not booked"),
        activity="drilling", activity_since_ms=NOW_MS - 95 * MIN, pumps_on=True, flow_m3_s=0.0372, hole_depth_m=2512.0,
        bit_depth_m=2512.0, depth_t_ms=NOW_MS - 12 * MIN, running=(), rates=(), findings=(), records=(), superseded={},
        watch_on=True, on_watch="A. Berg", store_ok=True, store_text="Log kept, backed up 00:00")
    return replace(s, **changes)


def warning(**changes: Any) -> WarningView:
    """A gain that nobody has acknowledged."""
    return replace(WarningView(
        occurrence="gain-1", name="gain", kind="gain", system="active", tank="", state="raised", sounding=True,
        raised_ms=NOW_MS - 10 * MIN, learned_ms=NOW_MS - 4 * MIN, value=5.6 * BBL, worst=5.6 * BBL, limit=5 * BBL,
        value_is="volume", text="Active mud is 5.6 bbl more than expected.", actions=("acknowledge",)), **changes)


HIGH = warning(occurrence="high-1", name="suction high", kind="high", tank="Suction", state="acknowledged",
               sounding=False, value=101 * IN, worst=101 * IN, limit=100 * IN, value_is="level",
               text="Suction stands above its limit.", actions=())
OVERDUE = warning(occurrence="due-1", name="round overdue", kind="overdue", system="rounds", state="raised",
                  value=2400.0, worst=2400.0, limit=1800.0, value_is="duration", text="No complete round for 40 min.")


def raised(**changes: Any) -> Situation:
    """A gain past its limit, sounding, with a tank high and a guess at a transfer."""
    return quiet(**{
        "actual_m3": 959.6 * BBL, "difference_m3": 5.6 * BBL, "warnings": (HIGH, warning()), "trend": trend(5.6),
        "trend_words": (3.9 * BBL, 30 * MIN),
        "hints": (HintView("The reserve fell 5.1 bbl while the active rose 5.6: a transfer not logged?", "transfer",
                           {"from": "Reserve 1", "to": "Suction", "volume_m3": 5.1 * BBL}),),
        "running": (RunningEntry("t-9", "transfer", "Reserve 1 to Suction", NOW_MS - 8 * MIN, 0.0004, 1.2 * BBL),),
        **changes})


NOTICE = NoticeView("n-1", "from Reserve 1 to Suction", NOW_MS - 9 * MIN, "driller", "", "announced",
                    {"from": "Reserve 1", "to": "Suction", "volume_m3": 24 * BBL})
RAIN = RunningEntry("r-1", "rate in force", "to active", NOW_MS - 35 * MIN, 3 * BBL / 3600, 1.75 * BBL,
                    {"to": "active", "what": "rain"})
STOCK = StockView(room_m3=141 * BBL, tightest=("Sand trap", 12 * BBL), usable_active_m3=310 * BBL,
                  usable_reserve_m3=180 * BBL, hole_m3=900 * BBL, loss_rate_m3_s=None, loss_span_ms=None,
                  hours_left=None)


def crowded(**changes: Any) -> Situation:
    """All at once: a gain that sounds, the well shut in, mud announced, a guess, a transfer running, rates in force."""
    return raised(**{
        "shut_in": ShutInView(NOW_MS - 3 * MIN, 6.2 * BBL, 6.1 * BBL, 0.45 * BBL, "A. Example"),
        "notices": (NOTICE, replace(NOTICE, uid="n-2", state="answered", answer="go ahead"), replace(NOTICE, uid="n-3")),
        "rates": (RAIN, replace(RAIN, uid="r-2"), replace(RAIN, uid="r-3")), "stock": STOCK, **changes})


def partial() -> Situation:
    """Two tanks not gauged in the last round."""
    held = {"stale": True, "held": True, "t_ms": NOW_MS - 72 * MIN, "age_ms": 72 * MIN}
    return quiet(partial=True, held=(("Desilter", NOW_MS - 72 * MIN), ("Suction", NOW_MS - 72 * MIN)),
                 not_gauged_m3=482.2 * BBL, tanks=tanks(Desilter=held, Suction=held), trend=trend(gap=True),
                 written_off_m3=2.1 * BBL)


def unwatched() -> Situation:
    """Tripping: nothing is watched."""
    return quiet(watched="not watched", watched_note="tripping, and trips are not booked by this version",
                 activity="tripping", pumps_on=False, flow_m3_s=None, limit_gain=None, limit_loss=None,
                 limits_in_force=(), warnings=(OVERDUE,), next_due_ms=NOW_MS - 10 * MIN, on_watch="")


def no_zero() -> Situation:
    """The first minutes: two tanks gauged, no zero, no limits."""
    never = {"level_m": None, "volume_m3": None, "u_m3": None, "t_ms": None, "age_ms": None, "previous_level_m": None,
             "previous_t_ms": None, "room_m3": None, "limit_levels": ()}
    names = [t.name.replace(" ", "_") for t in RIG.tanks[2:]]
    nothing = np.zeros(0)
    return quiet(zero_ms=None, zero_by="", difference_m3=None, u_m3=None, expected_m3=None,
                 actual_m3=None, all_surface_difference_m3=None, all_surface_u_m3=None, terms=(), trend_words=None,
                 trend=Trend(np.zeros(0, dtype=np.int64), nothing, nothing, nothing, nothing, nothing.astype(bool)),
                 tanks=tanks(**dict.fromkeys(names, never)), limit_gain=None, limit_loss=None, limits_in_force=(),
                 interval_ms=None, next_due_ms=None, unwatched=("nobody has set a limit",), activity="unknown",
                 pumps_on=None, flow_m3_s=None)


class RecordingDesk(QObject):
    """Remembers what it was told, in ``told``; shows what it is given."""

    warned = Signal(object)
    situation_changed = Signal(object)
    said = Signal(str)
    failed = Signal(str)
    handed_over = Signal(str)

    def __init__(self, situation: Situation) -> None:
        super().__init__()
        self.situation = situation
        self.told: list[tuple[Any, ...]] = []
        self.findings: tuple[Finding, ...] = ()

    def show(self, situation: Situation) -> None:
        self.situation = situation
        self.situation_changed.emit(situation)

    def acknowledge(self, occurrence: str) -> None:
        self.told.append(("acknowledge", occurrence))

    def close_warning(self, occurrence: str, note: str) -> None:
        self.told.append(("close", occurrence, note))

    def silence(self) -> None:
        self.told.append(("silence",))

    def log_entry(self, kind: str, typed: dict[str, Any]) -> tuple[Finding, ...]:
        self.told.append(("log", kind, typed))
        return self.findings

    def set_units(self, units: Any) -> None:
        self.told.append(("units", units))

    def set_on_watch(self, name: str) -> None:
        self.told.append(("on watch", name))
