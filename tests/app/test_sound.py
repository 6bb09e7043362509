"""The sound: distinct for each urgency, honest when there is none, and never in the way."""

from __future__ import annotations

import importlib.util
import stat
import wave
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest
from situations import HIGH, OVERDUE, warning

from dipbook_app import sound as sounds
from dipbook_app import urgency
from dipbook_app.sound import Sound

URGENCIES = (urgency.DANGER, urgency.ABNORMAL, urgency.DUE)


def player(folder: Path, name: str, script: str) -> str:
    path = folder / name
    path.write_text(f"#!/bin/sh\n{script}\n", encoding="utf-8")
    path.chmod(path.stat().st_mode | stat.S_IXUSR)
    return str(path)


@pytest.fixture
def make(qtbot):
    made = []

    def build(*commands):
        made.append(Sound(commands=commands, windows=False))
        return made[-1]

    yield build
    for sound in made:
        sound.close()


def samples(name):
    with wave.open(str(files("dipbook_app") / "data" / "sounds" / name)) as file:
        return np.frombuffer(file.readframes(file.getnframes()), dtype="<i2").astype(float), file.getframerate()


@pytest.mark.parametrize("name", [u.sound for u in URGENCIES])
def test_most_of_each_sounds_energy_lies_between_500_and_1500_hz(name):
    # ISO 7731 (from memory): main energy 500 to 2500 Hz, below 1500 Hz for hearing loss or ear protection.
    values, rate = samples(name)
    power = np.abs(np.fft.rfft(values)) ** 2
    hz = np.fft.rfftfreq(len(values), 1 / rate)
    assert power[(hz >= 500) & (hz <= 1500)].sum() > 0.9 * power.sum()
    assert np.abs(values).max() < 32_767, "not clipped"


def test_the_sounds_differ_in_rhythm_not_only_in_pitch():
    def pulses(name):
        """Lengths of the pulses between rests of 50 ms or more [tenths of a second]."""
        values, rate = samples(name)
        width = rate // 20
        loud = [np.abs(values[k:k + width]).max() > 1000 for k in range(0, len(values) - width, width)]
        return [round(len(run) / 2) for run in "".join("x" if on else " " for on in loud).split()]

    assert pulses("urgent.wav") == [20], "the urgent one has no rest"
    assert pulses("abnormal.wav") == [2, 2, 2]
    assert pulses("due.wav") == [5, 2]


def test_the_shipped_sounds_are_what_the_script_makes(tmp_path):
    script = Path(__file__).parents[2] / "docs" / "make_sounds.py"
    spec = importlib.util.spec_from_file_location("make_sounds", script)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    module.write(tmp_path)
    for u in URGENCIES:
        made, rate = (tmp_path / u.sound), samples(u.sound)[1]
        with wave.open(str(made)) as file:
            values = np.frombuffer(file.readframes(file.getnframes()), dtype="<i2").astype(float)
            assert file.getframerate() == rate
        np.testing.assert_allclose(values, samples(u.sound)[0], atol=1)


def test_without_a_player_it_says_so_and_names_what_it_looked_for(make, qtbot):
    sound = make()
    assert sound.message.startswith("No sound: no player on this computer")
    assert "screen only" in sound.message
    sound.sound(urgency.DANGER)
    with qtbot.waitSignal(sound.tested) as heard:
        sound.sound(None)
        sound.test()
    assert heard.args == [sound.message]


@pytest.mark.skipif(sounds.sys.platform == "win32", reason="uses shell scripts as players")
class TestPlayers:
    def test_a_player_without_a_device_is_quoted(self, make, qtbot, tmp_path):
        sound = make(player(tmp_path, "aplay", "echo 'no such device' >&2; exit 1"))
        with qtbot.waitSignal(sound.tested) as heard:
            sound.test()
        assert heard.args == ["No sound: aplay says: no such device. Warnings show on the screen only."]
        assert sound.message == heard.args[0]

    def test_a_second_player_is_tried_when_the_first_fails(self, make, qtbot, tmp_path):
        sound = make(player(tmp_path, "first", "exit 1"), player(tmp_path, "second", "exit 0"))
        with qtbot.waitSignal(sound.tested) as heard:
            sound.test()
        assert heard.args[0].startswith("Sound played.")
        assert sound.message == ""

    def test_a_player_that_hangs_is_ended_and_another_sounds(self, make, qtbot, tmp_path, monkeypatch):
        monkeypatch.setattr(sounds, "PLAYS_MS", 100)
        log = tmp_path / "log"
        sound = make(player(tmp_path, "hangs", "exec sleep 600"), player(tmp_path, "plays", f"echo \"$1\" >> {log}"))
        sound.sound(urgency.DANGER)
        qtbot.waitUntil(lambda: log.exists() and bool(log.read_text()), timeout=5000)
        assert Path(log.read_text().split()[0]).name == "urgent.wav"

    def test_a_player_that_hangs_alone_is_said(self, make, qtbot, tmp_path, monkeypatch):
        monkeypatch.setattr(sounds, "PLAYS_MS", 100)
        sound = make(player(tmp_path, "hangs", "exec sleep 600"))
        with qtbot.waitSignal(sound.changed) as said:
            sound.sound(urgency.DANGER)
        assert said.args == ["No sound: hangs says: it began and didn't end. Warnings show on the screen only."]

    def test_a_player_that_is_not_there_is_said(self, make, qtbot, tmp_path):
        sound = make(str(tmp_path / "nothing"))
        with qtbot.waitSignal(sound.tested) as heard:
            sound.test()
        assert "can't be started" in heard.args[0]

    def test_it_repeats_until_told_to_stop_and_the_message_goes_when_it_plays(self, make, qtbot, tmp_path):
        log = tmp_path / "log"
        sound = make(player(tmp_path, "play", f"echo \"$1\" >> {log}"))
        sound.sound(urgency.DANGER)
        qtbot.waitUntil(lambda: log.exists() and len(log.read_text().splitlines()) >= 3, timeout=5000)
        assert {Path(line).name for line in log.read_text().splitlines()} == {"urgent.wav"}
        sound.sound(None)
        count = len(log.read_text().splitlines())
        with qtbot.waitSignal(sound.tested):
            sound.test()
        assert len(log.read_text().splitlines()) == count + 1, "silent in between"
        assert sound.sounding is None

    def test_telling_it_the_same_again_does_not_start_over(self, make, qtbot, tmp_path):
        log = tmp_path / "log"
        sound = make(player(tmp_path, "play", f"echo x >> {log}; exec sleep 30"))
        sound.sound(urgency.DANGER)
        qtbot.waitUntil(lambda: log.exists() and log.read_text() == "x\n", timeout=5000)
        for _ in range(20):
            sound.sound(urgency.DANGER)
        qtbot.wait(200)
        assert log.read_text() == "x\n"


def test_one_situation_has_one_sound_the_most_urgent():
    assert urgency.sounding((OVERDUE, warning())) is urgency.DANGER
    assert urgency.sounding((OVERDUE, HIGH)) is urgency.DUE
    assert urgency.sounding((HIGH,)) is None
    assert urgency.sounding(()) is None


def test_unacknowledged_come_first_then_the_most_urgent():
    acknowledged = warning(state="acknowledged", sounding=False)
    assert urgency.in_order((acknowledged, HIGH, OVERDUE)) == (OVERDUE, acknowledged, HIGH)
