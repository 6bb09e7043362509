"""The options of commands that read readings of another form. Nothing is loaded for them before one is used."""

from __future__ import annotations

import argparse
from pathlib import Path


def add_options(command: argparse.ArgumentParser) -> None:
    """Give a command the options for readings of another form."""
    group = command.add_argument_group("readings of another form (docs/files.md)")
    group.add_argument("--encoding", metavar="NAME", default="", help="of a file that isn't UTF-8")
    group.add_argument("--separator", metavar="NAME", default="", help=", ; | or tab")
    group.add_argument("--decimal", metavar="NAME", default="", help="point or comma")
    group.add_argument("--sheet", metavar="NAME", default="", help="of a workbook")
    group.add_argument("--mapping", type=Path, metavar="FILE.toml", help="what the columns are")
    group.add_argument("--save-mapping", type=Path, metavar="FILE.toml", help="write what the columns are, to "
                       "be filled in or used again")
    group.add_argument("--good-rows-only", action="store_true", help="leave out the rows that can't be read")
