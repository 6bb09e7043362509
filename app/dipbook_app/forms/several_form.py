"""Changes several limits in one form: one who and one why, a record for each, all of them or none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QWidget

from dipbook.errors import DipbookError
from dipbook.findings import Finding
from dipbook.limits import NOT_SHELVABLE, SUSPECT, TRIP_KINDS, Limit
from dipbook.rig.writing import same_limit
from dipbook_app.current import crew_of, current
from dipbook_app.display import DisplayUnits
from dipbook_app.forms.field_row import FieldRow
from dipbook_app.forms.form import Form, sentence
from dipbook_app.forms.limit_form import LABELS, NO_DEADBAND
from dipbook_app.forms.limit_texts import carried, on_words, read_limit, texts_of_limit

if TYPE_CHECKING:
    from dipbook_app.desk import Desk

WHATS = ("value", "deadband", "growth", "after", "shelve")
"""What can be changed of several at once; each limit keeps its own name, kind, place and activity."""
WHAT, PREFIX = "what", "limit "
"""Names of the fields: what is shown, and each limit's, with its name behind."""


class SeveralForm(Form):
    """A row for each limit, of one of their values at a time; what is typed of the others is kept until it is saved.

    desk: takes the table of limits. limits: those to change, two or more. changed: names of those that were, once
    saved.
    """

    def __init__(self, desk: Desk, limits: Sequence[Limit], parent: QWidget | None = None) -> None:
        super().__init__(f"Change {len(limits)} limits", "One who and one why for all. Each is a change of its own in "
                         "the log; either all are saved or none.", parent)
        self.desk = desk
        self.limits = tuple(limits)
        self.changed: tuple[str, ...] = ()
        rig = current(desk).rig
        self._typed = {limit.name: texts_of_limit(limit, rig) for limit in self.limits}
        self._what = WHATS[0]
        self.add_field(FieldRow(WHAT, "What", tuple(LABELS[name] for name in WHATS))).set_text(LABELS[self._what])
        for limit in self.limits:
            during = "" if limit.kind in TRIP_KINDS else f", {limit.activity}"
            row = self.add_field(FieldRow(_field(limit), f"{limit.name}\n{on_words(limit)}{during}"))
            row.set_text(self._typed[limit.name].get(self._what, ""))
        self.add_field(FieldRow(".by", "Who sets them").offer(lambda: crew_of(desk))).set_text(desk.on_watch)
        self.add_field(FieldRow(".why", "Why"))
        self.finish()
        self.field(WHAT).changed.connect(self._show_other)
        self._fit()

    def start(self) -> None:
        """Put the cursor into the first limit's field."""
        self.fields[1].focus()

    def save(self) -> None:
        """Hand the whole table with these limits in it to the desk."""
        self.clear_words()
        self._keep()
        situation = current(self.desk)
        now = DisplayUnits(situation.rig).local(self.desk.now_ms())
        by, why = self.field(".by").text(), self.field(".why").text()
        found = [_error(name, words) for name, text, words in (
            (".by", by, "Who sets them? A name is needed."), (".why", why, "Why? A reason is needed.")) if not text]
        made: dict[str, Limit] = {}
        wrong: list[tuple[str, Finding]] = []
        for limit in self.limits:
            # What is wrong with who and why is said once; the words that stand in for them here are never stored.
            texts = {key: text for key, text in self._typed[limit.name].items() if text}
            read, refused = read_limit({**texts, "by": by or "?", "why": why or "?"}, situation.rig,
                                       since=f"{now:%Y-%m-%d %H:%M}")
            wrong += [(finding.column, replace(finding, column=_field(limit))) for finding in refused]
            if read is not None:
                read = carried(limit, read, texts, situation.rig)
            if read is not None and not same_limit(limit, replace(read, set_by=limit.set_by, reason=limit.reason,
                                                                  since=limit.since)):
                made[limit.name] = read
        if wrong:
            whats = [what for what, _ in wrong if what in WHATS]
            if whats and self._what not in whats:
                self.field(WHAT).set_text(LABELS[whats[0]])
            found += [finding if what == self._what else _elsewhere(what, finding) for what, finding in wrong]
        stand = {limit.name: limit for limit in situation.rig.limits}
        found += [_error(_field(x), "Somebody has changed or withdrawn it meanwhile. Leave the form and open it anew.")
                  for x in self.limits if stand.get(x.name) != x]
        if not found and not made:
            found.append(_error("", "Nothing changed."))
        if found:
            self.show_findings(found)
            return
        self._hand_over(tuple(made.get(x.name, x) for x in situation.rig.limits), made, by, why)

    def _hand_over(self, limits: tuple[Limit, ...], made: dict[str, Limit], by: str, why: str) -> None:
        try:
            said = self.desk.set_limits(limits, author=by, reason=why, each=True) or ()
        except DipbookError as error:
            self.show_findings((_error("", str(error)),))
            return
        if any(finding.severity == "error" for finding in said):
            self.show_findings(said)
            return
        self.changed = tuple(made)
        words = f"{len(made)} {'limit' if len(made) == 1 else 'limits'} changed: {', '.join(made)}."
        mine = tuple(f"Limit {name} " for name in made)
        self.saved.emit(" ".join([words, *(sentence(f.what) for f in said if f.what.startswith(mine))]))

    def _keep(self) -> None:
        """Keep what is typed of the values that are shown."""
        for limit in self.limits:
            self._typed[limit.name][self._what] = self.field(_field(limit)).text()

    def _show_other(self) -> None:
        """Show another of their values; what was typed of the last is kept."""
        shown = next((name for name in WHATS if LABELS[name] == self.field(WHAT).text()), "")
        if not shown or shown == self._what:
            return
        self._keep()
        self._what = shown
        for limit in self.limits:
            self.field(_field(limit)).set_text(self._typed[limit.name].get(shown, ""))
        self._fit()

    def _fit(self) -> None:
        """A value that has no meaning for a limit's kind isn't asked for."""
        for limit in self.limits:
            left_out = (self._what in ("deadband", "growth") and limit.kind in NO_DEADBAND) or (
                self._what == "shelve" and limit.kind in NOT_SHELVABLE) or (
                self._what == "value" and limit.kind == SUSPECT)
            self.field(_field(limit)).setVisible(not left_out)


def _field(limit: Limit) -> str:
    return PREFIX + limit.name


def _elsewhere(what: str, finding: Finding) -> Finding:
    """A finding on a value that isn't shown, said below the fields."""
    name = finding.column.removeprefix(PREFIX)
    return replace(finding, column="", what=f"{name}, {LABELS.get(what, what)}: {finding.what}")


def _error(column: str, words: str) -> Finding:
    return Finding(words, code="field", severity="error", column=column, kept=False)
