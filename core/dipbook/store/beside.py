"""Small files that live beside the log and are not records: drafts, preferences, column mappings."""

from __future__ import annotations

import json
import os
import tempfile
from pathlib import Path
from typing import Any

from dipbook.store.failures import in_words

KEPT = "The file is as it was before."


def atomic_write(path: str | Path, text: str) -> None:
    """Replace a file's content at once: after a crash it is the old text or the new one, never half.

    path: its folder must exist. text: written as UTF-8, line ends as given. Raises StoreError.
    """
    target = Path(path)
    with in_words(target, "Saving", KEPT):
        handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.", suffix=".part")
        part = Path(name)
        try:
            with os.fdopen(handle, "w", encoding="utf-8", newline="") as file:
                file.write(text)
                file.flush()
                os.fsync(file.fileno())
            part.replace(target)
        except BaseException:
            part.unlink(missing_ok=True)
            raise
        sync(target.parent)


def write_json(path: str | Path, value: Any) -> None:
    """``atomic_write`` of a plain JSON value, indented for a person to read. path: the file; value: the value."""
    atomic_write(path, json.dumps(value, indent=1, ensure_ascii=False) + "\n")


def read_text(path: str | Path) -> str | None:
    """The text of a file; None if there is none. One that isn't UTF-8 is kept aside and None returned."""
    source = Path(path)
    with in_words(source, "Reading", "Nothing was changed."):
        try:
            return source.read_bytes().decode("utf-8")
        except FileNotFoundError:
            return None
        except UnicodeDecodeError:
            set_aside(source)
            return None


def read_json(path: str | Path) -> Any | None:
    """The JSON value of the file at ``path``; None if there is none. A damaged one is kept aside and None returned."""
    text = read_text(path)
    if text is None:
        return None
    try:
        return json.loads(text)
    except ValueError:
        set_aside(path)
        return None


def set_aside(path: str | Path) -> Path:
    """Rename a damaged file to NAME.damaged, NAME.damaged-2, … and return the new path. Raises StoreError."""
    source = Path(path)
    with in_words(source, "Setting a damaged file aside", KEPT):
        n, aside = 1, source.with_name(f"{source.name}.damaged")
        while aside.exists():
            n += 1
            aside = source.with_name(f"{source.name}.damaged-{n}")
        return source.rename(aside)


def damaged_copies(path: str | Path) -> tuple[Path, ...]:
    """What ``set_aside`` has kept of this file, for telling the crew."""
    source = Path(path)
    return tuple(sorted(p for p in source.parent.iterdir() if p.name.startswith(f"{source.name}.damaged")))


def sync(path: Path) -> None:
    """Wait until a file's content, or a folder's list of names, is on the disk."""
    if os.name == "nt" and path.is_dir():
        return  # Windows doesn't open folders
    handle = os.open(path, os.O_RDONLY if os.name != "nt" else os.O_RDWR)
    try:
        os.fsync(handle)
    except OSError:
        if not path.is_dir():  # some network file systems refuse it for folders
            raise
    finally:
        os.close(handle)
