"""Doubts about a dip, in plain words, for the row where it was typed. They question; they never block or
correct.

The usual slips: measured from the top where the tank is dipped from the bottom, feet written for inches, 5'
3" written as 53, two rows swapped, a change larger than anything could have moved (common practice, no
source). A guess at what was meant is offered only where it fits the dip before far better than what was
written does.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from itertools import combinations
from math import isclose, isnan, sqrt
from typing import Protocol

from dipbook.quantities import FEET_INCHES, from_unit, to_unit, write, write_level
from dipbook.tanks.tank import Tank

NOTICEABLE = 0.1
"""Share of the tank's height: a smaller change is ordinary and is not questioned for its size."""
NOTICEABLE_SLIP = 0.05
"""The same for 53 instead of 5' 3\": twice the feet in inches, so a smaller change shows it."""
NOTICEABLE_SWAP = 0.03
"""The same for two rows swapped: that both fit the other's dip before is seldom chance, so a smaller change shows it
(our choice, no source)."""
CLOSE = 0.05
"""Share of the tank's height: what was meant must lie this near the dip before."""
BETTER = 0.2
"""What was meant must leave at most this share of the change."""

_DIGITS = re.compile(r"\s*(\d{1,2}?)(\d|1[01])(?:\s+(\d+)/(\d+))?\s*(?:in|\")?\s*", re.ASCII)
_POINTED = re.compile(r"\s*(\d{1,2})[.,](\d|1[01])\s*(?:in|ft|[\"'])?\s*", re.ASCII)


class Dipped(Protocol):
    """What a doubt needs of a dip; a ``gauging.Gauged`` has it."""

    @property
    def level_m(self) -> float:
        """Level above the bottom [m], NaN if unknown."""
        ...

    @property
    def volume_m3(self) -> float:
        """Volume [m3], NaN if unknown."""
        ...

    @property
    def u_m3(self) -> float:
        """Standard uncertainty of the volume [m3], NaN if unknown."""
        ...

    @property
    def dip_m(self) -> float:
        """What the stick read, in the tank's datum [m], NaN if unknown."""
        ...

    @property
    def kind(self) -> str:
        """Kind of the reading."""
        ...

    @property
    def as_typed(self) -> str:
        """What was written."""
        ...


def question(tank: Tank, gauged: Dipped, previous_level_m: float | None, previous_t_ms: int | None, t_ms: int, *,
             fastest_m3_s: float | None = None, unit: str = "in", volume_unit: str = "bbl",
             decimal: str = ".") -> tuple[str, ...]:
    """Doubts about one dip, for its row; () where there are none.

    tank: what was gauged. gauged: the dip worked out. previous_level_m: the level before it, above the bottom
    [m], or None. previous_t_ms, t_ms: when that was and this is [UTC ms]. fastest_m3_s: the fastest that mud
    can enter or leave the tank [m3/s], or None if nobody said. unit, volume_unit, decimal: how the words
    write numbers.
    """
    level = gauged.level_m
    if isnan(level):
        return ()
    doubts = []
    if level > tank.top_m + 1e-9:
        doubts.append(f"Above the brim, {write_level(tank.top_m, unit, decimal)}.")
    if level < -1e-9:
        below = "Below the tank's bottom."
        doubts.append(f"Beyond the mark. {below}" if tank.gauge == "down" else below)
    elif level < tank.heel_m - 1e-9:
        doubts.append(f"Below the heel, {write_level(tank.heel_m, unit, decimal)}: this mud can't be drawn.")
    if previous_level_m is None or gauged.kind == "unchanged":
        return tuple(doubts)
    allowed = _allowed(tank, gauged, previous_t_ms, t_ms, fastest_m3_s)
    change = abs(gauged.volume_m3 - float(tank.volume(previous_level_m)))
    impossible = allowed is not None and change > allowed
    if gauged.kind == "level":
        meant = _meant(tank, gauged, previous_level_m, impossible, unit, decimal)
        if meant:
            doubts.append(f"{meant} The dip before was {_dip(tank, previous_level_m, unit, decimal)}.")
    if impossible and allowed is not None and previous_t_ms is not None:
        minutes = (t_ms - previous_t_ms) / 60_000
        doubts.append(f"A change of {write(change, volume_unit, decimal=decimal)} in {minutes:.0f} min: more than "
                      f"could have been moved, {write(allowed, volume_unit, decimal=decimal)}.")
    return tuple(doubts)


def swapped_rows(rows: Sequence[tuple[Tank, float, float | None]]) -> tuple[tuple[str, str], ...]:
    """Pairs of tanks whose dips fit the levels before far better the other way round.

    rows: of one round: the tank, its dip in its own datum [m] and the level before it above the bottom [m],
    or None.
    """
    known = [(tank, dip, before) for tank, dip, before in rows if before is not None and not isnan(dip)]
    pairs = []
    for (tank, dip, before), (other, other_dip, other_before) in combinations(known, 2):
        if _much_better(tank, dip, other_dip, before) and _much_better(other, other_dip, dip, other_before):
            pairs.append((tank.name, other.name))
    return tuple(pairs)


def _much_better(tank: Tank, dip_m: float, instead_m: float, before_m: float) -> bool:
    """True if another dip fits the level before far better than the one written."""
    change = abs(float(tank.level_of_dip(dip_m)) - before_m)
    meant = abs(float(tank.level_of_dip(instead_m)) - before_m)
    return change > NOTICEABLE_SWAP * tank.top_m and meant <= min(BETTER * change, CLOSE * tank.top_m)


def _allowed(tank: Tank, gauged: Dipped, previous_t_ms: int | None, t_ms: int,
             fastest_m3_s: float | None) -> float | None:
    """The largest change that could be real [m3], with two standard uncertainties of both dips, or None."""
    if fastest_m3_s is None or previous_t_ms is None or t_ms <= previous_t_ms:
        return None
    u = 0.0 if isnan(gauged.u_m3) else gauged.u_m3
    return fastest_m3_s * (t_ms - previous_t_ms) / 1000.0 + 2.0 * sqrt(2.0) * u


def _meant(tank: Tank, gauged: Dipped, before_m: float, impossible: bool, unit: str, decimal: str) -> str:
    """What may have been meant instead, as a question, or "" where nothing fits far better."""
    change = abs(gauged.level_m - before_m)
    best, words = min(BETTER * change, CLOSE * tank.top_m), ""
    for level, said, noticeable in _readings(tank, gauged, unit, decimal):
        miss = abs(level - before_m)
        better = miss < best or (miss == best and not words)
        if better and (impossible or change > noticeable * tank.top_m) and -1e-9 <= level <= tank.top_m + 1e-9:
            best, words = miss, said
    return words


def _readings(tank: Tank, gauged: Dipped, unit: str, decimal: str) -> Iterator[tuple[float, str, float]]:
    """Other readings of the same dip: the level each would be [m], the question, and the change that prompts it."""
    dip = gauged.dip_m
    if tank.gauge == "down":
        yield dip, "Measured from the bottom? This tank is dipped down from its mark.", NOTICEABLE
    else:
        yield tank.top_m - dip, "Measured from the brim? This tank is dipped up from the bottom.", NOTICEABLE
    if unit not in ("in", "ft", FEET_INCHES):
        return
    for feet, inches in _slips(gauged.as_typed, dip):
        meant = from_unit(feet * 12.0 + inches, "in")
        yield float(tank.level_of_dip(meant)), f"Meant {write_level(meant, FEET_INCHES, decimal)}?", NOTICEABLE_SLIP
    in_feet = _in_feet(gauged.as_typed, unit)
    meant = dip / 12.0 if in_feet else dip * 12.0
    said = f"{to_unit(dip, 'ft' if in_feet else 'in'):.6g}".replace(".", decimal, 1)
    yield (float(tank.level_of_dip(meant)), f"Meant {said} {'in' if in_feet else 'ft'}, which is "
           f"{write_level(meant, unit, decimal)}?", NOTICEABLE)


def _in_feet(typed: str, unit: str) -> bool:
    """True if a text was read as feet. unit: of a bare number."""
    word = typed.casefold()
    if any(mark in word for mark in ('"', "in", "″", "”")):
        return False
    return unit == "ft" or any(mark in word for mark in ("'", "ft", "feet", "foot", "′", "’"))


def _slips(typed: str, dip_m: float) -> Iterator[tuple[int, float]]:
    """Feet and inches that a text read as inches or feet may stand for: 53 or 5.3 for 5' 3", 511 for 5' 11"."""
    if found := _DIGITS.fullmatch(typed):
        part = int(found[3]) / int(found[4]) if found[3] and int(found[4]) else 0.0
        if isclose(dip_m, from_unit(int(found[1] + found[2]) + part, "in")):
            yield int(found[1]), int(found[2]) + part
    if found := _POINTED.fullmatch(typed):
        read_as = float(f"{found[1]}.{found[2]}")
        if isclose(dip_m, from_unit(read_as, "in")) or isclose(dip_m, from_unit(read_as, "ft")):
            yield int(found[1]), float(found[2])


def _dip(tank: Tank, level_m: float, unit: str, decimal: str) -> str:
    """A level as the stick would read it."""
    return write_level(float(tank.dip_of_level(level_m)), unit, decimal)
