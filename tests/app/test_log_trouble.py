"""A log that can't be written is a warning of its own, and one failure doesn't hide another."""

from __future__ import annotations

from dataclasses import replace

from app.situations import NOW_MS, quiet
from dipbook_app.log_trouble import LogTrouble

BESIDE = quiet(store_ok=False, store_text="The note beside the log can't be written.", failing=("beside",))
BOTH = quiet(store_ok=False, store_text="The disk is full.", failing=("beside", "log"))


def test_a_log_that_fails_after_an_acknowledged_lesser_failure_sounds() -> None:
    trouble = LogTrouble()
    assert trouble.views(BESIDE)[0].sounding
    trouble.acknowledge()
    (w,) = trouble.views(BESIDE)
    assert (w.state, w.sounding, w.actions) == ("acknowledged", False, ())
    (w,) = trouble.views(BOTH)
    assert (w.state, w.sounding, w.actions) == ("raised", True, ("acknowledge",))
    trouble.acknowledge()
    assert not trouble.views(BOTH)[0].sounding
    assert not trouble.views(BESIDE)[0].sounding, "one of them is well again"
    assert trouble.views(BOTH)[0].sounding, "and fails anew"


def test_a_silence_given_for_one_failure_does_not_cover_the_next() -> None:
    trouble = LogTrouble()
    trouble.views(BESIDE)
    trouble.silence(NOW_MS)
    assert not trouble.views(BESIDE)[0].sounding
    assert trouble.views(BOTH)[0].sounding


def test_a_clock_set_back_does_not_draw_a_silence_out() -> None:
    trouble = LogTrouble()
    trouble.views(BOTH)
    trouble.silence(NOW_MS)
    assert not trouble.views(replace(BOTH, now_ms=NOW_MS + 29_999))[0].sounding
    assert trouble.views(replace(BOTH, now_ms=NOW_MS - 3_600_000))[0].sounding


def test_it_is_forgotten_when_the_log_is_kept_again() -> None:
    trouble = LogTrouble()
    trouble.views(BOTH)
    trouble.acknowledge()
    assert trouble.views(quiet()) == ()
    assert trouble.views(BOTH)[0].sounding
