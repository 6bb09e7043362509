"""Reads the [[limit]] tables of a rig file. No limit has a value that nobody set: who, why and since are needed."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from dipbook.errors import QuantityError
from dipbook.limits import (
    ACTIVITIES,
    KINDS,
    LATCHING,
    LATER_KINDS,
    NOT_SHELVABLE,
    SUSPECT,
    TRIP_KINDS,
    Limit,
    kind_words,
)
from dipbook.quantities import read as read_quantity
from dipbook.rig.locating import Path
from dipbook.rig.reading import Report, TableReader, Ways, one_of, plain_number, shown
from dipbook.tanks.tank import Tank

SYSTEMS = ("active", "all surface", "watched")

MOST_READINGS = 10
LONGEST_DELAY_S = 600.0
"""A limit that waits longer than these is taken for a slip."""
LEAST_TIMES, MOST_TIMES = 1.0, 100.0
"""Times the noise that a limit on drift may be."""
LONGEST_SHELF_S = 43_200.0
"""A shelf of more than 12 h, a tour, outlasts whoever set it: for that there is out of service."""


def read_limits(rows: list[dict[str, Any]], tanks: tuple[Tank, ...], tank_names: tuple[str, ...], report: Report,
                ways: Ways) -> tuple[Limit, ...]:
    """Read the [[limit]] tables. tanks: those that read well; tank_names: all that the file names."""
    limits: list[Limit] = []
    names: dict[str, int] = {}
    for n, row in enumerate(rows):
        reader = TableReader(row, ("limit", n), report, ways)
        name = reader.text("name", needed="the limit's name in quotes", longest=60)
        if name is not None and name.casefold() in names:
            reader.problem("name", f'"{name}" is already the limit of line {names[name.casefold()]}; '
                                   "expected a name of its own")
        elif name is not None:
            names[name.casefold()] = report.places.line(("limit", n, "name"))
        limit = _limit(reader, name or "", {tank.name: tank for tank in tanks}, tank_names)
        if limit is not None and name is not None:
            limits.append(limit)
    _high_above_low(limits, report)
    return tuple(limits)


def _limit(reader: TableReader, name: str, tanks: Mapping[str, Tank], tank_names: tuple[str, ...]) -> Limit | None:
    report, before = reader.report, len(reader.report.found)
    kind = reader.choice("kind", (*KINDS, *LATER_KINDS), "a kind of limit", needed=True)
    on = reader.choice("on", (*SYSTEMS, *tank_names), "something a limit can be on", needed=True)
    activity = reader.choice("activity", ("any", *ACTIVITIES), "an activity")
    set_by = reader.text("set_by", needed="who set it: no limit is in force that nobody set")
    reason = reader.text("reason", needed="why it was set so", longest=400)
    since = reader.since()
    readings, delay_ms = _after(reader)
    shelve_ms = _shelve(reader, kind)
    if kind is None:
        for key in ("value", "automatic", "deadband", "growth"):
            reader.take(key)
        reader.end()
        return None
    times_noise = None
    if kind == "drift":
        value, value_is, as_typed, deadband, growth, watched, times_noise = _of_drift(reader, name, on)
    elif kind == "flow_back" and not reader.has("automatic"):
        value, value_is, as_typed, deadband, growth, watched = _of_connections(reader, name, on)
    elif kind == SUSPECT:
        value, value_is, as_typed, deadband, growth, watched = _of_gauges(reader, name)
    elif kind in TRIP_KINDS and not reader.has("automatic"):
        value, value_is, as_typed, deadband, growth = _of_a_trip(reader, name)
        if on not in (None, "active") or activity not in (None, "any", "tripping"):
            report.finding(reader.path, "on_every_row", f"Limit {name} is on trips: it counts on every row of a trip's "
                           "sheet, whatever the rig is doing. Its on and its activity have no part in that.",
                           severity="note")
        watched = math.isfinite(value)
        reader.end()
    elif kind in LATER_KINDS or reader.has("automatic"):
        value, value_is, as_typed = _unwatched_value(reader, kind)
        deadband, growth, watched = 0.0, None, False
        if kind in KINDS and kind != "flow_back":
            reader.take("deadband")
            reader.take("growth")
            reader.end()  # a later kind may have keys that this version doesn't know
        report.finding(reader.path, "limit_not_watched", f"Limit {name} is not watched by this version "
                      f"({'automatic' if kind in KINDS else kind_words(kind)}). Nothing will warn of it.")
    else:
        _place_fits(reader, kind, on, tank_names)
        value, value_is, deadband, growth = _values(reader, kind, tanks.get(on or ""), tanks)
        as_typed, watched = _as_typed(reader), True
        reader.end()
    if len(report.found) > before or on is None or set_by is None or reason is None or since is None:
        return None
    if watched:
        _findings(reader, name, kind, deadband, growth, readings)
    return Limit(name=name, kind=kind, on=on, activity=activity or "any", value=value, value_is=value_is,
                 deadband=deadband, growth=growth, after_readings=readings, after_ms=delay_ms, set_by=set_by,
                 reason=reason, since=since, as_typed=as_typed, watched=watched, shelve_ms=shelve_ms,
                 times_noise=times_noise)


def _place_fits(reader: TableReader, kind: str, on: str | None, tank_names: tuple[str, ...]) -> None:
    if on is None:
        return
    if kind in ("high", "low") and on not in tank_names:
        reader.problem("on", f'"{on}" isn\'t a tank; a {kind} limit is on one tank')
    if kind in ("gain", "loss") and on not in SYSTEMS:
        reader.problem("on", f'"{on}" is one tank; a limit of kind {kind} is on {one_of(SYSTEMS)}')


def _values(reader: TableReader, kind: str, tank: Tank | None, tanks: Mapping[str, Tank]
            ) -> tuple[float, str, float, float | None]:
    """Value, what it is, deadband and growth, SI; a value with a problem comes back as NaN."""
    if kind == "overdue":
        value = reader.quantity("value", "duration", 1.0, 86400.0, needed='a time between rounds, like "30 min"')
        for key in ("deadband", "growth"):
            if reader.take(key) is not None:
                reader.problem(key, "has no meaning for a limit of kind overdue; expected it left out")
        return _or_nan(value), "duration", 0.0, None
    if kind in ("gain", "loss"):
        dimension, bare, value_is = "volume", "volume", "volume"
        example = 'a volume like "5 bbl"'
    else:
        dimension, bare = _level_or_volume(reader), ""
        value_is = "level" if dimension == "length" else "volume"
        example = 'a level above the bottom or a volume, like "8 ft" or "200 bbl"'
        if not dimension:
            reader.take("deadband")
            reader.take("growth")
            return math.nan, "", 0.0, None
    value = reader.quantity("value", dimension, 1e-4, 5000.0, bare=bare, needed=example)
    deadband = reader.quantity("deadband", dimension, 0.0, 5000.0, bare=bare, zero=True,
                               needed="how far back inside the limit counts as over")
    growth = reader.quantity("growth", dimension, 1e-4, 5000.0, bare=bare)
    if value is not None:
        _value_is_possible(reader, kind, value, value_is, deadband, tank, tanks)
    return _or_nan(value), value_is, deadband or 0.0, growth


def _value_is_possible(reader: TableReader, kind: str, value: float, value_is: str, deadband: float | None,
                       tank: Tank | None, tanks: Mapping[str, Tank]) -> None:
    typed = shown(reader.table["value"])
    if kind in ("gain", "loss"):
        total = sum(one.capacity_m3 for one in tanks.values())
        if tanks and value > total:
            reader.problem("value", f"{typed} is more than all tanks hold; expected a limit that can be passed")
    if deadband is not None and kind != "low" and deadband >= value:
        reader.problem("deadband", f"{shown(reader.table['deadband'])} isn't below the value, {typed}; "
                                   "expected less, or the warning could never be over")
    if tank is None or kind not in ("high", "low"):
        return
    top = tank.top_m if value_is == "level" else tank.capacity_m3
    if value > top * (1 + 1e-9):
        reader.problem("value", f"{typed} is above the brim of {tank.name}; expected a limit that can be passed")
    elif kind == "low" and deadband is not None and value + deadband >= top:
        reader.problem("deadband", "reaches to the brim above the value; expected less, "
                                   "or the warning could never be over")


def _level_or_volume(reader: TableReader) -> str:
    """The dimension of a high or low limit's value, or "" with a problem."""
    value = reader.table.get("value")
    if value is None:
        return "length"  # reported as missing by the caller
    if isinstance(value, str):
        for dimension in ("length", "volume"):
            try:
                read_quantity(value, dimension, decimal=reader.ways.decimal, bare=None)
            except QuantityError:
                continue
            return dimension
    reader.take("value")
    reader.problem("value", f"{shown(value)} isn't a level or a volume with its unit; "
                            'expected one like "8 ft" or "200 bbl"')
    return ""


def _of_a_trip(reader: TableReader, name: str) -> tuple[float, str, str, float, float | None]:
    """Value [m3] (NaN if it is no volume above 0), what it is, as typed, deadband and growth [m3] of a limit on trips.
    What is wrong is a finding: files that hold such limits were adopted when nothing was read of them."""
    report = reader.report
    value, deadband, typed = _volume(reader, "value"), _volume(reader, "deadband"), _as_typed(reader)
    growth = _volume(reader, "growth") if reader.has("growth") else math.nan
    if not 0.0 < value < math.inf:
        report.finding(reader.path, "limit_not_watched", f"Limit {name} has no volume above 0 as its value: nothing "
                       "will warn of it.")
        return math.nan, "", typed, 0.0, None
    if not 0.0 <= deadband < value:
        report.finding(reader.path, "no_deadband", f"Limit {name} has no deadband below its value: 0 is taken, and the "
                       "warning may come and go with every row.", severity="note")
        deadband = 0.0
    return value, "volume", typed, deadband, growth if 0.0 < growth < math.inf else None


def _of_connections(reader: TableReader, name: str, on: str | None,
                    ) -> tuple[float, str, str, float, float | None, bool]:
    """Value [m3] (NaN if it is no volume above 0), what it is, as typed, deadband [m3], growth [m3] or None, and
    whether it is watched, of a limit on flow-back. What is wrong is a finding: files that hold such limits were adopted
    when nothing was read of them.
    """
    value, typed = _volume(reader, "value"), _as_typed(reader)
    for key in ("deadband", "growth"):
        reader.take(key)
    unread = [key for key in reader.table if key not in reader.known]
    if unread:
        reader.report.finding((*reader.path, unread[0]), "key_left_aside", f"Limit {name}: {', '.join(unread)} is no "
                              "key of a limit, and is left aside.")
    return _on_active(reader, name, on, value, typed, "what comes back at a connection")


def _on_active(reader: TableReader, name: str, on: str | None, value: float, typed: str, what: str,
               ) -> tuple[float, str, str, float, float | None, bool]:
    """As _of_connections, of a limit on the active system alone, once its value is read [m3]. what: it warns of."""
    report = reader.report
    deadband, growth = _volume(reader, "deadband"), _volume(reader, "growth") if reader.has("growth") else None
    if growth is not None and not 0.0 < growth < math.inf:
        report.finding((*reader.path, "growth"), "no_growth", f"Limit {name}: its growth is no volume above 0, and is "
                       "left aside.")
        growth = None
    if not 0.0 < value < math.inf:
        report.finding(reader.path, "limit_not_watched", f"Limit {name} has no volume above 0 as its value: nothing "
                       f"will warn of {what}.")
        return math.nan, "", typed, 0.0, None, False
    if not 0.0 <= deadband < value:
        report.finding(reader.path, "no_deadband", f"Limit {name} has no deadband below its value: 0 is taken.",
                       severity="note")
        deadband = 0.0
    if on != "active":
        report.finding(reader.path, "limit_not_watched", f"Limit {name} is on {on}: {what} is told of the active "
                       "system only. Nothing will warn of it.")
    return value, "volume", typed, deadband, growth, on == "active"


def _of_gauges(reader: TableReader, name: str) -> tuple[float, str, str, float, float | None, bool]:
    """Value, what it is, as typed, deadband, growth and whether it is watched, of a limit on gauges in doubt: one gauge
    raises it after its delay, one more sounds again. Keys of others are left aside with a finding: files that hold such
    limits were adopted when nothing was read of them.
    """
    aside = [key for key in reader.table if key not in reader.known]
    for key in ("value", "automatic", "deadband", "growth"):
        if reader.take(key) is not None:
            aside.append(key)
    aside = list(dict.fromkeys(aside))
    if aside:
        reader.report.finding((*reader.path, aside[0]), "key_left_aside", f"Limit {name} is on gauges in doubt: "
                              f"{', '.join(aside)} has no part in it, and is left aside. How long is said by after.",
                              severity="note")
    return 1.0, "count", "", 0.0, 1.0, True


def _of_drift(reader: TableReader, name: str, on: str | None,
              ) -> tuple[float, str, str, float, float | None, bool, float | None]:
    """As _of_connections, of a limit on drift, and how many times the noise it is (None for a value of its own): its
    value is then the ceiling. What is wrong is a finding: files that hold such limits were adopted when nothing was
    read of them."""
    report, times, raw = reader.report, None, None
    if reader.has("automatic"):
        raw = reader.take("automatic")
        inner = TableReader(raw if isinstance(raw, dict) else {}, (*reader.path, "automatic"), report, reader.ways)
        factor = plain_number(inner.take("c"))
        value, typed = _volume(inner, "ceiling"), _as_typed(inner, "ceiling")
        times = None if factor is None or not LEAST_TIMES <= factor <= MOST_TIMES else float(factor)
        if reader.take("value") is not None or times is None or not 0.0 < value < math.inf:
            report.finding((*reader.path, "automatic"), "limit_not_watched", f"Limit {name}: automatic needs c, from "
                           f"{LEAST_TIMES:g} to {MOST_TIMES:g}, and a ceiling above 0, and no value beside them. "
                           'Nothing will warn of drift. Write it like { c = 7.5, ceiling = "5 bbl" }.')
            reader.take("deadband")
            reader.take("growth")
            return math.nan, "", typed, 0.0, None, False, None
    else:
        value, typed = _volume(reader, "value"), _as_typed(reader)
    return (*_on_active(reader, name, on, value, typed, "drift"), times)


def _volume(reader: TableReader, key: str) -> float:
    """A volume [m3] without a word where it is none: NaN."""
    raw, ways = reader.take(key), reader.ways
    number = plain_number(raw)
    text = str(raw) if number is None else f"{number:.9f}".replace(".", ways.decimal)
    try:
        return read_quantity(text, "volume", decimal=ways.decimal, bare=ways.units.get("volume")).value
    except QuantityError:
        return math.nan


def _unwatched_value(reader: TableReader, kind: str) -> tuple[float, str, str]:
    """Value [SI] (NaN if none), what it is, and as typed, of a limit that is kept but not watched."""
    automatic = reader.take("automatic")
    if automatic is None:
        value = reader.take("value")
        for dimension in ("volume", "rate", "duration", "length"):
            if isinstance(value, str):
                try:
                    read = read_quantity(value, dimension, decimal=reader.ways.decimal, bare=None)
                except QuantityError:
                    continue
                return read.value, "level" if dimension == "length" else dimension, value
        return math.nan, "", "" if value is None else shown(value).strip('"')
    if reader.take("value") is not None:
        reader.problem("automatic", "stands beside value; expected one of the two")
    if not isinstance(automatic, dict):
        reader.problem("automatic", f"{shown(automatic)} isn't a table; "
                                    'expected one like { c = 7.5, ceiling = "5 bbl" }')
        return math.nan, "", ""
    if kind in ("high", "low", "overdue"):
        reader.problem("automatic", f"has no meaning for a limit of kind {kind}; expected a value")
    inner = TableReader(automatic, (*reader.path, "automatic"), reader.report, reader.ways)
    factor = inner.number("c", 1.0, 100.0, "a factor", needed="a factor like 7.5")
    inner.quantity("ceiling", "volume", 1e-4, 5000.0, bare="volume", needed='a volume like "5 bbl"')
    inner.end()
    return math.nan, "", f"automatic, c = {0.0 if factor is None else factor:g}, ceiling {_as_typed(inner, 'ceiling')}"


def _after(reader: TableReader) -> tuple[int, int]:
    """Readings (0 if a time counts) and time [ms] beyond the limit before it raises. Not set: the first reading."""
    value = reader.take("after")
    if value is None:
        return 1, 0
    expected = 'expected readings or a time, like "1 reading" or "15 s"'
    words = value.split() if isinstance(value, str) else []
    if len(words) == 2 and words[1] in ("reading", "readings"):
        if words[0].isascii() and words[0].isdigit() and 1 <= int(words[0][:6]) <= MOST_READINGS:
            return int(words[0]), 0
        reader.problem("after", f"{shown(value)} isn't 1 to {MOST_READINGS} readings; {expected}")
        return 1, 0
    if not isinstance(value, str):
        reader.problem("after", f"{shown(value)} isn't a delay; {expected}")
        return 1, 0
    try:
        seconds = read_quantity(value, "duration", decimal=reader.ways.decimal, bare=None).value
    except QuantityError:
        reader.problem("after", f"{shown(value)} isn't a delay; {expected}")
        return 1, 0
    if not 0 < seconds <= LONGEST_DELAY_S:
        reader.problem("after", f"{shown(value)} isn't a delay of at most {LONGEST_DELAY_S:g} s; {expected}")
        return 1, 0
    return 0, max(1, round(seconds * 1000))


def _shelve(reader: TableReader, kind: str | None) -> int | None:
    """The longest that a limit may be shelved [ms]; None where nobody set that."""
    if not reader.has("shelve"):
        return None
    if kind in NOT_SHELVABLE:
        reader.take("shelve")
        reader.problem("shelve", f"has no meaning for a limit of kind {kind_words(kind)}, which can't be shelved; "
                                 "expected it left out")
        return None
    seconds = reader.quantity("shelve", "duration", 60.0, LONGEST_SHELF_S)
    return None if seconds is None else round(seconds * 1000)


def _as_typed(reader: TableReader, key: str = "value") -> str:
    """The value as written; a bare number with the unit that it takes."""
    value = reader.table.get(key)
    number = plain_number(value)
    if number is not None:
        text = f"{value}".replace(".", reader.ways.decimal)
        return f"{text} {reader.ways.units.get('volume', '')}".strip()
    return value.strip() if isinstance(value, str) else ""


def _or_nan(value: float | None) -> float:
    return math.nan if value is None else value


def _findings(reader: TableReader, name: str, kind: str, deadband: float, growth: float | None,
              readings: int) -> None:
    report, path = reader.report, reader.path
    if kind in LATCHING and growth is None:
        report.finding(path, "no_growth", f"Limit {name} has no growth: once acknowledged, it will not sound again "
                       f"however much {'the difference' if kind in ('gain', 'loss', 'drift') else 'it'} grows.")
    if kind not in ("overdue", SUSPECT) and deadband == 0:
        report.finding(path, "no_deadband", f"Limit {name} has a deadband of 0: the warning may come and go with "
                       "every reading.", severity="note")
    if readings != 1 and kind != SUSPECT:
        after: Path = (*path, "after")
        words = f"{readings} readings" if readings else str(reader.table["after"])
        report.finding(after, "delayed_limit", f"Limit {name} waits for {words} beyond it before it warns; with rounds "
                       "by hand that can be a round later.")


def _high_above_low(limits: list[Limit], report: Report) -> None:
    for n, low in enumerate(limits):
        for high in limits:
            if low.kind == "low" and high.kind == "high" and low.on == high.on and low.value_is == high.value_is \
                    and low.activity == high.activity and low.value >= high.value:
                path: Path = ("limit", n)
                report.finding(path, "low_above_high", f"Limit {low.name} isn't below limit {high.name}: one of them "
                               "warns at any level.", tank=low.on)
