"""A scenario as it was read, and as a seed has drawn it: plain data, SI."""

from __future__ import annotations

import random
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from dipbook.drill.kinds import EVENTS


@dataclass(frozen=True, slots=True)
class Range:
    """From low to high [SI]; the seed draws evenly between them."""

    low: float
    high: float


Value = float | str | bool | Range
Drawn = float | str | bool


@dataclass(frozen=True, slots=True)
class Item:
    """A table of a scenario. kind: of work or event, "" for the others. values: key -> what was written, SI; keys that
    aren't there are left out."""

    kind: str
    values: Mapping[str, Value]

    def number(self, key: str) -> float:
        """A drawn number. key: one that is there. Raises KeyError where it isn't, and TypeError for words or a
        range."""
        value = self.values[key]
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            raise TypeError(f"{key} is no number yet")
        return float(value)

    def number_or(self, key: str, default: float) -> float:
        """A drawn number, or a default [the same unit] where the key isn't there. key: its name."""
        return self.number(key) if key in self.values else default

    def word(self, key: str, default: str = "") -> str:
        """A word, or a default where the key isn't there. key: its name."""
        return str(self.values.get(key, default))

    def yes(self, key: str, default: bool = True) -> bool:
        """A flag, or a default where the key isn't there. key: its name."""
        return bool(self.values.get(key, default))


@dataclass(frozen=True, slots=True)
class Scenario:
    """name, trains: in words. rig: file of its rig beside it, "" for the one it is run on. start, well, gauges, target:
    their tables. tanks: tank -> volume at the start [m3]. work: of the crew, in turn. events: what happens. file: where
    it was read.
    """

    name: str
    trains: str
    rig: str
    start: Item
    well: Item
    gauges: Item
    target: Item
    tanks: Mapping[str, Value] = field(default_factory=dict)
    work: tuple[Item, ...] = ()
    events: tuple[Item, ...] = ()
    file: str = ""

    @property
    def signs(self) -> tuple[str, ...]:
        """What the well shows in it, of "gain", "loss" and "look"."""
        return tuple(sign for e in self.events if (sign := EVENTS[e.kind].sign))


def drawn(scenario: Scenario, seed: int) -> Scenario:
    """The scenario with every range drawn. seed: the same one draws the same, whatever else the file holds: each key
    has a stream of its own. scenario: as read."""

    def of(item: Item, place: str) -> Item:
        return Item(item.kind, _drawn(item.values.items(), seed, place))

    return Scenario(
        scenario.name, scenario.trains, scenario.rig, of(scenario.start, "start"), of(scenario.well, "well"),
        of(scenario.gauges, "gauges"), of(scenario.target, "target"),
        _drawn(scenario.tanks.items(), seed, "tanks"),
        tuple(of(item, f"work {n}") for n, item in enumerate(scenario.work)),
        tuple(of(item, f"event {n}") for n, item in enumerate(scenario.events)), scenario.file)


def _drawn(values: Iterable[tuple[str, Value]], seed: int, place: str) -> dict[str, Value]:
    return {key: _one(value, f"{seed}/{place}/{key}") for key, value in values}


def _one(value: Value, stream: str) -> Value:
    if not isinstance(value, Range):
        return value
    return value.low + (value.high - value.low) * random.Random(stream).random()
