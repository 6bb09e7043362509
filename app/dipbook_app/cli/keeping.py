"""``dipbook restore`` and ``dipbook salvage``: a log from a copy, and from what a damaged one still tells."""

from __future__ import annotations

import time
from pathlib import Path


def restore(copy: Path, to: Path) -> int:
    """Make a log from a copy. copy: of a log; to: must not exist yet."""
    from dipbook import store
    from dipbook.store import kept_copies

    with store.open(copy, None, write=False, create=False) as opened:
        role = opened.role
    last = kept_copies.restore(copy, to, role)
    print(f"{last} records are in {to}. The copy is as it was.")
    return 0


def salvage(log: Path, to: Path) -> int:
    """What verifies of a damaged log, into a new one; exit code 1 where something is left out. to: must not exist."""
    from dipbook.store import salvage as salvaging

    made = salvaging.salvage(log, to, now_ms=round(time.time() * 1000))
    print(f"{to}: {made.as_they_were} records as they were, {made.anew} sealed anew.")
    for words in made.left_out:
        print(f"Left out: {words}")
    print("The damaged log is as it was: keep it.")
    return 1 if made.left_out else 0
