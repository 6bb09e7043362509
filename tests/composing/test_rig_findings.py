"""What the rig's description leaves open is told with the books, as long as that description is in force."""

from __future__ import annotations

from app.real_desks import GAIN, NOW, rig_text
from dipbook import composing
from dipbook.books import build
from dipbook.records import RIG, Draft, Record, numbered
from dipbook.rig import document
from dipbook_app import sentences
from dipbook_app.display import DisplayUnits


def rigs(*texts: str) -> tuple[Record, ...]:
    return numbered([Draft(RIG, NOW + k, NOW + k, payload={"text": text, "digest": document.parse(text).digest,
                                                           "effective": "change"}) for k, text in enumerate(texts)])


def test_what_the_rig_leaves_open_is_among_the_findings_of_the_situation() -> None:
    s = composing.picture(composing.seen(build(rigs(rig_text(GAIN)))), NOW)
    codes = {f.code for f in s.findings}
    assert {"no_hole", "no_drain_back", "no_pipe", "no_pumps"} <= codes
    assert "no_limits" not in codes
    assert {f.severity for f in s.findings if f.code in ("no_hole", "no_drain_back")} == {"warning"}
    assert "no_brim" not in codes, "a note isn't a warning"
    words = sentences.doubts(s, DisplayUnits(s.rig, ""))
    assert words.startswith("The books: ")
    assert "doesn't describe the hole" in words
    assert "doesn't say what drains back" in words


def test_only_the_rig_in_force_is_told_of() -> None:
    s = composing.picture(composing.seen(build(rigs(rig_text(), rig_text(GAIN)))), NOW + 5)
    assert "no_limits" not in {f.code for f in s.findings}
    s = composing.picture(composing.seen(build(rigs(rig_text(GAIN), rig_text()))), NOW + 5)
    assert "no_limits" in {f.code for f in s.findings}
