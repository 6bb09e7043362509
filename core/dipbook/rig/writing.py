"""Writes a change into a rig file's text and leaves every other character as it was.

Every text that comes out has been read again: what it means is what was asked, or an error is raised.
"""

from __future__ import annotations

import math
import tomllib
from typing import Any

import tomlkit

from dipbook.errors import QuantityError, RigFileError
from dipbook.limits import SUSPECT, Limit
from dipbook.quantities import FEET_INCHES, to_unit
from dipbook.quantities import read as read_quantity
from dipbook.rig.edits import Edit, Value, edited, line_end, set_keys, without_table, written
from dipbook.rig.locating import Path, Places, locate
from dipbook.rig.parsing import RigDocument, parse

_ORDER = ("name", "kind", "on", "activity", "value", "automatic", "deadband", "growth", "after", "shelve",
          "set_by", "reason", "since")


def with_limits(text: str, limits: tuple[Limit, ...]) -> str:
    """The rig file with these limits and no others.

    text: a rig file that reads without a problem. limits: all that shall be in force, told apart by name; one that
    is in the file and hasn't changed keeps its text, one that is new goes to the end of the file.
    Raises RigFileError if the text has problems, or a limit can't stand in it.
    """
    text = text.removeprefix("\ufeff")
    document = parse(text)
    old = {limit.name: n for n, limit in enumerate(document.rig.limits)}
    wanted = {limit.name: limit for limit in limits}
    if len(wanted) != len(limits):
        raise RigFileError("Two limits have one name. Nothing was changed; give each a name of its own.")
    edits: list[Edit] = []
    places = locate(text)
    if old and ("limit", 0) not in places.headers:
        raise RigFileError("The limits stand in one list, limit = [...]. Nothing was changed; write each as a "
                           "[[limit]] table first.")
    for name, n in old.items():
        path: Path = ("limit", n)
        if name not in wanted:
            edits.extend(without_table(places, path))
        elif not same_limit(wanted[name], document.rig.limits[n]):
            edits.extend(_changes(places, path, document.rig.limits[n], wanted[name], document))
    new = [limit for limit in limits if limit.name not in old]
    result, end = edited(text, edits), line_end(text)
    for limit in new:
        gap = end if result.endswith("\n") else end * 2
        result += gap + _table(limit, document).replace("\n", end)
    _check(result, limits)
    return result


def with_value(text: str, key_path: tuple[str, ...], value: Value) -> str:
    """The rig file with one key set.

    text: a rig file that reads without a problem. key_path: ``("tank", "Suction", "fresh_for")`` or ``("zone",)``;
    a tank, pump or limit goes by its name. value: a text, a number, true or false.
    Raises RigFileError if the text has problems or would have some, KeyError if there is no such tank or table.
    """
    text = text.removeprefix("\ufeff")
    parse(text)
    places = locate(text)
    path = _path(text, key_path)
    result = edited(text, set_keys(places, path[:-1], [(str(path[-1]), written(value))]))
    parse(result)
    return result


def same_limit(one: Limit, other: Limit) -> bool:
    """True if limits ``one`` and ``other`` say the same; how the value was typed doesn't count."""
    for name in Limit.__slots__:
        a, b = getattr(one, name), getattr(other, name)
        if name == "as_typed":
            continue
        if isinstance(a, float) and isinstance(b, float):
            if not (math.isclose(a, b, rel_tol=1e-9) or (math.isnan(a) and math.isnan(b))):
                return False
        elif a != b:
            return False
    return True


def _path(text: str, key_path: tuple[str, ...]) -> Path:
    """The path with the row's number in place of its name. Raises KeyError."""
    if not key_path:
        raise KeyError(key_path)
    if key_path[0] not in ("tank", "pump", "limit"):
        return key_path
    if len(key_path) < 3:
        raise KeyError(key_path)
    for n, row in enumerate(tomllib.loads(text).get(key_path[0], [])):
        if row["name"].strip() == key_path[1]:
            return (key_path[0], n, *key_path[2:])
    raise KeyError(key_path)


def _changes(places: Places, path: Path, old: Limit, new: Limit, document: RigDocument) -> list[Edit]:
    """The edits that turn one limit's table into another's."""
    before, after = _keys(old, document), _keys(new, document)
    if not (old.watched and new.watched) and any(
            before.get(key) != after.get(key) for key in ("kind", "value", "deadband", "growth")):
        raise RigFileError(f"Limit {new.name} is of a kind that this version doesn't watch, so it can't write its "
                           "value. Nothing was changed; edit the rig file.")
    edits: list[Edit] = []
    for key in _ORDER:
        if before.get(key) == after.get(key):
            continue
        edits += set_keys(places, path, [(key, written(after[key]) if key in after else None)])
    return edits


def _table(limit: Limit, document: RigDocument) -> str:
    """A new [[limit]] table."""
    if not limit.watched or math.isnan(limit.value):
        raise RigFileError(f"Limit {limit.name} is of a kind that this version doesn't watch. Nothing was changed; "
                           "write it into the rig file.")
    table = tomlkit.table()
    for key, value in _keys(limit, document).items():
        table.add(key, value)
    return f"[[limit]]\n{table.as_string()}"


def _keys(limit: Limit, document: RigDocument) -> dict[str, Any]:
    """A limit's keys as the file has them; those without meaning for its kind are left out."""
    keys: dict[str, Any] = {"name": limit.name, "kind": limit.kind, "on": limit.on, "activity": limit.activity}
    if limit.watched and limit.kind != SUSPECT:
        if limit.times_noise is None:
            keys["value"] = _value(limit, document)
        else:
            table = tomlkit.inline_table()
            table.add("c", limit.times_noise)
            table.add("ceiling", _value(limit, document))
            keys["automatic"] = table
        if limit.kind != "overdue":
            keys["deadband"] = _written(limit.deadband, limit.value_is, document)
            if limit.growth is not None:
                keys["growth"] = _written(limit.growth, limit.value_is, document)
    if limit.after_readings:
        keys["after"] = "1 reading" if limit.after_readings == 1 else f"{limit.after_readings} readings"
    else:
        keys["after"] = f"{_digits(limit.after_ms / 1000, document)} s"
    if limit.shelve_ms is not None:
        keys["shelve"] = f"{_digits(limit.shelve_ms / 60_000, document)} min"
    return keys | {"set_by": limit.set_by, "reason": limit.reason, "since": limit.since}


def _value(limit: Limit, document: RigDocument) -> str:
    """The value as typed if that is what it means, else written in the file's unit."""
    dimension = {"level": "length"}.get(limit.value_is, limit.value_is)
    try:
        typed = read_quantity(limit.as_typed, dimension, decimal=document.rig.decimal, bare=None)
    except QuantityError:
        return _written(limit.value, limit.value_is, document)
    if math.isclose(typed.value, limit.value, rel_tol=1e-9):
        return limit.as_typed
    return _written(limit.value, limit.value_is, document)


def _written(value: float, value_is: str, document: RigDocument) -> str:
    """A value [SI] with a unit of the file, exact to ten digits."""
    if value_is == "duration":
        number, symbol = (value / 60, "min") if value >= 60 else (value, "s")
    else:
        symbol = document.rig.units[value_is]
        symbol = "in" if symbol == FEET_INCHES else symbol
        number = to_unit(value, symbol)
    return f"{_digits(number, document)} {symbol}"


def _digits(number: float, document: RigDocument) -> str:
    text = f"{number:.10f}".rstrip("0").rstrip(".") if number else "0"
    return text.replace(".", document.rig.decimal)


def _check(text: str, limits: tuple[Limit, ...]) -> None:
    """Raise RigFileError unless the text says exactly these limits."""
    written = {limit.name: limit for limit in parse(text).rig.limits}
    for limit in limits:
        if limit.name not in written or not same_limit(limit, written[limit.name]):
            raise RigFileError(f"Limit {limit.name} can't be written so that it reads the same. Nothing was changed.")
    if len(written) != len(limits):
        raise RigFileError("The limits can't be written so that they read the same. Nothing was changed.")
