"""How many keys a round of ten tanks takes, by keyboard alone in the real window. The counts stand in docs/using.md."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from ten_tanks import BEFORE_IN, DECIMALS, FEET, QUARTERS, TANKS, USUAL, Keyboard

from builders import IN

DOCS = Path(__file__).parents[2] / "docs" / "using.md"
COUNTS = {"usual": (USUAL, 46), "decimals": (DECIMALS, 53), "quarters": (QUARTERS, 73)}
"""F5, then of each tank the characters and Enter, then Enter twice past the depths: worked out from the texts of ten_tanks.py."""


@pytest.fixture
def keyboard(tmp_path: Path, qapp: object) -> Iterator[Keyboard]:
    keyboard = Keyboard(tmp_path)
    yield keyboard
    keyboard.close()


@pytest.mark.parametrize("name", COUNTS)
def test_ten_tanks_are_keyed_and_saved_with_so_many_keys(keyboard: Keyboard, name: str) -> None:
    dips, count = COUNTS[name]
    assert keyboard.key_round(dips) == count
    assert len(keyboard.rounds) == 2, "saved, with no key more"
    saved = keyboard.rounds[-1]
    assert [dip.tank for dip in saved.dips] == [tank for tank, _, _ in TANKS]
    assert [dip.as_typed for dip in saved.dips] == ["same" if text == "=" else text for text in dips]
    off = {"usual": [.25, 0, .5, .25, 0, .5, 0, 0, 0, 0], "decimals": [.2] * 10, "quarters": [.25] * 10}[name]
    assert [dip.level_m for dip in saved.dips] == pytest.approx([(a + b) * IN for a, b in zip(BEFORE_IN, off, strict=True)])
    assert saved.payload["complete"]
    assert saved.author == "R. Moe"


def test_in_feet_and_inches_too(tmp_path: Path, qapp: object) -> None:
    keyboard = Keyboard(tmp_path, level="ft in")
    try:
        assert keyboard.key_round(FEET) == 94
        assert [dip.level_m for dip in keyboard.rounds[-1].dips] == pytest.approx([(a + .25) * IN for a in BEFORE_IN])
        assert len(keyboard.rounds) == 2
    finally:
        keyboard.close()


def test_a_doubt_costs_one_key_more(keyboard: Keyboard) -> None:
    # Feet for inches on the first row: asked about with the first Enter, put right by typing over it.
    keyboard.press(Qt.Key.Key_F5)
    before = keyboard.count
    keyboard.type_("120")
    keyboard.press(Qt.Key.Key_Return)
    assert keyboard.window.page == "Round"
    assert keyboard.count - before == 4
    page = keyboard.program.window._pages["Round"]
    assert not page.rows[1].stick.hasFocus(), "more than it can hold: the cursor stays"
    keyboard.press(Qt.Key.Key_Backspace)
    keyboard.press(Qt.Key.Key_Backspace)
    keyboard.press(Qt.Key.Key_Backspace)
    keyboard.type_("100")
    keyboard.press(Qt.Key.Key_Return)
    assert page.rows[0].stick.hasFocus(), "a change that nothing explains is asked about"
    keyboard.press(Qt.Key.Key_Return)
    assert page.rows[1].stick.hasFocus(), "one more Enter keeps it"


def test_the_counts_in_the_guide_are_these() -> None:
    text = DOCS.read_text(encoding="utf-8")
    for _, count in COUNTS.values():
        assert f"| {count} |" in text
    assert "| 94 |" in text
