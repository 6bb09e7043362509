"""What is wrong or noteworthy in the data: returned beside the result, never raised."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Finding:
    """One remark on the data.

    what: plain words: what was found and, where there is one, the remedy.
    file, line, column: place in a file, where it came from one (1-based line, column heading).
    tank: the tank it concerns, or "".
    t_ms: when it concerns, UTC ms, or None for the whole run.
    kept: True if the data it concerns was kept, False if left out.
    severity: "error" (the file is refused), "warning" (a number is affected) or "note".
    code: a short fixed key for tests and for showing like findings once, e.g. "no_zero".
    """

    what: str
    code: str = ""
    severity: str = "warning"
    file: str = ""
    line: int | None = None
    column: str = ""
    tank: str = ""
    t_ms: int | None = None
    kept: bool = True

    @property
    def where(self) -> str:
        """The place in words: ``readings.csv, line 12, column Suction``, or the tank unless the words begin with it."""
        tank = "" if self.what.startswith(self.tank) else self.tank
        parts = [p for p in (self.file, f"line {self.line}" if self.line else "",
                             f"column {self.column}" if self.column else "", tank) if p]
        return ", ".join(parts)
