"""The situation that a page or form starts from."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dipbook.situation import Situation

if TYPE_CHECKING:
    from dipbook_app.desk import Desk


def current(desk: Desk) -> Situation:
    """The newest situation of ``desk``. Raises RuntimeError before the first: pages are made after it."""
    situation = desk.situation
    if situation is None:
        raise RuntimeError("a page was made before the desk had a situation")
    return situation
