"""The pages that come with a log, each made, and its code read, when it is first asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QWidget

from dipbook_app.page_names import CONNECTIONS, LIMITS, LINE_UP, LOG, REVIEW, RIG, ROUND, TRIP, WARNINGS
from dipbook_app.pages_made_late import Making

if TYPE_CHECKING:
    from dipbook_app.desk import Desk
    from dipbook_app.drafts import Drafts


def pages(desk: Desk, drafts: Drafts) -> dict[str, Making]:
    """What makes each page, by its name, in the rail's order. desk, drafts: of the log."""
    def gauging() -> QWidget:
        from dipbook_app.pages.round import RoundPage
        return RoundPage(desk, drafts)

    def line_up() -> QWidget:
        from dipbook_app.pages.line_up import LineUpPage
        return LineUpPage()

    def log() -> QWidget:
        from dipbook_app.pages.log import LogPage
        return LogPage(desk, drafts)

    def limits() -> QWidget:
        from dipbook_app.pages.limits import LimitsPage
        return LimitsPage(desk)

    def trip() -> QWidget:
        from dipbook_app.pages.trip import TripPage
        return TripPage(desk, drafts)

    def connections() -> QWidget:
        from dipbook_app.pages.connections import ConnectionsPage
        return ConnectionsPage()

    def rig() -> QWidget:
        from dipbook_app.pages.rig import RigPage
        return RigPage(desk, drafts)

    def warnings() -> QWidget:
        from dipbook_app.pages.warnings import WarningsPage
        return WarningsPage(desk)

    def review() -> QWidget:
        from dipbook_app.pages.review import ReviewPage
        return ReviewPage(desk)

    return {ROUND: gauging, LINE_UP: line_up, LOG: log, LIMITS: limits, TRIP: trip, CONNECTIONS: connections, RIG: rig,
            WARNINGS: warnings, REVIEW: review}
