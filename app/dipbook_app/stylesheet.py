"""The style of ordinary widgets, made from the theme's tokens. Anything drawn by hand takes its colours from the Look.

Labels choose their part with the property ``part``: "title", "strong", "firm", "soft", "small", "note", "caution",
"bad", "outlined", "on_danger", "on_warning", "on_due".
Buttons: ``part`` "big" for what is pressed under stress (20 mm or more), "form" for a form's, as wide and less high,
"outlined" for words that can be clicked, "plain" for the rest.
Fields choose "bad" when what is typed can't stand; ``tall`` = True makes a field or button high enough for a glove.
"""

from __future__ import annotations

from dipbook_app.theme import FAMILY, Look

TEMPLATE = """
* {{ font-family: "{family}"; font-size: {body}px; color: {ink}; }}
QWidget {{ background: {ground}; selection-background-color: {select}; selection-color: {ink}; }}
QLabel {{ background: transparent; }}
QLabel[part="title"] {{ font-size: {title}px; font-weight: bold; }}
QLabel[part="strong"] {{ font-weight: bold; }}
QLabel[part="firm"] {{ font-weight: bold; font-size: {small}px; }}
QLabel[part="soft"] {{ color: {soft}; }}
QLabel[part="small"] {{ color: {soft}; font-size: {small}px; }}
QWidget[part="status"] QLabel, QWidget[part="status"] QPushButton {{ font-size: {small}px; }}
QLabel[part="note"] {{ font-size: {small}px; }}
QLabel[part="caution"] {{ font-size: {caution}px; }}
QLabel[part="bad"] {{ background: {warning}; color: {on_warning}; border: 1px solid {warning_edge}; padding: 2px 6px; }}
QLabel[part="outlined"] {{ background: {ground}; color: {ink}; border: 2px solid {warning_edge}; font-weight: bold;
  padding: 1px 6px; }}
QLabel[part="on_danger"] {{ font-size: {caution}px; color: {on_danger}; }}
QLabel[part="on_warning"] {{ font-size: {caution}px; color: {on_warning}; }}
QLabel[part="on_due"] {{ font-size: {caution}px; color: {on_due}; }}
QWidget[part="status"] QLabel[part="bad"] {{ padding: 0px 6px; }}
QFrame[part="panel"] {{ background: {panel}; border: 1px solid {line}; }}
QFrame[part="panel"] QLabel {{ border: none; }}
QFrame[wide="true"], QFrame[wide="true"] QLabel, QFrame[wide="true"] QLineEdit, QFrame[wide="true"] QComboBox,
QFrame[wide="true"] QPushButton {{ font-size: {wide}px; }}
QFrame[wide="true"] QLabel[part="small"] {{ font-size: {body}px; }}
QPushButton {{ background: {panel}; border: 1px solid {line}; border-radius: 3px; padding: 4px 12px;
  min-height: {key}px; }}
QPushButton:pressed, QPushButton:checked {{ background: {select}; }}
QPushButton:focus {{ border: 2px solid {ink}; }}
QPushButton:disabled {{ color: {soft}; border: 1px dashed {line}; }}
QPushButton[part="bad"] {{ background: {warning}; color: {on_warning}; border: 1px solid {warning_edge}; }}
QPushButton[part="outlined"] {{ background: {ground}; border: 2px solid {warning_edge}; font-weight: bold;
  padding: 1px 6px; }}
QPushButton[part="form"] {{ min-height: {form}px; min-width: {glove}px; padding: 0px 8px; }}
QPushButton[part="big"] {{ font-weight: bold; min-height: {glove}px; min-width: {glove}px; padding: 0px 8px; }}
QLineEdit, QComboBox, QPlainTextEdit, QTextEdit, QSpinBox, QDoubleSpinBox, QDateTimeEdit, QTimeEdit, QDateEdit {{
  background: {field}; border: 1px solid {line}; border-radius: 2px; padding: 3px 6px; min-height: {key}px; }}
QLineEdit:focus, QComboBox:focus, QPlainTextEdit:focus, QTextEdit:focus, QSpinBox:focus, QDateTimeEdit:focus {{
  border: 2px solid {ink}; }}
QLineEdit[part="bad"] {{ background: {field}; border: 2px solid {warning_edge}; }}
QLineEdit[tall="true"], QComboBox[tall="true"], QPushButton[tall="true"] {{ min-height: {tall}px; }}
QLineEdit[part="bad"], QComboBox[part="bad"] {{ border: 3px solid {warning_edge}; }}
QLineEdit:disabled, QComboBox:disabled {{ color: {soft}; background: {ground}; }}
QComboBox {{ padding-right: 30px; }}
QComboBox::drop-down {{ border: none; width: 28px; }}
QComboBox::down-arrow {{ image: none; width: 0; height: 0; }}
QComboBox QAbstractItemView {{ background: {field}; border: 1px solid {line}; }}
QComboBox QAbstractItemView::item {{ min-height: {row}px; }}
QAbstractItemView {{ background: {panel}; alternate-background-color: {ground}; border: 1px solid {line};
  gridline-color: {grid}; outline: none; }}
QTableView, QListWidget {{ border: 2px solid {line}; }}
QTableView:focus, QListWidget:focus {{ border: 2px solid {ink}; }}
QAbstractItemView::item {{ padding: 2px 6px; }}
QAbstractItemView::item:selected {{ background: {select}; color: {ink}; }}
QHeaderView::section {{ background: {ground}; color: {soft}; border: none; border-bottom: 1px solid {line};
  padding: 4px 6px; font-weight: bold; }}
QTableCornerButton::section {{ background: {ground}; border: none; }}
QScrollBar:vertical {{ background: {ground}; width: 18px; margin: 0; }}
QScrollBar:horizontal {{ background: {ground}; height: 18px; margin: 0; }}
QScrollBar::handle {{ background: {line}; border: 4px solid {ground}; min-height: 40px; min-width: 40px; }}
QScrollBar::add-line, QScrollBar::sub-line {{ width: 0; height: 0; }}
QScrollArea {{ border: none; }}
QSlider::groove:horizontal {{ background: {grid}; border: 1px solid {line}; height: 4px; }}
QSlider::handle:horizontal {{ background: {ink}; width: 12px; margin: -7px 0; border-radius: 3px; }}
QToolTip {{ background: {field}; color: {ink}; border: 1px solid {line}; padding: 4px; }}
QMenu {{ background: {field}; border: 1px solid {line}; }}
QMenu::item {{ padding: 6px 20px; }}
QMenu::item:selected {{ background: {select}; }}
QCheckBox, QRadioButton {{ background: transparent; spacing: 8px; min-height: {key}px; }}
QGroupBox {{ border: 1px solid {line}; margin-top: {body}px; padding-top: 6px; }}
QGroupBox::title {{ subcontrol-origin: margin; left: 8px; color: {soft}; }}
QToolButton {{ background: {panel}; border: 1px solid {line}; border-radius: 3px; padding: 2px 6px; }}
QToolButton[part="rail"] {{ background: {ground}; border: none; border-left: 4px solid {ground}; border-radius: 0;
  font-size: {small}px; }}
QToolButton[part="rail"]:checked {{ background: {panel}; border-left: 4px solid {ink}; font-weight: bold; }}
QToolButton[part="rail"]:focus {{ border: 2px solid {ink}; }}
QSplitter::handle {{ background: {line}; }}
QTabBar::tab {{ background: {ground}; border: 1px solid {line}; padding: 6px 12px; }}
QTabBar::tab:selected {{ background: {panel}; font-weight: bold; }}
"""


def stylesheet(look: Look) -> str:
    """The style sheet of a look. Every colour in it is a token of the palette."""
    palette = look.palette
    tokens = {name: getattr(palette, name) for name in palette.__dataclass_fields__}
    return TEMPLATE.format(
        **tokens, family=FAMILY, body=look.px(15), title=look.px(20), small=look.px(13), wide=look.px(19),
        caution=look.px(11),
        form=max(look.px(44), 44), key=max(look.px(24), 24), row=look.px(30), tall=max(look.px(36), 36),
        glove=look.mm(20) - 2,
    )
