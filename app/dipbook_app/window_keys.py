"""The window's keys: each with what it does."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtGui import QKeySequence, QShortcut

from dipbook.entries.kinds import HANDOVER
from dipbook_app import unsaved
from dipbook_app.page_names import DRILL, LIMITS, OWN_KEYS, REVIEW, WARNINGS
from dipbook_app.widgets.drill_bar import ASIDE, CALLS, MORE

if TYPE_CHECKING:
    from dipbook_app.window import Window

ACTIONS = {"F5": "round", "Shift+F5": "short round", "Ctrl+F": "flow check", "Ctrl+M": "about to move mud",
           "F6": "entry", "Ctrl+T": "transfer", "Ctrl+0": "zero"}
"""Key -> action of the Watch page, from any page."""
NOTICE_KEYS = {"Ctrl+Shift+A": "answer", "Ctrl+Shift+S": "start", "Ctrl+Shift+O": "call off"}
"""Key -> what is done about the oldest mud that is about to be moved."""
PLACES, STOPS = 9, 2


def add_keys(window: Window) -> None:
    """Give ``window`` its keys. They act wherever the cursor is."""
    keys: dict[str, Callable[[], object]] = {
        "F1": window.following.ask_here, "F7": window.doing.pumps,
        "F8": window.strip.acknowledge_shown, "F9": window.silence, "F10": window.strip.close_shown,
        OWN_KEYS[WARNINGS]: lambda: window.show_warning(window.strip.occurrence_shown),
        OWN_KEYS[REVIEW]: lambda: window.show_page(REVIEW),
        "Ctrl+N": window.strip.show_next, "Ctrl+H": window.take_hint,
        "Ctrl+W": window.status.ask_who, "Ctrl+Shift+W": lambda: window.act(HANDOVER), "F11": window.switch_theme,
        "F12": window.sound.test,
        "Ctrl+P": window.print_sheet, "Ctrl+U": window.next_units, unsaved.KEY: window.go_on,
        "Ctrl++": lambda: window.change_text(1), "Ctrl+=": lambda: window.change_text(1),
        "Ctrl+-": lambda: window.change_text(-1),
    }
    for key, shelf in {"Ctrl+K": True, "Ctrl+Shift+K": False}.items():
        keys[key] = lambda shelf=shelf: window.doing.set_aside(  # type: ignore[misc]
            shelf, "" if window.page in (LIMITS, WARNINGS) else window.strip.limit_shown,
            WARNINGS if window.page == WARNINGS else LIMITS)
    for key, name in ACTIONS.items():
        keys[key] = lambda name=name: window.act(name)  # type: ignore[misc]
    for key, name in NOTICE_KEYS.items():
        keys[key] = lambda name=name: window.doing.notice(name)  # type: ignore[misc]
    for place in range(PLACES):
        keys[f"Ctrl+{place + 1}"] = lambda k=place: window.show_place(k)  # type: ignore[misc]
    for place in range(STOPS):
        keys[f"Ctrl+Shift+{place + 1}"] = lambda k=place: window.stop_place(k)  # type: ignore[misc]
    keys[OWN_KEYS[DRILL]] = lambda: window.show_page(DRILL)
    for key, act in keys.items():
        QShortcut(QKeySequence(key), window).activated.connect(act)


def drill_keys(window: Window) -> tuple[QShortcut, ...]:
    """The keys of a drill's bar, off until there is one: on a page of a watch they would be in the way of its own."""
    made = []
    for action in (*CALLS, *ASIDE, *MORE):
        key = QShortcut(QKeySequence(action.key), window)
        key.activated.connect(lambda name=action.name: window.drill_bar.press(name))
        key.setEnabled(False)
        made.append(key)
    return tuple(made)
