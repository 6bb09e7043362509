"""``dipbook figures`` on a log that a desk wrote, counted by hand; its exit codes and what it says of what can't be read."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from app.real_desks import GAIN, Hands, bench, make_log, rig_text
from dipbook import watch
from dipbook.cautions import CAUTION
from dipbook_app.cli.main import main

pytestmark = pytest.mark.usefixtures("qapp")

HIGH = """
[[limit]]
name = "high"
kind = "high"
on = "Reserve 1"
activity = "any"
value = "8 ft"
deadband = "3 in"
shelve = "20 min"
set_by = "Test"
reason = "test value"
since = "2026-03-01"
"""


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """Two hours: a gain at 10 min, acknowledged after 3 min, grown and heard again at 20; the reserve high at 30 min,
    acknowledged after 1 min, over at 60; shelved for 10 min at 62. A change of a limit at 90."""
    path, hands = make_log(tmp_path / "a.dipbook", rig_text(GAIN, HIGH)), Hands()
    with bench(path, hands) as b:
        b.desk.set_on_watch("R. Moe")

        def wait(minutes: float) -> None:
            b.pass_(minutes)

        def acknowledge(name: str) -> None:
            b.desk.acknowledge(next(w.occurrence for w in b.warnings if w.name == name))

        b.round()
        wait(10)
        b.round(suction=62)
        assert b.states() == {"gain": "raised"}
        wait(3)
        acknowledge("gain")
        wait(7)
        b.round(suction=63)
        assert b.states() == {"gain": "raised"}, "an inch more is 3.6 bbl: further than its growth"
        acknowledge("gain")
        wait(10)
        b.round(suction=63, reserve=97)
        assert b.states() == {"gain": "acknowledged", "high": "raised"}
        wait(1)
        acknowledge("high")
        wait(29)
        b.round(suction=63, reserve=60)
        assert b.states() == {"gain": "acknowledged"}
        wait(2)
        assert b.desk.set_aside(watch.Act("shelve", by="R. Moe", note="agitator", limit="high",
                                          until_ms=hands.ms + 10 * 60_000)) == ""
        wait(28)
        b.desk.set_limits(b.situation.rig.limits[:1], author="A. Pusher", reason="reserve isn't used")
        wait(30)
        b.round(suction=63)
        b.settle()
    return path


def lines(log: Path, capsys: pytest.CaptureFixture[str], *more: str, code: int = 1) -> dict[str, Any]:
    assert main(["figures", str(log), "--json", *more]) == code
    out, err = capsys.readouterr()
    assert err == ""
    read = [json.loads(line) for line in out.splitlines()]
    assert read[0]["type"] == "span"
    return {"head": read[0]} | {line["key"]: line for line in read[1:]}


def test_the_figures_of_a_log_are_those_counted_by_hand(log: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = lines(log, capsys, "--from", "2026-03-01 02:15", "--to", "2026-03-01 04:15")
    assert found["head"] | {"type": ""} == {"type": "", "from": "2026-03-01T08:15:00.000Z", "to": "2026-03-01T10:15:00.000Z",
                                            "watched_s": 7200.0, "unreadable": 0, "drill": False}
    value = {key: line["value"] for key, line in found.items() if key != "head"}
    assert (value["raised"], value["resounded"]) == (2, 1)
    assert (value["rate_hour"], value["rate_10min"]) == (1.0, pytest.approx(1 / 6))
    assert value["rate_tour"] is None, "of 2 h nothing is made up for 12"
    assert found["rate_tour"]["note"] == "too little was watched for a rate: 2 h, and 6 h are needed"
    assert found["rate_hour"]["note"] == ""
    short = lines(log, capsys, "--from", "2026-03-01 02:15", "--to", "2026-03-01 04:15", "--tour", "4")
    assert short["rate_tour"]["value"] == 4.0
    assert (value["answer_median"], value["answer_p90"]) == (pytest.approx(120, abs=21), pytest.approx(180, abs=21)), \
        "of 3 min and 1 min; the clock moves by 20 s"
    assert (value["largest_10min"], value["floods"], value["flood_time"], value["chattering"], value["standing"]) == (1, 0, 0, 0, 0)
    assert (value["rank_1"], value["rank_2"], value["rank_3"]) == (50, 50, 0), "a gain, and a high"
    assert value["top_ten"] == 100
    assert "gain (active): 1" in found["top_ten"]["note"]
    assert "high (Reserve 1): 1" in found["top_ten"]["note"]
    assert (value["shelved"], value["shelved_time"], value["out_of_service"]) == (1, pytest.approx(1 / 6, abs=0.01), 0)
    # Set with the log's first rig at 02:15, two limits; one withdrawn at 03:45.
    assert (value["limits_changed"], value["unnamed"]) == (3, 0)
    assert "ANSI" not in found["raised"]["source"]
    assert (found["rate_hour"]["source"], found["hours_over_30"]["source"]) == ("read in a public source", "from memory")


def test_a_span_a_tour_and_the_whole_log(log: Path, capsys: pytest.CaptureFixture[str]) -> None:
    whole = lines(log, capsys)
    assert whole["raised"]["value"] == 2
    early = lines(log, capsys, "--to", "2026-03-01 02:40", "--tour", "8")
    assert early["raised"]["value"] == 1
    assert early["rate_tour"]["label"] == "In 8 h (a tour)"
    quiet = lines(log, capsys, "--from", "2026-03-01T09:00:00Z", "--to", "2026-03-01T09:15:00Z", code=0)
    assert quiet["raised"]["value"] == 0
    assert quiet["answer_median"]["value"] is None


def test_for_people_it_has_formula_target_source_and_the_caution(log: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["figures", str(log)]) == 1
    out = capsys.readouterr().out
    assert out.startswith("Invented 2, a.dipbook: 2026-03-01 02:15 -06:00 to ")
    assert "Numbers without grades" in out
    assert "target: ~6 very likely acceptable, ~12 the most that can be managed (read in a public source)" in out
    assert out.rstrip().endswith(CAUTION)
    for word in (" good", " bad", "poor", "excellent"):
        assert word not in out


@pytest.mark.parametrize(("more", "words"), [
    (("--from", "soon"), "--from: "), (("--from", "2026-03-02 00:00", "--to", "2026-03-01 00:00"), "--to has to be after --from")])
def test_what_cannot_be_counted_is_said_and_exits_2(log: Path, capsys: pytest.CaptureFixture[str], more: tuple[str, ...],
                                                    words: str) -> None:
    assert main(["figures", str(log), *more]) == 2
    out, err = capsys.readouterr()
    assert (out, "Traceback" in err) == ("", False)
    assert words in err
    assert "Nothing was counted" in err


def test_a_log_that_is_not_there_exits_2(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["figures", str(tmp_path / "none.dipbook"), "--json"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err
    assert not (tmp_path / "none.dipbook").exists()
    with pytest.raises(SystemExit) as refused:
        main(["figures", str(tmp_path / "none.dipbook"), "--tour", "30"])
    assert refused.value.code == 2
