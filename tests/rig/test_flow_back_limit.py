"""A limit on flow-back in a rig file: read, said where it can't be watched, and never a reason to refuse a log's file."""

from __future__ import annotations

import pytest

from dipbook import watch
from dipbook.alarms import allowed
from dipbook.alarms.table import outcome
from dipbook.limits import Limit
from dipbook.rig import document
from dipbook.rig.changes import difference_in_words
from flowback.connections import LIMITED
from ledgers import BBL

KEYS = 'value = "2 bbl"\ndeadband = "1 bbl"\ngrowth = "1 bbl"'


def read(text: str) -> tuple[Limit, dict[str, str]]:
    doc = document.parse(text, "rig.toml")
    (limit,) = doc.rig.limits
    return limit, {f.code: f.what for f in doc.findings}


def test_it_is_watched_and_latches() -> None:
    limit, found = read(LIMITED)
    assert (limit.watched, limit.value / BBL, limit.deadband / BBL, limit.growth and limit.growth / BBL) == (
        True, pytest.approx(2), pytest.approx(1), pytest.approx(1))
    assert "limit_not_watched" not in found
    assert limit.latching
    assert watch.channel_of(limit) == watch.FLOW_BACK
    assert watch.not_watched((limit,), ()) == ()
    assert outcome("UNACK", "SHV", True, kind="flow_back") is None
    assert outcome("UNACK", "SUP+", True, kind="flow_back") is None
    assert "close" in allowed("LACKD", True)


@pytest.mark.parametrize(("old", "new", "code"), [
    (KEYS, 'value = "2 bbl/min"', "limit_not_watched"),
    (KEYS, 'deadband = "1 bbl"', "limit_not_watched"),
    ('on = "active"', 'on = "all surface"', "limit_not_watched"),
    ('on = "active"', 'on = "Suction"', "limit_not_watched"),
    (KEYS, 'value = "2 bbl"\ndeadband = "3 bbl"\ngrowth = "1 bbl"', "no_deadband"),
    (KEYS, 'value = "2 bbl"\ndeadband = "1 bbl"', "no_growth"),
    (KEYS, 'value = "2 bbl"\ndeadband = "1 bbl"\ngrowth = "fast"', "no_growth"),
    (KEYS, f'{KEYS}\nminutes = [1, 5]', "key_left_aside"),
    (KEYS, 'automatic = { c = 7.5, ceiling = "5 bbl" }', "limit_not_watched"),
])
def test_what_an_older_file_may_hold_is_said_and_not_refused(old: str, new: str, code: str) -> None:
    text = LIMITED[:LIMITED.index("[[limit]]")] + LIMITED[LIMITED.index("[[limit]]"):].replace(old, new)
    limit, found = read(text)
    assert code in found
    assert limit.watched == (code != "limit_not_watched")


def test_what_counts_as_stopped_is_read_and_its_change_said() -> None:
    told = LIMITED.replace('rising = "40 s"', 'rising = "40 s"\nstopped = "0.2 bbl/min"')
    drain = document.parse(told, "rig.toml").rig.drain_back
    assert drain is not None
    assert drain.stopped_m3_s == pytest.approx(0.2 * BBL / 60)
    plain = document.parse(LIMITED, "rig.toml").rig
    assert plain.drain_back is not None
    assert plain.drain_back.stopped_m3_s is None
    words = difference_in_words(plain, document.parse(told, "rig.toml").rig)
    assert any("stopped" in word for word in words)
