"""Files into a log through the desk: all or nothing, once, at most one occurrence a limit; and what it costs."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from app.real_desks import GAIN, HEAD, MIN, NOW, TANK, Hands, bench, make_log, rig_text
from builders import IN
from dipbook import importing, store
from dipbook.exchange.times import rfc3339
from dipbook.records import Block, Dip, Draft
from dipbook_app.display import DisplayUnits
from dipbook_app.file_words import count_words

pytestmark = pytest.mark.usefixtures("qapp")
DAY = 24 * 60 * MIN


@pytest.fixture
def hands() -> Hands:
    return Hands()


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return make_log(tmp_path / "a.dipbook", rig_text(GAIN), NOW - 3 * DAY)


def readings(folder: Path, suction: list[float], start_ms: int, name: str = "readings.csv") -> Path:
    """A file of readings ten minutes apart."""
    file = folder / name
    file.write_text("time,Settling [in],Suction [in]\n" + "".join(
        f"{rfc3339(start_ms + i * 10 * MIN)},60,{level}\n" for i, level in enumerate(suction)), encoding="utf-8")
    return file


def entries(folder: Path, *rows: str) -> Path:
    file = folder / "entries.csv"
    file.write_text("time,end,kind,by,from,to,volume,state,reason,remark\n" + "".join(r + "\n" for r in rows),
                    encoding="utf-8")
    return file


SWINGS = [60, 60, 63, 60, 63, 60, 64, 60, 60]


def test_an_import_of_yesterday_raises_one_occurrence_a_limit(path: Path, hands: Hands, tmp_path: Path) -> None:
    with bench(path, hands) as b:
        found = b.desk.import_files(readings(tmp_path, SWINGS, NOW - DAY), None)
        assert not [f for f in found if f.severity == "error"]
        (w,) = b.warnings
        assert w.state == "over"
        assert w.sounding
        assert (w.raised_ms, w.learned_ms) == (NOW - DAY + 20 * MIN, NOW)
        raised = [r.payload for r in b.transitions() if r.payload["state"] == "raised"]
        assert len(raised) == 1
        assert raised[0]["cause"] == "import, 3 excursions, the first at this time"


def test_the_same_files_twice_add_nothing_also_after_a_restart(path: Path, hands: Hands, tmp_path: Path) -> None:
    file = readings(tmp_path, SWINGS, NOW - DAY)
    log = entries(tmp_path, f"{rfc3339(NOW - DAY)},,remark,R. Moe,,,,,,shift began",
                  f"{rfc3339(NOW - DAY + MIN)},{rfc3339(NOW - DAY + 5 * MIN)},discard,R. Moe,Suction,,1 bbl,,,")
    with bench(path, hands) as b:
        b.desk.import_files(file, log)
        b.settle()
        count, journal = b.desk.store.last_seq, b.journal()
        b.desk.import_files(file, log)
        assert b.said[-1] == "Nothing new: these files are in the log already."
        shuffled = tmp_path / "shuffled.csv"
        head, *rows = file.read_text(encoding="utf-8").splitlines()
        shuffled.write_text("\n".join([head, *reversed(rows)]) + "\n", encoding="utf-8")
        b.desk.import_files(shuffled, None)
        assert b.said[-1] == "Nothing new: these files are in the log already."
        assert b.desk.store.last_seq == count
    with bench(path, hands) as b:
        b.settle()
        before = b.desk.store.last_seq
        b.desk.import_files(file, log)
        assert b.said == ["Nothing new: these files are in the log already."]
        assert b.desk.store.last_seq == before
        assert b.journal() == journal


def test_a_longer_file_of_the_same_hours_adds_its_new_rows_and_raises_nothing_twice(
        path: Path, hands: Hands, tmp_path: Path) -> None:
    with bench(path, hands) as b:
        b.desk.import_files(readings(tmp_path, SWINGS, NOW - DAY), None)
        b.desk.acknowledge(b.warnings[0].occurrence)
        b.desk.import_files(readings(tmp_path, [*SWINGS, 60.0, 60.5], NOW - DAY), None)
        assert b.states() == {"gain": "over_acknowledged"}
        assert len(b.situation.trend.t_ms) == len(SWINGS) + 2
        assert len([r for r in b.transitions() if r.payload["state"] == "raised"]) == 1


def test_what_was_added_is_said_in_dips(path: Path, hands: Hands, tmp_path: Path) -> None:
    with bench(path, hands) as b:
        b.desk.import_files(readings(tmp_path, [60.0, 61.0, 62.0], NOW - DAY), None)
        assert b.said[-1] == "Added: 6 dips."
        longer = importing.read(importing.load(readings(tmp_path, [60.0, 61.5, 62.0, 63.0], NOW - DAY)), None, b.situation.rig,
                                b.situation.records, now_ms=NOW, author="R. Moe")
        assert "8 dips: 2 new, 5 in the log already, 1 with another value" in count_words(
            longer.counts[0], DisplayUnits(b.situation.rig))
        b.desk.add(longer)
        assert b.said[-1] == "Added: 3 dips."


def test_one_bad_file_of_two_adds_nothing_of_either(path: Path, hands: Hands, tmp_path: Path) -> None:
    good = readings(tmp_path, SWINGS, NOW - DAY)
    with bench(path, hands) as b:
        for row, words in ((f"{rfc3339(NOW - DAY)},,transfer,R. Moe,Suction,Sucton,1 bbl,,,", "entries.csv, line 2"),
                           (f"{rfc3339(NOW + DAY)},,remark,R. Moe,,,,,,tomorrow", "lies in the future"),
                           (f"{rfc3339(NOW - MIN)},{rfc3339(NOW + DAY)},discard,R. Moe,Suction,,1 bbl,,,",
                            "lies in the future")):
            found = b.desk.import_files(good, entries(tmp_path, row))
            assert any(f.severity == "error" for f in found)
            assert b.failed[-1].startswith("Nothing was added. ")
            assert words in b.failed[-1]
        b.desk.import_files(tmp_path / "none.csv", None)
        assert "can't be opened" in b.failed[-1]
        assert "none.csv" in b.failed[-1]
        b.desk.import_files(tmp_path, None)
        assert b.failed[-1].startswith("Nothing was added. The file can't be opened")
        b.desk.import_files(readings(tmp_path, SWINGS, NOW - 30 * MIN, "late.csv"), None)
        assert "lies in the future" in b.failed[-1]
        assert len(b.situation.records) == 1
        assert b.situation.store_ok


def test_a_file_that_was_struck_out_says_so_when_it_comes_again(path: Path, hands: Hands, tmp_path: Path) -> None:
    file = readings(tmp_path, [60.0, 60.0], NOW - DAY)
    with bench(path, hands) as b:
        b.desk.import_files(file, None)
        assert not b.desk.void(b.last_of("samples").uid, author="R. Moe", reason="another rig's file")
        assert b.situation.actual_m3 is None
        assert "struck_before" in [f.code for f in b.desk.import_files(file, None)]


# --- what it costs ----------------------------------------------------------------------------------------------------

TANKS = [(f"Tank {i}", "suction" if i == 0 else "intermediate" if i < 9 else "reserve", "true" if i < 9 else "false")
         for i in range(12)]


@pytest.fixture(scope="module")
def big(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A log with 12 tanks × 12 h at 1 Hz."""
    text = HEAD.format(zone="Etc/GMT+6") + "".join(
        TANK.format(name=n, role=r, active=a, order=i) for i, (n, r, a) in enumerate(TANKS, 1)) + GAIN
    path = make_log(tmp_path_factory.mktemp("big") / "big.dipbook", text, NOW - DAY)
    t = np.arange(43_200, dtype=np.int64) * 1000 + NOW - 43_200_000 - MIN
    noise = np.random.default_rng(1)
    with store.open(path) as log:
        log.append([
            Draft("samples", int(t[0]), NOW - MIN, payload={"source": "import", "digest": "x"}, blocks=tuple(
                Block(f"tank:{n}:level", t, 1.5 + noise.normal(0, 0.0002, len(t))) for n, _, _ in TANKS)),
            *(Draft("pumps", int(t[0]) + k * 1_800_000, NOW - MIN, payload={
                "state": "on" if k % 2 else "off", "flow_m3_s": 0.05 if k % 2 else None, "end_ms": None, "typed": {}})
              for k in range(24))])
    return path


def test_a_round_on_a_log_of_half_a_million_samples_warns(big: Path, hands: Hands) -> None:
    """How long it takes is measured in tests/bench, not here."""
    with bench(big, hands) as b:
        hands.pass_(20 / 60)
        t = hands.ms
        dips = tuple(Dip(n, t, "60 in", 60 * IN) for n, _, _ in TANKS)
        assert b.desk.save_round(dips, start_ms=t, end_ms=t, observer="", author="R. Moe")
        b.settle()
        assert b.states() == {"gain": "raised"}
