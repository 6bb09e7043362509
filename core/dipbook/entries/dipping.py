"""A round as it is typed: one row's text to a dip, with what it makes and what is odd about it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import hypot, isnan, nan

from dipbook.errors import QuantityError
from dipbook.quantities import DipReading, read_dip, write, write_level
from dipbook.records import Dip
from dipbook.rig.model import Rig
from dipbook.tanks.gauging import UNREAD, Gauged, gauge, question, swapped_rows
from dipbook.tanks.tank import Tank
from dipbook.tanks.uncertainty import tank_uncertainty

LARGE = 0.1
"""Share of the tank's capacity: a larger change that nothing logged explains is questioned (common practice,
no source)."""

ROUNDING = 1e-5
"""Share of a tank's height or volume by which rounding may put a dip outside [-], as in files."""
_MARKS = "'\"′″’”%="

UNREAD_WORDS = {"over brim": "over brim", "over the brim": "over brim", "over": "over brim",
                "below stick": "below stick", "below the stick": "below stick", "below": "below stick"}
"""What may be typed where the level couldn't be read -> the flag that says so."""
SAME_TOO_OFTEN = 3
"""From this many times in a row on, a dip "the same" is asked about (our choice, no source)."""

MEANT = ("Meant", "Measured")
"""How doubts begin that offer what may have been meant instead."""
FAR_NEARER = 0.3
"""A dip this share as far from what is booked as from the dip before is as booked (common practice, no source)."""

GAUGED_BEFORE = "Gauged before the dip that is already logged."

ON_THE_ROW = ("outside_table",)
"""Codes of a gauging's findings that question() doesn't say in its own words."""


@dataclass(frozen=True, slots=True)
class Before:
    """What the log knows of a tank before this round; None where it doesn't.

    level_m: above the bottom [m]; volume_m3 [m3]; u_m3: k=1 [m3]; t_ms: when [UTC ms].
    booked_m3: moves logged on it since then, + in [m3]; NaN where that isn't known.
    same_count: how often it was gauged "the same" in a row, the last dips. should_m3: what it should hold now by the
    last dip and all that is booked since [m3]. fastest_m3_s: the fastest that mud is known to move [m3/s].
    """

    level_m: float | None = None
    volume_m3: float | None = None
    u_m3: float | None = None
    t_ms: int | None = None
    booked_m3: float = 0.0
    same_count: int = 0
    should_m3: float | None = None
    fastest_m3_s: float | None = None


@dataclass(frozen=True, slots=True)
class Row:
    """What one row's text makes.

    dip: to be saved, or None where nothing was gauged or it can't be read. gauged: worked out, or None.
    change_m3: against the dip before [m3], change_u_m3 its k=1, NaN where unknown. off_m3: against what it should hold
    [m3], where that is known and further off than two standard uncertainties of both dips, else NaN. times_same: how
    often it is the same now, in a row.
    blank: nothing typed. error: words on why it can't be read, or "". doubts: words that ask to be kept.
    """

    tank: str
    dip: Dip | None = None
    gauged: Gauged | None = None
    change_m3: float = nan
    change_u_m3: float = nan
    off_m3: float = nan
    times_same: int = 0
    blank: bool = False
    error: str = ""
    doubts: tuple[str, ...] = ()


def read_row(tank: Tank, rig: Rig, before: Before, typed: str, *, t_ms: int, t_half_ms: int = 0, second: str = "",
             flag: str = "", units: Mapping[str, str] | None = None) -> Row:
    """Read one row of a round.

    tank: of the row. rig: its decimal sign and units. before: what is known of the tank. units: "level" and "volume" ->
    symbol, of bare numbers and of the words, where the screen shows others than the rig's; the dip keeps such a unit.
    typed: what the stick says, or "same", or "-" (see quantities.read_dip). second: a second reading, or "".
    t_ms, t_half_ms: when it was gauged, and the half-width of that [UTC ms]. flag: "" or one of gauging.FLAGS.
    """
    unread = UNREAD_WORDS.get(" ".join(typed.split()).casefold(), "" if typed.strip() else flag)
    if unread in UNREAD and not second.strip():
        return _unread_row(tank, unread, typed, t_ms, t_half_ms, before)
    if not typed.strip() and not second.strip():
        return Row(tank.name, blank=True)
    shown = rig.units if units is None else units
    level_unit, volume_unit = shown.get("level", ""), shown.get("volume", "")
    try:
        readings = [read_dip(text, decimal=rig.decimal, level_unit=level_unit, volume_unit=volume_unit,
                             percent_of=tank.percent_of) for text in (typed, second)]
    except QuantityError as error:
        return Row(tank.name, error=str(error))
    first, again = readings
    if first.kind == "not gauged" and again.kind == "not gauged":
        return Row(tank.name)
    if "not gauged" in (first.kind, again.kind) and second.strip():
        return Row(tank.name, error="A second reading wants a first one.")
    if second.strip() and (first.kind != again.kind or first.kind == "unchanged"):
        return Row(tank.name, error="Write both readings the same way, as levels or as volumes.")
    reading = first if not second.strip() else replace(
        first, value=(first.value + again.value) / 2, as_typed=f"{first.as_typed.strip()}; {again.as_typed.strip()}")
    if reading.value < 0 and reading.kind != "level":
        return Row(tank.name, error="A volume or a percentage can't be below zero.")
    unit = level_unit or "m"
    gauged = gauge(tank, reading, before.level_m, unit=unit, decimal=rig.decimal)
    if more := _below_bottom(tank, gauged, unit, rig.decimal) or _more_than_it_holds(tank, gauged, unit, rig.decimal):
        meant = [doubt for doubt in question(tank, gauged, before.level_m, before.t_ms, t_ms, unit=unit,
                                             decimal=rig.decimal) if doubt.startswith(MEANT)]
        return Row(tank.name, error=" ".join([more, *meant]))
    refused = [f.what for f in gauged.findings if not f.kept]
    if refused:
        return Row(tank.name, error=_without_name(tank, refused[0]))
    apart = ""
    if second.strip():
        gauged, apart = _two(tank, first, again, gauged, unit, rig.decimal)
    change = gauged.volume_m3 - before.volume_m3 if before.volume_m3 is not None else nan
    change_u = hypot(gauged.u_m3, before.u_m3) if before.u_m3 is not None else nan
    doubts = [apart] if apart else []
    doubts += [_without_name(tank, f.what) for f in gauged.findings if f.code in ON_THE_ROW]
    asked = question(tank, gauged, before.level_m, before.t_ms, t_ms, fastest_m3_s=_with_booked(before, t_ms),
                     unit=unit, volume_unit=volume_unit or "m3", decimal=rig.decimal)
    doubts += [doubt for doubt in asked if not (doubt.startswith(MEANT) and _as_booked(tank, gauged, before))]
    if not doubts:
        doubts += _unexplained(tank, change, before, volume_unit or "m3", rig.decimal)
    times_same = before.same_count + 1 if gauged.kind == "unchanged" else 0
    if times_same >= SAME_TOO_OFTEN:
        doubts.append(f"The same for the {ordinal(times_same)} round: dipped, or from the desk?")
    if before.t_ms is not None and t_ms < before.t_ms:
        doubts.append(GAUGED_BEFORE)
    if bare_unit(shown) != bare_unit(rig.units):
        kept = [labelled(text, bare_unit(shown)) for text in (typed, second) if text.strip()]
        reading = replace(reading, as_typed="; ".join(kept))
    return Row(tank.name, _dip(tank, reading, gauged, t_ms, t_half_ms, flag), gauged, change, change_u,
               _off(gauged, before), times_same, doubts=tuple(doubts))


def fastest(rig: Rig, tank: str, flows: Sequence[float | None], rates: Sequence[float | None]) -> float | None:
    """The fastest that mud is known to enter or leave a tank [m3/s], for asking about a dip; None where no flow is.

    rig: for the flows that its drain-back is given at, and for its gates. tank: its name. flows: of the pumps, as
    logged [m3/s]; rates: of what is under way or in force on this tank [m3/s]; None among them for unknown, and then
    nobody knows how fast it may go.

    What the pumps can draw or bring back is the highest flow that the log or the rig file names; all that is under way
    may come on top. Through a gate mud runs as fast as it likes: a tank that has one has no fastest. A transfer that
    nobody logged may be faster still, which is why a dip beyond it is asked about and never refused.
    """
    if any(valve.kind == "gate" and tank in (valve.tank, valve.to) for valve in rig.valves):
        return None
    if any(rate is None for rate in rates):
        return None
    known = [flow for flow in flows if flow] + ([flow for flow, _ in rig.drain_back.at] if rig.drain_back else [])
    if not known:
        return None
    return max(known) + sum(abs(rate) for rate in rates if rate)


def _as_booked(tank: Tank, gauged: Gauged, before: Before) -> bool:
    """True if a dip is far nearer to what is booked since the dip before than to that dip: it isn't asked whether
    something else was meant."""
    if before.level_m is None or before.volume_m3 is None or isnan(before.booked_m3):
        return False
    booked = float(tank.level(before.volume_m3 + before.booked_m3))
    return abs(gauged.level_m - booked) <= FAR_NEARER * abs(gauged.level_m - before.level_m)


def _with_booked(before: Before, t_ms: int) -> float | None:
    """The fastest change known to be possible since the dip before [m3/s]: what is booked on the tank moved too."""
    if before.fastest_m3_s is None or before.t_ms is None or t_ms <= before.t_ms or isnan(before.booked_m3):
        return None
    return before.fastest_m3_s + abs(before.booked_m3) / ((t_ms - before.t_ms) / 1000.0)


def ordinal(count: int) -> str:
    """``3rd``, ``4th``, ``11th``. count: a whole number above zero [-]."""
    ending = "th" if count % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(count % 10, "th")
    return f"{count}{ending}"


def _unread_row(tank: Tank, flag: str, typed: str, t_ms: int, t_half_ms: int, before: Before) -> Row:
    """A dip whose level couldn't be read: over the brim the tank holds at least what it holds there, below the stick
    nobody knows what."""
    over = flag == "over brim"
    level = tank.top_m if over else nan
    dip_m = float(tank.dip_of_level(level))
    said = typed.strip() or flag
    gauged = Gauged(level, tank.capacity_m3 if over else nan, nan, dip_m, kind=flag, as_typed=said)
    dip = Dip(tank=tank.name, t_ms=t_ms, as_typed=said, level_m=dip_m if over else None, t_half_ms=t_half_ms, flag=flag)
    change = gauged.volume_m3 - before.volume_m3 if before.volume_m3 is not None else nan
    late = before.t_ms is not None and t_ms < before.t_ms
    return Row(tank.name, dip, gauged, change, doubts=(GAUGED_BEFORE,) if late else ())


def _off(gauged: Gauged, before: Before) -> float:
    """How far a dip is off what the tank should hold [m3], NaN where that isn't known or is within 2u of both dips."""
    if before.should_m3 is None or before.u_m3 is None or isnan(gauged.volume_m3):
        return nan
    off, u = gauged.volume_m3 - before.should_m3, hypot(gauged.u_m3, before.u_m3)
    return off if abs(off) > 2.0 * u else nan


def bare_unit(units: Mapping[str, str]) -> str:
    """The unit that a bare number of a dip takes. units: "level" and "volume" -> symbol."""
    return units.get("level", "") or units.get("volume", "")


def labelled(typed: str, unit: str) -> str:
    """What is typed for a dip, with ``unit`` behind a bare number; anything else as it is.

    A bare number that meant nothing (feet or inches, where levels are written in both) still means nothing with its
    unit behind it, so that it is asked about and never read as something else.
    """
    text = typed.strip()
    bare = any(c.isdigit() for c in text) and not any(c.isalpha() or c in _MARKS for c in text)
    return f"{text} {unit}" if bare and unit else typed


def _more_than_it_holds(tank: Tank, gauged: Gauged, unit: str, decimal: str) -> str:
    """Words on a dip above the top of the tank's shape, as in files; "" for one that can be. Above the brim is a doubt.
    """
    top, full = tank.shape.height, float(tank.volume(tank.shape.height))
    if not (gauged.level_m > top * (1 + ROUNDING) or gauged.volume_m3 > full * (1 + ROUNDING)):
        return ""
    stick = write_level(float(tank.dip_of_level(top)), unit, decimal)
    return f"More than the tank can hold: at its top the stick reads {stick}. Check the tank and the unit."


def _below_bottom(tank: Tank, gauged: Gauged, unit: str, decimal: str) -> str:
    """Words on a dip below the tank's bottom, which is refused, as in files; "" for one that can be."""
    if not gauged.level_m < -ROUNDING * tank.shape.height:
        return ""
    stick = write_level(float(tank.dip_of_level(0.0)), unit, decimal)
    if tank.gauge == "down":
        return f"Below the bottom: the stick can't read more than {stick} from this mark. Check the tank and the unit."
    return f"Below the bottom: the stick can't read less than {stick} here. Check the tank and the unit."


def swapped(rows: Sequence[tuple[Tank, Row, Before]]) -> dict[str, str]:
    """Tank -> the tank it may have been swapped with, for dips that fit far better the other way round.

    rows: tank, what was typed, what was known before.
    """
    known = [(tank, row.gauged.dip_m, before.level_m) for tank, row, before in rows
             if row.gauged is not None and row.gauged.kind == "level"]
    pairs = swapped_rows(known)
    return dict(pairs) | {b: a for a, b in pairs}


def spread(count: int, start_ms: int, end_ms: int) -> tuple[tuple[int, int], ...]:
    """Times of ``count`` dips gauged one after the other from ``start_ms`` to ``end_ms`` [UTC ms].

    Each has an equal share of the span: its time is the middle of the share, the half-width half of it, both [ms].
    """
    share = (end_ms - start_ms) / count if count else 0.0
    return tuple((round(start_ms + (n + 0.5) * share), round(share / 2)) for n in range(count))


def _two(tank: Tank, first: DipReading, again: DipReading, mean: Gauged, unit: str,
         decimal: str) -> tuple[Gauged, str]:
    """The mean of two readings with their half difference as its half-width where that is coarser, and words on it."""
    levels = [gauge(tank, reading, None, unit=unit, decimal=decimal).level_m for reading in (first, again)]
    half = abs(levels[0] - levels[1]) / 2
    if isnan(half) or half <= max(tank.dip_error_m or 0.0, mean.half_width_m or 0.0):
        return mean, ""
    u = nan if tank.dip_error_m is None else float(tank_uncertainty(tank, mean.level_m, half_width_m=half))
    apart = f"The two readings are {write_level(2 * half, unit, decimal)} apart; their mean is taken."
    return replace(mean, half_width_m=half, u_m3=u), apart


def _unexplained(tank: Tank, change: float, before: Before, unit: str, decimal: str) -> list[str]:
    """A doubt about a large change that nothing logged on the tank explains."""
    if isnan(change) or isnan(before.booked_m3) or abs(change - before.booked_m3) <= LARGE * tank.capacity_m3:
        return []
    logged = write(before.booked_m3, unit, decimal=decimal, sign=True)
    return [f"A change of {write(change, unit, decimal=decimal, sign=True)}; logged on this tank: {logged}."]


def _dip(tank: Tank, reading: DipReading, gauged: Gauged, t_ms: int, t_half_ms: int, flag: str) -> Dip:
    by_volume = reading.kind == "volume" or (reading.kind == "percent" and tank.percent_of == "volume")
    return Dip(tank=tank.name, t_ms=t_ms, as_typed=reading.as_typed.strip(),
               level_m=None if by_volume else gauged.dip_m, volume_m3=gauged.volume_m3 if by_volume else None,
               t_half_ms=t_half_ms, resolution_m=gauged.half_width_m, flag=flag,
               unchanged=reading.kind == "unchanged")


def _without_name(tank: Tank, words: str) -> str:
    """A finding's words without the tank's name before them: the row has it."""
    words = words.removeprefix(f"{tank.name}: ")
    return words[:1].upper() + words[1:]
