"""What a person chose survives; a damaged file is not believed and not lost; a full disk is said, not raised."""

from __future__ import annotations

import json

from dipbook_app.preferences import Preferences, PreferencesFile


def test_choices_survive_a_restart(tmp_path):
    path = tmp_path / "deep" / "preferences.json"
    PreferencesFile(path).change(theme="night", text=1.15, unit_set="metric", page="Log", geometry="00ff")
    assert PreferencesFile(path).now == Preferences("night", 1.15, "metric", "00ff", "Log")


def test_without_a_file_the_usual_ones_hold(tmp_path):
    kept = PreferencesFile(tmp_path / "none.json")
    assert kept.now == Preferences()
    assert kept.trouble == ""


def test_a_damaged_file_is_left_and_said(tmp_path):
    path = tmp_path / "preferences.json"
    path.write_text('{"theme": "ni', encoding="utf-8")
    kept = PreferencesFile(path)
    assert kept.now == Preferences()
    assert "can't be read" in kept.trouble
    assert path.read_text(encoding="utf-8") == '{"theme": "ni'


def test_values_that_make_no_sense_are_not_believed(tmp_path):
    path = tmp_path / "preferences.json"
    path.write_text(json.dumps({"theme": "pink", "text": 40, "page": 3, "store": "log.sqlite"}), encoding="utf-8")
    assert PreferencesFile(path).now == Preferences(store="log.sqlite")


def test_a_folder_that_cannot_be_written_is_said_and_the_choice_holds(tmp_path):
    blocked = tmp_path / "file"
    blocked.write_text("in the way", encoding="utf-8")
    kept = PreferencesFile(blocked / "preferences.json")
    kept.change(theme="night")
    assert kept.now.theme == "night"
    assert "can't be kept" in kept.trouble


def test_nothing_half_written_is_left(tmp_path):
    kept = PreferencesFile(tmp_path / "preferences.json")
    for theme in ("night", "day", "night"):
        kept.change(theme=theme)
    assert [p.name for p in tmp_path.iterdir()] == ["preferences.json"]
