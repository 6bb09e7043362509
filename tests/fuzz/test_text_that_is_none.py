"""A log in which bytes of a text are no text any more is said to be damaged, in words; found by the hostile inputs."""

from __future__ import annotations

from pathlib import Path

import pytest

from dipbook import store
from dipbook.errors import StoreDamagedError, StoreError
from dipbook.store.salvage import salvage
from fuzz.hostile import FROZEN, NOW, assert_plain


def spoilt(path: Path, text: bytes) -> Path:
    """The frozen log with the middle of every place where ``text`` stands written over by a byte that begins no character."""
    half = len(text) // 2
    assert text in FROZEN
    path.write_bytes(FROZEN.replace(text, text[:half] + b"\xb4" + text[half + 1:]))
    return path


@pytest.mark.parametrize("text", [b"tablealembic_version", b"tablemeta", b"CREATE TABLE record", b"dipbook log", b"version_num", b"CREATE TRIGGER"])
def test_opening_says_that_it_is_damaged_and_salvage_answers_in_words(text: bytes, tmp_path: Path) -> None:
    path = spoilt(tmp_path / "spoilt.dipbook", text)
    try:
        with store.open(path, write=False) as log:
            said = [f.what for f in log.verify()]
    except StoreError as error:
        said = [str(error)]
    assert said
    assert_plain(*said)
    try:
        made = salvage(path, tmp_path / "new.dipbook", now_ms=NOW)
        assert made.as_they_were + made.anew > 0
    except StoreError as error:
        assert_plain(str(error))
        assert not (tmp_path / "new.dipbook").exists()


def test_a_text_that_is_none_is_called_damage_and_not_something_to_try_again(tmp_path: Path) -> None:
    path = spoilt(tmp_path / "spoilt.dipbook", b"dipbook log")
    with pytest.raises(StoreDamagedError, match="damaged or cut off"):
        store.open(path, write=False)
