"""``dipbook figures``: how the warnings of a log did over a span, without a window and without Qt."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

from dipbook import figures, store, watch
from dipbook.books import build
from dipbook.cautions import CAUTION
from dipbook.composing import journal
from dipbook.errors import DipbookError, QuantityError
from dipbook.exchange.times import parse, rfc3339, rig_time
from dipbook.limit_record import changes, history
from dipbook_app import urgency

NOTHING_RAISED, RAISED = 0, 1
SAYS = ("Numbers without grades. The targets are those of ANSI/ISA-18.2-2016, clause 16.4, and IEC 62682, as restated "
        "in public; the standards themselves weren't read.")


def show(log: Path, *, begin: str, end: str, tour_h: float, as_json: bool) -> int:
    """Print the figures. begin, end: of the span, in the rig's time or with an offset, "" for the log's first and last
    record. tour_h: hours of a tour. as_json: JSON Lines, times in UTC. Returns 0 if no warning was raised in the span,
    1 if any was. Raises DipbookError for what can't be read.
    """
    with store.open(log, write=False, create=False) as opened:
        books = build(opened.records())
    zone, decimal = books.rig.zone, books.rig.decimal
    learned = [record.learned_ms for record in books.records]
    from_ms = min(learned) if not begin else _time(begin, zone, "--from")
    to_ms = max(learned) + 1 if not end else _time(end, zone, "--to")
    if to_ms <= from_ms:
        raise DipbookError("--to has to be after --from. Nothing was counted.")
    payloads, unreadable = journal(books.records)
    transitions = [watch.from_payload(payload) for payload in payloads]
    counted = figures.count(
        from_ms, to_ms, figures.raisings(transitions), resounded=figures.resoundings(transitions),
        occurrences=figures.occurrences(transitions), changes=changes(history(books.records), books.rig),
        unwatched=[(a, b) for a, b, _ in books.unwatched], set_aside=figures.set_aside(transitions),
        ranks={kind: each.rank for kind, each in urgency.OF_KIND.items()})
    lines, code = figures.figures(counted, tour_h), RAISED if counted.raised else NOTHING_RAISED
    if as_json:
        span = {"type": "span", "from": rfc3339(from_ms), "to": rfc3339(to_ms), "watched_s": counted.watched_ms / 1000,
                "unreadable": unreadable}
        for line in (span, *map(_json, lines)):
            sys.stdout.write(json.dumps(line, ensure_ascii=False, allow_nan=False) + "\n")
        sys.stdout.flush()
        return code
    print(f"{books.rig.name}, {log.name}: {rig_time(from_ms, zone)} to {rig_time(to_ms, zone)}")
    if unreadable:
        print(f"{unreadable} of its warnings can't be read by this version and aren't counted.")
    print(SAYS)
    for figure in lines:
        print(f"\n{figure.label + ':':<34} {_number(figure, decimal)}")
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


def _number(figure: figures.Figure, decimal: str) -> str:
    if figure.value is None:
        return "unknown"
    digits = 0 if figure.unit in ("", "s") and float(figure.value).is_integer() else 2
    return f"{figure.value:.{digits}f} {figure.unit}".replace(".", decimal).strip()


def _time(text: str, zone: str, option: str) -> int:
    try:
        return parse(text, zone)
    except QuantityError as error:
        raise DipbookError(f"{option}: {error}. Nothing was counted.") from None
