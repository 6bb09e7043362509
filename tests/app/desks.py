"""A desk without a store: it checks entries with the core, records what it is asked, and makes a plain situation."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from PySide6.QtCore import QObject, Signal

from builders import BBL, IN, two_box_rig
from dipbook.entries.checks import make, strike, with_end
from dipbook.errors import RigFileError
from dipbook.findings import Finding
from dipbook.limits import Limit
from dipbook.records import ROUND, Dip, Draft, Record, numbered
from dipbook.reports import HandoverView, Standing
from dipbook.rig.model import Rig
from dipbook.situation import RunningEntry, Situation, TankView, Trend

NOW = 1_772_352_900_000
"""2026-03-01 02:15:00 at UTC−06:00."""
MIN = 60_000
LEVEL_IN = 60.0


class RecordingDesk(QObject):
    """Stands in for the desk in tests of pages.

    rig: of the situation. path: of the drafts. Its clock stands at ``now`` until a test moves it.
    asked: (what, arguments) of each call that would write. refuses: True makes save_round fail.
    """

    warned = Signal(object)
    situation_changed = Signal(object)
    said = Signal(str)
    failed = Signal(str)

    def __init__(self, path: Path, rig: Rig | None = None, *, gauged: bool = True) -> None:
        super().__init__()
        self.now = NOW
        self.rig = rig or two_box_rig()
        self.on_watch = "R. Moe"
        self.drafts_path = path
        self.asked: list[tuple[str, dict[str, Any]]] = []
        self.refuses = False
        self.records: tuple[Record, ...] = ()
        self.gauged = gauged
        self.extra: dict[str, Any] = {}
        self.situation = self.make_situation()

    def standing(self) -> HandoverView:
        return HandoverView(NOW, (Standing("Open warnings", "No warning is open.", None),))

    def now_ms(self) -> int:
        return self.now

    def set_on_watch(self, name: str) -> None:
        self.on_watch = name

    def save_round(self, dips: tuple[Dip, ...], *, start_ms: int, end_ms: int, observer: str, author: str,
                   remark: str, supersedes: str | None = None, reason: str = "") -> bool:
        self.asked.append(("round", {"dips": dips, "start_ms": start_ms, "end_ms": end_ms, "observer": observer,
                                     "author": author, "remark": remark, "supersedes": supersedes,
                                     "reason": reason}))
        if self.refuses:
            return False
        self.learn(Draft(ROUND, start_ms, self.now, author, {"observer": observer, "start_ms": start_ms,
                                                              "end_ms": end_ms, "remark": remark}, dips,
                         supersedes=supersedes, reason=reason),
                   reading_ms=end_ms, actual_m3=512.4 * BBL, difference_m3=1.3 * BBL, u_m3=0.45 * BBL)
        return True

    def log_entry(self, kind: str, typed: Mapping[str, str], *, t_ms: int, end_ms: int | None, author: str,
                  supersedes: str | None = None, reason: str = "") -> tuple[Finding, ...]:
        draft, found = make(kind, typed, t_ms=t_ms, end_ms=end_ms, rig=self.rig, author=author, learned_ms=self.now,
                            supersedes=supersedes, reason=reason)
        if draft is not None:
            self.asked.append(("entry", {"kind": kind, "typed": dict(typed), "t_ms": t_ms, "end_ms": end_ms,
                                         "author": author, "supersedes": supersedes, "reason": reason}))
            self.learn(draft)
        return found

    def void(self, uid: str, *, author: str, reason: str) -> tuple[Finding, ...]:
        draft, found = strike(self.record(uid), author=author, learned_ms=self.now, reason=reason)
        if draft is not None:
            self.asked.append(("void", {"uid": uid, "author": author, "reason": reason}))
            self.learn(draft)
        return found

    def stop_running(self, uid: str, *, end_ms: int, typed: Mapping[str, str], author: str) -> tuple[Finding, ...]:
        draft, found = with_end(self.record(uid), end_ms, typed, rig=self.rig, author=author, learned_ms=self.now)
        if draft is not None:
            self.asked.append(("stop", {"uid": uid, "end_ms": end_ms, "typed": dict(typed), "author": author}))
            self.learn(draft)
        return found

    def set_limits(self, limits: tuple[Limit, ...], *, author: str, reason: str) -> tuple[Finding, ...]:
        if any(limit.value_is == "volume" and limit.value > 1000 * BBL for limit in limits):
            raise RigFileError("The value is more than all tanks hold. Nothing was changed.")
        self.asked.append(("limits", {"limits": limits, "author": author, "reason": reason}))
        self.rig = replace(self.rig, limits=limits)
        self.show()
        return ()

    def record(self, uid: str) -> Record:
        return next(record for record in self.records if record.uid == uid)

    def learn(self, *drafts: Draft, **changes: Any) -> None:
        """Take records in, and show the situation with ``changes``."""
        self.records = (*self.records, *numbered(drafts, len(self.records) + 1))
        self.show(**changes)

    def show(self, **changes: Any) -> None:
        """A new situation with ``changes`` kept from now on."""
        self.extra |= changes
        self.situation = self.make_situation()
        self.situation_changed.emit(self.situation)

    def make_situation(self) -> Situation:
        struck = {r.supersedes: r.uid for r in self.records if r.supersedes}
        running = tuple(
            RunningEntry(r.uid, r.kind, f"Transfer {r.payload.get('from')} to {r.payload.get('to')}", r.t_ms,
                         r.payload.get("rate_m3_s"), None, r.payload)
            for r in self.records if r.payload.get("state") == "running" and r.uid not in struck)
        plain = Situation(
            now_ms=self.now, rig=self.rig, rig_seq=1, reading_ms=None, zero_ms=None, zero_by="", written_off_m3=0.0,
            actual_m3=None, expected_m3=None, difference_m3=None, u_m3=None, all_surface_difference_m3=None,
            all_surface_u_m3=None, watched="active", watched_note="", partial=False, held=(),
            not_gauged_m3=0.0, terms=(), tanks=tuple(self.view(t.name) for t in self.rig.tanks), warnings=(), hints=(),
            trend=Trend((), (), (), (), (), ()), trend_words=None, limit_gain=None, limit_loss=None,
            limits_in_force=(), interval_ms=None, next_due_ms=None, unwatched=(), activity="drilling",
            activity_since_ms=None, pumps_on=True, flow_m3_s=None, hole_depth_m=None, bit_depth_m=None,
            depth_t_ms=None, running=running, rates=(), findings=(), records=self.records, superseded=struck,
            watch_on=True, on_watch=self.on_watch)
        return replace(plain, **self.extra)

    def view(self, name: str) -> TankView:
        """Gauged 20 minutes ago at 60 in, or never."""
        tank = self.rig.tank(name)
        level = LEVEL_IN * IN if self.gauged else None
        return TankView(
            name=name, role=tank.role, active=tank.active, level_m=level,
            volume_m3=None if level is None else float(tank.volume(level)), u_m3=0.5 * BBL if self.gauged else None,
            t_ms=self.now - 20 * MIN if self.gauged else None, age_ms=20 * MIN if self.gauged else None, stale=False,
            held=False, flag="", previous_level_m=None, previous_t_ms=None, booked_m3=0.0, room_m3=None)
