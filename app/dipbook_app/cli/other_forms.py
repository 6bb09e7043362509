"""What options say of readings of another form, and what has still to be said."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from dipbook.errors import DipbookError, ImportFileError
from dipbook.exchange import any_file, dialect, encodings
from dipbook.exchange.any_file import Taken
from dipbook.exchange.foreign import NOTHING_SAID, Foreign
from dipbook.exchange.mapping import Mapping
from dipbook.exchange.mapping_file import as_text, from_text
from dipbook.rig import document

HOW = ("Say it with --encoding, --separator, --decimal, --sheet or --mapping FILE.toml. Run it again with "
       "--save-mapping FILE.toml to have such a file written: fill in what is missing and give it as --mapping "
       "(docs/files.md, Files of other forms).")


def said_of(asked: argparse.Namespace) -> Mapping:
    """What the options say. Raises DipbookError for one that can't be."""
    said = NOTHING_SAID
    if asked.mapping is not None:
        try:
            said = from_text(asked.mapping.read_text(encoding="utf-8"), asked.mapping.name)
        except UnicodeDecodeError:
            raise ImportFileError(f"{asked.mapping.name}: is not UTF-8. Save it so.") from None
    if asked.encoding:
        known = encodings.named(asked.encoding)
        if known is None:
            raise DipbookError(f"The encoding {asked.encoding!r} isn't known here. Use one of "
                               f"{', '.join(encodings.OFFERED)}.")
        said = replace(said, encoding=known)
    if asked.separator:
        said = replace(said, separator=_one_of(asked.separator, dialect.SEPARATORS, "separator"))
    if asked.decimal:
        said = replace(said, decimal=_one_of(asked.decimal, dialect.DECIMALS, "decimal sign"))
    return replace(said, sheet=asked.sheet) if asked.sheet else said


def look(rig: Path, readings: Path, said: Mapping) -> Taken:
    """A readings file as it is read by what is said of it. rig: the rig file. Raises RigFileError for that one."""
    return any_file.take(readings.read_bytes(), readings.name, document.read(rig).rig, said)


def save(other: Foreign | None, path: Path, say: Callable[[str], object] = print) -> None:
    """Write what is said, shown or proposed of a file as a mapping, to be filled in. other: None: its form is our own.
    say: takes what became of it."""
    if other is None:
        say("The readings file has Dipbook's own form and needs no mapping: none was written.")
    elif not other.headings:
        say("No mapping was written: the columns aren't known yet.")
    else:
        from dipbook.store.beside import atomic_write  # the store is slow to load, and a check needs none of it

        atomic_write(path, as_text(other.mapping))
        say(f"Wrote the mapping {path}.")


def _one_of(text: str, known: dict[str, str], what: str) -> str:
    """A sign, given itself or by its name."""
    for sign, name in known.items():
        if text in (sign, name) or (sign == "\t" and text == "\\t"):
            return sign
    raise DipbookError(f"{text!r} can't be the {what}. Use one of {', '.join(known.values())}.")
