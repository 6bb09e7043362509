"""Changes written back into a rig file: what was asked, and no other character."""

from __future__ import annotations

import difflib
from dataclasses import replace
from pathlib import Path

import pytest

from builders import BBL, IN
from dipbook.errors import RigFileError
from dipbook.limits import Limit
from dipbook.rig.document import parse, read, with_limits, with_value

DEMO = Path(__file__).parents[2] / "demo_data" / "rig-larkspur.toml"


@pytest.fixture(scope="module")
def demo():
    return read(DEMO)


def changed_lines(old: str, new: str) -> list[str]:
    """The lines taken out (-) and put in (+)."""
    return [line.rstrip("\r\n") for line in difflib.unified_diff(old.splitlines(True), new.splitlines(True), n=0)
            if line[0] in "+-" and not line.startswith(("+++", "---"))]


def limit(**other: object) -> Limit:
    """A gain limit; test values, not advice."""
    made = Limit(name="night gain", kind="gain", on="watched", activity="static", value=3 * BBL, value_is="volume",
                 deadband=1 * BBL, growth=None, after_readings=1, after_ms=0, set_by='T. "Push" Er', reason="night",
                 since="2026-01-06 18:00")
    return replace(made, **other)


def test_limits_that_have_not_changed_leave_the_text_byte_for_byte(demo):
    assert with_limits(demo.text, demo.rig.limits) == demo.text
    assert with_limits(demo.text, tuple(reversed(demo.rig.limits))) == demo.text


def test_a_changed_limit_changes_its_own_values_only(demo):
    gain, *others = demo.rig.limits
    new = with_limits(demo.text, (replace(gain, value=4 * BBL, as_typed="4 bbl", set_by="T. Pusher"), *others))
    assert changed_lines(demo.text, new) == ['-value = "5 bbl"', '+value = "4 bbl"',
                                             '-set_by = "demo crew (invented)"', '+set_by = "T. Pusher"']


def test_comments_beside_a_changed_value_stay(demo):
    high = next(one for one in demo.rig.limits if one.name == "Suction high")
    wanted = tuple(replace(one, value=95 * IN, as_typed="") if one is high else one for one in demo.rig.limits)
    comment = "# a level above the bottom, whichever way the tank is gauged"
    assert changed_lines(demo.text, with_limits(demo.text, wanted)) == [
        f'-value = "8 ft"              {comment}', f'+value = "95 in"              {comment}']


def test_a_removed_limit_goes_and_everything_else_stays(demo):
    wanted = tuple(one for one in demo.rig.limits if one.name != "loss")
    new = with_limits(demo.text, wanted)
    gone = changed_lines(demo.text, new)
    assert all(line.startswith("-") for line in gone)
    assert [line for line in gone if "name" in line] == ['-name = "loss"']
    assert len(gone) == 12
    assert parse(new).rig.limits == wanted


def test_all_limits_can_go_and_the_comment_above_them_stays(demo):
    new = with_limits(demo.text, ())
    assert "# ---- limits: demo values, marked as demo ----" in new
    assert "[[limit]]" not in new
    assert "no_limits" in {finding.code for finding in parse(new).findings}


def test_a_new_limit_stands_at_the_end(demo):
    new = with_limits(demo.text, (*demo.rig.limits, limit()))
    assert new.startswith(demo.text)
    assert new[len(demo.text):] == (
        '\n[[limit]]\nname = "night gain"\nkind = "gain"\non = "watched"\nactivity = "static"\nvalue = "3 bbl"\n'
        'deadband = "1 bbl"\nafter = "1 reading"\nset_by = "T. \\"Push\\" Er"\nreason = "night"\n'
        'since = "2026-01-06 18:00"\n')


@pytest.mark.parametrize("wanted", [
    limit(growth=0.123456789 * BBL, after_readings=3),
    limit(after_readings=0, after_ms=1500),
    limit(kind="loss", on="all surface", value=1 / 3),
    limit(kind="high", on="Suction", value=95.3 * IN, value_is="level", deadband=IN / 3, growth=IN),
    limit(kind="low", on="Trip", value=3.0, value_is="volume", deadband=0.5),
    limit(kind="overdue", on="active", value=95.5, value_is="duration", deadband=0.0),
    limit(kind="overdue", on="active", value=1234.5, value_is="duration", deadband=0.0),
    limit(reason="a \\ and 'quotes' and ünïcode"),
], ids=lambda one: f"{one.kind} {one.value_is}")
def test_a_written_limit_reads_the_same(demo, wanted):
    (*_, found) = parse(with_limits(demo.text, (*demo.rig.limits, wanted))).rig.limits
    assert found == replace(wanted, value=pytest.approx(wanted.value), deadband=pytest.approx(wanted.deadband),
                            growth=wanted.growth and pytest.approx(wanted.growth), as_typed=found.as_typed)


def test_an_added_key_goes_into_its_own_table(demo):
    wanted = tuple(replace(one, growth=IN) if one.name == "Suction low" else one for one in demo.rig.limits)
    new = with_limits(demo.text, wanted)
    assert changed_lines(demo.text, new) == ['+growth = "1 in"']
    assert parse(new).rig.limits == wanted


def test_a_key_that_no_longer_applies_goes(demo):
    wanted = tuple(replace(one, growth=None) if one.name == "gain" else one for one in demo.rig.limits)
    assert changed_lines(demo.text, with_limits(demo.text, wanted)) == ['-growth = "2 bbl"']


def test_the_decimal_comma_of_the_file_is_used(demo):
    text = demo.text.replace('decimal = "."', 'decimal = ","').replace('"0.', '"0,').replace("1.5 bbl", "1,5 bbl")
    for row in ("4.81", "10.69", "17.63", "25.65", "42.75", "59.84", "76.94", "94.04", "111.14", "128.24", "145.34", "12.415", "12.25"):
        text = text.replace(row, row.replace(".", ","))
    new = with_limits(text, (*parse(text).rig.limits, limit(value=2.5 * BBL)))
    assert 'value = "2,5 bbl"' in new


def test_line_ends_of_windows_stay(demo):
    text = demo.text.replace("\n", "\r\n")
    new = with_limits(text, (*demo.rig.limits, limit()))
    assert new.startswith(text)
    assert "\n" not in new.replace("\r\n", "")


def test_a_limit_that_is_not_watched_is_kept_and_can_be_removed(demo):
    later = ('\n[[limit]]\nname = "later"\nkind = "rate"\non = "active"\nset_by = "x"\nreason = "x"\nsince = "x"\n'
             '[limit.automatic]\nc = 7.5  # a comment\nceiling = "5 bbl"\n')
    text = demo.text + later
    limits = parse(text).rig.limits
    assert with_limits(text, limits) == text
    assert with_limits(text, limits[:-1]) == demo.text + "\n"
    with pytest.raises(RigFileError, match="doesn't watch"):
        with_limits(demo.text, limits)


def test_a_limit_that_follows_the_noise_is_written_and_changed(demo):
    new = limit(name="drift", kind="drift", on="active", times_noise=7.5, value=5 * 0.158987294928, as_typed="5 bbl", deadband=0.1)
    text = with_limits(demo.text, (*demo.rig.limits, new))
    assert 'automatic = {c = 7.5, ceiling = "5 bbl"}' in text
    again = parse(text).rig.limits[-1]
    assert (again.times_noise, again.watched, again.value) == (7.5, True, pytest.approx(5 * 0.158987294928))
    plain = replace(again, times_noise=None, value=0.4, as_typed="0.4 m3")
    changed = with_limits(text, (*demo.rig.limits, plain))
    assert "automatic" not in changed
    assert parse(changed).rig.limits[-1].times_noise is None
    assert parse(with_limits(changed, (*demo.rig.limits, new))).rig.limits[-1].times_noise == 7.5


@pytest.mark.parametrize("keys", [
    'automatic = { c = 0.5, ceiling = "5 bbl" }', 'automatic = { c = 7.5 }', 'automatic = 7.5', 'value = "0 bbl"',
    'automatic = { c = 7.5, ceiling = "5 bbl" }\nvalue = "3 bbl"', 'value = "three"', ''])
def test_a_limit_on_drift_that_says_nothing_is_read_and_said_not_to_be_watched(demo, keys):
    later = f'\n[[limit]]\nname = "d"\nkind = "drift"\non = "active"\n{keys}\nset_by = "x"\nreason = "x"\nsince = "x"\n'
    document = parse(demo.text + later)
    assert not document.rig.limits[-1].watched
    assert any(f.code == "limit_not_watched" and "drift" in f.what for f in document.findings)


def test_a_limit_nobody_set_is_not_written(demo):
    with pytest.raises(RigFileError, match="nobody set"):
        with_limits(demo.text, (limit(set_by=""),))


def test_two_limits_of_one_name_are_not_written(demo):
    with pytest.raises(RigFileError, match="one name"):
        with_limits(demo.text, (limit(), limit(value=1.0)))


def test_limits_in_one_list_are_not_rewritten(demo):
    head = demo.text[:demo.text.index("[[limit]]")]
    line = ('limit = [{ name = "g", kind = "gain", on = "active", value = "5 bbl", deadband = "1 bbl", set_by = "x", '
            'reason = "x", since = "x" }]\n')
    with pytest.raises(RigFileError, match=r"one list"):
        with_limits(line + head, ())


@pytest.mark.parametrize(("path", "value", "lines"), [
    (("tank", "Suction", "fresh_for"), "30 min", ['-fresh_for = "40 min"', '+fresh_for = "30 min"']),
    (("tank", "Trip", "shape", "diameter"), 5.5, ['-diameter = "5 ft"', "+diameter = 5.5"]),
    (("pump", "1", "output"), "0.1 bbl", ['-output = "0.1018 bbl"       # per stroke, as measured by the crew',
                                         '+output = "0.1 bbl"       # per stroke, as measured by the crew']),
    (("hole", "lag"), "40 min", ['+lag = "40 min"']),
    (("rig", "invented"), False, ['-rig = { name = "Larkspur 7 (invented)", invented = true }',
                                  '+rig = { name = "Larkspur 7 (invented)", invented = false }']),
    (("limit", "gain", "reason"), 'a "b"\\', ['-reason = "demo value, not advice"', '+reason = "a \\"b\\"\\\\"']),
])
def test_one_value_is_set_and_nothing_else(demo, path, value, lines):
    assert changed_lines(demo.text, with_value(demo.text, path, value)) == lines


def test_a_value_that_would_be_a_problem_is_not_set(demo):
    with pytest.raises(RigFileError, match=r"tank\.Suction\.brim"):
        with_value(demo.text, ("tank", "Suction", "brim"), "30 ft")


@pytest.mark.parametrize("path", [("tank", "Nowhere", "brim"), ("tank", "Suction"), ("cellar", "depth"), ()])
def test_there_is_no_setting_what_is_not_there(demo, path):
    with pytest.raises(KeyError):
        with_value(demo.text, path, "1 ft")


def test_an_added_value_in_a_file_without_a_last_line_end_stands_on_its_own_line(demo):
    text = demo.text.rstrip("\n")
    new = with_value(text, ("limit", "round overdue", "after"), "2 readings")
    assert new == text + '\nafter = "2 readings"\n'
