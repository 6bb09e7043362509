"""[[string]]: what is read of it, what is refused with its line and a remedy. The pipe here is invented."""

from __future__ import annotations

from math import inf, pi

import pytest

from dipbook.errors import RigFileError
from dipbook.rig.changes import difference_in_words
from dipbook.rig.document import RigDocument, parse, with_limits
from dipbook.well import Part, String
from ledgers import BBL, FT, IN, RIG

STRING = '''
[[string]]
name = "BHA"
kind = "collar"
steel = "0.0545 bbl/ft"
bore = "0.0077 bbl/ft"
length = "600 ft"
[[string]]
pipe = "5 19.50 NC50"
'''
GAIN = ('[[limit]]\nname = "gain"\nkind = "gain"\non = "active"\nvalue = "5 bbl"\ndeadband = "2 bbl"\n'
        'set_by = "x"\nreason = "x"\nsince = "x"\n')
BEFORE = RIG.count("\n")


def read(*sections: str, base: str = RIG) -> RigDocument:
    return parse(base + "".join(sections))


def problems(*sections: str, base: str = RIG) -> list[str]:
    with pytest.raises(RigFileError) as found:
        read(*sections, base=base)
    return list(found.value.problems)


def string_of(*sections: str, base: str = RIG) -> String:
    string = read(*sections, base=base).rig.string
    assert string is not None
    return string


def told(part: Part) -> tuple[str, str, float, float, float]:
    return part.name, part.kind, part.steel_m2, part.bore_m2, part.length_m


def test_parts_are_read_from_the_bit_up_and_the_top_one_may_be_as_long_as_is_needed() -> None:
    below, above = string_of(STRING).parts
    assert told(below) == ("BHA", "collar", pytest.approx(0.0545 * BBL / FT), pytest.approx(0.0077 * BBL / FT),
                           pytest.approx(600 * FT))
    assert (above.name, above.kind, above.length_m) == ("5 19.50 NC50", "drill pipe", inf)
    # 20.85 lb/ft at 2747 lb/bbl (Lapeyrouse, ch. 1) is 0.00759 bbl/ft; a bore of 4.276 in is 0.01776 bbl/ft.
    assert above.steel_m2 / BBL * FT == pytest.approx(20.85 / 2747, rel=1e-9)
    assert above.steel_m2 / BBL * FT == pytest.approx(0.00759, abs=5e-6)
    assert above.bore_m2 == pytest.approx(pi / 4 * (4.276 * IN) ** 2, rel=1e-12)
    assert above.bore_m2 / BBL * FT == pytest.approx(0.01776, abs=5e-6)


def test_a_rig_without_it_has_none() -> None:
    assert read().rig.string is None


def test_the_data_sheet_goes_before_the_catalogue_value_by_value() -> None:
    (part,) = string_of('[[string]]\npipe = "5 19.50 nc50"\nsteel = "0.0081 bbl/ft"\n').parts
    assert part.steel_m2 == pytest.approx(0.0081 * BBL / FT)
    assert part.bore_m2 == pytest.approx(pi / 4 * (4.276 * IN) ** 2)
    (part,) = string_of('[[string]]\npipe = "5 19.50 NC50"\nbore = "0.02 bbl/ft"\nkind = "tubing"\nname = "odd"\n').parts
    assert (part.name, part.kind, part.bore_m2) == ("odd", "tubing", pytest.approx(0.02 * BBL / FT))
    assert part.steel_m2 / BBL * FT == pytest.approx(20.85 / 2747)


def test_a_part_from_its_data_sheet_alone_is_drill_pipe_unless_it_says_otherwise() -> None:
    (part,) = string_of('[[string]]\nsteel = "0.004 m3/m"\nbore = "0.009 m3/m"\n').parts
    assert told(part) == ("pipe", "drill pipe", pytest.approx(0.004), pytest.approx(0.009), inf)


def test_a_bare_length_takes_the_rigs_unit_and_the_top_part_may_have_one() -> None:
    first, last = string_of(STRING.replace('"600 ft"', "600"), "length = 9000\n").parts
    assert (first.length_m, last.length_m) == (pytest.approx(600 * FT), pytest.approx(9000 * FT))


def test_a_decimal_comma_is_read_where_the_rig_writes_it() -> None:
    metric = RIG.replace('decimal = "."', 'decimal = ","')
    for point, comma in (("0.102", "0,102"), ("0.1458", "0,1458"), ("0.00759", "0,00759"), ("0.01776", "0,01776")):
        metric = metric.replace(point, comma)
    (part,) = string_of('[[string]]\nsteel = "4,01 L/m"\nbore = "9,26 L/m"\nlength = "183,5 m"\n', base=metric).parts
    assert (part.steel_m2, part.bore_m2, part.length_m) == (
        pytest.approx(0.00401), pytest.approx(0.00926), pytest.approx(183.5))
    (found,) = problems('[[string]]\nsteel = "4.01 L/m"\nbore = "9,26 L/m"\n', base=metric)
    assert "string.number 1.steel" in found
    assert '"4,01 L/m"' in found


@pytest.mark.parametrize(("old", "new", "line", "says"), [
    ('steel = "0.0545 bbl/ft"\n', "", 2, "string.BHA.steel: is missing; expected it beside the bore, like "
                                         '"0.00759 bbl/ft", or a pipe of the catalogue'),
    ('bore = "0.0077 bbl/ft"\n', "", 2, "string.BHA.bore: is missing; expected it beside the steel, like"),
    ('"0.0545 bbl/ft"', "0.0545", 5, "string.BHA.steel: 0.0545 has no unit; expected a text with one, like "
                                     '"0.1458 bbl/ft"'),
    ('"0.0545 bbl/ft"', '"0.0545 bbl"', 5, "0.1458 bbl/ft or 76 L/m"),
    ('"0.0545 bbl/ft"', '"1 bbl/ft"', 5, '"1 bbl/ft" is too large to be real; expected from'),
    ('"0.0545 bbl/ft"', '"0 bbl/ft"', 5, "isn't above 0; expected a size like"),
    ('"0.0545 bbl/ft"', '"-1 bbl/ft"', 5, "below zero"),
    ('"0.0077 bbl/ft"', '"7 bbl/ft"', 6, "string.BHA.bore: \"7 bbl/ft\" is too large to be real"),
    ('"0.0077 bbl/ft"', "true", 6, "true isn't a quantity; expected a text like"),
    ('"600 ft"', '"60000 ft"', 7, "string.BHA.length: \"60000 ft\" is too large to be real; expected from"),
    ('"600 ft"', '"600 bbl"', 7, "Expected something like"),
    ('length = "600 ft"\n', "", 2, "string.BHA.length: is missing; only the last part, at the top, may be without a "
                                   "length"),
    ('"collar"', '"colar"', 4, 'isn\'t a kind of pipe; expected "drill pipe", "heavy-weight", "collar", "casing" or '
                               '"tubing" (did you mean "collar"?)'),
    ('name = "BHA"', 'name = ""', 3, "is blank; expected some words"),
    ('name = "BHA"', 'title = "BHA"', 3, "isn't a key of the rig file here"),
    ("bore =", "boer =", 6, 'isn\'t a key of the rig file here; did you mean "bore"?'),
    ('"5 19.50 NC50"', '"5 19,50 NC50"', 9, "There is no “5 19,50 NC50” in the catalogue. There are: 5 19.50 NC50"),
    ('"5 19.50 NC50"', '"unobtainium"', 9, "Give its steel and bore from its data sheet."),
    ('"5 19.50 NC50"', "5", 9, "string.number 2.pipe: 5 isn't a text; expected it in quotes"),
    ('pipe = "5 19.50 NC50"\n', "", 8, "string.number 2.pipe: is missing; expected a pipe of the catalogue"),
    ('pipe = "5 19.50 NC50"', 'pipe = "5 19.50 NC50"\nlength = "0 ft"', 10, "string.number 2.length"),
])
def test_what_is_wrong_is_refused_with_its_line_and_a_remedy(old: str, new: str, line: int, says: str) -> None:
    assert old in STRING
    (found, *more) = sorted(problems(STRING.replace(old, new, 1)), key=lambda one: says not in one)
    assert says in found
    assert found.startswith(f"rig.toml, line {BEFORE + line}, string.")
    assert all("is missing" in one for one in more)
    assert len(more) == (1 if old == "bore =" else 0), "told once; a key with a slip in it is missing too"


def test_every_wrong_part_is_told_at_once_and_nothing_is_half_read() -> None:
    found = problems(STRING.replace('"600 ft"', '"far"').replace("5 19.50 NC50", "what"))
    assert [one.split(", ")[1] for one in found] == [f"line {BEFORE + 7}", f"line {BEFORE + 9}"]


def test_only_the_top_part_may_be_without_a_length_in_any_place() -> None:
    found = problems(STRING, '[[string]]\npipe = "5 HW 49.3"\n')
    assert found == [f"rig.toml, line {BEFORE + 8}, string.number 2.length: is missing; only the last part, at the top, "
                     "may be without a length"]


def test_it_must_be_rows_of_tables() -> None:
    (found,) = problems('[string]\npipe = "5 19.50 NC50"\n')
    assert "expected [[string]] in double brackets before each" in found


def test_what_changed_of_it_is_told_in_words() -> None:
    """The bore of 4.276 in: pi/4 · 4.276² · 12 in3 a foot, of 9702 in3 a barrel."""
    old = read(STRING).rig
    was = ("600 ft of BHA (0.0545 bbl/ft steel, 0.0077 bbl/ft bore), "
           "the rest of 5 19.50 NC50 (0.007590098 bbl/ft steel, 0.01776173 bbl/ft bore)")
    assert difference_in_words(old, read(STRING).rig) == ()
    assert difference_in_words(read().rig, old) == (f"String: not set → {was}",)
    assert difference_in_words(old, read().rig) == (f"String: {was} → not set",)
    assert difference_in_words(old, read(STRING.replace("600 ft", "630 ft")).rig) == (
        f"String: {was} → {was.replace('600 ft', '630 ft')}",)
    assert difference_in_words(old, read(STRING.replace("0.0077", "0.0078")).rig) == (
        f"String: {was} → {was.replace('0.0077', '0.0078')}",)


def test_writing_limits_leaves_it_as_it_is() -> None:
    text = RIG + STRING + "# a remark\n"
    (limit,) = parse(text + GAIN).rig.limits
    new = with_limits(text, (limit,))
    assert new.startswith(text)
    assert parse(new).rig.string == parse(text).rig.string
    assert with_limits(new, ()).rstrip() == text.rstrip()


TRIP_LIMIT = GAIN.replace('"gain"', '"trip_total"').replace("5 bbl", "3 bbl").replace("2 bbl", "1 bbl")


@pytest.mark.parametrize(("value", "deadband", "has"), [
    ('"3 bbl"', '"1 bbl"', (3, 1)), ("3", "1", (3, 1)), ("2.5", "0.5", (2.5, 0.5)), ('"3"', '"0 bbl"', (3, 0)),
    ('"3 bbl"', '"3 bbl"', (3, 0)), ('"3 bbl"', '"soon"', (3, 0)), ('"0.5 m3"', '"0.1 m3"', (0.5 / BBL, 0.1 / BBL)),
    ('"5 min"', '"1 bbl"', None), ('"5 ft"', '"1 bbl"', None), ('"0 bbl"', '"1 bbl"', None), ("-3", "1", None),
    ("true", "1", None), ("inf", "1", None)])
def test_limits_on_trips_are_volumes_with_their_deadband(value: str, deadband: str, has: tuple[float, float] | None) -> None:
    found = read(TRIP_LIMIT.replace('"3 bbl"', value).replace('"1 bbl"', deadband))
    (limit,) = found.rig.limits
    told = [f.what for f in found.findings if f.code == "limit_not_watched"]
    assert limit.watched is (has is not None)
    if has is None:
        assert limit.value != limit.value
        assert "nothing will warn of it" in told[0]
    else:
        assert told == []
        assert (limit.value_is, limit.value / BBL, limit.deadband / BBL) == (
            "volume", pytest.approx(has[0]), pytest.approx(has[1]))
        assert ("no_deadband" in {f.code for f in found.findings}) == (deadband in ('"0 bbl"', '"3 bbl"', '"soon"'))


def disagreements(*sections: str) -> list[str]:
    return [f.what for f in read(*sections).findings if f.code == "pipe_disagrees"]


@pytest.mark.parametrize(("steel", "bore", "words"), [
    ("0.00713", "0.01776", ["The pipe's steel is 6.5 % more than that of top"]),    # 0.00759 / 0.00713 is 1.0645
    ("0.00759", "0.02053", ["The pipe's bore is 13 % less than that of top"]),    # 0.01776 / 0.02053 is 0.865
    ("0.00765", "0.01764", ["The pipe's steel is 0.78 % less", "The pipe's bore is 0.68 % more"]),
    ("0.007589", "0.01776", []),
])
def test_a_pipe_that_isnt_the_top_of_the_string_is_told(steel: str, bore: str, words: list[str]) -> None:
    lower = '[[string]]\nsteel = "0.0545 bbl/ft"\nbore = "0.0077 bbl/ft"\nlength = "600 ft"\n'
    found = disagreements(lower, f'[[string]]\nname = "top"\nsteel = "{steel} bbl/ft"\nbore = "{bore} bbl/ft"\n')
    assert [part[:len(word)] for part, word in zip(found, words, strict=True)] == words


def test_a_pipe_of_the_catalogue_agrees_with_its_published_figures() -> None:
    assert disagreements(STRING) == []
