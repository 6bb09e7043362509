"""One family of errors for what surrounds the log; bad data is a Finding, not an error."""

from __future__ import annotations


class DipbookError(Exception):
    """Something that a crew member can act on.

    ``str(error)`` says what happened, what was kept and what to do; it is shown as it is.
    """


class QuantityError(DipbookError):
    """A text that can't be read as a quantity, or that could mean two things."""


class RigFileError(DipbookError):
    """A rig file that can't be used; carries every problem found, each with its place."""

    def __init__(self, message: str, problems: tuple[str, ...] = ()) -> None:
        super().__init__(message)
        self.problems = problems


class ScenarioFileError(DipbookError):
    """A drill's scenario file that can't be used; its text tells every problem with its line."""


class DrillError(DipbookError):
    """A drill that can't be run on this rig, or that can't go on."""


class ImportFileError(DipbookError):
    """A readings or entries file that can't be read at all (encoding, torn line, no header)."""


class EntryError(DipbookError):
    """An entry that can't stand: a field missing, impossible, or an unknown tank."""


class StoreError(DipbookError):
    """The log's file can't be opened, read or written."""


class StoreBusyError(StoreError):
    """Another program holds the log for writing."""


class StoreNewerError(StoreError):
    """The log was written by a newer Dipbook."""


class StoreDamagedError(StoreError):
    """The log's file is not a log, or is damaged."""
