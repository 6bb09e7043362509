"""``dipbook drill``: the training drills, without a window."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from dipbook_app.cli import drill_records

DEMO_RIG = "rig-larkspur.toml"


def add_commands(commands: Any) -> None:
    """Add ``drill`` and what it can do. commands: argparse's subparsers."""
    drill = commands.add_parser("drill", help="training drills on an invented well, without a window")
    what = drill.add_subparsers(dest="drill", metavar="WHAT", required=True)
    listed = what.add_parser("list", help="the scenarios there are, and what each trains")
    listed.add_argument("--more", type=Path, metavar="FOLDER", help="with the scenarios of this folder")
    run = what.add_parser("run", help="run a drill and write its files, which dipbook check reads")
    run.add_argument("name", metavar="NAME", help="as listed, or a scenario file of your own")
    run.add_argument("--seed", type=int, required=True, metavar="N", help="the same one gives the same drill")
    run.add_argument("--out", type=Path, required=True, metavar="FOLDER", help="a new or empty folder")
    run.add_argument("--rig", type=Path, metavar="RIG.toml",
                     help="instead of the demo rig, where the scenario names none")
    run.add_argument("--more", type=Path, metavar="FOLDER", help="look for NAME in this folder too")
    copy = what.add_parser("copy", help="copy a scenario's file, to begin one of your own from")
    copy.add_argument("name", metavar="NAME")
    copy.add_argument("to", type=Path, metavar="FILE.toml")
    drill_records.add_commands(what)


def drill(asked: argparse.Namespace) -> int:
    """Do what was asked. asked: the parsed arguments. Returns the exit code; raises DipbookError."""
    if asked.drill in drill_records.COMMANDS:
        return drill_records.COMMANDS[asked.drill](asked)
    from dipbook import practising
    from dipbook_app.demo import folder

    demo = folder() / DEMO_RIG
    if asked.drill == "list":
        for path in practising.scenarios(asked.more):
            scenario, _ = practising.load(path, demo)
            print(f"{path.stem:<24} {scenario.trains}")
        return 0
    if asked.drill == "copy":
        print(f"Copied to {practising.copy_example(asked.name, asked.to)}.")
        return 0
    done = practising.run(practising.find(asked.name, asked.more), asked.seed, asked.rig or demo)
    for path in practising.write(done, asked.out):
        print(path)
    if done.session.ended:
        print(f"It ended before the crew's work was done: {done.session.ended}. Nobody stopped it.")
    print("Invented: no real well. truth.csv tells what was so; look at it last.")
    return 0
