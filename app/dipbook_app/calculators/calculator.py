"""What a calculator is: what it asks for, read as every field is, and an answer in words and in texts for the entry."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from math import floor, isfinite, log10, pi

from dipbook import quantities
from dipbook.entries.fields import MEASURES
from dipbook.entries.words import SI
from dipbook.errors import QuantityError
from dipbook.mud.mixing import ImpossibleError
from dipbook.quantities import write
from dipbook.quantities.writing import DIGITS
from dipbook.rig.model import Rig
from dipbook.situation import Situation
from dipbook_app.display import shown_unit, shown_words

BORE, ANNULUS, SHARE, PARTS, FACTOR = "bore", "annulus", "share", "parts", "factor"
"""Dimensions of an input beside those of an entry's fields: what a length of pipe holds, or its inside diameter; what a
length of annulus holds; a share in per cent; the first of two parts of a hundred, like 80/20; a number with no unit."""
FIGURES, MOST_DIGITS = 3, 6
"""Figures that an answer has at least, and decimals at most."""


@dataclass(frozen=True, slots=True)
class Input:
    """One thing that is asked for.

    name: as the core's function calls it. label: what the crew reads. dimension: of an entry's field, or one of BORE to
    FACTOR. entry: the entry's field whose text it begins with, "" for none. unless: the entry's field that, where it is
    filled in, says that this text is of something else. hint: grey words of its own, "" for the unit.
    """

    name: str
    label: str
    dimension: str
    entry: str = ""
    hint: str = ""
    unless: str = ""


@dataclass(frozen=True, slots=True)
class Answer:
    """What follows from what is typed.

    lines: in words, the answer first; () while something is missing or wrong. missing: names of inputs still wanted.
    wrong: input -> why it can't be. takes: the entry's field -> text to take over, "" to leave it out.
    """

    lines: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    wrong: Mapping[str, str] = field(default_factory=dict)
    takes: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Given:
    """What a calculator works with.

    situation: rig, units and what is known now. texts: input -> as typed. values: input -> SI, of those that can be
    read. entry: the entry's field -> text.
    """

    situation: Situation
    texts: Mapping[str, str]
    values: Mapping[str, float]
    entry: Mapping[str, str]

    @property
    def rig(self) -> Rig:
        """The rig."""
        return self.situation.rig

    def has(self, name: str) -> bool:
        """True if an input is given."""
        return name in self.values

    def missing(self, *names: str) -> tuple[str, ...]:
        """Those of ``names`` that aren't given."""
        return tuple(name for name in names if name not in self.values)

    def told(self, value: float, dimension: str) -> str:
        """A value [SI] in the rig's unit, with as many figures as tell something. dimension: of an entry's field."""
        return told(value, unit_of(dimension, self.rig), self.rig.decimal)

    def volume(self, value_m3: float) -> str:
        """A volume in the rig's unit."""
        return self.told(value_m3, "volume")

    def weight(self, value_kg_m3: float) -> str:
        """A density in the rig's unit, with a decimal more than a balance is read to: a slug's effect hangs on a small
        difference of two."""
        unit = unit_of("density", self.rig)
        return shown_words(write(value_kg_m3, unit, digits=DIGITS[unit] + (unit != "kg/m3"), decimal=self.rig.decimal))

    def number(self, value: float, digits: int) -> str:
        """A number with the rig's decimal sign."""
        return f"{value:.{digits}f}".replace(".", self.rig.decimal)


@dataclass(frozen=True, slots=True)
class Calculator:
    """One calculator.

    name: on its key. help: one sentence or two. inputs: what it asks for, on a rig. work: the answer; what it raises as
    ImpossibleError is said at the input.
    """

    name: str
    help: str
    inputs: Callable[[Rig], tuple[Input, ...]]
    work: Callable[[Given], Answer]


def answer(calculator: Calculator, situation: Situation, texts: Mapping[str, str], entry: Mapping[str, str]) -> Answer:
    """What follows from what is typed; what can't be read or can't be is said in ``wrong``.

    texts: input -> as typed. entry: the entry's field -> text.
    """
    values, wrong = {}, {}
    for each in calculator.inputs(situation.rig):
        if text := texts.get(each.name, "").strip():
            try:
                values[each.name] = value_of(each, text, situation.rig)
            except QuantityError as refusal:
                wrong[each.name] = str(refusal)
    if wrong:
        return Answer(wrong=wrong)
    try:
        return calculator.work(Given(situation, texts, values, entry))
    except ImpossibleError as refusal:
        return Answer(wrong={refusal.about: str(refusal)})


def value_of(asked: Input, text: str, rig: Rig) -> float:
    """A text [SI]. asked: what it is of; rig: the units of bare numbers. Raises QuantityError with words."""
    if asked.dimension == SHARE:
        return quantities.read_percent(text, decimal=rig.decimal)[0] / 100.0
    if asked.dimension == PARTS:
        return quantities.read_parts(text, decimal=rig.decimal)
    if asked.dimension == FACTOR:
        return quantities.read_factor(text, decimal=rig.decimal)
    if asked.dimension == BORE:
        return _bore(text, rig)
    if asked.dimension == ANNULUS:
        return quantities.read(text, "capacity", decimal=rig.decimal).value
    dimension, unit = MEASURES[asked.dimension]
    return quantities.read(text, dimension, decimal=rig.decimal, bare=rig.units.get(unit) if unit else None).value


def as_read(asked: Input, value: float, rig: Rig) -> str:
    """A value [SI] as it was read, in the rig's unit; "" where the rig has none. asked: what it is of."""
    if asked.dimension == PARTS:
        return parts(value, rig.decimal)
    if asked.dimension in (BORE, ANNULUS):
        return told(value, capacity_unit(rig), rig.decimal)
    unit = rig.units.get(MEASURES[asked.dimension][1]) if asked.dimension in MEASURES else None
    return write(value, unit, decimal=rig.decimal) if unit else ""


def hint(asked: Input, rig: Rig) -> str:
    """Grey words for an empty input: its own, or the unit of a bare number."""
    if asked.hint or asked.dimension not in MEASURES:
        return asked.hint
    unit = rig.units.get(MEASURES[asked.dimension][1])
    return shown_unit(unit) if unit else "with its unit"


def unit_of(dimension: str, rig: Rig) -> str:
    """The unit that an answer is in: the rig's, for masses that of its weights. dimension: of an entry's field."""
    if dimension == "mass":
        return "lbm" if unit_of("density", rig).startswith("lbm") else "kg"
    return rig.units.get(MEASURES[dimension][1]) or SI[dimension]


def capacity_unit(rig: Rig) -> str:
    """The unit of what a length of pipe holds, by the rig's units of volume and length."""
    volume, length = rig.units.get("volume", "m3"), rig.units.get("length", "m")
    return f"{volume}/{length}" if f"{volume}/{length}" in ("bbl/ft", "bbl/m", "gal[US]/ft", "ft3/ft") else "L/m"


def told(value: float, unit: str, decimal: str) -> str:
    """A value [SI] with its unit: the usual decimals, or more where that leaves fewer figures. decimal: the sign."""
    scaled = abs(quantities.to_unit(value, unit))
    wanted = FIGURES - 1 - floor(log10(scaled)) if isfinite(scaled) and scaled > 0.0 else 0
    return shown_words(write(value, unit, digits=min(max(DIGITS[unit], wanted), MOST_DIGITS), decimal=decimal))


def parts(share: float, decimal: str) -> str:
    """A share as two parts of a hundred: ``80/20``, ``83.9/16.1``. decimal: the sign."""
    first = round(100.0 * share, 1)
    return "/".join(f"{part:.10g}" for part in (first, round(100.0 - first, 1))).replace(".", decimal)


def with_remark(given: Given, words: str) -> dict[str, str]:
    """The entry's remark with words after what stands there, to be taken over."""
    before = given.entry.get("remark", "").strip()
    return {"remark": shown_words(f"{before.rstrip('.;')}; {words}" if before else words)}


def with_needs(found: Answer, takes: Mapping[str, str], given: Given, names: tuple[str, ...], words: str) -> Answer:
    """An answer, with what its entry can't be saved without: one of some fields, whose words are ``words``."""
    lacks = bool(found.takes) and not any(takes.get(name) or given.entry.get(name) for name in names)
    return replace(found, lines=(*found.lines, words) if lacks else found.lines, takes=takes)


def either(given: Given, first: str, second: str, words: str) -> Answer | None:
    """An answer that asks for exactly one of two inputs, None where one is given. words: where both are."""
    if given.has(first) and given.has(second):
        return Answer(wrong={second: words})
    return None if given.has(first) or given.has(second) else Answer(missing=(first,))


def listed(words: Iterable[str]) -> str:
    """``a``, ``a and b``, ``a, b and c``."""
    *most, last = words
    return f"{', '.join(most)} and {last}" if most else last


def _bore(text: str, rig: Rig) -> float:
    try:
        return quantities.read(text, "capacity", decimal=rig.decimal).value
    except QuantityError as refusal:
        try:
            return pi / 4.0 * quantities.read(text, "length", decimal=rig.decimal).value ** 2
        except QuantityError:
            raise refusal from None
