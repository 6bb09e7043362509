"""When the log can't be written, that is a warning of its own: it sounds, and can be acknowledged here."""

from __future__ import annotations

from dataclasses import dataclass

from dipbook.situation import Situation, WarningView
from dipbook_app.standing_notice import StandingNotice

OCCURRENCE = "log not kept"
KIND = "log"


@dataclass(slots=True)
class LogTrouble(StandingNotice):
    """The warning, while the log isn't kept. The note beside the log doesn't hide the log."""

    def views(self, s: Situation) -> tuple[WarningView, ...]:
        """The warning, while it stands. s: now."""
        failing = frozenset[str]() if s.store_ok else frozenset(s.failing or ("log",))
        return self.standing(failing, s.now_ms, OCCURRENCE, KIND, s.store_text)
