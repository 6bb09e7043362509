"""Rounds and rows of a trip that couldn't be stored are judged as if they had been: what they would raise is shown and
sounded at once, and said not to be in the log. They quiet nothing: judged on copies, only what they raise is taken.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from dipbook import composing, watch
from dipbook.books import Books
from dipbook.records import Draft, Record, numbered
from dipbook.situation import WarningView
from dipbook_app import learning

WORDS = ("The round it rests on could NOT be stored and is not in the log; what was typed is kept. Save it again once "
         "the log can be written, and write it down by hand until then. ")
NOTE = "acknowledged before its round could be stored"


class _Of(NamedTuple):
    """Which limit's warning."""

    name: str
    kind: str
    system: str
    tank: str


@dataclass(slots=True)
class UnsavedRounds:
    """What couldn't be stored, and the warnings that it would have raised.

    silent_until_ms: of their sound [UTC ms]."""

    silent_until_ms: int = 0
    _drafts: dict[int, Draft] = field(default_factory=dict)
    _views: dict[_Of, WarningView] = field(default_factory=dict)
    _seen_by: dict[_Of, str] = field(default_factory=dict)

    def judge(self, draft: Draft, books: Books, memory: watch.Watch, now_ms: int,
              units: Mapping[str, tuple[str, int]]) -> None:
        """Judge a round that wasn't stored, with those before it. draft: with its dips; one of the same beginning takes
        the place of an earlier try. books, memory: as they stand; they stay so. now_ms [UTC ms]. units: for texts."""
        self._drafts[_key(draft)] = draft
        for drafts in ([draft], list(self._drafts.values())):
            self._judge(drafts, books, memory, now_ms, units)

    def _judge(self, drafts: list[Draft], books: Books, memory: watch.Watch, now_ms: int,
               units: Mapping[str, tuple[str, int]]) -> None:
        records = numbered(drafts, books.records[-1].seq + 1)
        found = learning.of(books.apart(), memory, records, now_ms, cause="a round that isn't in the log")
        raised = {t.occurrence for t in found.transitions if t.sounds}
        for view in composing.warning_views(found.memory, found.books.rig, now_ms, units):
            of = _of(view)
            had = self._views.get(of)
            if view.occurrence not in raised or view.state != "raised" or (had and had.value == view.value):
                continue
            self._seen_by.pop(of, None)
            self.silent_until_ms = 0
            self._views[of] = replace(view, occurrence="not saved: " + " ".join(of), text=WORDS + view.text,
                                      actions=("acknowledge",), first=False, in_log=False)

    def views(self, now_ms: int) -> tuple[WarningView, ...]:
        """The warnings, as they stand. now_ms [UTC ms]."""
        silent = watch.silent(self.silent_until_ms, now_ms)
        return tuple(replace(v, state="acknowledged", sounding=False, actions=("close",)) if of in self._seen_by
                     else replace(v, sounding=not silent) for of, v in self._views.items())

    def has(self, occurrence: str) -> bool:
        """True for one of its warnings. occurrence: the warning's."""
        return any(v.occurrence == occurrence for v in self._views.values())

    def acknowledge(self, occurrence: str, by: str) -> None:
        """Somebody has seen it; it stands. occurrence: the warning's. by: who."""
        self._seen_by.update({of: by for of, v in self._views.items() if v.occurrence == occurrence})

    def give_up(self, occurrence: str) -> None:
        """A person says that its round is given up. occurrence: the warning's."""
        self._views = {of: v for of, v in self._views.items() if v.occurrence != occurrence}
        if not self._views:
            self._drafts.clear()

    def silence(self, now_ms: int) -> None:
        """Silent for a while from now_ms [UTC ms]."""
        self.silent_until_ms = now_ms + watch.SILENCE_MS

    def stored(self, records: Sequence[Record], open_now: Sequence[WarningView]) -> list[watch.Act]:
        """These were stored and judged. Once they hold all that wasn't stored, or later dips of the same tanks, the
        log's own warnings take the place of those here. records: new. open_now: the log's warnings. Returns the
        acknowledgements to go with them: of the same warning at the same value, which needn't sound as new twice."""
        rounds = [r for r in records if r.dips]
        if not rounds or not self._drafts:
            return []
        for r in rounds:
            tanks = {d.tank for d in r.dips}
            for key, d in tuple(self._drafts.items()):
                if (key == _key(r) or d.t_ms <= r.t_ms) and {dip.tank for dip in d.dips} <= tanks:
                    del self._drafts[key]
        if self._drafts:
            return []
        acts = [watch.Act("acknowledge", w.occurrence, by=self._seen_by[of], note=NOTE) for w in open_now
                if w.state == "raised" and (of := _of(w)) in self._seen_by and self._views[of].value == w.value]
        self._drafts.clear()
        self._views.clear()
        self._seen_by.clear()
        return acts


def _key(made: Draft | Record) -> int:
    return int(made.payload.get("start_ms", made.t_ms))


def _of(view: WarningView) -> _Of:
    return _Of(view.name, view.kind, view.system, view.tank)
