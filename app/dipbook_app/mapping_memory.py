"""What columns of other forms were said to be, kept beside the log under their headings and offered the next time."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from dipbook.errors import DipbookError
from dipbook.exchange.mapping import Mapping
from dipbook.exchange.mapping_file import as_text, from_text
from dipbook.store.beside import read_json, write_json

FORMAT = 1
MOST = 200
"""Sets of headings that are kept; the oldest goes first."""


def path_for(log: Path) -> Path:
    """Where the mappings of a log's files are kept."""
    return log.with_name(log.name + ".columns.json")


def remembered(path: Path, key: str) -> Mapping | None:
    """What was said of these headings, None if nothing was or it can't be read. key: from ``mapping.key_of``."""
    text = _kept(path).get(key)
    try:
        return from_text(text, path.name) if isinstance(text, str) else None
    except DipbookError:
        return None


def remember(path: Path, key: str, mapping: Mapping) -> None:
    """Keep what is said of these headings. Raises StoreError if it can't be written."""
    kept = _kept(path)
    kept.pop(key, None)
    kept[key] = as_text(mapping)
    write_json(path, {"format": FORMAT, "mappings": dict(list(kept.items())[-MOST:])})


def _kept(path: Path) -> dict[str, Any]:
    """headings' key -> mapping as TOML. A file that is damaged was set aside; one that can't be read holds nothing."""
    try:
        found = read_json(path)
    except DipbookError:
        return {}
    mappings = found.get("mappings") if isinstance(found, dict) and found.get("format") == FORMAT else None
    return dict(mappings) if isinstance(mappings, dict) else {}
