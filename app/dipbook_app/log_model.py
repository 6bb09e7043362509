"""The log as a table: one row a record, in the order of what happened, a correction beneath what it corrects."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Set
from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, QSortFilterProxyModel, Qt
from PySide6.QtGui import QFont

from dipbook.entries.kinds import ENTRY_KINDS
from dipbook.entries.words import LABELS, describe, dip_words, stopped
from dipbook.quantities import UNIT_SETS
from dipbook.records import ROUND, TRIP_ROW, Record
from dipbook.situation import Situation
from dipbook_app.display import shown_sticks, shown_words

TIME, KIND, WHAT, WHO, LATE = range(5)
HEADINGS = ("Time", "Kind", "What", "Who", "Logged at")

WITH_STICKS = (ROUND, "stick check", "trap dump", "boat")
"""Kinds of record whose words hold what a stick said, as it was typed."""

LATE_MS = 5 * 60_000
"""A record learned later than this after it happened shows both times."""

RECORD = Qt.ItemDataRole.UserRole + 1
"""Role under which a row gives its Record."""

Index = QModelIndex | QPersistentModelIndex
_ROOT = QModelIndex()
_Key = tuple[int, int, int]


class LogModel(QAbstractTableModel):
    """The records of a situation as rows; new ones are inserted where they belong, nothing else is touched.

    unit_set: a name of UNIT_SETS to write quantities in, or "" for the rig's own.
    """

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.unit_set = ""
        self._rows: list[Record] = []
        self._keys: list[_Key] = []
        self._roots: dict[str, tuple[int, int]] = {}
        self._known: dict[str, Record] = {}
        self._struck: dict[str, str] = {}
        self._said: dict[str, str] = {}
        self._units: dict[str, str] = {}
        self._zone = "UTC"
        self._decimal = "."
        self._tank = ""

    def tell_of(self, tank: str) -> None:
        """Of a round say this tank's dip alone; "" for the whole round."""
        if tank != self._tank:
            self._tank = tank
            self._said.clear()
            if self._rows:
                self.dataChanged.emit(self.index(0, WHAT), self.index(len(self._rows) - 1, WHAT))

    def show_situation(self, situation: Situation) -> None:
        """Take in the records that aren't shown yet."""
        rig = situation.rig
        units = {**rig.units, **{name: symbol for name, (symbol, _) in UNIT_SETS.get(self.unit_set, {}).items()}}
        if (units, rig.zone, rig.decimal) != (self._units, self._zone, self._decimal):
            self.beginResetModel()
            self._units, self._zone, self._decimal = units, rig.zone, rig.decimal
            self._said.clear()
            self.endResetModel()
        fresh = [record for record in situation.records if record.uid not in self._known]
        if not fresh:
            return
        if not self._rows or len(fresh) > len(self._rows):
            self._load(fresh)
            return
        for record in fresh:
            self._insert(record)

    def record(self, row: int) -> Record:
        """The record of a row."""
        return self._rows[row]

    def struck_by(self, record: Record) -> Record | None:
        """The record that replaces or strikes out ``record``, or None."""
        return self._known.get(self._struck.get(record.uid, ""))

    def rowCount(self, parent: Index = _ROOT) -> int:
        """As Qt wants it."""
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: Index = _ROOT) -> int:
        """As Qt wants it."""
        return 0 if parent.isValid() else len(HEADINGS)

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """The headings."""
        if role == Qt.ItemDataRole.DisplayRole and orientation == Qt.Orientation.Horizontal:
            return HEADINGS[section]
        return None

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Words, the strike through what has been corrected, and the record itself under RECORD."""
        if not index.isValid():
            return None
        record = self._rows[index.row()]
        if role == Qt.ItemDataRole.DisplayRole:
            return self._text(record, index.column())
        if role == Qt.ItemDataRole.ToolTipRole:
            return self._text(record, index.column()) or None
        if role == Qt.ItemDataRole.FontRole:
            font = QFont()
            struck = record.uid in self._struck and not self._ended(record)
            font.setStrikeOut(struck and index.column() in (TIME, WHAT, WHO))
            return font
        if role == RECORD:
            return record
        return None

    def _text(self, record: Record, column: int) -> str:
        if column == TIME:
            return self._clock(happened(record))
        if column == KIND:
            return self._kind(record)
        if column == WHAT:
            if record.uid not in self._said:
                dip = dip_words(record, self._tank, self._units, self._zone, self._decimal) if self._tank else ""
                words = shown_words(dip or describe(record, self._units, self._zone, self._decimal))
                self._said[record.uid] = shown_sticks(words) if record.kind in WITH_STICKS else words
            return self._said[record.uid]
        if column == WHO:
            return record.author
        if record.learned_ms - happened(record) > LATE_MS:
            learned, then = self._clock(record.learned_ms), self._clock(happened(record))
            same_day = learned[:6] == then[:6]
            return learned[7:] if same_day else learned
        return ""

    def _kind(self, record: Record) -> str:
        label = LABELS.get(record.kind, record.kind)
        if self._ended(record):
            return f"{label}, started"
        if record.uid in self._struck:
            striker = self.struck_by(record)
            return f"{label} (struck out)" if striker is not None and striker.kind == "void" else f"{label} (corrected)"
        if stopped(record):
            return f"↳ {label}, stopped"
        if record.supersedes and record.kind != "void":
            return f"↳ {label}, correction"
        return f"↳ {label}" if record.supersedes else label

    def _ended(self, record: Record) -> bool:
        """True if ``record`` is the start of something that was stopped since: nothing in it was wrong."""
        striker = self.struck_by(record)
        return striker is not None and stopped(striker) and record.payload.get("state") == "running"

    def _clock(self, t_ms: int) -> str:
        local = datetime.fromtimestamp(t_ms / 1000, UTC).astimezone(ZoneInfo(self._zone))
        return local.strftime("%d %b %H:%M")

    def _load(self, fresh: list[Record]) -> None:
        self.beginResetModel()
        rows = [*self._rows, *fresh]
        for record in sorted(fresh, key=lambda r: r.seq):
            self._learn(record)
        rows.sort(key=self._key)
        self._rows = rows
        self._keys = [self._key(record) for record in rows]
        self.endResetModel()

    def _insert(self, record: Record) -> None:
        self._learn(record)
        key = self._key(record)
        row = bisect_left(self._keys, key)
        self.beginInsertRows(QModelIndex(), row, row)
        self._rows.insert(row, record)
        self._keys.insert(row, key)
        self.endInsertRows()
        if record.supersedes:
            for place, other in enumerate(self._rows):
                if other.uid == record.supersedes:
                    self.dataChanged.emit(self.index(place, TIME), self.index(place, LATE))

    def _learn(self, record: Record) -> None:
        self._known[record.uid] = record
        self._roots[record.uid] = self._roots.get(record.supersedes or "", (happened(record), record.seq))
        if record.supersedes:
            self._struck[record.supersedes] = record.uid

    def _key(self, record: Record) -> _Key:
        t_ms, seq = self._roots[record.uid]
        return t_ms, seq, record.seq


class LogFilter(QSortFilterProxyModel):
    """Shows the rows of some kinds, of a tank, and from some time on. An empty set of kinds shows all."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._kinds: Set[str] = frozenset()
        self._from_ms: int | None = None
        self._to_ms: int | None = None
        self._tank = ""

    def show_only(self, kinds: Set[str], from_ms: int | None, to_ms: int | None, tank: str = "") -> None:
        """kinds: of records; from_ms, to_ms: when it happened [UTC ms], None for no bound. tank: "" for all."""
        if (kinds, from_ms, to_ms, tank) == (self._kinds, self._from_ms, self._to_ms, self._tank):
            return
        self._kinds, self._from_ms, self._to_ms, self._tank = kinds, from_ms, to_ms, tank
        self.invalidate()  # invalidateFilter() is deprecated in new Qt, its successor absent in old

    def filterAcceptsRow(self, source_row: int, source_parent: Index) -> bool:
        """As Qt wants it."""
        model = self.sourceModel()
        if not isinstance(model, LogModel):
            return False
        record = model.record(source_row)
        t_ms = happened(record)
        return ((not self._kinds or record.kind in self._kinds)
                and (not self._tank or concerns(record, self._tank))
                and (self._from_ms is None or t_ms >= self._from_ms)
                and (self._to_ms is None or t_ms <= self._to_ms))


def happened(record: Record) -> int:
    """When a record's event was over [UTC ms]: a round's last dip, else its time."""
    end = record.payload.get("end_ms")
    return int(end) if record.kind == ROUND and end is not None else record.t_ms


def concerns(record: Record, tank: str) -> bool:
    """True if a record gauges ``tank``, moves mud into or out of it, or otherwise names it."""
    if any(dip.tank == tank for dip in record.dips):
        return True
    if any(block.channel.startswith(f"tank:{tank}:") for block in record.blocks):
        return True
    return any(record.payload.get(key) == tank for key in ("tank", "from", "to"))


def correctable(record: Record) -> bool:
    """True for the crew's own entries, which a form can correct."""
    return record.kind in ENTRY_KINDS and record.kind != "void"


def strikeable(record: Record) -> bool:
    """True for what a person may strike out: the crew's entries, rounds, and rows of a trip's sheet."""
    return record.kind in (ROUND, TRIP_ROW) or correctable(record)
