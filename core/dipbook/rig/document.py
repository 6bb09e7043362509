"""The rig file: read it, check it, and write a change back with its comments kept. Described in docs/rig-file.md."""

from __future__ import annotations

from pathlib import Path

from dipbook.errors import RigFileError
from dipbook.rig.parsing import RigDocument, parse, refused
from dipbook.rig.strapping_file import with_tables
from dipbook.rig.writing import with_limits, with_value

__all__ = ["LARGEST", "RigDocument", "RigFileError", "parse", "read", "with_limits", "with_value"]

LARGEST = 1_000_000
"""A rig file of more bytes than this is refused: it is something else."""


def read(path: Path | str) -> RigDocument:
    """Read a rig file, and the strapping tables that it names; the document's text has them in it.

    path: where it is; UTF-8, with or without a byte order mark.
    Raises RigFileError if it can't be opened, isn't text in UTF-8, is larger than LARGEST, or if it or a table has
    problems.
    """
    path = Path(path)
    name = path.name or str(path)
    try:
        if path.is_dir():
            raise refused(name, (f"{name}: is a folder; expected a rig file, like rig.toml",))
        with path.open("rb") as file:
            raw = file.read(LARGEST + 1)
    except FileNotFoundError:
        raise refused(name, (f"{name}: there is no such file at {path}; expected a rig file",)) from None
    except (OSError, ValueError) as error:
        why = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise refused(name, (f"{name}: can't be opened: {why}",)) from None
    if len(raw) > LARGEST:
        raise refused(name, (f"{name}: is larger than 1 MB; expected a rig file of a few pages",))
    inlined = with_tables(_decoded(raw, name), path.parent, name)
    if inlined.problems:
        raise refused(name, inlined.problems)
    if len(inlined.text.encode("utf-8", "surrogatepass")) > LARGEST:
        raise refused(name, (f"{name}: is larger than 1 MB with its strapping tables in it; expected shorter tables",))
    return parse(inlined.text, name)


def _decoded(raw: bytes, name: str) -> str:
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise refused(name, (f"{name}, line 1: is written in UTF-16; save it as UTF-8",))
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        start = raw.rfind(b"\n", 0, error.start) + 1
        line = raw.count(b"\n", 0, error.start) + 1
        column = len(raw[start:error.start].decode("utf-8", "replace")) + 1
        raise refused(name, (f"{name}, line {line}, column {column}: the byte {raw[error.start]:02X} isn't UTF-8; "
                             "save the file as UTF-8",)) from None
