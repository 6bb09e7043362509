"""Changes to a rig's text that nobody has adopted yet: what is typed, over the text that is in force.

The text in force is never touched. What is typed is kept beside it by place, so that typing a value back as it was
gives the old text back to the last character, and choosing another shape and the first one again loses nothing.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache
from typing import Any

from dipbook.errors import RigFileError
from dipbook.rig.edits import (
    Edit,
    edited,
    in_brackets,
    line_end,
    past_line,
    set_keys,
    set_rows,
    without_key,
    without_table,
    written,
)
from dipbook.rig.keys import FLAG, NO, NUMBER, ROWS, SINGLE, TABLES, YES, applies, how_written
from dipbook.rig.locating import Path, Places, locate

Place = tuple[str, ...]
"""("tank", row, "shape", "height"): a kind of table, a row's sign and the key. A row of the text in force has its
number as its sign, "0" the first; one that was added "+1", "+2". Tables that stand once have "0"."""
THE_ONE = "0"
NAMING = ("tank", "to", "isolates")
"""Keys of a valve that name a tank."""
NAMED = tuple((key,) for key in NAMING)


@dataclass(frozen=True)
class Proposal:
    """base: the rig's text in force. typed: place -> what is typed, "" for no such key.

    rows: kind -> signs of its rows in order, for kinds that gained or lost one.
    """

    base: str
    typed: Mapping[Place, str] = field(default_factory=dict)
    rows: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    # --- what it says -------------------------------------------------------------------------------------------

    def signs(self, kind: str) -> tuple[str, ...]:
        """The signs of the rows of a kind of table, in the text's order; of one that stands once always one."""
        if kind in SINGLE:
            return (THE_ONE,)
        return self.rows.get(kind, self._base_signs(kind))

    def value(self, place: Place) -> str:
        """What stands or is typed at a place, as a form shows it; "" for nothing."""
        return self._followed(place)

    def in_force(self, place: Place) -> str:
        """What stands in force at a place, as a form shows it. place: of a key."""
        return self._shown(place)

    def raw(self, kind: str, sign: str) -> Mapping[str, Any]:
        """A row of the text in force as it stands, {} for one that was added. kind, sign: of the row."""
        return self._raw(kind, sign)

    @property
    def changed(self) -> bool:
        """True if anything is typed, added or taken out."""
        return bool(self.typed or self.rows)

    @property
    def rows_in_one_list(self) -> frozenset[str]:
        """Kinds whose rows stand in one list, ``pump = [...]``, so that none can be added or taken out here."""
        return frozenset(kind for kind in TABLES if (kind,) in self._places.values and kind not in SINGLE)

    @cached_property
    def text(self) -> str:
        """The rig's text with all that is typed. It is TOML; whether it is a rig is for ``parsing.check`` to say."""
        edits: list[Edit] = []
        for kind in TABLES:
            base = self._base_signs(kind) if kind not in SINGLE else (THE_ONE,)
            for sign in base:
                if sign not in self.signs(kind):
                    edits += without_table(self._places, (kind, int(sign)))
                else:
                    edits += self._edits(kind, sign)
            edits += self._added(kind)
        return edited(self.base, edits + self._limits_follow())

    @cached_property
    def renamed(self) -> Mapping[str, str]:
        """Tanks that are called otherwise now: the name in force -> the one that is typed."""
        pairs = [(self._shown(("tank", sign, "name")), self.typed.get(("tank", sign, "name"), ""))
                 for sign in self._base_signs("tank") if sign in self.signs("tank")]
        return {old: new for old, new in pairs if old and new}

    def followers(self, sign: str) -> tuple[str, ...]:
        """What names a tank of the text in force and follows where that is renamed, in words. sign: of its row."""
        name = self._shown(("tank", sign, "name"))
        limits = self._table.get("limit", [])
        found = [f"limit {row.get('name')}" for row in limits if isinstance(row, dict) and row.get("on") == name]
        for valve in self.signs("valve"):
            if name and name in (self.typed.get(("valve", valve, key), self._shown(("valve", valve, key)))
                                 for key in NAMING):
                found.append(f"valve {self.value(('valve', valve, 'name'))}")
        return tuple(found)

    def path(self, place: Place) -> Path:
        """Where a place is in ``text``."""
        kind, sign, *keys = place
        row = () if kind in SINGLE else (self.signs(kind).index(sign),)
        return (kind, *row, *(int(key) if key.isdigit() else key for key in keys))

    def place(self, path: Path) -> Place:
        """The place at a path of ``text``; the path as texts where it isn't of a table that forms know."""
        if not path or path[0] not in TABLES:
            return tuple(str(part) for part in path)
        kind, rest = str(path[0]), path[1:]
        if kind in SINGLE:
            return (kind, THE_ONE, *(str(part) for part in rest))
        if rest and isinstance(rest[0], int) and rest[0] < len(self.signs(kind)):
            return (kind, self.signs(kind)[rest[0]], *(str(part) for part in rest[1:]))
        return tuple(str(part) for part in path)

    # --- changes ------------------------------------------------------------------------------------------------

    def with_value(self, place: Place, typed: str) -> Proposal:
        """With a key as typed; one that then stands as it stood is none. place; typed: "" for no such key."""
        new = dict(self.typed)
        new.pop(place, None)
        if typed != self._shown(place):
            new[place] = typed
        return replace(self, typed=new)

    def with_row(self, kind: str, after: str = "") -> tuple[Proposal, str]:
        """With one more table, and its sign. kind: of table; after: the sign of the row above it, "" for the last.

        Raises RigFileError if the rows stand in one list.
        """
        self._may_change(kind)
        signs = list(self.signs(kind))
        used = [int(s[1:]) for s in signs if s.startswith("+")]
        used += [int(place[1][1:]) for place in self.typed if place[0] == kind and place[1].startswith("+")]
        sign = f"+{max(used, default=0) + 1}"
        signs.insert(signs.index(after) + 1 if after in signs else len(signs), sign)
        return replace(self, rows=dict(self.rows) | {kind: tuple(signs)}), sign

    def without_row(self, kind: str, sign: str) -> Proposal:
        """Without one table. kind, sign: of the row. Raises RigFileError if the rows stand in one list."""
        self._may_change(kind)
        signs = tuple(s for s in self.signs(kind) if s != sign)
        rows = {k: v for k, v in self.rows.items() if k != kind}
        if signs != self._base_signs(kind):
            rows[kind] = signs
        return replace(self, rows=rows, typed={p: t for p, t in self.typed.items() if p[:2] != (kind, sign)})

    def on(self, base: str) -> Proposal | None:
        """The same changes on another text in force; None where its tables aren't the same by number and name, so that
        nobody can say what is meant. base: the text."""
        if base == self.base:
            return self
        other = Proposal(base)
        if any(self._names(kind) != other._names(kind) for kind in TABLES if kind not in SINGLE):
            return None
        for place, typed in self.typed.items():
            other = other.with_value(place, typed)
        return replace(other, rows=dict(self.rows))

    # --- to and from a draft ------------------------------------------------------------------------------------

    def kept(self) -> dict[str, Any]:
        """As plain JSON values."""
        return {"base": self.base, "typed": [[list(place), typed] for place, typed in self.typed.items()],
                "rows": {kind: list(signs) for kind, signs in self.rows.items()}}

    @staticmethod
    def of(kept: Mapping[str, Any]) -> Proposal:
        """From ``kept``. Raises ValueError or KeyError where it isn't that."""
        base = str(kept["base"])
        tomllib.loads(base)
        typed = {tuple(str(p) for p in place): str(text) for place, text in kept["typed"]}
        rows = {str(kind): tuple(str(s) for s in signs) for kind, signs in dict(kept["rows"]).items()}
        return Proposal(base, typed, rows)

    # --- the text -----------------------------------------------------------------------------------------------

    @property
    def _places(self) -> Places:
        return _of_text(self.base)[0]

    @property
    def _table(self) -> dict[str, Any]:
        return _of_text(self.base)[1]

    @property
    def _decimal(self) -> str:
        return "," if self._table.get("decimal") == "," else "."

    def _base_signs(self, kind: str) -> tuple[str, ...]:
        rows = self._table.get(kind, [])
        return tuple(str(n) for n in range(len(rows))) if isinstance(rows, list) else ()

    def _names(self, kind: str) -> list[Any]:
        return [self._raw(kind, sign).get("name") for sign in self._base_signs(kind)]

    def _raw(self, kind: str, sign: str) -> Mapping[str, Any]:
        found = self._table.get(kind)
        if isinstance(found, list):
            found = found[int(sign)] if sign.isdigit() and int(sign) < len(found) else None
        return found if isinstance(found, dict) else {}

    def _shown(self, place: Place) -> str:
        """What stands in force at a place, as a form shows it."""
        found: Any = self._raw(*place[:2])
        for key in place[2:]:
            if isinstance(found, list) and key.isdigit() and int(key) < len(found):
                found = found[int(key)]
            else:
                found = found.get(key) if isinstance(found, dict) else None
        return _as_typed(found, self._decimal)

    def _followed(self, place: Place) -> str:
        """What stands or is typed at a place; of a valve, a tank that was renamed by its new name. A typed name that a
        tank has now means that tank."""
        said = self.typed[place] if place in self.typed else self._shown(place)
        if place[0] != "valve" or place[2:] not in NAMED or said not in self.renamed:
            return said
        names = [self.typed.get(("tank", sign, "name"), self._shown(("tank", sign, "name")))
                 for sign in self.signs("tank")]
        return said if place in self.typed and said in names else self.renamed[said]

    def _limits_follow(self) -> list[Edit]:
        """The edits that let the limits on renamed tanks name them so."""
        rows = self._table.get("limit", []) if self.renamed else []
        on = [(("limit", n, "on"), self.renamed.get(str(row.get("on")))) for n, row in enumerate(rows)
              if isinstance(row, dict)]
        spans = [(self._places.values.get(path), new) for path, new in on if new is not None]
        return [(span.start, span.end, written(new)) for span, new in spans if span is not None]

    def _may_change(self, kind: str) -> None:
        if kind in self.rows_in_one_list:
            raise RigFileError(f"The tables stand in one list, {kind} = [...]. Nothing was changed; write each as a "
                               f"[[{kind}]] table in the file, and adopt that.")

    def _toml(self, place: Place, typed: str) -> str | None:
        """What is typed as TOML; None for nothing."""
        if not typed:
            return None
        how = _how(place)
        if how == FLAG and typed in (YES, NO):
            return written(typed == YES)
        if how == NUMBER and re.fullmatch(rf"[+-]?\d+(\{self._decimal}\d+)?", typed):
            number = typed.replace(self._decimal, ".")
            return written(float(number) if "." in number else int(number))
        return in_brackets(_cells(typed)) if how == ROWS else written(typed)

    def _wanted(self, kind: str, sign: str) -> dict[Place, str]:
        """What is to be written of a row: all that is typed, and the keys that lost their meaning as none."""
        def value(name: str) -> str:
            return self.value((kind, sign, *name.split(".")))

        wanted = {place: self._followed(place) for place in self.typed if place[:2] == (kind, sign)}
        if kind == "valve":
            named = [(kind, sign, key) for key in NAMING]
            wanted |= {place: self._followed(place) for place in named if self._followed(place) != self._shown(place)}
        without = {key.name for key in TABLES[kind]}
        without -= {key.name for key in TABLES[kind] if applies(key, value)}
        if ("shape", "kind") in (place[2:] for place in wanted):
            without.add("shape.parts")
        for name in without:
            place = (kind, sign, *name.split("."))
            wanted = {p: t for p, t in wanted.items() if p[:len(place)] != place}
            if self._shown(place) or name == "shape.parts":
                wanted[place] = ""
        return wanted

    def _edits(self, kind: str, sign: str) -> list[Edit]:
        """The edits of one table that is in force, or stands once."""
        wanted = self._wanted(kind, sign)
        if not wanted:
            return []
        row: Path = (kind,) if kind in SINGLE else (kind, int(sign))
        if kind in SINGLE and not any(self.value((kind, sign, key.name)) for key in TABLES[kind]):
            return without_key(self._places, row) if row in self._places.values else without_table(self._places, row)
        by_table: dict[Path, list[tuple[str, str | None]]] = {}
        edits: list[Edit] = []
        for place, typed in wanted.items():
            path: Path = (*row, *(int(key) if key.isdigit() else key for key in place[2:]))
            if _how(place) == ROWS and typed and path in self._places.values:
                edits += set_rows(self._places, path, _cells(self._shown(place)), _cells(typed))
            else:
                by_table.setdefault(path[:-1], []).append((str(path[-1]), self._toml(place, typed)))
        for table, keys in by_table.items():
            if table in self._places.ends or table in self._places.values or table in self._places.keys:
                edits += set_keys(self._places, table, keys)
            else:
                edits += self._new_table(table, keys)
        return edits

    def _new_table(self, table: Path, keys: list[tuple[str, str | None]]) -> list[Edit]:
        """A table that isn't there yet: a sub-table below what holds it, one that stands once at the text's end."""
        lines = [f"{key} = {value}" for key, value in keys if value is not None]
        if not lines:
            return []
        end = line_end(self.base)
        name = ".".join(str(part) for part in table if not isinstance(part, int))
        at = past_line(self.base, self._places.ends[table[:-1]]) if len(table) > 1 else len(self.base)
        gap = "" if self.base[:at].endswith("\n") else end
        return [(at, at, gap + ("" if len(table) > 1 else end) + end.join([f"[{name}]", *lines, ""]))]

    def _added(self, kind: str) -> list[Edit]:
        """The edits that put the added tables where they belong."""
        edits: list[Edit] = []
        base = self._base_signs(kind) if kind not in SINGLE else ()
        above = ""
        for sign in self.signs(kind):
            if not sign.startswith("+"):
                above = sign
                continue
            end = line_end(self.base)
            block = self._block(kind, sign).replace("\n", end)
            if above:
                at = max(past_line(self.base, self._places.ends[path]) for path in self._places.headers
                         if path[:2] == (kind, int(above)))
                gap = end if self.base[:at].endswith("\n") else end * 2
                edits.append((at, at, gap + block))
            elif base:
                at = self._places.headers[(kind, 0)].start
                edits.append((at, at, block + end))
            else:
                at = len(self.base)
                edits.append((at, at, (end if self.base.endswith("\n") else end * 2) + block))
        return edits

    def _block(self, kind: str, sign: str) -> str:
        """The text of an added table."""
        tables: dict[str, list[str]] = {"": []}
        for place, typed in self._wanted(kind, sign).items():
            value = self._toml(place, typed)
            if value is not None:
                tables.setdefault(".".join(place[2:-1]), []).append(f"{place[-1]} = {value}")
        own = "\n".join([f"[[{kind}]]", *tables.pop("")])
        return "\n".join([own, *("\n".join([f"[{kind}.{name}]", *lines]) for name, lines in tables.items())]) + "\n"


@lru_cache(maxsize=4)
def _of_text(text: str) -> tuple[Places, dict[str, Any]]:
    """Where everything stands in a text, and what it says: the same at each key that is pressed."""
    return locate(text), tomllib.loads(text)


def _how(place: Place) -> str:
    return how_written(place[0], ".".join(place[2:]))


def _as_typed(found: Any, decimal: str) -> str:
    if found is None or isinstance(found, dict):
        return ""
    if isinstance(found, bool):
        return YES if found else NO
    if isinstance(found, list):
        return "\n".join(" = ".join(_as_typed(cell, decimal) for cell in row) if isinstance(row, list) else str(row)
                         for row in found)
    if isinstance(found, float):
        return repr(found).replace(".", decimal)
    return str(found)


def _cells(typed: str) -> list[list[str]]:
    """Rows as typed: a line each (or set apart by ;), cells set apart by =."""
    return [[cell.strip() for cell in line.split("=")] for line in re.split(r"[\n;]", typed) if line.strip()]
