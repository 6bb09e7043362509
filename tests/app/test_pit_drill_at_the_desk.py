"""A pit drill on the rig at a real desk: entries, the strip, what is refused, and its record from the log. Invented."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from pypdf import PdfReader
from pytestqt.qtbot import QtBot

from app.real_desks import GAIN, Bench, Hands, make_log, rig_text
from dipbook_app import sentences, warning_words
from dipbook_app.cli.main import main
from dipbook_app.display import DisplayUnits
from dipbook_app.theme import PALETTES, Look
from dipbook_app.widgets.warning_strip import WarningStrip

BEGINS = {"consent": "T. Pusher", "tank": "Suction", "raised": "2 in", "run by": "R. Moe", "announced": "no", "within": "5 min",
          "set by": "T. Pusher"}


@pytest.fixture
def bench(tmp_path: Path, qtbot: QtBot) -> Iterator[Bench]:
    hands = Hands()
    found = Bench(make_log(tmp_path / "rig.dipbook", rig_text(GAIN), hands.ms - 60_000), hands)
    found.desk.set_on_watch("R. Moe")
    found.round()
    found.desk.log_entry("zero", {"reason": "start", "length": "0"})
    yield found
    found.desk.close()


def log(bench: Bench, kind: str, **typed: str) -> list[str]:
    """Codes of what was refused."""
    bench.pass_(1)
    found = bench.desk.log_entry(kind, {k.replace("_", " "): v for k, v in typed.items()})
    return [f.code for f in found if f.severity == "error"]


def test_a_drill_is_marked_and_the_gain_that_it_makes_sounds_as_always(bench: Bench, qtbot: QtBot, capsys: pytest.CaptureFixture[str]) -> None:
    assert log(bench, "pit drill step", step="recognised", who="D. Hand") == ["no_drill"]
    assert log(bench, "pit drill", **{k.replace(" ", "_"): v for k, v in BEGINS.items()}) == []
    assert log(bench, "pit drill", **{k.replace(" ", "_"): v for k, v in BEGINS.items()}) == ["drill_under_way"]
    units = DisplayUnits(bench.situation.rig)
    assert "A pit drill is under way since" in sentences.gauges(bench.situation, units)
    bench.round(suction=62.0)
    (warning,) = bench.warnings
    assert (warning.name, warning.state, warning.sounding) == ("gain", "raised", True)
    strip = WarningStrip(Look(PALETTES["day"]))
    qtbot.addWidget(strip)
    strip.resize(1200, 100)
    strip.show()
    strip.show_warnings(bench.situation.warnings, units, bench.situation.now_ms)
    assert any("? Suction pit drill under way since" in text for text in strip.readings())
    story = bench.desk.warning_story(warning.occurrence)
    assert story is not None
    assert dict(warning_words.sections(warning, story, bench.situation, units))["Its gauges"].startswith(
        "Suction: A pit drill is under way since")
    for step in ("recognised", "driller told", "flow check"):
        assert log(bench, "pit drill step", step=step, who="D. Hand") == []
    assert log(bench, "pit drill end", state="called off", ended_by="T. Pusher") == ["missing"]
    assert log(bench, "pit drill end", state="ended", ended_by="T. Pusher") == []
    assert "isn't proved back by a dip" in sentences.gauges(bench.situation, units)
    assert log(bench, "pit drill", **{k.replace(" ", "_"): v for k, v in BEGINS.items()}) == ["float_not_proved"]
    assert log(bench, "float proved", tank="Suction", stick="60", sensor="60", proved_by="D. Hand") == []
    assert "pit drill" not in sentences.gauges(bench.situation, units)
    assert [w.state for w in bench.warnings] == ["raised"]        # it is for a person to acknowledge and close
    out, row = bench.path.with_name("r.pdf"), bench.path.with_name("r.csv")
    assert main(["drill", "record", str(bench.path), "--out", str(out), "--csv", str(row)]) == 0
    text = " ".join(" ".join(p.extract_text().split()) for p in PdfReader(out).pages)
    for words in ("DRILL: a pit drill on the rig, not a well-control event", "Consent, in charge T. Pusher", "Float raised by 2 in",
                  "In: Suction", "In charge, who consented (name)", "Announced no", "by D. Hand: stick 60", "Invented data"):
        assert words in text, words
    assert row.read_text(encoding="utf-8").splitlines()[1].startswith("DRILL,")
    capsys.readouterr()
    assert main(["drill", "record", str(bench.path), "--number", "2", "--out", str(out)]) == 2
    assert "--number is 1 to 1" in capsys.readouterr().err


def test_a_log_without_one_says_so(bench: Bench, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["drill", "record", str(bench.path), "--out", str(bench.path.with_name("r.pdf"))]) == 2
    assert "No pit drill is marked" in capsys.readouterr().err
    assert not bench.path.with_name("r.pdf").exists()
