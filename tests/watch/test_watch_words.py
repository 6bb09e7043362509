"""The journal's line: plain words, in SI and in the crew's units, and as a record's payload."""

import json

import pytest
from histories import BBL, act, at, gain, high, live, loss, overdue

from dipbook import watch
from dipbook.quantities import UNIT_SETS

OILFIELD = UNIT_SETS["oilfield"]


def journal():
    w = watch.start((gain(), loss(), overdue(), high("Suction", 2.0), gain(2, name="tight", on="all surface")), 7)
    out = []
    for time, row in (("01:00", {"diff": "5.4", "Suction": "1"}), ("01:10", {"diff": "~-6.2", "Suction": "2.1"})):
        w, made = live(w, time, **row)
        out += made
    w, made = act(w, "acknowledge", "01:12", "told driller")
    out += made
    w, made = live(w, "01:15", diff="8", Suction="1")
    out += made
    w, made = watch.step(w, watch.Advance(at("02:00")))
    return out + list(made)


def test_a_warning_reads_as_the_crew_would_say_it():
    said = [watch.words(tr, OILFIELD) for tr in journal()]
    assert said == [
        "Gain 5.4 bbl, limit 5.0 bbl",
        "Loss 6.2 bbl, limit 5.0 bbl (partial: a tank was not gauged or not read)",
        'Suction high 82 5/8 in, limit 78 3/4 in',
        "Gain acknowledged by J. Ortiz: told driller",
        "Gain grown to 8.0 bbl, limit 5.0 bbl",
        "Loss over: now −8.0 bbl, had been 6.2 bbl, limit 5.0 bbl, not acknowledged yet",
        "Suction high over: now 39 3/8 in, limit 78 3/4 in, not acknowledged yet",
        "Round overdue: none complete for 30 min, limit 30 min",
    ]


def test_the_text_is_kept_in_si_and_with_any_decimal_sign():
    first = journal()[0]
    assert first.text == "Gain 0.86 m3, limit 0.79 m3"
    assert watch.words(first, UNIT_SETS["metric"], ",") == "Gain 0,86 m3, limit 0,79 m3"
    assert (first.unit, first.value_is) == ("m3", "volume")


def test_a_line_carries_what_it_rests_on():
    first = journal()[0]
    assert first.evidence == {"t": at("01:00"), "value": pytest.approx(5.4 * BBL), "u": 0.08, "partial": False}
    assert (first.revision, first.engine, first.system, first.tank) == (7, watch.ENGINE, "active", "")
    assert (first.state, first.from_state, first.event, first.sounds) == ("raised", "closed", "ACT", True)
    assert first.occurrence == f"gain/active@{at('01:00')}"


def test_a_payload_is_json_and_comes_back_the_same():
    for tr in journal():
        text = json.dumps(tr.payload(), allow_nan=False, sort_keys=True)
        assert watch.from_payload(json.loads(text)) == tr


def test_a_payload_with_parts_missing_is_refused_and_with_new_ones_read():
    payload = journal()[0].payload()
    assert watch.from_payload({**payload, "added_later": 1}) == journal()[0]
    del payload["limit"]
    with pytest.raises(ValueError, match="limit"):
        watch.from_payload(payload)
