"""A log as a desk keeps it, without one: each record learned at its minute, what the watch wrote stored after it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from dipbook import composing, watch
from dipbook.books import Books, build, learn
from dipbook.observations import observe
from dipbook.records import WARNING, Draft, Record, numbered
from dipbook.situation import Situation
from dipbook.situation_of_warnings import WarningStory, WatchedCell, WatchedMap
from ledgers import MIN, RIG, rig_draft

BEFORE = 50


def limit_text(kind: str, value: str, on: str = "active", *, name: str = "", activity: str = "any", **keys: str) -> str:
    """A [[limit]] table. kind, value, on, activity as in the file; keys: others, as written."""
    lines = {"name": name or kind, "kind": kind, "on": on, "activity": activity, "value": value, "set_by": "A. Sample",
             "reason": "invented", "since": "2026-01-01", **keys}
    if kind not in ("overdue", "rate") and "deadband" not in keys:
        lines["deadband"] = "1 in" if kind in ("high", "low") else "1 bbl"
    return "\n[[limit]]\n" + "".join(f'{k} = "{v}"\n' for k, v in lines.items())


class Kept:
    """Times are minutes after midnight, as in ledgers. rig: its text, with limits."""

    def __init__(self, *limits: str, rig: str = RIG) -> None:
        self.rig = rig
        (first,) = numbered([rig_draft(rig + "".join(limits), -1)])
        self.books: Books = build((first,))
        self.memory = watch.start()
        self.now = -1.0
        self.memory, _ = watch.step(self.memory, watch.LimitsChanged(1, round(-MIN), self.books.rig.limits, 1))
        self.journal: list[watch.Transition] = []

    def add(self, *drafts: Draft) -> Kept:
        """Learn these, each when it was learned; by then that time has come."""
        for draft in drafts:
            self.pass_to(draft.learned_ms / MIN)
            self._learn(draft)
        return self

    def limits(self, minute: float, *limits: str) -> Kept:
        """Other limits from a minute on."""
        return self.add(rig_draft(self.rig + "".join(limits), minute))

    def pass_to(self, minute: float) -> Kept:
        """Time passes."""
        self.now = max(self.now, minute)
        self._step(watch.Advance(round(self.now * MIN)))
        return self

    def act(self, minute: float, action: str, of: str = "", by: str = "J. Ortiz", note: str = "x", **other: Any) -> Kept:
        """A person acts. of: name of the limit whose warning it is done to."""
        self.pass_to(minute)
        occurrence = next((s.alarm.occurrence for s in self.memory.open_slots() if s.limit.name == of), "")
        self._step(watch.Act(action, occurrence, by=by, note=note, at_ms=round(minute * MIN), **other))
        return self

    def _learn(self, draft: Draft) -> None:
        before, seq = self.books.rig.limits, len(self.books.records) + 1
        struck = composing.struck_from(numbered([draft], seq), self.books)
        self.books, touched = learn(self.books, numbered([draft], seq))
        now = round(self.now * MIN)
        events: list[watch.Event] = []
        if self.books.rig.limits != before:
            events.append(watch.LimitsChanged(seq, now, self.books.rig.limits, self.books.rig_seq))
        events += composing.gaps(self.books, self.memory, now)
        if touched is not None:
            first = int(self.books.readings.index_at(touched - 1)) + 1
            evidence = observe(self.books, max(0, first - BEFORE) if struck is not None else first)
            if len(evidence) or struck is not None:
                events.append(watch.Learned(seq, now, evidence, struck_from_ms=struck))
        for event in events:
            self._step(event)
        for event in composing.doing(self.books, self.memory, now):
            self._step(event)

    def _step(self, event: watch.Event) -> None:
        self.memory, out = watch.step(self.memory, event)
        for t in out:
            self.journal.append(t)
            seq = len(self.books.records) + 1
            draft = Draft(WARNING, t.time, t.learned, author=t.by, payload=t.payload())
            self.books, _ = learn(self.books, numbered([draft], seq))

    # --- what is told of it -------------------------------------------------------------------------------------

    @property
    def records(self) -> tuple[Record, ...]:
        return self.books.records

    @property
    def situation(self) -> Situation:
        """Of now."""
        now = round(self.now * MIN)
        units = {"volume": ("bbl", 1), "level": ("in", 2)}
        return composing.picture(
            composing.seen(self.books), now, warnings=composing.warning_views(self.memory, self.books.rig, now, units),
            aside=composing.aside_views(self.memory, self.books.rig, now, units))

    def map(self) -> WatchedMap:
        return composing.watched_map(self.books, self.memory, self.situation)

    def cell(self, kind: str, on: str = "active") -> WatchedCell:
        """One cell of the map."""
        return next(c for g in self.map().groups for row in g.rows for c in row.cells if (c.kind, c.on) == (kind, on))

    def state(self, kind: str, on: str = "active") -> tuple[str, str]:
        """(state, why) of one cell."""
        cell = self.cell(kind, on)
        return cell.state, cell.limits[0].why if cell.limits else ""

    def story(self, name: str, **changes: Any) -> WarningStory:
        """Of the open warning of a limit. changes: of the situation."""
        found = composing.warning_story(self.books, self.memory, replace(self.situation, **changes), self.occurrence(name))
        assert found is not None
        return found

    def occurrence(self, name: str) -> str:
        return next(s.alarm.occurrence for s in self.memory.open_slots() if s.limit.name == name)
