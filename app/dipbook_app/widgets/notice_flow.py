"""Notices one below the other, and short ones beside each other on one line, so that what they are about has room."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QSize, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from dipbook_app.widgets.notice_label import NoticeLabel

GAP, BESIDE = 3, 8
"""Between lines, and between two notices on one [px]."""


class NoticeFlow(QWidget):
    """notices: in order; those without words take no room. Signals: turned(): it takes more room, or less."""

    turned = Signal()

    def __init__(self, notices: Sequence[NoticeLabel], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._notices = tuple(notices)
        self._packing = False
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        for notice in self._notices:
            notice.setParent(self)
            notice.turned.connect(self.pack)
        self.setFixedHeight(0)
        self.hide()

    def pack(self) -> None:
        """Place what has words, now that something of it may have changed."""
        if self._packing:
            return
        self._packing = True
        y, before = 0, self.height()
        for row in self._rows():
            spare = self.width() - sum(notice.needed for notice in row) - BESIDE * (len(row) - 1)
            x, tall = 0, 0
            for notice in row:
                last = notice is row[-1]
                wide = self.width() - x if last else notice.needed + spare // len(row)
                notice.setGeometry(x, y, wide, notice.height())
                x += wide + BESIDE
                tall = max(tall, notice.height())
            y += tall + GAP
        self.setFixedHeight(max(0, y - GAP))
        self.setVisible(y > 0)
        self._packing = False
        if self.height() != before:
            self.turned.emit()

    def _rows(self) -> list[list[NoticeLabel]]:
        """The notices that have words, as many on a line as stand there whole."""
        rows: list[list[NoticeLabel]] = []
        for notice in self._notices:
            if notice.isHidden():
                continue
            together = [*rows[-1], notice] if rows else []
            if together and sum(each.needed for each in together) + BESIDE * (len(together) - 1) <= self.width():
                rows[-1].append(notice)
            else:
                rows.append([notice])
        return rows

    def sizeHint(self) -> QSize:
        return QSize(300, self.minimumHeight())

    def minimumSizeHint(self) -> QSize:
        return QSize(0, self.minimumHeight())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Other lines for another width."""
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self.pack()
