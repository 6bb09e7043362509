"""Numbers and times in the crew's units and the rig's clock. Values worked out by hand from exact definitions."""

from __future__ import annotations

from dataclasses import replace

import pytest
from situations import LOSS, MIN, NOW_MS, RIG, no_zero, partial, quiet, raised, unwatched, warning

from builders import BBL, GAL, IN, METRIC_UNITS
from dipbook.findings import Finding
from dipbook.quantities import read
from dipbook_app import sentences
from dipbook_app.display import DisplayUnits, shown_sticks, shown_unit, shown_words
from dipbook_app.pages.watch import WatchPage
from dipbook_app.strip_words import headline
from dipbook_app.theme import DAY, Look

UNITS = DisplayUnits(RIG)
HOUR = 60 * MIN


def test_volumes_carry_their_unit_and_a_real_minus():
    assert UNITS.volume(512.4 * BBL) == "512.4 bbl"
    assert UNITS.signed_volume(1.3 * BBL) == "+1.3 bbl"
    assert UNITS.signed_volume(-0.4 * BBL) == "−0.4 bbl"
    assert UNITS.signed_volume(-0.04 * BBL) == "0.0 bbl"
    assert UNITS.plus_minus(0.45 * BBL) == "± 0.9", "k=2 is shown, k=1 is kept"


@pytest.mark.parametrize("value", [None, float("nan")])
def test_what_is_not_known_is_written_unknown(value):
    assert UNITS.volume(value) == UNITS.signed_volume(value) == "unknown"
    assert UNITS.level(value) == "unknown"
    assert UNITS.time(None) == UNITS.span(None) == "unknown"


def test_a_unit_set_replaces_the_rigs_own_units():
    metric = DisplayUnits(RIG, "metric")
    assert metric.volume(1.0) == "1.00 m³"
    assert metric.level(1.61) == "161.0 cm"
    assert DisplayUnits(RIG, "no such set").volume_unit == "bbl"


def test_a_rig_with_a_decimal_comma_gets_one():
    comma = DisplayUnits(replace(RIG, decimal=",", units=METRIC_UNITS))
    assert comma.volume(2.5) == "2,50 m³"
    assert comma.level(63.5 * IN) == "161,3 cm"


def test_levels_in_feet_and_inches():
    assert UNITS.level(63.5 * IN) == "5' 3 1/2\""


def test_times_are_the_rigs_and_name_the_day_when_it_is_not_today():
    assert UNITS.time(NOW_MS) == "02:15"
    assert UNITS.clock(NOW_MS) == "02:15:00"
    assert UNITS.date(NOW_MS) == "1 Mar 2026"
    assert UNITS.offset(NOW_MS) == "UTC−06:00"
    assert UNITS.time_near(NOW_MS - 4 * HOUR, NOW_MS) == "28 Feb 22:15"
    assert UNITS.time_near(NOW_MS - HOUR, NOW_MS) == "01:15"


@pytest.mark.parametrize(("span", "words"), [
    (59_999, "under 1 min"), (MIN, "1 min"), (12 * MIN, "12 min"), (60 * MIN, "1 h"), (185 * MIN, "3 h 05 min"),
    (25 * HOUR, "1 d 1 h"),
])
def test_spans_in_words(span, words):
    assert UNITS.span(span) == words


def test_flow_in_the_rigs_unit():
    assert UNITS.flow(600 * GAL / 60) == "600 gal/min"


def test_the_distance_to_the_limit_is_on_the_side_of_the_difference():
    assert sentences.near_limit(quiet(), UNITS) == "3.7 bbl to the gain limit of 5.0 bbl"
    assert sentences.near_limit(quiet(difference_m3=-2 * BBL), UNITS) == "8.0 bbl to the loss limit of 10.0 bbl"
    assert sentences.near_limit(raised(), UNITS) == "0.6 bbl past the gain limit of 5.0 bbl"
    assert sentences.near_limit(quiet(difference_m3=LOSS.value * -1), UNITS) == "at the loss limit of 10.0 bbl"


def test_without_a_limit_the_page_says_that_nobody_is_told():
    assert sentences.near_limit(quiet(limit_gain=None), UNITS) == "No gain limit set: nobody is told of a gain"
    assert sentences.near_limit(no_zero(), UNITS) == ""


def test_a_limit_finer_than_the_dips_is_said_to_be_so():
    assert sentences.coarse(quiet(), UNITS) == ""
    assert sentences.coarse(quiet(u_m3=3 * BBL), UNITS) == (
        "The gain limit is finer than the dips can tell (± 6.0 bbl).")
    assert sentences.coarse(quiet(u_m3=6 * BBL), UNITS).startswith("The gain and loss limit")


def test_what_the_time_between_rounds_can_miss():
    # accounting.md: a kick of q shows at up to q·T; 1 bbl/min over 30 min is 30 bbl.
    assert sentences.between_rounds(quiet(), UNITS) == (
        "Rounds up to 30 min apart: a kick of 1 bbl/min can reach 30.0 bbl unseen.")
    assert "can't be said" in sentences.between_rounds(no_zero(), UNITS)


def test_partial_and_not_watched_are_said():
    assert sentences.partial(partial(), UNITS) == (
        "Partial: 482.2 bbl not gauged since 01:03 (Desilter, Suction)")
    assert sentences.not_watched(unwatched()).startswith("Not watched: tripping")
    assert sentences.not_watched(quiet(watch_on=False)) == "Not watched: the watch is off."
    assert sentences.not_watched(quiet()) == sentences.partial(quiet(), UNITS) == ""
    assert sentences.figure_words(unwatched(), UNITS) == "more than expected, not watched"


def test_the_directions_in_words():
    assert sentences.direction(1.3 * BBL, UNITS) == "more than expected"
    assert sentences.direction(-1.3 * BBL, UNITS) == "less than expected"
    assert sentences.direction(0.01 * BBL, UNITS) == "as expected"


def test_the_trend_in_words():
    assert sentences.trend(quiet(), UNITS) == "Rising 0.8 bbl in 30 min"
    assert sentences.trend(quiet(trend_words=(-2 * BBL, 30 * MIN)), UNITS) == "Falling 2.0 bbl in 30 min"
    assert sentences.trend(quiet(trend_words=(0.01 * BBL, 30 * MIN)), UNITS) == "Steady over 30 min"
    assert sentences.trend(no_zero(), UNITS) == "No trend yet"


def test_what_the_books_doubt_is_said_the_newest_first_and_the_rest_in_brief():
    found = (
        Finding("Cuttings are held back: neither flow nor a lag is known.", code="cuttings_held_back"),
        Finding("18.0 bbl are logged into Reserve 1, and its dips moved 0.0 bbl: did it happen?", code="logged_not_seen",
                t_ms=quiet().now_ms - 600_000),
        Finding("A note.", code="note", severity="note", t_ms=quiet().now_ms),
    )
    words = sentences.doubts(replace(quiet(), findings=found), UNITS)
    assert words.startswith("The books, at ")
    assert "18.0 bbl are logged into Reserve 1, and its dips moved 0.0 bbl: did it happen?" in words
    assert words.endswith(" And 1 more: cuttings are held back.")
    assert sentences.doubts(replace(quiet(), findings=found[2:]), UNITS) == ""


def test_the_watch_page_shows_what_the_books_doubt(qtbot):
    page = WatchPage(Look(DAY, 1.0, 96.0))
    qtbot.addWidget(page)
    page.show_situation(replace(quiet(), findings=(Finding("Pumps went on and their flow isn't known.", code="flow"),)), UNITS)
    assert any("their flow isn't known" in text for text in page.readings())


def test_a_loss_is_headed_by_the_amount_lost_and_what_is_over_by_how_bad_it_was():
    loss = replace(warning(), kind="loss", name="loss", value=-7.0 * BBL, worst=-9.0 * BBL, limit=6.0 * BBL)
    assert headline(loss, UNITS, NOW_MS).startswith("LOSS  7.0 bbl, limit 6.0 bbl, active system, since ")
    over = replace(loss, state="over_acknowledged", value=12.3 * BBL)
    assert headline(over, UNITS, NOW_MS).startswith("LOSS over, had been 9.0 bbl, limit 6.0 bbl, active system, since ")


def test_a_warning_that_a_partial_reading_can_not_end_says_what_it_had_been_and_what_it_reads_now():
    """Not "GAIN −59.3 bbl": the difference fell by far, and the round that says so was partial."""
    gain = replace(warning(), value=-59.3 * BBL, worst=22.3 * BBL, limit=6.0 * BBL, partial=True)
    assert headline(gain, UNITS, NOW_MS).startswith(
        "GAIN  had been 22.3 bbl, now −59.3 bbl (partial), limit 6.0 bbl, active system, since ")
    more = replace(gain, value=8.0 * BBL)
    assert headline(more, UNITS, NOW_MS).startswith("GAIN  8.0 bbl (partial), limit 6.0 bbl, active system, since ")
    low = replace(gain, kind="low", value=50.0 * BBL, worst=2.0 * BBL, limit=6.0 * BBL, partial=False)
    assert headline(low, UNITS, NOW_MS).startswith("LOW  had been 2.0 bbl, now 50.0 bbl, limit 6.0 bbl, ")


@pytest.mark.parametrize(("stored", "shown", "dimension"), [
    ("gal[US]/min", "gal/min", "flow"), ("lbm/gal[US]", "lb/gal", "density"), ("gal[US]", "gal", "volume"),
    ("lbm", "lb", "mass"), ("m3", "m³", "volume"), ("m3/min", "m³/min", "flow"), ("kg/m3", "kg/m³", "density"),
    ("ft3", "ft³", "volume"), ("lbm/ft3", "lb/ft³", "density"), ("bbl/min", "bbl/min", "rate"), ("psi", "psi", "pressure")])
def test_a_unit_as_it_is_shown_reads_back_as_the_same(stored, shown, dimension):
    assert shown_unit(stored) == shown
    assert shown_words(f"Pumps on, 12 {stored}, as told") == f"Pumps on, 12 {shown}, as told"
    assert read(f"12 {shown}", dimension, decimal=".") == replace(
        read(f"12 {stored}", dimension, decimal="."), as_typed=f"12 {shown}")


def test_words_that_are_no_units_stay():
    for words in ("gal[UK] is another gallon", "lbmx", "Tank M3 to Tank 2", "pump m3"):
        assert shown_words(words) == words


@pytest.mark.parametrize(("typed", "read_off"), [
    ("84.00 in", "84 in"), ("63.5 in", "63 1/2 in"), ("27.25 in", "27 1/4 in"), ("0.125 in", "1/8 in"),
    ("63,50 in", "63 1/2 in"), ("27.30 in", "27.30 in"), ("161.0 cm", "161.0 cm"), ("84 in", "84 in"),
    ("5' 3.5 in", "5' 3 1/2 in")])
def test_a_stick_of_decimal_inches_is_shown_as_sticks_are_read(typed, read_off):
    assert shown_sticks(f"Settling {typed}; Suction {typed} (foam)") == f"Settling {read_off}; Suction {read_off} (foam)"
