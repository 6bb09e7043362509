"""A log that can't be written is a warning of its own, and one failure doesn't hide another."""

from __future__ import annotations

from dataclasses import replace

from app.situations import NOW_MS, quiet
from dipbook_app.log_trouble import CLOCK, KIND, OCCURRENCES, LogTrouble

BESIDE = quiet(store_ok=False, store_text="The note beside the log can't be written.", failing=("beside",))
BOTH = quiet(store_ok=False, store_text="The disk is full.", failing=("beside", "log"))


def test_a_log_that_fails_after_an_acknowledged_lesser_failure_sounds() -> None:
    trouble = LogTrouble()
    assert trouble.views(BESIDE)[0].sounding
    trouble.acknowledge(OCCURRENCES[KIND])
    (w,) = trouble.views(BESIDE)
    assert (w.state, w.sounding, w.actions) == ("acknowledged", False, ())
    (w,) = trouble.views(BOTH)
    assert (w.state, w.sounding, w.actions) == ("raised", True, ("acknowledge",))
    trouble.acknowledge(OCCURRENCES[KIND])
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
    trouble.acknowledge(OCCURRENCES[KIND])
    assert trouble.views(quiet()) == ()
    assert trouble.views(BOTH)[0].sounding


def test_a_clock_behind_the_log_is_a_warning_of_its_own_beside_the_log_that_fails() -> None:
    trouble = LogTrouble()
    behind = quiet(clock_text="This computer's clock was set back.")
    (w,) = trouble.views(behind)
    assert (w.kind, w.state, w.sounding, w.text, w.actions) == (CLOCK, "raised", True, "This computer's clock was set back.", ("acknowledge",))
    log, clock = trouble.views(replace(BOTH, clock_text="This computer's clock was set back."))
    assert (log.kind, clock.kind) == (KIND, CLOCK)
    trouble.acknowledge(log.occurrence)
    assert [x.sounding for x in trouble.views(replace(BOTH, clock_text="x"))] == [False, True]
    trouble.acknowledge(clock.occurrence)
    (w,) = trouble.views(behind)
    assert (w.state, w.sounding) == ("acknowledged", False), "it stays while the clock is behind"
    assert trouble.views(quiet()) == ()
    assert trouble.views(behind)[0].sounding
