"""Small files beside the log: whole or not at all, and a damaged one is kept."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from dipbook.errors import StoreError
from dipbook.store import beside


def test_what_is_written_is_read(tmp_path: Path) -> None:
    file = tmp_path / "draft.json"
    beside.write_json(file, {"tank": "Süd", "level": 1.5})
    assert beside.read_json(file) == {"tank": "Süd", "level": 1.5}
    beside.atomic_write(file, "line\r\nline\n")
    assert beside.read_text(file) == "line\r\nline\n"
    assert [p.name for p in tmp_path.iterdir()] == ["draft.json"]


@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_a_write_that_fails_leaves_the_old_file_and_nothing_else(
        tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str) -> None:
    file = tmp_path / "draft.json"
    beside.atomic_write(file, "old")

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(*((os, "fsync") if step == "fsync" else (Path, "replace")), full)
    with pytest.raises(StoreError, match=r"Saving failed\. The disk is full.*as it was before"):
        beside.atomic_write(file, "new")
    assert file.read_text() == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["draft.json"]


def test_there_being_no_file_is_no_failure(tmp_path: Path) -> None:
    assert beside.read_text(tmp_path / "none") is None
    assert beside.read_json(tmp_path / "none") is None
    assert beside.damaged_copies(tmp_path / "none") == ()


@pytest.mark.parametrize("content", [b'{"tank": "Suc', b"", b"\xff\xfe\x00", b"\x00" * 20])
def test_a_damaged_file_is_kept_aside(tmp_path: Path, content: bytes) -> None:
    file = tmp_path / "draft.json"
    for n in (1, 2):
        file.write_bytes(content)
        assert beside.read_json(file) is None
        assert not file.exists()
        assert len(beside.damaged_copies(file)) == n
    assert {p.read_bytes() for p in beside.damaged_copies(file)} == {content}
    beside.write_json(file, 1)
    assert beside.read_json(file) == 1


def test_a_folder_that_is_not_there_is_said_in_words(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match=r"Saving failed\..*isn't there"):
        beside.atomic_write(tmp_path / "gone" / "draft.json", "x")
