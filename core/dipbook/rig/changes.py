"""What changed between two rigs, in words for the log."""

from __future__ import annotations

from dataclasses import replace
from math import inf

from dipbook.limits import TRIP_KINDS, Limit, kind_words, noise_words
from dipbook.quantities import DIMENSIONS, FEET_INCHES, to_unit
from dipbook.rig.model import DrainBack, Equipment, FillRule, Hole, Person, Pipe, Pump, Rig, Tour, Valve
from dipbook.rig.shape_words import shape_in_words
from dipbook.rig.writing import same_limit
from dipbook.tanks.shapes import Shape, Strapping
from dipbook.tanks.tank import Tank
from dipbook.well import Hole as Sections
from dipbook.well import String, Survey

_SAME = 1e-9
NOT_SET = "not set"


def difference_in_words(old: Rig, new: Rig) -> tuple[str, ...]:
    """What changed from old to new, a sentence each, in the new rig's units: ``Limit gain: 5 bbl → 4 bbl``.

    old, new: rigs. Empty if they mean the same. The order of tanks in the file doesn't count, the gauging order does.
    """
    words: list[str] = []
    for what, a, b in (("Rig's name", old.name, new.name), ("Time zone", old.zone, new.zone),
                       ("Decimal sign", old.decimal, new.decimal),
                       ("Marked as invented", _yes(old.invented), _yes(new.invented))):
        _note(words, what, a, b)
    for key in dict.fromkeys((*old.units, *new.units)):
        _note(words, f"Unit of {key}", old.units.get(key, NOT_SET), new.units.get(key, NOT_SET))
    _tanks(words, old, new)
    _pumps(words, old.pumps, new.pumps, new)
    _hole(words, old.hole, new.hole, new)
    _pipe(words, old.pipe, new.pipe, new)
    _drain_back(words, old.drain_back, new.drain_back)
    _equipment(words, old.equipment, new.equipment, new)
    _valves(words, old.valves, new.valves, new)
    _note(words, "String", _string(old.string, new), _string(new.string, new))
    _note(words, "Hole's sections", _sections(old.sections, new), _sections(new.sections, new))
    _note(words, "Survey", _survey(old.survey, new), _survey(new.survey, new))
    _note(words, "Rule for filling", _fill_rule(old.fill_rule, new), _fill_rule(new.fill_rule, new))
    _crew(words, old.crew, new.crew)
    _tours(words, old.tours, new.tours)
    _limits(words, old, new)
    return tuple(words)


def limit_in_words(old: Limit | None, new: Limit | None, rig: Rig) -> tuple[str, ...]:
    """What changed of one limit, a sentence each, as ``difference_in_words`` says it.

    old, new: the limit, None where there is none. rig: for the units.
    """
    words: list[str] = []
    _limits(words, *(replace(rig, limits=() if limit is None else (limit,)) for limit in (old, new)))
    return tuple(words)


def _string(string: String | None, rig: Rig) -> str:
    """The parts from the bit up, in words."""
    if string is None:
        return NOT_SET
    said = []
    for p in string.parts:
        length = "the rest" if p.length_m == inf else _amount(p.length_m, "length", rig)
        said.append(f"{length} of {p.name} ({_amount(p.steel_m2, 'capacity', rig)} steel, "
                    f"{_amount(p.bore_m2, 'capacity', rig)} bore)")
    return ", ".join(said)


def _survey(survey: Survey | None, rig: Rig) -> str:
    """The stations below the rotary, in words."""
    if survey is None:
        return NOT_SET
    below = zip(survey.md_m[1:], survey.tvd_m[1:], strict=True)
    return ", ".join(f"{_amount(tvd, 'length', rig)} vertical at {_amount(md, 'length', rig)}" for md, tvd in below)


def _fill_rule(rule: FillRule | None, rig: Rig) -> str:
    """The rig's own rule, in words."""
    if rule is None:
        return NOT_SET
    stands = None if rule.stands is None else f"{rule.stands} stands"
    pressure = None if rule.pressure_pa is None else _amount(rule.pressure_pa, "pressure", rig)
    said = " or ".join(x for x in (stands, pressure) if x)
    return f"{said} (set by {rule.set_by}, {rule.reason}, since {rule.since})"


def _sections(hole: Sections | None, rig: Rig) -> str:
    """The sections from the rotary down, in words."""
    if hole is None:
        return NOT_SET
    return ", ".join(f"{s.name} to {_amount(s.bottom_m, 'length', rig)} ({_amount(s.diameter_m, 'level', rig)}"
                     + (f", washed out by {s.washout:g}" if s.washout else "") + ")" for s in hole.sections)


def _note(words: list[str], what: str, a: str, b: str) -> None:
    if a != b:
        words.append(f"{what}: {a} → {b}")


def _tanks(words: list[str], old: Rig, new: Rig) -> None:
    before, after = {t.name: t for t in old.tanks}, {t.name: t for t in new.tanks}
    words.extend(f"Tank {name} removed" for name in before if name not in after)
    for name, tank in after.items():
        if name not in before:
            words.append(f"Tank {name} added ({tank.role}, {_amount(tank.capacity_m3, 'volume', new)} to the brim)")
        else:
            _tank(words, before[name], tank, new)


def _tank(words: list[str], a: Tank, b: Tank, rig: Rig) -> None:
    what = f"Tank {b.name}"
    _note(words, f"{what}, role", a.role, b.role)
    _note(words, f"{what}, active at the start", _yes(a.active), _yes(b.active))
    _note(words, f"{what}, gauging order", str(a.order), str(b.order))
    if isinstance(a.shape, Strapping) and isinstance(b.shape, Strapping):
        if not _close((*a.shape.levels, *a.shape.volumes), (*b.shape.levels, *b.shape.volumes)):
            words.append(f"{what} re-strapped ({len(b.shape.levels)} rows, "
                         f"to {_amount(b.shape.volumes[-1], 'volume', rig)})")
    else:
        _note(words, f"{what}, shape", _shape(a.shape, rig), _shape(b.shape, rig))
    _note(words, f"{what}, gauged", a.gauge, b.gauge)
    for label, before, after in (("mark", a.mark_m, b.mark_m), ("offset", a.offset_m, b.offset_m),
                                 ("dip error", a.dip_error_m, b.dip_error_m), ("heel", a.heel_m, b.heel_m),
                                 ("brim", a.top_m, b.top_m)):
        _note(words, f"{what}, {label}", _amount(before, "level", rig), _amount(after, "level", rig))
    _note(words, f"{what}, percentages are of", a.percent_of or NOT_SET, b.percent_of or NOT_SET)
    _note(words, f"{what}, dips fresh for", _time(a.fresh_for_ms), _time(b.fresh_for_ms))
    _note(words, f"{what}, internals", _amount(a.internals_m3, "volume", rig), _amount(b.internals_m3, "volume", rig))


def _shape(shape: Shape, rig: Rig) -> str:
    return shape_in_words(shape, lambda length: _amount(length, "length", rig))


def _pumps(words: list[str], old: tuple[Pump, ...], new: tuple[Pump, ...], rig: Rig) -> None:
    before, after = {p.name: p.output_m3 for p in old}, {p.name: p.output_m3 for p in new}
    for name in dict.fromkeys((*before, *after)):
        if name not in after:
            words.append(f"Pump {name} removed")
        elif name not in before:
            words.append(f"Pump {name} added ({_amount(after[name], 'volume', rig)} a stroke)")
        else:
            _note(words, f"Pump {name}, output a stroke", _amount(before[name], "volume", rig),
                  _amount(after[name], "volume", rig))


def _hole(words: list[str], old: Hole | None, new: Hole | None, rig: Rig) -> None:
    a, b = old or Hole(), new or Hole()
    _note(words, "Hole, capacity", _amount(a.capacity, "capacity", rig), _amount(b.capacity, "capacity", rig))
    _note(words, "Hole, annulus", _amount(a.annulus_m3, "volume", rig), _amount(b.annulus_m3, "volume", rig))
    _note(words, "Hole, volume", _amount(a.volume_m3, "volume", rig), _amount(b.volume_m3, "volume", rig))
    _note(words, "Hole, lag", _time(a.lag_ms), _time(b.lag_ms))
    for what, before, after in (("share of cuttings carried off", a.carried_off, b.carried_off),
                                ("porosity", a.porosity, b.porosity),
                                ("mud on cuttings", a.mud_on_cuttings, b.mud_on_cuttings)):
        _note(words, f"Hole, {what}", NOT_SET if before is None else f"{before:g}",
              NOT_SET if after is None else f"{after:g}")


def _pipe(words: list[str], old: Pipe | None, new: Pipe | None, rig: Rig) -> None:
    if old is None or new is None:
        if old is not new:
            words.append("Pipe removed" if new is None else "Pipe added")
        return
    _note(words, "Pipe, steel", _amount(old.steel, "capacity", rig), _amount(new.steel, "capacity", rig))
    _note(words, "Pipe, bore", _amount(old.bore, "capacity", rig), _amount(new.bore, "capacity", rig))
    _note(words, "Pipe, stand", _amount(old.stand_m, "length", rig), _amount(new.stand_m, "length", rig))
    states = {None: NOT_SET, True: "closed", False: "open"}
    _note(words, "Pipe, float", states[old.float_closed], states[new.float_closed])


def _drain_back(words: list[str], old: DrainBack | None, new: DrainBack | None) -> None:
    if old is None or new is None:
        if old is not new:
            words.append("Drain-back removed" if new is None else "Drain-back added")
        return
    for what, a, b in (("volumes at flow", old.at, new.at), ("curve", old.curve, new.curve)):
        if not _close([n for row in a for n in row], [n for row in b for n in row]):
            words.append(f"Drain-back, {what} changed ({len(a)} → {len(b)} rows)")
    _note(words, "Drain-back, falling", _seconds(old.falling_s), _seconds(new.falling_s))
    _note(words, "Drain-back, rising", _seconds(old.rising_s), _seconds(new.rising_s))
    if old.stopped_m3_s != new.stopped_m3_s:
        words.append("Drain-back, stopped: what counts as stopped changed")


def _equipment(words: list[str], old: tuple[Equipment, ...], new: tuple[Equipment, ...], rig: Rig) -> None:
    before, after = {e.name: e for e in old}, {e.name: e for e in new}
    words.extend(f"Equipment {name} removed" for name in before if name not in after)
    for name, b in after.items():
        if name not in before:
            words.append(f"Equipment {name} added (holds {_amount(b.holds_m3, 'volume', rig)})")
            continue
        a, what = before[name], f"Equipment {name}"
        _note(words, f"{what}, holds", _amount(a.holds_m3, "volume", rig), _amount(b.holds_m3, "volume", rig))
        _note(words, f"{what}, filling", _seconds(a.fills_s), _seconds(b.fills_s))
        _note(words, f"{what}, draining", _seconds(a.drains_s), _seconds(b.drains_s))
        _note(words, f"{what}, on at the start", _yes(a.on), _yes(b.on))


def _valves(words: list[str], old: tuple[Valve, ...], new: tuple[Valve, ...], rig: Rig) -> None:
    before, after = {v.name: v for v in old}, {v.name: v for v in new}
    words.extend(f"Valve {name} removed" for name in before if name not in after)
    for name, b in after.items():
        if name not in before:
            words.append(f"Valve {name} added ({b.kind}, {b.tank}{f' to {b.to}' if b.to else ''})")
            continue
        a, what = before[name], f"Valve {name}"
        for label, x, y in (("kind", a.kind, b.kind), ("tank", a.tank, b.tank), ("to", a.to, b.to),
                            ("isolates", a.isolates, b.isolates)):
            _note(words, f"{what}, {label}", x or NOT_SET, y or NOT_SET)
        _note(words, f"{what}, open at the start", _yes(a.open), _yes(b.open))
        _note(words, f"{what}, equalises", _yes(a.equalises), _yes(b.equalises))
        _note(words, f"{what}, step", _amount(a.step_m, "level", rig), _amount(b.step_m, "level", rig))


def _crew(words: list[str], old: tuple[Person, ...], new: tuple[Person, ...]) -> None:
    before, after = {p.name: p.role for p in old}, {p.name: p.role for p in new}
    words.extend(f"Crew, {name} removed" for name in before if name not in after)
    for name, role in after.items():
        if name not in before:
            words.append(f"Crew, {name} added" + (f" ({role})" if role else ""))
        else:
            _note(words, f"Crew, {name}, role", before[name] or NOT_SET, role or NOT_SET)


def _tours(words: list[str], old: tuple[Tour, ...], new: tuple[Tour, ...]) -> None:
    before, after = {t.code: t.start_min for t in old}, {t.code: t.start_min for t in new}
    words.extend(f"Tour {code} removed" for code in before if code not in after)
    for code, start in after.items():
        begins = f"{start // 60:02d}:{start % 60:02d}"
        if code not in before:
            words.append(f"Tour {code} added, from {begins}")
        else:
            _note(words, f"Tour {code}, begins", f"{before[code] // 60:02d}:{before[code] % 60:02d}", begins)


def _limits(words: list[str], old: Rig, new: Rig) -> None:
    before, after = {one.name: one for one in old.limits}, {one.name: one for one in new.limits}
    words.extend(f"Limit {name} removed (was {_limit_value(one, new)})" for name, one in before.items()
                 if name not in after)
    for name, limit in after.items():
        if name not in before:
            words.append(f"Limit {name} added: {kind_words(limit.kind)}{_of_what(limit)}, "
                         f"{_limit_value(limit, new)}, set by {limit.set_by}")
        elif not same_limit(before[name], limit) or before[name].as_typed != limit.as_typed:
            _limit(words, before[name], limit, new)


def _limit(words: list[str], a: Limit, b: Limit, rig: Rig) -> None:
    what = f"Limit {b.name}"
    if a.value_is != b.value_is or not _close((a.value,), (b.value,)) or a.times_noise != b.times_noise \
            or not b.watched:
        _note(words, what, _limit_value(a, rig), _limit_value(b, rig))
    _note(words, f"{what}, kind", kind_words(a.kind), kind_words(b.kind))
    _note(words, f"{what}, on", a.on, b.on)
    _note(words, f"{what}, during", a.activity, b.activity)
    _note(words, f"{what}, watched", _yes(a.watched), _yes(b.watched))
    for label, before, after in (("over when back by", a.deadband, b.deadband),
                                 ("sounds again after", a.growth, b.growth)):
        _note(words, f"{what}, {label}", _amount(before, a.value_is, rig), _amount(after, b.value_is, rig))
    _note(words, f"{what}, warns after", _after(a), _after(b))
    _note(words, f"{what}, may be shelved for", _time(a.shelve_ms), _time(b.shelve_ms))
    for label, x, y in (("set by", a.set_by, b.set_by), ("reason", a.reason, b.reason), ("since", a.since, b.since)):
        _note(words, f"{what}, {label}", x, y)


def _of_what(limit: Limit) -> str:
    return "" if limit.kind in TRIP_KINDS else f" on {limit.on}, {limit.activity}"


def _limit_value(limit: Limit, rig: Rig) -> str:
    value = limit.as_typed or _amount(limit.value, limit.value_is, rig)
    return value if limit.times_noise is None else noise_words(limit.times_noise, value, rig.decimal)


def _after(limit: Limit) -> str:
    if not limit.after_readings:
        return _time(limit.after_ms)
    return "1 reading" if limit.after_readings == 1 else f"{limit.after_readings} readings"


def _amount(value: float | None, dimension: str, rig: Rig) -> str:
    """A value [SI] to seven digits with the rig's unit, so that a small change still shows."""
    if value is None or not dimension:
        return NOT_SET
    if dimension == "duration":
        return _seconds(value)
    if dimension == "count":
        return f"{value:.0f} {'gauge' if value == 1 else 'gauges'}"
    if dimension == "capacity":
        symbol = "bbl/ft" if rig.units.get("volume") == "bbl" else "m3/m"
    elif dimension == "level":
        symbol = rig.units.get("level", "m")
        symbol = "in" if symbol == FEET_INCHES else symbol
    else:
        symbol = rig.units.get(dimension, DIMENSIONS.get(dimension, ""))
    return f"{to_unit(value, symbol):.7g} {symbol}".replace(".", rig.decimal, 1)


def _time(value_ms: int | None) -> str:
    return NOT_SET if value_ms is None else _seconds(value_ms / 1000)


def _seconds(value: float | None) -> str:
    if value is None:
        return NOT_SET
    return f"{value / 60:g} min" if value >= 60 and value % 60 == 0 else f"{value:g} s"


def _yes(value: bool) -> str:
    return "yes" if value else "no"


def _close(a: list[float] | tuple[float, ...], b: list[float] | tuple[float, ...]) -> bool:
    return len(a) == len(b) and all(abs(x - y) <= _SAME * max(abs(x), abs(y)) or (x != x and y != y)
                                    for x, y in zip(a, b, strict=True))
