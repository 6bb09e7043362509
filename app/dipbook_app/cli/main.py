"""``dipbook``: open the log, the demo, or check files without a window."""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections.abc import Sequence
from functools import partial
from pathlib import Path

import dipbook
from dipbook.errors import DipbookError, ImportFileError
from dipbook_app.cli import drills, keeping
from dipbook_app.cli.form_options import add_options

CANT_GO_ON = 2


def parser() -> argparse.ArgumentParser:
    """The commands and their arguments."""
    top = argparse.ArgumentParser(prog="dipbook", description="A watch log for the mud tanks of a drilling rig. "
                                  "It is an aid, not a well-control or safety system.")
    top.add_argument("--version", action="version", version=f"dipbook {dipbook.__version__}")
    commands = top.add_subparsers(dest="command", metavar="COMMAND")
    check = commands.add_parser("check", help="check readings against a rig file, without a window")
    check.add_argument("rig", type=Path, metavar="RIG.toml")
    check.add_argument("readings", type=Path, metavar="READINGS.csv")
    check.add_argument("--entries", type=Path, metavar="ENTRIES.csv", help="what explains the changes")
    check.add_argument("--json", action="store_true", help="JSON Lines in SI, times in UTC")
    check.add_argument("--channels", type=Path, metavar="OUT.csv",
                       help="write each reading's value against each limit, for review")
    add_options(check)
    trip = commands.add_parser("trip", help="work out a trip's sheet, without a window")
    trip.add_argument("rig", type=Path, metavar="RIG.toml")
    trip.add_argument("trip", type=Path, metavar="TRIP.csv")
    trip.add_argument("--pulled", choices=("dry", "wet", "bucket"), help="how the pipe is pulled")
    trip.add_argument("--returned", type=_share, metavar="SHARE",
                      help="with --pulled bucket: share of the pipe's mud that it gives back to the trip tank, 0 to 1")
    trip.add_argument("--run", choices=("closed", "open", "self-filling"), help="the float, running in")
    trip.add_argument("--mud", default="", metavar="WEIGHT",
                      help="the mud's weight, like \"12 lb/gal\": says what may be pulled between two fills")
    trip.add_argument("--last", type=_count, default=5, metavar="N", help="rows summed beside the total; 5 by default")
    trip.add_argument("--json", action="store_true", help="JSON Lines in SI, times in UTC")
    drills.add_commands(commands)
    watch = commands.add_parser("watch", help="open a log in the window (also without a command)")
    watch.add_argument("log", type=Path, nargs="?", metavar="LOG.dipbook", help="the log; the last one by default")
    watch.add_argument("--rig", type=Path, metavar="RIG.toml", help="start the log with this rig file")
    demo = commands.add_parser("demo", help="open the demo rig's tour; without a display write a picture instead")
    demo.add_argument("--picture", type=Path, metavar="FOLDER", help="write a picture and a summary into this folder")
    demo.add_argument("--trips", action="store_true", help="three trips instead of the tour, the last under way")
    demo.add_argument("--connections", action="store_true", help="a day of fifteen connections, read by sensors")
    verify = commands.add_parser("verify", help="check a log's chain of records")
    verify.add_argument("log", type=Path, metavar="LOG.dipbook")
    backup = commands.add_parser("backup", help="copy a log, also while it is open")
    backup.add_argument("log", type=Path, metavar="LOG.dipbook")
    backup.add_argument("to", type=Path, metavar="COPY.dipbook")
    restore = commands.add_parser("restore", help="make a log from a copy of one, looked through first")
    restore.add_argument("copy", type=Path, metavar="COPY.dipbook")
    restore.add_argument("to", type=Path, metavar="NEW.dipbook")
    salvage = commands.add_parser("salvage", help="what verifies of a damaged log, into a new one")
    salvage.add_argument("log", type=Path, metavar="LOG.dipbook")
    salvage.add_argument("to", type=Path, metavar="NEW.dipbook")
    add = commands.add_parser("add", help="add files to a log, all or nothing, without a window")
    add.add_argument("log", type=Path, metavar="LOG.dipbook")
    add.add_argument("--readings", type=Path, metavar="READINGS.csv")
    add.add_argument("--entries", type=Path, metavar="ENTRIES.csv")
    add.add_argument("--by", required=True, metavar="NAME", help="who adds them")
    add_options(add)
    adopt = commands.add_parser("adopt", help="adopt a rig file in a log, without a window")
    adopt.add_argument("log", type=Path, metavar="LOG.dipbook")
    adopt.add_argument("rig", type=Path, metavar="RIG.toml")
    adopt.add_argument("--by", required=True, metavar="NAME", help="who adopts it")
    adopt.add_argument("--reason", required=True, metavar="WHY")
    adopt.add_argument("--correction", action="store_true", help="it was always so: work the past out anew")
    figures = commands.add_parser("figures", help="how the warnings of a log did over a span, without a window")
    figures.add_argument("log", type=Path, metavar="LOG.dipbook")
    figures.add_argument("--from", dest="begin", default="", metavar="TIME", help="the log's first record by default")
    figures.add_argument("--to", dest="end", default="", metavar="TIME", help="the log's last record by default")
    figures.add_argument("--tour", type=_hours, default=12.0, metavar="HOURS", help="how long a tour is; 12 by default")
    figures.add_argument("--json", action="store_true", help="JSON Lines, times in UTC")
    sheet = commands.add_parser("sheet", help="write a blank dip sheet to print, without a window")
    sheet.add_argument("source", type=Path, metavar="LOG.dipbook|RIG.toml")
    sheet.add_argument("to", type=Path, metavar="OUT.pdf")
    sheet.add_argument("--paper", choices=("a4", "letter"), default="a4", help="a4 by default")
    sheet.add_argument("--rounds", type=int, default=8, metavar="N",
                       help="how many rounds it has room for; 8 by default")
    report = commands.add_parser("report", help="write the report of a tour or any span, without a window")
    report.add_argument("log", type=Path, metavar="LOG.dipbook")
    report.add_argument("--out", type=Path, required=True, metavar="OUT.pdf")
    report.add_argument("--tour", default="", metavar="2026-03-14D", help="the date on which it begins, and its code")
    report.add_argument("--from", dest="from_", default="", metavar="TIME", help="instead of a tour, with --to")
    report.add_argument("--to", default="", metavar="TIME", help="like \"2026-03-14 06:00\", by the rig's clock")
    report.add_argument("--trip", type=int, metavar="N", help="the Nth trip of the log")
    report.add_argument("--section", type=int, metavar="N", help="the Nth section of the hole that was drilled")
    report.add_argument("--csv", type=Path, metavar="FOLDER", help="every table as a file too")
    report.add_argument("--paper", choices=("a4", "letter"), default="a4", help="a4 by default")
    report.add_argument("--then", action="store_true", help="as the log stood when the span ended")
    return top


def _share(text: str) -> float:
    """A share from 0 to 1."""
    value = float(text)
    if not 0.0 <= value <= 1.0:
        raise ValueError
    return value


def _hours(text: str) -> float:
    """A length of a tour, up to a day."""
    value = float(text)
    if not 0.0 < value <= 24.0:
        raise ValueError
    return value


def _count(text: str) -> int:
    """A number of rows, 1 or more."""
    value = int(text)
    if value < 1:
        raise ValueError
    return value


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command. arguments: as after ``dipbook``; None for the process's own. Returns the exit code."""
    asked = parser().parse_args(arguments)
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")
    try:
        match asked.command:
            case "check":
                return _check(asked)
            case "demo":
                from dipbook_app.cli.opening import demo
                return demo(asked.picture, trips=asked.trips, connections=asked.connections)
            case "trip":
                return _trip(asked)
            case "drill":
                return drills.drill(asked)
            case "verify":
                return _verify(asked.log)
            case "backup":
                return _backup(asked.log, asked.to)
            case "restore":
                return keeping.restore(asked.copy, asked.to)
            case "salvage":
                return keeping.salvage(asked.log, asked.to)
            case "add":
                from dipbook_app.cli.at_the_desk import add
                from dipbook_app.cli.other_forms import said_of
                return add(asked.log, asked.readings, asked.entries, asked.by, said=said_of(asked),
                           good_rows_only=asked.good_rows_only, save_mapping=asked.save_mapping)
            case "adopt":
                from dipbook_app.cli.at_the_desk import adopt
                return adopt(asked.log, asked.rig, asked.by, asked.reason, correction=asked.correction)
            case "figures":
                from dipbook_app.cli.figures import show
                return show(asked.log, begin=asked.begin, end=asked.end, tour_h=asked.tour, as_json=asked.json)
            case "sheet":
                from dipbook_app.cli.sheet import sheet
                return sheet(asked.source, asked.to, asked.paper, asked.rounds)
            case "report":
                from dipbook_app.cli.report import report
                return report(asked.log, asked.out, tour=asked.tour, from_=asked.from_, until=asked.to, trip=asked.trip,
                              section=asked.section, paper=asked.paper, csv=asked.csv, then=asked.then)
            case _:
                from dipbook_app.cli.opening import watch
                return watch(getattr(asked, "log", None), getattr(asked, "rig", None))
    except DipbookError as error:
        print(error, file=sys.stderr)
        return CANT_GO_ON
    except BrokenPipeError:
        # The reader of a pipe has gone: nothing more can be said there, also not when Python ends.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return CANT_GO_ON
    except OSError as error:
        where = f": {error.filename}" if error.filename else ""
        print(f"This can't be read or written ({error.strerror or error}){where}. Check the path, the room on the disk "
              "and who may write there.", file=sys.stderr)
        return CANT_GO_ON


def _check(asked: argparse.Namespace) -> int:
    from dipbook import checking
    from dipbook_app.cli.other_forms import HOW, look, said_of, save

    said = said_of(asked)
    if asked.save_mapping is not None:
        save(look(asked.rig, asked.readings, said).other, asked.save_mapping, partial(print, file=sys.stderr))
    try:
        checked = checking.check(asked.rig, asked.readings, asked.entries, said=said,
                                 good_rows_only=asked.good_rows_only)
    except ImportFileError as error:
        print(error, file=sys.stderr)
        if any(f.code == "asked" for f in look(asked.rig, asked.readings, said).file.findings):
            print(HOW, file=sys.stderr)
        return CANT_GO_ON
    if asked.channels is not None:
        from dipbook import channels
        asked.channels.write_bytes(channels.table(checked.books))
    if asked.json:
        for line in checking.lines(checked):
            sys.stdout.write(json.dumps(line, ensure_ascii=False, allow_nan=False) + "\n")
    else:
        for text in checking.text_lines(checked):
            sys.stdout.write(text + "\n")
        from dipbook.cautions import CAUTION
        print(f"\n{CAUTION}")
    sys.stdout.flush()
    return checked.exit_code


def _trip(asked: argparse.Namespace) -> int:
    from dipbook import tripping
    from dipbook.cautions import CAUTION

    done = tripping.run(asked.rig, asked.trip, pulled=asked.pulled, running=asked.run, returned=asked.returned,
                        last_n=asked.last, mud=asked.mud)
    for text in tripping.json_lines(done) if asked.json else tripping.text_lines(done):
        sys.stdout.write(text + "\n")
    if not asked.json:
        print(f"\n{CAUTION}")
    sys.stdout.flush()
    return done.exit_code


def _verify(log: Path) -> int:
    from dipbook import store

    with store.open(log, None, write=False, create=False) as opened:
        findings = opened.verify()
        for finding in findings:
            print(f"{finding.where}: {finding.what}" if finding.where else finding.what)
        if not findings:
            print(f"{log.name}: {opened.last_seq} records, the chain holds.")
    return 1 if findings else 0


def _backup(log: Path, to: Path) -> int:
    from dipbook import store

    with store.open(log, None, write=False, create=False) as opened:
        last = opened.backup(to)
    print(f"Copied {last} records to {to}.")
    return 0
