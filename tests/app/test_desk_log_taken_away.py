"""The log's folder is taken off while the desk watches: it warns all the same, and stores what waits once it is back."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from real_desks import GAIN, MIN, NOW, OVERDUE, Hands, bench, make_log, rig_text

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="Windows lets nobody move an open file")


def test_a_folder_that_is_taken_off_silences_no_warning_and_what_waits_is_stored_when_it_is_back(
        tmp_path: Path, qapp: object) -> None:
    folder = tmp_path / "stick"
    folder.mkdir()
    hands = Hands(NOW)
    with bench(make_log(folder / "a.dipbook", rig_text(GAIN, OVERDUE)), hands) as b:
        b.round()
        b.settle()
        folder.rename(tmp_path / "taken off")
        assert b.round(60) is False
        assert "no longer there" in b.failed[-1]
        assert "Nothing of it was stored" in b.failed[-1]
        b.pass_(40)
        b.settle()
        assert not b.situation.store_ok
        assert b.states() == {"overdue": "raised"}
        assert b.desk.sounding
        assert "wait" in b.situation.store_text
        (tmp_path / "taken off").rename(folder)
        b.pass_(1)
        b.settle()
        assert b.situation.store_ok
        assert b.journal() == [("overdue", "ACT", "raised")]
        assert [r.learned_ms for r in b.transitions()] == [NOW + 35 * MIN]
        assert b.round(62)
        b.settle()
        assert b.states()["gain"] == "raised"
        assert not b.desk.store.verify()
