"""Is the file that is open still the one at its path? A file that was deleted or moved can be written to all the same,
and what goes there is lost."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from dipbook.errors import StoreError


@dataclass(frozen=True, slots=True)
class Place:
    """Where an open log lies. path: of it; file: its device and number there; wal: True if its latest pages lie in a
    file of their own beside it."""

    path: Path
    file: tuple[int, int]
    wal: bool

    def must_hold(self, kept: str) -> None:
        """Raise StoreError unless the log is still at its place. kept: a whole sentence on what is safe."""
        found = _number(self.path)
        if found == self.file and (not self.wal or _wal(self.path).exists()):
            return
        if found is None:
            what = f"The log's file is no longer there: {self.path} was moved or deleted, or its disk was taken off."
            remedy = "Put it back as it was: then saving goes on by itself. If it is gone, go on from a backup."
        elif found != self.file:
            what = f"Another file lies where the log was: {self.path} was replaced while it was open."
            remedy = "Put the log's own file back, or close it and open the other one."
        else:
            what = (f"The file {_wal(self.path).name} beside the log was deleted or moved; it holds what was saved "
                    f"last: {self.path}.")
            remedy = "Close the log in the usual way, which saves it once more, then open it again."
        raise StoreError(f"{what} {kept} {remedy}")


def of(path: Path) -> Place | None:
    """The place of an open log; None where files have no number. path: of the log. Raises OSError if it isn't there."""
    number = _number(path)
    if number is None:
        raise FileNotFoundError(2, "The file isn't there", str(path))
    return Place(path, number, _wal(path).exists()) if number[1] else None


def _number(path: Path) -> tuple[int, int] | None:
    try:
        found = path.stat()
    except (FileNotFoundError, NotADirectoryError):
        return None
    return found.st_dev, found.st_ino


def _wal(path: Path) -> Path:
    return path.with_name(f"{path.name}-wal")
