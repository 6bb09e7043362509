"""The situation that a page or form starts from."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dipbook.rig.model import Person
from dipbook.situation import Situation

if TYPE_CHECKING:
    from dipbook_app.desk import Desk


def current(desk: Desk) -> Situation:
    """The newest situation of ``desk``. Raises RuntimeError before the first: pages are made after it."""
    situation = desk.situation
    if situation is None:
        raise RuntimeError("a page was made before the desk had a situation")
    return situation


def crew_of(desk: Desk) -> tuple[Person, ...]:
    """The crew as the rig in force names it, () before the first situation. desk: of the log."""
    return () if desk.situation is None else desk.situation.rig.crew
