"""What is typed on the Rig page and not adopted: kept as a draft beside the log, over the rig's text in force."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QObject, Signal

from dipbook.findings import Finding
from dipbook.rig.locating import Path
from dipbook.rig.parsing import Checked, check
from dipbook.rig.proposal import Place, Proposal
from dipbook.situation import Situation
from dipbook_app.drafts import Drafts
from dipbook_app.forms.adopting_words import in_force

NAME = "rig draft"
LABEL = "Changes of the rig"
OVERTAKEN = ("The log's rig has changed in other ways since this was typed: its tables aren't the same any more. "
             "Adopting this would undo that. Note what you need, discard it, and type it anew.")


class RigDraft(QObject):
    """situation: the log's rig; drafts: keep what is typed; now_ms: the desk's clock [UTC ms].

    Signal: changed(): something was typed, added, taken out, discarded or adopted, or the rig in force changed.
    """

    changed = Signal()

    def __init__(self, situation: Situation, drafts: Drafts, now_ms: Callable[[], int],
                 parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._drafts, self._now_ms = drafts, now_ms
        self._rig_seq = situation.rig_seq
        self.overtaken = False
        self.proposal = Proposal(_text(situation))
        self._take_kept()
        self.checked: Checked = check(self.proposal.text, "rig")

    def take(self, situation: Situation) -> None:
        """Take in the rig in force, if it is another one: what is typed stands over it from now on."""
        if situation.rig_seq == self._rig_seq:
            return
        self._rig_seq = situation.rig_seq
        self._over(_text(situation))
        self._turned()

    def put(self, place: Place, typed: str) -> None:
        """A key as typed. place: of it."""
        self.proposal = self.proposal.with_value(place, typed)
        self._turned()

    def add(self, kind: str, after: str) -> str:
        """One more table, and its sign. kind: of table; after: sign of the row above it. Raises RigFileError."""
        self.proposal, sign = self.proposal.with_row(kind, after)
        self._turned()
        return sign

    def remove(self, kind: str, sign: str) -> None:
        """One table less. kind, sign: of the row. Raises RigFileError."""
        self.proposal = self.proposal.without_row(kind, sign)
        self._turned()

    def discard(self, situation: Situation) -> None:
        """Throw away what is typed. situation: the rig in force."""
        self.proposal, self.overtaken = Proposal(_text(situation)), False
        self._turned()

    def flush(self) -> None:
        """Write what is typed to the disk now."""
        self._drafts.flush()

    def problems(self) -> dict[Place, str]:
        """What is wrong by place, the first at each."""
        found: dict[Place, str] = {}
        for path, what in self.checked.problems:
            found.setdefault(self.proposal.place(path), what)
        return found

    def findings(self) -> list[tuple[Place, Finding]]:
        """Findings by place."""
        return [(self.proposal.place(path), finding) for path, finding in self.checked.findings]

    def label(self, path: Path) -> str:
        """A path in words."""
        return self.checked.report.label(path)

    def _turned(self) -> None:
        self.checked = check(self.proposal.text, "rig")
        if self.proposal.changed:
            kept = self._drafts.get(NAME) or {}
            self._drafts.put(NAME, {"began_ms": kept.get("began_ms", self._now_ms()), "label": LABEL,
                                    "proposal": self.proposal.kept()})
        else:
            self._drafts.drop(NAME)
        self.changed.emit()

    def _over(self, base: str) -> None:
        if self.proposal.text == base or not self.proposal.changed:
            self.proposal, self.overtaken = Proposal(base), False
            return
        moved = self.proposal.on(base)
        self.overtaken = moved is None
        self.proposal = moved or self.proposal

    def _take_kept(self) -> None:
        kept = self._drafts.get(NAME)
        if kept is None:
            return
        base = self.proposal.base
        try:
            self.proposal = Proposal.of(kept["proposal"])
            self._over(base)
            check(self.proposal.text, "rig")
        except (KeyError, ValueError, TypeError, AttributeError, LookupError):
            self.proposal, self.overtaken = Proposal(base), False
        if not self.proposal.changed:
            self._drafts.drop(NAME)


def _text(situation: Situation) -> str:
    return str(in_force(situation)[-1].payload["text"])
