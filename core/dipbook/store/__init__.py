"""The log on disk: append, read, verify, back up. ``store.open`` is the door."""

from __future__ import annotations

from dipbook.store.opening import open
from dipbook.store.schema import DRILL, WATCH
from dipbook.store.store import Imported, Store

__all__ = ["DRILL", "WATCH", "Imported", "Store", "open"]
