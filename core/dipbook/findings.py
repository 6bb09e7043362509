"""What is wrong or noteworthy in the data: returned beside the result, never raised."""

from __future__ import annotations

import re
from dataclasses import dataclass

_OBEYED = re.compile(r"[\x00-\x09\x0b-\x1f\x7f-\x9f\u200b-\u200f\u202a-\u202e\u2066-\u2069\ufeff\ud800-\udfff]")
"""Control characters but the line's end, what turns the way of writing, what isn't seen, halves of characters."""


def printable(text: str) -> str:
    """A text out of a file, with a sign in place of each character that a terminal or a page would obey. text: any."""
    return _OBEYED.sub("\ufffd", text)


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

    def __post_init__(self) -> None:
        """Words may quote a file: whatever it holds, they can be shown."""
        object.__setattr__(self, "what", printable(self.what))

    @property
    def where(self) -> str:
        """The place in words: ``readings.csv, line 12, column Suction``, or the tank unless the words begin with it.
        A name of a file or a heading is shown without what a terminal would obey."""
        tank = "" if self.what.startswith(self.tank) else self.tank
        parts = [p for p in (self.file, f"line {self.line}" if self.line else "",
                             f"column {self.column}" if self.column else "", tank) if p]
        return printable(", ".join(parts)).replace("\n", "\ufffd")
