"""What the Rig page shows: its sections, the table of rows, the form and the picture of the chosen one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QButtonGroup,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from dipbook.composing.rig_views import well_view
from dipbook.findings import Finding
from dipbook.rig.proposal import Place
from dipbook.situation import Situation
from dipbook_app.current import current
from dipbook_app.display import shown_words
from dipbook_app.drafts import Drafts
from dipbook_app.forms.form import sentence
from dipbook_app.forms.rig_form import RigForm
from dipbook_app.pages.rig_drawn import RigDrawn
from dipbook_app.rig_draft import OVERTAKEN, RigDraft
from dipbook_app.rig_rows import LEGEND, SECTIONS, RigRow, RigSection, follow_words, problem_words, rows
from dipbook_app.widgets.plain_table import make_plain
from dipbook_app.widgets.rig_picture import RigPicture
from dipbook_app.widgets.text_size import scaled
from dipbook_app.widgets.words_label import WordsLabel

if TYPE_CHECKING:
    from dipbook_app.desk import Desk

COLUMNS = 3
TABLE_WIDTH, TABLE_ALONE, FORM_WIDTH, ALONE_WIDTH, PANEL_WIDTH = 250, 350, 400, 640, 900
MOST_TABLE, MOST_FORM = 0.25, 0.385
"""Shares of the page's width that the table and the form take at most, beside a picture."""
MOST_TABLE_ALONE, MOST_ALONE = 0.3, 0.66
"""The same where there is no picture."""
STATE_LINES = 2
"""Room that is kept for the words above all, so that nothing moves while one types."""
AS_ADOPTED = "As adopted. What is typed here counts only once it is adopted."
NOT_ADOPTED = "Typed and not adopted: the log goes on with the rig as it was."


class RigFace(QWidget):
    """desk: for its situation and its clock. drafts: what was typed and not adopted.

    Signal: review_wanted(): from the form, what differs is to be looked at.
    """

    review_wanted = Signal()

    def __init__(self, desk: Desk, drafts: Drafts, unit_set: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.desk = desk
        self._unit_set = unit_set
        self._situation = current(desk)
        self.draft = RigDraft(self._situation, drafts, desk.now_ms, self)
        self.draft.changed.connect(self._show_draft)
        self.section: RigSection = SECTIONS[0]
        self.rows: tuple[RigRow, ...] = ()
        self.form: RigForm | None = None
        self._asked = ""
        self._filling = False
        self._seen = False
        self._build()
        self._show_section(SECTIONS[0])
        self.setFocusProxy(self.table)

    def show_situation(self, situation: Situation) -> None:
        """Take the newest situation: the rig in force, and where the bit is."""
        bit = situation.bit_depth_m != self._situation.bit_depth_m
        self._situation = situation
        before = self.draft.proposal.base
        self.draft.take(situation)
        if self.draft.proposal.base != before:
            self._show_form()
        if bit:
            self._show_picture()

    def show_units(self, unit_set: str) -> None:
        """Write numbers in another set of units. unit_set: its name, "" for the rig's own."""
        self._unit_set = unit_set
        self._show_picture()

    def chosen(self) -> RigRow | None:
        """The row that the cursor is on."""
        place = self.table.currentRow()
        return self.rows[place] if 0 <= place < len(self.rows) else None

    def show_section(self, name: str) -> None:
        """Show a section. name: of SECTIONS."""
        self._show_section(next(section for section in SECTIONS if section.name == name))

    # --- inside -------------------------------------------------------------------------------------------------

    def _show_section(self, section: RigSection) -> None:
        self.section = section
        self.keys[SECTIONS.index(section)].setChecked(True)
        self.words.say("")
        self._asked = ""
        for button, grown in zip(self.add_buttons, (*section.can_grow, None, None), strict=False):
            button.setVisible(grown is not None)
            if grown is not None:
                key = "Ins" if grown == section.can_grow[0] else "Shift+Ins"
                button.setText(f"Add {grown[1].split()[-1] if len(section.can_grow) > 1 else grown[1]}\n{key}")
        self.remove_button.setVisible(bool(section.can_grow))
        self._fill()
        self._filling = True
        self.table.setCurrentCell(0 if self.rows else -1, 1)
        self._filling = False
        self._show_form()

    def _show_draft(self) -> None:
        """Something of the draft changed: marks, words, picture; the form itself keeps what is typed in it."""
        before = self.chosen()
        self._fill()
        if before is not None and (before.kind, before.sign) not in [(r.kind, r.sign) for r in self.rows]:
            self.table.setCurrentCell(min(self.table.currentRow(), len(self.rows) - 1), 1)
            self._show_form()
        elif before is not None:
            self._choose(before.kind, before.sign, again=False)
        self._say_state()
        if self.form is not None:
            self._show_words()
        self._show_picture()

    def _fill(self) -> None:
        self._filling = True
        self.rows = rows(self.section, self.draft)
        self.table.setRowCount(len(self.rows))
        for place, row in enumerate(self.rows):
            for column, text in enumerate((row.mark, row.name, row.what)):
                item = self.table.item(place, column)
                if item is None:
                    item = QTableWidgetItem()
                    self.table.setItem(place, column, item)
                item.setText(text)
                item.setToolTip(shown_words(text))
        self._filling = False
        self._say_state()

    def _choose(self, kind: str, sign: str, *, again: bool = True) -> None:
        """Put the table's cursor on a row; again: and show its form."""
        place = next(n for n, row in enumerate(self.rows) if (row.kind, row.sign) == (kind, sign))
        self._filling = True
        self.table.setCurrentCell(place, 1)
        self._filling = False
        if again:
            self._show_form()

    def _row_chosen(self) -> None:
        if not self._filling:
            self._asked = ""
            self._show_form()

    def showEvent(self, event: QShowEvent) -> None:
        """The form of the row that the cursor is on is made when the page is first seen: a start needn't wait for it.
        """
        super().showEvent(event)
        if not self._seen:
            self._seen = True
            self._show_form()

    def _show_form(self) -> None:
        if not self._seen:
            return
        row = self.chosen()
        if self.form is not None:
            here = self.form.focusWidget()
            if here is not None and here.hasFocus():
                self.table.setFocus()
            self.form.hide()
            self.form.deleteLater()
            self.form = None
        self.empty.setVisible(row is None)
        self.empty.setText(self.section.empty)
        if row is not None:
            proposal = self.draft.proposal
            names = [name for sign in proposal.signs("tank") if (name := proposal.value(("tank", sign, "name")))]
            form = RigForm(self._title(row), row.kind, row.sign, proposal, self._situation.rig, names)
            form.typed.connect(self._typed)
            form.settled.connect(self._show_words)
            form.review_wanted.connect(self.review_wanted)
            form.closed.connect(self.table.setFocus)
            self._middle.addWidget(form)
            self.form = form
            self._show_words()
        self._show_picture()

    def _title(self, row: RigRow) -> str:
        word = self.section.word(row.kind)
        return row.name if row.name in (word, f"({word})") else f"{word[:1].upper()}{word[1:]} {row.name}"

    def _typed(self, name: str, text: str) -> None:
        if self.form is None:
            return
        self._asked = ""
        self.words.say("")
        self.draft.put((self.form.kind, self.form.sign, *name.split(".")), text)

    def _show_words(self) -> None:
        """What is wrong and noteworthy of the chosen row, at its fields; the rest below them."""
        form = self.form
        if form is None:
            return
        form.fit(self.draft.proposal)
        row: Place = (form.kind, form.sign)
        shown = form.names()
        row_of = self.chosen()
        form.title.setText(self._title(row_of) if row_of is not None else "")
        problems: dict[str, str] = {}
        findings: dict[str, Finding] = {}
        notes: list[str] = list(self._origin(form))
        for place, what in self.draft.problems().items():
            if place[:2] == row:
                name = _nearest(place[2:], shown)
                if name:
                    problems.setdefault(name, what)
                else:
                    notes.append(sentence(what))
        for place, finding in self.draft.findings():
            if place[:2] == row:
                name = _nearest(place[2:], shown)
                if name:
                    findings.setdefault(name, finding)
                else:
                    notes.append(sentence(finding.what))
        form.show_words(problems, findings, [shown_words(note) for note in notes], follow_words(self.draft, row))

    def _origin(self, form: RigForm) -> tuple[str, ...]:
        """Where the steel and the bore of the chosen part of the string are from."""
        if form.kind != "string":
            return ()
        parts = well_view(self.draft.checked, None).parts
        place = self.draft.proposal.signs("string").index(form.sign)
        return (f"{parts[place].origin}.",) if place < len(parts) else ()

    def _show_picture(self) -> None:
        self.drawn.show(self.section, self.chosen(), self.draft, self._situation, self._unit_set)
        self._fit()

    def _say_state(self) -> None:
        wrong, changed = problem_words(self.draft), self.draft.proposal.changed
        words = NOT_ADOPTED if changed else AS_ADOPTED
        if wrong:
            more = f" ({len(wrong) - 1} more)" if len(wrong) > 1 else ""
            words += f" Wrong or missing: {wrong[0].partition(':')[0]}{more}."
        if self.draft.overtaken:
            words = OVERTAKEN
        self.state.setText(words)
        self.review_button.setEnabled(changed)
        self.discard_button.setEnabled(changed)

    def _build(self) -> None:
        title = QLabel("Rig")
        title.setProperty("part", "title")
        self.state = QLabel()
        self.state.setWordWrap(True)
        self.state.setProperty("part", "strong")
        head = QHBoxLayout()
        head.setSpacing(16)
        head.addWidget(title)
        head.addWidget(self.state, 1)
        self.table = self._table()
        self.legend = QLabel(LEGEND)
        self.legend.setProperty("part", "small")
        self.legend.setWordWrap(True)
        self.side = QWidget()
        left = QVBoxLayout(self.side)
        left.setContentsMargins(0, 0, 0, 0)
        left.addWidget(self.table, 1)
        left.addWidget(self.legend)
        self.middle = QWidget()
        self._middle = QVBoxLayout(self.middle)
        self._middle.setContentsMargins(0, 0, 0, 0)
        self.empty = QLabel()
        self.empty.setWordWrap(True)
        self.empty.setMargin(12)
        self.empty.setAlignment(Qt.AlignmentFlag.AlignTop)
        self._middle.addWidget(self.empty)
        self.picture = RigPicture()
        self.drawn = RigDrawn(self.picture)
        self.picture.bit_typed.connect(self._show_picture)
        self.picture.left.connect(self.table.setFocus)
        across = QHBoxLayout()
        across.setSpacing(12)
        across.addWidget(self.side)
        across.addWidget(self.middle)
        across.addWidget(self.picture, 1)
        across.addStretch()
        self.words = WordsLabel(lines=2)
        self.body = QWidget()
        body = QVBoxLayout(self.body)
        body.setContentsMargins(0, 0, 0, 0)
        body.addLayout(head)
        body.addLayout(self._section_keys())
        body.addLayout(across, 1)
        body.addLayout(self._actions())
        self.panel = QWidget()
        self._panel = QVBoxLayout(self.panel)
        self._panel.setContentsMargins(0, 0, 0, 0)
        self.panel.hide()
        layout = QHBoxLayout(self)
        layout.addWidget(self.body, 1)
        layout.addWidget(self.panel)
        self._fit()

    def _section_keys(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setSpacing(8)
        group = QButtonGroup(self)
        self.keys: list[QPushButton] = []
        for section in SECTIONS:
            key = QPushButton(section.name)
            key.setCheckable(True)
            key.setAutoDefault(False)
            key.setProperty("tall", True)
            key.clicked.connect(lambda _=False, section=section: self._show_section(section))
            group.addButton(key)
            row.addWidget(key)
            self.keys.append(key)
        hint = QLabel("Ctrl+PgUp, Ctrl+PgDn")
        hint.setProperty("part", "small")
        row.addWidget(hint)
        row.addStretch(1)
        return row

    def _table(self) -> QTableWidget:
        table = QTableWidget(0, COLUMNS)
        table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        make_plain(table, "Rig")
        table.horizontalHeader().hide()
        table.setWordWrap(False)
        table.verticalHeader().setMinimumSectionSize(36)
        header = table.horizontalHeader()
        header.setMinimumSectionSize(20)
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(2, QHeaderView.ResizeMode.Stretch)
        table.itemSelectionChanged.connect(self._row_chosen)
        return table

    def _actions(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setSpacing(12)
        self.add_buttons = (QPushButton(), QPushButton())
        self.remove_button = QPushButton("Take out\nDel")
        self.review_button = QPushButton("Adopt …\nCtrl+Enter")
        self.discard_button = QPushButton("Discard\nCtrl+Shift+D")
        self.file_button = QPushButton("Adopt a\nrig file …")
        for button in (*self.add_buttons, self.remove_button, self.review_button, self.discard_button,
                       self.file_button):
            button.setProperty("part", "form")
            button.setAutoDefault(False)
            row.addWidget(button)
        row.addWidget(self.words, 1)
        return row

    def _fit(self) -> None:
        self.state.setMinimumHeight(STATE_LINES * self.state.fontMetrics().lineSpacing())
        alone = self.picture.isHidden()
        self.side.setFixedWidth(min(scaled(self, TABLE_ALONE if alone else TABLE_WIDTH),
                                    round(self.width() * (MOST_TABLE_ALONE if alone else MOST_TABLE))))
        width = min(scaled(self, ALONE_WIDTH if alone else FORM_WIDTH),
                    round(self.width() * (MOST_ALONE if alone else MOST_FORM)))
        self.middle.setFixedWidth(width)
        self.panel.setMaximumWidth(scaled(self, PANEL_WIDTH))


def _nearest(keys: tuple[str, ...], shown: tuple[str, ...]) -> str:
    """The field in sight that a place is told at: its own, that of what holds it, or that of its kind."""
    for n in range(len(keys), 0, -1):
        name = ".".join(keys[:n])
        for found in (name, f"{name}.kind"):
            if found in shown:
                return found
    return ""
