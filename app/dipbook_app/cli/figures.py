"""``dipbook figures``: how the warnings of a log did over a span, without a window and without Qt."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

from dipbook import figures, reports, store
from dipbook.books import build
from dipbook.cautions import CAUTION
from dipbook.composing import journal
from dipbook.errors import DipbookError, QuantityError
from dipbook.exchange.times import parse, rfc3339, rig_time
from dipbook_app import urgency

NOTHING_RAISED, RAISED = 0, 1


def show(log: Path, *, begin: str, end: str, tour_h: float, as_json: bool) -> int:
    """Print the figures. begin, end: of the span, in the rig's time or with an offset, "" for the log's first and last
    record. tour_h: hours of a tour. as_json: JSON Lines, times in UTC. Returns 0 if no warning was raised in the span,
    1 if any was. Raises DipbookError for what can't be read.
    """
    with store.open(log, None, write=False, create=False) as opened:
        books, drill = build(opened.records()), opened.role == store.DRILL
    zone, decimal = books.rig.zone, books.rig.decimal
    learned = [record.learned_ms for record in books.records]
    from_ms = min(learned) if not begin else _time(begin, zone, "--from")
    to_ms = max(learned) + 1 if not end else _time(end, zone, "--to")
    if to_ms <= from_ms:
        raise DipbookError("--to has to be after --from. Nothing was counted.")
    _, unreadable = journal(books.records)
    counted = reports.counted(books, from_ms, to_ms, urgency.RANKS)
    lines, code = figures.figures(counted, tour_h), RAISED if counted.raised else NOTHING_RAISED
    if as_json:
        span = {"type": "span", "from": rfc3339(from_ms), "to": rfc3339(to_ms), "watched_s": counted.watched_ms / 1000,
                "unreadable": unreadable, "drill": drill}
        for line in (span, *map(_json, lines)):
            sys.stdout.write(json.dumps(line, ensure_ascii=False, allow_nan=False) + "\n")
        sys.stdout.flush()
        return code
    if drill:
        print("DRILL: a training drill, not the well.")
    print(f"{books.rig.name}, {log.name}: {rig_time(from_ms, zone)} to {rig_time(to_ms, zone)}")
    if unreadable:
        print(f"{unreadable} of its warnings can't be read by this version and aren't counted.")
    print(figures.SAYS)
    for figure in lines:
        print(f"\n{figure.label + ':':<34} {reports.number(figure, decimal)}")
        print(f"    {figure.formula}" + (f". {figure.note}" if figure.note else ""))
        if figure.target:
            print(f"    target: {figure.target} ({figures.SOURCES[figure.source]})")
    print(f"\n{CAUTION}")
    sys.stdout.flush()
    return code


def _json(figure: figures.Figure) -> dict[str, Any]:
    return {"type": "figure", "key": figure.key, "label": figure.label, "value": figure.value, "unit": figure.unit,
            "formula": figure.formula, "target": figure.target, "source": figures.SOURCES[figure.source],
            "note": figure.note}


def _time(text: str, zone: str, option: str) -> int:
    try:
        return parse(text, zone)
    except QuantityError as error:
        raise DipbookError(f"{option}: {error}. Nothing was counted.") from None
