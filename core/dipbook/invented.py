"""The mark of what comes from a training drill, so that no file of one is ever taken for the real well's."""

from __future__ import annotations

from collections.abc import Iterable

from dipbook.records import RIG, Record

MARK = "# INVENTED: a training drill, no real well."
"""First line of every file that a drill writes."""
_WORDS = "INVENTED: a training drill"
"""Of the mark, up to its comma: a spreadsheet may make another sign of that."""
WITHIN = 4096
"""The mark stands in the first bytes of a file: a spreadsheet may have put a sign or two before it."""


def is_marked(text: str) -> bool:
    """True if a text comes from a drill. text: of a file, from its beginning."""
    return _WORDS in text[:WITHIN]


def is_drill(records: Iterable[Record]) -> bool:
    """True if a log's records are those of a drill: its rig file carries the mark. records: of the log."""
    return any(r.kind == RIG and is_marked(str(r.payload.get("text", ""))) for r in records)


def is_marked_file(data: bytes) -> bool:
    """True if a file comes from a drill, in any of the encodings that a spreadsheet or an editor saves it in.

    data: its bytes. A workbook's are packed: its cells are looked at instead.
    """
    head = data[:WITHIN]
    return any(_WORDS.encode(encoding) in head for encoding in ("utf-8", "utf-16-le", "utf-16-be"))
