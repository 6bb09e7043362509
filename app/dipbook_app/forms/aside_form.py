"""Shelves a limit, takes it out of service, or takes it up again: who, why, and what goes on being watched."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QWidget

from dipbook import watch
from dipbook.errors import QuantityError
from dipbook.findings import Finding
from dipbook.limits import LOUD_KINDS, Limit
from dipbook.quantities import read
from dipbook_app.current import crew_of, current
from dipbook_app.forms.field_row import FieldRow
from dipbook_app.forms.form import Form

if TYPE_CHECKING:
    from dipbook_app.desk import Desk

SHELVE, UNSHELVE, OUT, BACK = "shelve", "unshelve", "out of service", "back in service"
TIMED, ONCE = "this long", "this long, or until it has come and gone"
TITLES = {SHELVE: "Shelve “{}”", UNSHELVE: "Take “{}” off the shelf", OUT: "Take “{}” out of service",
          BACK: "Put “{}” back in service"}
FOLLOWED = "What it watches is followed all the same and written into the log; it makes no sound."
HELP = {
    SHELVE: f"{FOLLOWED} When the time is up it watches again by itself, and sounds if the condition is still true.",
    UNSHELVE: "It sounds at once if its condition is true.",
    OUT: f"{FOLLOWED} It stands on every page until somebody puts it back: nothing does so by itself.",
    BACK: "It sounds at once if its condition is true. What nobody acknowledged waits for that.",
}
A_SIGN = " This limit watches for a sign of the well's. If the gauge can be trusted, leave it in service."
DONE = {SHELVE: "{} is shelved.", UNSHELVE: "{} is off the shelf.", OUT: "{} is out of service.",
        BACK: "{} is back in service."}


class AsideForm(Form):
    """Asks who and why, and of a shelf for how long, of one out of service what is watched instead.

    desk: does it. limit: the limit. how: SHELVE, UNSHELVE, OUT or BACK.
    """

    def __init__(self, desk: Desk, limit: Limit, how: str, parent: QWidget | None = None) -> None:
        super().__init__(TITLES[how].format(limit.name),
                         HELP[how] + (A_SIGN if how == OUT and limit.kind in LOUD_KINDS else ""), parent)
        self.desk, self.limit, self.how = desk, limit, how
        self.say_save({SHELVE: "Shelve", UNSHELVE: "Take off", OUT: "Out of service", BACK: "Back in service"}[how])
        self.add_field(FieldRow("note", "Why"))
        if how == SHELVE:
            longest = "" if limit.shelve_ms is None else \
                f"at most {limit.shelve_ms / 60_000:g} min, set by {limit.set_by}"
            self.add_field(FieldRow("long", "For how long")).set_hint(longest)
            self.add_field(FieldRow("once", "It ends after", (TIMED, ONCE)))
        if how == OUT:
            self.add_field(FieldRow("instead", "Watched instead")).set_hint("how, how often and by whom")
        self.add_field(FieldRow("by", "Who").offer(lambda: crew_of(desk))).set_text(desk.on_watch)
        self.finish()

    def save(self) -> None:
        """Hand it to the desk; what is wrong goes to its field."""
        self.clear_words()
        texts = self.texts()
        wanted = {"note": "Why? A reason is needed.", "by": "Who? A name is needed."}
        if self.how == OUT:
            wanted["instead"] = "What is watched instead, and by whom? It is needed."
        errors = [_error(name, words) for name, words in wanted.items() if not texts.get(name)]
        once, long_ms = texts.get("once", "") == ONCE, None
        if self.how == SHELVE:
            if not texts.get("once"):
                errors.append(_error("once", "Choose when it ends."))
            if not texts.get("long"):
                errors.append(_error("long", "For how long? Type a time, like 10 min."))
            else:
                try:
                    decimal = current(self.desk).rig.decimal
                    long_ms = round(read(texts["long"], "duration", decimal=decimal, bare=None).value * 1000)
                except QuantityError as error:
                    errors.append(_error("long", str(error)))
        if errors:
            self.show_findings(errors)
            return
        until = None if long_ms is None else self.desk.now_ms() + long_ms
        refused = self.desk.set_aside(watch.Act(
            self.how, by=texts["by"], note=texts["note"], limit=self.limit.name, until_ms=until, once=once,
            instead=texts.get("instead", "")))
        if refused:
            self.show_findings((_error("", refused),))
            return
        self.saved.emit(DONE[self.how].format(self.limit.name))


def way(desk: Desk, limit: Limit, shelf: bool) -> str:
    """What the key does to a limit now: sets it aside, or takes it up again. shelf: the key for the shelf."""
    here = next((x for x in current(desk).aside if x.name == limit.name), None)
    if here is None:
        return SHELVE if shelf else OUT
    if here.until_ms is None:
        return BACK
    return UNSHELVE if shelf else OUT


def _error(column: str, words: str) -> Finding:
    return Finding(words, code="field", severity="error", column=column, kept=False)
