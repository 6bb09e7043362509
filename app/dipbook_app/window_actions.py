"""What the Watch page's keys and buttons do: each leads to the page and the form where it is done."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from dipbook.entries.kinds import HANDOVER
from dipbook.situation import NoticeView, Situation
from dipbook_app import desk_calls
from dipbook_app.forms.entry_form import STARTS
from dipbook_app.page_names import LIMITS, LOG, ROUND

FORMS = {"entry": None, "transfer": "transfer", "zero": "zero", HANDOVER: HANDOVER,
         desk_calls.NOTICE: desk_calls.NOTICE}
"""Actions that open a form: the kind of entry, None to choose one."""


class Actions:
    """Does what is asked for by name.

    open_page(name): shows a page and gives it, None if there is none. newest(): the newest situation, if any.
    desk(): the desk of the log in use, if any. say(words, bad): says what came of it.
    """

    def __init__(self, open_page: Callable[[str], Any], newest: Callable[[], Situation | None],
                 desk: Callable[[], Any], say: Callable[[str, bool], None]) -> None:
        self._open_page = open_page
        self._newest = newest
        self._desk = desk
        self._say = say

    def act(self, name: str) -> None:
        """Do one of the Watch page's actions."""
        if self._desk() is None:
            return
        if name == "round" and (page := self._open_page(ROUND)) is not None:
            page.begin()
        elif name == "short round" and (page := self._open_page(ROUND)) is not None:
            page.begin(short=True)
        elif name == "flow check":
            self._check_flow()
        elif name.startswith("pumps "):
            self._offer_pumps(name.removeprefix("pumps "))
        elif name.startswith("stop:"):
            self._stop(name.removeprefix("stop:"))
        elif name in FORMS:
            self.write(FORMS[name], {"state": "running"} if name == "transfer" else {})

    def pumps(self) -> None:
        """The entry of the other state of the pumps."""
        if (now := self._newest()) is not None:
            self.act("pumps off" if now.pumps_on else "pumps on")

    def write(self, kind: str | None, fields: Mapping[str, Any]) -> None:
        """Open the form of a new entry. kind: None to choose it first. fields: prefilled."""
        if (page := self._open_page(LOG)) is not None:
            page.add(kind, fields)

    def set_aside(self, shelf: bool, name: str, where: str = LIMITS) -> None:
        """Open the form that shelves a limit (shelf) or takes it out of service. name: of it, "" for the one chosen on
        the page. where: the page that has the form, LIMITS or WARNINGS."""
        if self._desk() is not None and (page := self._open_page(where)) is not None:
            page.set_aside(shelf, name)

    def notice(self, name: str, uid: str = "") -> None:
        """Do something about mud that is about to be moved. name: "answer", "start" or "call off". uid: of its record,
        "" for the oldest."""
        now = self._newest()
        notice = None if now is None else next((n for n in now.notices if uid in ("", n.uid)), None)
        if notice is None:
            self._say("No mud is about to be moved: announce it first (Ctrl+M).", False)
        elif name == "start":
            self._start(notice)
        elif (page := self._open_page(LOG)) is not None:
            page.panel.answer(notice, calls_off=name == "call off")

    def _start(self, notice: NoticeView) -> None:
        """The transfer that was announced, running from now on; the notice is over when it is saved."""
        now, page = self._newest(), self._open_page(LOG)
        if page is None or now is None:
            return
        places = {k: notice.fields[k] for k in ("from", "to") if notice.fields.get(k)}
        page.add("transfer", {**places, "state": "running", "t_ms": now.now_ms, STARTS: notice.uid})

    def _check_flow(self) -> None:
        if (page := self._open_page(LOG)) is not None:
            page.panel.check_flow()

    def _offer_pumps(self, state: str) -> None:
        """Open the entry of the pumps off or on, now; a second key saves it."""
        now, page = self._newest(), self._open_page(LOG)
        if now is not None and page is not None:
            page.offer("pumps", {"state": state, "t_ms": now.now_ms})

    def _stop(self, uid: str) -> None:
        now = self._newest()
        running = next((r for r in now.running if r.uid == uid), None) if now else None
        if running is not None and (page := self._open_page(LOG)) is not None:
            page.panel.stop(running)
